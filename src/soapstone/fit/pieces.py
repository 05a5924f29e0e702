"""Every part as convex pieces, and which parts are one body because they are welded together."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import trimesh
from numpy.typing import NDArray

from soapstone.fit.nearby import Piece
from soapstone.job.hardware import Shape
from soapstone.job.schema import Job
from soapstone.parts.axes import Axes
from soapstone.parts.centreline import Straight
from soapstone.parts.layout import ForkPart, HangerPart, Layout, SeatKind, Tube
from soapstone.parts.plates import PlateOutline
from soapstone.parts.sections import RoundTube
from soapstone.parts.tabs import Plate, hanger_foot, plates_of
from soapstone.place.placed import Placed

Array = NDArray[np.float64]

FRAME = "frame"
"""What the welded group of most members is called."""
_SIDES = 24
_CHORD = 2e-4
"""m; how far a plate's straightened edge may be off its arc. Facets of rounds stand outside them instead."""
_TURN = np.radians(10.0)
"""A bend is taken in pieces of no more than this, each wide enough to hold its part of the arc."""
_METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254}


@dataclass(frozen=True)
class Bodies:
    """What is moved as one, by name, and what stays with the vehicle.

    Attributes
    ----------
    moved : pieces by body: `frame` (the largest welded group), other groups by their first member, units
    vehicle : pieces of obstacles and of forks that stand on the vehicle, by their names
    groups : members by body
    """

    moved: Mapping[str, tuple[Piece, ...]]
    vehicle: Mapping[str, tuple[Piece, ...]]
    groups: Mapping[str, tuple[str, ...]]


def bodies_of(job: Job, layout: Layout, placed: Mapping[str, Placed]) -> Bodies:
    """Pieces of everything in the job; reads the scans it names."""
    plates = {user: plate for plate in plates_of(layout) for user in plate.used_by}
    groups = welded_groups(layout)
    body_of = {member: body for body, members in groups.items() for member in members}
    moved: dict[str, list[Piece]] = {body: [] for body in groups}
    vehicle: dict[str, list[Piece]] = {}
    for name, tube in layout.tubes.items():
        moved[body_of[name]] += _tube(tube)
    for fork in layout.forks.values():
        if fork.bung is not None and fork.holds is not None and fork.spec.holds is not None:
            half = fork.bung.length / 2.0 * fork.axis
            rod = _rod(fork.spec.holds, fork.pin - half, fork.pin + half, fork.bung.outside)
            moved[body_of[fork.holds[0]]].append(rod)
        home = moved[body_of[fork.host.on]] if fork.on_member else vehicle.setdefault(fork.name, [])
        home += _tabs(layout, fork, plates)
    for hanger in layout.hangers.values():
        if hanger.name in plates:
            moved[body_of[hanger.host.on]].append(_hanger(layout, hanger, plates[hanger.name].outline))
    for name, body in placed.items():
        moved[name] = [_shape(name, shape, job, body) for shape in job.bodies[name].envelope]
    for name, obstacle in job.obstacles.items():
        vehicle[name] = [_shape(name, shape, job, None) for shape in obstacle.shapes]
    return Bodies(_filled(moved), _filled(vehicle), groups)


def _filled(pieces: Mapping[str, list[Piece]]) -> dict[str, tuple[Piece, ...]]:
    return {name: tuple(some) for name, some in pieces.items() if some}


def welded_groups(layout: Layout) -> dict[str, tuple[str, ...]]:
    """Members that are welded into one body; the one of most members is the frame."""
    home = {name: name for name in layout.tubes}
    for tube in layout.tubes.values():
        for seat in tube.seats:
            if seat.kind is SeatKind.WELD:
                old, new = home[tube.name], home[seat.on]
                home = {name: new if of == old else of for name, of in home.items()}
    found: dict[str, list[str]] = {}
    for name, of in home.items():
        found.setdefault(of, []).append(name)
    members = sorted(found.values(), key=len, reverse=True)
    return {(FRAME if i == 0 else some[0]): tuple(some) for i, some in enumerate(members)}


def _tube(tube: Tube) -> Iterator[Piece]:
    """A straight tube in one piece; a bent one leg by leg and its bends in short pieces that enclose them."""
    if tube.path is None:
        yield _between(tube, tube, 1.0)
        return
    half = _across(tube) / 2.0
    for begin, piece in zip(tube.path.starts, tube.path.pieces, strict=True):
        count, wider = 1, 1.0
        if not isinstance(piece, Straight):
            count = int(np.ceil(piece.angle / _TURN))
            # so wide that the chord of the outer side is outside its arc; with it all else is
            cosine = np.cos(piece.angle / count / 2.0)
            wider = ((piece.radius + half) / cosine - piece.radius) / half
        stations = begin + np.linspace(0.0, piece.length, count + 1)
        for one, other in pairwise(stations):
            yield _between(_square(tube, one), _square(tube, other), wider)


