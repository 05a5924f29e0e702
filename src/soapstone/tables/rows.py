"""Reading the catalogues: TOML rows whose numbers carry their own unit."""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from soapstone.errors import SoapstoneError

_INCH = 0.0254
_LEAST_LIKENESS = 0.5  # below half of the letters in common a guess only puzzles
_POUND = 0.45359237
_POUND_FORCE = _POUND * 9.80665
_TO_SI = {
    "mm": 1e-3,
    "in": _INCH,
    "MPa": 1e6,
    "GPa": 1e9,
    "ksi": 1e3 * _POUND_FORCE / _INCH**2,
    "kg/m3": 1.0,
    "lb/in3": _POUND / _INCH**3,
    "lb/ft3": _POUND / (12 * _INCH) ** 3,
    "1/K": 1.0,
    "1/F": 1.8,
}


class Status(StrEnum):
    """How well a row is known; a row of `UNKNOWN` strength can only leave a check open."""

    VERIFIED = "verified"
    INFERRED = "inferred"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Source:
    """A work that numbers were taken from.

    Attributes
    ----------
    read : str
        `copy` when the figures were read in a copy or restatement, `memory` when they were recalled.
    """

    key: str
    author: str
    title: str
    edition: str
    year: int
    publisher: str
    read: str


@cache
def table(name: str) -> dict[str, Any]:
    """The parsed catalogue `name`.toml of this package."""
    return tomllib.loads(files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))


def to_si(number: list[Any]) -> float:
    """`[60, "ksi"]` in SI."""
    value, unit = number
    return float(value) * _TO_SI[unit]


def to_si_or_none(number: list[Any] | None) -> float | None:
    """Same, letting a missing number through."""
    return None if number is None else to_si(number)


@cache
def sources() -> dict[str, Source]:
    """Every source by its key."""
    return {key: Source(key=key, **row) for key, row in table("sources").items()}


def nearest(name: str, names: Iterable[str]) -> str:
    """The spelling in `names` closest to `name`, or an empty text when none comes near.

    Among equally close spellings the one with the nearest number wins (`M11`: `M10`, not `M16`).
    """
    likeness = {known: SequenceMatcher(None, name.casefold(), known.casefold()).ratio() for known in names}
    best = max(likeness.values(), default=0.0)
    if best < _LEAST_LIKENESS:
        return ""
    ties = [known for known, ratio in likeness.items() if ratio == best]
    return min(ties, key=lambda known: abs(_first_number(known) - _first_number(name)))


def _first_number(text: str) -> float:
    found = re.search(r"\d+(?:\.\d+)?", text)
    return float(found.group()) if found else 0.0


def unknown_name(what: str, name: str, names: Iterable[str]) -> SoapstoneError:
    """The error for a name that a table does not hold, with the nearest spelling as the way out."""
    known = list(names)
    guess = nearest(name, known)
    remedy = f"did you mean {guess!r}?" if guess else f"the table has {', '.join(known)}"
    return SoapstoneError(f"no {what} is called {name!r} in the table", remedy=remedy)
