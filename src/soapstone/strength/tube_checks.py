"""The checks of one tube: its metal, its buckling, its end welds, the tubes it lands on, its fatigue."""

from collections.abc import Iterator
from dataclasses import replace
from math import pi

import numpy as np

from soapstone.finding import Finding
from soapstone.parts.cope import Body
from soapstone.parts.cuts import EndKind
from soapstone.parts.hosts import bung_body, host_of
from soapstone.parts.layout import SeatKind, Tube
from soapstone.strength.bent_tubes import bend_stress
from soapstone.strength.columns import Stretch, member_buckling
from soapstone.strength.landings import brace_forces, chord_use, landing_of
from soapstone.strength.members import member_stress
from soapstone.strength.pairs import balanced, pair_of
from soapstone.strength.seam import Seam, seam_of, seam_on_bend
from soapstone.strength.seam_welds import seam_weld
from soapstone.strength.tube_fatigue import tube_fatigue
from soapstone.strength.tube_joints import tube_joint
from soapstone.strength.weld_zones import ZONE_NOTE, forces_along, weld_zones
from soapstone.strength.welds import tube_end_weld, weld_size, weld_wall
from soapstone.strength.work import Work
from soapstone.tables import filler


def tube_findings(work: Work, tube: Tube, leg: float = 0.0) -> Iterator[Finding]:
    """Every finding about one tube; `leg` m is added to its fillets."""
    yield member(work, tube)
    yield buckling(work, tube)
    bent = bend_stress(work, tube)
    if bent is not None:
        yield bent
    for end in (0, 1):
        if work.is_welded(tube, end):
            yield from end_weld(work, tube, end, leg)
        if tube.seats[end].kind is SeatKind.WELD:
            yield joint(work, tube, end)
    if work.cycles.any():
        yield tube_fatigue(work, tube)


def member(work: Work, tube: Tube) -> Finding:
    """`member-stress`."""
    zones = weld_zones(work, tube)
    stations, forces = forces_along(work, tube, zones)
    finding = member_stress(
        name=tube.name,
        section=tube.section,
        material=tube.material,
        forces=forces,
        stations=stations,
        cases=work.cases,
        weld_zones=zones,
    )
    return replace(finding, assumed=(*finding.assumed, ZONE_NOTE))


def buckling(work: Work, tube: Tube) -> Finding:
    """`member-buckling`."""
    spec = work.job.members.get(tube.name)
    return member_buckling(
        name=tube.name,
        section=tube.section,
        material=tube.material,
        stretches=[Stretch(start, end - start, forces) for start, end, forces in work.stretches(tube.name)],
        cases=work.cases,
        code=work.job.service.code,
        welded=bool(weld_zones(work, tube)),
        effective_length=spec.effective_length if spec else None,
    )


def end_weld(work: Work, tube: Tube, end: int, more: float = 0.0) -> Iterator[Finding]:
    """`weld`, `weld-wall`, `weld-size` of one end; `more` m of leg than the job has."""
    name = f"{tube.name} {'end' if end else 'start'}"
    weld = work.weld(name)
    leg = None if weld.fillet is None else weld.fillet + more
    metal = filler(weld.filler) if weld.filler else None
    part, begin = work.parts.at_end(tube.name, end)
    cut = part.end_b if end else part.end_a
    forces, station = work.at_end(tube, end)
    coped = cut.kind is EndKind.COPE
    angle = cut.angle if coped else pi / 2 - cut.angle
    if coped:
        yield seam_weld(
            name=name,
            seam=seam(work, tube, end),
            material=tube.material,
            leg=leg,
            filler=metal,
            forces=forces,
            at=np.array([station - begin, 0.0, 0.0]),
            cases=work.cases,
        )
    else:
        yield tube_end_weld(
            name=name,
            section=tube.section,
            material=tube.material,
            leg=leg,
            filler=metal,
            forces=forces,
            cases=work.cases,
            angle=angle,
        )
    yield weld_wall(
        name=name,
        section=tube.section,
        material=tube.material,
        forces=forces,
        cases=work.cases,
        angle=angle,
    )
    yield weld_size(name=name, leg=leg, thinner=_thinner(work, tube, end))


def seam(work: Work, tube: Tube, end: int) -> Seam:
    """The weld line of a coped end."""
    part, _ = work.parts.at_end(tube.name, end)
    cut = part.end_b if end else part.end_a
    fork = work.fork_at(tube, end)
    if tube.seats[end].kind is SeatKind.WELD or fork is None:
        host = host_of(work.layout, tube, tube.seats[end])
        if not isinstance(host, Body):
            return seam_on_bend(part, cut.outline, host)
    else:
        host = bung_body(fork)
    return seam_of(part, cut.outline, host.shape.outline, host.axes)


def _thinner(work: Work, tube: Tube, end: int) -> float:
    seat = tube.seats[end]
    if seat.kind is SeatKind.WELD:
        return min(tube.section.wall, work.layout.tubes[seat.on].section.wall)
    return tube.section.wall


def joint(work: Work, tube: Tube, end: int) -> Finding:
    """`tube-joint` of one end that is welded onto another tube."""
    axial, inside, outside = brace_forces(work, tube, end)
    code, pair = work.job.service.code, pair_of(work, tube, end)
    return tube_joint(
        name=f"{tube.name} {'end' if end else 'start'}",
        landing=landing_of(work, tube, end),
        axial=axial,
        in_plane=inside,
        out_of_plane=outside,
        chord_use=chord_use(work, tube, end, code),
        cases=work.cases,
        code=code,
        pair=pair,
        paired=None if pair is None else balanced(work, tube, end, pair),
    )
