"""Where names of points stand on a drawing: beside their points and on nothing else, where that can be."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LETTER, _HIGH, _MARK = 1.35, 2.6, 1.4  # mm: width of a letter, height of a name, half a mark
_NEAR, _FAR = 1.8, 12.0  # mm from the point to its name
_RINGS, _WAYS = 5, 16
_ROUNDS = 6
_LED = 3.0  # mm from which a line leads from the point to its name
_STEP = 1.0  # mm between the places at which a line is looked at
_NAME, _POINT, _LINE, _OUT, _DISTANCE = 20.0, 10.0, 0.6, 50.0, 0.35  # how much each is to be avoided


def names_at(
    names: Sequence[str], paper: Array, lines: Sequence[Mapping[str, Any]], size: tuple[float, float]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """A label for each name, and the lines that lead to those that had to stand off.

    Each name stands where it covers least of other names, marks and lines; after all are placed, each is
    looked at again among the others.

    Parameters
    ----------
    names : n names
    paper : (n, 2) mm
        Where the points are.
    lines : sequence of strokes
        What is drawn already.
    size : (float, float), mm
        Of the drawing: a name outside is cut off.
    """
    if not names:
        return [], []
    spots = [_spots(name, at) for name, at in zip(names, paper, strict=True)]
    inked = _along([*lines])
    own = [_cost(boxes, paper, inked, size) for boxes in spots]
    chosen = np.array([int(np.argmin(cost)) for cost in own])
    for _ in range(_ROUNDS):
        before = chosen.copy()
        for k, boxes in enumerate(spots):
            others = np.array([spots[i][chosen[i]] for i in range(len(names)) if i != k]).reshape(-1, 4)
            chosen[k] = int(np.argmin(own[k] + _NAME * _overlaps(boxes, others).sum(axis=1)))
        if np.array_equal(before, chosen):
            break
    taken = [spots[k][chosen[k]] for k in range(len(names))]
    labels = [_label(name, box) for name, box in zip(names, taken, strict=True)]
    leaders = [line for at, box in zip(paper, taken, strict=True) for line in _leader(at, box)]
    return labels, leaders


def _spots(name: str, at: Array) -> Array:
    """Boxes that a name may take, (s, 4): left, low, right, high, mm; the nearest first."""
    half = np.array([_LETTER * len(name) + 0.6, _HIGH]) / 2
    boxes = []
    for ring in np.geomspace(_NEAR, _FAR, _RINGS):
        for turn in np.arange(_WAYS) * 2 * np.pi / _WAYS:
            way = np.array([np.cos(turn), np.sin(turn)])
            middle = at + way * ring + way * half
            boxes.append(np.concatenate([middle - half, middle + half]))
    return np.array(boxes)


def _along(lines: Sequence[Mapping[str, Any]]) -> Array:
    """Places along all lines, (p, 2) mm."""
    places = [np.zeros((0, 2))]
    for line in lines:
        points = np.array(line["points"], dtype=float)
        if line.get("closed"):
            points = np.vstack([points, points[:1]])
        for one, two in pairwise(points):
            count = max(int(np.linalg.norm(two - one) / _STEP), 1) + 1
            places.append(one + np.linspace(0, 1, count)[:, None] * (two - one))
    return np.concatenate(places)


def _cost(boxes: Array, paper: Array, inked: Array, size: tuple[float, float]) -> Array:
    """What is against each box, whatever the other names do; (s,)."""
    marks = np.hstack([paper - _MARK, paper + _MARK])
    inside = (
        (inked[:, 0] > boxes[:, [0]])
        & (inked[:, 0] < boxes[:, [2]])
        & (inked[:, 1] > boxes[:, [1]])
        & (inked[:, 1] < boxes[:, [3]])
    )
    out = np.maximum(-boxes[:, :2], 0).sum(axis=1) + np.maximum(boxes[:, 2:] - np.array(size), 0).sum(axis=1)
    rings = np.repeat(np.geomspace(_NEAR, _FAR, _RINGS), _WAYS)
    covered = _POINT * _overlaps(boxes, marks).sum(axis=1) + _LINE * inside.sum(axis=1)
    cost: Array = covered + _OUT * out + _DISTANCE * rings
    return cost


def _overlaps(boxes: Array, others: Array) -> Array:
    """Areas shared by boxes, (s, 4) and (t, 4) mm, as (s, t) mm^2."""
    low = np.maximum(boxes[:, None, :2], others[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], others[None, :, 2:])
    area: Array = np.prod(np.maximum(high - low, 0.0), axis=2)
    return area


def _label(name: str, box: Array) -> dict[str, Any]:
    x, y = (box[:2] + box[2:]) / 2
    return {
        "text": name,
        "x": float(x),
        "y": float(y),
        "anchor": "center-horizon",
        "size": 7,
        "weight": "semibold",
    }


def _leader(at: Array, box: Array) -> list[dict[str, Any]]:
    near = np.clip(at, box[:2], box[2:])
    gap = float(np.linalg.norm(near - at))
    if gap < _LED:
        return []
    begin = at + (near - at) / gap * _MARK
    return [{"points": [begin.tolist(), near.tolist()], "stroke": "thin"}]
