"""Splitting what is too big for a sheet: tiles at scale 1, never shrunk, with marks in common."""

import math
from dataclasses import dataclass

OVERLAP = 12.0
"""mm that two sheets share, so that one can be taped over the other."""


@dataclass(frozen=True)
class Tile:
    """A window onto the whole, mm.

    Attributes
    ----------
    column, row : int
        From 0, left to right and bottom to top.
    left, bottom, width, height : float
    """

    column: int
    row: int
    left: float
    bottom: float
    width: float
    height: float


@dataclass(frozen=True)
class Mark:
    """A matching mark: a letter at a place that two or more tiles show, mm."""

    letter: str
    x: float
    y: float


def spans(length: float, window: float) -> list[tuple[float, float]]:
    """Starts and lengths of equal windows, each at most `window`, that overlap and cover `length`."""
    if length <= window:
        return [(0.0, length)]
    count = math.ceil((length - OVERLAP) / (window - OVERLAP))
    each = (length + (count - 1) * OVERLAP) / count
    return [(index * (each - OVERLAP), each) for index in range(count)]


def tiles(width: float, height: float, window: tuple[float, float]) -> list[Tile]:
    """Cover a width and height with windows, bottom row first."""
    return [
        Tile(column, row, left, bottom, wide, high)
        for row, (bottom, high) in enumerate(spans(height, window[1]))
        for column, (left, wide) in enumerate(spans(width, window[0]))
    ]


def marks(width: float, height: float, window: tuple[float, float]) -> list[Mark]:
    """Matching marks in the middle of every overlap: two on each, lettered in order."""
    places: list[tuple[float, float]] = []
    across, upward = spans(width, window[0]), spans(height, window[1])
    for left, _ in across[1:]:
        for bottom, high in upward:
            places += [(left + OVERLAP / 2, bottom + high * part) for part in (0.2, 0.8)]
    for bottom, _ in upward[1:]:
        for left, wide in across:
            places += [(left + wide * part, bottom + OVERLAP / 2) for part in (0.2, 0.8)]
    return [Mark(_letter(index), x, y) for index, (x, y) in enumerate(places)]


def _letter(index: int) -> str:
    rest, last = divmod(index, 26)
    return (_letter(rest - 1) if rest else "") + chr(ord("A") + last)
