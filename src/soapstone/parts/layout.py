"""Where every tube, fork and hanger stands, and what each end sits on."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.job.hardware import Bung, Fork, Hanger, Member, Slot, Stock
from soapstone.job.places import Spot, parse_place
from soapstone.job.schema import Job
from soapstone.parts.bar_stock import bar_of, set_in_place
from soapstone.parts.bars import Bar
from soapstone.parts.bent_tube import springback_share
from soapstone.parts.centreline import Centreline, Straight, arch, through_corners
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.place.placed import Placed
from soapstone.survey.records import Survey
from soapstone.tables import BoltClass, BoltSize, Material, Status, material, parse_bolt

Array = NDArray[np.float64]
Section = RoundTube | RectangularTube

_SHORTEST = 1e-3
"""m; a tube shorter than this between its ends is a slip of the pen."""
_OFF_THE_END = 1e-6
"""m; how far beyond a tube's end a place on it may fall through rounding."""


_WAYS = {
    "forward": np.array([1.0, 0.0, 0.0]),
    "aft": np.array([-1.0, 0.0, 0.0]),
    "left": np.array([0.0, 1.0, 0.0]),
    "right": np.array([0.0, -1.0, 0.0]),
    "up": np.array([0.0, 0.0, 1.0]),
    "down": np.array([0.0, 0.0, -1.0]),
}


class SeatKind(StrEnum):
    """What a tube's end sits on."""

    FREE = "free"
    WELD = "weld"
    PIN = "pin"


@dataclass(frozen=True)
class Seat:
    """What one end of a tube sits on.

    Attributes
    ----------
    kind : SeatKind
    on : str
        The member it is welded to, the fork that pins it, or the point it ends at.
    station : float
        m along the host's axis from its start; only for `WELD`.
    """

    kind: SeatKind
    on: str
    station: float = 0.0


@dataclass(frozen=True)
class Passage:
    """Where a tube passes right through another.

    Attributes
    ----------
    host : str
        The tube that has the holes.
    clearance : float
        m all round.
    station, host_station : float
        m along the tube and along the host, where their axes are nearest.
    """

    host: str
    clearance: float
    station: float
    host_station: float


@dataclass(frozen=True)
class Tube:
    """A member in place.

    Attributes
    ----------
    name, stock : str
    section : RoundTube or RectangularTube
    material : Material
    start, end : (3,) m, the ends of its axis where the geometry meets, before cutting
    up : (3,) reference direction; the section's height runs along it
    seats : of start and end
    cuts : what the job asks for at start and end; None where the seat decides
    faces : square to the face that a flat start and end lie on, (3,)
    slots : over a plate, at start and end
    passages : tubes that it passes through
    path : the axis of a bent tube, from start to end; None for a straight one
    springback : share of the angle that a bent tube comes back by; 0 for a straight one, and where the
        strength of its metal is not known
    """

    name: str
    stock: str
    section: Section
    material: Material
    start: Array
    end: Array
    up: Array
    seats: tuple[Seat, Seat]
    cuts: tuple[str | None, str | None] = (None, None)
    faces: tuple[Array | None, Array | None] = (None, None)
    slots: tuple[Slot | None, Slot | None] = (None, None)
    passages: tuple[Passage, ...] = ()
    path: Centreline | None = None
    springback: float = 0.0

    @cached_property
    def width_way(self) -> Array:
        """Unit vector along the section's width: its local y, and the tube's clocking line."""
        across = np.cross(self.up, self.axis)
        unit: Array = across / np.linalg.norm(across)
        return unit

    @cached_property
    def length(self) -> float:
        """m, along the axis."""
        return float(np.linalg.norm(self.end - self.start)) if self.path is None else self.path.length

    @cached_property
    def axis(self) -> Array:
        """Unit vector from start to end; see `leg` for the way a bent tube runs."""
        way = self.end - self.start
        unit: Array = way / np.linalg.norm(way)
        return unit

    def at(self, station: float) -> Array:
        """Point (3,) m on the axis."""
        if self.path is not None:
            return self.path.point(station)
        point: Array = self.start + station * self.axis
        return point

    def station_of(self, point: Array) -> float:
        """Station m of the axis point nearest to `point`."""
        if self.path is not None:
            return self.path.station_of(point)
        return float((point - self.start) @ self.axis)

    def leg(self, station: float) -> "Tube":
        """The straight that holds a station of a bent tube, as a tube; in a bend, the tangent there.

        A straight tube is its own leg.
        """
        if self.path is None:
            return self
        begin, piece = self.path.piece_at(station)
        if isinstance(piece, Straight):
            start, end = piece.origin, piece.origin + piece.length * piece.along
        else:
            begin, along = station, self.path.tangent(station)
            half = piece.length / 2.0 * along
            start, end = self.at(station) - half, self.at(station) + half
        return replace(self, start=start, end=end, up=self.path.carried(self.up, begin), path=None)

    def end_leg(self, end: int) -> "Tube":
        """The leg at its start (0) or end (1)."""
        return self.leg(self.length if end else 0.0)

    def same_straight(self, one: float, other: float) -> bool:
        """Whether two stations lie on one straight of it."""
        if self.path is None:
            return True
        (begin, piece), (start, _) = self.path.piece_at(one), self.path.piece_at(other)
        return begin == start and isinstance(piece, Straight)

    def in_bend(self, station: float) -> bool:
        """Whether a station lies in a bend."""
        return self.path is not None and not isinstance(self.path.piece_at(station)[1], Straight)


