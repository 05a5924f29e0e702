"""A bent tube with both ends cut: its two end legs as cut tubes, its volume, its mesh."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.bent_tube import BendTable, bend_table
from soapstone.parts.centreline import Centreline
from soapstone.parts.cuts import Cut, square
from soapstone.parts.ends import FACE_ROWS, TubeEnd, TubePart, cut_tube
from soapstone.parts.layout import Tube
from soapstone.parts.sections import RoundTube
from soapstone.parts.solids import Solid

Array = NDArray[np.float64]

_SHORTEST_LEG = 1e-3
"""m of straight that an end needs to be cut to anything but square."""


@dataclass(frozen=True, eq=False)
class BentPart:
    """A bent tube, finished.

    Attributes
    ----------
    name : str
    shape : RoundTube
    path : Centreline
    springback : float
        Share of the angle under load that comes back.
    leg_a, leg_b : TubePart or None
        The straights at its start and end, each cut square where its bend begins, end A of the first and
        end B of the second as the finished tube's. None where the tube ends in a bend, cut square.
    volume : float
        m³: the section swept along the axis (Pappus), with its cut ends.
    """

    name: str
    shape: RoundTube
    path: Centreline
    springback: float
    leg_a: TubePart | None
    leg_b: TubePart | None
    volume: float

    def mass(self, density: float) -> float:
        """Mass in kg at `density` kg/m³."""
        return self.volume * density

    @property
    def ends(self) -> tuple[TubeEnd | None, TubeEnd | None]:
        """Ends A and B as cut; None where the tube ends in a bend, square."""
        return (
            None if self.leg_a is None else self.leg_a.end_a,
            None if self.leg_b is None else self.leg_b.end_b,
        )

    @property
    def long_a(self) -> float:
        """Station m of the farthest tip of end A."""
        return 0.0 if self.leg_a is None else self.leg_a.end_a.outline.long_point.station

    @property
    def long_b(self) -> float:
        """Station m of the farthest tip of end B."""
        if self.leg_b is None:
            return self.path.length
        return self.path.length - self.leg_b.length + self.leg_b.end_b.outline.long_point.station

    @property
    def finished_length(self) -> float:
        """m along the axis, long point to long point."""
        return self.long_b - self.long_a

    def table(self, *, from_b: bool = False) -> BendTable:
        """Straights, turns and bends; the first and last straight run to the long points of the ends."""
        whole = self._trimmed()
        return bend_table(whole.reverse if from_b else whole, self.springback)

    def _trimmed(self) -> Centreline:
        """The axis from long point to long point."""
        return self.path.extended(-self.long_a, self.long_b - self.path.length)


def bent_part(tube: Tube, at_a: Cut, at_b: Cut) -> BentPart:
    """Cut both ends of a bent tube.

    Raises
    ------
    GeometryError
        A cut reaches into a bend. An end that lies in one is left square.
    """
    assert tube.path is not None and isinstance(tube.section, RoundTube)
    legs: list[TubePart | None] = []
    for end, cut in ((0, at_a), (1, at_b)):
        leg = tube.end_leg(end)
        if tube.in_bend(tube.length if end else 0.0) or leg.length < _SHORTEST_LEG:
            legs.append(None)
            continue
        cuts = (square(0.0), cut) if end else (cut, square(0.0))
        legs.append(cut_tube(tube.name, tube.section, leg.start, leg.end, leg.width_way, *cuts))
    area = tube.section.section.area
    straight = [0.0 if leg is None else leg.length for leg in legs]
    ends = [0.0 if leg is None else leg.volume for leg in legs]
    volume = sum(ends) + area * (tube.length - sum(straight))
    return BentPart(tube.name, tube.section, tube.path, tube.springback, legs[0], legs[1], volume)


def bent_solid(part: BentPart, chord_error: float = 1e-4) -> Solid:
    """Mesh of a bent tube: rings square to the axis, the end faces those of its cut legs.

    Parameters
    ----------
    part : BentPart
    chord_error : float
        m by which the rings' chords may miss the axis in a bend.
    """
    rows = _rows(part)
    depths = np.linspace(0.0, part.shape.wall, FACE_ROWS)
    outline = part.shape.outline
    profiles = [outline.generators(rows, depth) for depth in depths]
    first = 0.0 if part.leg_a is None else part.leg_a.length
    last = part.path.length - (0.0 if part.leg_b is None else part.leg_b.length)
    stations = part.path.chords(chord_error)
    stations = stations[(stations > first - 1e-9) & (stations < last + 1e-9)]
    frame = _Frames(part)
    a, b = _face(part, rows, 0), _face(part, rows, 1)
    outside = [frame.ring(np.full(len(rows), at), profiles[0]) for at in stations]
    inside = [frame.ring(np.full(len(rows), at), profiles[-1]) for at in stations[::-1]]
    near_b = [frame.ring(b[depth], profiles[depth]) for depth in range(FACE_ROWS)]
    near_a = [frame.ring(a[depth], profiles[depth]) for depth in reversed(range(FACE_ROWS))]
    if part.leg_b is None:
        outside, inside = outside[:-1], inside[1:]
    if part.leg_a is None:
        outside, inside = outside[1:], inside[:-1]
    rings = [*outside, *near_b, *inside, *near_a]
    return _skin(rings, len(rows))


def outside_rings(part: BentPart, chord_error: float = 1e-4, around: int = 32) -> Array:
    """Rings of points round the outside from end A to end B, (k, around, 3) m, square at the ends."""
    rows = np.linspace(0.0, part.shape.outline.perimeter, around + 1)[:-1]
    lines = part.shape.outline.generators(rows, 0.0)
    frame = _Frames(part)
    stations = part.path.chords(chord_error)
    return np.array([frame.ring(np.full(around, at), lines) for at in stations])


def _skin(rings: list[Array], count: int) -> Solid:
    """Triangles from ring to ring and from the last to the first."""
    here = np.arange(count)
    there = (here + 1) % count
    triangles = []
    for ring in range(len(rings)):
        before, after = (ring - 1) % len(rings) * count, ring * count
        triangles.append(np.column_stack((before + here, before + there, after + there)))
        triangles.append(np.column_stack((before + here, after + there, after + here)))
    return Solid(np.vstack(rings), np.vstack(triangles))


def _rows(part: BentPart) -> Array:
    """Abscissae m of the mesh's lines: those of both ends together."""
    legs = [leg for leg in (part.leg_a, part.leg_b) if leg is not None]
    if not legs:
        return np.linspace(0.0, part.shape.outline.perimeter, 97)[:-1]
    rows = np.unique(np.concatenate([leg.end_a.outline.abscissa for leg in legs]))
    keep = np.append(True, np.diff(rows) > 1e-9)
    distinct: Array = rows[keep][:-1]
    return distinct


