"""One coherent set of units for a chain of formulas, so that its arithmetic can be redone as printed.

Metric jobs get N, mm, MPa (with kg and m/s², whose product is N); inch jobs get lbf, in, psi (with lb and
the standard acceleration as unit, whose product is lbf).
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from types import MappingProxyType

from soapstone.formula import Chain, Step
from soapstone.job.service import Show

_INCH = Fraction(254, 10000)
_POUND = Fraction(45359237, 100000000)
_GRAVITY = Fraction(980665, 100000)
FIGURES = 4
"""Significant figures that numbers are printed with."""
_FACTOR = re.compile(r"(?P<unit>[A-Za-z]+|1)(?:\*\*(?P<power>-?\d+))?")


@dataclass(frozen=True)
class UnitSet:
    """Units that go together.

    Attributes
    ----------
    name : str
        As told on the page.
    length, force, stress, mass, acceleration : (str, Fraction)
        How the unit is written, and its SI value.
    """

    name: str
    length: tuple[str, Fraction]
    force: tuple[str, Fraction]
    stress: tuple[str, Fraction]
    mass: tuple[str, Fraction]
    acceleration: tuple[str, Fraction]

    @cached_property
    def known(self) -> Mapping[str, tuple[str, Fraction]]:
        """SI unit as a chain writes it, to the unit that is printed."""
        (length, m), (force, n), (stress, p) = self.length, self.force, self.stress
        one = Fraction(1)
        return MappingProxyType(
            {
                "1": ("", one),
                "rad": ("rad", one),
                "m": self.length,
                "m**2": (f"{length}²", m**2),
                "m**3": (f"{length}³", m**3),
                "m**4": (f"{length}⁴", m**4),
                "N": self.force,
                "N*m": (f"{force}·{length}", n * m),
                "N/m": (f"{force}/{length}", n / m),
                "Pa": self.stress,
                "Pa/m": (f"{stress}/{length}", p / m),
                "kg": self.mass,
                "m/s**2": self.acceleration,
            }
        )

    def shown(self, value: float, unit: str) -> tuple[float, str]:
        """An SI value in this set's unit; a unit the set does not know stays SI, written as people do."""
        if unit in self.known:
            word, factor = self.known[unit]
            return value / float(factor), word
        return value, _FACTOR.sub(_raised, unit).replace("*", "·")


def _raised(match: re.Match[str]) -> str:
    power = match["power"] or ""
    return match["unit"] + power.translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))


METRIC = UnitSet(
    "N, mm, MPa",
    length=("mm", Fraction(1, 1000)),
    force=("N", Fraction(1)),
    stress=("MPa", Fraction(1000000)),
    mass=("kg", Fraction(1)),
    acceleration=("m/s²", Fraction(1)),
)
INCH = UnitSet(
    "lbf, in, psi",
    length=("in", _INCH),
    force=("lbf", _POUND * _GRAVITY),
    stress=("psi", _POUND * _GRAVITY / _INCH**2),
    mass=("lb", _POUND),
    acceleration=("g", _GRAVITY),
)
_SI = UnitSet(
    "m, N, Pa",
    length=("m", Fraction(1)),
    force=("N", Fraction(1)),
    stress=("Pa", Fraction(1)),
    mass=("kg", Fraction(1)),
    acceleration=("m/s²", Fraction(1)),
)


def units_of(show: Show) -> UnitSet:
    """The set for a job: inch where it shows lengths in inches or feet."""
    return INCH if show.length.split()[0] in ("in", "ft") else METRIC


def coherent(steps: tuple[Step, ...], wanted: UnitSet) -> UnitSet:
    """`wanted` when every formula gives its value in those units too, else SI.

    A formula that hides a constant with a unit in it, or mixes seconds with lengths, is redone in SI.
    """
    return wanted if all(_redone(step, wanted) for step in steps if step.formula) else _SI


def _redone(step: Step, units: UnitSet) -> bool:
    chain = Chain()
    for symbol, value, unit in step.numbers:
        chain.given(symbol, units.shown(value, unit)[0], unit, "")
    try:
        again = chain.step("result" if step.symbol != "result" else "result_", step.formula, step.unit, "")
    except (ArithmeticError, ValueError):
        return False
    # the same few roundings in another order: far below the four figures that are printed
    return math.isclose(again, units.shown(step.value, step.unit)[0], rel_tol=1e-9, abs_tol=1e-12)


def figures(value: float, count: int = FIGURES) -> str:
    """The number to so many significant figures, thousands set apart by thin spaces; no power of ten between
    a thousandth and a hundred million.
    """
    if not math.isfinite(value):
        return "∞" if value > 0 else "−∞" if value < 0 else "not a number"
    if value == 0.0:
        return "0"
    order = math.floor(math.log10(abs(float(f"{value:.{count - 1}e}"))))
    if not -4 <= order <= 8:
        mantissa, power = f"{value:.{count - 1}e}".split("e")
        return (
            f"{mantissa}·10{str(int(power)).translate(str.maketrans('-0123456789', '⁻⁰¹²³⁴⁵⁶⁷⁸⁹'))}".replace(
                "-", "−"
            )
        )
    places = max(0, count - 1 - order)
    whole, _, part = f"{abs(round(value, count - 1 - order)):.{places}f}".partition(".")
    sign = "−" if value < 0 else ""
    return sign + _grouped(whole) + (f".{part}" if part else "")


def _grouped(whole: str) -> str:
    if len(whole) <= 4:
        return whole
    return f"{int(whole):,}".replace(",", "\u2009")