@dataclass(frozen=True)
class SolidBar:
    """A bar in place: straight, its axis through its centroid.

    Fields as `Tube`; `section` as it is turned here, drawn with y along `width_way` and z along the height.
    """

    name: str
    stock: str
    section: Bar
    material: Material
    start: Array
    end: Array
    up: Array
    seats: tuple[Seat, Seat]
    cuts: tuple[str | None, str | None] = (None, None)
    passages: tuple[Passage, ...] = ()

    @cached_property
    def length(self) -> float:
        """m, along the axis."""
        return float(np.linalg.norm(self.end - self.start))

    @cached_property
    def axis(self) -> Array:
        """Unit vector from start to end."""
        unit: Array = (self.end - self.start) / self.length
        return unit

    @cached_property
    def width_way(self) -> Array:
        """Unit vector along the drawing's y."""
        across = np.cross(self.up, self.axis)
        unit: Array = across / np.linalg.norm(across)
        return unit

    @property
    def principal(self) -> Array:
        """(2, 3) unit vectors along the principal y and z."""
        turn = self.section.section.turn
        y, z = self.width_way, np.cross(self.axis, self.width_way)
        return np.stack([np.cos(turn) * y + np.sin(turn) * z, np.cos(turn) * z - np.sin(turn) * y])

    def at(self, station: float) -> Array:
        """Point (3,) m on the axis."""
        point: Array = self.start + station * self.axis
        return point

    def end_leg(self, end: int) -> "SolidBar":
        """Itself: a bar is straight."""
        return self


@dataclass(frozen=True)
class ForkPart:
    """A fork in place: `pin` (3,) m, unit `axis`, and the end it holds (None when nothing is held)."""

    name: str
    pin: Array
    axis: Array
    spec: Fork
    bolt: tuple[BoltSize, BoltClass] | None
    bung: Bung | None
    holds: tuple[str, Spot] | None
    host: Seat

    @property
    def on_member(self) -> bool:
        """Whether it stands on a member rather than on the vehicle."""
        return self.host.kind is SeatKind.WELD

    @property
    def tight(self) -> bool:
        """Whether a bolt holds a tube's end in it."""
        return self.bolt is not None and self.holds is not None


@dataclass(frozen=True)
class HangerPart:
    """A hanger plate in place, from `foot` on its host's axis to the boss (both (3,) m)."""

    name: str
    host: Seat
    foot: Array
    boss: Array
    axis: Array
    body: str
    spec: Hanger
    bolt: tuple[BoltSize, BoltClass] | None


