"""How far a part that moves is from all that stands, piece by piece, and whether a step stays clear.

A step between two poses is proven, never sampled. Either a pair of pieces is farther apart than any point
of the part goes, or a plane between the two convex pieces keeps them apart at both ends of the step; a
point that turns leaves its chord by no more than the arc's height, which is taken off. Where neither shows
it, the step is halved.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import fcl
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

Array = NDArray[np.float64]
Pose = tuple[Array, Array]
"""A middle (3,) m and a unit quaternion (x, y, z, w)."""

UPRIGHT = np.array([0.0, 0.0, 0.0, 1.0])
"""The quaternion of no turn."""


@dataclass(frozen=True, eq=False)
class Piece:
    """What stands or moves: a convex hull, or a mesh that need not be convex (a scan).

    Attributes
    ----------
    name : the part it belongs to
    points : (k, 3) m
    triangles : (t, 3)
    convex : bool
    """

    name: str
    points: Array
    triangles: NDArray[np.int64]
    convex: bool = True

    @classmethod
    def hull(cls, name: str, points: Array) -> "Piece":
        """The convex hull of (k, 3) m."""
        found = ConvexHull(points)
        index = np.zeros(len(points), dtype=np.int64)
        index[found.vertices] = np.arange(len(found.vertices))
        return cls(name, points[found.vertices], index[found.simplices])


@dataclass(frozen=True, eq=False)
class Contact:
    """Two pieces near each other: their gap m, the way out (3,) and the moving one's point (3,) m."""

    mover: int
    stander: int
    gap: float
    out: Array
    point: Array


class Nearby:
    """Distances of one rigid part from what stands.

    Parameters
    ----------
    moving : its pieces where it sits; poses turn it about `middle` and shift that
    standing : pieces
    """

    def __init__(self, moving: Sequence[Piece], standing: Sequence[Piece]) -> None:
        self.moving, self.standing = tuple(moving), tuple(standing)
        points = np.vstack([piece.points for piece in moving])
        self.middle: Array = (points.min(axis=0) + points.max(axis=0)) / 2.0
        self.points: Array = points - self.middle
        self.reach = float(np.linalg.norm(self.points, axis=1).max())
        self.starts = np.cumsum([0, *(len(piece.points) for piece in moving)])
        self.low = np.array([piece.points.min(axis=0) for piece in standing]).reshape(-1, 3)
        self.high = np.array([piece.points.max(axis=0) for piece in standing]).reshape(-1, 3)
        self._movers = [_object(piece, self.middle) for piece in moving]
        self._standers = [_object(piece, np.zeros(3)) for piece in standing]

    @property
    def seat(self) -> Pose:
        """The pose in which the part sits."""
        return self.middle, UPRIGHT

    def placed(self, pose: Pose) -> Array:
        """All points (k, 3) m of the part at a pose."""
        return np.asarray(self.points @ matrix(pose[1]).T + pose[0])

    def contacts(self, pose: Pose, within: float) -> list[Contact]:
        """Every pair of pieces nearer than `within` m, nearest first."""
        points = self.placed(pose)
        low = np.minimum.reduceat(points, self.starts[:-1])
        high = np.maximum.reduceat(points, self.starts[:-1])
        apart = np.maximum(self.low[None] - high[:, None], low[:, None] - self.high[None]).clip(0.0)
        transform = fcl.Transform(matrix(pose[1]), pose[0])
        found = []
        for i, j in np.argwhere((apart * apart).sum(axis=2) < within * within):
            self._movers[i].setTransform(transform)
            contact = self._contact(int(i), int(j))
            if contact.gap < within:
                found.append(contact)
        return sorted(found, key=lambda contact: contact.gap)

    def gap(self, pose: Pose, within: float = 10.0) -> float:
        """Least gap m, at most `within`; nothing where skins cut each other."""
        near = self.contacts(pose, within)
        return near[0].gap if near else within

    def _contact(self, i: int, j: int) -> Contact:
        result = fcl.DistanceResult()
        gap = fcl.distance(self._movers[i], self._standers[j], fcl.DistanceRequest(True), result)
        if gap <= 0.0:
            return Contact(i, j, 0.0, np.zeros(3), np.zeros(3))
        one, other = np.array(result.nearest_points[0]), np.array(result.nearest_points[1])
        return Contact(i, j, float(gap), (one - other) / gap, one)

    def clear(self, a: Pose, b: Pose, keep: float, begin: Sequence[Contact] | None = None) -> bool:
        """Whether `keep` m is proven all along the step; False where it is not, or not shown.

        `begin`, where it is known already, are the contacts at `a` within `keep` and the step's length.
        """
        known = self._among(self._met(a, b, keep), a) if begin is None else begin
        known = sorted(known, key=lambda contact: contact.gap)
        if known and known[0].gap < keep:
            return False
        return not self.contacts(b, keep) and self._clear(a, b, keep, known)

    def share_left(self, a: Pose, b: Pose, keep: float, begin: Sequence[Contact]) -> float:
        """The share of the step that is clear of the planes between pieces in contact, to first order."""
        ends = self.placed(a), self.placed(b)
        share = 1.0
        for contact in begin:
            if not contact.gap:
                continue
            own = slice(self.starts[contact.mover], self.starts[contact.mover + 1])
            edge = float(contact.out @ contact.point) - contact.gap + keep
            first, last = ((points[own] @ contact.out) - edge for points in ends)
            with np.errstate(divide="ignore", invalid="ignore"):
                met = np.where(last < 0.0, first / (first - last), 1.0)
            share = min(share, float(met.min()))
        return max(share, 0.0)

    def _met(self, a: Pose, b: Pose, keep: float) -> list[tuple[int, int]]:
        """Pairs whose boxes, the moving one's drawn out over the step, come nearer than the gap."""
        if _turn(a, b) > _SMALL_TURN:
            return [(int(i), int(j)) for i, j in np.ndindex(len(self.moving), len(self.standing))]
        grown = keep + _ARC * self.reach * (1.0 - np.cos(_turn(a, b) / 2.0))
        ends = self.placed(a), self.placed(b)
        low = np.minimum(*(np.minimum.reduceat(points, self.starts[:-1]) for points in ends)) - grown
        high = np.maximum(*(np.maximum.reduceat(points, self.starts[:-1]) for points in ends)) + grown
        meet = (low[:, None] <= self.high[None]) & (high[:, None] >= self.low[None])
        return [(int(i), int(j)) for i, j in np.argwhere(meet.all(axis=2))]

    def _clear(self, a: Pose, b: Pose, keep: float, known: Sequence[Contact]) -> bool:
        waiting, looks = [(a, b, known)], 0
        while waiting:
            a, b, near = waiting.pop(0)
            far = far_apart(a, b, self.reach)
            near = [contact for contact in near if contact.gap - far < keep]
            left = near if _turn(a, b) > _SMALL_TURN else self._unparted(a, b, keep, near)
            if not left:
                continue
            looks += len(left)
            pairs = [(contact.mover, contact.stander) for contact in left]
            middle = between(a, b, 0.5)
            half = self._among(pairs, middle)
            if looks > _LOOKS or any(contact.gap < keep for contact in half):
                return False
            waiting += [(a, middle, self._among(pairs, a)), (middle, b, half)]
        return True

    def _unparted(self, a: Pose, b: Pose, keep: float, near: Sequence[Contact]) -> list[Contact]:
        ends = self.placed(a), self.placed(b)
        arc = _ARC * self.reach * (1.0 - np.cos(_turn(a, b) / 2.0))
        return [contact for contact in near if not self._parted(contact, ends, keep + arc)]

    def _among(self, pairs: Sequence[tuple[int, int]], pose: Pose) -> list[Contact]:
        transform = fcl.Transform(matrix(pose[1]), pose[0])
        for i in {i for i, _ in pairs}:
            self._movers[i].setTransform(transform)
        return [self._contact(i, j) for i, j in pairs]

    def _parted(self, contact: Contact, ends: tuple[Array, Array], keep: float) -> bool:
        """Whether the plane square to the way out keeps the two pieces apart at both ends."""
        if not (self.moving[contact.mover].convex and self.standing[contact.stander].convex):
            return False
        edge = float((self.standing[contact.stander].points @ contact.out).max()) + keep
        own = slice(self.starts[contact.mover], self.starts[contact.mover + 1])
        return all(float((points[own] @ contact.out).min()) >= edge - _ROUNDING for points in ends)


