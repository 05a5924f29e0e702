"""Consistent mass of the members, with rotary inertia, and the mass of lumps on rigid arms.

The members' shapes are those of the unloaded beam (see shape): frequencies come out from above. Their error
falls with the fourth power of the pieces' length where slender members bend, and with its square where they
stretch, twist or shear.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.frame.assemble import System
from soapstone.frame.element import reach_of_ends
from soapstone.frame.model import Frame, LumpedMass
from soapstone.frame.release import true_ends
from soapstone.frame.shape import gauss, shapes

Floats = NDArray[np.float64]

# Cubic shapes squared: degree 6, which 4 points integrate exactly.
_POINTS = 4


def member_masses(frame: Frame, system: System) -> Floats:
    """Mass of every member over its nodes' global movements; (m, 12, 12)."""
    points, weights = gauss(_POINTS)
    values, _ = shapes(frame, frame.geometry, system.local, points)
    rows = values @ true_ends(system.local, system.levels)
    spread = np.stack(
        [frame.area] * 3
        + [frame.second_moment_y + frame.second_moment_z, frame.second_moment_y, frame.second_moment_z],
        axis=1,
    )
    spread = spread * (frame.density * frame.geometry.lengths)[:, None]
    weighted = rows * (weights[:, None, None] * spread)[..., None]
    local = (rows.transpose(0, 1, 3, 2) @ weighted).sum(axis=0)
    reach = reach_of_ends(frame)
    blocks: Floats = reach.transpose(0, 2, 1) @ local @ reach
    return blocks


def lumped_masses(frame: Frame, masses: Sequence[LumpedMass]) -> tuple[NDArray[np.int64], Floats]:
    """Node pairs (k, 2), each node named twice, and blocks (k, 12, 12) of which only the first 6 count."""
    nodes = np.array([lump.node for lump in masses], dtype=np.int64)
    if ((nodes < 0) | (nodes >= len(frame.node_names))).any():
        raise GeometryError("a mass names a joint that is not there")
    blocks = np.zeros((len(masses), 12, 12))
    for block, lump in zip(blocks, masses, strict=True):
        block[:6, :6] = _about_node(lump)
    return np.stack([nodes, nodes], axis=1).reshape(-1, 2), blocks


def _about_node(lump: LumpedMass) -> Floats:
    """6 x 6 mass of a body about its node: shift of the centre is u + theta x r."""
    x, y, z = np.asarray(lump.offset, dtype=float)
    reach = np.eye(3, 6)
    reach[:, 3:] = [[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]]
    mass = lump.mass * reach.T @ reach
    mass[3:, 3:] += np.asarray(lump.inertia, dtype=float)
    return np.asarray(mass, dtype=np.float64)