@dataclass(frozen=True)
class Layout:
    """All parts in place; `points` are every named point of the job, surveyed or laid out, (3,) m."""

    points: Mapping[str, Array]
    tubes: Mapping[str, Tube]
    forks: Mapping[str, ForkPart]
    hangers: Mapping[str, HangerPart]
    bars: Mapping[str, SolidBar] = field(default_factory=dict)

    @property
    def members(self) -> tuple[Tube | SolidBar, ...]:
        """Tubes, then bars."""
        return (*self.tubes.values(), *self.bars.values())

    def foot_to_hole(self, fork: ForkPart) -> Array:
        """Unit vector (3,) from a fork's foot to its hole."""
        if not fork.on_member:
            return _WAYS[fork.spec.points]
        arm: Array = fork.pin - self.tubes[fork.host.on].at(fork.host.station)
        unit: Array = arm / np.linalg.norm(arm)
        return unit

    def fork_of(self, tube: str, spot: Spot) -> ForkPart | None:
        """The fork that holds a tube's end, if one does."""
        return next((f for f in self.forks.values() if f.tight and f.holds == (tube, spot)), None)


def lay_out(job: Job, survey: Survey, placed: Mapping[str, Placed]) -> Layout:
    """Resolve every place of the job; pure.

    Raises
    ------
    GeometryError
        When a tube has no length or lands beyond the end of the one it is welded to.
    """
    return _Resolver(job, survey, placed).layout()


def section_of(stock: Stock) -> Section:
    """The tube's section; the larger of a rectangular tube's sizes is its height.

    The outside corner radius is twice the wall unless the stock says another: the value that the
    AISC shape tables use for cold-formed rectangular tube.
    """
    assert stock.tube is not None
    if len(stock.tube) == 2:
        return RoundTube(stock.tube[0], stock.tube[1])
    first, second, wall = stock.tube
    corner = 2.0 * wall if stock.corner is None else stock.corner
    return RectangularTube(min(first, second), max(first, second), wall, corner)


def material_of(job: Job, name: str) -> Material:
    """The job's own material of that name, or the tables'."""
    own = job.materials.get(name)
    if own is None:
        return material(name)
    return Material(
        name=name,
        elastic_modulus=own.elastic_modulus,
        shear_modulus=own.shear_modulus,
        density=own.density,
        yield_strength=own.yield_,
        ultimate_strength=own.ultimate,
        weld_zone_yield=own.weld_zone_yield,
        weld_zone_ultimate=own.weld_zone_ultimate,
        expansion=math.nan if own.expansion is None else own.expansion,
        source=own.source,
        clause="the job's own",
        elastic_source=own.source,
        status=Status.VERIFIED,
        weld_zone_status=Status.UNKNOWN
        if None in (own.weld_zone_yield, own.weld_zone_ultimate)
        else Status.VERIFIED,
        note="",
    )


def _bolt(text: str | None) -> tuple[BoltSize, BoltClass] | None:
    return None if text is None else parse_bolt(text)


