"""In which directions a part can be drawn straight out from between what stands around it.

All parts are lists of convex pieces. A piece `a` that moves along `d` strikes a standing piece `b` when the
ray along `d` enters the inside of `b - a` (the Minkowski difference). For convex pieces that is a handful of
planes, so every direction is answered exactly, touching faces included.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

TOUCH = 5e-5
"""m; pieces nearer than this count as touching, and a rub of less is none."""
_SAME = 1e-6
"""Sine of the angle below which two directions are one."""
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Leaving:
    """How a part can leave.

    Attributes
    ----------
    directions : (n, 3) unit vectors that were tried: all round, and every one that touching faces leave over
    reach : (n,) m
        How far it gets; infinite where it leaves.
    stopped_by : (n,)
        Index in `names` of what it strikes first; -1 where it leaves.
    names : what stands around
    locked : bool
        Whether the faces it touches alone let it go nowhere, not even the least way in a straight line.
    """

    directions: Array
    reach: Array
    stopped_by: NDArray[np.intp]
    names: tuple[str, ...]
    locked: bool

    @property
    def free(self) -> Bools:
        """Directions in which nothing is struck."""
        return np.asarray(np.isinf(self.reach))

    @property
    def blockers(self) -> tuple[str, ...]:
        """What stops it, those first that stop it in the most directions."""
        hit = self.stopped_by[self.stopped_by >= 0]
        counts = np.bincount(hit, minlength=len(self.names))
        return tuple(self.names[i] for i in np.argsort(-counts, kind="stable") if counts[i])


def leave(
    moving: Sequence[Array], standing: Mapping[str, Sequence[Array]], *, touch: float = TOUCH
) -> Leaving:
    """Try every direction.

    Parameters
    ----------
    moving : convex pieces, each (k, 3) m
    standing : the same of everything around, by name
    touch : m
    """
    names = tuple(standing)
    walls = [
        (owner, _planes(one, other))
        for owner, name in enumerate(names)
        for other in standing[name]
        for one in moving
    ]
    directions = np.vstack([_all_round(), _left_over([planes for _, planes in walls], touch)])
    reach = np.full(len(directions), np.inf)
    stopped_by = np.full(len(directions), -1, dtype=np.intp)
    held = np.zeros(len(directions), dtype=bool)
    for owner, planes in walls:
        struck = _struck(planes, directions, touch)
        sooner = struck < reach
        reach[sooner], stopped_by[sooner] = struck[sooner], owner
        held |= _held(planes, directions, touch)
    return Leaving(directions, reach, stopped_by, names, bool(held.all()))


def _planes(moving: Array, standing: Array) -> Array:
    """(k, 4): n and h of the planes n . x <= h that bound standing - moving."""
    apart = (standing[:, None] - moving[None]).reshape(-1, 3)
    equations = ConvexHull(apart).equations
    return np.asarray(np.unique(equations.round(12), axis=0) * [1.0, 1.0, 1.0, -1.0])


def _struck(planes: Array, directions: Array, touch: float) -> Array:
    """(n,) m gone along each direction when the inside is entered; infinite where it never is."""
    along = directions @ planes[:, :3].T
    room = np.broadcast_to(planes[:, 3] - touch, along.shape)
    level = np.abs(along) < _ROUNDING
    with np.errstate(divide="ignore", invalid="ignore"):
        at = room / along
    enter = np.where(~level & (along < 0.0), at, 0.0).max(axis=1)
    exit_ = np.where(~level & (along > 0.0), at, np.inf).min(axis=1)
    missed = (level & (room <= 0.0)).any(axis=1) | (enter >= exit_)
    return np.asarray(np.where(missed, np.inf, enter.clip(0.0)))


def _held(planes: Array, directions: Array, touch: float) -> Bools:
    """(n,): whether the faces in touch stop the least move."""
    if not _touches(planes, touch):
        return np.zeros(len(directions), dtype=bool)
    faces = planes[np.abs(planes[:, 3]) <= 2.0 * touch, :3]
    return np.asarray((directions @ faces.T < -_SAME).all(axis=1))


def _left_over(walls: Sequence[Array], touch: float) -> Array:
    """Directions where the planes of touching faces meet: if any way out is left, one of these is.

    The directions that one touching piece forbids are an open cone; what all of them leave over is bounded by
    their planes, so it holds a line in which two of those planes meet, unless all planes are parallel.
    """
    normals = [planes[np.abs(planes[:, 3]) <= 2.0 * touch, :3] for planes in walls if _touches(planes, touch)]
    if not normals:
        return np.zeros((0, 3))
    distinct = _distinct(np.vstack(normals))
    first, second = np.triu_indices(len(distinct), 1)
    crossed = np.cross(distinct[first], distinct[second])
    sine = np.linalg.norm(crossed, axis=1)
    lines = crossed[sine > _SAME] / sine[sine > _SAME, None]
    if not len(lines):
        lines = np.cross(distinct[0], np.eye(3)[np.abs(distinct[0]).argmin()])[None]
        lines /= np.linalg.norm(lines)
    both = np.vstack([distinct, lines])
    return np.vstack([both, -both])


def _touches(planes: Array, touch: float) -> bool:
    """Whether the two pieces touch: nothing is between them, and they share no more than their skins."""
    least = planes[:, 3].min()
    return bool(-2.0 * touch <= least <= 2.0 * touch)


def _distinct(normals: Array) -> Array:
    """Unit vectors that differ by more than rounding, a vector and its opposite counted once."""
    first = np.sign(normals[np.arange(len(normals)), np.abs(normals).argmax(axis=1)])
    upright = normals * first[:, None]
    _, keep = np.unique((upright / _SAME).round(), axis=0, return_index=True)
    return np.asarray(upright[np.sort(keep)])


def _all_round(count: int = 1000) -> Array:
    """Unit vectors spread evenly (a Fibonacci lattice), and the six along the axes."""
    i = np.arange(count) + 0.5
    z = 1.0 - 2.0 * i / count
    turn = i * np.pi * (3.0 - np.sqrt(5.0))
    flat = np.sqrt(1.0 - z * z)
    spread = np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z])
    return np.vstack([np.eye(3), -np.eye(3), spread])
