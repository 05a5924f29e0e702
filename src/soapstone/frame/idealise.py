"""From parts in place to beams: which pieces bend, where they join, what holds them.

A tube becomes a row of beams from one landing to the next; a tube that is welded onto another is
joined to a node on the other's axis and begins, beyond a rigid arm, at the other's face. A fork on the
vehicle is a held node and the tube it pins may turn about the bolt. A hanger is a flat beam from its
tube's face to the boss, free to turn about its bolt; a body is one node, reached by rigid arms. Tabs
count as stiff here; `tabs` makes the other bound of it.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.frame.bend import ovalling
from soapstone.frame.bodies import hung_masses
from soapstone.frame.imposed import forced, moved, warmed
from soapstone.frame.model import Frame, Loads, LumpedMass, Release, Spring
from soapstone.frame.on_springs import ground_stiffness, hook_station, spring_stiffness, stop_forces
from soapstone.job.places import Spot, parse_place
from soapstone.job.schema import Job
from soapstone.parts.bars import BarSection
from soapstone.parts.layout import (
    ForkPart,
    HangerPart,
    Layout,
    Seat,
    SeatKind,
    SolidBar,
    Tube,
    material_of,
)
from soapstone.parts.reach import face_distance
from soapstone.parts.sections import FlatBar, RoundTube, Section
from soapstone.place.hung import HungMount
from soapstone.place.loads import LoadCase
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed
from soapstone.tables import Material

Array = NDArray[np.float64]

SAME_STATION = 1e-3
"""m; landings closer than a millimetre share a node."""
_CHORD_TURN = np.radians(7.5)
"""Most that a chord of a bend turns: its deflection then misses the arc's by 0.4 % (see `bend.arc`)."""


@dataclass(frozen=True)
class Segment:
    """One beam of a tube: its index in the frame, and the stations m on the tube where it starts and ends."""

    member: int
    start: float
    end: float


@dataclass(frozen=True)
class Idealised:
    """The frame and where to find things in it.

    Attributes
    ----------
    frame : Frame
    loads : Loads
    segments : tube name to its beams, from start to end
    landings : tube name to the stations m where something is welded to it
    pins : fork name to (beam index, 0 at its start or 1 at its end)
    hangers : hanger name to beam index
    bodies : body name to node index
    masses : of the bodies, with their rotary inertia
    assumed : what is taken on trust about it
    springs : rubber mount to its index among the frame's springs; the body's node is its other side
    hooks : tube name to stations m where a hook pulls and nothing joins
    shaken : index of a rubber mount's spring to its (6, 6) stiffness when shaken
    """

    frame: Frame
    loads: Loads
    segments: Mapping[str, tuple[Segment, ...]]
    landings: Mapping[str, tuple[float, ...]]
    pins: Mapping[str, tuple[int, int]]
    hangers: Mapping[str, int]
    bodies: Mapping[str, int]
    masses: tuple[LumpedMass, ...] = ()
    assumed: tuple[str, ...] = ()
    springs: Mapping[str, int] = field(default_factory=dict)
    hooks: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    shaken: Mapping[int, Array] = field(default_factory=dict)

    @property
    def shaken_frame(self) -> Frame:
        """The frame with its rubber as stiff as it is when it is shaken: what it swings by."""
        springs = list(self.frame.springs)
        for row, stiffness in self.shaken.items():
            springs[row] = replace(springs[row], stiffness=stiffness)
        return replace(self.frame, springs=tuple(springs))

    @property
    def ends(self) -> dict[str, tuple[int, int]]:
        """Every bolted end by its fork or hanger: beam index, 0 at its start or 1 at its end."""
        return {**self.pins, **{name: (member, 1) for name, member in self.hangers.items()}}


