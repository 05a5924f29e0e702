"""Readings that have a direction, as a person says them."""

from collections.abc import Callable

from soapstone.shop.words import WAYS
from soapstone.survey.records import Reading, ReadingKind


def with_way(reading: Reading, value: float, text: Callable[[float], str]) -> str:
    """A directed reading as a person says it: `13-1/16 in right`; the sign is in the word."""
    axis = _axis_of(reading)
    if axis is None:
        return text(value)
    return f"{text(abs(value))} {WAYS[axis][0 if value >= 0.0 else 1]}"


def _axis_of(reading: Reading) -> int | None:
    """Which of along, across and up a reading's sign goes by; None for a plain distance or a height."""
    if reading.kind is ReadingKind.LEVEL:
        return 2
    plane = reading.surface
    if plane is None or (reading.kind is ReadingKind.HEIGHT and reading.value >= 0.0):
        return None
    normal = plane.normal
    return normal.index(1.0) if sorted(normal) == [0.0, 0.0, 1.0] else None
