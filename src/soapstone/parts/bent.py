"""A tube's end onto a bent tube: each line along it to where it first meets the bend or its straight legs."""

import math
from dataclasses import dataclass

import numpy as np

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes, cross
from soapstone.parts.cope import SMALLEST_ANGLE, Tube
from soapstone.parts.cuts import Cut, Cutting, EndKind
from soapstone.parts.outline import End
from soapstone.parts.profile import Array
from soapstone.parts.sections import RoundTube
from soapstone.parts.tools import BendTool

_TOUCH = 1e-6
"""m: a contact shallower than a thousandth of a millimetre is none."""
_REAL = 1e-4
"""A double root of a quartic comes out as a pair this far from the real line: the root of rounding."""
_ON = 1e-9
"""m off the surface that a root may lie, after it is polished."""
_SWEEP = 2001
"""Places along a line at which its distance from the bend is tried, where it misses."""


@dataclass(frozen=True, eq=False)
class BentTube:
    """A round tube along an arc, with a straight leg at both of the arc's ends.

    Attributes
    ----------
    name : str
    shape : RoundTube
    centre : (3,) m
        Of the centre line's arc.
    start : (3,) m
        Where the arc starts.
    normal : (3,)
        The arc runs right-handed about it; unit, square to `start - centre`.
    sweep : float
        rad, more than nothing, less than a full turn.
    legs : (float, float)
        How far the legs reach before and past the arc, m; without limit if not told.
    """

    name: str
    shape: RoundTube
    centre: Array
    start: Array
    normal: Array
    sweep: float
    legs: tuple[float, float] = (math.inf, math.inf)

    @property
    def bend_radius(self) -> float:
        """Of the centre line, m."""
        return float(np.linalg.norm(self.start - self.centre))

    @property
    def axes(self) -> Axes:
        """Origin at the arc's centre, x towards its start, z the normal."""
        x = (self.start - self.centre) / self.bend_radius
        return Axes(self.centre, x, cross(self.normal, x), self.normal)

    def nearest(self, point: Array) -> tuple[Array, Array]:
        """Point of the centre line nearest to `point` (3,) m, and the way the centre line runs there."""
        local = self.axes.to_local(point)
        turn = math.atan2(local[1], local[0])
        found = []
        for at in (turn, turn + 2 * math.pi):
            if 0.0 <= at <= self.sweep:
                found.append((self._on_arc(at), self._along(at)))
        for at, way, length in self._ends():
            foot, along = self._on_arc(at), self._along(at)
            reach = min(max(float((local - foot) @ along) * way, 0.0), length)
            found.append((foot + way * reach * along, along))
        best, along = min(found, key=lambda pair: float(np.linalg.norm(pair[0] - local)))
        return self.axes.to_world(best), along @ self.axes.rotation

    def _ends(self) -> tuple[tuple[float, float, float], ...]:
        """Of each leg: the turn at which it starts, its sense along the arc, and how far it reaches, m."""
        return (0.0, -1.0, self.legs[0]), (self.sweep, 1.0, self.legs[1])

    def _on_arc(self, turn: float) -> Array:
        return self.bend_radius * np.array((math.cos(turn), math.sin(turn), 0.0))

    def _along(self, turn: float) -> Array:
        return np.array((-math.sin(turn), math.cos(turn), 0.0))

    def distance(self, points: Array) -> Array:
        """Signed distance of (n, 3) m in its own axes from the outside, (n,) m, negative inside."""
        turn = np.arctan2(points[:, 1], points[:, 0]) % (2 * math.pi)
        ring = np.hypot(np.hypot(points[:, 0], points[:, 1]) - self.bend_radius, points[:, 2])
        best = np.where(turn <= self.sweep, ring, np.inf)
        for at, way, length in self._ends():
            from_foot = points - self._on_arc(at)
            reach = np.clip(from_foot @ self._along(at) * way, 0.0, length)
            best = np.minimum(
                best, np.linalg.norm(from_foot - (way * reach)[:, None] * self._along(at), axis=1)
            )
        found: Array = best - self.shape.outside_diameter / 2
        return found


