"""Names on a drawing: each where it covers least, with a thin line to what it names where it stands away."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_WIDE = 0.19
"""mm of width per letter and point of type: what the sheets' letters take on the average, with some room."""
_TALL = 0.24
_EVERY = 0.8
"""mm between the points at which drawn lines are looked up."""
_ROUND = 24
_FARTHEST = 26.0
_STEP = 1.5
_NEAR = 0.12
"""Lines covered that a millimetre farther off is worth."""


def apart(
    spots: Sequence[tuple[str, Any]],
    *,
    room: tuple[float, float],
    drawn: Sequence[Any] = (),
    size: float = 7.0,
    clear: float = 0.0,
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Place labels: never over each other or over the drawing's edge, rarely over its lines.

    Parameters
    ----------
    spots : sequence of (text, (x, y) mm)
    room : (width, height) mm
        Labels stay inside.
    drawn : sequence of (n, 2) mm
        Lines of the drawing.
    size : float
        Of the type, pt.
    clear : float
        mm that a label keeps off every spot.

    Returns
    -------
    labels, leaders
        As `drawing` of `sheet.typ` takes them.
    """
    ink = _ink(drawn)
    points = np.array([spot for _, spot in spots], dtype=float).reshape(-1, 2)
    taken = np.empty((0, 4))
    labels: list[dict[str, Any]] = []
    leaders: list[dict[str, Any]] = []
    for text, spot in spots:
        half = np.array([_WIDE * size * len(text) / 2 + 0.5, _TALL * size / 2 + 0.2])
        at = _best(np.array(spot, dtype=float), half, taken, ink, points, room, clear)
        taken = np.vstack([taken, [*at, *half]])
        x, y = (round(float(part), 3) for part in at)
        labels.append(
            {"x": x, "y": y, "text": text, "anchor": "center-horizon", "size": size, "weight": "medium"}
        )
        leaders += _leader(np.array(spot, dtype=float), at, half)
    return labels, leaders


_BALLOON = 3.2
"""mm, radius."""
_CLEAR = 9.0


def balloons(
    spots: Sequence[tuple[str, Any]], *, room: tuple[float, float], drawn: Sequence[Any] = ()
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """As `apart`, each text in a ring that stands clear of the drawing's lines, tied to a dot at its spot."""
    ink = _ink(drawn)
    points = np.array([spot for _, spot in spots], dtype=float).reshape(-1, 2)
    half = np.full(2, _BALLOON + 0.5)
    taken = np.empty((0, 4))
    labels: list[dict[str, Any]] = []
    lines: list[dict[str, Any]] = []
    for text, spot in spots:
        foot = np.array(spot, dtype=float)
        at = _best(foot, half, taken, ink, points, room, _CLEAR)
        taken = np.vstack([taken, [*at, *half]])
        x, y = (round(float(part), 3) for part in at)
        labels.append(
            {"x": x, "y": y, "text": text, "anchor": "center-horizon", "size": 8, "weight": "medium"}
        )
        way = (at - foot) / max(float(np.hypot(*(at - foot))), 1e-9)
        ends = [[round(float(part), 3) for part in end] for end in (foot, at - _BALLOON * way)]
        lines += [
            {"points": ends, "stroke": "hair"},
            {"points": _circle(foot, 0.45), "stroke": "thick", "closed": True},
            {"points": _circle(at, _BALLOON), "stroke": "thin", "closed": True, "fill": True},
        ]
    return labels, lines


def _circle(at: Array, radius: float) -> list[list[float]]:
    turn = np.linspace(0.0, 2.0 * math.pi, 32, endpoint=False)
    found: list[list[float]] = np.round(
        at + radius * np.column_stack((np.cos(turn), np.sin(turn))), 3
    ).tolist()
    return found


def _ink(drawn: Sequence[Any]) -> Array:
    """Points on all lines, close enough that no label fits between two."""
    found = [np.empty((0, 2))]
    for line in drawn:
        points = np.asarray(line, dtype=float)
        for one, other in pairwise(points):
            count = max(1, math.ceil(float(np.hypot(*(other - one))) / _EVERY))
            found.append(one + np.linspace(0.0, 1.0, count, endpoint=False)[:, None] * (other - one))
    return np.vstack(found)


def _best(
    spot: Array,
    half: Array,
    taken: Array,
    ink: Array,
    points: Array,
    room: tuple[float, float],
    clear: float,
) -> Array:
    """The cheapest of the places round a spot; what a label must not do costs more than all it may."""
    near = ink[np.abs(ink - spot).max(axis=1) < _FARTHEST + half.max()]
    best, least = spot, math.inf
    for at, distance in _candidates(spot, half, clear):
        cost = _NEAR * distance
        if cost >= least:
            continue
        inside = (at - half >= 0.0).all() and (at + half <= np.array(room)).all()
        cost += 0.0 if inside else 1e4
        cost += 1e4 * int((np.abs(taken[:, :2] - at) < taken[:, 2:] + half).all(axis=1).sum())
        cost += 1e2 * int((np.abs(points - at) < half + clear / 2).all(axis=1).sum()) if clear else 0.0
        cost += int((np.abs(near - at) < half).all(axis=1).sum())
        if cost < least:
            best, least = at, cost
    return best


def _candidates(spot: Array, half: Array, clear: float) -> list[tuple[Array, float]]:
    """Places, nearest first: on the spot, then round it, so far that box and spot part."""
    found = [] if clear else [(spot, 0.0)]
    for distance in np.arange(max(clear, _STEP), _FARTHEST, _STEP):
        for turn in range(_ROUND):
            angle = 2.0 * math.pi * turn / _ROUND
            way = np.array([math.cos(angle), math.sin(angle)])
            found.append((spot + way * distance + np.clip(way * 2.0, -1.0, 1.0) * half, float(distance)))
    return found


def _leader(spot: Array, at: Array, half: Array) -> list[dict[str, Any]]:
    """From the nearest place of the label's edge to the spot; none where the label is on it or beside it."""
    edge = np.clip(spot, at - half, at + half)
    if float(np.hypot(*(edge - spot))) < 2.0 * _STEP:
        return []
    ends = [[round(float(part), 3) for part in end] for end in (edge, spot)]
    return [{"points": ends, "stroke": "hair"}]
