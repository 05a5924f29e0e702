"""The outline of a section: a rectangle with rounded corners, of which the circle is the limit.

One shape serves round tube, rectangular tube and bar, because everything a cope asks of a section
(its generators, its silhouette, where a ray enters it) has the same answer for all of them: the
outline is a rectangle, the `core`, grown on all sides by a corner radius.

The abscissa runs round the outline from the local +y axis towards +z.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_QUARTER = math.pi / 2
_TURNS = np.array([0.0, 0, 1, 1, 2, 2, 3, 3, 4, 4])
_CORNERS = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
_ROUNDING = 1e-12  # m: far above float64's rounding of a coordinate, far below anything that can be cut


@dataclass(frozen=True)
class Profile:
    """A rounded rectangle about the local x axis, in the local y-z plane.

    Attributes
    ----------
    core_y, core_z : float
        Half the size of the core rectangle, m; both zero for a circle.
    radius : float
        Corner radius, m; zero for sharp corners.
    """

    core_y: float
    core_z: float
    radius: float

    @property
    def half_y(self) -> float:
        """Half the outside size along y, m."""
        return self.core_y + self.radius

    @property
    def half_z(self) -> float:
        """Half the outside size along z, m."""
        return self.core_z + self.radius

    @property
    def is_round(self) -> bool:
        """Whether the outline is a circle."""
        return self.core_y == 0.0 and self.core_z == 0.0

    @property
    def perimeter(self) -> float:
        """Length once round, m."""
        return 4.0 * (self.core_y + self.core_z) + 2.0 * math.pi * self.radius

    @property
    def area(self) -> float:
        """Enclosed area, m²."""
        return 4.0 * self.half_y * self.half_z - (4.0 - math.pi) * self.radius**2

    @property
    def second_moments(self) -> tuple[float, float]:
        """∫z² dA and ∫y² dA, m⁴: the full rectangle less four corner squares plus four quarter discs."""
        return (
            _second_moment(self.half_y, self.half_z, self.radius),
            _second_moment(self.half_z, self.half_y, self.radius),
        )

    @property
    def first_moments(self) -> tuple[float, float]:
        """∫|z| dA and ∫|y| dA, m³, from the same pieces."""
        return (
            _first_moment(self.half_y, self.half_z, self.radius),
            _first_moment(self.half_z, self.half_y, self.radius),
        )

    def grown(self, by: float) -> "Profile":
        """The outline at `by` m outside this one, everywhere at that distance; corners come out round."""
        return Profile(self.core_y, self.core_z, self.radius + by)

    def inset(self, depth: float) -> "Profile":
        """The outline at `depth` m inside this one, corners sharp once the radius is used up."""
        sharp = max(depth - self.radius, 0.0)
        return Profile(self.core_y - sharp, self.core_z - sharp, max(self.radius - depth, 0.0))

    def knots(self) -> Array:
        """Abscissae where a flat meets a corner, (10,) m, first 0 and last the perimeter."""
        b, a, arc = self.core_z, self.core_y, _QUARTER * self.radius
        return np.cumsum(np.array([0.0, b, arc, 2 * a, arc, 2 * b, arc, 2 * a, arc, b]))

    def turn(self, abscissa: Array) -> Array:
        """How far the outward normal has turned since abscissa 0, rad, (n,)."""
        if self.is_round:
            return abscissa / self.radius
        found: Array = np.interp(abscissa, self.knots(), _QUARTER * _TURNS)
        return found

    def generators(self, abscissa: Array, depth: float) -> Array:
        """Points of the outline and, behind each along the wall's normal, of the wall at `depth`.

        Parameters
        ----------
        abscissa : (n,) m
            Along the outer outline, 0 to the perimeter.
        depth : float
            m, below the outer outline; 0 gives the outline itself.

        Returns
        -------
        points : (n, 2) m
            y and z.
        """
        if self.is_round:
            angle = abscissa / self.radius
            return (self.radius - depth) * np.array((np.cos(angle), np.sin(angle))).T
        knots, a, b = self.knots(), self.core_y, self.core_z
        angle = np.interp(abscissa, knots, _QUARTER * _TURNS)
        y = np.interp(abscissa, knots, [a, a, a, -a, -a, -a, -a, a, a, a])
        z = np.interp(abscissa, knots, [0.0, b, b, b, b, -b, -b, -b, -b, 0.0])
        left = self.inset(depth)
        y = np.clip(y, -left.core_y, left.core_y) + left.radius * np.cos(angle)
        z = np.clip(z, -left.core_z, left.core_z) + left.radius * np.sin(angle)
        return np.array((y, z)).T

    def support(self, y: float, z: float) -> float:
        """How far the outline reaches along the direction (y, z), m times the direction's length."""
        return abs(y) * self.core_y + abs(z) * self.core_z + self.radius * math.hypot(y, z)

    def distance(self, points: Array) -> Array:
        """Signed distance of points (n, 2) m from the outline, (n,) m, negative inside."""
        over = np.abs(points) - np.array([self.core_y, self.core_z])
        outside = np.hypot(np.maximum(over[:, 0], 0.0), np.maximum(over[:, 1], 0.0))
        inside: Array = outside + np.minimum(over.max(axis=1), 0.0) - self.radius
        return inside

    def abscissa_at(self, angle: float) -> float:
        """Abscissa, m, of the corner (or round) point whose outward normal stands at `angle`, rad."""
        if self.is_round:
            return self.radius * (angle % (2 * math.pi))
        quarter, turn = divmod(angle % (2 * math.pi), _QUARTER)
        start = float(self.knots()[(1, 3, 5, 7)[min(int(quarter), 3)]])
        return start + self.radius * turn

    def abscissae_of(self, points: Array, depth: float = 0.0) -> Array:
        """Abscissae, (n,) m, of points (n, 2) m that lie `depth` m below the outline: `generators` undone."""
        if self.is_round:
            return self.radius * (np.arctan2(points[:, 1], points[:, 0]) % (2 * math.pi))
        left = self.inset(depth)
        core = np.clip(points, (-left.core_y, -left.core_z), (left.core_y, left.core_z))
        out = points - core
        # a sharp corner inside has no normal of its own: take the side the point lies nearer to
        side = np.abs(points) - np.array([left.core_y, left.core_z])
        lone = np.where(side.argmax(axis=1)[:, None] == np.arange(2), np.sign(points), 0.0)
        out = np.where((np.abs(out).max(axis=1) > _ROUNDING)[:, None], out, lone)
        turn = np.arctan2(out[:, 1], out[:, 0]) % (2 * math.pi)
        knots, quarter = self.knots(), np.floor(turn / _QUARTER + 0.5).astype(int)
        flat = np.abs(out).min(axis=1) <= _ROUNDING
        # along a flat: its middle, and how far the core point lies from there, the way the abscissa runs
        middles = np.array([0.0, *((knots[i] + knots[i + 1]) / 2 for i in (2, 4, 6)), self.perimeter])
        shift = np.choose(quarter % 4, (core[:, 1], -core[:, 0], -core[:, 1], core[:, 0]))
        corner = np.minimum((turn / _QUARTER).astype(int), 3)
        on_corner = knots[[1, 3, 5, 7]][corner] + self.radius * (turn - corner * _QUARTER)
        found: Array = np.where(flat, middles[quarter] + shift, on_corner) % self.perimeter
        return found

    def crossings(self, y: float, z: float, levels: Array) -> Array:
        """Abscissae where the outline's points p satisfy (y, z)·p = level, for any of `levels`.

        Parameters
        ----------
        y, z : float
            A direction, any length.
        levels : (k,) m times that length

        Returns
        -------
        abscissae : (m,) m
        """
        found = [self._corner_crossings(y, z, levels)]
        if not self.is_round:
            found.append(self._flat_crossings(y, z, levels))
        return np.concatenate(found)

    def _corner_crossings(self, y: float, z: float, levels: Array) -> Array:
        length = math.hypot(y, z) * self.radius
        if length == 0.0:
            return np.empty(0)
        a, b = self.core_y * y, self.core_z * z
        centre = np.array([[a + b], [b - a], [-a - b], [a - b]])
        ratio = (levels[None, :] - centre) / length
        inside = np.abs(ratio) <= 1.0
        swing = np.arccos(np.where(inside, ratio, 0.0))
        middle = math.atan2(z, y)
        begins = _QUARTER * np.arange(4.0)[:, None]
        starts = self.knots()[[1, 3, 5, 7]][:, None]
        found = []
        for angle in (middle + swing, middle - swing):
            turn = (angle - begins) % (2 * math.pi)
            found.append((starts + self.radius * turn)[inside & (turn <= _QUARTER)])
        return np.concatenate(found)

    def _flat_crossings(self, y: float, z: float, levels: Array) -> Array:
        knots = self.knots()
        points = self.generators(knots, 0.0) @ np.array([y, z])
        found = []
        for i in (0, 2, 4, 6, 8):
            rise = points[i + 1] - points[i]
            if rise == 0.0:
                continue
            part = (levels - points[i]) / rise
            part = part[(part >= 0.0) & (part <= 1.0)]
            found.append(knots[i] + part * (knots[i + 1] - knots[i]))
        return np.concatenate(found) if found else np.empty(0)

    def entry(self, origins: Array, direction: Array) -> Array:
        """Where parallel rays enter the outline.

        Parameters
        ----------
        origins : (n, 2) m
        direction : (2,)
            Not zero; need not be of unit length.

        Returns
        -------
        along : (n,) in units of `direction`
            Of the first contact; for a ray that passes beside the outline, of its nearest approach to
            the corner it passes.
        """
        if self.is_round:
            return _disc_entry(origins, direction, self.radius)
        across = np.array([-direction[1], direction[0]])
        best = self._flat_entry(origins, direction)
        # What no flat takes, a corner does: the disc whose own first contact lies in its quadrant.
        for corner in _CORNERS:
            if (corner * direction >= 0.0).all():
                continue  # on the far side
            centre = corner * (self.core_y, self.core_z)
            local = origins - centre
            along = _disc_entry(local, direction, self.radius)
            met = ((local + along[:, None] * direction) * corner >= -_ROUNDING).all(axis=1)
            met &= np.abs(local @ across) <= self.radius * math.hypot(*direction)
            best = np.where(met, np.minimum(best, along), best)
        missed = ~np.isfinite(best)
        if missed.any():
            best[missed] = self._approach(origins[missed], direction, across)
        return best

    def _flat_entry(self, origins: Array, direction: Array) -> Array:
        best = np.full(len(origins), np.inf)
        core = (self.core_y, self.core_z)
        for axis in (0, 1):
            if direction[axis] == 0.0:
                continue
            face = -math.copysign(core[axis] + self.radius, direction[axis])
            along = (face - origins[:, axis]) / direction[axis]
            side = origins[:, 1 - axis] + along * direction[1 - axis]
            best = np.where(np.abs(side) <= core[1 - axis], np.minimum(best, along), best)
        return best

    def _approach(self, origins: Array, direction: Array, across: Array) -> Array:
        """Nearest approach to the corner a ray passes beside; of two in line, the first."""
        local = origins[:, None, :] - (_CORNERS * (self.core_y, self.core_z))[None, :, :]
        gaps = np.abs(local @ across) / math.hypot(*direction)
        along = -(local @ direction) / (direction @ direction)
        level = gaps <= gaps.min(axis=1, keepdims=True) + _ROUNDING
        first: Array = np.where(level, along, np.inf).min(axis=1)
        return first


def _disc_entry(origins: Array, direction: Array, radius: float) -> Array:
    """First contact of rays with a disc about the origin; beside it, the nearest approach."""
    y, z = float(direction[0]), float(direction[1])
    square = y * y + z * z
    middle = -(origins[:, 0] * y + origins[:, 1] * z)
    across = origins[:, 0] * z - origins[:, 1] * y
    half = np.sqrt(np.maximum(square * radius * radius - across * across, 0.0))
    along: Array = (middle - half) / square
    return along


def _second_moment(half_width: float, half_height: float, radius: float) -> float:
    disc = (math.pi / 16 - 4 / (9 * math.pi)) * radius**4
    reach = half_height - radius + 4 * radius / (3 * math.pi)
    square = radius**4 / 12 + radius**2 * (half_height - radius / 2) ** 2
    corner = square - disc - math.pi / 4 * radius**2 * reach**2
    return 4 / 3 * half_width * half_height**3 - 4 * corner


def _first_moment(half_width: float, half_height: float, radius: float) -> float:
    reach = half_height - radius + 4 * radius / (3 * math.pi)
    corner = radius**2 * (half_height - radius / 2) - math.pi / 4 * radius**2 * reach
    return 2 * half_width * half_height**2 - 4 * corner
