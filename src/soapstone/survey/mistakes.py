"""Mistakes of the trade that could explain a wrong reading.

Sizes and kinds, and how common each is beside the others, are common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np

from soapstone.errors import QuantityError
from soapstone.quantity import Kind, parse
from soapstone.survey.index import Array
from soapstone.survey.model import compile_model
from soapstone.survey.records import Network, Reading, ReadingKind
from soapstone.survey.shown import evaluate

_INCH, _FOOT = 0.0254, 0.3048
_LIKELY = 3.29  # standard deviations within which a mistake explains an error
_COMMON, _USUAL, _RARE = 1.0, 0.5, 0.1  # how often a mistake is made, beside the commonest
_UNNAMED = 12.0  # what an error without a named cause costs: likelihood 1/400 of the commonest's


@dataclass(frozen=True)
class Mistake:
    """One way a reading can go wrong.

    Attributes
    ----------
    words : str
        What happened.
    error : float
        SI; read minus true.
    off : float
        By how many standard deviations the estimated error misses this one.
    share : float
        How often it is made, beside the commonest mistake.
    """

    words: str
    error: float
    off: float
    share: float

    @property
    def likelihood(self) -> float:
        """Of the evidence, with how common the mistake is; only ratios mean anything."""
        return self.share * float(np.exp(-0.5 * self.off**2))


def explain(network: Network, row: int, xyz: Array, error: float, sigma: float) -> tuple[Mistake, ...]:
    """The mistakes that suit an estimated error, the likeliest first.

    Parameters
    ----------
    network : Network
    row : int
        Index of the wrong reading.
    xyz : (n, 3) m
        Coordinates found without it.
    error, sigma : float
        SI; its estimated error, read minus true, and how well that is known.
    """
    reading = network.readings[row]
    possible = (*_usual(reading), *_mixed_up(network, reading, xyz))
    found = [Mistake(words, size, abs(error - size) / sigma, share) for words, size, share in possible]
    return tuple(sorted((m for m in found if m.off < _LIKELY), key=lambda m: -m.likelihood))


def fit_of(mistakes: tuple[Mistake, ...]) -> float:
    """What the likeliest mistake leaves unexplained, as -2 log likelihood."""
    named = [-2 * float(np.log(m.share)) + m.off**2 for m in mistakes[:1]]
    return min([_UNNAMED, *named])


_Guess = tuple[str, float, float]


def _usual(reading: Reading) -> Iterator[_Guess]:
    kind = reading.kind
    if kind is ReadingKind.LEVEL:
        yield "the sign of the slope swapped", 2 * reading.value, _COMMON
        yield from _swapped_digits(reading)
        return
    burned = "burned at the end of the tape" if kind.is_length else "too much"
    yield f"an inch {burned}", _INCH, _COMMON
    yield f"10 mm {burned}", 0.010, _COMMON
    yield f"100 mm {burned}", 0.100, _COMMON
    yield "an inch too little", -_INCH, _COMMON
    yield "10 mm too little", -0.010, _COMMON
    yield "100 mm too little", -0.100, _COMMON
    yield "a foot too much", _FOOT, _USUAL
    yield "a foot too little", -_FOOT, _USUAL
    if not kind.is_length and kind not in (ReadingKind.STRAIGHT, ReadingKind.FLUSH):
        yield "the side or sign swapped", 2 * reading.value, _COMMON
    yield from _edges(reading)
    yield from _swapped_digits(reading)


def _edges(reading: Reading) -> Iterator[_Guess]:
    """An edge of a hole taken for another, or for the centre."""
    holes = [(p, d) for p, d in zip(reading.points, reading.holes, strict=False) if d > 0]
    for sign, way in ((1.0, "far"), (-1.0, "near")):
        for point, hole in holes:
            yield f"the {way} edge of hole {point} taken for its centre", sign * hole / 2, _USUAL
            other = "near" if way == "far" else "far"
            yield f"the {way} edge of hole {point} taken for the {other} edge", sign * hole, _USUAL
        if len(holes) == 2:
            both = sum(hole for _, hole in holes)
            yield f"the {way} edges of both holes taken for their centres", sign * both / 2, _USUAL


def _swapped_digits(reading: Reading) -> Iterator[_Guess]:
    """Two neighbouring digits of the number as written swapped."""
    if reading.kind in (ReadingKind.STRAIGHT, ReadingKind.FLUSH):
        return
    angle = reading.kind is ReadingKind.LEVEL
    if not reading.written and angle:
        return
    text = reading.written or f"{abs(reading.value) * 1000:.0f} mm"
    for other, size in _swaps(text, Kind.ANGLE if angle else Kind.LENGTH):
        yield f"digits swapped: {other} read as {text}", float(np.copysign(1.0, reading.value)) * size, _RARE


@cache
def _swaps(text: str, kind: Kind) -> tuple[tuple[str, float], ...]:
    """What the text could have been, and by how much it is then too large."""
    found = []
    for i in range(len(text) - 1):
        one, two = text[i], text[i + 1]
        if one.isdecimal() and two.isdecimal() and one != two and "/" not in text[:i].rpartition(" ")[2]:
            other = text[:i] + two + one + text[i + 2 :]
            try:
                found.append((other, abs(parse(text, kind)) - abs(parse(other, kind))))
            except QuantityError:
                continue
    return tuple(found)


def _mixed_up(network: Network, reading: Reading, xyz: Array) -> Iterator[_Guess]:
    """A direct length taken for a plan distance, or the other way round."""
    if not reading.kind.is_length:
        return
    other = ReadingKind.PLAN if reading.kind is ReadingKind.TAPE else ReadingKind.TAPE
    pair = tuple(Reading(k, reading.points, 0.0, 1.0, "") for k in (reading.kind, other))
    (meant, entered), _ = evaluate(compile_model(Network(network.names, {}, pair)), xyz)
    words = "direct length entered as plan" if other is ReadingKind.TAPE else "plan length entered as direct"
    if abs(entered - meant) > 3 * reading.sigma:
        yield words, float(entered - meant), _COMMON
