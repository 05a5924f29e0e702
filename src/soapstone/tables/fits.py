"""Limits of size: ISO 286 classes of shafts and holes, and drills for tapped holes."""

import re
from dataclasses import dataclass

from soapstone.errors import SoapstoneError
from soapstone.tables.bolts import BoltSize
from soapstone.tables.rows import table, to_si

_MICRON = 1e-6
_CLASS = re.compile(r"(?P<letter>js|JS|[defghkmnpDEFGH])(?P<grade>\d+)")


@dataclass(frozen=True)
class Limits:
    """Least and largest size, m, and the class they come from."""

    least: float
    largest: float
    text: str


def limits(size: float, text: str, *, hole: bool) -> Limits:
    """The limits of a nominal size in a class (`g6` of a shaft, `H7` of a hole).

    Parameters
    ----------
    size : float
        m, from 1 to 120 mm.
    text : str
    hole : bool
        Whether it is a hole, whose classes are written in capitals.

    Raises
    ------
    SoapstoneError
        The class or the size is not in the table.

    Source: ISO 286-1 (from memory).
    """
    found = _CLASS.fullmatch(text.strip())
    rows = table("fits")
    grades: dict[str, list[float]] = rows["grade"]
    if found is None or found["grade"] not in grades or found["letter"].isupper() is not hole:
        example = "H7, F8 or JS9" if hole else "h6, g6, f7, js6 or p6"
        kind = "hole" if hole else "shaft"
        raise SoapstoneError(
            f"{text!r} is no class of a {kind} in the table", remedy=f"write one like {example}"
        )
    column = next((i for i, upto in enumerate(rows["upto"]) if size <= upto * 1e-3 * (1 + 1e-9)), None)
    if column is None or size < 1e-3:
        raise SoapstoneError(
            f"the table of fits runs from 1 to 120 mm, and {1e3 * size:.4g} mm is outside it"
        )
    width = grades[found["grade"]][column]
    low, high = _deviations(found["letter"].lower(), width, column, int(found["grade"]), text)
    if hole and found["letter"] not in ("JS",):
        low, high = -high, -low  # holes D to H mirror the shafts d to h
    return Limits(size + low * _MICRON, size + high * _MICRON, text.strip())


def _deviations(letter: str, width: float, column: int, grade: int, text: str) -> tuple[float, float]:
    rows = table("fits")
    if letter == "js":
        return -width / 2.0, width / 2.0
    if letter in rows["upper"]:
        high = rows["upper"][letter][column]
        return high - width, high
    low = rows["lower"][letter][column]
    if letter == "k" and not 4 <= grade <= 7:
        raise SoapstoneError(f"{text!r}: k is listed for the grades 4 to 7", remedy="take k6")
    return low, low + width


@dataclass(frozen=True)
class ProcessRow:
    """What one way of cutting plate holds: least hole and web in thicknesses, kerf and gap m."""

    name: str
    hole: float
    web: float
    kerf: float
    apart: float


def process(name: str) -> ProcessRow:
    """A way of cutting plate; common practice, no source."""
    row = table("cutting")["process"][name]
    return ProcessRow(name, row["hole"], row["web"], to_si(row["kerf"]), to_si(row["apart"]))


@dataclass(frozen=True)
class FoldRule:
    """Least rim-to-bend distance, inside radius and leg of folded sheet, in thicknesses."""

    hole: float
    radius: float
    leg: float


def fold_rule() -> FoldRule:
    """What a press brake folds without tearing or pulling a hole; common practice, no source."""
    return FoldRule(**table("cutting")["fold"])


def tapping_drill(size: BoltSize) -> float | None:
    """Diameter m of the drill before a tap; None where the table has none."""
    found = table("cutting")["tapping"].get(size.name)
    return None if found is None else found * (1e-3 if size.metric else 0.0254)
