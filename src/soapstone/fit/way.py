"""A way for a part from where it sits to where it is wanted, turning and shifting, with a gap kept all along.

Two trees of poses grow towards each other, one from each end (Kuffner and LaValle, RRT-Connect, ICRA 2000). A step
is never taken on trust: from a pose with gap `g` no point of the part can come to the standing parts before it has
gone `g`, so the step is walked in such lengths and no sheet is too thin to be met (conservative advancement,
Mirtich 1996). All random numbers come from the seed; the budget is counted in steps, not seconds.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from soapstone.fit.gap import Gap

Array = NDArray[np.float64]

_SLACK = 0.1
"""Share of the gap that a walked step may lose between two poses that were looked at."""
_NEAR = 0.7
"""Share of the samples that are drawn about a pose already reached, to feel a way through a narrow place."""
_SHORTCUTS = 150


@dataclass(frozen=True)
class Room:
    """Where the part's middle may go, and how far its up axis may lean from upright.

    Attributes
    ----------
    low, high : (3,) m
    tilt : rad
    turn : rad
        How far it may turn from where it sits, whichever way.
    """

    low: Array
    high: Array
    tilt: float = np.pi
    turn: float = np.pi


@dataclass(frozen=True)
class Way:
    """Poses one after another, each a middle (3,) m and a unit quaternion (x, y, z, w); and the gap kept."""

    middles: Array
    turns: Array
    gap: float

    def walked(self, step: float, reach: float) -> tuple[Array, Array]:
        """Poses no point of the part goes farther than `step` m between, and their turns."""
        middles, turns = [self.middles[:1]], [self.turns[:1]]
        for i in range(len(self.middles) - 1):
            a, b = (self.middles[i], self.turns[i]), (self.middles[i + 1], self.turns[i + 1])
            count = max(1, int(np.ceil(_far(a, b, reach) / step)))
            share = np.arange(1, count + 1) / count
            middles.append(a[0] + share[:, None] * (b[0] - a[0]))
            turns.append(np.array([_between(a, b, s)[1] for s in share]))
        return np.vstack(middles), np.vstack(turns)


Pose = tuple[Array, Array]


def find_way(
    gap: Gap, start: Pose, goal: Pose, room: Room, *, keep: float, steps: int = 4000, seed: int = 1
) -> Way | None:
    """A way that keeps a gap, or None when none was found within the steps.

    Parameters
    ----------
    gap : of the part from all that stands
    start, goal : middle (3,) m and unit quaternion
    room : limits
    keep : m
        Gap to be kept; 0.9 of it is proven all along.
    steps : how often a tree may grow
    seed : of the random numbers
    """
    search = _Search(gap, room, keep, np.random.default_rng(seed), start)
    if min(search.gap_at(start), search.gap_at(goal)) < keep:
        return None
    trees = [_Tree(start, gap.reach), _Tree(goal, gap.reach)]
    for count in range(steps):
        one, other = trees if count % 2 == 0 else trees[::-1]
        reached = search.grow(one, search.sample(one, other))
        if reached is None:
            continue
        met = search.grow(other, one.pose(reached), whole=True)
        if met is not None and _far(other.pose(met), one.pose(reached), gap.reach) < 1e-9:
            first, second = (reached, met) if count % 2 == 0 else (met, reached)
            poses = [*trees[0].back(first)[::-1], *trees[1].back(second)[1:]]
            return search.shortened(poses)
    return None


class _Tree:
    """Poses reached from a root, each with the one it was reached from."""

    def __init__(self, root: Pose, reach: float) -> None:
        self.count, self.reach = 0, reach
        self.middles, self.turns = np.empty((256, 3)), np.empty((256, 4))
        self.parent: list[int] = []
        self.add(root, -1)

    def pose(self, index: int) -> Pose:
        return self.middles[index], self.turns[index]

    def add(self, pose: Pose, parent: int) -> int:
        if self.count == len(self.middles):
            self.middles = np.concatenate([self.middles, np.empty_like(self.middles)])
            self.turns = np.concatenate([self.turns, np.empty_like(self.turns)])
        self.middles[self.count], self.turns[self.count] = pose
        self.parent.append(parent)
        self.count += 1
        return self.count - 1

    def nearest(self, pose: Pose) -> int:
        apart = self.middles[: self.count] - pose[0]
        same = np.abs(self.turns[: self.count] @ pose[1]).clip(0.0, 1.0)
        return int((np.sqrt((apart * apart).sum(1)) + 2.0 * self.reach * np.arccos(same)).argmin())

    def back(self, index: int) -> list[Pose]:
        poses = []
        while index >= 0:
            poses.append(self.pose(index))
            index = self.parent[index]
        return poses


class _Search:
    def __init__(self, gap: Gap, room: Room, keep: float, random: np.random.Generator, start: Pose) -> None:
        self.gap, self.room, self.keep, self.random, self.start = gap, room, keep, random, start
        self.points = gap.points
        self.longest = float(np.linalg.norm(room.high - room.low)) / 4.0 + gap.reach

    def gap_at(self, pose: Pose) -> float:
        return self.gap.at(Rotation.from_quat(pose[1]).as_matrix(), pose[0])

    def allowed(self, pose: Pose) -> bool:
        up = Rotation.from_quat(pose[1]).as_matrix()[2, 2]
        turned = 2.0 * np.arccos(min(1.0, abs(float(pose[1] @ self.start[1]))))
        inside = bool((pose[0] >= self.room.low).all() and (pose[0] <= self.room.high).all())
        return inside and up >= np.cos(self.room.tilt) - 1e-12 and turned <= self.room.turn + 1e-12

    def sample(self, tree: _Tree, other: _Tree) -> Pose:
        while True:
            kind = self.random.random()
            if kind < 0.1:
                return other.pose(int(self.random.integers(other.count)))
            if kind < 0.1 + _NEAR:
                pose = self._about(tree.pose(int(self.random.integers(tree.count))))
            else:
                pose = self._anywhere()
            if self.allowed(pose):
                return pose

    def _about(self, pose: Pose) -> Pose:
        """A pose near by: turned about a point of the part itself, as one feels a bent bar through a slot."""
        size = 10.0 ** self.random.uniform(-2.0, 0.0)
        now = Rotation.from_quat(pose[1])
        pivot = now.apply(self.points[self.random.integers(len(self.points))])
        turn = Rotation.from_rotvec(self.random.normal(size=3) * size)
        shift = self.random.normal(size=3) * size * self.gap.reach * (self.random.random() < 0.7)
        return pose[0] + pivot - turn.apply(pivot) + shift, (turn * now).as_quat()

    def _anywhere(self) -> Pose:
        middle = self.random.uniform(self.room.low, self.room.high)
        if self.room.turn >= np.pi:
            return middle, Rotation.random(random_state=self.random).as_quat()
        way = self.random.normal(size=3)
        turn = self.room.turn * self.random.random() ** (1.0 / 3.0) * way / np.linalg.norm(way)
        return middle, (Rotation.from_rotvec(turn) * Rotation.from_quat(self.start[1])).as_quat()

    def grow(self, tree: _Tree, towards: Pose, *, whole: bool = False) -> int | None:
        """The new pose's index, as far towards the one given as the gap allows; None when it goes nowhere."""
        near = tree.nearest(towards)
        here = tree.pose(near)
        far = _far(here, towards, self.gap.reach)
        if far == 0.0:
            return near
        share = self.walk(here, towards, 1.0 if whole else min(1.0, self.longest / far))
        if share * far < self.keep:
            return None
        return tree.add(towards if share == 1.0 else _between(here, towards, share), near)

    def walk(self, a: Pose, b: Pose, most: float) -> float:
        """The share of the way from a to b that keeps the gap, at most `most`."""
        far, at = _far(a, b, self.gap.reach), 0.0
        if far == 0.0:
            return most
        here = self.gap_at(a)
        while here >= self.keep:
            on = min(most, at + (here - (1.0 - _SLACK) * self.keep) / far)
            pose = _between(a, b, on)
            here = self.gap_at(pose) if self.allowed(pose) else -1.0
            if here >= self.keep:
                at = on
                if at == most:
                    break
        return at

    def shortened(self, poses: list[Pose]) -> Way:
        """Corners cut where the gap allows it."""
        for _ in range(_SHORTCUTS):
            if len(poses) < 3:
                break
            i, j = np.sort(self.random.choice(len(poses), 2, replace=False))
            if j - i > 1 and self.walk(poses[i], poses[j], 1.0) == 1.0:
                del poses[i + 1 : j]
        return Way(np.array([p[0] for p in poses]), np.array([p[1] for p in poses]), self.keep * (1.0 - _SLACK))


def _far(a: Pose, b: Pose, reach: float) -> float:
    """m; no point of the part goes farther between the two poses."""
    turn = 2.0 * np.arccos(min(1.0, abs(float(a[1] @ b[1]))))
    return float(np.linalg.norm(b[0] - a[0]) + reach * turn)


def _between(a: Pose, b: Pose, share: float) -> Pose:
    middle = a[0] + share * (b[0] - a[0])
    dot = float(a[1] @ b[1])
    other = b[1] if dot >= 0.0 else -b[1]
    angle = np.arccos(min(1.0, abs(dot)))
    if angle < 1e-9:
        return middle, b[1] if share == 1.0 else a[1]
    turn = (np.sin((1.0 - share) * angle) * a[1] + np.sin(share * angle) * other) / np.sin(angle)
    return middle, turn / np.linalg.norm(turn)


Progress = Callable[[float], None]