def _face(part: BentPart, rows: Array, end: int) -> Array:
    """(FACE_ROWS, n) m: stations of an end's face on those rows."""
    leg = part.leg_b if end else part.leg_a
    if leg is None:
        return np.full((FACE_ROWS, len(rows)), part.path.length if end else 0.0)
    cut: TubeEnd = leg.end_b if end else leg.end_a
    begin = part.path.length - leg.length if end else 0.0
    own = leg.end_a.outline.abscissa
    return begin + np.array([np.interp(rows, own, line) for line in cut.face])


class _Frames:
    """The section's own axes along the tube, carried on without twist from the start's clocking line."""

    def __init__(self, part: BentPart) -> None:
        self.path = part.path
        self.y: Array
        along = part.path.tangent(0.0)
        if part.leg_a is not None:
            self.y = part.leg_a.axes.y
        else:
            across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
            self.y = across / np.linalg.norm(across)

    def ring(self, stations: Array, profile: Array) -> Array:
        """Points (n, 3) m of lines at `profile` (n, 2) m, each at its own station."""
        level = float(stations.min())
        x = self.path.tangent(level)
        y = self.path.carried(self.y, level)
        z = np.cross(x, y)
        on_axis = self.path.point(level) + (stations - level)[:, None] * x
        return np.asarray(on_axis + profile[:, :1] * y + profile[:, 1:] * z, dtype=np.float64)
