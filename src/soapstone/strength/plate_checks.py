"""The checks of plates and their bolts: forks, hangers, what their feet stand on, and casting bosses."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.job.hardware import Bolted, Support
from soapstone.job.places import parse_place
from soapstone.parts.layout import ForkPart, HangerPart, material_of
from soapstone.parts.tabs import foot_width, hole_of
from soapstone.strength.answers import unanswered
from soapstone.strength.bearing import bearing
from soapstone.strength.bolts import bolt
from soapstone.strength.lugs import Plate, lug
from soapstone.strength.pinned_plates import lug_as_lifted
from soapstone.strength.pins import bolt_bending
from soapstone.strength.preload import Tightened, clamping, crushing, tightening
from soapstone.strength.sheets import sheet_bending, sheet_tear
from soapstone.strength.tab_welds import tab_weld
from soapstone.strength.tabs import edge_distance, tab_bending
from soapstone.strength.threads import engagement, thread
from soapstone.strength.work import Array, Work
from soapstone.tables import filler, parse_bolt

_THREADS_NOTE = "threads are taken to lie in the shear plane"
_SHARE_NOTE = "the more loaded tab's share is taken for both"
_TABS_NOTE = "tabs count as stiff in the frame"


@dataclass(frozen=True)
class FootLoad:
    """What a fork puts on its foot (n_cases, 3), vehicle axes: the whole force at its bolt, N.

    `across` is the part square to the bolt, `thrust` (n_cases,) the part along it; `on_tabs` (2 n_cases, 3)
    are the shares of its two tabs, one after the other.
    """

    across: Array
    thrust: Array
    on_tabs: Array


def loose_fork(fork: ForkPart) -> Iterator[Finding]:
    """`loose`, for a fork without a bolt or with nothing in it."""
    held = f"{fork.holds[0]} {fork.holds[1]}" if fork.holds else "anything"
    missing = "a bolt, like M12 10.9" if fork.bolt is None else "a bung to hold"
    remedy = f"give {fork.name} {missing}; without it {held} is loose"
    yield loose(fork.name, f"{fork.name} holds {held}", remedy)


def loose(name: str, claim: str, remedy: str) -> Finding:
    """`loose:NAME`, open."""
    return Finding(
        id=f"loose:{name}", about=name, claim=claim, verdict=Verdict.OPEN, source="statics", remedy=remedy
    )


def _with(finding: Finding, *notes: str) -> Finding:
    return replace(finding, assumed=(*finding.assumed, *notes))


def fork_load(work: Work, fork: ForkPart) -> FootLoad:
    """Forces at a fork's bolt."""
    assert fork.bung is not None
    member, end = work.idealised.pins[fork.name]
    axes = work.idealised.frame.geometry.axes[member]
    six = -work.solution.end_forces[:, member, 6 * end : 6 * end + 6]
    force, moment = six[:, :3] @ axes, six[:, 3:] @ axes
    thrust = force @ fork.axis
    across = force - thrust[:, None] * fork.axis
    tabs = 1 if fork.spec.tabs == "1" else 2
    apart = fork.bung.length + 2.0 * fork.spec.gap + fork.spec.plate.thickness
    couple = np.cross(fork.axis, moment) / apart if tabs == 2 else np.zeros_like(moment)
    return FootLoad(across, thrust, np.concatenate([across / tabs + couple, across / tabs - couple]))


def fork_findings(work: Work, fork: ForkPart, leg: float = 0.0) -> Iterator[Finding]:
    """Everything about a fork, its bolt and its foot; `leg` m is added to its fillets."""
    assert fork.bolt is not None and fork.bung is not None
    size, grade = fork.bolt
    spec, load = fork.spec, fork_load(work, fork)
    tabs = 1 if spec.tabs == "1" else 2
    worst = np.linalg.norm(load.on_tabs.reshape(2, -1, 3), axis=2).max(axis=0)
    yield _with(
        bolt(
            name=fork.name,
            size=size,
            grade=grade,
            shear_per_bolt=tabs * worst,
            tension=np.abs(load.thrust),
            planes=tabs,
            threads_in_plane=True,
            cases=work.cases,
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
            force=np.linalg.norm(load.across, axis=1),
            outer=spec.plate.thickness,
            gap=spec.gap,
            inner=fork.bung.length,
            threads_in_span=True,
            cases=work.cases,
        ),
        _TABS_NOTE,
    )
    outward = work.layout.foot_to_hole(fork)
    names = tuple(f"{case}, {side} tab" for side in ("one", "other") for case in work.cases)
    yield from _tab(work, fork, load.on_tabs, outward, names)
    yield tab_bending(
        name=fork.name,
        thickness=spec.plate.thickness,
        width=foot_width(work.layout, fork),
        arm=spec.reach,
        material=material_of(work.job, spec.plate.of),
        force_out=load.thrust,
        cases=work.cases,
    )
    support = work.job.supports.get(spec.on)
    if support is None or support.bolted is None:
        yield _tab_weld(work, fork, load.on_tabs, np.tile(load.thrust, 2), outward, spec.reach, names, leg)
    if support is not None:
        yield from _foot(work, fork, support, load, outward)


