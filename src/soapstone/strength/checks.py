"""Every strength check of a job, fed with what the frame found."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding, Verdict
from soapstone.frame import Solution, internal_forces_at
from soapstone.frame.idealise import Idealised
from soapstone.job.hardware import Weld
from soapstone.job.places import Spot
from soapstone.job.schema import Job
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import ForkPart, HangerPart, Layout, SeatKind, Tube, material_of
from soapstone.parts.tabs import hole_of
from soapstone.strength.bolts import bolt
from soapstone.strength.lugs import lug
from soapstone.strength.members import member_stress
from soapstone.strength.pins import bolt_bending
from soapstone.strength.tabs import edge_distance, tab_bending
from soapstone.strength.welds import tube_end_weld, weld_size, weld_wall
from soapstone.tables import filler

Array = NDArray[np.float64]

STATIONS = 21
"""Per beam; moments run as parabolas, whose peak between two of 21 stations is missed by at most 1/1600
of the beam's own bow."""
WELD_ZONE = 0.025
"""m each side of a weld."""

_ZONE_NOTE = "metal counts as softened 25 mm each side of a weld (common practice, no source)"
_THREADS_NOTE = "threads are taken to lie in the shear plane"
_SHARE_NOTE = "the more loaded tab's share is taken for both"
_TABS_NOTE = "tabs count as stiff in the frame"


def strength_findings(
    job: Job, layout: Layout, parts: CutParts, idealised: Idealised, solution: Solution
) -> tuple[Finding, ...]:
    """All findings of this room, part by part in the job's order; pure."""
    return tuple(_Checks(job, layout, parts, idealised, solution).all())


