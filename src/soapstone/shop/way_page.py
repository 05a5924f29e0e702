"""The report's page on how things go in: picture of the ways out, moves, order of taking apart."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from soapstone.finding import Finding, Verdict
from soapstone.fit.going_in import Brought, standing_at
from soapstone.fit.leaving import leave
from soapstone.fit.nearby import Pose
from soapstone.fit.order import Order
from soapstone.fit.ways_in import WaysIn
from soapstone.shop.words import WAYS

Array = NDArray[np.float64]

_RADIUS = 24.0
"""mm, of a half of the sphere on paper."""
_TURNS = (
    ("left side up", "right side up"),
    ("nose down", "nose up"),
    ("nose to the left", "nose to the right"),
)
"""A turn about the axes forward, left and up, right-handed, and the other way."""
_MOVES = 12
"""More moves than these are not printed: such a way is for the bench."""


def way_data(ways: WaysIn, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """Plain data for the sheets.

    Parameters
    ----------
    ways : of the job
    findings : of the whole job: the verdicts are theirs
    """
    told = {finding.id: finding for finding in findings}
    return {
        "radius": _RADIUS,
        "stages": [
            _stage(ways, number, one, told[f"way-in:{one.spec.move}"])
            for number, one in enumerate(ways.brought)
        ],
        "order": _order(ways.order),
    }


def _stage(ways: WaysIn, number: int, one: Brought, told: Finding) -> dict[str, Any]:
    moves = list(_moves(one)) if one.way is not None else []
    more = max(0, len(moves) - _MOVES)
    tight = one.tight
    return {
        "move": one.spec.move,
        "from": one.spec.from_,
        "verdict": told.verdict.value,
        "moves": moves[:_MOVES],
        "more": f"{more} more moves" if more else "",
        "tight": ""
        if tight is None or not tight.part
        else f"Tightest: {1e3 * tight.gap:.1f} mm between {tight.part} and {tight.other}, "
        f"{1e3 * tight.from_seat:.0f} mm before it sits.",
        "why": "" if told.verdict is Verdict.HOLDS else told.remedy,
        **_sphere(ways, number),
    }


def _moves(one: Brought) -> Iterator[str]:
    """The way read backwards, from outside to the seat."""
    assert one.way is not None
    for before, after in pairwise(one.way.poses[::-1]):
        yield _said(before, after)


def _said(before: Pose, after: Pose) -> str:
    shift = after[0] - before[0]
    turn = (Rotation.from_quat(after[1]) * Rotation.from_quat(before[1]).inv()).as_rotvec()
    words = [
        f"{1e3 * abs(size):.0f} mm {WAYS[axis][int(size < 0.0)]}"
        for axis, size in enumerate(shift.tolist())
        if abs(size) > 5e-4
    ]
    words += [
        f"{np.degrees(abs(angle)):.1f}° {_TURNS[axis][int(angle < 0.0)]}"
        for axis, angle in enumerate(turn.tolist())
        if abs(angle) > 1e-3
    ]
    return ", ".join(words) or "hold"


def _sphere(ways: WaysIn, number: int) -> dict[str, Any]:
    """Both halves of the sphere of directions, equal areas staying equal (Lambert): where it leaves."""
    moving, standing = standing_at(ways.bodies, [one.spec for one in ways.brought], number)
    unseen = sorted({piece.name for piece in (*moving, *standing) if not piece.convex})
    around: dict[str, list[Array]] = {}
    for piece in standing:
        if piece.convex:
            around.setdefault(piece.name, []).append(piece.points)
    found = leave([piece.points for piece in moving if piece.convex], around)
    return {
        "halves": [
            {"name": "downward", "dots": _dots(found.directions, found.free, -1.0)},
            {"name": "upward", "dots": _dots(found.directions, found.free, 1.0)},
        ],
        "free": f"{int(found.free.sum())} of {len(found.free)} directions are free",
        "blockers": ", ".join(found.blockers[:4]),
        "unseen": ", ".join(unseen),
    }


def _dots(directions: Array, free: NDArray[np.bool_], half: float) -> list[dict[str, Any]]:
    """Forward at the top of the page, left at its left."""
    kept = directions[:, 2] * half > -1e-9
    lean = np.sqrt(np.maximum(1.0 - np.abs(directions[kept, 2]), 0.0))
    flat = directions[kept, :2]
    size = np.linalg.norm(flat, axis=1)
    flat = np.divide(flat, size[:, None], out=np.zeros_like(flat), where=size[:, None] > 0.0)
    places = _RADIUS * lean[:, None] * flat
    return [
        {"x": _RADIUS - y, "y": _RADIUS - x, "free": bool(is_free)}
        for (x, y), is_free in zip(places.tolist(), free[kept], strict=True)
    ]


def _order(order: Order | None) -> list[dict[str, str]]:
    if order is None:
        return []
    return [
        {
            "number": str(number),
            "name": step.name,
            "way": step.way,
            "bolts": ", ".join(step.bolts) or "–",
            "first": ", ".join(order.to_reach[step.name]) or "nothing",
        }
        for number, step in enumerate(order.apart, 1)
    ] + [
        {"number": "–", "name": ", ".join(knot.names), "way": "no straight way", "bolts": "–", "first": held}
        for knot in order.knots
        for held in ["; ".join(f"{name} is held by {', '.join(by)}" for name, by in knot.held_by.items())]
    ]
