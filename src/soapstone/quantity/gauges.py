"""Gauge numbers of sheet and tube wall; the same number is another thickness in another metal."""

import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files

from soapstone.quantity.refusal import Refusal

_SHEET = re.compile(r"(?P<number>[0-9]+) ?(?:ga|gage|gauge)(?![A-Za-z])\.? ?(?P<metal>.*)", re.IGNORECASE)
_WALL = re.compile(r"(?P<number>[0-9]+) ?BWG|BWG ?(?P<behind>[0-9]+)", re.IGNORECASE)
_METALS = {
    "steel": "steel",
    "mild steel": "steel",
    "aluminium": "aluminium",
    "aluminum": "aluminium",
    "stainless": "stainless",
    "stainless steel": "stainless",
}


@dataclass(frozen=True)
class Gauge:
    """One row of a gauge table.

    Attributes
    ----------
    scale : str
        `steel`, `stainless`, `aluminium` or `BWG`.
    number : int
        The gauge number.
    inch : Fraction
        Thickness in inches, exactly as printed.
    source : str
        Where the scale is laid down.
    standing : str
        `verified`, `inferred` or `unknown`.
    """

    scale: str
    number: int
    inch: Fraction
    source: str
    standing: str


@cache
def gauges() -> dict[tuple[str, int], Gauge]:
    """All rows of the table, by scale and number."""
    data = tomllib.loads(files("soapstone.quantity").joinpath("gauges.toml").read_text(encoding="utf-8"))
    rows = [(scale, row) for scale, block in data["scales"].items() for row in block["rows"]]
    return {
        (scale, row["gauge"]): Gauge(
            scale, row["gauge"], Fraction(row["inch"]), data["sources"][row["source"]], row["standing"]
        )
        for scale, row in rows
    }


def read_gauge(text: str) -> Fraction | None:
    """Metres of a gauge text such as `11 ga steel` or `11 BWG`, or None when it is none.

    Raises
    ------
    Refusal
        A gauge without its metal, of an unknown metal, or a number that is not in the table.
    """
    if wall := _WALL.fullmatch(text):
        return _thickness("BWG", int(wall["number"] or wall["behind"]))
    sheet = _SHEET.fullmatch(text)
    if not sheet:
        return None
    number, metal = sheet["number"], sheet["metal"].lower()
    sheets = f"{number} ga steel, {number} ga stainless or {number} ga aluminium"
    ways = f"{sheets} for sheet, {number} BWG for a tube wall"
    if not metal:
        raise Refusal("is a gauge without its metal", f"which metal is it? write {ways}")
    if metal not in _METALS:
        raise Refusal(
            f"is a gauge of {metal!r}, for which there is no table", f"write {ways}, or the thickness"
        )
    return _thickness(_METALS[metal], int(number))


def _thickness(scale: str, number: int) -> Fraction:
    row = gauges().get((scale, number))
    if row is None:
        numbers = [n for s, n in gauges() if s == scale]
        raise Refusal(
            f"is outside the gauge table of {scale} ({min(numbers)} to {max(numbers)})", "write the thickness"
        )
    return row.inch * Fraction(254, 10000)
