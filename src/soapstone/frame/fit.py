"""Pulling an end into line that does not meet its joint: the force it takes and what stays behind."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.frame.model import Frame, Loads
from soapstone.frame.solve import Solution, solve

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Pull:
    """What closing a gap does to an otherwise unloaded frame.

    Attributes
    ----------
    force : (3,) float, N
        Global; what must pull the member's end onto its joint, and the joint the other way.
    moment : (3,) float, N·m
        About the end's own place.
    work : float, J
        Done by pulling.
    loads : Loads
        The gap as a load case, to be given to `member_forces` with the solution.
    solution : Solution
        The movements and forces that stay once it is joined.
    """

    force: Floats
    moment: Floats
    work: float
    loads: Loads
    solution: Solution


def pull_in(frame: Frame, member: int, end: int, gap: ArrayLike) -> Pull:
    """Join a member's end that lies off its joint by `gap` ((6,) m, rad, global; see `Loads.with_misfit`).

    All other ends are joined before. Errors as `solve`.
    """
    gap = np.asarray(gap, dtype=float)
    loads = Loads.none(frame, ["pulled in"]).with_misfit(member, end, gap)
    solution = solve(frame, loads)
    at_end = solution.end_forces[0, member, 6 * end : 6 * end + 6].reshape(2, 3)
    force, moment = at_end @ frame.geometry.axes[member]
    work = -0.5 * float(force @ gap[:3] + moment @ gap[3:])
    return Pull(force, moment, work, loads, solution)
