"""Bars cut to length: square, or flat against the face they are welded to."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.layout import Layout, SeatKind, SolidBar
from soapstone.parts.reach import face_distance, face_towards
from soapstone.parts.sections import RoundTube
from soapstone.parts.solids import Solid, plate_solid

Array = NDArray[np.float64]

_STEEPEST = math.cos(math.radians(75.0))  # common practice, no source: as for a mitre


@dataclass(frozen=True, eq=False)
class BarEnd:
    """One end: what it is welded to (empty when nothing), and its angle from square, rad."""

    onto: str
    angle: float


@dataclass(frozen=True, eq=False)
class BarPart:
    """A bar cut to length.

    Attributes
    ----------
    name : str
    ends : of start and end
    saw_length, short_length : float
        m, long point to long point and short point to short point.
    solid : Solid
    """

    name: str
    ends: tuple[BarEnd, BarEnd]
    saw_length: float
    short_length: float
    solid: Solid

    def mass(self, density: float) -> float:
        """Mass in kg at `density` kg/m³."""
        return self.solid.volume * density


def cut_bar(layout: Layout, bar: SolidBar, gap: float = 0.0) -> BarPart:
    """Cut a bar to what its ends sit on, a `gap`, m, short of it.

    Raises
    ------
    GeometryError
        Where an end sits on a round tube and no square cut was asked for, at too flat an angle, or where the
        two cuts run into each other.
    """
    section = bar.section.section
    corners = bar.section.outline - section.centroid
    ways = np.stack([bar.width_way, np.cross(bar.axis, bar.width_way)])
    rays = corners @ ways
    (at_start, start), (at_end, end) = (_cut(layout, bar, end, rays, gap) for end in (0, 1))
    if (at_end - at_start).min() <= 0.0:
        raise GeometryError(
            "is too short: its two cuts run into each other", where=bar.name, remedy="move its ends apart"
        )
    axes = Axes.between(bar.start, bar.end, bar.width_way)
    flat = plate_solid(corners, [], 1.0, Axes.along(np.zeros(3), np.eye(3)[0], np.eye(3)[1]))
    # the mesh of a bar a metre long: every corner of it belongs to one of the outline, at one of the two ends
    which = np.argmin(np.linalg.norm(flat.vertices[:, None, 1:] - corners[None], axis=2), axis=1)
    along = np.where(flat.vertices[:, 0] < 0.5, at_start[which], at_end[which])
    solid = Solid(axes.to_world(np.column_stack([along, flat.vertices[:, 1:]])), flat.triangles)
    saw, short = at_end.max() - at_start.min(), at_end.min() - at_start.max()
    return BarPart(bar.name, (start, end), float(saw), float(short), solid)


def _cut(layout: Layout, bar: SolidBar, end: int, rays: Array, gap: float) -> tuple[Array, BarEnd]:
    """Station m of every corner's line at an end."""
    seat, inward = bar.seats[end], -bar.axis if end else bar.axis
    if seat.kind is not SeatKind.WELD:
        return np.full(len(rays), bar.length if end else 0.0), BarEnd("", 0.0)
    if layout.tubes[seat.on].in_bend(seat.station):
        raise GeometryError(
            f"lands in a bend of {seat.on}", where=bar.name, remedy="move its end onto a straight of it"
        )
    host = layout.tubes[seat.on].leg(seat.station)
    reach = face_distance(host, inward) + gap
    if bar.cuts[end] == "square":
        return np.full(len(rays), bar.length - reach if end else reach), BarEnd(host.name, 0.0)
    if isinstance(host.section, RoundTube):
        key = "end cut" if end else "start cut"
        raise GeometryError(
            f"is {bar.section.words} and cannot be coped to {host.name}, which is round",
            where=bar.name,
            remedy=f"give it {key}: square, land it on a flat face, or make it a tube",
        )
    normal, distance, _ = face_towards(host, inward)
    lean = abs(float(normal @ bar.axis))
    if lean < _STEEPEST:
        raise GeometryError(
            f"lies under 15° to the face of {host.name}", where=bar.name, remedy="move one of its ends"
        )
    face = layout.tubes[seat.on].at(seat.station) + (distance + gap) * normal
    stations: Array = (face - bar.start - rays) @ normal / (bar.axis @ normal)
    return stations, BarEnd(host.name, math.acos(min(1.0, lean)))
