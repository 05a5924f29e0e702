"""Mistakes of the trade that could explain a wrong reading.

Sizes and kinds are common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from soapstone.survey.model import compile_model, evaluate
from soapstone.survey.records import Array, Network, Reading, ReadingKind

_INCH, _FOOT = 0.0254, 0.3048
_LIKELY = 3.29  # standard deviations within which a mistake explains an error


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
    """

    words: str
    error: float
    off: float


def explain(network: Network, row: int, xyz: Array, error: float, sigma: float) -> tuple[Mistake, ...]:
    """The mistakes that suit an estimated error, the best first.

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
    found = [Mistake(words, size, abs(error - size) / sigma) for words, size in possible]
    return tuple(sorted((m for m in found if m.off < _LIKELY), key=lambda m: m.off))


def _usual(reading: Reading) -> Iterator[tuple[str, float]]:
    if reading.kind is ReadingKind.LEVEL:
        yield "the sign of the slope swapped", 2 * reading.value
        return
    if reading.kind.is_length:
        yield "an inch burned at the end of the tape", _INCH
        yield "10 mm burned at the end of the tape", 0.010
        yield "100 mm burned at the end of the tape", 0.100
    else:
        yield "an inch too much", _INCH
        yield "10 mm too much", 0.010
        yield "100 mm too much", 0.100
        yield "the side or sign swapped", 2 * reading.value
    yield "an inch too little", -_INCH
    yield "10 mm too little", -0.010
    yield "100 mm too little", -0.100
    yield "a foot too much", _FOOT
    yield "a foot too little", -_FOOT
    yield from _swapped_digits(reading.value)


def _swapped_digits(value: float) -> Iterator[tuple[str, float]]:
    """Two neighbouring digits of the whole millimetres swapped."""
    digits = f"{abs(value) * 1000:.0f}"
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            other = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            meant = np.sign(value) * int(other) / 1000
            rounded = np.sign(value) * int(digits) / 1000
            yield f"digits swapped: {other} read as {digits} mm", float(rounded - meant)


def _mixed_up(network: Network, reading: Reading, xyz: Array) -> Iterator[tuple[str, float]]:
    """A direct length taken for a plan distance, or the other way round."""
    if not reading.kind.is_length:
        return
    other = ReadingKind.PLAN if reading.kind is ReadingKind.TAPE else ReadingKind.TAPE
    pair = tuple(Reading(k, reading.points, 0.0, 1.0, "") for k in (reading.kind, other))
    (meant, entered), _, _ = evaluate(compile_model(Network(network.names, {}, pair)), xyz)
    words = "direct length entered as plan" if other is ReadingKind.TAPE else "plan length entered as direct"
    if abs(entered - meant) > 3 * reading.sigma:
        yield words, float(entered - meant)
