"""The unit behind a number: a closed list of spellings, their product, and the factor to SI.

Only single unit names ever reach the units library, and what comes back is an exact fraction.
"""

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from soapstone.quantity.kind import Kind, article, offer
from soapstone.quantity.refusal import Refusal

if TYPE_CHECKING:
    import pint

Dimension = tuple[tuple[str, int], ...]
"""Powers of L length, M mass, F force, A angle, T time, K temperature; force and mass stay apart."""

_SPELLINGS: Mapping[tuple[str, str], str] = {
    ("micrometer", "L"): "µm um micron microns",
    ("millimeter", "L"): "mm MM millimetre millimetres millimeter millimeters",
    ("centimeter", "L"): "cm CM centimetre centimetres centimeter centimeters",
    ("meter", "L"): "m metre metres meter meters",
    ("kilometer", "L"): "km",
    ("thou", "L"): "thou",
    ("inch", "L"): 'in IN inch inches "',
    ("foot", "L"): "ft FT foot feet '",
    ("yard", "L"): "yd",
    ("mile", "L"): "mile miles",
    ("gram", "M"): "g gram grams",
    ("kilogram", "M"): "kg KG kilogram kilograms",
    ("metric_ton", "M"): "t tonne tonnes",
    ("pound", "M"): "lb lbs LB LBS lbm pound pounds",
    ("ounce", "M"): "oz",
    ("newton", "F"): "N newton newtons",
    ("kilonewton", "F"): "kN",
    ("meganewton", "F"): "MN",
    ("force_pound", "F"): "lbf LBF",
    ("kip", "F"): "kip kips",
    ("kilogram_force", "F"): "kgf",
    ("newton_meter", "F L"): "Nm",
    ("newton_millimeter", "F L"): "Nmm",
    ("kilonewton_meter", "F L"): "kNm",
    ("pascal", "F L-2"): "Pa",
    ("kilopascal", "F L-2"): "kPa",
    ("megapascal", "F L-2"): "MPa",
    ("gigapascal", "F L-2"): "GPa",
    ("bar", "F L-2"): "bar",
    ("psi", "F L-2"): "psi PSI",
    ("ksi", "F L-2"): "ksi KSI",
    ("degree", "A"): "° deg degree degrees",
    ("radian", "A"): "rad radian radians",
    ("milliradian", "A"): "mrad",
    ("turn", "A"): "rev turn turns",
    ("second", "T"): "s sec second seconds",
    ("millisecond", "T"): "ms",
    ("minute", "T"): "min minute minutes",
    ("hour", "T"): "h hr hour hours",
    ("mile_per_hour", "L T-1"): "mph MPH",
    ("kilometer_per_hour", "L T-1"): "kph",
    ("revolutions_per_minute", "A T-1"): "rpm RPM",
    ("watt", "F L T-1"): "W",
    ("kilowatt", "F L T-1"): "kW",
    ("horsepower", "F L T-1"): "hp HP",
    ("metric_horsepower", "F L T-1"): "PS",
    ("kelvin", "K"): "K",
    ("delta_degree_Celsius", "K"): "°C",
    ("delta_degree_Fahrenheit", "K"): "°F",
}
_ATOMS = {word: atom for atom, words in _SPELLINGS.items() for word in words.split()}
_POUND_FORCE = dict.fromkeys(("lb", "lbs", "LB", "LBS"), ("force_pound", "F"))
_MEANT: Mapping[Kind, Mapping[str, tuple[str, str]]] = {
    Kind.ACCELERATION: {"g": ("standard_gravity", "L T-2")},
    Kind.TORQUE: _POUND_FORCE,  # the trade's ft·lb; no torque is a mass times a length
    Kind.TURN_STIFFNESS: _POUND_FORCE,
}
_PRODUCTS = {  # compounds written without a mark between, in names the units library knows
    "newton_meter": ("newton", "meter"),
    "newton_millimeter": ("newton", "millimeter"),
    "kilonewton_meter": ("kilonewton", "meter"),
}
_SIGNATURE: Mapping[Kind, str] = {
    Kind.LENGTH: "L",
    Kind.MASS: "M",
    Kind.FORCE: "F",
    Kind.TORQUE: "F L",
    Kind.ANGLE: "A",
    Kind.STRESS: "F L-2",
    Kind.SPEED: "L T-1",
    Kind.ROTATION: "A T-1",
    Kind.ACCELERATION: "L T-2",
    Kind.STIFFNESS: "F L-1",
    Kind.TURN_STIFFNESS: "F L A-1",
    Kind.DENSITY: "M L-3",
    Kind.INERTIA: "M L2",
    Kind.POWER: "F L T-1",
    Kind.TIME: "T",
    Kind.EXPANSION: "K-1",
}
_TIDY = (
    (re.compile(r" +per +"), "/"),
    (re.compile(r" */ *"), "/"),
    (re.compile(r"⁻([¹²³⁴])"), r"~\1"),
    (re.compile(r"\^-([1-4])"), r"~\1"),
    (re.compile(r"(?:\^|\*\*)([1-4])"), r"\1"),
)
_SMALL = str.maketrans("¹²³⁴", "1234")
_JOINT = re.compile(r" *[·*.-] *| +")
_ATOM = re.compile(r"(?P<word>[^0-9~/()]+)(?P<power>~?[1-4])?")


