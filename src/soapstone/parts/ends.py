"""A finished tube: both ends cut, in one common frame, with what the saw and the scribe line need."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import ROWS, Tube
from soapstone.parts.cuts import Cut, Cutting, EndKind
from soapstone.parts.outline import End, Outline, distinct, outline_at, trace
from soapstone.parts.profile import Array
from soapstone.parts.quadrature import between
from soapstone.parts.sections import TubeShape
from soapstone.parts.tools import Tool

if TYPE_CHECKING:
    from soapstone.parts.openings import Opening

FACE_ROWS = 5
_ALIKE = 1e-7  # m: two stations nearer than this are one when an end is tried for half-turn symmetry
_ONE_PLANE = math.radians(0.05)  # half the last digit of a level that reads to 0.1°


@dataclass(frozen=True, eq=False)
class TubeEnd:
    """One end of a tube.

    Attributes
    ----------
    kind : EndKind
    onto : str
        Name of the tube it meets; empty for a square end.
    angle : float
        rad: of a mitre the saw's, from square; of a cope the one between the axes; 0 for a square end.
    heel : float or None
        Angle about the tube's axis, from its clocking line (+y) towards +z, rad, of the end's reference: its
        line on the acute side, in the plane of the two axes. At a right angle either side serves and the
        one where the through tube's +x lies is taken. None where the end looks the same all round.
    half_turn : bool
        Whether the end looks the same after half a turn, so that its heel may as well be opposite.
    outline : Outline
        Stations count from the theoretical end A, on the rows common to both ends.
    face : (FACE_ROWS, n) m
        The end's face: stations on those rows at even depths of the wall, from the outer line to the inner.
    also : tuple of str
        Names of the tubes that it is trimmed to beside.
    tools : tuple of Tool
        The same cut as exact bodies.
    """

    kind: EndKind
    onto: str
    angle: float
    heel: float | None
    half_turn: bool
    outline: Outline
    face: Array
    also: tuple[str, ...] = ()
    tools: tuple[Tool, ...] = ()

    @property
    def clear(self) -> Array:
        """(n,) m: stations of a cut square to the wall that leaves nothing in the way, at any depth of it."""
        found: Array = self.face.min(axis=0) if self.outline.end is End.B else self.face.max(axis=0)
        return found

    @property
    def bevel(self) -> Array:
        """(n,) m along the tube by which the bore is to be bevelled back behind the outer line, or 0."""
        behind = (self.outline.outer - self.clear) * self.outline.end.sign
        found: Array = np.maximum(behind, 0.0)
        return found


@dataclass(frozen=True, eq=False)
class TubePart:
    """A tube with both ends cut.

    Attributes
    ----------
    name : str
    shape : TubeShape
    axes : Axes
        Origin at the theoretical end A, x towards the theoretical end B, y the clocking line.
    length : float
        Between the theoretical ends, m.
    end_a, end_b : TubeEnd
        Both outlines have the same abscissae.
    saw_length : float
        Long point to long point along the axis, m: the shortest piece that contains both ends.
    short_length : float
        Short point to short point along the axis, m.
    centre_length : float
        Between the cuts on the centre line, m.
    longest_line, shortest_line : float
        Longest and shortest line along the outside, m.
    clocking : float or None
        rad: from the heel of end A to the heel of end B, clockwise seen from end A looking towards end B
        (right-handed about x), in (−π, π]; in (−π/2, π/2] where either end looks the same after half a
        turn. None where either end has no heel.
    in_one_plane : bool
        Whether both ends lie in one plane: clocking 0 or half a turn, to 0.05°, or an end without heel.
    volume : float
        m³.
    centroid : (3,) m
        In the world.
    openings : tuple of `soapstone.parts.openings.Opening`
        Holes that other tubes pass through, and slots; volume and centroid are without them.
    """

    name: str
    shape: TubeShape
    axes: Axes
    length: float
    end_a: TubeEnd
    end_b: TubeEnd
    saw_length: float
    short_length: float
    centre_length: float
    longest_line: float
    shortest_line: float
    clocking: float | None
    in_one_plane: bool
    volume: float
    centroid: Array
    openings: "tuple[Opening, ...]" = ()

    def mass(self, density: float) -> float:
        """Mass in kg at `density` kg/m³."""
        return self.volume * density


def cut_tube(
    name: str,
    shape: TubeShape,
    start: ArrayLike,
    finish: ArrayLike,
    clocking: ArrayLike,
    at_a: Cut,
    at_b: Cut,
    *,
    points: int = ROWS,
) -> TubePart:
    """Cut a tube to its two ends.

    Parameters
    ----------
    name : str
    shape : TubeShape
    start, finish : (3,) m
        Theoretical ends A and B: where the axes meet.
    clocking : (3,)
        Direction of the clocking line; a rectangular tube's width lies along it.
    at_a, at_b : Cut
        From `soapstone.parts.cuts`.
    points : int
        Rows per turn; kinks and turning points of both ends come on top.

    Raises
    ------
    GeometryError
        If an end cannot be cut, or the two cuts run into each other.
    """
    axes = Axes.between(start, finish, clocking)
    tube = Tube(name, shape, axes)
    length = float(np.linalg.norm(np.asarray(finish, dtype=float) - np.asarray(start, dtype=float)))
    cutting_a, cutting_b = at_a(tube, length, End.A), at_b(tube, length, End.B)
    abscissa = _common_rows(shape, cutting_a, cutting_b, points)
    end_a, end_b = _end(shape, cutting_a, End.A, abscissa), _end(shape, cutting_b, End.B, abscissa)
    lines = end_b.outline.outer - end_a.outline.outer
    if (end_b.face - end_a.face).min() <= 0.0:
        meets = " and ".join(end.onto or "the square cut" for end in (end_a, end_b))
        raise GeometryError(
            f"is too short: its two cuts, at {meets}, run into each other",
            where=name,
            remedy="move its ends apart",
        )
    axis = np.zeros((1, 2))
    volume, centroid = between(shape.outline, shape.bore, cutting_a.stations, cutting_b.stations)
    turn = _clocking(end_a, end_b)
    return TubePart(
        name=name,
        shape=shape,
        axes=axes,
        length=length,
        end_a=end_a,
        end_b=end_b,
        saw_length=end_b.outline.long_point.station - end_a.outline.long_point.station,
        short_length=end_b.outline.short_point.station - end_a.outline.short_point.station,
        centre_length=float((cutting_b.stations(axis) - cutting_a.stations(axis))[0]),
        longest_line=float(lines.max()),
        shortest_line=float(lines.min()),
        clocking=turn,
        in_one_plane=turn is None or abs(math.sin(turn)) < math.sin(_ONE_PLANE),
        volume=volume,
        centroid=axes.to_world(centroid),
    )


def _common_rows(shape: TubeShape, a: Cutting, b: Cutting, points: int) -> Array:
    """Rows at which both ends are sampled: the even ones and every kink and turning point of either."""
    profile = shape.outline
    own = [
        trace(profile, shape.wall, cutting.stations, cutting.breaks, end, points).abscissa
        for cutting, end in ((a, End.A), (b, End.B))
    ]
    return distinct(np.concatenate((*own, profile.knots())), profile.perimeter)


def _end(shape: TubeShape, cutting: Cutting, end: End, abscissa: Array) -> TubeEnd:
    outline = outline_at(shape.outline, shape.wall, cutting.stations, abscissa, end, cutting.overhang)
    lines = shape.outline.generators(abscissa, 0.0)
    half_turn = cutting.heel is not None and bool(
        np.abs(cutting.stations(-lines) - outline.outer).max() < _ALIKE
    )
    depths = np.linspace(0.0, shape.wall, FACE_ROWS)[1:-1]
    between = np.concatenate([shape.outline.generators(abscissa, depth) for depth in depths])
    inside = cutting.stations(between).reshape(FACE_ROWS - 2, -1)
    face = np.vstack((outline.outer, inside, outline.inner))
    return TubeEnd(
        cutting.kind,
        cutting.onto,
        cutting.angle,
        cutting.heel,
        half_turn,
        outline,
        face,
        cutting.also,
        cutting.tools,
    )


def _clocking(a: TubeEnd, b: TubeEnd) -> float | None:
    if a.heel is None or b.heel is None:
        return None
    turn = math.pi if a.half_turn or b.half_turn else 2 * math.pi
    difference = (b.heel - a.heel) % turn
    # a hair short of a whole turn is rounding, and so is a hair past half of one
    return difference - turn if difference > turn / 2 + 1e-9 else difference
