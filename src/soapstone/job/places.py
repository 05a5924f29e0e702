"""How a job names a spot (`C`, `drive_unit.boss_1`, `side_left end`, `cross_1 at 6 in from end`)."""

import re
from dataclasses import dataclass
from enum import StrEnum

from soapstone.quantity import Kind, parse


class Spot(StrEnum):
    """Which spot of the named thing is meant."""

    ITSELF = ""
    START = "start"
    END = "end"
    MIDDLE = "middle"
    AT = "at"


@dataclass(frozen=True)
class Place:
    """A parsed place.

    Attributes
    ----------
    name : str
        The point, fork, member, or body.
    point : str
        The body's point, where one is named after a dot.
    spot : Spot
    distance : float
        m, only for `AT`; measured from the start, or from the end when `from_end`.
    """

    name: str
    point: str = ""
    spot: Spot = Spot.ITSELF
    distance: float = 0.0
    from_end: bool = False

    @property
    def text(self) -> str:
        """The name as the job writes it, without a spot."""
        return f"{self.name}.{self.point}" if self.point else self.name


NAME = r"[^\W_][\w-]*"
_PLACE = re.compile(
    rf"^\s*(?P<name>{NAME})(?:\.(?P<point>{NAME}))?"
    r"(?:\s+(?P<spot>start|end|middle|at\s+(?P<distance>.+?)(?:\s+from\s+(?P<origin>start|end))?))?\s*$"
)


def parse_place(text: str) -> Place:
    """Read a place; raises ValueError (or QuantityError for a bad distance) that quotes the text."""
    found = _PLACE.match(text)
    if not found:
        raise ValueError(
            f"{text!r} is no place; write a name, `NAME start`, `NAME end`, `NAME middle` or `NAME at 6 in`"
        )
    spot = (found["spot"] or "").split()[:1]
    distance = parse(found["distance"], Kind.LENGTH) if found["distance"] else 0.0
    return Place(found["name"], found["point"] or "", Spot("".join(spot)), distance, found["origin"] == "end")