_LOOKS = 300
"""Pairs that are looked at again, half a step on, before a step counts as not shown to be clear."""
_SMALL_TURN = 1.0
_ARC = 1.1
"""A point on an arc of up to one radian, evenly turned, is off its evenly walked chord by less than the arc's
height and a tenth (the part along the chord is at most 0.0081 of the radius, and not where the height is)."""
_ROUNDING = 1e-9


def matrix(turn: Array) -> Array:
    """The rotation (3, 3) of a unit quaternion."""
    x, y, z, w = turn
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def _turn(a: Pose, b: Pose) -> float:
    return float(2.0 * np.arccos(min(1.0, abs(float(a[1] @ b[1])))))


def far_apart(a: Pose, b: Pose, reach: float) -> float:
    """m; no point of the part goes farther between the two poses."""
    shift = b[0] - a[0]
    return float(np.sqrt(shift @ shift) + reach * _turn(a, b))


def between(a: Pose, b: Pose, share: float) -> Pose:
    """The pose a share of the way on, turning evenly."""
    middle = a[0] + share * (b[0] - a[0])
    dot = float(a[1] @ b[1])
    other = b[1] if dot >= 0.0 else -b[1]
    angle = np.arccos(min(1.0, abs(dot)))
    if angle < 1e-9:
        return middle, b[1] if share == 1.0 else a[1]
    turn = (np.sin((1.0 - share) * angle) * a[1] + np.sin(share * angle) * other) / np.sin(angle)
    return middle, turn / np.linalg.norm(turn)


def moved(pose: Pose, shift: Array, turn: Array) -> Pose:
    """A pose shifted by (3,) m and turned by a rotation vector (3,) rad about its middle."""
    turned: Array = (Rotation.from_rotvec(turn) * Rotation.from_quat(pose[1])).as_quat()
    return pose[0] + shift, turned


def _object(piece: Piece, middle: Array) -> fcl.CollisionObject:
    model = fcl.BVHModel()
    model.beginModel(len(piece.triangles), len(piece.points))
    model.addSubModel(np.ascontiguousarray(piece.points - middle), np.ascontiguousarray(piece.triangles))
    model.endModel()
    return fcl.CollisionObject(model, fcl.Transform())
