"""A proof that a part cannot leave its place: what stands near it holds it within a small box of motions.

A point of the part that lies over a face of a piece that stands, farther inside all other faces than it can
go, cannot get past that face while the part stays in the box. Such points give a linear program (motions to
first order, the second order taken off). When every motion it allows ends short of the box's sides, no way
leads out of the box, since a way would have to pass them. Form closure (Lakshminarayana 1978) with gaps
instead of contacts.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from soapstone.fit.nearby import Nearby, Piece

Array = NDArray[np.float64]

_BOXES = (3e-4, 6e-4, 1.2e-3, 2.5e-3, 5e-3)
"""m; half sizes of the boxes that are tried."""
_ROOT = np.sqrt(3.0)


def caged(near: Nearby, turning: bool) -> float | None:
    """How far, m, its middle gets at the most where it is proven held; None where nothing is proven.

    Parameters
    ----------
    near : the part and what stands
    turning : whether it may turn as well as shift
    """
    held = next((box for box in _BOXES if _holds(near, turning, box)), None)
    return None if held is None else float(_ROOT * held)


def _holds(near: Nearby, turning: bool, box: float) -> bool:
    rows, room = [], []
    for contact in near.contacts(near.seat, 2.0 * box):
        one, other = near.moving[contact.mover], near.standing[contact.stander]
        if contact.gap <= 0.0 or not (one.convex and other.convex):
            continue
        for sign, points, faces in ((1.0, one, other), (-1.0, other, one)):
            for row, gap in _over(points, _planes(faces), near, box, turning):
                rows.append(sign * row)
                room.append(gap)
    if not rows:
        return False
    count = 6 if turning else 3
    normals = -np.array(rows)[:, :count]
    aims = np.vstack([np.eye(count), -np.eye(count)])
    return all(_farthest(aim, normals, np.array(room), box) < 0.999 * box for aim in aims)


def _farthest(aim: Array, normals: Array, room: Array, box: float) -> float:
    found = linprog(-aim, A_ub=normals, b_ub=room, bounds=[(-box, box)] * len(aim))
    return -float(found.fun) if found.status == 0 and found.fun is not None else np.inf


def _over(
    points: Piece, planes: Array, near: Nearby, box: float, turning: bool
) -> Iterator[tuple[Array, float]]:
    """Rows (6,) of the motion and how far each may go, m, for points that cannot get round their face."""
    arm = points.points - near.middle
    swing = np.linalg.norm(arm, axis=1) / near.reach if turning else np.zeros(len(arm))
    goes = _ROOT * box * (1.0 + swing)
    # a turn's chord leaves its tangent by half the angle squared; a shift seen from the part turns with it
    second = 1.5 * box * box / near.reach * (swing + 2.0) if turning else np.zeros(len(arm))
    over = points.points @ planes[:, :3].T - planes[:, 3]
    for face, normal in enumerate(planes[:, :3]):
        others = np.delete(over, face, axis=1).max(axis=1)
        for at in np.flatnonzero((over[:, face] > 0.0) & (over[:, face] < 4.0 * box) & (others < -goes)):
            row = np.concatenate([normal, np.cross(arm[at], normal) / near.reach])
            yield row, float(over[at, face] + second[at])


def _planes(piece: Piece) -> Array:
    """(k, 4): n and h of the planes n . x <= h round the piece, each once."""
    found = np.unique(ConvexHull(piece.points).equations.round(9), axis=0)
    return np.asarray(found * [1.0, 1.0, 1.0, -1.0])
