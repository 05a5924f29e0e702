"""Bars of any solid outline: flat bar, angle, channel, and outlines from the job, with their properties.

Outlines are drawn with y to the right and z up. A bar's axis runs through its centroid.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from soapstone.errors import GeometryError
from soapstone.parts.warping import area_integrals, warping

Array = NDArray[np.float64]
Corners = tuple[tuple[float, float], ...]

_ARC = 16
"""Chords of a root's quarter arc: they miss 0.2 % of the fillet, itself a hundredth of the bar."""
_CUTS = 8
"""Gauss points between two corners' levels; Q and the width run as low powers there."""
_SAME, _JUST = 1e-6, 1e-5
"""Of the height: corners no farther apart are on one level; of the way between two: just inside of one."""


@dataclass(frozen=True)
class BarSection:
    """Properties about the principal axes, y the one of the smaller angle to the drawing's y.

    Attributes
    ----------
    area : m²
    centroid : (2,) m, in the drawing
    turn : rad, from the drawing's y to the principal y, −45° to 45°
    second_moment_y, second_moment_z : m⁴, principal
    product : m⁴, ∫ y z dA in the drawing's axes about the centroid
    torsion_constant : m⁴, by `warping`
    shear_area_y, shear_area_z : m², by Jourawski's shear, evenly spread over each cut's width
    shear_peak_y, shear_peak_z : 1/m², largest Q / (I b) of a cut: shear stress over shear force
    torsion_modulus : m³, by Roark's inscribed circle
    shear_centre : (2,) m, from the centroid, principal (Trefftz)
    corners : (n, 2) m, from the centroid, principal
    """

    area: float
    centroid: Array
    turn: float
    second_moment_y: float
    second_moment_z: float
    product: float
    torsion_constant: float
    shear_area_y: float
    shear_area_z: float
    shear_peak_y: float
    shear_peak_z: float
    torsion_modulus: float
    shear_centre: Array
    corners: Array


@dataclass(frozen=True)
class Bar:
    """A bar.

    Parameters
    ----------
    words : str
        What to look for on the rack: `angle`, `channel`, `flat bar`, `own outline`.
    sizes : tuple of float
        As the job gives them, m; empty for an outline.
    corners : of (y, z) m
        Counter-clockwise or not, not repeated at the end.

    Raises
    ------
    GeometryError
        If the outline crosses itself or holds nothing.
    """

    words: str
    sizes: tuple[float, ...]
    corners: Corners

    def __post_init__(self) -> None:
        if len(self.corners) < 3 or not Polygon(self.corners).is_valid or Polygon(self.corners).area <= 0.0:
            raise GeometryError(
                f"{self.words}: its outline crosses itself or holds nothing",
                remedy="give its corners in order, once round",
            )

    @property
    def outline(self) -> Array:
        """(n, 2) m, counter-clockwise, in the drawing's axes."""
        points = np.array(self.corners)
        return points if area_integrals(points)[0] > 0.0 else points[::-1]

    def flipped(self, y: bool, z: bool) -> "Bar":
        """Seen in a mirror."""
        ways = (-1.0 if y else 1.0, -1.0 if z else 1.0)
        return Bar(self.words, self.sizes, tuple((ways[0] * a, ways[1] * b) for a, b in self.corners))

    @cached_property
    def section(self) -> BarSection:
        """Area and moments by Green's theorem, torsion and shear centre by boundary elements."""
        area, centre, _ = area_integrals(self.outline)
        about = self.outline - centre
        second = area_integrals(about)[2]
        turn = 0.5 * math.atan2(-2.0 * second[0, 1], second[1, 1] - second[0, 0])
        turn = (turn + math.pi / 4) % (math.pi / 2) - math.pi / 4
        if abs(second[0, 1]) < 1e-9 * np.trace(second):
            turn = 0.0
        cos, sin = math.cos(turn), math.sin(turn)
        corners = about @ np.array([[cos, -sin], [sin, cos]])
        along = area_integrals(corners)[2]
        iy, iz = float(along[1, 1]), float(along[0, 0])
        drop, moments = warping(corners)
        torsion = iy + iz - drop
        (shear_y, peak_y), (shear_z, peak_z) = _shear(corners[:, ::-1][::-1], iz), _shear(corners, iy)
        return BarSection(
            area=area,
            centroid=centre,
            turn=turn,
            second_moment_y=iy,
            second_moment_z=iz,
            product=float(second[0, 1]),
            torsion_constant=torsion,
            shear_area_y=shear_y,
            shear_area_z=shear_z,
            shear_peak_y=peak_y,
            shear_peak_z=peak_z,
            torsion_modulus=torsion / _roark(corners, area),
            shear_centre=np.array([-moments[1] / iy, moments[0] / iz]),
            corners=corners,
        )


def flat_bar(height: float, width: float) -> Bar:
    """Flat bar: its larger size along z, as for a tube; m."""
    return Bar("flat bar", (height, width), _box(min(height, width), max(height, width)))


def angle(up: float, across: float, thickness: float, root: float = 0.0) -> Bar:
    """Angle with its heel at the drawing's lower left: legs `up` along z, `across` along y; m.

    Parameters
    ----------
    root : float
        m, radius of the inside corner; the toes are then rounded by half of it, EN 10056-1 (from memory).
    """
    t, toe = thickness, root / 2.0
    _fits(
        "angle",
        t + root + toe < min(up, across) and toe <= t,
        "its legs or its thickness are too small for each other or for its root radius",
    )
    inside = _arc((t + root, t + root), root, math.pi * 1.5)
    ring = (
        (0.0, 0.0),
        (across, 0.0),
        *_arc((across - toe, t - toe), toe, 0.0, 1.0),
        *inside,
        *_arc((t - toe, up - toe), toe, 0.0, 1.0),
        (0.0, up),
    )
    return Bar("angle", (up, across, t), ring)