def idealise(
    job: Job,
    layout: Layout,
    placed: Mapping[str, Placed],
    cases: tuple[LoadCase, ...],
    rubber: Mapping[str, OnRubber] | None = None,
) -> Idealised:
    """Build the frame and its loads; pure.

    A unit on `rubber` hangs on springs; what its stops take is put on as known from the unit on a stiff
    frame.
    """
    builder = _Builder(job, layout, placed, cases, rubber or {})
    builder.build()
    frame = builder.frame()
    field = np.array([case.pull for case in cases])
    masses, assumed = hung_masses(job.bodies, placed, builder.bodies)
    loads = Loads.none(frame, [case.name for case in cases])
    loads = loads.with_self_weight(frame, field).with_masses(masses, field)
    for row, case in enumerate(cases):
        for body in builder.bodies.keys() & set(case.bodies):
            loads.nodal[row, builder.bodies[body]] += case.wrench(body, placed[body].centre)
        for at, force in case.on_frame:
            tube, station = hook_station(layout, at)
            loads.nodal[row, builder.node_at(tube, station), :3] += force
    stop_forces(loads, frame, builder.springs, builder.bodies, rubber or {})
    loads = warmed(loads, cases, builder.parts, builder.expansions, len(builder.parts))
    loads = moved(frame, loads, cases)
    found = Idealised(
        frame,
        loads,
        {name: tuple(row) for name, row in builder.segments.items()},
        {name: tuple(row) for name, row in builder.landings.items()},
        builder.pins,
        builder.hangers,
        builder.bodies,
        masses,
        assumed,
        builder.springs,
        {name: tuple(row) for name, row in builder.hooks.items()},
        builder.shaken,
    )
    return replace(found, loads=forced(loads, job.misfit, found.ends))


