"""A tube's end cut to sit on another tube: the cope.

Each line along the tube runs towards the joint until it first meets the outside of the through
tube. Seen along the through tube that is a ray entering a rounded rectangle, so round and
rectangular tube, any angle, offset and rotation are one computation. For round on round it is the
saddle formula L(φ) = [√(R² − (r sin φ + e)²) + r cos φ cos β]/sin β.
"""

import itertools
import math
from dataclasses import dataclass

import numpy as np

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes, cross
from soapstone.parts.outline import End, Outline, trace
from soapstone.parts.profile import Array, Profile
from soapstone.parts.sections import RoundBar, RoundTube, Shape, TubeShape

SMALLEST_ANGLE = math.radians(15.0)  # common practice, no source: below it a cope runs out to a feather edge
_PARALLEL = 1e-6  # sine of the angle below which two axes count as parallel
_GRAZE = 1e-9  # m outside the through tube: a line that passes so near it touches, but for rounding
_TOUCH = 1e-6  # m: a contact shallower than a thousandth of a millimetre is none
ROWS = 181


@dataclass(frozen=True, eq=False)
class Body:
    """A straight bar or tube of unlimited length, set in space.

    Attributes
    ----------
    name : str
        Messages call it by this.
    shape : Shape
    axes : Axes
        x along it; a rectangular one's width lies along y, its height along z.
    """

    name: str
    shape: Shape
    axes: Axes


@dataclass(frozen=True, eq=False)
class Tube(Body):
    """A tube, set in space; x runs from its end A to its end B, y is its clocking line."""

    shape: TubeShape


def cope(
    tube: Tube, through: Body, end: End = End.B, *, points: int = ROWS, overhang_allowed: float = 0.0
) -> Outline:
    """Cut one end of `tube` to sit on `through`.

    Parameters
    ----------
    tube : Tube
        Reaches the joint along +x at end B, along −x at end A.
    through : Body
        Runs through the joint uncut.
    end : End
    points : int
        Rows per turn, the closing one included; kinks and turning points come on top.
    overhang_allowed : float
        m by which the tube may reach past the side of `through`; what reaches past is cut where it
        passes nearest. The outline records the overhang.

    Returns
    -------
    Outline

    Raises
    ------
    GeometryError
        If the two are parallel, meet at less than 15°, miss, touch only, or overhang by more than
        allowed; the message names both.
    """
    fit = CopeFit.of(tube, through, end, overhang_allowed)
    outline, wall = tube.shape.outline, tube.shape.wall
    return trace(outline, wall, fit.stations, fit.breaks(), end, points, fit.overhang)


