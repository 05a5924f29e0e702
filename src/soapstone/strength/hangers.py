"""The checks of hangers: their bolts, their feet and the casting bosses they are screwed to."""

from collections.abc import Iterator

import numpy as np

from soapstone.finding import Finding
from soapstone.job.hardware import Boss
from soapstone.job.places import parse_place
from soapstone.parts.layout import HangerPart, material_of
from soapstone.parts.tabs import boss_of, foot_width, hanger_foot
from soapstone.strength.answers import unanswered
from soapstone.strength.bearing import bearing
from soapstone.strength.bolts import bolt
from soapstone.strength.bosses import boss_burst
from soapstone.strength.foot_forces import hanger_foot_forces, hanger_force
from soapstone.strength.plate_checks import loose
from soapstone.strength.preload import clamping
from soapstone.strength.tab_checks import (
    bolt_torque,
    foot_weld,
    noted,
    on_tube,
    round_the_hole,
    tightened,
)
from soapstone.strength.tabs import tab_bending
from soapstone.strength.threads import engagement, thread
from soapstone.strength.work import Array, Work
from soapstone.tables import head_ring

_THREADS_NOTE = "threads are taken to lie in the shear plane"
_GRIP_NOTE = "friction 0.15 of the clamped faces: oil or paint between them (common practice, no source)"


def hanger_findings(work: Work, hanger: HangerPart, leg: float = 0.0) -> Iterator[Finding]:
    """Everything about a hanger, its bolt, its foot and the boss it is screwed to; `leg` m more of fillet."""
    spec = hanger.spec
    if hanger.bolt is None:
        claim = f"{hanger.name} carries {spec.carries}"
        remedy = f"give {hanger.name} a bolt, like M12 8.8; without it {spec.carries} is loose"
        yield loose(hanger.name, claim, remedy)
        return
    size, grade = hanger.bolt
    force, moment = hanger_force(work, hanger)
    thrust = force @ hanger.axis
    across = force - thrust[:, None] * hanger.axis
    shear = np.linalg.norm(across, axis=1)
    pull, note = _bolt_pull(work, hanger)
    yield noted(
        bolt(
            name=hanger.name,
            size=size,
            grade=grade,
            shear_per_bolt=shear,
            tension=pull,
            planes=1,
            threads_in_plane=True,
            cases=work.cases,
        ),
        _THREADS_NOTE,
        note,
    )
    foot = hanger_foot(work.layout, hanger)
    yield from round_the_hole(work, hanger, across, foot.normal, work.cases)
    load = hanger_foot_forces(work, hanger)
    arm = foot.reach
    tip = np.maximum(load.tip, np.abs(moment @ foot.run))
    yield tab_bending(
        name=hanger.name,
        thickness=spec.plate.thickness,
        width=foot_width(work.layout, hanger),
        arm=arm,
        material=material_of(work.job, spec.plate.of),
        force_out=tip / arm,
        cases=work.cases,
    )
    yield from foot_weld(work, hanger, load, work.cases, leg)
    yield on_tube(work, hanger, load, work.cases)
    yield from bolt_torque(hanger)
    joint = tightened(hanger)
    if joint is not None:
        slip = clamping(name=hanger.name, joint=joint, shear=shear, pull=pull, cases=work.cases)
        yield noted(slip, _GRIP_NOTE)
    yield from _boss(work, hanger, pull, shear)


def _bolt_pull(work: Work, hanger: HangerPart) -> tuple[Array, str]:
    """(n,) N: the thrust, and what the moment that keeps plate and boss square makes the bolt pull."""
    assert hanger.bolt is not None
    force, moment = hanger_force(work, hanger)
    thrust = force @ hanger.axis
    tipping = np.linalg.norm(moment - (moment @ hanger.axis)[:, None] * hanger.axis, axis=1)
    boss = boss_of(work.job, hanger)
    lever = (head_ring(hanger.bolt[0])[0] if boss is None else boss.outside) / 2.0
    where = "the head" if boss is None else "the boss"
    return np.abs(thrust) + tipping / lever, (
        f"what tips the plate on the boss pulls the bolt over the edge of {where}, {1e3 * lever:.3g} mm away"
    )


def _boss(work: Work, hanger: HangerPart, pull: Array, shear: Array) -> Iterator[Finding]:
    """`engagement`, `thread`, `bearing` and `boss-burst` of a boss that the job describes."""
    assert hanger.bolt is not None
    boss = boss_of(work.job, hanger)
    if boss is None:
        return
    size, grade = hanger.bolt
    metal = material_of(work.job, boss.of)
    yield engagement(name=hanger.name, size=size, grade=grade, material=metal, engaged=boss.engaged)
    yield noted(
        thread(
            name=hanger.name,
            size=size,
            grade=grade,
            material=metal,
            engaged=boss.engaged,
            pull=pull,
            cases=work.cases,
        ),
        "only what pulls in service; the preload strips no thread that the engagement check passes",
    )
    yield from _boss_metal(work, hanger, boss, pull, shear)


def _boss_metal(work: Work, hanger: HangerPart, boss: Boss, pull: Array, shear: Array) -> Iterator[Finding]:
    """The casting round the thread: pushed aside by the bolt's shear, split by what its thread wedges."""
    assert hanger.bolt is not None
    size, metal, joint = hanger.bolt[0], material_of(work.job, boss.of), tightened(hanger)
    yield noted(
        bearing(
            name=hanger.name,
            size=size,
            thickness=min(boss.engaged, size.diameter),
            edge=boss.outside / 2.0,
            hole=size.diameter,
            material=metal,
            shear=shear,
            cases=work.cases,
        ),
        "the boss bears the bolt's shear over one bolt diameter of its depth, or less where less is engaged",
    )
    yield boss_burst(
        name=hanger.name,
        size=size,
        outside=boss.outside,
        engaged=boss.engaged,
        material=metal,
        pull=pull,
        joint=joint,
        cases=work.cases,
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