@cache
def _registry() -> "pint.UnitRegistry[Fraction]":
    import pint  # loading it takes most of a second: only when a unit is met

    return pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)


@cache
def _factor(name: str) -> Fraction:
    if name in _PRODUCTS:
        first, second = _PRODUCTS[name]
        return _factor(first) * _factor(second)
    return Fraction(_registry().Quantity(Fraction(1), name).to_base_units().magnitude)


def _powers(signature: str) -> dict[str, int]:
    return {item[0]: int(item[1:] or 1) for item in signature.split()}


def _dimension(powers: Mapping[str, int]) -> Dimension:
    return tuple(sorted((letter, power) for letter, power in powers.items() if power))


_KIND_OF = {_dimension(_powers(signature)): kind for kind, signature in _SIGNATURE.items()}


def _atom(text: str, kind: Kind) -> tuple[Fraction, dict[str, int]] | None:
    match = _ATOM.fullmatch(text)
    atom = match and (_MEANT.get(kind, {}).get(match["word"]) or _ATOMS.get(match["word"]))
    if not match or not atom:
        return None
    power = int((match["power"] or "1").replace("~", "-"))
    return _factor(atom[0]) ** power, {k: v * power for k, v in _powers(atom[1]).items()}


def _parts(text: str) -> list[tuple[str, int]] | None:
    """Split `N·m/(m·K)` into single names with +1 above the line and -1 below."""
    head, *below = text.split("/")
    parts = [] if head in ("", "1") and below else [(word, 1) for word in _JOINT.split(head)]
    for text_below in below:
        bare = re.fullmatch(r"\((.+)\)", text_below)
        words = _JOINT.split(bare[1]) if bare else [text_below]
        parts += [(word, -1) for word in words]
    return parts


def look_up(text: str, kind: Kind) -> tuple[Fraction, Dimension] | None:
    """Factor to SI and dimension of a unit text, or None when it is no unit.

    Parameters
    ----------
    text : str
        A unit such as `lbf·ft`, `N/mm²`, `kg/m3`, `µm/(m·K)`.
    kind : Kind
        Settles what `g` means, and that a pound in a torque is a force.
    """
    if "~" in text:
        return None
    for pattern, put in _TIDY:
        text = pattern.sub(put, text)
    text = re.sub(r"(?<=[a-z])\.$", "", text.translate(_SMALL))
    factor, powers = Fraction(1), dict.fromkeys("LMFATK", 0)
    for word, side in _parts(text) or ():
        found = _atom(word, kind)
        if found is None:
            return None
        factor *= found[0] ** side
        for letter, power in found[1].items():
            powers[letter] += side * power
    return factor, _dimension(powers)


def factor_for(text: str, kind: Kind, number: str) -> Fraction:
    """SI value of one unit of a kind.

    Parameters
    ----------
    text : str
        What stands behind the number.
    kind : Kind
        What it must be a unit of.
    number : str
        The number as typed, for the message.

    Raises
    ------
    Refusal
        When it is no unit, or the unit of something else; says which would do.
    """
    if not text:
        raise Refusal("is a bare number", f"write {offer(kind, number)}")
    found = look_up(text, kind)
    if found is None and re.match(r"\W*[0-9]", text):
        raise Refusal(f"has more behind its number than a unit ({text!r})", f"write it in {offer(kind)}")
    if found is None:
        raise Refusal(f"has no unit of {kind} that is known here ({text!r})", f"write it in {offer(kind)}")
    factor, dimension = found
    if dimension != _dimension(_powers(_SIGNATURE[kind])):
        raise _mismatch(dimension, kind, text)
    return factor


def _mismatch(dimension: Dimension, kind: Kind, text: str) -> Refusal:
    other = _KIND_OF.get(dimension)
    what = (
        f"is {article(other)}, not {article(kind)}"
        if other
        else f"has a unit ({text}) that is not {article(kind)}"
    )
    as_force = _dimension({("F" if letter == "M" else letter): power for letter, power in dimension})
    if as_force == _dimension(_powers(_SIGNATURE[kind])):
        return Refusal(what, f"a force is written lbf or kgf; write it in {offer(kind)}")
    return Refusal(what, f"write it in {offer(kind)}")


def is_length(text: str) -> Fraction | None:
    """Metres in a unit of length, or None when the text is none."""
    found = look_up(text, Kind.LENGTH) if text else None
    return found[0] if found and found[1] == (("L", 1),) else None