def _tab(
    work: Work, part: ForkPart | HangerPart, on_tabs: Array, outward: Array, names: tuple[str, ...]
) -> Iterator[Finding]:
    """The plate round the hole: `lug`, `lug-lifting`, `edge-distance`."""
    assert part.bolt is not None
    spec, size = part.spec, part.bolt[0]
    metal = material_of(work.job, spec.plate.of)
    hole, edge = hole_of(part) or size.diameter, spec.end or spec.width / 2.0
    along = on_tabs @ outward
    across = np.linalg.norm(on_tabs - along[:, None] * outward, axis=1)
    width = min(spec.width, 2.0 * edge)
    yield _with(
        lug(
            name=part.name,
            thickness=spec.plate.thickness,
            width=width,
            hole=hole,
            pin=size.diameter,
            edge=edge,
            material=metal,
            force_along=along,
            force_across=across,
            cases=names,
            share=1.0,
        ),
        _TABS_NOTE,
    )
    yield lug_as_lifted(
        name=part.name,
        plate=Plate(spec.plate.thickness, width, hole, size.diameter, edge),
        material=metal,
        force_along=along,
        force_across=across,
        cases=names,
    )
    yield edge_distance(name=part.name, hole=hole, nearest_edge=min(edge, spec.width / 2.0))


def _tab_weld(
    work: Work,
    part: ForkPart | HangerPart,
    on_tabs: Array,
    thrust: Array,
    outward: Array,
    reach: float,
    names: tuple[str, ...],
    leg: float,
) -> Finding:
    weld = work.weld(part.name)
    along = on_tabs @ outward
    return tab_weld(
        name=part.name,
        width=foot_width(work.layout, part),
        thickness=part.spec.plate.thickness,
        reach=reach,
        leg=None if weld.fillet is None else weld.fillet + leg,
        filler=filler(weld.filler) if weld.filler else None,
        material=material_of(work.job, part.spec.plate.of),
        along=along,
        across=np.linalg.norm(on_tabs - along[:, None] * outward, axis=1),
        out=thrust,
        cases=names,
    )


def _foot(work: Work, fork: ForkPart, support: Support, load: FootLoad, outward: Array) -> Iterator[Finding]:
    """What a fork's foot stands on: bolts through a rail, or thin sheet."""
    along = load.across @ outward
    aside = load.across - along[:, None] * outward + load.thrust[:, None] * fork.axis
    side = np.linalg.norm(aside, axis=1)
    if support.bolted is not None:
        yield from _bolted_foot(work, fork, support, support.bolted, along, side)
    if support.sheet is not None:
        yield from _sheet_foot(work, fork, support, np.abs(along), side * fork.spec.reach)


