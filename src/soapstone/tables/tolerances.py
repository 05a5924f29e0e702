"""How true a welded part is made when the drawing says no more than a class."""

from soapstone.errors import SoapstoneError
from soapstone.tables.rows import table, to_si

CLASSES = ("A", "B", "C", "D")


def welded_tolerance(letter: str, size: float) -> float:
    """Each way, m, for a nominal size m (ISO 13920, table 1).

    Raises
    ------
    SoapstoneError
        For a size beyond the table's last row.
    """
    rows = table("tolerances")
    for to, tolerance in zip(rows["to"], rows["class"][letter], strict=True):
        if size <= to_si(to):
            return to_si(tolerance)
    raise SoapstoneError(
        f"the table of welded tolerances ends at {1e3 * to_si(rows['to'][-1]):.0f} mm",
        remedy="give your own tolerance",
    )