@dataclass(frozen=True, eq=False)
class CopeFit:
    """How a tube's end meets a through tube, seen along the through tube.

    Attributes
    ----------
    tube : Profile
        Outline of the tube that is cut.
    through : Profile
        Outline of the through tube.
    sign : int
        Of the end.
    origin : (2,) m
        The tube's origin, in the through tube's y and z.
    spread : (2, 2)
        Columns: the tube's y and z axes, in the same.
    direction : (2,)
        Towards the joint, in the same; as long as the sine of the angle between the axes.
    angle : float
        Between the axes, rad, 15° to 90°.
    heel : float
        Where on the tube the acute side lies: angle about its axis from +y towards +z, rad; at a right
        angle, where the through tube's +x lies.
    overhang : float
        m.
    axes, through_axes : Axes
        Of the two.
    wall : float
        Of the tube, m.
    """

    tube: Profile
    through: Profile
    sign: int
    origin: Array
    spread: Array
    direction: Array
    angle: float
    heel: float
    overhang: float
    axes: Axes
    through_axes: Axes
    wall: float

    @classmethod
    def of(
        cls,
        tube: Tube,
        through: Body,
        end: End,
        overhang_allowed: float,
        gap: float = 0.0,
        smallest: float = SMALLEST_ANGLE,
    ) -> "CopeFit":
        """Set up the fit and refuse what cannot be cut; see `cope`.

        A `gap`, m, is left all round between the cut and the through tube; `smallest`, rad, is the least
        angle between the two.
        """
        mine, other = tube.axes, through.axes
        normal = cross(mine.x, other.x)
        sine = math.sqrt(float(normal @ normal))
        across = np.array([other.y, other.z])
        origin = across @ (mine.origin - other.origin)
        spread = across @ np.array((mine.y, mine.z)).T
        if sine < _PARALLEL:
            raise _parallel(tube, through, origin, spread)
        cosine = float(mine.x @ other.x)
        angle = math.atan2(sine, abs(cosine))
        if angle < smallest:
            raise _acute(tube, through, angle)
        overhang = _overhang(tube, through, normal / sine, overhang_allowed)
        acute = -other.x if cosine * end.sign > _PARALLEL else other.x
        heel = math.atan2(float(acute @ mine.z), float(acute @ mine.y))
        direction = end.sign * (across @ mine.x)
        grown, sign, wall = through.shape.outline.grown(gap), end.sign, tube.shape.wall
        setting = (sign, origin, spread, direction, angle, heel, overhang)
        return cls(tube.shape.outline, grown, *setting, axes=mine, through_axes=other, wall=wall)

    def stations(self, generators: Array) -> Array:
        """X in m, (n,), at which lines along the tube at (n, 2) y and z in m meet the through tube."""
        entry = self.through.entry(generators @ self.spread.T + self.origin, self.direction)
        return self.sign * entry

    def hits(self, generators: Array) -> tuple[Array, Array]:
        """Like `stations`, infinitely far out where a line misses; and where along the through tube, m."""
        starts = generators @ self.spread.T + self.origin
        entry = self.through.entry(starts, self.direction)
        met = self.through.distance(starts + entry[:, None] * self.direction) < _GRAZE
        stations = self.sign * np.where(met, entry, np.inf)
        lines = np.column_stack((self.sign * entry, generators)) @ self.axes.rotation
        along = (lines + self.axes.origin - self.through_axes.origin) @ self.through_axes.x
        return stations, along

    def breaks(self) -> Array:
        """Abscissae, m, where the cut may kink: corners of either tube, and the sides of the tube.

        The lines along the tube that graze the through tube's silhouette count: for two round tubes
        of one size the cope has its pinch there.
        """
        y, z = self.direction
        across = np.array([-z, y])
        ridge_y, ridge_z = across @ self.spread
        side = math.atan2(ridge_z, ridge_y)
        found = [np.array([self.tube.abscissa_at(side), self.tube.abscissa_at(side + math.pi)])]
        if not self.tube.is_round:
            found.append(self.tube.knots())
        if not self.through.is_round:
            levels = (_bends(self.through) - self.origin) @ across
            found.append(self.tube.crossings(ridge_y, ridge_z, levels))
            found.append(self._bore_breaks(across))
        return np.concatenate(found)

    def _bore_breaks(self, across: Array) -> Array:
        """Abscissae whose line at the bore, straight behind, meets where a corner of `through` begins."""
        bore = self.tube.inset(self.wall)
        y, z = across @ self.spread
        knots = self.through.generators(self.through.knots()[1:-1], 0.0)
        there = bore.crossings(float(y), float(z), (knots - self.origin) @ across)
        found: Array = self.tube.abscissae_of(bore.generators(there, 0.0), self.wall)
        return found


def _bends(profile: Profile) -> Array:
    """Points along the corners, ends included, every 9°, so that a short bend is followed closely."""
    knots = profile.knots()
    arcs = [np.linspace(knots[i], knots[i + 1], 11) for i in (1, 3, 5, 7)]
    return profile.generators(np.concatenate(arcs), 0.0)


