"""The straight Timoshenko beam in six natural deformations.

A member's end movements deform it in six ways only: stretch, twist, and for bending about y and z a symmetric
part (difference of the end rotations) and an antisymmetric part (their sum, less twice the chord's rotation).
In these the stiffness of a prismatic member is diagonal:

    EA/L, GJ/L, EI/L (symmetric), 3 EI / (L (1 + phi)) (antisymmetric), phi = 12 EI / (G As L²)

and its 12 x 12 matrix is Bᵀ D B, exactly free of force under rigid motion.
Source: J. S. Przemieniecki, Theory of Matrix Structural Analysis, McGraw-Hill 1968, section 5.6 (the 12 x 12
matrix with shear); the diagonal form follows from it by adding and subtracting its end rotations.
"""

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.geometry import Geometry
from soapstone.frame.model import Frame, Loads

Floats = NDArray[np.float64]


def natural_stiffness(frame: Frame, geometry: Geometry) -> Floats:
    """Diagonal of D: stretch, twist, symmetric and antisymmetric about y, then about z; (m, 6)."""
    length, E, G = geometry.lengths, frame.elastic_modulus, frame.shear_modulus
    bending_y = E * frame.second_moment_y / length
    bending_z = E * frame.second_moment_z / length
    phi_y, phi_z = shear_ratios(frame, geometry)
    return np.stack(
        [
            E * frame.area / length,
            G * frame.torsion_constant / length,
            bending_y,
            3.0 * bending_y / (1.0 + phi_y),
            bending_z,
            3.0 * bending_z / (1.0 + phi_z),
        ],
        axis=1,
    )


def shear_ratios(frame: Frame, geometry: Geometry) -> tuple[Floats, Floats]:
    """The phi of bending about y and about z; (m,) each."""
    length, G = geometry.lengths, frame.shear_modulus
    share = 12.0 * frame.elastic_modulus / (G * length**2)
    return (
        share * frame.second_moment_y / frame.shear_area_z,
        share * frame.second_moment_z / frame.shear_area_y,
    )


def local_compatibility(lengths: Floats) -> Floats:
    """B in local axes at the true ends: natural deformations from 12 end movements; (m, 6, 12)."""
    b = np.zeros((lengths.size, 6, 12))
    b[:, 0, 0], b[:, 0, 6] = -1.0, 1.0
    for mode, turn in ((1, 3), (2, 4), (4, 5)):
        b[:, mode, turn], b[:, mode, turn + 6] = -1.0, 1.0
    for mode, turn, shift, sign in ((3, 4, 2, 2.0), (5, 5, 1, -2.0)):
        b[:, mode, turn] = b[:, mode, turn + 6] = 1.0
        b[:, mode, shift], b[:, mode, shift + 6] = -sign / lengths, sign / lengths
    return b


def to_global(local: Floats, geometry: Geometry, offsets: Floats) -> Floats:
    """Rows over true local end movements, (m, k, 12), become rows over the nodes' global movements."""
    m, k = local.shape[:2]
    rows = (local.reshape(m, k * 4, 3) @ geometry.axes).reshape(m, k, 4, 3)
    if offsets.any():
        rows[:, :, 1::2] += np.cross(offsets[:, None], rows[:, :, 0::2])
    return rows.reshape(m, k, 12)


def reach_of_ends(frame: Frame) -> Floats:
    """Local movements of the arms' tips from the nodes' global ones; (m, 12, 12)."""
    same = np.broadcast_to(np.eye(12), (len(frame.ends), 12, 12))
    return to_global(same, frame.geometry, frame.offsets)


def fixed_end_forces(line: Floats, geometry: Geometry) -> Floats:
    """What the nodes must hold, in local axes, while a uniform load acts on clamped ends.

    Parameters
    ----------
    line : (c, m, 3) float, N/m
        Global.

    Returns
    -------
    (m, 12, c) float, N, N·m
        Half the load at each end and w L²/12, with shear deformation or without (symmetry).
    """
    w = geometry.axes @ line.transpose(1, 2, 0)
    half = w * (-0.5 * geometry.lengths)[:, None, None]
    moment = w * (geometry.lengths**2 / 12.0)[:, None, None]
    forces = np.zeros((w.shape[0], 12, w.shape[2]))
    forces[:, 0:3] = forces[:, 6:9] = half
    forces[:, 4], forces[:, 10] = moment[:, 2], -moment[:, 2]
    forces[:, 5], forces[:, 11] = -moment[:, 1], moment[:, 1]
    return forces


def initial_forces(loads: Loads, geometry: Geometry, local: Floats, natural: Floats) -> Floats:
    """What the nodes must put on clamped ends while misfits and warmth ask to move them, local axes.

    Parameters
    ----------
    local : (m, 6, 12) float
        Local compatibility.
    natural : (m, 6) float
        Natural stiffness of the clamped members.

    Returns
    -------
    (m, 12, c) float, N, N·m
        -Bᵀ D (B misfit + natural deformation of the free, warm member).
    """
    m, c = natural.shape[0], len(loads.case_names)
    asked = np.zeros((m, 6, c))
    if loads.misfit is not None:
        turned = loads.misfit.reshape(c, m, 4, 3) @ geometry.axes.transpose(0, 2, 1)
        asked += local @ turned.reshape(c, m, 12).transpose(1, 2, 0)
    if loads.strain is not None:
        asked[:, [0, 2, 4]] += loads.strain.transpose(1, 2, 0) * geometry.lengths[:, None, None]
    forces: Floats = -local.transpose(0, 2, 1) @ (natural[:, :, None] * asked)
    return forces


def to_nodes(forces: Floats, geometry: Geometry, offsets: Floats) -> Floats:
    """Local forces at the true ends, (m, 12, c), become global forces at the nodes, (m, 12, c)."""
    m, _, c = forces.shape
    parts = geometry.axes.transpose(0, 2, 1)[:, None] @ forces.reshape(m, 4, 3, c)
    if offsets.any():
        parts[:, 1::2] += np.cross(offsets[..., None], parts[:, 0::2], axis=2)
    return parts.reshape(m, 12, c)
