"""Reading the table of checks: one TOML file for each area, rows grouped by the problem they belong to."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from soapstone.errors import SoapstoneError
from soapstone.tables import Source
from soapstone.tables import sources as catalogue_sources

AREAS = (
    *("quantity", "tables", "survey", "place", "parts"),
    *("frame", "movements", "curved", "modes", "buckling"),
    *("strength", "members", "tube_joints", "welds", "bolted", "plates", "fatigue"),
)


@dataclass(frozen=True)
class Check:
    """One published value and what to compare with it.

    Attributes
    ----------
    id : str
    area : str
        One of `AREAS`; names the module that sets the problem up.
    what : str
        The problem and the value, in words.
    published : str
        As printed.
    unit : str
        Of both values.
    source : str
        Key into `sources`.
    place : str
        Page, example, table or clause; says so where the value is a closed form put into numbers.
    from_memory : bool
        Recalled, not looked up.
    by, pick : str
        Function of the area's module, and which of its values.
    units_of_last_digit : float
        Allowed difference in units of the last printed digit.
    relative : float or None
        Allowed difference as a share of the value, instead of by its digits.
    scale : float or None
        What relative figures refer to, in `unit`; needed where the published value is zero.
    because : str
        Why the tolerance is wider than half a unit of the last digit.
    """

    id: str
    area: str
    what: str
    published: str
    unit: str
    source: str
    place: str
    by: str
    pick: str
    from_memory: bool = False
    units_of_last_digit: float = 0.5
    relative: float | None = None
    scale: float | None = None
    because: str = ""

    @property
    def is_wide(self) -> bool:
        """Whether the tolerance is not simply half a unit of the last printed digit."""
        return self.relative is not None or self.units_of_last_digit > 0.5

    def __post_init__(self) -> None:
        if self.is_wide and not self.because:
            raise SoapstoneError(
                "a tolerance wider than half a unit of the last digit gives its reason", where=self.id
            )
        if self.source not in sources():
            raise SoapstoneError(f"the source {self.source!r} is not in the list of sources", where=self.id)


@cache
def own_sources() -> dict[str, Source]:
    """Works that only checks lean on, by key."""
    return {key: Source(key=key, **row) for key, row in _toml("sources").items()}


@cache
def sources() -> dict[str, Source]:
    """Every work a check may name, those of the catalogues included."""
    return {**catalogue_sources(), **own_sources()}


@cache
def checks() -> tuple[Check, ...]:
    """The whole table, area by area."""
    return tuple(check for area in AREAS for check in _area(area))


def source_text(check: Check) -> str:
    """`H. Wolf, Ausgleichungsrechnung II, 1979, p. 87`."""
    source = sources()[check.source]
    author = () if source.author == "-" else (source.author,)
    parts = (*author, source.title, source.edition, check.place)
    return ", ".join(part for part in parts if part)


def _area(area: str) -> Iterator[Check]:
    for problem in _toml(area)["problem"]:
        shared = {key: value for key, value in problem.items() if key not in ("rows", "what")}
        for row in problem["rows"]:
            yield check_of(area, {**shared, **row, "what": f"{problem['what']}: {row['what']}"})


def check_of(area: str, row: dict[str, Any]) -> Check:
    """A row of the table as a `Check`.

    Raises
    ------
    SoapstoneError
        When its published value is not text, or a wide tolerance has no reason.
    """
    if not isinstance(row["published"], str):
        raise SoapstoneError("the published value is kept as text, as printed", where=row["id"])
    return Check(area=area, **row)


def _toml(name: str) -> dict[str, Any]:
    return tomllib.loads(files("soapstone.verify").joinpath(f"{name}.toml").read_text(encoding="utf-8"))
