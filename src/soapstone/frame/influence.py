"""Influence lines: what a unit load at each of many points does to each member."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError
from soapstone.frame.model import Frame, Loads
from soapstone.frame.solve import solve

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Influence:
    """Section forces at the members' ends per newton at each point.

    Attributes
    ----------
    forces : (p, 3, m, 2, 6) float, 1, m
        N, Vy, Vz, T, My, Mz at the true start and end, for 1 N along x, y and z at point p. Between the ends
        they run straight.
    reactions : (p, 3, n, 6) float, 1, m
    """

    forces: Floats
    reactions: Floats


@dataclass(frozen=True, eq=False)
class Hardest:
    """Which point hurts which member most, and pushed which way.

    Attributes
    ----------
    stress : (p, m) float, Pa/N
        The largest that 1 N at the point, in its worst direction, puts into a fibre of the member.
    point : (m,) int
        The point that hurts the member most.
    direction : (m, 3) float
        Unit vector of that point's worst force; it pulls the fibre (turned round it pushes it).
    """

    stress: Floats
    point: NDArray[np.int64]
    direction: Floats


def influence(frame: Frame, points: Sequence[tuple[int, ArrayLike]]) -> Influence:
    """Unit forces at points, each carried rigidly by a node; one factorisation for all.

    Parameters
    ----------
    points : sequence of (int, (3,) m)
        The node, and the global vector from it to where the load acts.
    """
    if not points:
        raise GeometryError("no point was given to load")
    names = [f"{frame.node_names[node]} {axis}" for node, _ in points for axis in "xyz"]
    loads = Loads.none(frame, names)
    nodes = np.repeat([node for node, _ in points], 3)
    arms = np.repeat(np.array([np.asarray(arm, dtype=float) for _, arm in points]), 3, axis=0)
    units = np.tile(np.eye(3), (len(points), 1))
    rows = np.arange(len(names))
    loads.nodal[rows, nodes, :3] = units
    loads.nodal[rows, nodes, 3:] = np.cross(arms, units)
    solution = solve(frame, loads)
    signs = np.array([[-1.0], [1.0]])
    forces = solution.end_forces.reshape(len(points), 3, -1, 2, 6) * signs
    return Influence(forces, solution.reactions.reshape(len(points), 3, -1, 6))


def hardest(found: Influence, fibres: Floats) -> Hardest:
    """Rank the points by the stress they cause.

    Parameters
    ----------
    fibres : (m, k, 6) float, 1/m², 1/m³
        Stress in each of k fibres of each member per N, Vy, Vz, T, My, Mz: (1/A, 0, 0, 0, z/Iy, -y/Iz).
    """
    pull = np.einsum("mkf,pamef->pmeka", fibres, found.forces)
    p, m = pull.shape[:2]
    pull = pull.reshape(p, m, -1, 3)
    size = np.linalg.norm(pull, axis=3)
    fibre = size.argmax(axis=2)
    stress = np.take_along_axis(size, fibre[..., None], axis=2)[..., 0]
    point = stress.argmax(axis=0)
    rows = np.arange(m)
    worst = pull[point, rows, fibre[point, rows]]
    length = np.linalg.norm(worst, axis=1, keepdims=True)
    return Hardest(stress, point, np.divide(worst, length, out=np.zeros_like(worst), where=length > 0.0))