class _Resolver:
    """Places depend on places; each is worked out once, when it is first asked for."""

    def __init__(self, job: Job, survey: Survey, placed: Mapping[str, Placed]) -> None:
        self.job, self.survey, self.placed = job, survey, placed
        self.points: dict[str, Array] = {}
        self.axes: dict[str, tuple[Array, Array]] = {}
        self.paths: dict[str, Centreline] = {}

    def layout(self) -> Layout:
        for name in self.job.points:
            self.point(name)
        solid = {name for name, m in self.job.members.items() if self.job.stock[m.stock].tube is None}
        tubes = {name: self.tube(name) for name in self.job.members if name not in solid}
        bars = {name: self.bar(name) for name in self.job.members if name in solid}
        forks = {name: self.fork(name, tubes) for name in self.job.forks}
        hangers = {name: self.hanger(name, tubes) for name in self.job.hangers}
        return Layout(self.points, tubes, forks, hangers, bars)

    def point(self, name: str) -> Array:
        if name not in self.points:
            spec = self.job.points[name]
            if spec.from_ is None:
                self.points[name] = self.survey.point(name)
            else:
                assert spec.move is not None
                self.points[name] = self.where(spec.from_) + np.array(spec.move)
        return self.points[name]

    def where(self, text: str) -> Array:
        """Coordinates of a place."""
        place = parse_place(text)
        if place.point:
            return self.placed[place.name].points[place.point]
        if place.name in self.job.points:
            return self.point(place.name)
        if place.name in self.job.forks:
            return self.where(self.job.forks[place.name].at)
        start, end = self.axis(place.name)
        path = self.path(place.name)
        length = float(np.linalg.norm(end - start)) if path is None else path.length
        match place.spot:
            case Spot.START:
                return start
            case Spot.END:
                return end
            case Spot.MIDDLE:
                middle: Array = (start + end) / 2.0 if path is None else path.point(length / 2.0)
                return middle
        along = length - place.distance if place.from_end else place.distance
        if not -_OFF_THE_END <= along <= length + _OFF_THE_END:
            raise GeometryError(
                f"{text!r} lies beyond the end of {place.name}, which is {1e3 * length:.0f} mm long"
            )
        if path is not None:
            return path.point(along)
        on_axis: Array = start + along / length * (end - start)
        return on_axis

    def axis(self, name: str) -> tuple[Array, Array]:
        if name not in self.axes:
            spec = self.job.members[name]
            start, end = self.where(spec.from_), self.where(spec.to)
            if np.linalg.norm(end - start) < _SHORTEST:
                raise GeometryError(f"{name} has no length: {spec.from_} and {spec.to} are one place")
            self.axes[name] = (start, end)
        return self.axes[name]

    def path(self, name: str) -> Centreline | None:
        """The axis of a bent member."""
        spec = self.job.members[name]
        if spec.through and name not in self.paths:
            corners = [self.where(text) for text in (spec.from_, *spec.through, spec.to)]
            if spec.arch == "yes":
                self.paths[name] = arch(name, *corners)
            else:
                self.paths[name] = through_corners(name, corners, self.finished_radius(spec))
        return self.paths.get(name)

    def finished_radius(self, spec: Member) -> float:
        """m: a bend opens as it springs back, and its arc keeps its length."""
        if spec.bender is None:
            assert spec.bend_radius is not None
            return spec.bend_radius
        die = self.job.benders[spec.bender].radius
        return die / (1.0 - self.springback(spec, die))

    def springback(self, spec: Member, radius: float) -> float:
        """Share of the angle: measured on the bender, else computed from the metal."""
        bender = self.job.benders[spec.bender] if spec.bender else None
        if bender is not None and bender.springback is not None:
            return bender.springback / (math.pi / 2.0)
        stock = self.job.stock[spec.stock]
        assert stock.tube is not None
        tube = RoundTube(stock.tube[0], stock.tube[-1])
        return springback_share(tube, material_of(self.job, stock.of), radius) or 0.0

    def tube(self, name: str) -> Tube:
        spec = self.job.members[name]
        start, end = self.axis(name)
        stock = self.job.stock[spec.stock]
        seats = (self.seat(spec.from_, spec.start_on), self.seat(spec.to, spec.end_on))
        metal, cuts = material_of(self.job, stock.of), (spec.start_cut, spec.end_cut)
        faces = (_vector(spec.start_face), _vector(spec.end_face))
        slots = (spec.start_slot, spec.end_slot)
        path = self.path(name)
        along = end - start if path is None else path.tangent(0.0)
        up = _up(start, start + along, spec.deep)
        share = 0.0
        if path is not None:
            up = up - (up @ along) * along
            up = up / np.linalg.norm(up)
            share = self.springback(spec, path.bends[0][1].radius)
        return Tube(
            name,
            spec.stock,
            section_of(stock),
            metal,
            start,
            end,
            up,
            seats,
            cuts,
            faces,
            slots,
            self.passages(name, spec),
            path,
            share,
        )

    def passages(self, name: str, spec: Member) -> tuple[Passage, ...]:
        """Where it crosses what it passes through."""
        found = []
        for host, clearance in spec.passes_through.items():
            if self.path(name) or self.path(host):
                raise GeometryError(
                    f"passes through {host}; only straight tubes pass through each other",
                    where=name,
                    remedy=f"let {name} end on {host}",
                )
            (here, there), lengths = crossing(self.axis(name), self.axis(host))
            for tube, station, length in ((name, here, lengths[0]), (host, there, lengths[1])):
                if not _OFF_THE_END < station < length - _OFF_THE_END:
                    other = host if tube == name else name
                    raise GeometryError(
                        f"does not reach {other} where {name} is to pass through {host}",
                        where=tube,
                        remedy=f"let {tube} run on past {other}",
                    )
            found.append(Passage(host, clearance, here, there))
        return tuple(found)

    def bar(self, name: str) -> SolidBar:
        spec = self.job.members[name]
        start, end = self.axis(name)
        stock = self.job.stock[spec.stock]
        seats = (self.seat(spec.from_, spec.start_on), self.seat(spec.to, spec.end_on))
        up, cuts = _up(start, end, spec.deep), (spec.start_cut, spec.end_cut)
        metal = material_of(self.job, stock.of)
        bar = SolidBar(name, spec.stock, bar_of(stock), metal, start, end, up, seats, cuts)
        ways = bar.width_way, np.cross(bar.axis, bar.width_way)
        return replace(bar, section=set_in_place(bar.section, name, spec.heel, ways))

    def seat(self, text: str, lands_on: str | None) -> Seat:
        place = parse_place(text)
        if lands_on is not None:
            return self.seat_on(lands_on, self.where(text))
        if place.name in self.job.forks:
            return Seat(SeatKind.PIN, place.name)
        if place.spot is not Spot.ITSELF:
            return self.seat_on(place.name, self.where(text))
        return Seat(SeatKind.FREE, place.text)

    def seat_on(self, host: str, point: Array) -> Seat:
        start, end = self.axis(host)
        path = self.path(host)
        if path is not None:
            return Seat(SeatKind.WELD, host, path.station_of(point))
        length = float(np.linalg.norm(end - start))
        station = float((point - start) @ (end - start)) / length
        return Seat(SeatKind.WELD, host, min(max(station, 0.0), length))

    def fork(self, name: str, tubes: Mapping[str, Tube]) -> ForkPart:
        spec = self.job.forks[name]
        pin = self.where(spec.at)
        bung = self.job.bungs[spec.holds] if spec.holds else None
        holds = None
        if bung is not None:
            held = parse_place(bung.in_)
            holds = (held.name, held.spot)
        host = self.seat_on(spec.on, pin) if spec.on in tubes else Seat(SeatKind.FREE, spec.on)
        return ForkPart(name, pin, np.array(spec.axis), spec, _bolt(spec.bolt), bung, holds, host)

    def hanger(self, name: str, tubes: Mapping[str, Tube]) -> HangerPart:
        spec = self.job.hangers[name]
        boss = self.where(spec.carries)
        host = self.seat_on(spec.on, boss)
        foot = tubes[spec.on].at(host.station)
        return HangerPart(
            name,
            host,
            foot,
            boss,
            np.array(spec.axis),
            parse_place(spec.carries).name,
            spec,
            _bolt(spec.bolt),
        )


def crossing(
    one: tuple[Array, Array], other: tuple[Array, Array]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Stations m at which two axes are nearest, and the lengths of both; parallel ones: beyond both ends."""
    ways, lengths = [], []
    for start, end in (one, other):
        length = float(np.linalg.norm(end - start))
        ways.append((end - start) / length)
        lengths.append(length)
    between, cosine = other[0] - one[0], float(ways[0] @ ways[1])
    square = 1.0 - cosine * cosine
    if square < 1e-12:
        return (math.inf, math.inf), (lengths[0], lengths[1])
    along, there = float(between @ ways[0]), float(between @ ways[1])
    here = (along - cosine * there) / square
    return (here, cosine * here - there), (lengths[0], lengths[1])


def _vector(direction: tuple[float, float, float] | None) -> Array | None:
    return None if direction is None else np.array(direction)


def _up(start: Array, end: Array, deep: str | None) -> Array:
    """Reference direction for a tube's height: the way asked for, else up, else along for an upright tube."""
    along, across, up = np.eye(3)
    axis = (end - start) / np.linalg.norm(end - start)
    if deep is not None:
        wanted: Array = {"along": along, "across": across, "up": up}[deep]
        return wanted
    return along if abs(axis @ up) > 0.9 else up
