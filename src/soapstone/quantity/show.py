"""SI to text, in the units a job asks for: what is left over is shown, never silently rounded away."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction
from itertools import count
from types import MappingProxyType

from soapstone.errors import QuantityError
from soapstone.quantity.kind import Kind, offer
from soapstone.quantity.reading import clean, parse, slope_factor
from soapstone.quantity.refusal import Refusal, quoting
from soapstone.quantity.unit import factor_for

_INCH = Fraction(254, 10000)
_DEFAULTS: Mapping[Kind, str] = {
    Kind.LENGTH: "mm",
    Kind.MASS: "kg",
    Kind.FORCE: "N",
    Kind.TORQUE: "N·m",
    Kind.ANGLE: "deg",
    Kind.STRESS: "MPa",
    Kind.SPEED: "km/h",
    Kind.ROTATION: "rpm",
    Kind.ACCELERATION: "g",
    Kind.STIFFNESS: "N/mm",
    Kind.TURN_STIFFNESS: "N·m/deg",
    Kind.DENSITY: "kg/m³",
    Kind.INERTIA: "kg·m²",
    Kind.POWER: "kW",
    Kind.TIME: "s",
    Kind.NUMBER: "",
    Kind.EXPANSION: "µm/(m·K)",
}
_STEPS = {  # the last place worth reading when the job asks for none
    "mm": "0.1",
    "cm": "0.01",
    "m": "0.001",
    "in": "0.001",
    "ft": "0.001",
    "deg": "0.01",
    "°": "0.01",
    "mm/m": "0.1",
    "in/ft": "0.01",
}
_FIGURES = 4  # significant figures of everything else
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_STYLE = re.compile(r"(?P<unit>.*?)(?: (?P<step>1/[1-9][0-9]*|[0-9]*\.?[0-9]+))?")


@dataclass(frozen=True)
class Style:
    """How one kind is shown.

    Attributes
    ----------
    unit : str
        As written in the job.
    factor : Fraction
        SI value of one unit; of a slope, rise over run.
    slope : bool
        Whether an angle is shown as rise over run.
    step : Fraction
        The last place that is shown; 0 leaves it to significant figures.
    places : int
        Decimals of the step; -1 when the step is a fraction of an inch.
    asked : bool
        Whether the job gave the step, which is then kept for small numbers too.
    """

    unit: str
    factor: Fraction
    slope: bool
    step: Fraction
    places: int
    asked: bool

    @classmethod
    def read(cls, kind: Kind, text: str) -> "Style":
        """Read a style such as `in 1/32`, `mm 0.01` or `lbf`."""
        with quoting(text):
            match = _STYLE.fullmatch(clean(text))
            unit, asked = (match["unit"], match["step"]) if match else ("", None)
            slope = slope_factor(unit) if kind is Kind.ANGLE else None
            factor = slope or _factor(kind, unit)
            step = asked or _STEPS.get(unit)
            if asked and "/" in asked and unit not in ("in", "ft"):
                raise Refusal(
                    "asks for a fraction of a unit that is not divided that way", "write in 1/32 or mm 0.1"
                )
            if step and not Fraction(step):
                raise Refusal("asks for a step of zero", "write in 1/32 or mm 0.1")
            places = -1 if step and "/" in step else len((step or "").partition(".")[2])
            return cls(unit, factor, slope is not None, Fraction(step or 0), places, bool(asked))


def _factor(kind: Kind, unit: str) -> Fraction:
    if kind is not Kind.NUMBER:
        if not unit:
            raise Refusal(f"names no unit of {kind}", f"write one of {offer(kind)}")
        return factor_for(unit, kind, "")
    if unit not in ("", "%"):
        raise Refusal("is no way to show a plain number", "leave it empty or write %")
    return Fraction(1, 100) if unit else Fraction(1)


@dataclass(frozen=True)
class Show:
    """Shows SI numbers in the units of a job.

    Attributes
    ----------
    styles : mapping of Kind to Style
        One for every kind.

    Examples
    --------
    >>> Show.of({"length": "in 1/32"}).text(0.5952109, Kind.LENGTH)
    '23-7/16 in −0.004'
    """

    styles: Mapping[Kind, Style] = field(hash=False)

    @classmethod
    def of(cls, styles: Mapping[str, str]) -> "Show":
        """Take the units of a job, by the name of the kind; what is not named is shown metric.

        Parameters
        ----------
        styles : mapping of str to str
            `{"length": "in 1/32", "force": "lbf", "angle": "mm/m 0.1"}`; behind the unit the step.
            `ft 1/16` shows feet and inches.

        Raises
        ------
        QuantityError
            An unknown kind, or a unit that does not belong to it.
        """
        asked: dict[Kind, str] = {}
        for name, text in styles.items():
            if name.replace("_", " ") not in set(Kind):
                raise QuantityError(
                    f"“{name}” is nothing that can be shown", remedy=f"one of {', '.join(Kind)}"
                )
            asked[Kind(name.replace("_", " "))] = text
        return cls(
            MappingProxyType({kind: Style.read(kind, asked.get(kind, _DEFAULTS[kind])) for kind in Kind})
        )

    def unit(self, kind: Kind) -> str:
        """The unit a kind is shown in, for the head of a column."""
        return self.styles[kind].unit

    def plain(self, value: float, kind: Kind) -> str:
        """The number without its unit; for feet and inches, whose marks are part of the number, with them."""
        style = self.styles[kind]
        if not math.isfinite(value):
            return _endless(value)
        if style.places < 0:
            return _fractional(Fraction(value), style, "")
        return _decimal(_in_unit(value, style), style)

    def text(self, value: float, kind: Kind) -> str:
        """The number with its unit.

        Inches in fractions are followed by what is to be added to them, in thousandths of an inch,
        unless that is below half of one: `23-7/16 in −0.004`. Other units show their step; a number
        below ten steps shows two figures, up to three places more, unless the job gave the step.

        Parameters
        ----------
        value : float
            SI.
        kind : Kind
            What it is.
        """
        style = self.styles[kind]
        if style.places < 0 and math.isfinite(value):
            return _fractional(Fraction(value), style, " in")
        return f"{self.plain(value, kind)} {style.unit}".strip()

    def exact(self, value: float, kind: Kind) -> str:
        """Shortest text in the job's unit that `parse` reads back as the very same number.

        Raises
        ------
        QuantityError
            For a value that is not finite.
        """
        if not math.isfinite(value):
            raise QuantityError(f"“{value}” is not a finite number and has no exact text")
        style = self.styles[kind]
        if style.slope:  # the tangent would not come back bit for bit
            style = Style.read(kind, "deg")
        return next(
            text for text in _candidates(Fraction(value), style, kind) if _reads_as(text, kind, value)
        )


def _in_unit(value: float, style: Style) -> Fraction:
    return Fraction(math.tan(value) if style.slope else value) / style.factor


def _endless(value: float) -> str:
    return "not a number" if math.isnan(value) else ("∞" if value > 0 else "−∞")


def _minus(text: str) -> str:
    """A true minus, and none in front of zero."""
    negative = text.startswith("-") and bool(re.search("[1-9]", text))
    return ("−" if negative else "") + text.lstrip("-")


def _decimal(number: Fraction, style: Style) -> str:
    if not style.step:
        return _minus(_figures(number))
    if not style.asked and number and abs(number) < 10 * style.step:
        closer = _fixed(number, max(style.places, min(style.places + 3, 1 - _order(number))))
        if re.search("[1-9]", closer):
            return _minus(closer)
    return _minus(_fixed(round(number / style.step) * style.step, style.places))


def _figures(number: Fraction) -> str:
    """Four significant figures, all of a whole number; a very small one with its power of ten."""
    order = _order(number) if number else 0
    if order < -4:
        return (
            f"{_trim(_fixed(number / Fraction(10) ** order, _FIGURES - 1))}×10{str(order).translate(_RAISED)}"
        )
    return _trim(_fixed(number, max(0, _FIGURES - 1 - order)))


def _trim(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _order(number: Fraction) -> int:
    """Power of ten of the first figure."""
    return _to_decimal(abs(number), 17).adjusted()


def _to_decimal(number: Fraction, figures: int) -> Decimal:
    with localcontext(prec=figures, rounding=ROUND_HALF_EVEN):
        return Decimal(number.numerator) / Decimal(number.denominator)


def _fixed(number: Fraction, places: int) -> str:
    """Fixed decimals, correctly rounded from the exact number."""
    scaled = round(number * 10**places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    whole, part = (digits[:-places], digits[-places:]) if places else (digits, "")
    return ("-" if scaled < 0 else "") + whole + (f".{part}" if part else "")


def _fractional(value: Fraction, style: Style, mark: str) -> str:
    """`23-7/16 in −0.004`; in feet `5 ft 3-1/2 in`."""
    inches = value / _INCH
    parts = round(inches / style.step)
    thousandths = round((inches - parts * style.step) * 1000)
    shown = _mixed(abs(parts) * style.step, style.unit == "ft", mark)
    sign = "−" if parts < 0 else ""
    left = f" {'−' if thousandths < 0 else '+'}0.{abs(thousandths):03d}" if thousandths else ""
    return sign + shown + left


def _mixed(inches: Fraction, in_feet: bool, mark: str) -> str:
    feet, inches = divmod(inches, Fraction(12)) if in_feet else (0, inches)
    whole, part = divmod(inches, 1)
    text = f"{whole}-{part}" if whole and part else str(part or whole)
    return f"{feet} ft {text} in" if in_feet else text + mark


def _candidates(value: Fraction, style: Style, kind: Kind) -> Iterator[str]:
    """Texts ever closer to the value, the plainest first; enough figures always suffice."""
    if style.places < 0:
        steps = round(value / _INCH / style.step)
        yield ("-" if steps < 0 else "") + _mixed(abs(steps) * style.step, style.unit == "ft", " in")
    for figures in count(15):
        number = _to_decimal(value / style.factor, figures)
        in_full = kind is Kind.NUMBER or -7 <= number.adjusted() <= 20
        head, e, power = (f"{number:f}" if in_full else f"{number:e}").partition("e")
        yield f"{_trim(head)}{e}{power} {style.unit}".rstrip()


def _reads_as(text: str, kind: Kind, value: float) -> bool:
    try:
        return parse(text, kind) == value
    except QuantityError:  # rounded up beyond the largest number there is
        return False
