"""A body set where it is wanted: the solve, what it leaves free, and how far it can still be moved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.job.schema import Job
from soapstone.place.envelopes import parts_of, reach_from
from soapstone.place.freedom import Freedom, Play, fighting, free_play, still_free
from soapstone.place.measures import Clearance
from soapstone.place.pose import Pose
from soapstone.place.solve import Answer, Limit, Miss, Problem, solve_pose
from soapstone.place.wanting import Ask, asks
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

LOOK = (0.05, float(np.radians(5.0)))
"""m and rad: how far to look for what stops a body, when the job does not say."""


@dataclass(frozen=True, eq=False)
class Seat:
    """A body set by what is wanted of it.

    Attributes
    ----------
    body : str
    now : Pose
        Where it hangs.
    asks : the entries of `wanted`
    problem, answer : the pose as a solve
    fights : limits that cannot all be kept
    free : ways to move that nothing wanted settles
    plays : how far it can go until a limit is met
    near_enough : how far it can go until a target that is met is missed, or a limit is met
    look : (m, rad), how far was looked
    """

    body: str
    now: Pose
    asks: tuple[Ask, ...]
    problem: Problem
    answer: Answer
    fights: tuple[Limit, ...]
    free: tuple[Freedom, ...]
    plays: tuple[Play, ...]
    near_enough: tuple[Play, ...]
    look: tuple[float, float]


def seat(name: str, now: Pose, job: Job, survey: Survey) -> Seat:
    """Set a body by the job's `wanted`; pure.

    Parameters
    ----------
    name : of the body
    now : where it hangs; what nothing settles stays so
    """
    body, put = job.bodies[name], job.place[name]
    asked = tuple(asks(name, body, put.wanted, now, job, survey))
    pivot = np.array(body.centre)
    size = reach_from(pivot, map(np.array, body.points.values()), parts_of(body))
    problem = Problem(
        now,
        pivot,
        size,
        tuple(target for ask in asked for target in ask.targets),
        tuple(limit for ask in asked for limit in ask.limits),
    )
    answer = solve_pose(problem)
    look = (put.free_play.shift, put.free_play.turn) if put.free_play else LOOK
    possible = answer.possible
    return Seat(
        name,
        now,
        asked,
        problem,
        answer,
        () if possible else fighting(problem, answer.pose),
        still_free(problem, answer) if possible else (),
        _plays(problem, answer, problem.limits, look) if possible else (),
        _plays(problem, answer, (*problem.limits, *met_targets(answer.misses)), look) if possible else (),
        look,
    )


def met_targets(misses: Sequence[Miss]) -> tuple[Limit, ...]:
    """Limits that say of every target met: no farther off than its tolerance."""
    return tuple(
        Limit(miss.target.measure, float(wanted) - miss.target.within, float(wanted) + miss.target.within)
        for miss in misses
        if miss.met
        for wanted in [miss.target.wanted[0]]
    )


def _plays(
    problem: Problem, answer: Answer, limits: Sequence[Limit], look: tuple[float, float]
) -> tuple[Play, ...]:
    """The free play against those limits that a shift or turn of this size can reach at all."""
    pivot = answer.pose.apply(problem.pivot)
    farthest = max(look[0], look[1] * problem.size)

    def near(limit: Limit) -> bool:
        value = limit.measure.of(answer.pose, pivot).value
        room = min(float((value - limit.least).min()), float((limit.most - value).min()))
        return not isinstance(limit.measure, Clearance) or room <= farthest

    reached = replace(problem, limits=tuple(limit for limit in limits if near(limit)))
    return free_play(reached, answer.pose, shift=look[0], turn=look[1])
