"""The pose that meets weighted targets as well as hard limits let it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from soapstone.place.measures import Clearance, Measure, Reading
from soapstone.place.pose import Pose, rotation_from_vector

Array = NDArray[np.float64]

SETTLED = 1e-7
"""m; a limit counts as kept, and as touched, within this: a thousandth of what any gauge shows."""
_ROUNDS = 100
_DAMPING = 1e-4
"""Share of the stiffest target that each step is held back with; slows what is weak, shifts no answer."""
_GIVEN_UP = 1e6  # damping at which no step however short helps any more
_NO_RATE = np.zeros((1, 6))
_IDLE = 6  # rounds without a thousandth of gain after which the limits are broken as little as can be


@dataclass(frozen=True, eq=False)
class Target:
    """What a measure should read; the tighter the tolerance, the heavier it weighs.

    Attributes
    ----------
    measure : Measure
    wanted : (k,) SI
    within : float, SI
        Tolerance; the target is met when every value is off by no more.
    """

    measure: Measure
    wanted: Array
    within: float


@dataclass(frozen=True, eq=False)
class Limit:
    """What a measure must not go below or above, whatever the targets ask."""

    measure: Measure
    least: float = -np.inf
    most: float = np.inf


@dataclass(frozen=True, eq=False)
class Problem:
    """Everything that settles where a body sits.

    Attributes
    ----------
    start : Pose
        Where the search begins; freedoms that nothing settles keep their value.
    pivot : (3,) m in the body's axes
        The point whose shifts are counted; turns are counted about it.
    size : float, m
        How far the body reaches from the pivot; a turn weighs as much as the shift of its farthest point.
    targets : tuple of Target
    limits : tuple of Limit
    """

    start: Pose
    pivot: Array
    size: float
    targets: tuple[Target, ...]
    limits: tuple[Limit, ...] = ()


@dataclass(frozen=True, eq=False)
class Miss:
    """How well a target is met: `off` = reading minus wanted, (k,) SI."""

    target: Target
    off: Array

    @property
    def largest(self) -> float:
        """SI."""
        return float(np.abs(self.off).max())

    @property
    def met(self) -> bool:
        """Whether every value is within tolerance (one part in a million aside)."""
        return self.largest <= self.target.within * (1 + 1e-6)


@dataclass(frozen=True, eq=False)
class Room:
    """How far a limit is from being met.

    Attributes
    ----------
    limit : Limit
    room : float, SI; below zero the limit is broken
    pressure : float
        How much the sum of squared misses (each in tolerances) would fall per m or rad of slackening, halved;
        zero where the limit does not hold anything back.
    """

    limit: Limit
    room: float
    pressure: float = 0.0

    @property
    def touched(self) -> bool:
        """Whether nothing is left to it."""
        return self.room <= 10 * SETTLED


@dataclass(frozen=True, eq=False)
class Answer:
    """A pose and what is to be said of it.

    Attributes
    ----------
    pose : Pose
    misses : tuple of Miss, in the order of the targets
    rooms : tuple of Room, in the order of the limits
    possible : bool
        Whether every limit is kept.
    stationarity : float
        Largest part of the weighted misses' slope that neither the limits nor a level cost explains, per m;
        relative to the slope of a miss of one tolerance. Near zero at a true answer.
    """

    pose: Pose
    misses: tuple[Miss, ...]
    rooms: tuple[Room, ...]
    possible: bool
    stationarity: float


@dataclass(frozen=True, eq=False)
class _Rows:
    """Stacked readings in scaled unknowns: value (n,), rate (n, 6)."""

    value: Array
    rate: Array


@dataclass(frozen=True, eq=False)
class _State:
    pose: Pose
    cost: _Rows
    kept: Array  # limits as `value >= 0`, in m, (n,)

    @property
    def square(self) -> float:
        return float(self.cost.value @ self.cost.value)

    @property
    def broken(self) -> Array:
        return np.maximum(0.0, -self.kept)

    @property
    def possible(self) -> bool:
        return float(self.broken.max(initial=0.0)) <= SETTLED

    def merit(self, weight: float) -> float:
        return self.square / 2 + weight * float(self.broken.sum())


def solve_pose(problem: Problem) -> Answer:
    """Find the pose; pure.

    First the limits are brought to be kept, from the start pose and, if need be, from poses around it; then
    the squared misses, each in units of its tolerance, are made least by linearised least squares under
    linearised limits (Lawson and Hanson, Solving Least Squares Problems, 1974, ch. 23), step by step.
    Freedoms that nothing settles stay where they were.
    """
    state = _state(problem, keep_limits(problem))
    if not state.possible:
        return _answer(problem, state)
    damping, weight = _DAMPING, 1.0
    for _ in range(_ROUNDS):
        rows = _contact_rows(problem, state.pose)
        state_before = state
        while damping < _GIVEN_UP:
            step, multipliers = _step(state, rows, damping)
            weight = max(weight, 2.0 * float(multipliers.max(initial=0.0)))
            trial = _state(problem, _shifted(problem, state.pose, _capped(step, problem.size / 2)))
            if trial.merit(weight) < state.merit(weight):
                state, damping = trial, max(damping / 10, _DAMPING)
                break
            damping *= 10
        if state is state_before or float(np.linalg.norm(step)) < 1e-11 * (1.0 + problem.size):
            break
    if not state.possible:
        state = _state(problem, _least_broken(problem, state.pose))
    return _answer(problem, state)


def keep_limits(problem: Problem) -> Pose:
    """The pose nearest the start that keeps all limits, or the one that breaks them least.

    Looks from the start and, while a limit stays broken, from poses shifted and turned by the body's size.
    """
    best = _least_broken(problem, problem.start)
    for pose in _around(problem):
        if _state(problem, best).possible:
            break
        best = min(
            best, _least_broken(problem, pose), key=lambda p: float(np.sum(_state(problem, p).broken ** 2))
        )
    return best


def moved(pose: Pose, pivot: Array, shift: Array, turn: Array) -> Pose:
    """The pose after a shift (m) and a turn (rad, vehicle axes) about a point of the body's own axes."""
    at = pose.apply(pivot)
    rotation = rotation_from_vector(turn) @ pose.rotation
    return Pose(rotation, at + shift - rotation @ pivot)


