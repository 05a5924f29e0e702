"""Text to SI: one quantity of a known kind."""

import math
import re
from fractions import Fraction

from soapstone.quantity.gauges import read_gauge
from soapstone.quantity.kind import Kind, article, offer
from soapstone.quantity.number import SIGNS, VULGAR, scan
from soapstone.quantity.refusal import Refusal, quoting
from soapstone.quantity.unit import factor_for, is_length

_CLEANED = (
    (re.compile(r"''|′′|’’|″|”|“|″"), '"'),
    (re.compile(r"[′’‘]"), "'"),
    (re.compile(r"[\u2009\u202f](?![0-9]{3})"), " "),  # thin spaces count only between thousands
    (re.compile(r"[ \t\u00a0]+"), " "),
    (re.compile(r"[\u2010\u2011]"), "-"),
    (re.compile(r"[⋅•∙]"), "·"),
    (re.compile(r"∕"), "⁄"),
    (re.compile(r"[º˚]"), "°"),
    (re.compile(r"μ"), "µ"),
)
_FEET = re.compile(
    rf"(?P<sign>[{SIGNS}]?)(?P<feet>[0-9]+) ?(?:'|(?:ft|feet|foot|FT)(?![A-Za-z])\.?)"
    rf"(?: - |-| )?(?P<inches>[0-9.{VULGAR}⁰¹²³⁴⁵⁶⁷⁸⁹].*)"
)
_INCHES = ('"', "in", "in.", "IN", "inch", "inches")
_MINUTES = re.compile(
    rf"(?P<sign>[{SIGNS}]?)(?P<degrees>[0-9]+) ?(?:°|deg|degrees) ?"
    r"(?P<minutes>[0-9]+(?:\.[0-9]+)?) ?(?:'|min|minutes)"
    r'(?: ?(?P<seconds>[0-9]+(?:\.[0-9]+)?) ?(?:"|s|sec|seconds))?'
)
_RATIO = re.compile(rf"(?P<sign>[{SIGNS}]?)(?P<rise>[0-9]+(?:\.[0-9]+)?) ?: ?(?P<run>[0-9]+(?:\.[0-9]+)?)")


def clean(text: str) -> str:
    """One spelling for marks and spaces that mean the same; digits and fractions stay untouched."""
    for pattern, put in _CLEANED:
        text = pattern.sub(put, text)
    return text.strip()


def parse(text: str, kind: Kind) -> float:
    """Read a quantity.

    Parameters
    ----------
    text : str
        As a fabricator writes it: `23-7/16 in`, `5' 3-1/2"`, `1,5 mm`, `11 ga steel`, `310 N·m`,
        `4°30'`, `1/8 in/ft`. An exponent (`7.85e3 kg/m³`) counts only in front of a unit.
    kind : Kind
        What it must be.

    Returns
    -------
    float
        SI: the double nearest to the exact value of the text; for a slope, its arc tangent in rad.

    Raises
    ------
    QuantityError
        Quotes the text and says what would do.
    """
    with quoting(text):
        return to_float(read(clean(text), kind))


def read(text: str, kind: Kind) -> Fraction:
    """Exact SI value of a cleaned text (of a slope: its arc tangent as a double)."""
    if not text:
        raise Refusal("is empty", f"write {article(kind)}, in {offer(kind)}")
    if kind is Kind.NUMBER:
        return _read_number(text)
    if kind is Kind.LENGTH:
        return _read_length(text)
    if kind is Kind.ANGLE:
        return _read_angle(text)
    number, unit = scan(text)
    return number * factor_for(unit, kind, typed_number(text, unit))


def to_float(value: Fraction) -> float:
    """Nearest double, neither overflowing nor vanishing."""
    try:
        nearest = float(value)
    except OverflowError:
        raise Refusal("is too large a number") from None
    if value and not nearest:
        raise Refusal("is too small a number")
    return nearest


def typed_number(text: str, unit: str) -> str:
    """The number as it was typed in front of the unit."""
    return text.removesuffix(unit).strip()


def _read_number(text: str) -> Fraction:
    number, unit = scan(text)
    if re.search("[eE]", typed_number(text, unit)):
        raise Refusal("has an exponent", "write the number in full")
    if unit == "%":
        return number / 100
    if unit:
        raise Refusal("is not a plain number", "write a number without a unit, such as 0.9, 3/4 or 90 %")
    return number


def _read_length(text: str) -> Fraction:
    gauge = read_gauge(text)
    if gauge is not None:
        return gauge
    if match := _FEET.fullmatch(text):
        return _read_feet(match)
    number, unit = scan(text)
    return number * factor_for(unit, Kind.LENGTH, typed_number(text, unit))


def _read_feet(match: re.Match[str]) -> Fraction:
    feet = int(match["feet"])
    number, unit = scan(match["inches"])
    if unit not in _INCHES:
        raise Refusal(
            "leaves open what follows the feet", f"write {feet} ft {typed_number(match['inches'], unit)} in"
        )
    if number >= 12:
        raise Refusal("has 12 in or more behind the feet", "write it all in inches or in ft and in")
    size = (12 * feet + number) * Fraction(254, 10000)
    return -size if match["sign"] in ("-", "−") else size


def _read_angle(text: str) -> Fraction:
    if match := _MINUTES.fullmatch(text):
        return _read_minutes(match)
    if match := _RATIO.fullmatch(text):
        if not Fraction(match["run"]):
            raise Refusal("divides by zero")
        slope = Fraction(match["rise"]) / Fraction(match["run"])
        return _arc(-slope if match["sign"] in ("-", "−") else slope)
    number, unit = scan(text)
    rate = slope_factor(unit)
    if rate is not None:
        return _arc(number * rate)
    return number * factor_for(unit, Kind.ANGLE, typed_number(text, unit))


def _arc(slope: Fraction) -> Fraction:
    return Fraction(math.atan(to_float(slope)))


def _read_minutes(match: re.Match[str]) -> Fraction:
    minutes, seconds = Fraction(match["minutes"]), Fraction(match["seconds"] or 0)
    if minutes >= 60 or seconds >= 60:
        raise Refusal("has 60 or more minutes or seconds", "write the angle as decimal degrees")
    degrees = int(match["degrees"]) + minutes / 60 + seconds / 3600
    size = degrees * factor_for("deg", Kind.ANGLE, "")
    return -size if match["sign"] in ("-", "−") else size


def slope_factor(unit: str) -> Fraction | None:
    """Rise over run of `mm/m`, `in/ft`, `in per ft`, or None when it is no slope."""
    rise, slash, run = re.sub(r" per ", "/", unit).partition("/")
    above, below = is_length(rise.strip()), is_length(run.strip())
    return above / below if slash and above and below else None
