"""What the targets leave free, how far a body can still move, and which limits fight."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.place.pose import Pose
from soapstone.place.solve import SETTLED, Answer, Limit, Problem, contacts, keep_limits, limit_rows, moved
from soapstone.survey.loose import direction_words

Array = NDArray[np.float64]

_FREE = 1e-7
"""Share of the stiffest direction below which a direction counts as free."""


@dataclass(frozen=True, eq=False)
class Freedom:
    """A way to move that changes no target and meets no touched limit.

    Attributes
    ----------
    twist : (6,) shift m and turn rad about vehicle axes through the pivot
    words : str
    """

    twist: Array
    words: str


@dataclass(frozen=True)
class Play:
    """How far a body can move one way and the other, all else held.

    Attributes
    ----------
    name : str
    ahead, back : float, m or rad; not below zero
    stopped_ahead, stopped_back : str
        The limit that stops it, empty where none does within reach.
    unit : str
    """

    name: str
    ahead: float
    back: float
    stopped_ahead: str
    stopped_back: str
    unit: str


_WAYS = (
    ("forward, aft", "m"),
    ("left, right", "m"),
    ("up, down", "m"),
    ("left side up, down", "rad"),
    ("nose down, up", "rad"),
    ("turned left, right", "rad"),
)


def still_free(problem: Problem, answer: Answer) -> tuple[Freedom, ...]:
    """Every independent way in which the body can still move at the answer, the plainest first."""
    pivot = answer.pose.apply(problem.pivot)
    rows = [np.zeros((0, 6))]
    rows += [target.measure.of(answer.pose, pivot).rate for target in problem.targets]
    for room in answer.rooms:
        if room.touched:
            values, rates = limit_rows(room.limit, contacts(room.limit, answer.pose, pivot))
            rows.append(rates[values <= 10 * SETTLED])
    scale = np.array([1.0, 1.0, 1.0, 1 / problem.size, 1 / problem.size, 1 / problem.size])
    stacked = np.vstack(rows) * scale
    length = np.linalg.norm(stacked, axis=1, keepdims=True)
    stacked = stacked / np.where(length > 0.0, length, 1.0)
    basis = _plainest(_null_space(stacked), scale)
    return tuple(Freedom(twist, twist_words(twist, pivot)) for twist in basis)


def _null_space(rows: Array) -> Array:
    """(6, k) orthonormal."""
    if not len(rows):
        return np.eye(6)
    _, values, right = np.linalg.svd(rows)
    rank = int(np.count_nonzero(values > _FREE * max(values.max(), 1.0)))
    free: Array = right[rank:].T
    return free


def _plainest(basis: Array, scale: Array) -> Array:
    """The same span as (k, 6) twists with as many zeros as can be (Gauss-Jordan, shifts first)."""
    rows = (basis.T).copy()
    pivots: list[int] = []
    for done in range(len(rows)):
        rest = np.abs(rows[done:])
        column = next(c for c in range(6) if c not in pivots and rest[:, c].max() > 1e-6)
        chosen = done + int(rest[:, column].argmax())
        rows[[done, chosen]] = rows[[chosen, done]]
        rows[done] /= rows[done, column]
        for other in range(len(rows)):
            if other != done:
                rows[other] -= rows[other, column] * rows[done]
        pivots.append(column)
    twists: Array = np.where(np.abs(rows) < 1e-6, 0.0, rows) * scale
    return twists


def twist_words(twist: Array, pivot: Array) -> str:
    """A movement (6,) of the `pivot` (3,) m in words: the shift, or the line it turns about."""
    shift, turn = twist[:3], twist[3:]
    rate = float(np.linalg.norm(turn))
    if rate * 1e6 < float(np.linalg.norm(shift)):  # a line a thousand km off is no line
        return f"it can be shifted {direction_words(shift / np.linalg.norm(shift))}"
    axis = turn / rate
    through = pivot + np.cross(axis, shift / rate)
    advance = float(shift @ axis) / rate
    at = ", ".join(f"{round(1000 * value) + 0:d}" for value in through)
    words = f"it can be turned about a line running {direction_words(axis)} through ({at}) mm"
    return (
        words
        if abs(advance) < 1e-6
        else f"{words}, moving {1000 * advance * np.pi / 180:.2f} mm along it per deg"
    )


def free_play(problem: Problem, pose: Pose, *, shift: float, turn: float) -> tuple[Play, ...]:
    """How far each of the six freedoms can go alone before a limit is met.

    Parameters
    ----------
    problem : Problem
    pose : Pose
        Keeps all limits.
    shift, turn : float, m and rad
        How far to look.

    Notes
    -----
    A solid that is only shifted nears another along a convex curve, so a step along the curve's tangent never
    goes too far. In a turn each step is no longer than the room left allows at the fastest possible approach,
    or a hundredth of the reach once touching; the end is then halved down to a millionth of the reach.
    """
    plays = []
    for way, (name, unit) in enumerate(_WAYS):
        reach = shift if unit == "m" else turn
        twist = np.eye(6)[way]
        ahead, by = reach_until(problem, pose, twist, reach)
        back, by_back = reach_until(problem, pose, -twist, reach)
        plays.append(Play(name, ahead, back, by, by_back, unit))
    return tuple(plays)


def reach_until(problem: Problem, pose: Pose, twist: Array, reach: float) -> tuple[float, str]:
    """How far the body goes along a twist (6,) before a limit is met, and which; `reach` and "" if none is.

    The twist shifts the pivot and turns about it, per m or per rad.
    """
    found, by = reach, ""
    for limit in problem.limits:
        met = _meeting(problem, limit, pose, twist, found)
        if met < found:
            found, by = met, limit.measure.name
    return found, by


def _meeting(problem: Problem, limit: Limit, pose: Pose, twist: Array, reach: float) -> float:
    """How far along a twist one limit lets the body go; `reach` when farther."""
    turning = bool(np.any(twist[3:]))
    fastest = problem.size if limit.measure.unit == "m" else 1.0

    def room(way: float) -> tuple[float, float]:
        """Room left, and the way along the tangent until it is used up."""
        there = moved(pose, problem.pivot, way * twist[:3], way * twist[3:])
        values, rates = limit_rows(limit, limit.measure.of(there, there.apply(problem.pivot)))
        nearing = np.maximum(-rates @ twist, 1e-300)
        return float(values.min(initial=np.inf)) + SETTLED, float(
            ((values + SETTLED) / nearing).min(initial=np.inf)
        )

    good, bad = 0.0, np.inf
    while good < reach:
        value, tangent = room(good)
        if not turning and tangent < 1e-7 * reach:
            return good
        step = max(value / fastest, reach / 100) if turning else tangent
        trial = min(good + step, reach)
        if room(trial)[0] < 0.0:
            bad = trial
            break
        good = trial
    if np.isinf(bad):
        return reach
    while bad - good > 1e-6 * reach:
        middle = (good + bad) / 2
        good, bad = (middle, bad) if room(middle)[0] >= 0.0 else (good, middle)
    return good


def _rooms(problem: Problem, pose: Pose) -> Array:
    pivot = pose.apply(problem.pivot)
    rooms = [
        limit_rows(limit, limit.measure.of(pose, pivot))[0].min(initial=np.inf) for limit in problem.limits
    ]
    return np.array(rooms)


def fighting(problem: Problem, pose: Pose | None = None) -> tuple[Limit, ...]:
    """A smallest set of limits that no pose keeps all of; empty when there is an answer.

    Parameters
    ----------
    problem : Problem
    pose : where the limits are broken least, when that was found already

    Notes
    -----

    Where the limits are broken least, those still broken push against each other and cannot all be kept; of
    these, each is left out in turn and stays out when the rest still cannot be kept. Every limit that remains
    is needed: without it the others have an answer.
    """
    pose = keep_limits(problem) if pose is None else pose
    broken = _rooms(problem, pose) < -SETTLED if problem.limits else np.zeros(0, bool)
    if not broken.any():
        return ()
    named = [limit for limit, out in zip(problem.limits, broken, strict=True) if out]
    if not _impossible(problem, named):
        named = list(problem.limits)
    for limit in list(named):
        rest = [other for other in named if other is not limit]
        if rest and _impossible(problem, rest):
            named = rest
    return tuple(named)


def _impossible(problem: Problem, limits: Sequence[Limit]) -> bool:
    part = replace(problem, limits=tuple(limits))
    return bool(_rooms(part, keep_limits(part)).min() < -SETTLED)
