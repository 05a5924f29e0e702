"""How a member moves between its ends: the exact shapes of the unloaded Timoshenko beam.

A member's movement is that of its chord plus its six natural deformations (see element): even stretch and
twist, a parabola for the symmetric bending and a cubic for the antisymmetric one. With t = 1 - 2 x / L and
b = 3 / (4 (1 + phi)) the antisymmetric mode of end rotations 1/2 turns the section by
b (t² + (2 phi - 1) / 3) and shifts it by b L (t³ - t) / 6.
Derivation: M' = V, theta' = M / EI, w' = theta + V / GA_s with both ends on the chord. Shape functions of the
same beam: J. S. Przemieniecki, Theory of Matrix Structural Analysis, McGraw-Hill 1968, section 11.5 (from
memory).
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.frame.element import shear_ratios
from soapstone.frame.geometry import Geometry
from soapstone.frame.model import Frame

Floats = NDArray[np.float64]


def gauss(count: int) -> tuple[Floats, Floats]:
    """Points and weights of Gauss-Legendre quadrature on 0 … 1."""
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1.0) / 2.0, weights / 2.0


def shapes(frame: Frame, geometry: Geometry, local: Floats, fractions: ArrayLike) -> tuple[Floats, Floats]:
    """Movements along the members and their slopes, from the 12 movements of the true ends.

    Parameters
    ----------
    local : (m, 6, 12) float
        Local compatibility.
    fractions : (p,) float
        Of the length.

    Returns
    -------
    values, slopes : (p, m, 6, 12) float
        Rows u v w rx ry rz, local, and their derivatives by the distance from the start.
    """
    x = np.asarray(fractions, dtype=float)
    L = geometry.lengths
    p, m = x.size, L.size
    values, slopes = np.zeros((p, m, 6, 12)), np.zeros((p, m, 6, 12))
    for row in range(4):
        values[:, :, row, row], values[:, :, row, row + 6] = (1.0 - x)[:, None], x[:, None]
        slopes[:, :, row, row], slopes[:, :, row, row + 6] = -1.0 / L, 1.0 / L
    for row, shift, sign in ((4, 2, -1.0), (5, 1, 1.0)):
        values[:, :, row, shift], values[:, :, row, shift + 6] = -sign / L, sign / L
    bent, bent_slopes = _bending(frame, geometry, x)
    values += bent @ local
    slopes += bent_slopes @ local
    return values, slopes


def _bending(frame: Frame, geometry: Geometry, x: Floats) -> tuple[Floats, Floats]:
    """Movements (p, m, 6, 6) that the bending modes add to the chord's, and their slopes."""
    L, t = geometry.lengths, (1.0 - 2.0 * x)[:, None]
    values, slopes = np.zeros((2, x.size, L.size, 6, 6))
    even_shift, even_slope = L * (1.0 - t**2) / 8.0, t / 2.0
    for mode, turn, shift, sign, phi in zip(
        (2, 4), (4, 5), (2, 1), (1.0, -1.0), shear_ratios(frame, geometry), strict=True
    ):
        b = 0.75 / (1.0 + phi)
        values[:, :, turn, mode], slopes[:, :, turn, mode] = -t / 2.0, 1.0 / L
        values[:, :, shift, mode], slopes[:, :, shift, mode] = sign * even_shift, sign * even_slope
        values[:, :, turn, mode + 1] = b * (t**2 + (2.0 * phi - 1.0) / 3.0)
        slopes[:, :, turn, mode + 1] = -4.0 * b * t / L
        values[:, :, shift, mode + 1] = sign * b * L * (t**3 - t) / 6.0
        slopes[:, :, shift, mode + 1] = -sign * b * (t**2 - 1.0 / 3.0)
    return values, slopes
