"""Saint-Venant's torsion of any solid outline, by boundary elements: torsion constant and shear centre.

The warping ω of a twisted bar is harmonic inside with ∂ω/∂n = z n_y − y n_z on the outline (Timoshenko &
Goodier, Theory of Elasticity, art. 109; y, z from the centroid). Green's identity turns both that problem and
every integral asked for into integrals round the outline:

    J = I_p − ∮ ω ∂ω/∂n ds,   ∫ y ω dA = ∮ (ω ∂v/∂n − v ∂ω/∂n) ds with v = y³/6.

Elements are straight and ω runs linearly along each, as it nearly does along the leg of an angle; they shrink
towards the corners as a cosine does. Both kernels are integrated exactly.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_ELEMENTS = 240
"""Round an outline: J then is within 0.2 % of the series of a rectangle ten times as wide as thick."""
_FEWEST = 8
_GAUSS = np.polynomial.legendre.leggauss(3)  # exact to the fifth degree: the integrands are of the fourth


def warping(corners: Array) -> tuple[float, Array]:
    """What ∫ over the outline says of twisting.

    Parameters
    ----------
    corners : (n, 2) m
        y and z from the centroid, counter-clockwise.

    Returns
    -------
    drop : float, m⁴
        What warping takes of the polar second moment: J = I_p − drop.
    moments : (2,) m⁵
        ∫ y ω dA and ∫ z ω dA.
    """
    size = 4.0 * float(np.abs(corners).max())  # keeps ln r away from the scale where its matrix degenerates
    start = _nodes(corners / size)
    end = np.roll(start, -1, axis=0)
    length = np.linalg.norm(end - start, axis=1)
    tangent = (end - start) / length[:, None]
    normal = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
    slopes = np.stack([p[:, 1] * normal[:, 0] - p[:, 0] * normal[:, 1] for p in (start, end)])
    pulled, double = _matrices(start, tangent, normal, length, slopes)
    # ω is known but for a constant: any will do for J, the right one for the moments is taken off below
    warp = np.linalg.solve(double + np.outer(np.ones(len(length)), length), pulled)
    shares, weights = (_GAUSS[0] + 1.0) / 2.0, _GAUSS[1] / 2.0
    drop, moments, mean = 0.0, np.zeros(2), 0.0
    for share, weight in zip(shares, weights, strict=True):
        w = (1.0 - share) * warp + share * np.roll(warp, -1)
        q = (1.0 - share) * slopes[0] + share * slopes[1]
        r = start + share * (end - start)
        ds = weight * length
        drop += float(np.sum(w * q * ds))
        moments += ((w[:, None] * r**2 / 2.0 * normal - r**3 / 6.0 * q[:, None]) * ds[:, None]).sum(axis=0)
        mean += float(np.sum((w * np.sum(r * normal, axis=1) / 2.0 - np.sum(r**2, axis=1) / 4.0 * q) * ds))
    centre = area_integrals(corners / size)[1]
    return drop * size**4, (moments - mean * centre) * size**5


def _nodes(corners: Array) -> Array:
    """(n, 2): where elements meet, every corner among them."""
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.linalg.norm(sides, axis=1)
    whole = float(lengths.sum())
    points = []
    for corner, side, length in zip(corners, sides, lengths, strict=True):
        fine = max(_FEWEST, round(_ELEMENTS * length / whole))
        count = fine if length > whole / 100.0 else 2
        share = (1.0 - np.cos(np.pi * np.arange(count) / count)) / 2.0
        points.append(corner + share[:, None] * side)
    return np.concatenate(points)


def _matrices(
    nodes: Array, tangent: Array, normal: Array, length: Array, slopes: Array
) -> tuple[Array, Array]:
    """∮ u* ∂ω/∂n ds (n,) and the matrix (n, n) of c ω + ∮ ω ∂u*/∂n ds at every node, u* = −ln r / 2π."""
    away = nodes[:, None] - nodes[None]
    x = np.einsum("ijk,jk->ij", away, tangent)
    h = np.einsum("ijk,jk->ij", away, normal)
    h[np.abs(h) < 1e-13] = 0.0
    near, far = -x, length - x
    angle = np.where(h == 0.0, 0.0, np.arctan2(far * h - near * h, h**2 + near * far))
    logs = [np.log(np.maximum(s**2 + h**2, 1e-300)) / 2.0 for s in (near, far)]
    squares = [s**2 + h**2 for s in (near, far)]
    plain = far * logs[1] - near * logs[0] - length + h * angle
    first = (squares[1] * (logs[1] - 0.5) - squares[0] * (logs[0] - 0.5)) / 2.0
    weighted = (first + x * plain) / length
    pulled: Array = -((plain - weighted) @ slopes[0] + weighted @ slopes[1]) / (2.0 * np.pi)
    leaning = (h * (logs[1] - logs[0]) + x * angle) / length
    double = ((angle - leaning) + np.roll(leaning, 1, axis=1)) / (2.0 * np.pi)
    np.fill_diagonal(double, 0.0)
    np.fill_diagonal(double, -double.sum(axis=1))  # ω the same everywhere pulls nothing
    return pulled, double


def area_integrals(corners: Array) -> tuple[float, Array, Array]:
    """Area m², centroid (2,) m and ∫ r rᵀ dA (2, 2) m⁴ about the origin, by Green's theorem."""
    here, there = corners, np.roll(corners, -1, axis=0)
    cross = here[:, 0] * there[:, 1] - there[:, 0] * here[:, 1]
    area = float(cross.sum()) / 2.0
    centre: Array = ((here + there) * cross[:, None]).sum(axis=0) / (6.0 * area)
    pairs = (
        np.einsum("i,ij,ik->jk", cross, here, here)
        + np.einsum("i,ij,ik->jk", cross, there, there)
        + np.einsum("i,ij,ik->jk", cross, here + there, here + there)
    )
    second: Array = pairs / 24.0
    return area, centre, second
