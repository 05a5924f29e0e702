"""Published conversions and gauge tables, read by the quantity room as a fabricator would write them."""

from collections.abc import Mapping

from soapstone.quantity import Kind, parse
from soapstone.verify.units import INCH


def conversions() -> Mapping[str, float]:
    """One of each US unit in SI."""
    return {
        "lbf": parse("1 lbf", Kind.FORCE),
        "lbf·ft": parse("1 lbf·ft", Kind.TORQUE),
        "lbf·in": parse("1 lbf·in", Kind.TORQUE),
        "psi": parse("1 psi", Kind.STRESS),
    }


def sheet_gauges() -> Mapping[str, float]:
    """Thickness of gauges in inches, and of some in millimetres."""
    steel = (3, 7, 8, 10, 11, 12, 13, 14, 16, 18, 20, 22, 24, 26, 28)
    texts = (*(f"{number} ga steel" for number in steel), "16 ga aluminium", "16 ga stainless")
    inches = {text: parse(text, Kind.LENGTH) / INCH for text in texts}
    return inches | {f"{text} in mm": 1e3 * parse(text, Kind.LENGTH) for text in texts}


def wall_gauges() -> Mapping[str, float]:
    """Tube walls by their gauge, in inches."""
    numbers = (9, 10, 11, 12, 13, 14, 15, 16, 18, 19, 20)
    return {f"{number} BWG": parse(f"{number} BWG", Kind.LENGTH) / INCH for number in numbers}


PROBLEMS = {problem.__name__: problem for problem in (conversions, sheet_gauges, wall_gauges)}
