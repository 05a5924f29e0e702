"""Geometric stiffness: what the forces in a frame add to its stiffness.

Movement of a section by the shift u and the rotation vector theta strains the beam, to second order, by

    Gamma = u' - theta x e1 - theta x u' + theta x (theta x e1) / 2,    kappa = theta' - theta x theta' / 2

so that the section forces n = (N, Vy, Vz) and m = (T, My, Mz) already there work

    V = ∫ n · (theta x (theta x e1) / 2 - theta x u') - m · (theta x theta') / 2 ds

(E. Reissner, On one-dimensional large-displacement finite-strain beam theory, Studies in Applied Mathematics
52, 1973; J. C. Simo, A finite strain beam formulation, Computer Methods in Applied Mechanics and Engineering
49, 1985; from memory, expanded here). Moments take part with the rotation vector of the joint, the same for
all members that meet there, so that corners of any angle fit together. A moment put on from outside keeps its
work along the rotation vector (it is semitangential); a force keeps its direction.
"""

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.assemble import System
from soapstone.frame.element import reach_of_ends
from soapstone.frame.model import Frame
from soapstone.frame.release import true_ends
from soapstone.frame.shape import gauss, shapes

Floats = NDArray[np.float64]

# The integrand is a polynomial of degree 8 at most (parabolic moment, cubic shapes): 5 points are exact.
_POINTS = 5
_AXIAL = np.array([1.0, 0, 0, 0, 0, 0, 1.0, 0, 0, 0, 0, 0])


def geometric_blocks(frame: Frame, system: System, end_forces: Floats, line: Floats) -> Floats:
    """Geometric stiffness of every member over its nodes' global movements, (m, 12, 12).

    The arguments are those of `local_geometric`.
    """
    reach = reach_of_ends(frame)
    blocks: Floats = reach.transpose(0, 2, 1) @ local_geometric(frame, system, end_forces, line) @ reach
    if frame.offsets.any():
        _add_arms(blocks, frame, end_forces)
    return blocks


def local_geometric(frame: Frame, system: System, end_forces: Floats, line: Floats) -> Floats:
    """The same over the arms' tips, local axes, (m, 12, 12).

    Parameters
    ----------
    end_forces : (m, 12) float, N, N·m
        Of one case, local.
    line : (m, 3) float, N/m
        Of the same case, global.
    """
    geometry = frame.geometry
    points, weights = gauss(_POINTS)
    ends = true_ends(system.local, system.levels)
    values, slopes = shapes(frame, geometry, system.local, points)
    rows = np.concatenate([slopes[:, :, :3], values[:, :, 3:], slopes[:, :, 3:]], axis=2) @ ends
    forces = _section_forces(geometry.axes, geometry.lengths, end_forces, line, points)
    table = _work_table(forces) * (weights[:, None] * geometry.lengths)[:, :, None, None]
    local: Floats = (rows.transpose(0, 1, 3, 2) @ (table @ rows)).sum(axis=0)
    return local


def axial_only(end_forces: Floats, line: Floats, axes: Floats) -> tuple[Floats, Floats]:
    """The end forces (m, 12) and line loads (m, 3) that pull and push along the members."""
    x = axes[:, 0]
    return end_forces * _AXIAL, np.einsum("mi,mi->m", line, x)[:, None] * x


def _section_forces(
    axes: Floats, lengths: Floats, end_forces: Floats, line: Floats, points: Floats
) -> Floats:
    """N, Vy, Vz, T, My, Mz at fractions (p,) of the lengths; (p, m, 6)."""
    w = np.einsum("mij,mj->mi", axes, line)
    s = points[:, None] * lengths
    forces = np.repeat(-end_forces[None, :, :6], points.size, axis=0)
    forces[..., :3] -= w * s[..., None]
    forces[..., 4] -= (end_forces[:, 2] + 0.5 * w[:, 2] * s) * s
    forces[..., 5] += (end_forces[:, 1] + 0.5 * w[:, 1] * s) * s
    return forces


def _work_table(forces: Floats) -> Floats:
    """The symmetric table W (p, m, 9, 9) of 2 V over u', theta, theta'."""
    n, m = forces[..., :3], forces[..., 3:]
    table = np.zeros((*forces.shape[:2], 9, 9))
    spin_n, spin_m = _spin(n), _spin(m)
    table[..., 0:3, 3:6], table[..., 3:6, 0:3] = -spin_n, spin_n
    table[..., 6:9, 3:6], table[..., 3:6, 6:9] = -0.5 * spin_m, 0.5 * spin_m
    table[..., 3:6, 3] += 0.5 * n
    table[..., 3, 3:6] += 0.5 * n
    for i in range(3, 6):
        table[..., i, i] -= n[..., 0]
    return table


def _spin(vectors: Floats) -> Floats:
    """The matrices that take a vector to `vectors` x it."""
    x, y, z = np.moveaxis(vectors, -1, 0)
    o = np.zeros_like(x)
    return np.stack([np.stack([o, -z, y], -1), np.stack([z, o, -x], -1), np.stack([-y, x, o], -1)], -2)


def _add_arms(blocks: Floats, frame: Frame, end_forces: Floats) -> None:
    """A rigid arm a that turns carries the end's force F to F · theta x (theta x a) / 2."""
    turned = end_forces.reshape(-1, 4, 3) @ frame.geometry.axes
    for end in (0, 1):
        force, arm = turned[:, 2 * end], frame.offsets[:, end]
        both = np.einsum("mi,mj->mij", force, arm)
        part = slice(6 * end + 3, 6 * end + 6)
        lever = np.einsum("mi,mi->m", force, arm)
        blocks[:, part, part] += 0.5 * (both + both.transpose(0, 2, 1)) - lever[:, None, None] * np.eye(3)
