"""How a tube's end meets the tube it lands on, and how hard that tube is already pushed there."""

import math

import numpy as np

from soapstone.parts.bent import BentTube
from soapstone.parts.hosts import host_of
from soapstone.parts.layout import SeatKind, SolidBar, Tube
from soapstone.parts.reach import face_distance
from soapstone.parts.sections import RoundTube
from soapstone.strength.tube_joints import Landing
from soapstone.strength.work import Array, Work

_ALIGNED = math.cos(math.radians(10.0))  # a side that faces the joint to within the eye's own 10 degrees
_SAME_SIDE = 0.5


def landing_of(work: Work, tube: Tube, end: int) -> Landing:
    """The landing of a welded end."""
    seat = tube.seats[end]
    whole = work.layout.tubes[seat.on]
    host, tube = whole.leg(seat.station), tube.end_leg(end)
    towards = tube.axis if end else -tube.axis
    normal = np.cross(host.axis, tube.axis)
    normal /= np.linalg.norm(normal)
    into = np.cross(normal, host.axis)
    across, along = _sizes(tube, normal, host)
    crossed, clash = _neighbours(work, tube, end, along)
    up = np.cross(host.axis, host.width_way)
    squarely = max(abs(into @ host.width_way), abs(into @ up))
    if not isinstance(host.section, RoundTube) and squarely < _ALIGNED:
        clash = clash or f"an edge of {host.name}"
    if isinstance(host_of(work.layout, tube, seat), BentTube):
        clash = clash or f"a bend of {host.name}"
    return Landing(
        brace=tube.section,
        chord=host.section,
        material=host.material,
        angle=math.asin(min(1.0, float(np.linalg.norm(np.cross(host.axis, towards))))),
        along_width=bool(abs(into @ up) >= abs(into @ host.width_way)),
        brace_across=across,
        brace_along=along,
        offset=abs(float(normal @ (tube.start - host.start))),
        end_distance=min(seat.station, whole.length - seat.station),
        crossed=crossed,
        clash=clash,
    )


def _sizes(tube: Tube, normal: Array, host: Tube) -> tuple[float, float]:
    """Size of a tube across its host and along it, square-cut, m."""
    if isinstance(tube.section, RoundTube):
        return tube.section.outside_diameter, tube.section.outside_diameter
    height_way = np.cross(tube.axis, tube.width_way)
    flat = np.cross(normal, tube.axis)
    sizes = [
        abs(float(way @ tube.width_way)) * tube.section.width
        + abs(float(way @ height_way)) * tube.section.height
        for way in (normal, flat)
    ]
    return sizes[0], sizes[1]


def _neighbours(work: Work, tube: Tube, end: int, along: float) -> tuple[str, str]:
    """Names of a tube that lands opposite, and of one whose foot runs into this one's."""
    seat = tube.seats[end]
    host = work.layout.tubes[seat.on].leg(seat.station)
    mine = from_host(host, tube, end)
    reach = along / max(0.1, float(np.linalg.norm(np.cross(tube.axis, host.axis))))
    crossed = clash = ""
    for other in work.layout.tubes.values():
        for far in (0, 1):
            theirs = other.seats[far]
            if (
                theirs.kind is not SeatKind.WELD
                or theirs.on != seat.on
                or (other.name == tube.name and far == end)
            ):
                continue
            leg = other.end_leg(far)
            width = footprint(leg, host)
            apart = abs(face_station(host, leg, far) - face_station(host, tube, end))
            if apart >= (reach + width) / 2:
                continue
            side = float(mine @ from_host(host, leg, far))
            if side > _SAME_SIDE:
                clash = clash or other.name
            elif side < -_SAME_SIDE:
                crossed = crossed or other.name
    return crossed, clash or _bar_beside(work, host, tube, end, reach)