def channel(height: float, flange: float, web: float, flanges: float, root: float = 0.0) -> Bar:
    """Channel with its back at the drawing's left; web thickness `web`, flange thickness `flanges`; m."""
    _fits(
        "channel",
        web + root < flange and 2.0 * (flanges + root) < height,
        "its flanges or its web are shorter than its thickness and root radius",
    )
    low = _arc((web + root, flanges + root), root, math.pi * 1.5)
    high = _arc((web + root, height - flanges - root), root, math.pi)
    ring = (
        (0.0, 0.0),
        (flange, 0.0),
        (flange, flanges),
        *low,
        *high,
        (flange, height - flanges),
        (flange, height),
        (0.0, height),
    )
    sizes = (height, flange, web) if web == flanges else (height, flange, web, flanges)
    return Bar("channel", sizes, ring)


def _box(width: float, height: float) -> Corners:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


def _fits(what: str, fits: bool, why: str) -> None:
    if not fits:
        raise GeometryError(f"{what}: {why}", remedy="check its sizes")


def _arc(centre: tuple[float, float], radius: float, start: float, sense: float = -1.0) -> Corners:
    """A quarter of an arc from `start` rad, clockwise unless `sense` is 1; a corner where it has none."""
    if radius == 0.0:
        return (centre,)
    turns = start + sense * np.linspace(0.0, math.pi / 2, _ARC + 1)
    return tuple((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in turns.tolist())


def _shear(corners: Array, second: float) -> tuple[float, float]:
    """Shear area and largest Q / (I b) for a force along the second coordinate."""
    shares, weights = np.polynomial.legendre.leggauss(_CUTS)
    shares = np.concatenate([(shares + 1.0) / 2.0, (_JUST, 1.0 - _JUST)])  # width jumps at a corner's level
    weights = np.concatenate([weights / 2.0, (0.0, 0.0)])
    energy, peak = 0.0, 0.0
    for low, high in pairwise(_levels(corners[:, 1])):
        for share, weight in zip(shares, weights, strict=True):
            thick, soft, moment = _above(corners, low + share * (high - low))
            energy += weight * (high - low) * moment**2 / soft
            peak = max(peak, moment / (second * thick))
    return second**2 / energy, peak


def _levels(heights: Array) -> list[float]:
    """Heights of the corners in order, with the centroid's, where Q is largest; equal ones once."""
    found: list[float] = []
    for height in np.sort(np.append(heights, 0.0)).tolist():
        if not found or height - found[-1] > _SAME * float(np.ptp(heights)):
            found.append(height)
    return found


def _above(corners: Array, level: float) -> tuple[float, float, float]:
    """At a level: thickness m, thickness m over how much longer the flow runs, and first moment m³ above it.

    A leg that leans by s (rise over length) is cut wider than it is thick by 1 / s, and its flow runs longer.
    """
    here, there = corners, np.roll(corners, -1, axis=0)
    crosses = (here[:, 1] > level) != (there[:, 1] > level)
    a, b = here[crosses], there[crosses]
    at = a[:, 0] + (level - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    order = np.argsort(at)
    lean = (np.abs(b[:, 1] - a[:, 1]) / np.linalg.norm(b - a, axis=1))[order]
    pieces, leans = np.diff(at[order])[::2], (lean[::2] + lean[1::2]) / 2.0
    width = float(pieces.sum())
    # Green: ∫ z dA above the level = −½ ∮ z² dy over the outline cut off at it, plus ½ level² of the cut
    low, high = np.maximum(here[:, 1], level), np.maximum(there[:, 1], level)
    run = there[:, 0] - here[:, 0]
    part = np.ones(len(run))
    rise = there[:, 1] - here[:, 1]
    sloped = crosses & (rise != 0.0)
    part[sloped] = np.abs(high - low)[sloped] / np.abs(rise[sloped])
    part[(here[:, 1] <= level) & (there[:, 1] <= level)] = 0.0
    outside = -0.5 * float(np.sum(part * run * (low**2 + low * high + high**2) / 3.0))
    moment = outside - 0.5 * level**2 * width
    return float(pieces @ leans), float(pieces @ leans**2), moment


def _roark(corners: Array, area: float) -> float:
    """Torque's shear stress over T / J, m: Roark's Formulas for Stress and Strain, table 10.1 (from memory).

    D / (1 + x²) · (1 + 0.15 x²), x = π D² / 4 A, D of the largest inscribed circle, where it touches a flat
    side; a square gives 0.2 % more than the series, a thin strip its thickness.
    """
    circle = 2.0 * _inscribed(corners)
    x = math.pi * circle**2 / (4.0 * area)
    return circle / (1.0 + x**2) * (1.0 + 0.15 * x**2)


def _inscribed(corners: Array) -> float:
    """Radius m of the largest circle inside, found on a grid that closes in on it."""
    polygon = Polygon(corners)
    low, high = 0.0, float(np.ptp(corners, axis=0).min())
    while high - low > 1e-4 * high:
        middle = (low + high) / 2.0
        low, high = (low, middle) if polygon.buffer(-middle).is_empty else (middle, high)
    return high
