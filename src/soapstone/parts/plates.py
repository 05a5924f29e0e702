"""Plates: tabs, hangers and their like, as exact outlines of lines and arcs with round holes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from soapstone.errors import GeometryError
from soapstone.parts import contour as outlines
from soapstone.parts.axes import Axes
from soapstone.parts.contour import Arc, Contour, Line, Piece, Point
from soapstone.parts.profile import Array
from soapstone.parts.solids import Solid, plate_solid

CUT_LAYER = "cut"
_CLOSED = 1e-9  # m: rounding of coordinates; a millionth of a millimetre
_TRIAL_CHORD = 1e-5  # m: a hundredth of a millimetre is close enough to see whether outlines cross


@dataclass(frozen=True)
class Hole:
    """A round hole: centre (x, y) m and diameter m."""

    centre: Point
    diameter: float

    @property
    def contour(self) -> Contour:
        """Its circle, counter-clockwise."""
        return (Arc(self.centre, self.diameter / 2, 0.0, 2 * math.pi),)


@dataclass(frozen=True)
class BendLine:
    """A fold of a flat plate: from `start` to `end` (x, y) m, by `angle` rad, up where positive.

    `radius` m is the inside radius; `number` its place in the order of folding, from 1.
    """

    start: Point
    end: Point
    angle: float
    radius: float
    number: int


@dataclass(frozen=True)
class EdgeDistance:
    """How near a hole is to the plate's edge.

    Attributes
    ----------
    to_centre : float
        From the edge to the hole's centre, m: the e of EN 1993-1-8 and the edge distance of AISC 360.
    clear : float
        From the edge to the hole's rim, m: the clear distance l_c of AISC 360.
    """

    to_centre: float
    clear: float


@dataclass(frozen=True)
class PlateOutline:
    """A flat plate as it is cut.

    Attributes
    ----------
    name : str
    contour : tuple of Line and Arc
        Counter-clockwise, each piece starting where the last one ends.
    holes : tuple of Hole
    thickness : float
        m.
    layer : str
        Name of the layer that contour and holes are cut on.
    cutouts : tuple of Contour
        Inner contours that are no round holes; either way round.
    bend_lines : tuple of BendLine
        Where the flat plate is folded.
    mark : str
        Etched on it, at `mark_at`; empty for none.
    mark_at : (x, y) m
        Lower left of the etched mark.

    Raises
    ------
    GeometryError
        If a size is not positive, the contour is open, runs clockwise or crosses itself, or a hole does
        not lie clear inside it and of the other holes.
    """

    name: str
    contour: Contour
    holes: tuple[Hole, ...]
    thickness: float
    layer: str = CUT_LAYER
    cutouts: tuple[Contour, ...] = ()
    bend_lines: tuple[BendLine, ...] = ()
    mark: str = ""
    mark_at: Point = (0.0, 0.0)

    def __post_init__(self) -> None:
        _positive(self.name, thickness=self.thickness)
        if outlines.widest_gap(self.contour) > _CLOSED:
            raise GeometryError("its outline is not closed", where=self.name)
        trial = shapely.Polygon(outlines.polygon(self.contour, _TRIAL_CHORD))
        if not trial.is_valid:
            raise GeometryError("its outline crosses itself", where=self.name)
        if outlines.moments(self.contour)[0] <= 0.0:
            raise GeometryError("its outline runs clockwise", where=self.name)
        for i, hole in enumerate(self.holes):
            self._check_hole(hole, self.holes[:i], trial)
        self._check_cutouts(trial)

    def _check_cutouts(self, trial: shapely.Polygon) -> None:
        shapes = [shapely.Polygon(outlines.polygon(hole.contour, _TRIAL_CHORD)) for hole in self.holes]
        for cutout in self.cutouts:
            place = _point(cutout[0].start)
            shape = shapely.Polygon(outlines.polygon(cutout, _TRIAL_CHORD))
            if outlines.widest_gap(cutout) > _CLOSED or not shape.is_valid:
                raise GeometryError(f"its cut-out at {place} is open or crosses itself", where=self.name)
            if not trial.contains_properly(shape):
                raise GeometryError(f"its cut-out at {place} does not fit inside the plate", where=self.name)
            if any(shape.intersects(other) for other in shapes):
                raise GeometryError(f"its cut-out at {place} runs into another", where=self.name)
            shapes.append(shape)

    def _check_hole(self, hole: Hole, earlier: tuple[Hole, ...], trial: shapely.Polygon) -> None:
        _positive(self.name, hole_diameter=hole.diameter)
        to_edge = outlines.distance(self.contour, hole.centre)
        if not trial.covers(shapely.Point(hole.centre)) or to_edge <= hole.diameter / 2.0:
            raise GeometryError(
                f"a hole of {_mm(hole.diameter)} at {_at(hole)} does not fit inside the plate",
                where=self.name,
            )
        for other in earlier:
            if math.dist(hole.centre, other.centre) <= (hole.diameter + other.diameter) / 2:
                raise GeometryError(
                    f"its holes at {_at(other)} and {_at(hole)} run together", where=self.name
                )

    @property
    def area(self) -> float:
        """Area less the holes, m²; exact."""
        return outlines.moments(self.contour)[0] - sum(area for area, _ in self._inner)

    @property
    def _inner(self) -> list[tuple[float, Point]]:
        """Area m² and centre m of every hole and cut-out."""
        found = [(math.pi / 4 * hole.diameter**2, hole.centre) for hole in self.holes]
        for cutout in self.cutouts:
            area, centre = outlines.moments(cutout)
            found.append((abs(area), centre))
        return found

    @property
    def centroid(self) -> Point:
        """Centre of the area less the holes, m; exact."""
        gross, middle = outlines.moments(self.contour)
        holes = self._inner
        x, y = (
            (gross * middle[i] - sum(area * centre[i] for area, centre in holes)) / self.area for i in (0, 1)
        )
        return x, y

    @property
    def perimeter(self) -> float:
        """Length of the outside edge, m."""
        return outlines.length(self.contour)

    @property
    def cut_length(self) -> float:
        """Length of all edges, holes included, m."""
        inner = sum(math.pi * h.diameter for h in self.holes)
        return self.perimeter + inner + sum(outlines.length(cutout) for cutout in self.cutouts)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y, m; arcs honoured."""
        return outlines.bounds(self.contour)

    def mass(self, density: float) -> float:
        """Mass in kg at `density` kg/m³."""
        return self.area * self.thickness * density

    def edge_distance(self, hole: Hole) -> EdgeDistance:
        """Nearest edge of the plate to a hole, in both definitions."""
        edges = (self.contour, *self.cutouts)
        to_centre = min(outlines.distance(edge, hole.centre) for edge in edges)
        return EdgeDistance(to_centre, to_centre - hole.diameter / 2)

    def solid(self, axes: Axes, chord_error: float) -> Solid:
        """Mesh of the plate: its x and y along the y and z of `axes`, its thickness along +x.

        Parameters
        ----------
        axes : Axes
        chord_error : float
            m by which the mesh's chords may miss arcs and holes.
        """
        inner = [*(hole.contour for hole in self.holes), *self.cutouts]
        holes: list[Array] = [outlines.polygon(contour, chord_error) for contour in inner]
        return plate_solid(outlines.polygon(self.contour, chord_error), holes, self.thickness, axes)