class _Builder:
    def __init__(
        self,
        job: Job,
        layout: Layout,
        placed: Mapping[str, Placed],
        cases: tuple[LoadCase, ...],
        rubber: Mapping[str, OnRubber],
    ) -> None:
        self.job, self.layout, self.placed, self.cases = job, layout, placed, cases
        self.mounts = [hung for unit in rubber.values() for hung in unit.mounts]
        self.rubber = {hung.hanger: hung for hung in self.mounts if hung.hanger}
        self.springs: dict[str, int] = {}
        self.hooks: dict[str, list[float]] = defaultdict(list)
        self.landings: dict[str, list[float]] = defaultdict(list)
        self.segments: dict[str, list[Segment]] = defaultdict(list)
        self.pins: dict[str, tuple[int, int]] = {}
        self.hangers: dict[str, int] = {}
        self.bodies: dict[str, int] = {}
        self._nodes: dict[str, int] = {}
        self._on_tube: dict[str, list[tuple[float, int]]] = defaultdict(list)
        self._at: list[Array] = []
        self._held: list[Array] = []
        self._springs: list[Spring] = []
        self.shaken: dict[int, Array] = {}
        self._releases: list[Release] = []
        self._members: list[tuple[str, tuple[int, int], Array, Array, Section | BarSection, Material]] = []

    def build(self) -> None:
        for host in self._hosts():
            self.landings[host.on].append(host.station)
        for tube_name, station in (hook_station(self.layout, at) for c in self.cases for at, _ in c.on_frame):
            self.hooks[tube_name].append(station)
        for tube in self.layout.members:
            self._make_nodes(tube)
        for tube in self.layout.members:
            self._make_beams(tube)
        for hanger in self.layout.hangers.values():
            if hanger.bolt is not None:
                self._hang(hanger)
        for hung in self.mounts:
            if hung.support:
                self._stand(hung)

    def _hosts(self) -> Iterator[Seat]:
        for tube in self.layout.members:
            yield from (seat for seat in tube.seats if seat.kind is SeatKind.WELD)
            yield from (Seat(SeatKind.WELD, p.host, p.host_station) for p in tube.passages)
        yield from (f.host for f in self.layout.forks.values() if f.on_member)
        yield from (h.host for h in self.layout.hangers.values())

    def _node(self, name: str, at: Array, held: bool = False) -> int:
        if name not in self._nodes:
            self._nodes[name] = len(self._at)
            self._at.append(at)
            self._held.append(np.full(6, held))
        return self._nodes[name]

    def _fork_at(self, tube: Tube | SolidBar, end: int) -> ForkPart | None:
        return self.layout.fork_of(tube.name, Spot.END if end else Spot.START)

    def _make_nodes(self, tube: Tube | SolidBar) -> None:
        """Nodes on the tube's own axis; an end that is welded to another tube has none of its own."""
        own: list[tuple[float, int]] = []
        for end, station in ((0, 0.0), (1, tube.length)):
            if tube.seats[end].kind is SeatKind.WELD:
                continue
            fork = self._fork_at(tube, end)
            if fork is not None and fork.on_member:
                continue
            own.append((station, self._end_node(tube, end, fork)))
        for station in sorted((*self.landings[tube.name], *self.hooks.get(tube.name, ()))):
            near = [s for s, _ in own if abs(s - station) < SAME_STATION]
            if not near:
                name = f"{tube.name} at {1e3 * station:.0f} mm"
                own.append((station, self._node(name, tube.at(station))))
        for station in _bend_stations(tube):
            if not any(abs(s - station) < SAME_STATION for s, _ in own):
                name = f"{tube.name} bend at {1e3 * station:.1f} mm"
                own.append((station, self._node(name, tube.at(station))))
        self._on_tube[tube.name] = sorted(own)

    def _end_node(self, tube: Tube | SolidBar, end: int, fork: ForkPart | None) -> int:
        at = tube.end if end else tube.start
        if fork is None:
            seat = tube.seats[end]
            word = "end" if end else "start"
            return self._node(f"{tube.name} {word}" if seat.kind is SeatKind.PIN else seat.on, at)
        support = self.job.supports.get(fork.spec.on)
        stiffness = support.stiffness if support else None
        node = self._node(fork.name, at, held=True)
        if stiffness is not None:
            self._held[node] = np.array([False, False, False, True, True, True])
            self._springs.append(Spring(node, np.diag([stiffness] * 3 + [0.0] * 3)))
        return node

    def _host_node(self, seat: Seat) -> int:
        """The node on the host's axis that a landing belongs to."""
        return min(self._on_tube[seat.on], key=lambda pair: abs(pair[0] - seat.station))[1]

    def _make_beams(self, tube: Tube | SolidBar) -> None:
        row = [(station, node, np.zeros(3)) for station, node in self._on_tube[tube.name]]
        for end in (0, 1):
            joined = self._joined(tube, end)
            if joined is not None:
                row.append(joined)
        row += self._passing(tube)
        row.sort(key=lambda piece: piece[0])
        for index, ((start, node_a, arm_a), (end_station, node_b, arm_b)) in enumerate(pairwise(row)):
            if end_station - start < SAME_STATION:
                raise GeometryError(
                    f"{tube.name} has no room between {1e3 * start:.0f} and {1e3 * end_station:.0f} mm:"
                    " what it is welded to meets there",
                    remedy="move one of the places apart, or leave the tube out",
                )
            member = self._member(
                f"{tube.name}/{index + 1}",
                (node_a, node_b),
                np.stack([arm_a, arm_b]),
                _up_at(tube, (start + end_station) / 2.0),
                _section_at(tube, (start + end_station) / 2.0),
                tube.material,
            )
            self.segments[tube.name].append(Segment(member, start, end_station))
        self._pin(tube)

    def _joined(self, tube: Tube | SolidBar, end: int) -> tuple[float, int, Array] | None:
        """Station, host node and rigid arm of an end that belongs to another tube."""
        seat = tube.seats[end]
        at = tube.end if end else tube.start
        fork = self._fork_at(tube, end)
        if fork is not None and fork.on_member:
            node = self._host_node(fork.host)
            return (tube.length if end else 0.0), node, at - self._at[node]
        if seat.kind is not SeatKind.WELD:
            return None
        node = self._host_node(seat)
        leg = tube.end_leg(end)
        inward = -leg.axis if end else leg.axis
        reach = min(face_distance(self.layout.tubes[seat.on].leg(seat.station), inward), leg.length)
        station = tube.length - reach if end else reach
        return station, node, tube.at(station) - self._at[node]

    def _passing(self, tube: Tube | SolidBar) -> Iterator[tuple[float, int, Array]]:
        """Station, host node and rigid arm, where a tube passes through another and is welded into it."""
        for passage in tube.passages:
            node = self._host_node(Seat(SeatKind.WELD, passage.host, passage.host_station))
            yield passage.station, node, tube.at(passage.station) - self._at[node]

    def _pin(self, tube: Tube | SolidBar) -> None:
        for end in (0, 1):
            fork = self._fork_at(tube, end)
            if fork is not None:
                member = self.segments[tube.name][-end].member
                self._releases.append(Release(member, end, fork.axis))
                self.pins[fork.name] = (member, end)

    def _hang(self, hanger: HangerPart) -> None:
        body = self.placed[hanger.body]
        self.bodies[hanger.body] = self._node(hanger.body, body.centre)
        rubber = self.rubber.get(hanger.name)
        tip = self._node(rubber.mount.name, hanger.boss) if rubber else self.bodies[hanger.body]
        arm = hanger.boss - hanger.foot
        length = float(np.linalg.norm(arm))
        reach = face_distance(self.layout.tubes[hanger.host.on].leg(hanger.host.station), arm / length)
        node = self._host_node(hanger.host)
        face = hanger.foot + arm * (reach / length)
        member = self._member(
            hanger.name,
            (node, tip),
            np.stack([face - self._at[node], hanger.boss - self._at[tip]]),
            hanger.axis,
            FlatBar(hanger.spec.width, hanger.spec.plate.thickness).section,
            material_of(self.job, hanger.spec.plate.of),
        )
        if rubber:
            self._spring(rubber, tip, hanger.body, partial(spring_stiffness, rubber.mount))
        else:
            self._releases.append(Release(member, 1, hanger.axis))
        self.hangers[hanger.name] = member

    def _stand(self, hung: HungMount) -> None:
        """A mount on a support: a held node, tied to the body by rubber and the support's give in a row."""
        place = parse_place(self.job.mounts[hung.mount.name].carries or "")
        self.bodies[place.name] = self._node(place.name, self.placed[place.name].centre)
        foot = self._node(hung.mount.name, hung.mount.place, held=True)
        give = self.job.supports[hung.support].stiffness
        self._spring(hung, foot, place.name, partial(ground_stiffness, hung.mount, give))

    def _spring(self, hung: HungMount, node: int, body: str, stiffness: Callable[..., Array]) -> None:
        self.springs[hung.mount.name] = len(self._springs)
        self.shaken[len(self._springs)] = stiffness(shaken=True)
        self._springs.append(Spring(node, stiffness(), self.bodies[body]))

    def node_at(self, tube: str, station: float) -> int:
        """The node on a tube that is nearest to a station m."""
        return min(self._on_tube[tube], key=lambda pair: abs(pair[0] - station))[1]

    def _member(
        self,
        name: str,
        ends: tuple[int, int],
        arms: Array,
        up: Array,
        section: Section | BarSection,
        metal: Material,
    ) -> int:
        self._members.append((name, ends, arms, up, section, metal))
        return len(self._members) - 1

    @property
    def parts(self) -> list[str]:
        """The tube or hanger that each beam is a piece of."""
        return [name.partition("/")[0] for name, *_ in self._members]

    @property
    def expansions(self) -> list[float]:
        """1/K of each beam; no number where its metal's is not known."""
        return [metal.expansion for *_, metal in self._members]

    def frame(self) -> Frame:
        columns = zip(*self._members, strict=True) if self._members else ((),) * 6
        names, ends, arms, ups, sections, metals = columns
        n, m = len(self._at), len(self._members)
        return Frame(
            node_names=tuple(self._nodes),
            nodes=np.array(self._at).reshape(n, 3),
            member_names=names,
            ends=np.array(ends, dtype=np.int64).reshape(m, 2),
            offsets=np.array(arms).reshape(m, 2, 3),
            up=np.array(ups).reshape(m, 3),
            elastic_modulus=np.array([metal.elastic_modulus for metal in metals]),
            shear_modulus=np.array([metal.shear_modulus for metal in metals]),
            area=np.array([s.area for s in sections]),
            second_moment_y=np.array([s.second_moment_y for s in sections]),
            second_moment_z=np.array([s.second_moment_z for s in sections]),
            torsion_constant=np.array([s.torsion_constant for s in sections]),
            shear_area_y=np.array([s.shear_area_y for s in sections]),
            shear_area_z=np.array([s.shear_area_z for s in sections]),
            density=np.array([metal.density for metal in metals]),
            releases=tuple(self._releases),
            springs=tuple(self._springs),
            held=np.array(self._held, dtype=np.bool_).reshape(n, 6),
        )


