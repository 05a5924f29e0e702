"""Sizes of the tools that turn a hexagon, by its width across flats."""

import math
from dataclasses import dataclass
from typing import Any

from soapstone.errors import SoapstoneError
from soapstone.tables.bolts import BoltSize
from soapstone.tables.rows import sources, table, to_si

_EXACT = 1e-9


@dataclass(frozen=True)
class Tool:
    """A tool on a head, all m and rad.

    Attributes
    ----------
    name : str
    stem : diameter of what goes over the head or into it, and how far that stands out from the head's seat;
        (0, 0) when the tool's head itself is all
    head : diameter of its head, and its thickness
    handle, handle_wide : from the bolt's axis to the end, and how wide
    swing : the least angle that it has to swing
    axial : whether it is put on along the bolt, so that the way there has to be free
    source : str
    goes_in : how far it goes into the head; nothing where it goes over it
    """

    name: str
    stem: tuple[float, float]
    head: tuple[float, float]
    handle: float
    handle_wide: float
    swing: float
    axial: bool
    source: str
    goes_in: float = 0.0

    @property
    def handle_thick(self) -> float:
        """m; a handle is not thicker than the head of its tool."""
        return self.head[1]


def tools_for(size: BoltSize) -> tuple[Tool, ...]:
    """Socket on a ratchet, ring spanner, open spanner, in the order they are taken up.

    Raises
    ------
    SoapstoneError
        For a head larger than the tables go.
    """
    return (_driven("ratchet", size), _ring(size), _open(size))


def torque_wrench_for(size: BoltSize) -> Tool:
    """Socket on a torque wrench; errors as `tools_for`."""
    return _driven("torque", size)


def washer_outside(size: BoltSize) -> tuple[float, str]:
    """Outside diameter, m, of a plain washer, and its source."""
    rows = table("tools")["washer"]
    for bolt, outside in zip(rows["bolt"], rows["outside"], strict=True):
        if math.isclose(to_si(bolt), size.diameter, rel_tol=1e-9):
            return to_si(outside), sources()[rows["source"]].title
    raise SoapstoneError(f"no washer for {size.name} in the table", remedy="take a size that is there")


def row_for(kind: str, flats: float) -> tuple[dict[str, Any], int]:
    """The table and the place in it that a width across flats, m, takes: its own, else the next larger."""
    rows = table("tools")[kind]
    for place, up_to in enumerate(rows["flats"]):
        if flats <= to_si(up_to) + _EXACT:
            return rows, place
    raise SoapstoneError(f"the table of tools ends before {1e3 * flats:.0f} mm across flats")


def _driven(drive: str, size: BoltSize) -> Tool:
    rows, place = row_for("socket", size.head_width_across_flats)
    handle = table("tools")[drive]
    name = "socket on a ratchet" if drive == "ratchet" else "socket on a torque wrench"
    return Tool(
        name,
        (to_si(rows["outside"][place]), to_si(rows["length"][place])),
        (to_si(handle["wide"]), to_si(handle["thick"])),
        to_si(handle["handle"]),
        to_si(handle["handle_wide"]),
        math.radians(handle["swing_deg"]),
        True,
        f"{sources()[rows['source']].title}; handles by common practice, no source",
    )


def _ring(size: BoltSize) -> Tool:
    rows, place = row_for("ring", size.head_width_across_flats)
    head = (to_si(rows["outside"][place]), to_si(rows["thick"][place]))
    return _spanner("ring spanner", rows, head, True)


def _open(size: BoltSize) -> Tool:
    rows, flats = table("tools")["open"], size.head_width_across_flats
    return _spanner(
        "open spanner", rows, (rows["wide_per_flats"] * flats, rows["thick_per_flats"] * flats), False
    )


def _spanner(name: str, rows: dict[str, Any], head: tuple[float, float], axial: bool) -> Tool:
    return Tool(
        name,
        (0.0, 0.0),
        head,
        to_si(rows["handle"]),
        to_si(rows["handle_wide"]),
        math.radians(rows["swing_deg"]),
        axial,
        f"{sources()[rows['source']].title}; handles by common practice, no source",
    )
