"""Quantities with a direction word, positions, and what an instrument is good for."""

import re
from collections.abc import Sequence
from fractions import Fraction

from soapstone.quantity.kind import Kind
from soapstone.quantity.number import SIGNS, scan
from soapstone.quantity.reading import clean, read, slope_factor, to_float, typed_number
from soapstone.quantity.refusal import Refusal, quoting
from soapstone.quantity.unit import factor_for

_WORDS = {  # ISO 8855: x forward, y left, z up
    "forward": (0, 1),
    "fwd": (0, 1),
    "aft": (0, -1),
    "back": (0, -1),
    "left": (1, 1),
    "right": (1, -1),
    "up": (2, 1),
    "down": (2, -1),
}
_AXES = ("forward or aft", "left or right", "up or down")
_ASK = f"add {', '.join(_AXES)}"


def _split(text: str) -> tuple[str, tuple[int, int] | None]:
    """Take the direction word off the end of a cleaned text."""
    match = re.fullmatch(r"(.*?) ?([A-Za-z]+)", text)
    direction = _WORDS.get(match[2].lower()) if match else None
    return (match[1], direction) if match and direction else (text, None)


def _unsigned(text: str, kind: Kind) -> Fraction:
    if text[:1] in tuple(SIGNS):
        raise Refusal("has a sign as well as a direction word", "leave one of them out")
    return read(text, kind)


def _signed(text: str, direction: tuple[int, int]) -> tuple[int, float]:
    axis, sign = direction
    return axis, sign * to_float(_unsigned(text, Kind.LENGTH)) + 0.0


def parse_directed(text: str) -> tuple[int, float]:
    """Read a length with a direction word.

    Parameters
    ----------
    text : str
        `14-1/8 in up`; words forward, fwd, aft, back, left, right, up, down.

    Returns
    -------
    tuple of (int, float)
        Axis (0 x forward, 1 y left, 2 z up, ISO 8855) and signed metres along it.

    Raises
    ------
    QuantityError
        No length, no word, or a sign besides the word.
    """
    with quoting(text):
        value, direction = _split(clean(text))
        if direction is None:
            raise Refusal("has no direction word", _ASK)
        return _signed(value, direction)


def parse_position(parts: Sequence[str]) -> tuple[float, float, float]:
    """Read the three parts of a position.

    Parameters
    ----------
    parts : sequence of str
        Either each with a direction word, in any order and each axis once, or none with one: x, y, z.

    Returns
    -------
    tuple of float
        x, y, z in metres (ISO 8855).

    Raises
    ------
    QuantityError
        Names the part that cannot be read, or the axis that is missing or given twice.
    """
    split = [_split(clean(part)) for part in parts]
    whole = ", ".join(parts)
    if any(direction for _, direction in split):
        return _worded(parts, split, whole)
    with quoting(whole):
        if len(parts) != 3:
            raise Refusal("is not a position", "three lengths are needed: x forward, y left, z up")
    numbers = []
    for part in parts:
        with quoting(part):
            numbers.append(to_float(read(clean(part), Kind.LENGTH)))
    return numbers[0], numbers[1], numbers[2]


def _worded(
    parts: Sequence[str], split: list[tuple[str, tuple[int, int] | None]], whole: str
) -> tuple[float, float, float]:
    found: dict[int, float] = {}
    for part, (value, direction) in zip(parts, split, strict=True):
        with quoting(part):
            if direction is None:
                raise Refusal("has no direction word, though the other parts have one", _ASK)
            axis, number = _signed(value, direction)
        with quoting(whole):
            if axis in found:
                raise Refusal(f"gives {_AXES[axis]} twice")
        found[axis] = number
    missing = [words for axis, words in enumerate(_AXES) if axis not in found]
    with quoting(whole):
        if missing:
            raise Refusal(f"does not say how far {' and '.join(missing)}")
    return found[0], found[1], found[2]


def parse_directed_angle(text: str) -> float:
    """Read a level: an angle or slope with `up` or `down`.

    Parameters
    ----------
    text : str
        `0.2 deg up`, `12 mm/m down`, `1/8 in/ft up`; without a word it is taken as it stands.

    Returns
    -------
    float
        Radians, positive when it goes up from the first to the second point.

    Raises
    ------
    QuantityError
        No angle, another word than up or down, or a sign besides the word.
    """
    with quoting(text):
        value, direction = _split(clean(text))
        if direction is None:
            return to_float(read(value, Kind.ANGLE))
        axis, sign = direction
        if axis != 2:
            raise Refusal("is no level reading", "say up or down, from the first point to the second")
        return sign * to_float(_unsigned(value, Kind.ANGLE)) + 0.0


def parse_accuracy(text: str) -> tuple[float, float]:
    """Read what an instrument is good for: a fixed part and one that grows with the distance.

    Parameters
    ----------
    text : str
        `1 mm + 0.3 mm/m`, `0.4 mm`, `1/32 in + 0.005 in/ft`, `2 mm + 2 ppm`, each with or without ±.

    Returns
    -------
    tuple of float
        Metres, and metres per metre.

    Raises
    ------
    QuantityError
        A part that is neither a length nor a length per length, one given twice, or a minus.
    """
    with quoting(text):
        found: dict[bool, float] = {}
        for part in re.split(r"(?<![eE])\+", clean(text).removeprefix("±").removeprefix("+/-")):
            size, grows = _accuracy_part(part.strip())
            if size < 0:
                raise Refusal("has a minus where an accuracy cannot")
            if grows in found:
                raise Refusal("gives the same part of the accuracy twice", "write it like 1 mm + 0.3 mm/m")
            found[grows] = to_float(size)
        return found.get(False, 0.0), found.get(True, 0.0)


def _accuracy_part(text: str) -> tuple[Fraction, bool]:
    if not text:
        raise Refusal("leaves a part of the accuracy empty", "write it like 1 mm + 0.3 mm/m")
    number, unit = scan(text)
    rate = {"ppm": Fraction(1, 10**6), "%": Fraction(1, 100)}.get(unit) or slope_factor(unit)
    if rate is not None:
        return number * rate, True
    return number * factor_for(unit, Kind.LENGTH, typed_number(text, unit)), False
