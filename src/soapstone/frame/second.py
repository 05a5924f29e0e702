"""Second-order statics (P-Delta): equilibrium in the bent shape, by iteration."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import LooseError
from soapstone.frame.assemble import System
from soapstone.frame.element import reach_of_ends
from soapstone.frame.factor import factor
from soapstone.frame.geometric import axial_only, geometric_blocks, local_geometric
from soapstone.frame.model import Frame, Loads
from soapstone.frame.solve import Prepared, Solution, prepare, solve_prepared

Floats = NDArray[np.float64]

# The answer has settled when no movement changes by more than this, relative to the largest of its kind.
_SETTLED = 1e-10
_ROUNDS = 40


def second_order(frame: Frame, loads: Loads) -> Solution:
    """Movements and forces with the work of the axial forces on the bent members.

    The axial forces of one round stiffen or soften the next (P-Delta, and P-delta between the nodes: cut long
    members with `refine` where these bend much). Shear and moments take no part; whether they would make the
    frame buckle is told by `buckling`. End forces are along and across the turned chord of each member; loads
    keep their direction and act on the bent frame.

    Raises
    ------
    LooseError
        A case buckles the frame, or the frame is a mechanism.
    """
    prepared = prepare(frame, loads)
    solution = solve_prepared(frame, prepared, loads)
    cases = range(len(loads.case_names))
    solved = [_one_case(frame, _only(prepared, c), loads.case(c), _case_of(solution, c)) for c in cases]
    return Solution(
        np.concatenate([part.displacements for part in solved]),
        np.concatenate([part.reactions for part in solved]),
        np.concatenate([part.end_forces for part in solved]),
        max((part.residual for part in solved), default=0.0),
        prepared.idle,
    )


def _only(prepared: Prepared, case: int) -> Prepared:
    only = slice(case, case + 1)
    return replace(prepared, applied=prepared.applied[:, only], fixed=prepared.fixed[..., only])


def _case_of(solution: Solution, case: int) -> Solution:
    only = slice(case, case + 1)
    return replace(
        solution,
        displacements=solution.displacements[only],
        reactions=solution.reactions[only],
        end_forces=solution.end_forces[only],
    )


def _one_case(frame: Frame, prepared: Prepared, loads: Loads, solution: Solution) -> Solution:
    axes = frame.geometry.axes
    for _ in range(_ROUNDS):
        ends, line = axial_only(solution.end_forces[0], loads.line[0], axes)
        stress = geometric_blocks(frame, prepared.system, ends, line)
        firm = prepared.firm.stiffened(frame.ends, stress)
        factored = factor(firm)
        if factored is None:
            raise _buckled(loads)
        stressed = replace(prepared, firm=firm, factored=factored)
        found = solve_prepared(frame, stressed, loads, stress)
        if _change(found.displacements, solution.displacements) < _SETTLED:
            return _turned(frame, prepared.system, found, local_geometric(frame, prepared.system, ends, line))
        solution = found
    raise _buckled(loads)


def _turned(frame: Frame, system: System, solution: Solution, stress: Floats) -> Solution:
    """With the end forces that belong to the bent member, across its turned chord."""
    moved = solution.displacements.reshape(-1)[system.directions[: len(frame.ends)]][..., None]
    tips = (reach_of_ends(frame) @ moved)[..., 0]
    forces = solution.end_forces[0] + (stress @ tips[..., None])[..., 0]
    slope = (tips[:, 7:9] - tips[:, 1:3]) / frame.geometry.lengths[:, None]
    for first in (0, 6):
        forces[:, first + 1 : first + 3] -= slope * forces[:, first : first + 1]
    return replace(solution, end_forces=forces[None])


def _change(found: Floats, before: Floats) -> float:
    """Largest change of shifts and of turns, each against its largest."""
    step = np.abs(found - before).reshape(-1, 2, 3).max(axis=(0, 2), initial=0.0)
    size = np.abs(found).reshape(-1, 2, 3).max(axis=(0, 2), initial=0.0)
    return float(np.divide(step, size, out=np.zeros(2), where=size > 0.0).max())


def _buckled(loads: Loads) -> LooseError:
    return LooseError(
        f"{loads.case_names[0]} is more than the frame can bear before it buckles",
        remedy="look at its buckling factors, shorten or stiffen what bows first",
    )
