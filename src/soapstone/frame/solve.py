"""All load cases of a frame with one factorisation."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError, LooseError
from soapstone.frame.assemble import System, assemble
from soapstone.frame.element import fixed_end_forces, initial_forces, natural_stiffness, to_nodes
from soapstone.frame.factor import Factor, factor
from soapstone.frame.loose import Push, settle
from soapstone.frame.model import Frame, Loads
from soapstone.frame.release import condense_forces

Floats = NDArray[np.float64]

# Below this share of its direct stiffness a pivot may be a mechanism blurred by rounding. A sound chain of N
# beams in line comes down to about 1 / (8 N³), so that only very long ones are looked at twice for nothing.
_SUSPICIOUS = 1e-6
# Out-of-balance force, relative to the loads: what one more correction mends, and what is no answer any more.
_REFINE, _REFUSE = 1e-10, 1e-4


@dataclass(frozen=True, eq=False)
class Solution:
    """How a frame moves and what it carries; c cases, n nodes, m members.

    Attributes
    ----------
    displacements : (c, n, 6) float, m, rad
        Global, at the nodes. A joint that may spin freely while nothing turns it is left at zero spin.
    reactions : (c, n, 6) float, N, N·m
        What the ground puts on the frame: in held directions and through springs to the ground.
    end_forces : (c, m, 12) float, N, N·m
        What the nodes put on each member at its true ends, local axes, start then end.
    residual : float
        Largest out-of-balance force at a free direction, relative to the largest load of its case (both
        scaled by the stiffness of their directions).
    idle : tuple of str
        What could turn freely, but nothing turns it.
    """

    displacements: Floats
    reactions: Floats
    end_forces: Floats
    residual: float
    idle: tuple[str, ...] = ()


def solve(frame: Frame, loads: Loads) -> Solution:
    """Movements, reactions and member end forces in every case.

    Raises
    ------
    LooseError
        Something can move freely; says what and how.
    GeometryError
        The loads do not fit the frame.
    """
    return solve_prepared(frame, prepare(frame, loads), loads)


@dataclass(frozen=True, eq=False)
class Prepared:
    """A frame ready to be solved.

    Attributes
    ----------
    system, firm : System
        As assembled, and with what may spin idly held.
    factored : Factor
        Of the firm one.
    applied : (6 n, c) float
        Forces on all directions of the nodes.
    fixed : (m, 12, c) float
        End forces while the nodes stand still, releases taken out.
    idle : tuple of str
    """

    system: System
    firm: System
    factored: Factor
    applied: Floats
    fixed: Floats
    idle: tuple[str, ...]


def prepare(frame: Frame, loads: Loads) -> Prepared:
    """Assemble, factor and gather the loads; errors as `solve`."""
    _check_fit(frame, loads)
    system = assemble(frame)
    clamped = clamped_forces(frame, loads, system)
    fixed, _ = condense_forces(frame, clamped, system.local, system.levels)
    applied = _on_nodes(frame, loads.nodal, fixed)
    firm, factored, idle = _make_firm(frame, system, Push(loads, applied, clamped))
    return Prepared(system, firm, factored, applied, fixed, idle)


def _check_fit(frame: Frame, loads: Loads) -> None:
    expected = (len(frame.node_names), 6), (len(frame.member_names), 3)
    if (loads.nodal.shape[1:], loads.line.shape[1:]) != expected:
        raise GeometryError("the loads were made for another frame")
    if loads.settled is not None and loads.settled[:, ~frame.held].any():
        loose = np.argwhere(loads.settled.any(axis=0) & ~frame.held)[0, 0]
        raise GeometryError(
            f"joint {frame.node_names[loose]} is moved in a direction in which it is not held",
            remedy="hold it that way, or push it with a force",
        )


def clamped_forces(frame: Frame, loads: Loads, system: System) -> Floats:
    """What the nodes must put on clamped ends (m, 12, c), local, before any release."""
    forces = fixed_end_forces(loads.line, frame.geometry)
    if loads.misfit is not None or loads.strain is not None:
        natural = natural_stiffness(frame, frame.geometry)
        forces += initial_forces(loads, frame.geometry, system.local, natural)
    return forces


def _on_nodes(frame: Frame, nodal: Floats, fixed: Floats) -> Floats:
    """Forces on all directions of the nodes (6 n, c), those of the loaded members included."""
    at_nodes = to_nodes(fixed, frame.geometry, frame.offsets)
    return nodal.reshape(len(nodal), -1).T - gather(frame.ends, at_nodes, nodal.shape[1])


def gather(pairs: NDArray[np.int64], forces: Floats, n: int) -> Floats:
    """Add forces (k, 12, c) at pairs of nodes up to (6 n, c)."""
    c = forces.shape[2]
    slots = ((pairs[:, :, None] * 6 + np.arange(6)).reshape(-1, 1) * c + np.arange(c)).ravel()
    summed: Floats = np.bincount(slots, weights=forces.ravel(), minlength=6 * n * c).astype(np.float64)
    return summed.reshape(6 * n, c)


def _make_firm(frame: Frame, system: System, push: Push) -> tuple[System, Factor, tuple[str, ...]]:
    factored = factor(system)
    if factored is not None and (factored.pivots() >= _SUSPICIOUS * system.reference).all():
        return system, factored, ()
    return settle(frame, system, push)


def solve_prepared(frame: Frame, prepared: Prepared, loads: Loads, stress: Floats | None = None) -> Solution:
    """The answer of a frame that is ready; errors as `solve`.

    Parameters
    ----------
    stress : (m, 12, 12) float, optional
        Geometric stiffness of the members, in the factor already.
    """
    system, applied, fixed = prepared.system, prepared.applied, prepared.fixed
    free, where = system.number >= 0, system.where
    scale = 1.0 / np.sqrt(np.where(system.reference > 0.0, system.reference, 1.0))
    movements, balance = np.zeros_like(applied), applied
    loudest = _loudest(scale, applied[where])
    if loads.settled is not None:
        movements = loads.settled.reshape(applied.shape[::-1]).T.copy()
        balance = applied - resist(frame, system, movements, stress)[2]
        loudest = np.maximum(loudest, _loudest(scale, balance[where]))
    for _ in range(3):
        movements[where] += prepared.factored.solve(balance[where])
        natural_forces, spring_forces, taken = resist(frame, system, movements, stress)
        balance = applied - taken
        off = _loudest(scale, balance[where])
        residual = float((off / np.where(loudest > 0.0, loudest, 1.0)).max(initial=0.0))
        if residual < _REFINE:
            break
    if not residual <= _REFUSE:
        _refuse_nearly_loose(frame, movements)
    end_forces = system.local.transpose(0, 2, 1) @ natural_forces + fixed
    return Solution(
        displacements=_by_case(movements),
        reactions=support_forces(frame, -balance, spring_forces, free),
        end_forces=np.ascontiguousarray(end_forces.transpose(2, 0, 1)),
        residual=residual,
        idle=prepared.idle,
    )


def _loudest(scale: Floats, forces: Floats) -> Floats:
    """Largest scaled force of each case; (c,)."""
    largest: Floats = (scale[:, None] * np.abs(forces)).max(axis=0, initial=0.0)
    return largest


def _by_case(directions: Floats) -> Floats:
    """(6 n, c) becomes (c, n, 6)."""
    return np.ascontiguousarray(directions.T).reshape(directions.shape[1], -1, 6)


def resist(
    frame: Frame, system: System, movements: Floats, stress: Floats | None
) -> tuple[Floats, Floats, Floats]:
    """Natural member forces (m, 6, c), spring forces at their nodes (k, 12, c), and all summed (6 n, c)."""
    m = len(frame.member_names)
    moved = movements[system.directions[:m]]
    natural = system.stiffness @ (system.compatibility @ moved)
    n = len(frame.node_names)
    at_nodes = system.compatibility.transpose(0, 2, 1) @ natural
    if stress is not None:
        at_nodes = at_nodes + stress @ moved
    taken = gather(frame.ends, at_nodes, n)
    last = m + len(frame.springs)
    springs = system.blocks[m:last] @ movements[system.directions[m:last]]
    if frame.springs:
        taken = taken + gather(system.pairs[m:last], springs, n)
    return natural, springs, taken


def support_forces(frame: Frame, missing: Floats, springs: Floats, free: NDArray[np.bool_]) -> Floats:
    """Reactions (c, n, 6) from what the held directions lack, with the springs to the ground."""
    forces = np.where(free[:, None], 0.0, missing)
    for spring, force in zip(frame.springs, springs, strict=True):
        if spring.other is None:
            forces[6 * spring.node : 6 * spring.node + 6] -= force[:6]
    return _by_case(forces)


def _refuse_nearly_loose(frame: Frame, movements: Floats) -> None:
    """The numbers drown in rounding: name where the frame is softest."""
    shifts = np.abs(movements.reshape(-1, 6, movements.shape[1])[:, :3]).max(axis=(1, 2))
    name = frame.node_names[int(np.nan_to_num(shifts, nan=np.inf).argmax())]
    raise LooseError(
        f"joint {name} is all but loose: what holds it is too soft against the rest to be computed",
        remedy="tie it to something that holds it, or check the sections on its way to the supports",
    )
