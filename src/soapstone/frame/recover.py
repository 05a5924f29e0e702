"""Forces and movements along the members, and movements of points fixed to a joint.

Sign rule. Section forces are those on the cut face whose outward normal is local x: N positive in tension,
Vy and Vz along y and z, T and the moments right-handed about x, y, z. A positive My pulls the fibres at
positive z, a positive Mz pushes those at positive y:

    sigma(y, z) = N / A + My z / Iy - Mz y / Iz
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError
from soapstone.frame.assemble import assemble
from soapstone.frame.model import Frame, Loads
from soapstone.frame.release import condense_forces, slip
from soapstone.frame.solve import Solution, clamped_forces

Floats = NDArray[np.float64]


def _fractions(stations: int | ArrayLike) -> Floats:
    if isinstance(stations, int):
        if stations < 2:
            raise GeometryError("at least two stations are needed along a member")
        return np.linspace(0.0, 1.0, stations)
    return np.asarray(stations, dtype=float)


def member_forces(
    frame: Frame, loads: Loads, solution: Solution, stations: int | ArrayLike = 11
) -> tuple[Floats, Floats]:
    """Section forces along every member.

    Parameters
    ----------
    stations : int or (s,) float
        So many, evenly spread with both ends, or the fractions of the length.

    Returns
    -------
    positions : (m, s) float, m
        From the true start.
    forces : (c, m, s, 6) float, N, N·m
        N, Vy, Vz, T, My, Mz by the sign rule above; exact, the moments being parabolas.
    """
    positions = frame.geometry.lengths[:, None] * _fractions(stations)
    return positions, internal_forces_at(frame, loads, solution, positions)


def internal_forces_at(frame: Frame, loads: Loads, solution: Solution, positions: Floats) -> Floats:
    """Section forces (c, m, s, 6) at given distances (m, s) from the true starts; see `member_forces`."""
    w = np.einsum("mij,cmj->cmi", frame.geometry.axes, loads.line)[:, :, None]
    start = solution.end_forces[:, :, None, :6]
    x = positions[None, :, :]
    forces = np.empty((*x.shape, 6)) if len(start) == 1 else np.empty((len(start), *x.shape[1:], 6))
    forces[..., :3] = -start[..., :3] - w * x[..., None]
    forces[..., 3:] = -start[..., 3:]
    forces[..., 4] -= (start[..., 2] + 0.5 * w[..., 2] * x) * x
    forces[..., 5] += (start[..., 1] + 0.5 * w[..., 1] * x) * x
    return forces


def member_displacements(
    frame: Frame, loads: Loads, solution: Solution, stations: int | ArrayLike = 11
) -> Floats:
    """Movements along every member, (c, m, s, 6) m, rad, global; rigid arms and released ends followed.

    The beam equations integrated from the true start: u' = N / EA, v' = rz + Vy / GAsy, w' = -ry + Vz / GAsz,
    rx' = T / GJ, ry' = My / EIy, rz' = Mz / EIz, with what warmth adds to each; relative to the unstrained
    member, which at an end that does not fit is a gap away from its joint.
    """
    s = (frame.geometry.lengths[:, None] * _fractions(stations))[None]
    w = np.einsum("mij,cmj->cmi", frame.geometry.axes, loads.line)[:, :, None]
    N, Vy, Vz, T, My, Mz = np.moveaxis(-solution.end_forces[:, :, None, :6], -1, 0)
    E, G = frame.elastic_modulus[:, None], frame.shear_modulus[:, None]
    EA, GJ = E * frame.area[:, None], G * frame.torsion_constant[:, None]
    EIy, EIz = E * frame.second_moment_y[:, None], E * frame.second_moment_z[:, None]
    GAy, GAz = G * frame.shear_area_y[:, None], G * frame.shear_area_z[:, None]
    wx, wy, wz = np.moveaxis(w, -1, 0)
    u, v, z, rx, ry, rz = np.moveaxis(_true_start(frame, loads, solution)[:, :, None], -1, 0)
    free = np.zeros_like(loads.line) if loads.strain is None else loads.strain
    stretch, curve_y, curve_z = np.moveaxis(free[:, :, None], -1, 0)
    bent_y = (Mz / 2 - Vy * s / 6 + wy * s**2 / 24) * s**2 / EIz + curve_z * s**2 / 2
    bent_z = (My / 2 + Vz * s / 6 - wz * s**2 / 24) * s**2 / EIy + curve_y * s**2 / 2
    local = np.stack(
        [
            u + (N - wx * s / 2) * s / EA + stretch * s,
            v + rz * s + bent_y + (Vy - wy * s / 2) * s / GAy,
            z - ry * s - bent_z + (Vz - wz * s / 2) * s / GAz,
            rx + T * s / GJ,
            ry + (My + Vz * s / 2 - wz * s**2 / 6) * s / EIy + curve_y * s,
            rz + (Mz - Vy * s / 2 + wy * s**2 / 6) * s / EIz + curve_z * s,
        ],
        axis=-1,
    )
    c, m, k, _ = local.shape
    turned: Floats = local.reshape(c, m, k * 2, 3) @ frame.geometry.axes
    return turned.reshape(c, m, k, 6)


def _true_start(frame: Frame, loads: Loads, solution: Solution) -> Floats:
    """Movements of the members' true starts, beyond arm and release, local; (c, m, 6)."""
    moved = solution.displacements[:, frame.ends[:, 0]]
    tips = moved[..., :3] + np.cross(moved[..., 3:], frame.offsets[:, 0])
    turned = np.stack([tips, moved[..., 3:]], axis=2)
    if loads.misfit is not None:
        turned = turned - loads.misfit[:, :, 0].reshape(turned.shape)
    local: Floats = np.einsum("mij,cmkj->cmki", frame.geometry.axes, turned).reshape(len(moved), -1, 6)
    if frame.releases:
        local = local + _slips(frame, loads, solution)[:, :, :6]
    return local


def _slips(frame: Frame, loads: Loads, solution: Solution) -> Floats:
    system = assemble(frame)
    clamped = clamped_forces(frame, loads, system)
    _, along = condense_forces(frame, clamped, system.local, system.levels)
    moved = solution.displacements.reshape(len(loads.case_names), -1).T[system.directions[: len(frame.ends)]]
    slips: Floats = slip(system.compatibility @ moved, system.levels, along).transpose(2, 0, 1)
    return slips


def point_displacement(frame: Frame, solution: Solution, node: int, point: ArrayLike) -> Floats:
    """Movement (c, 6) m, rad of a point (3,) m that a joint carries rigidly."""
    moved = solution.displacements[:, node]
    arm = np.asarray(point, dtype=float) - frame.nodes[node]
    return np.concatenate([moved[:, :3] + np.cross(moved[:, 3:], arm), moved[:, 3:]], axis=1)