def _bolted_foot(
    work: Work, fork: ForkPart, support: Support, bolted: Bolted, along: Array, side: Array
) -> Iterator[Finding]:
    """`tightening`, `clamping`, `preload`, `bearing` of the bolts that hold a foot on its rail."""
    assert fork.bung is not None
    size, grade = parse_bolt(bolted.bolt)
    count = int(bolted.count)
    joint = Tightened(size, grade, count, bolted.torque, bolted.friction, bolted.scatter, bolted.grip)
    spread = fork.spec.width / 2.0
    pull = np.maximum(along, 0.0) / count + side * fork.spec.reach / (spread * max(1, count // 2))
    yield tightening(name=fork.name, joint=joint)
    yield _with(
        clamping(name=fork.name, joint=joint, shear=side / count, pull=pull, cases=work.cases),
        "the foot's bolts stand half the tab's width apart; half of them hold the tipping",
    )
    if support.hollow == "yes":
        yield from _hollow(work, fork, support, bolted, joint)
    elif support.hollow is None:
        claim = "the rail bears the preload of the bolt through it"
        missing = f"say whether {fork.spec.on} is hollow: hollow: yes, with its wall, or hollow: no"
        yield unanswered(f"preload:{fork.name}", claim, missing, source="common practice, no source")
    if support.wall is not None:
        yield bearing(
            name=fork.name,
            size=size,
            thickness=support.wall.thickness,
            edge=2.0 * size.diameter,
            hole=1.1 * size.diameter,
            material=material_of(work.job, support.wall.of),
            shear=side / count,
            cases=work.cases,
        )


def _hollow(
    work: Work, fork: ForkPart, support: Support, bolted: Bolted, joint: Tightened
) -> Iterator[Finding]:
    if support.wall is None:
        claim = "the hollow rail bears the preload of the bolt through it"
        missing = f"give {fork.spec.on} its wall, like wall: 2.5 mm S235"
        yield unanswered(f"preload:{fork.name}", claim, missing, source="common practice, no source")
        return
    tube = None if bolted.crush_tube is None else (bolted.crush_tube[0], bolted.crush_tube[1])
    yield crushing(
        name=fork.name,
        joint=joint,
        wall=support.wall.thickness,
        material=material_of(work.job, support.wall.of),
        tube=tube,
        tube_material=material_of(work.job, bolted.crush_tube_of) if bolted.crush_tube_of else None,
    )


def _sheet_foot(
    work: Work, fork: ForkPart, support: Support, push: Array, moment: Array
) -> Iterator[Finding]:
    sheet, spec = support.sheet, fork.spec
    assert sheet is not None and fork.bung is not None
    metal = material_of(work.job, sheet.plate.of)
    foot = spec.width if sheet.spreader_size is None else sheet.spreader_size
    depth = fork.bung.length if sheet.spreader_size is None else sheet.spreader_size
    yield sheet_tear(
        name=fork.name,
        width=foot,
        foot=depth,
        thickness=sheet.plate.thickness,
        material=metal,
        pull=push,
        cases=work.cases,
    )
    yield sheet_bending(
        name=fork.name,
        foot=min(foot, depth),
        thickness=sheet.plate.thickness,
        free=sheet.free,
        material=metal,
        push=push,
        moment=moment,
        cases=work.cases,
        spread=sheet.spreader is not None,
    )


def hanger_findings(work: Work, hanger: HangerPart, leg: float = 0.0) -> Iterator[Finding]:
    """Everything about a hanger, its bolt, its foot and the boss it is screwed to."""
    spec = hanger.spec
    if hanger.bolt is None:
        claim = f"{hanger.name} carries {spec.carries}"
        remedy = f"give {hanger.name} a bolt, like M12 8.8; without it {spec.carries} is loose"
        yield loose(hanger.name, claim, remedy)
        return
    size, grade = hanger.bolt
    member = work.idealised.hangers[hanger.name]
    axes = work.idealised.frame.geometry.axes[member]
    force = work.solution.end_forces[:, member, 6:9] @ axes
    thrust = force @ hanger.axis
    across = force - thrust[:, None] * hanger.axis
    outward = (hanger.boss - hanger.foot) / np.linalg.norm(hanger.boss - hanger.foot)
    arm = float(work.idealised.frame.geometry.lengths[member])
    yield _with(
        bolt(
            name=hanger.name,
            size=size,
            grade=grade,
            shear_per_bolt=np.linalg.norm(across, axis=1),
            tension=np.abs(thrust),
            planes=1,
            threads_in_plane=True,
            cases=work.cases,
        ),
        _THREADS_NOTE,
    )
    yield from _tab(work, hanger, across, outward, work.cases)
    yield tab_bending(
        name=hanger.name,
        thickness=spec.plate.thickness,
        width=foot_width(work.layout, hanger),
        arm=arm,
        material=material_of(work.job, spec.plate.of),
        force_out=thrust,
        cases=work.cases,
    )
    yield _tab_weld(work, hanger, across, thrust, outward, arm, work.cases, leg)
    yield from _boss(work, hanger, thrust)


def _boss(work: Work, hanger: HangerPart, thrust: Array) -> Iterator[Finding]:
    """`engagement` and `thread` of a boss that the job describes."""
    assert hanger.bolt is not None
    place = parse_place(hanger.spec.carries)
    boss = work.job.bodies[hanger.body].bosses.get(place.point or "")
    if boss is None:
        return
    size, grade = hanger.bolt
    metal = material_of(work.job, boss.of)
    yield engagement(name=hanger.name, size=size, grade=grade, material=metal, engaged=boss.engaged)
    yield _with(
        thread(
            name=hanger.name,
            size=size,
            grade=grade,
            material=metal,
            engaged=boss.engaged,
            pull=np.abs(thrust),
            cases=work.cases,
        ),
        "only what pulls in service; the preload strips no thread that the engagement check passes",
    )


def boss_gaps(work: Work) -> Iterator[Finding]:
    """One `boss` finding per hung body whose bosses the job does not describe."""
    for name, body in work.job.bodies.items():
        if name not in work.idealised.bodies:
            continue
        used = {
            parse_place(h.spec.carries).point
            for h in work.layout.hangers.values()
            if h.body == name and h.bolt is not None
        }
        missing = sorted(point for point in used if point and point not in body.bosses)
        if missing:
            yield unanswered(
                f"boss:{name}",
                f"the bosses of {name} stand what its bolts pull",
                f"give {name} bosses with their metal, thread length and diameter: {', '.join(missing)}",
                source="common practice, no source",
            )
