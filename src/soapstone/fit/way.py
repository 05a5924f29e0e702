"""A way for a part from where it sits to where it is wanted, turning and shifting, with a gap kept all along.

Two trees of poses grow towards each other, one from each end (Kuffner and LaValle, RRT-Connect, ICRA 2000).
Where what stands stops the part, what is left of the motion is laid along the faces it would run into and
it slides on (after Zhang and Manocha's retraction, ICRA 2008); so it feels its way round an edge. Every
step is proven clear, not sampled. All random numbers come from the seed; the budget is counted in steps,
not seconds.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls
from scipy.spatial.transform import Rotation

from soapstone.fit.nearby import Contact, Nearby, Pose, between, far_apart, matrix, moved

Array = NDArray[np.float64]
Progress = Callable[[float], None]

SLACK = 0.1
"""Share of the gap that a proven step may lose."""
_TO_OTHER = 0.3
"""Share of the samples that are poses of the other tree."""
_ABOUT = 0.4
"""Share that turn or shift a pose already reached, to feel a way through a narrow place."""
_AFRESH = 150
"""Steps after which both trees are grown anew: what is not found soon is seldom found by the same trees."""
_SLIDES = 12
_SHORTCUTS = 100


@dataclass(frozen=True)
class Room:
    """Where the part's middle may go, and how far the part may turn.

    Attributes
    ----------
    low, high : (3,) m
    tilt : rad
        How far its up axis may lean from upright.
    turn : rad
        How far it may turn from where it sits, whichever way.
    """

    low: Array
    high: Array
    tilt: float = np.pi
    turn: float = np.pi

    def allows(self, pose: Pose) -> bool:
        """Whether the pose is within all of it; turns are counted from how the part sits."""
        inside = bool((pose[0] >= self.low - 1e-9).all() and (pose[0] <= self.high + 1e-9).all())
        lean = np.arccos(np.clip(matrix(pose[1])[2, 2], -1.0, 1.0))
        turned = 2.0 * np.arccos(min(1.0, abs(float(pose[1][3]))))
        return inside and lean <= self.tilt + 1e-9 and turned <= self.turn + 1e-9


@dataclass(frozen=True)
class Way:
    """Poses one after another: middles (n, 3) m, unit quaternions (n, 4); and the gap m proven all along."""

    middles: Array
    turns: Array
    gap: float

    @property
    def poses(self) -> list[Pose]:
        """The same, one by one."""
        return list(zip(self.middles, self.turns, strict=True))

    def walked(self, step: float, reach: float) -> "Way":
        """The same way in poses no point of the part goes farther than `step` m between."""
        poses = self.poses
        fine = poses[:1]
        for a, b in pairwise(poses):
            count = max(1, int(np.ceil(far_apart(a, b, reach) / step)))
            fine += [between(a, b, share) for share in np.arange(1, count + 1) / count]
        return way_of(fine, self.gap)


def way_of(poses: list[Pose], gap: float) -> Way:
    """Poses as one record."""
    return Way(np.array([pose[0] for pose in poses]), np.array([pose[1] for pose in poses]), gap)


def find_way(
    near: Nearby,
    starts: list[Pose],
    goals: list[Pose],
    room: Room,
    *,
    keep: float,
    steps: int = 2000,
    seed: int = 1,
    progress: Progress = lambda share: None,
) -> Way | None:
    """A way that keeps a gap, or None when none was found within the steps.

    Parameters
    ----------
    near : the part and what stands
    starts, goals : it may begin at any of the first and end at any of the second
    room : limits
    keep : m
        Gap to be kept; 0.9 of it is proven all along.
    steps : how often a tree may grow
    seed : of the random numbers
    progress : called now and then with the share of the steps gone
    """
    search = _Search(near, room, keep, np.random.default_rng(seed))
    for gone in range(0, steps, _AFRESH):

        def told(count: int, gone: int = gone) -> None:
            progress((gone + count) / steps)

        poses = search.run(starts, goals, min(_AFRESH, steps - gone), told)
        if poses is not None:
            return search.shortened(poses)
    return None


class _Tree:
    """Poses reached from its roots, each with the one it was reached from."""

    def __init__(self, roots: list[Pose], reach: float) -> None:
        self.count, self.reach = 0, reach
        self.middles, self.turns, self.failed = np.empty((256, 3)), np.empty((256, 4)), np.zeros(256)
        self.parent: list[int] = []
        self.near: dict[int, list[Contact]] = {}
        for root in roots:
            self.add(root, -1)

    def pose(self, index: int) -> Pose:
        return self.middles[index], self.turns[index]

    def add(self, pose: Pose, parent: int) -> int:
        if self.count == len(self.middles):
            self.middles = np.concatenate([self.middles, np.empty_like(self.middles)])
            self.turns = np.concatenate([self.turns, np.empty_like(self.turns)])
            self.failed = np.concatenate([self.failed, np.zeros_like(self.failed)])
        self.middles[self.count], self.turns[self.count] = pose
        self.parent.append(parent)
        self.count += 1
        return self.count - 1

    def apart(self, pose: Pose) -> Array:
        """Of every pose from the one given, m."""
        shift = self.middles[: self.count] - pose[0]
        same = np.abs(self.turns[: self.count] @ pose[1]).clip(0.0, 1.0)
        return np.asarray(np.sqrt((shift * shift).sum(1)) + 2.0 * self.reach * np.arccos(same))

    def back(self, index: int) -> list[Pose]:
        poses = []
        while index >= 0:
            poses.append(self.pose(index))
            index = self.parent[index]
        return poses


class _Search:
    def __init__(self, near: Nearby, room: Room, keep: float, random: np.random.Generator) -> None:
        self.near, self.room, self.keep, self.random = near, room, keep, random
        self.least = keep * (1.0 - SLACK)
        self.bite = near.reach / 4.0

    def usable(self, poses: list[Pose]) -> list[Pose]:
        return [pose for pose in poses if self.room.allows(pose) and not self.near.contacts(pose, self.keep)]

    def run(
        self, starts: list[Pose], goals: list[Pose], steps: int, progress: Callable[[int], None]
    ) -> list[Pose] | None:
        """The poses of a way, or None."""
        trees = [_Tree(self.usable(starts), self.near.reach), _Tree(self.usable(goals), self.near.reach)]
        if not (trees[0].count and trees[1].count):
            return None
        for count in range(steps):
            progress(count)
            one, other = trees if count % 2 == 0 else trees[::-1]
            reached = self.grow(one, self.sample(one, other))
            if reached is None:
                continue
            met = self.grow(other, one.pose(reached))
            if met is not None and far_apart(other.pose(met), one.pose(reached), self.near.reach) < 1e-9:
                first, second = (reached, met) if count % 2 == 0 else (met, reached)
                return [*trees[0].back(first)[::-1], *trees[1].back(second)[1:]]
        return None

    def sample(self, tree: _Tree, other: _Tree) -> Pose:
        while True:
            kind = self.random.random()
            if kind < _TO_OTHER:
                return other.pose(int(self.random.integers(other.count)))
            if kind < _TO_OTHER + _ABOUT:
                pose = self._about(
                    tree.pose(int(self.random.integers(tree.count))), 10.0 ** self.random.uniform(-1.5, 0.3)
                )
            else:
                pose = self._anywhere()
            if self.room.allows(pose):
                return pose

    def _about(self, pose: Pose, size: float) -> Pose:
        """A pose near by: turned about a point of the part itself, as one feels a bent bar through a slot."""
        pivot = matrix(pose[1]) @ self.near.points[self.random.integers(len(self.near.points))]
        turn = self.random.normal(size=3) * size * (min(1.0, self.room.turn))
        shift = self.random.normal(size=3) * size * self.near.reach * (self.random.random() < 0.7)
        return moved(pose, shift + pivot - Rotation.from_rotvec(turn).apply(pivot), turn)

    def _anywhere(self) -> Pose:
        middle = self.random.uniform(self.room.low, self.room.high)
        way = self.random.normal(size=3)
        most = min(self.room.turn, np.pi)
        turn = most * self.random.random() ** (1.0 / 3.0) * way / np.linalg.norm(way)
        return middle, np.asarray(Rotation.from_rotvec(turn).as_quat())

    def grow(self, tree: _Tree, towards: Pose) -> int | None:
        """The new pose's index, as far towards the one given as sliding gets; None when it goes nowhere."""
        apart = tree.apart(towards)
        at = int((apart * (1.0 + tree.failed[: tree.count])).argmin())
        first, left = at, float(apart[at])
        for _ in range(_SLIDES):
            if left < 1e-9:
                return at
            pose = self._on(tree, at, towards)
            if pose is None:
                tree.failed[at] += 1.0
                break
            nearer = far_apart(pose, towards, self.near.reach)
            if nearer > left - 0.1 * self.keep:
                tree.failed[at] += 1.0
                break
            at, left = tree.add(pose, at), nearer
        return None if at == first else at

    def _on(self, tree: _Tree, at: int, towards: Pose) -> Pose | None:
        """A step on: straight where that goes, else along the faces near by."""
        here = tree.pose(at)
        if at not in tree.near:
            tree.near[at] = self.near.contacts(here, self.keep + 2.0 * self.bite)
        near = tree.near[at]
        far = far_apart(here, towards, self.near.reach)
        there = towards if far <= 2.0 * self.bite else between(here, towards, 2.0 * self.bite / far)
        share = self.near.share_left(here, there, self.keep, near)
        if share * min(far, 2.0 * self.bite) > self.keep:
            there = there if share == 1.0 else between(here, there, share)
            if self._goes(here, there, near):
                return there
        for size in (self.bite, self.bite / 4.0, self.bite / 16.0):
            if size < 0.25 * self.keep:
                break
            there = self._along_faces(here, towards, size, near)
            if self._goes(here, there, near):
                return there
        return None

    def _goes(self, here: Pose, there: Pose, near: list[Contact] | None = None) -> bool:
        if not self.room.allows(there) or self.near.contacts(there, self.keep):
            return False
        if near is not None and far_apart(here, there, self.near.reach) > 2.0 * self.bite + 1e-9:
            near = None
        return self.near.clear(here, there, self.least, near)

    def _along_faces(self, here: Pose, towards: Pose, size: float, near: list[Contact]) -> Pose:
        """On from where it is stopped, by what is left of the motion along the faces near by."""
        shift = towards[0] - here[0]
        turn = (Rotation.from_quat(towards[1]) * Rotation.from_quat(here[1]).inv()).as_rotvec()
        wanted = np.concatenate([shift, turn * self.near.reach])
        wanted *= min(1.0, size / max(float(np.linalg.norm(wanted)), 1e-12))
        step = self._laid(here, wanted, [c for c in near if 0.0 < c.gap < self.keep + 2.0 * size][:30])
        return moved(here, step[:3], step[3:] / self.near.reach)

    def _laid(self, here: Pose, wanted: Array, near: list[Contact]) -> Array:
        """The motion (6,) nearest to the one wanted that keeps to first order a little more than the gap."""
        if not near:
            return wanted
        out = np.array([contact.out for contact in near])
        arm = np.array([contact.point for contact in near]) - here[0]
        rows = np.hstack([out, np.cross(arm, out) / self.near.reach])
        room = 1.2 * self.keep - np.array([contact.gap for contact in near])
        # least |x - wanted| with rows x >= room: its dual is a least-squares, no multiplier negative
        stacked = np.vstack([rows.T, (room - rows @ wanted)[None]])
        aim = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0])
        multipliers, _ = nnls(stacked, aim, maxiter=300)
        left = stacked @ multipliers - aim
        if abs(left[6]) < 1e-9:
            return np.zeros(6)
        return np.asarray(wanted - left[:6] / left[6])

    def shortened(self, poses: list[Pose]) -> Way:
        """Corners cut where the gap allows it."""
        for _ in range(_SHORTCUTS):
            if len(poses) < 3:
                break
            i, j = np.sort(self.random.choice(len(poses), 2, replace=False))
            if j - i > 1 and self._goes(poses[i], poses[j]):
                del poses[i + 1 : j]
        return way_of(poses, self.least)
