"""Von Mises stress at the worst fibre of a tube, for many sets of forces at once.

Forces are [N, Vy, Vz, T, My, Mz] on a cut whose outward normal is the member's own x axis: N pulls, T and
the moments are right-handed about x, y, z.
"""

import numpy as np

from soapstone.formula import Chain
from soapstone.strength.answers import put_forces
from soapstone.strength.circumference import largest, square
from soapstone.strength.shapes import Array, RectangularTubeLike, RoundTubeLike, TubeLike

SIDE_WALL, TOP_WALL = 0.0, 2.0
_ALONG: Array = np.linspace(0.0, 1.0, 33)  # finer steps move the peak by less than 0.1 %


def worst_fibre(tube: TubeLike, forces: Array) -> tuple[Array, Array]:
    """Von Mises stress (Pa) at the worst fibre and where that is.

    Parameters
    ----------
    tube : TubeLike
        Round or rectangular.
    forces : Array
        (..., 6) N, N·m.

    Returns
    -------
    stress : Array
        (...) Pa.
    place : Array
        (...): for a round tube the angle (rad) from y towards z, for a rectangular one `SIDE_WALL` (a wall
        that faces y) or `TOP_WALL` (one that faces z) plus 0 in the wall's middle to 1 at the corner.
    """
    if isinstance(tube, RoundTubeLike):
        return _round(tube, forces)
    return _rectangular(tube, forces)


def fibre_chain(chain: Chain, tube: TubeLike, force: Array, place: float) -> float:
    """The same for one set of forces, step by step into `chain`; returns the stress, Pa."""
    put_forces(chain, force)
    if isinstance(tube, RoundTubeLike):
        _round_steps(chain, tube, place)
    else:
        _rectangular_steps(chain, tube, place)
    return chain.step("sigma_v", "sqrt(sigma**2 + 3 * tau**2)", "Pa", "von Mises stress at the worst fibre")


def _round(tube: RoundTubeLike, forces: Array) -> tuple[Array, Array]:
    N, Vy, Vz, T, My, Mz = np.moveaxis(forces, -1, 0)
    section, r = tube.section, tube.outside_diameter / 2
    A, inertia = section.area, section.second_moment_y
    normal = square(N / A, -Mz * r / inertia, My * r / inertia)
    shear = square(T * r / section.torsion_constant, 2 * Vz / A, -2 * Vy / A)
    squared, angle = largest(normal + 3 * shear)
    return np.sqrt(np.maximum(squared, 0.0)), angle


def _round_steps(chain: Chain, tube: RoundTubeLike, angle: float) -> None:
    section = tube.section
    chain.given("r", tube.outside_diameter / 2, "m", "outside radius")
    chain.given("A", section.area, "m**2", "area of the tube")
    chain.given("I", section.second_moment_y, "m**4", "second moment of the tube")
    chain.given("J", section.torsion_constant, "m**4", "torsion constant of the tube")
    chain.given("theta", angle, "rad", "worst place round the tube, from y towards z, found by search")
    chain.step("sigma_b", "(M_y * sin(theta) - M_z * cos(theta)) * r / I", "Pa", "bending stress there")
    chain.step("sigma", "N / A + sigma_b", "Pa", "stress along the tube there")
    chain.step("tau_t", "T * r / J", "Pa", "shear from torsion")
    chain.step(
        "tau_s", "2 * (V_z * cos(theta) - V_y * sin(theta)) / A", "Pa", "shear from the forces, thin wall"
    )
    chain.step("tau", "tau_t + tau_s", "Pa", "shear there")


def _rectangular(tube: RectangularTubeLike, forces: Array) -> tuple[Array, Array]:
    N, Vy, Vz, T, My, Mz = np.abs(np.moveaxis(forces, -1, 0))
    section, t = tube.section, tube.wall
    b, h = tube.width - t, tube.height - t
    Iy, Iz = section.second_moment_y, section.second_moment_z
    axial, torsion = N / section.area, T / section.torsion_modulus
    about_y, about_z = My * tube.height / 2 / Iy, Mz * tube.width / 2 / Iz
    u = _ALONG.reshape(-1, *np.ones(N.ndim, dtype=int))
    normal = np.concatenate([axial + about_z + u * about_y, axial + about_y + u * about_z])
    shear = torsion + np.concatenate(
        [
            Vz / Iy * (b * h / 4 + (1 - u**2) * h**2 / 8) + u * Vy / Iz * b * h / 4,
            Vy / Iz * (b * h / 4 + (1 - u**2) * b**2 / 8) + u * Vz / Iy * b * h / 4,
        ]
    )
    stress = np.sqrt(normal**2 + 3 * shear**2)
    place = np.concatenate([_ALONG, TOP_WALL + _ALONG])[np.argmax(stress, axis=0)]
    return np.max(stress, axis=0), place


_SIDE_STEPS = (
    "abs(N) / A + abs(M_z) * c_y / I_z + u * abs(M_y) * c_z / I_y",
    "abs(V_z) / I_y * (b * h / 4 + (1 - u**2) * h**2 / 8) + u * abs(V_y) / I_z * b * h / 4",
    "in a wall that faces y",
)
_TOP_STEPS = (
    "abs(N) / A + abs(M_y) * c_z / I_y + u * abs(M_z) * c_y / I_z",
    "abs(V_y) / I_z * (b * h / 4 + (1 - u**2) * b**2 / 8) + u * abs(V_z) / I_y * b * h / 4",
    "in a wall that faces z",
)


def _rectangular_steps(chain: Chain, tube: RectangularTubeLike, place: float) -> None:
    section, on_top = tube.section, place >= TOP_WALL
    normal, shear, where = _TOP_STEPS if on_top else _SIDE_STEPS
    chain.given("A", section.area, "m**2", "area of the tube")
    chain.given("I_y", section.second_moment_y, "m**4", "second moment about y")
    chain.given("I_z", section.second_moment_z, "m**4", "second moment about z")
    chain.given("W_t", section.torsion_modulus, "m**3", "torsion modulus")
    chain.given("c_y", tube.width / 2, "m", "half the width, to the outer face")
    chain.given("c_z", tube.height / 2, "m", "half the height, to the outer face")
    chain.given("b", tube.width - tube.wall, "m", "width between the middles of the walls")
    chain.given("h", tube.height - tube.wall, "m", "height between the middles of the walls")
    share = place - TOP_WALL if on_top else place
    chain.given("u", share, "1", f"worst place {where}: 0 its middle, 1 the corner, found by search")
    chain.step("sigma", normal, "Pa", "stress along the tube there")
    chain.step("tau_s", shear, "Pa", "shear from the forces there, thin wall")
    chain.step("tau", "abs(T) / W_t + tau_s", "Pa", "shear there, torsion added at its worst")