def tab(
    name: str,
    *,
    base_length: float,
    reach: float,
    end_radius: float,
    hole_diameter: float,
    thickness: float,
    shift: float = 0.0,
) -> PlateOutline:
    """A tab: a straight base to weld on, a rounded end about its hole, and sides tangent to that end.

    Parameters
    ----------
    base_length : float
        Along the weld, m; twice the end radius gives parallel sides.
    reach : float
        From the base to the centre of the hole, m.
    end_radius : float
        Of the rounded end, about the hole's centre, m.
    hole_diameter, thickness : float
        m.
    shift : float
        m by which the hole stands to the right of the base's middle.

    Returns
    -------
    PlateOutline
        The base from (−base_length/2, 0) to (+base_length/2, 0), the hole at (shift, reach).
    """
    _positive(name, base_length=base_length, reach=reach, end_radius=end_radius, hole_diameter=hole_diameter)
    if hole_diameter >= 2 * end_radius:
        raise GeometryError(
            f"its hole of {_mm(hole_diameter)} is larger than its end, {_mm(2 * end_radius)} across",
            where=name,
        )
    half, centre = base_length / 2, (shift, reach)
    right, left = half - shift, -half - shift
    away_right, away_left = math.hypot(right, reach), math.hypot(left, reach)
    if not (reach >= end_radius and min(away_right, away_left) > end_radius):
        raise GeometryError(
            f"its end radius of {_mm(end_radius)} reaches below its base, {_mm(reach)} from the hole",
            where=name,
        )
    # From the hole's centre a base corner is seen at atan2(−reach, …); the side touches the end where
    # the radius stands acos(radius/distance) away from that, upwards.
    touch = math.atan2(-reach, right) + math.acos(end_radius / away_right)
    leave = math.atan2(-reach, left) - math.acos(end_radius / away_left) + 2 * math.pi
    end = Arc(centre, end_radius, touch, leave)
    pieces: list[Piece] = [
        Line((-half, 0.0), (half, 0.0)),
        Line((half, 0.0), end.start),
        end,
        Line(end.end, (-half, 0.0)),
    ]
    contour = tuple(piece for piece in pieces if piece.length > _CLOSED)
    return PlateOutline(name, contour, (Hole(centre, hole_diameter),), thickness)


def hanger(
    name: str, *, width: float, length: float, corner_radius: float, holes: Sequence[Hole], thickness: float
) -> PlateOutline:
    """A hanger plate: a rectangle with rounded corners, holes where they are wanted.

    Parameters
    ----------
    width, length : float
        Along x and along y, m, about the origin.
    corner_radius : float
        m; zero for sharp corners, half the width for rounded ends.
    holes : sequence of Hole
    thickness : float
        m.
    """
    _positive(name, width=width, length=length)
    if not 0.0 <= corner_radius <= min(width, length) / 2:
        raise GeometryError(
            f"a corner radius of {_mm(corner_radius)} does not fit {_mm(width)} by {_mm(length)}", where=name
        )
    a, b = width / 2 - corner_radius, length / 2 - corner_radius
    centres = ((a, b), (-a, b), (-a, -b), (a, -b))
    arcs = [
        Arc(centre, corner_radius, quarter * math.pi / 2, (quarter + 1) * math.pi / 2)
        for quarter, centre in enumerate(centres)
    ]
    pieces: list[Piece] = [
        piece for i, arc in enumerate(arcs) for piece in (arc, Line(arc.end, arcs[(i + 1) % len(arcs)].start))
    ]
    contour = tuple(piece for piece in pieces if piece.length > _CLOSED)
    return PlateOutline(name, contour, tuple(holes), thickness)


def _positive(where: str, **sizes: float) -> None:
    for name, size in sizes.items():
        if not (math.isfinite(size) and size > 0.0):
            raise GeometryError(
                f"its {name.replace('_', ' ')} is {_mm(size)}, not more than zero", where=where
            )


def _at(hole: Hole) -> str:
    return _point(hole.centre)


def _point(point: Point) -> str:
    return f"({point[0] * 1000:.4g}, {_mm(point[1])})"


def _mm(size: float) -> str:
    return f"{size * 1000:.4g} mm"