@dataclass(frozen=True)
class _Checks:
    job: Job
    layout: Layout
    parts: CutParts
    idealised: Idealised
    solution: Solution

    @property
    def cases(self) -> tuple[str, ...]:
        return self.idealised.loads.case_names

    def all(self) -> Iterator[Finding]:
        for tube in self.layout.tubes.values():
            yield self.member(tube)
            for end in (0, 1):
                yield from self.end_weld(tube, end)
        for fork in self.layout.forks.values():
            yield from self.fork(fork) if fork.tight else self.loose_fork(fork)
        for hanger in self.layout.hangers.values():
            yield from self.hanger(hanger)
        for name in self.job.bodies:
            if name not in self.idealised.bodies:
                yield _loose(name, f"{name} hangs on something", f"give {name} hangers with bolts")

    @cached_property
    def _positions(self) -> Array:
        """(m, STATIONS + 2) m: evenly along each beam, then where a bung's weld cuts its start and end."""
        lengths = self.idealised.frame.geometry.lengths
        even = lengths[:, None] * np.linspace(0.0, 1.0, STATIONS)
        at_bung = np.stack([np.zeros_like(lengths), lengths], axis=1)
        for fork, (member, end) in self.idealised.pins.items():
            bung = self.layout.forks[fork].bung
            reach = min(bung.outside / 2.0 if bung else 0.0, lengths[member])
            at_bung[member, end] = lengths[member] - reach if end else reach
        return np.concatenate([even, at_bung], axis=1)

    @cached_property
    def _forces(self) -> Array:
        """(c, m, STATIONS + 2, 6)."""
        ideal = self.idealised
        return internal_forces_at(ideal.frame, ideal.loads, self.solution, self._positions)

    def member(self, tube: Tube) -> Finding:
        segments = self.idealised.segments[tube.name]
        stations = np.concatenate([s.start + self._positions[s.member, :STATIONS] for s in segments])
        forces = np.concatenate([self._forces[:, s.member, :STATIONS] for s in segments], axis=1)
        finding = member_stress(
            name=tube.name,
            section=tube.section,
            material=tube.material,
            forces=forces,
            stations=stations,
            cases=self.cases,
            weld_zones=self._weld_zones(tube),
        )
        return replace(finding, assumed=(*finding.assumed, _ZONE_NOTE))

    def _weld_zones(self, tube: Tube) -> list[tuple[float, float]]:
        segments = self.idealised.segments[tube.name]
        welded = list(self.idealised.landings.get(tube.name, ()))
        welded += [
            at for end, at in ((0, segments[0].start), (1, segments[-1].end)) if self._is_welded(tube, end)
        ]
        return [(at - WELD_ZONE, at + WELD_ZONE) for at in welded]

    def _fork(self, tube: Tube, end: int) -> ForkPart | None:
        return self.layout.fork_of(tube.name, Spot.END if end else Spot.START)

    def _is_welded(self, tube: Tube, end: int) -> bool:
        return tube.seats[end].kind is SeatKind.WELD or self._fork(tube, end) is not None

    def _weld(self, name: str) -> Weld:
        default = self.job.welds.get("default", Weld())
        own = self.job.welds.get(name, Weld())
        return default.model_copy(update=own.model_dump(exclude_none=True))

    def end_weld(self, tube: Tube, end: int) -> Iterator[Finding]:
        if not self._is_welded(tube, end):
            return
        name = f"{tube.name} {'end' if end else 'start'}"
        weld = self._weld(name)
        member = self.idealised.segments[tube.name][-end].member
        part = self.parts.tubes[tube.name]
        cut = part.end_b if end else part.end_a
        forces = self._forces[:, member, STATIONS + end]
        metal = filler(weld.filler) if weld.filler else None
        yield tube_end_weld(
            name=name,
            section=tube.section,
            material=tube.material,
            leg=weld.fillet,
            filler=metal,
            forces=forces,
            cases=self.cases,
            angle=cut.angle,
        )
        yield weld_wall(
            name=name,
            section=tube.section,
            material=tube.material,
            forces=forces,
            cases=self.cases,
            angle=cut.angle,
        )
        yield weld_size(name=name, leg=weld.fillet, thinner=self._thinner(tube, end))

    def _thinner(self, tube: Tube, end: int) -> float:
        seat = tube.seats[end]
        if seat.kind is SeatKind.WELD:
            return min(tube.section.wall, self.layout.tubes[seat.on].section.wall)
        return tube.section.wall

    def loose_fork(self, fork: ForkPart) -> Iterator[Finding]:
        held = f"{fork.holds[0]} {fork.holds[1]}" if fork.holds else "anything"
        missing = "a bolt, like M12 10.9" if fork.bolt is None else "a bung to hold"
        yield _loose(
            fork.name, f"{fork.name} holds {held}", f"give {fork.name} {missing}; without it {held} is loose"
        )

    def _pin_load(self, fork: ForkPart) -> tuple[Array, Array]:
        """Force and moment (c, 3) that the tube puts on the fork, vehicle axes."""
        member, end = self.idealised.pins[fork.name]
        axes = self.idealised.frame.geometry.axes[member]
        six = -self.solution.end_forces[:, member, 6 * end : 6 * end + 6]
        return six[:, :3] @ axes, six[:, 3:] @ axes

    def fork(self, fork: ForkPart) -> Iterator[Finding]:
        assert fork.bolt is not None and fork.bung is not None
        size, grade = fork.bolt
        spec, axis = fork.spec, fork.axis
        force, moment = self._pin_load(fork)
        thrust = force @ axis
        across = force - thrust[:, None] * axis
        tabs = 1 if spec.tabs == "1" else 2
        apart = fork.bung.length + 2.0 * spec.gap + spec.plate.thickness
        couple = np.cross(axis, moment) / apart if tabs == 2 else np.zeros_like(moment)
        on_tabs = np.concatenate([across / tabs + couple, across / tabs - couple])
        names = tuple(f"{case}, {side} tab" for side in ("one", "other") for case in self.cases)
        worst = np.linalg.norm(on_tabs.reshape(2, -1, 3), axis=2).max(axis=0)
        metal = material_of(self.job, spec.plate.of)
        hole, edge = hole_of(fork) or size.diameter, spec.end or spec.width / 2.0
        outward = self.layout.foot_to_hole(fork)
        yield _with(
            bolt(
                name=fork.name,
                size=size,
                grade=grade,
                shear_per_bolt=tabs * worst,
                tension=np.abs(thrust),
                planes=tabs,
                threads_in_plane=True,
                cases=self.cases,
            ),
            _THREADS_NOTE,
            _SHARE_NOTE,
            _TABS_NOTE,
        )
        yield _with(
            bolt_bending(
                name=fork.name,
                size=size,
                grade=grade,
                force=np.linalg.norm(across, axis=1),
                outer=spec.plate.thickness,
                gap=spec.gap,
                inner=fork.bung.length,
                threads_in_span=True,
                cases=self.cases,
            ),
            _TABS_NOTE,
        )
        yield _with(
            lug(
                name=fork.name,
                thickness=spec.plate.thickness,
                width=min(spec.width, 2.0 * edge),
                hole=hole,
                pin=size.diameter,
                edge=edge,
                material=metal,
                force_along=on_tabs @ outward,
                force_across=np.linalg.norm(on_tabs - (on_tabs @ outward)[:, None] * outward, axis=1),
                cases=names,
                share=1.0,
            ),
            _TABS_NOTE,
        )
        yield edge_distance(name=fork.name, hole=hole, nearest_edge=min(edge, spec.width / 2.0))
        yield tab_bending(
            name=fork.name,
            thickness=spec.plate.thickness,
            width=spec.width,
            arm=spec.reach,
            material=metal,
            force_out=thrust,
            cases=self.cases,
        )

    def hanger(self, hanger: HangerPart) -> Iterator[Finding]:
        spec = hanger.spec
        if hanger.bolt is None:
            claim = f"{hanger.name} carries {spec.carries}"
            remedy = f"give {hanger.name} a bolt, like M12 8.8; without it {spec.carries} is loose"
            yield _loose(hanger.name, claim, remedy)
            return
        size, grade = hanger.bolt
        member = self.idealised.hangers[hanger.name]
        axes = self.idealised.frame.geometry.axes[member]
        force = self.solution.end_forces[:, member, 6:9] @ axes
        thrust = force @ hanger.axis
        across = force - thrust[:, None] * hanger.axis
        outward = (hanger.boss - hanger.foot) / np.linalg.norm(hanger.boss - hanger.foot)
        metal = material_of(self.job, spec.plate.of)
        hole, edge = hole_of(hanger) or size.diameter, spec.end or spec.width / 2.0
        yield _with(
            bolt(
                name=hanger.name,
                size=size,
                grade=grade,
                shear_per_bolt=np.linalg.norm(across, axis=1),
                tension=np.abs(thrust),
                planes=1,
                threads_in_plane=True,
                cases=self.cases,
            ),
            _THREADS_NOTE,
        )
        yield lug(
            name=hanger.name,
            thickness=spec.plate.thickness,
            width=min(spec.width, 2.0 * edge),
            hole=hole,
            pin=size.diameter,
            edge=edge,
            material=metal,
            force_along=across @ outward,
            force_across=np.linalg.norm(across - (across @ outward)[:, None] * outward, axis=1),
            cases=self.cases,
            share=1.0,
        )
        yield edge_distance(name=hanger.name, hole=hole, nearest_edge=min(edge, spec.width / 2.0))
        yield tab_bending(
            name=hanger.name,
            thickness=spec.plate.thickness,
            width=spec.width,
            arm=self.idealised.frame.geometry.lengths[member],
            material=metal,
            force_out=thrust,
            cases=self.cases,
        )


def _with(finding: Finding, *notes: str) -> Finding:
    return replace(finding, assumed=(*finding.assumed, *notes))


def _loose(name: str, claim: str, remedy: str) -> Finding:
    return Finding(
        id=f"loose:{name}", about=name, claim=claim, verdict=Verdict.OPEN, source="statics", remedy=remedy
    )