def _bar_beside(work: Work, host: Tube, tube: Tube, end: int, reach: float) -> str:
    """Name of a bar whose foot lies beside a tube's on the host, on whatever side; empty without one."""
    for bar in work.layout.bars.values():
        for seat in bar.seats:
            if seat.kind is SeatKind.WELD and seat.on == host.name:
                apart = abs(seat.station - face_station(host, tube, end))
                if apart < (reach + bar_foot(bar, host)) / 2.0:
                    return bar.name
    return ""


def bar_foot(bar: SolidBar, host: Tube) -> float:
    """Length m that a bar's foot takes of its host at most, either side of where the axes meet together."""
    across = 2.0 * float(np.linalg.norm(bar.section.section.corners, axis=1).max())
    sine = max(0.1, float(np.linalg.norm(np.cross(bar.axis, host.axis))))
    away = face_distance(host, bar.axis) * abs(float(bar.axis @ host.axis))
    return across / sine + 2.0 * away


def footprint(tube: Tube, host: Tube) -> float:
    """Length of a tube's foot along its host, m."""
    normal = np.cross(host.axis, tube.axis)
    normal /= np.linalg.norm(normal)
    return _sizes(tube, normal, host)[1] / max(0.1, float(np.linalg.norm(np.cross(tube.axis, host.axis))))


def face_station(host: Tube, tube: Tube, end: int) -> float:
    """Station m on the host where a tube's axis goes through its face; its seat is where the axes meet."""
    away = -tube.axis if end else tube.axis
    along = float(away @ host.axis)
    flat = away - along * host.axis
    rise = float(np.linalg.norm(flat))
    return tube.seats[end].station + face_distance(host, flat / rise) * along / rise


def from_host(host: Tube, tube: Tube, end: int) -> Array:
    """Unit vector square to the host from its axis into the tube that lands on it."""
    away = -tube.axis if end else tube.axis
    flat = away - (away @ host.axis) * host.axis
    unit: Array = flat / np.linalg.norm(flat)
    return unit


def brace_forces(work: Work, tube: Tube, end: int) -> tuple[Array, Array, Array]:
    """Axial force, moment in the plane of both axes and out of it at a welded end, each (c,)."""
    seat = tube.seats[end]
    host = work.layout.tubes[seat.on].leg(seat.station)
    forces, _ = work.at_end(tube, end)
    axes = work.idealised.frame.geometry.axes[work.segments(tube.name)[-end].member]
    moment = forces[:, 4:] @ axes[1:]
    tube = tube.end_leg(end)
    normal = np.cross(host.axis, tube.axis)
    normal /= np.linalg.norm(normal)
    flat = np.cross(normal, tube.axis)
    return forces[:, 0], moment @ normal, moment @ flat


def chord_use(work: Work, tube: Tube, end: int, code: str) -> Array:
    """(c,) share of the chord's strength used by push and bending where a tube lands on it."""
    seat = tube.seats[end]
    return used_at(work, work.layout.tubes[seat.on], seat.station, code)


def used_at(work: Work, host: Tube, station: float, code: str) -> Array:
    """(c,) the same at a station m of a tube."""
    forces = work.at_station(host.name, station)
    section = host.section.section
    bending = np.abs(forces[..., 4]) / section.elastic_modulus_y
    bending = bending + np.abs(forces[..., 5]) / section.elastic_modulus_z
    push = np.maximum(bending - forces[..., 0] / section.area, 0.0).max(axis=1)
    strength = host.material.weld_zone_yield or host.material.yield_strength or math.inf
    share = push / (0.6 * strength) if code == "AISC 360" else 1.5 * push / strength
    used: Array = np.clip(share, 0.0, 1.0)
    return used


def nominal_stress(tube: Tube, forces: Array) -> Array:
    """Greatest stress along a tube (...) Pa, from forces (..., 6), its sign left out."""
    section = tube.section.section
    about_y = np.abs(forces[..., 4]) / section.elastic_modulus_y
    about_z = np.abs(forces[..., 5]) / section.elastic_modulus_z
    bending = np.hypot(about_y, about_z) if isinstance(tube.section, RoundTube) else about_y + about_z
    stress: Array = np.abs(forces[..., 0]) / section.area + bending
    return stress