def _square(tube: Tube, station: float) -> Tube:
    """A short straight that ends at a station, along the tube's way there."""
    assert tube.path is not None
    along = tube.path.tangent(station)
    at = tube.at(station)
    return replace(tube, start=at, end=at + along, up=tube.path.carried(tube.up, station), path=None)


def _across(tube: Tube) -> float:
    section = tube.section
    if isinstance(section, RoundTube):
        return section.outside_diameter
    return min(section.width, section.height)


def _between(first: Tube, last: Tube, wider: float) -> Piece:
    """The hull of sections square to the start of one straight and to the other's start, or its own end."""
    far = first.end if last is first else last.start
    ends = [near + _ring(tube, wider) for tube, near in ((first, first.start), (last, far))]
    return Piece.hull(first.name, np.vstack(ends))


def _ring(tube: Tube, wider: float) -> Array:
    section = tube.section
    across = tube.width_way
    if isinstance(section, RoundTube):
        turn = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
        radius = section.outside_diameter / 2.0 / np.cos(np.pi / _SIDES)
        y, z = radius * np.cos(turn), radius * np.sin(turn)
    else:
        y = section.width / 2.0 * np.array([1.0, 1.0, -1.0, -1.0])
        z = section.height / 2.0 * np.array([1.0, -1.0, 1.0, -1.0])
    return np.asarray(wider * (y[:, None] * across + z[:, None] * np.cross(tube.axis, across)))


def _rod(name: str, start: Array, end: Array, diameter: float) -> Piece:
    axis = (end - start) / np.linalg.norm(end - start)
    one = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    one /= np.linalg.norm(one)
    turn = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
    radius = diameter / 2.0 / np.cos(np.pi / _SIDES)
    ring = radius * (np.cos(turn)[:, None] * one + np.sin(turn)[:, None] * np.cross(axis, one))
    return Piece.hull(name, np.vstack([start + ring, end + ring]))


def _tabs(layout: Layout, fork: ForkPart, plates: Mapping[str, Plate]) -> Iterator[Piece]:
    """One tab each side of the bung, or a single one on the axis's side."""
    if fork.name not in plates:
        return
    outline = plates[fork.name].outline
    arm = layout.foot_to_hole(fork)
    along = arm - (arm @ fork.axis) * fork.axis
    along /= np.linalg.norm(along)
    foot = fork.pin - outline.holes[0].centre[1] * along
    half = (fork.bung.length / 2.0 if fork.bung else 0.0) + fork.spec.gap
    for place in [half] if fork.spec.tabs == "1" else [half, -half - outline.thickness]:
        yield _plate(fork.name, outline, foot + place * fork.axis, fork.axis, along)


def _hanger(layout: Layout, hanger: HangerPart, outline: PlateOutline) -> Piece:
    foot = hanger_foot(layout, hanger)
    x, y = outline.holes[0].centre
    origin = hanger.boss - x * foot.run - y * foot.normal - outline.thickness / 2.0 * hanger.axis
    return _plate(hanger.name, outline, origin, hanger.axis, foot.normal)


def _plate(name: str, outline: PlateOutline, origin: Array, thick: Array, along: Array) -> Piece:
    solid = outline.solid(Axes.along(origin, thick, np.cross(along, thick)), _CHORD)
    return Piece.hull(name, np.unique(solid.vertices.round(9), axis=0))


def _shape(name: str, shape: Shape, job: Job, body: Placed | None) -> Piece:
    def here(points: Array) -> Array:
        return points if body is None else np.asarray(body.pose.apply(points))

    if shape.box is not None:
        ends = np.array([shape.box.from_, shape.box.to])
        corners = np.array([[ends[i, 0], ends[j, 1], ends[k, 2]] for i, j, k in np.ndindex(2, 2, 2)])
        return Piece.hull(name, here(corners))
    if shape.cylinder is not None:
        ends = here(np.array([shape.cylinder.from_, shape.cylinder.to]))
        return _rod(name, ends[0], ends[1], shape.cylinder.diameter)
    assert shape.scan is not None and shape.unit is not None
    mesh = trimesh.load_mesh(job.folder / shape.scan)
    points = here(np.asarray(mesh.vertices) * _METRES[shape.unit])
    return Piece(name, points, np.asarray(mesh.faces, dtype=np.int64), convex=False)