def _bend_stations(tube: Tube | SolidBar) -> list[float]:
    """Stations m of the ends of every bend's chords; none on a straight tube or a bar."""
    if isinstance(tube, SolidBar):
        return []
    found: list[float] = []
    for start, bend in tube.path.bends if tube.path is not None else ():
        count = max(2, int(np.ceil(bend.angle / _CHORD_TURN)))
        found += [start + bend.length * part / count for part in range(count + 1)]
    ends = [0.0, tube.length]
    return [s for s in found if all(abs(s - end) > SAME_STATION for end in ends)]


def _up_at(tube: Tube | SolidBar, station: float) -> Array:
    """The way of the section's own z: of a bar the principal one."""
    if isinstance(tube, SolidBar):
        height: Array = tube.principal[1]
        return height
    return tube.up if tube.path is None else tube.path.carried(tube.up, station)


def _section_at(tube: Tube | SolidBar, station: float) -> Section | BarSection:
    """In a bend, second moments less by the factor that its ovalling makes it more limber by."""
    if isinstance(tube, SolidBar):
        return tube.section.section
    section = tube.section.section
    if tube.path is None or not tube.in_bend(station) or not isinstance(tube.section, RoundTube):
        return section
    _, bend = tube.path.piece_at(station)
    factor = ovalling(tube.section.outside_diameter, tube.section.wall, bend.radius).flexibility  # type: ignore[union-attr]
    return replace(
        section,
        second_moment_y=section.second_moment_y / factor,
        second_moment_z=section.second_moment_z / factor,
    )
