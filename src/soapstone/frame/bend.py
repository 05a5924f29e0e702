"""Bent tubes: the arc as chords, its ovalling, and the stress of a thick curved bar."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError

Floats = NDArray[np.float64]

# Up to this D / T the code means its factors to be used.
_THINNEST = 100.0


def arc(before: ArrayLike, corner: ArrayLike, after: ArrayLike, radius: float, count: int) -> Floats:
    """Points of a bend that rounds a corner, from tangent point to tangent point.

    Parameters
    ----------
    before, corner, after : (3,) float, m
        The straight runs before and after meet at the corner.
    radius : float, m
        Of the tube's axis.
    count : int
        Of chords. Their deflection differs from the arc's by less than (angle / count)² / 5 of it.

    Returns
    -------
    (count + 1, 3) float, m

    Raises
    ------
    GeometryError
        The runs are in line, too short for the bend, or the count or radius is not positive.
    """
    corner = np.asarray(corner, dtype=float)
    arms = [np.asarray(p, dtype=float) - corner for p in (before, after)]
    lengths = [float(np.linalg.norm(arm)) for arm in arms]
    if min(lengths) <= 0.0 or count < 1 or not radius > 0.0:
        raise GeometryError("a bend needs two runs of some length, a radius and at least one chord")
    to, out = -arms[0] / lengths[0], arms[1] / lengths[1]
    side = out - (out @ to) * to
    sine = float(np.linalg.norm(side))
    if sine < 1e-9:
        raise GeometryError("the two runs are in line: there is nothing to bend")
    angle = float(np.arctan2(sine, out @ to))
    tangent = radius * np.tan(angle / 2.0)
    if tangent > min(lengths) * (1.0 + 1e-12):
        raise GeometryError(
            f"a bend of radius {1e3 * radius:.0f} mm needs {1e3 * tangent:.0f} mm of each run",
            remedy="take a tighter radius or move the corner out",
        )
    turned = np.linspace(0.0, angle, count + 1)[:, None]
    start = corner - tangent * to
    points: Floats = start + radius * (np.sin(turned) * to + (1.0 - np.cos(turned)) * side / sine)
    return points


@dataclass(frozen=True)
class Ovalling:
    """How a bend gives by going oval.

    Attributes
    ----------
    characteristic : float
        h = T R / r², with the mean radius r of the tube's wall.
    flexibility : float
        k: bending bends it so many times as much as a straight tube; second moments are divided by it.
    in_plane, out_of_plane : float
        Stress intensification i: M Z⁻¹ times this, for bending in the bend's plane and out of it.
    valid : bool
        Whether the tube is one that the factors were made for.
    why : str
        Why not; empty where valid.
    """

    characteristic: float
    flexibility: float
    in_plane: float
    out_of_plane: float
    valid: bool
    why: str


def ovalling(outside: float, wall: float, radius: float) -> Ovalling:
    """Factors of a smooth round bend without stiff ends near it.

    Parameters
    ----------
    outside, wall, radius : float, m
        Outside diameter, wall, and bend radius of the axis.

    k = 1.65 / h, i = 0.9 / h^(2/3) in and 0.75 / h^(2/3) out of plane, none below 1. Source: ASME B31.3,
    appendix D, table D300, elbow or pipe bend (from memory). It holds for both ends free of flanges (one
    stiff end multiplies k and i by h^(1/6), two by h^(1/3)), for D / T up to 100, and for a bend that is no
    tighter than its own tube.
    """
    if not 0.0 < 2.0 * wall < outside or not radius > 0.0:
        raise GeometryError("a bent tube needs a wall thinner than half its diameter, and a radius")
    mean = (outside - wall) / 2.0
    h = wall * radius / mean**2
    why = ""
    if outside / wall > _THINNEST:
        why = f"its wall is thinner than 1/{_THINNEST:.0f} of its diameter"
    elif radius <= outside / 2.0:
        why = "its bend is tighter than the tube itself"
    spread = h ** (-2.0 / 3.0)
    return Ovalling(h, max(1.0, 1.65 / h), max(1.0, 0.9 * spread), max(1.0, 0.75 * spread), not why, why)


def karman(characteristic: float) -> float:
    """Flexibility of a thin bend under bending in its plane: (10 + 12 h²) / (1 + 12 h²).

    Source: Th. von Karman, Über die Formänderung dünnwandiger Rohre, insbesondere federnder
    Ausgleichrohre, VDI-Zeitschrift 55, 1911 (from memory): one term of the series, close from h = 0.3 up.
    """
    square = 12.0 * characteristic**2
    return (10.0 + square) / (1.0 + square)


@dataclass(frozen=True)
class CurvedBar:
    """A thick curved bar's section by Winkler's theory.

    Attributes
    ----------
    area : float, m²
    centroid, neutral : float, m
        Radii of the section's centroid and of the neutral line under bending alone.
    inner, outer : float, m
        Radii of the extreme fibres.
    """

    area: float
    centroid: float
    neutral: float
    inner: float
    outer: float

    def stress(self, moment: float, at: ArrayLike) -> Floats:
        """Bending stress (Pa) at radii; a positive moment (N·m) straightens the bar: it pulls the inside.

        sigma = M (r_n - r) / (A e r), e = r_c - r_n. Source: S. Timoshenko, Strength of Materials Part II,
        curved bars (from memory).
        """
        r = np.asarray(at, dtype=float)
        eccentricity = self.centroid - self.neutral
        return np.asarray(moment * (self.neutral - r) / (self.area * eccentricity * r), dtype=np.float64)


def curved_rectangle(width: float, inner: float, outer: float) -> CurvedBar:
    """A rectangle of `width` between two radii: r_n = h / ln(r_o / r_i)."""
    if not 0.0 < inner < outer or not width > 0.0:
        raise GeometryError("a curved bar needs a width and two radii, the inner one smaller")
    depth = outer - inner
    return CurvedBar(width * depth, (inner + outer) / 2.0, depth / np.log(outer / inner), inner, outer)


def curved_tube(outside: float, wall: float, radius: float) -> CurvedBar:
    """A round tube that stays round, radii a and b: r_n = (sqrt(R² - a²) + sqrt(R² - b²)) / 2.

    From A / r_n = ∫ dA / r = 2 pi (sqrt(R² - b²) - sqrt(R² - a²)), the difference of two full rounds.
    """
    a, b = outside / 2.0, outside / 2.0 - wall
    if not 0.0 <= b < a < radius:
        raise GeometryError("a curved tube needs a wall, and a bend radius larger than its own")
    area = np.pi * (a**2 - b**2)
    neutral = (np.sqrt(radius**2 - a**2) + np.sqrt(radius**2 - b**2)) / 2.0
    return CurvedBar(float(area), radius, float(neutral), radius - a, radius + a)