def limit_rows(limit: Limit, reading: Reading) -> tuple[Array, Array]:
    """Room (n,) SI and its rate (n, 6) of the bounds a limit has."""
    values, rates = [], []
    if np.isfinite(limit.least):
        values.append(reading.value - limit.least)
        rates.append(reading.rate)
    if np.isfinite(limit.most):
        values.append(limit.most - reading.value)
        rates.append(-reading.rate)
    if not values:
        return np.zeros(0), np.zeros((0, 6))
    return np.concatenate(values), np.vstack(rates)


def _scale(size: float) -> Array:
    return np.array([1.0, 1.0, 1.0, 1.0 / size, 1.0 / size, 1.0 / size])


def _state(problem: Problem, pose: Pose) -> _State:
    pivot, scale = pose.apply(problem.pivot), _scale(problem.size)
    misses, slopes = [np.zeros(0)], [np.zeros((0, 6))]
    for target in problem.targets:
        reading = target.measure.of(pose, pivot)
        misses.append((reading.value - target.wanted) / target.within)
        slopes.append(reading.rate * scale / target.within)
    rooms = [np.zeros(0)]
    for limit in problem.limits:
        room, _ = limit_rows(limit, limit.measure.of(pose, pivot))
        rooms.append(room * _lever(problem, limit))
    return _State(pose, _Rows(np.concatenate(misses), np.vstack(slopes)), np.concatenate(rooms))


def _lever(problem: Problem, limit: Limit) -> float:
    return problem.size if limit.measure.unit == "rad" else 1.0


@dataclass(frozen=True, eq=False)
class _ContactRows(_Rows):
    """Limits with every contact, `owner` (n,) tells which limit a row belongs to."""

    owner: NDArray[np.int64]


def _contact_rows(problem: Problem, pose: Pose, *, broken: bool = False) -> _ContactRows:
    """Every contact of every limit; with `broken` only where a limit is broken, for no contact that is kept
    pushes back and no far contact is nearer than the gap.
    """
    pivot, scale = pose.apply(problem.pivot), _scale(problem.size)
    rooms, rates, owner = [np.zeros(0)], [np.zeros((0, 6))], [np.zeros(0, np.int64)]
    for i, limit in enumerate(problem.limits):
        room, rate = limit_rows(limit, limit.measure.of(pose, pivot)) if broken else (np.zeros(1), _NO_RATE)
        if not broken or room.min(initial=np.inf) < 0.0:
            room, rate = limit_rows(limit, contacts(limit, pose, pivot))
        rooms.append(room * _lever(problem, limit))
        rates.append(rate * scale * _lever(problem, limit))
        owner.append(np.full(len(room), i, np.int64))
    return _ContactRows(np.concatenate(rooms), np.vstack(rates), np.concatenate(owner))


def contacts(limit: Limit, pose: Pose, pivot: Array) -> Reading:
    """The limit's reading with a row for every place where it may be met next."""
    if isinstance(limit.measure, Clearance):
        return limit.measure.contacts(pose, pivot)
    return limit.measure.of(pose, pivot)


