"""Filler metals and the least fillet for a thickness."""

from dataclasses import dataclass
from functools import cache

from soapstone.tables.rows import Status, table, to_si, unknown_name


@dataclass(frozen=True)
class Filler:
    """A filler metal as welded; stresses in Pa, least values."""

    name: str
    yield_strength: float
    ultimate_strength: float
    source: str
    status: Status


@dataclass(frozen=True)
class LeastFillet:
    """The smallest fillet leg (m) for a thinner part (m) of a joint."""

    leg: float
    source: str


@cache
def _fillers() -> dict[str, Filler]:
    return {
        row["name"]: Filler(
            row["name"], to_si(row["yield"]), to_si(row["ultimate"]), row["source"], Status(row["status"])
        )
        for row in table("welds")["filler"]
    }


def fillers() -> tuple[str, ...]:
    """The names that `filler` takes."""
    return tuple(_fillers())


def filler(name: str) -> Filler:
    """The filler called `name` (`ER70S-6`), whatever its case.

    Raises
    ------
    SoapstoneError
        Names the nearest spelling when the table has none so called.
    """
    known = {key.casefold(): key for key in _fillers()}
    key = known.get(" ".join(name.split()).casefold())
    if key is None:
        raise unknown_name("filler", name, fillers())
    return _fillers()[key]


def least_fillet(thickness: float) -> LeastFillet:
    """The least leg (m) for the thinner part joined, `thickness` in m; never more than that part.

    AWS D1.1 table 7.7, AISC 360-22 table J2.4.
    """
    row = next(row for row in table("welds")["least_fillet"] if thickness <= to_si(row["up_to"]))
    return LeastFillet(min(to_si(row["leg"]), thickness), row["source"])