def coped_onto_bent(through: BentTube, *, overhang_allowed: float = 0.0, gap: float = 0.0) -> Cut:
    """Cut to sit on a bent tube, with a `gap`, m, all round.

    Raises
    ------
    GeometryError
        When made, if the tube misses the bent one, reaches past its side by more than
        `overhang_allowed`, or meets it at less than 15°; the message names both.
    """

    def make(tube: Tube, length: float, end: End) -> Cutting:
        if through.shape.outside_diameter / 2 + gap >= through.bend_radius:
            raise GeometryError(
                "is bent so tightly that its inside has no room for a cope", where=through.name
            )
        fit = _BentFit(tube, through, end, gap, length)
        overhang = fit.overhang()
        if overhang > overhang_allowed + _TOUCH:
            raise GeometryError(
                f"reaches {1e3 * overhang:.4g} mm past the side of {through.name}, or misses it",
                where=tube.name,
                remedy=f"move {tube.name} nearer the middle of {through.name}, or take a narrower tube",
            )
        angle, heel, breaks = fit.setting()
        radius = through.shape.outside_diameter / 2 + gap
        tool = BendTool(through.axes, through.bend_radius, radius, through.sweep, through.legs)
        return Cutting(
            EndKind.COPE,
            through.name,
            fit.stations,
            breaks,
            angle,
            heel,
            overhang if overhang > _TOUCH else 0.0,
            tools=(tool,),
        )

    return make


@dataclass(frozen=True, eq=False)
class _BentFit:
    tube: Tube
    through: BentTube
    end: End
    gap: float
    length: float

    def _lines(self, generators: Array) -> tuple[Array, Array]:
        """Starts (n, 3) m of the lines, at the tube's far end, and their way, in the bend's axes."""
        far = 0.0 if self.end is End.B else self.length
        local = np.column_stack((np.full(len(generators), far), generators))
        starts = self.through.axes.to_local(self.tube.axes.to_world(local))
        return starts, self.through.axes.rotation @ (self.end.sign * self.tube.axes.x)

    def stations(self, generators: Array) -> Array:
        """X, m, at which lines along the tube meet the bent one, or pass it nearest where they miss."""
        starts, way = self._lines(generators)
        along = self._first(starts, way, self.through.shape.outside_diameter / 2 + self.gap)
        missed = ~np.isfinite(along)
        if missed.any():
            along[missed] = self._nearest(starts[missed], way)[0]
        far = 0.0 if self.end is End.B else self.length
        return far + self.end.sign * along

    def _first(self, starts: Array, way: Array, radius: float) -> Array:
        found = [_torus(starts, way, self.through.bend_radius, radius, self.through.sweep)]
        for at, outward, length in self.through._ends():
            foot, along = self.through._on_arc(at), outward * self.through._along(at)
            found.append(_leg(starts - foot, way, along, radius, length))
        first: Array = np.min(found, axis=0)
        return first

    def _nearest(self, starts: Array, way: Array) -> tuple[Array, Array]:
        """Where lines pass the bent tube nearest, m along them, and how far outside of it."""
        reach = np.linspace(0.0, 2.0 * self.length, _SWEEP)
        points = (starts[:, None, :] + reach[None, :, None] * way).reshape(-1, 3)
        apart = self.through.distance(points).reshape(len(starts), -1)
        centre, step = reach[apart.argmin(axis=1)], reach[1] - reach[0]
        for _ in range(60):  # golden-section in all lines at once; the distance has one dip between places
            step *= 0.62
            tries = np.stack((centre - step, centre, centre + step))
            values = [self.through.distance(starts + t[:, None] * way) for t in tries]
            centre = tries[np.argmin(values, axis=0), np.arange(len(centre))]
        return centre, self.through.distance(starts + centre[:, None] * way)

    def overhang(self) -> float:
        """How far the tube reaches past the bent tube's side, m."""
        profile = self.tube.shape.outline
        generators = profile.generators(np.linspace(0.0, profile.perimeter, 361), 0.0)
        starts, way = self._lines(generators)
        missed = ~np.isfinite(self._first(starts, way, self.through.shape.outside_diameter / 2))
        return float(self._nearest(starts[missed], way)[1].max()) if missed.any() else 0.0

    def setting(self) -> tuple[float, float, Array]:
        """Angle between the axes where they meet, the heel, and where the cut turns."""
        axis = float(self.stations(np.zeros((1, 2)))[0])
        point = self.tube.axes.to_world(np.array((axis, 0.0, 0.0)))
        _, along = self.through.nearest(point)
        cosine = float(self.tube.axes.x @ along)
        angle = math.atan2(math.sqrt(max(1.0 - cosine * cosine, 0.0)), abs(cosine))
        if angle < SMALLEST_ANGLE:
            raise GeometryError(
                f"meets {self.through.name} at {math.degrees(angle):.1f}°, under 15°: the cope would run out "
                "to a feather edge",
                where=self.tube.name,
                remedy=f"let {self.tube.name} and {self.through.name} meet less acutely",
            )
        acute = -along if cosine * self.end.sign > 1e-6 else along
        mine = self.tube.axes
        heel = math.atan2(float(acute @ mine.z), float(acute @ mine.y))
        profile = self.tube.shape.outline
        quarters = [profile.abscissa_at(heel + quarter * math.pi / 2) for quarter in range(4)]
        knots = np.empty(0) if profile.is_round else profile.knots()
        return angle, heel, np.concatenate((np.array(quarters), knots))


