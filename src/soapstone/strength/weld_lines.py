"""A fillet round a tube's end as a line: its length, its moduli, and the force on each length of it."""

import math
from dataclasses import dataclass

import numpy as np

from soapstone.strength.circumference import largest, square
from soapstone.strength.shapes import Array, RoundTubeLike, TubeLike


@dataclass(frozen=True)
class WeldLine:
    """A weld of unit throat along a closed line in its own plane, SI.

    Attributes
    ----------
    length : float
        m.
    modulus_y, modulus_z : float
        Bending about y and about z, m².
    polar : float
        Second polar moment, m³.
    reach_y, reach_z : float
        Distance of the outermost point along y and z, m.
    """

    length: float
    modulus_y: float
    modulus_z: float
    polar: float
    reach_y: float
    reach_z: float


def round_line(diameter: float, angle: float = math.pi / 2) -> WeldLine:
    """Fillet round a tube of outside `diameter` (m) that meets its seat at `angle` (rad).

    Length by AISC 360-22 K5 as π D (1 + 1/sin θ)/2; the moduli stay those of the square-cut ring, which
    are the smaller ones.
    """
    r = diameter / 2
    length = math.pi * diameter * (1 + 1 / math.sin(angle)) / 2
    return WeldLine(length, math.pi * r**2, math.pi * r**2, 2 * math.pi * r**3, r, r)


def rectangular_line(width: float, height: float) -> WeldLine:
    """Fillet round a tube of `width` along y and `height` along z (m), square-cut (Shigley table 9-2)."""
    b, d = width, height
    return WeldLine(2 * (b + d), d * (3 * b + d) / 3, b * (3 * d + b) / 3, (b + d) ** 3 / 6, b / 2, d / 2)


def line_force(
    section: TubeLike, forces: Array, angle: float = math.pi / 2, shear_weight: float = 1.0
) -> tuple[Array, Array]:
    """Greatest force per length of weld (N/m), and for a round tube the angle round it (rad) where it acts.

    Parameters
    ----------
    forces : Array
        (..., 6) [N, Vy, Vz, T, My, Mz] on the end, N, N·m.
    shear_weight : float
        What the force in the plane of the weld is multiplied by before it joins the force along the tube.
    """
    if isinstance(section, RoundTubeLike):
        return _round_force(round_line(section.outside_diameter, angle), forces, shear_weight)
    return _rectangular_force(rectangular_line(section.width, section.height), forces, shear_weight)


def _round_force(line: WeldLine, forces: Array, shear_weight: float) -> tuple[Array, Array]:
    N, Vy, Vz, T, My, Mz = np.moveaxis(forces, -1, 0)
    normal = square(N / line.length, -Mz / line.modulus_z, My / line.modulus_y)
    twist = T * line.reach_y / line.polar
    zero = np.zeros_like(twist)
    in_plane = np.stack(
        [
            twist**2 + (Vy**2 + Vz**2) / line.length**2,
            2 * twist * Vz / line.length,
            -2 * twist * Vy / line.length,
            zero,
            zero,
        ],
        axis=-1,
    )
    squared, angle = largest(normal + shear_weight**2 * in_plane)
    return np.sqrt(np.maximum(squared, 0.0)), angle


def _rectangular_force(line: WeldLine, forces: Array, shear_weight: float) -> tuple[Array, Array]:
    N, Vy, Vz, T, My, Mz = np.abs(np.moveaxis(forces, -1, 0))
    normal = N / line.length + My / line.modulus_y + Mz / line.modulus_z
    along_y = Vy / line.length + T * line.reach_z / line.polar
    along_z = Vz / line.length + T * line.reach_y / line.polar
    force = np.sqrt(normal**2 + shear_weight**2 * (along_y**2 + along_z**2))
    return force, np.zeros_like(force)