def _shifted(problem: Problem, pose: Pose, step: Array) -> Pose:
    return moved(pose, problem.pivot, step[:3], step[3:] / problem.size)


def _least_broken(problem: Problem, pose: Pose) -> Pose:
    """Damped Gauss-Newton on the broken parts of the limits."""
    state = _state(problem, pose)
    damping, idle, rows = 1e-6, 0, None
    for _ in range(_ROUNDS):
        broken = state.broken
        if broken.max(initial=0.0) <= SETTLED / 10:
            break
        if rows is None:
            rows = _contact_rows(problem, state.pose, broken=True)
        out = rows.value < 0.0
        rate, lacking = rows.rate[out], SETTLED / 20 - rows.value[out]
        normal, slope = rate.T @ rate, rate.T @ lacking
        step = np.asarray(np.linalg.solve(normal + damping * np.eye(6), slope), float)
        trial = _state(problem, _shifted(problem, state.pose, _capped(step, problem.size / 4)))
        gain = float(np.sum(broken**2) - np.sum(trial.broken**2))
        idle = idle + 1 if gain < 1e-3 * float(np.sum(broken**2)) else 0
        if idle == _IDLE:
            break
        if gain > 0.0:
            state, damping, rows = trial, max(damping / 10, 1e-12), None
        else:
            damping *= 100
    return state.pose


def _capped(step: Array, most: float) -> Array:
    length = float(np.linalg.norm(step))
    return step if length <= most else np.asarray(step * (most / length), float)


def _around(problem: Problem) -> list[Pose]:
    """Twelve poses half a size off along and 20 deg off about each axis."""
    poses = []
    for axis in np.eye(3):
        for sign in (1.0, -1.0):
            shift = 0.5 * problem.size * sign * axis
            poses.append(moved(problem.start, problem.pivot, shift, np.zeros(3)))
            poses.append(moved(problem.start, problem.pivot, np.zeros(3), np.radians(20.0) * sign * axis))
    return poses


def _step(state: _State, rows: _ContactRows, damping: float) -> tuple[Array, Array]:
    """Linearised least squares under linearised limits: the step (6,) and one multiplier per contact."""
    stiffness = max(float(np.linalg.norm(state.cost.rate, 2)) if len(state.cost.rate) else 0.0, 1.0)
    matrix = np.vstack([state.cost.rate, damping * stiffness * np.eye(6)])
    goal = np.concatenate([-state.cost.value, np.zeros(6)])
    q, r = np.linalg.qr(matrix)
    inverse = np.linalg.inv(r)
    free = q.T @ goal
    rate = rows.rate @ inverse
    y, multipliers = _least_distance(rate, -rows.value - rate @ free)
    step: Array = inverse @ (y + free)
    return step, multipliers


def _least_distance(rate: Array, need: Array) -> tuple[Array, Array]:
    """Shortest y with `rate y >= need`, and its multipliers (Lawson and Hanson 1974, ch. 23.4)."""
    if not len(need):
        return np.zeros(rate.shape[1]), np.zeros(0)
    # rows in units of their own length, so that non-negative least squares sees them alike
    length = np.maximum(np.linalg.norm(rate, axis=1), 1e-300)
    rate, need = rate / length[:, None], need / length
    unit = max(float(np.abs(need).max()), 1e-300)
    stacked = np.vstack([rate.T, need[None] / unit])
    last = np.zeros(rate.shape[1] + 1)
    last[-1] = 1.0
    shares, _ = nnls(stacked, last)
    left = 1.0 - float(need @ shares) / unit
    multipliers = shares * unit / max(left, 1e-12)
    y: Array = rate.T @ multipliers
    return y, multipliers / length


def _answer(problem: Problem, state: _State) -> Answer:
    pivot = state.pose.apply(problem.pivot)
    misses = tuple(Miss(t, t.measure.of(state.pose, pivot).value - t.wanted) for t in problem.targets)
    rows = _contact_rows(problem, state.pose)
    multipliers = np.zeros(len(rows.value))
    if state.possible:
        _, multipliers = _step(state, rows, _DAMPING)
    rooms = []
    for i, limit in enumerate(problem.limits):
        values, _ = limit_rows(limit, limit.measure.of(state.pose, pivot))
        pressure = float(multipliers[rows.owner == i].sum()) * _lever(problem, limit)
        rooms.append(Room(limit, float(values.min(initial=np.inf)), pressure))
    slope = state.cost.rate.T @ state.cost.value - rows.rate.T @ multipliers
    measure = max(float(np.linalg.norm(state.cost.rate)), 1e-300)
    return Answer(state.pose, misses, tuple(rooms), state.possible, float(np.abs(slope).max()) / measure)