def _torus(starts: Array, way: Array, bend: float, radius: float, sweep: float) -> Array:
    """First contact of lines with the bend, m along them; infinite where they miss.

    The torus (|p|² + R² − r²)² = 4R²(x² + y²) along p = s + t·d, d of unit length, is a quartic in t,
    solved about the middle of each line so that its coefficients stay small.
    """
    middle = -(starts @ way)
    p = starts + middle[:, None] * way
    k = (p * p).sum(axis=1) + bend**2 - radius**2
    a = way[0] ** 2 + way[1] ** 2
    b = p[:, 0] * way[0] + p[:, 1] * way[1]
    c = p[:, 0] ** 2 + p[:, 1] ** 2
    # p·d = 0 about the middle, so |p + t d|² = |p|² + t²
    scale = bend
    companion = np.zeros((len(starts), 4, 4))
    companion[:, 0, 1] = companion[:, 1, 2] = companion[:, 2, 3] = 1.0
    companion[:, 3, 2] = -(2 * k - 4 * bend**2 * a) / scale**2
    companion[:, 3, 1] = 8 * bend**2 * b / scale**3
    companion[:, 3, 0] = -(k**2 - 4 * bend**2 * c) / scale**4
    roots = np.linalg.eigvals(companion) * scale
    real = np.abs(roots.imag) < _REAL * scale
    along = _polished(np.where(real, roots.real, 0.0), p, way, bend, radius)
    points = p[:, None, :] + along[:, :, None] * way
    ring = np.hypot(points[..., 0], points[..., 1])
    on = np.abs(np.hypot(ring - bend, points[..., 2]) - radius) < _ON
    turn = np.arctan2(points[..., 1], points[..., 0]) % (2 * math.pi)
    # a hair more than the sweep at both ends, so that no line slips through between bend and leg
    inside = (turn <= sweep + _ON / bend) | (turn >= 2 * math.pi - _ON / bend)
    good = real & on & inside & (along + middle[:, None] > 0.0)
    first: Array = np.where(good, along, np.inf).min(axis=1) + middle
    return first


def _polished(along: Array, p: Array, way: Array, bend: float, radius: float) -> Array:
    """A few steps of Newton's on the signed distance."""
    for _ in range(6):
        points = p[:, None, :] + along[:, :, None] * way
        ring = np.maximum(np.hypot(points[..., 0], points[..., 1]), 1e-12)
        tube = np.maximum(np.hypot(ring - bend, points[..., 2]), 1e-12)
        out = points * ((ring - bend) / ring)[..., None]
        out[..., 2] = points[..., 2]
        slope = (out @ way) / tube
        step = np.where(np.abs(slope) > 1e-7, (tube - radius) / np.where(slope == 0.0, 1.0, slope), 0.0)
        along = along - np.clip(step, -radius, radius)
    return along


def _leg(starts: Array, way: Array, along: Array, radius: float, length: float) -> Array:
    """First contact of lines with a leg that runs `along` from the origin for `length`; infinite if none."""
    across, flat = way - (way @ along) * along, starts - (starts @ along)[:, None] * along
    square = float(across @ across)
    if square < 1e-18:
        return np.full(len(starts), np.inf)
    middle = -(flat @ across) / square
    short = radius**2 - ((flat + middle[:, None] * across) ** 2).sum(axis=1)
    # a line that grazes is rounding's to lose: a nanometre outside still counts
    met = short > -2 * radius * _ON
    first = middle - np.sqrt(np.maximum(short, 0.0) / square)
    place = starts @ along + first * float(way @ along)
    found: Array = np.where(met & (place > 0.0) & (place < length) & (first > 0.0), first, np.inf)
    return found