def _overhang(tube: Tube, through: Body, normal: Array, allowed: float) -> float:
    """How far the tube reaches past the through tube along their common normal, m."""
    apart = abs(float(normal @ (tube.axes.origin - through.axes.origin)))
    mine, other = (_reach(body, normal) for body in (tube, through))
    gap = apart - mine - other
    if gap > _TOUCH:
        raise _no_cut(tube, through, f"passes {through.name} at a distance of {_mm(gap)} and misses it")
    if gap > -_TOUCH:
        raise _no_cut(tube, through, f"touches only {through.name}: there is nothing to cut")
    overhang = apart + mine - other
    if overhang <= _TOUCH:
        return 0.0
    if overhang > allowed + _TOUCH:
        raise _too_wide(tube, through, overhang, apart, wider=mine > other + _TOUCH)
    return overhang


def _acute(tube: Tube, through: Body, angle: float) -> GeometryError:
    return GeometryError(
        f"meets {through.name} at {math.degrees(angle):.1f}°, under 15°: the cope would run out "
        "to a feather edge",
        where=tube.name,
        remedy=f"let {tube.name} and {through.name} meet less acutely, or join them with a plate",
    )


def _too_wide(tube: Tube, through: Body, overhang: float, apart: float, *, wider: bool) -> GeometryError:
    sizes = f"{tube.name} ({_size(tube.shape)}) ", f"{through.name} ({_size(through.shape)})"
    if wider:
        what = f"{sizes[0]}is wider than {sizes[1]} and reaches {_mm(overhang)} past its side"
        remedy = f"cut {through.name} to sit on {tube.name} instead, or take a narrower {tube.name}"
    else:
        what = f"{sizes[0]}is offset by {_mm(apart)} and reaches {_mm(overhang)} past the side of {sizes[1]}"
        remedy = "move it nearer the middle"
    return GeometryError(what, where=tube.name, remedy=remedy)


def _parallel(tube: Tube, through: Body, origin: Array, spread: Array) -> GeometryError:
    gap = _parallel_gap(tube.shape.outline, through.shape.outline, origin, spread)
    if gap > _TOUCH:
        return _no_cut(tube, through, f"runs parallel to {through.name}, {_mm(gap)} away, and never meets it")
    if gap > -_TOUCH:
        return _no_cut(
            tube, through, f"runs parallel to {through.name} and touches only: there is nothing to cut"
        )
    return _no_cut(tube, through, f"runs parallel to {through.name} and inside it: no cope comes of that")


def _parallel_gap(mine: Profile, other: Profile, origin: Array, spread: Array) -> float:
    """Smallest distance between two parallel outlines, m, negative where they overlap."""
    if mine.is_round:
        return float(other.distance(origin[None, :])[0]) - mine.radius
    if other.is_round:
        return float(mine.distance((-origin @ spread)[None, :])[0]) - other.radius
    # Two rectangles: the corner of one against the other, and the other way round; rows on the corner
    # arcs are so close that what they miss is far below _TOUCH at any radius a tube has.
    there = _close_rows(mine) @ spread.T + origin
    back = (_close_rows(other) - origin) @ spread
    return float(min(other.distance(there).min(), mine.distance(back).min()))


def _close_rows(profile: Profile) -> Array:
    rows = [np.linspace(a, b, 61) for a, b in itertools.pairwise(profile.knots())]
    return profile.generators(np.concatenate(rows), 0.0)


def _reach(body: Body, direction: Array) -> float:
    return body.shape.outline.support(float(direction @ body.axes.y), float(direction @ body.axes.z))


def _no_cut(tube: Tube, through: Body, what: str) -> GeometryError:
    return GeometryError(what, where=tube.name, remedy=f"check the points of {tube.name} and {through.name}")


def _size(shape: Shape) -> str:
    if isinstance(shape, RoundTube | RoundBar):
        return _mm(2 * shape.outline.radius)
    return f"{2000 * shape.outline.half_y:.4g} × {_mm(2 * shape.outline.half_z)}"


def _mm(length: float) -> str:
    return f"{length * 1000:.4g} mm"
