"""What a fork's foot stands on: bolts through a rail, or thin sheet."""

from collections.abc import Iterator

import numpy as np

from soapstone.finding import Finding
from soapstone.job.hardware import Bolted, PlateStock, Sheet, Support
from soapstone.parts.layout import ForkPart, material_of
from soapstone.strength.answers import unanswered
from soapstone.strength.bearing import bearing
from soapstone.strength.bolts import bolt
from soapstone.strength.foot_forces import ForkLoad
from soapstone.strength.preload import Tightened, clamping, crushing, tightening
from soapstone.strength.sheets import sheet_bending, sheet_tear, spreader
from soapstone.strength.tab_checks import noted
from soapstone.strength.work import Array, Work
from soapstone.tables import clearance_hole, parse_bolt, sources

_TIPPING = "the foot's bolts stand half the tab's width apart; half of them hold the tipping"


def foot_findings(
    work: Work, fork: ForkPart, support: Support, load: ForkLoad, outward: Array
) -> Iterator[Finding]:
    """What a fork's foot stands on: bolts through a rail, or thin sheet."""
    assert fork.bung is not None
    along = load.across @ outward
    aside = load.across - along[:, None] * outward + load.thrust[:, None] * fork.axis
    side = np.linalg.norm(aside, axis=1)
    one, other = np.split(load.on_tabs @ outward, 2)
    apart = fork.bung.length + 2.0 * fork.spec.gap + fork.spec.plate.thickness
    twisted = np.linalg.norm(load.moment, axis=1)
    tipping = side * fork.spec.reach + np.abs(one - other) * apart / 2.0 + twisted
    if support.bolted is not None:
        yield from _bolted_foot(work, fork, support, support.bolted, along, side, tipping)
    if support.sheet is not None:
        yield from _sheet_foot(work, fork, support.sheet, np.abs(along), tipping)


def _bolted_foot(
    work: Work,
    fork: ForkPart,
    support: Support,
    bolted: Bolted,
    along: Array,
    side: Array,
    tipping: Array,
) -> Iterator[Finding]:
    """`tightening`, `clamping`, `bolt`, `preload`, `bearing` of the bolts that hold a foot on its rail."""
    size, grade = parse_bolt(bolted.bolt)
    count, name = int(bolted.count), f"{fork.name} foot"
    joint = Tightened(size, grade, count, bolted.torque, bolted.friction, bolted.scatter, bolted.grip)
    pull = np.maximum(along, 0.0) / count + tipping / (fork.spec.width / 2.0 * max(1, count // 2))
    yield tightening(name=name, joint=joint)
    yield noted(clamping(name=name, joint=joint, shear=side / count, pull=pull, cases=work.cases), _TIPPING)
    yield noted(
        bolt(
            name=name,
            size=size,
            grade=grade,
            shear_per_bolt=side / count,
            tension=pull,
            planes=1,
            threads_in_plane=True,
            cases=work.cases,
        ),
        _TIPPING,
        "as if the clamping did not help: what is left when the faces have slipped",
    )
    if support.hollow == "yes":
        yield from _hollow(work, name, fork.spec.on, support, bolted, joint)
    elif support.hollow is None:
        claim = "the rail bears the preload of the bolt through it"
        missing = f"say whether {fork.spec.on} is hollow: hollow: yes, with its wall, or hollow: no"
        yield unanswered(f"preload:{name}", claim, missing, source="common practice, no source")
    if support.wall is not None:
        yield _bearing(work, name, support.wall, bolted, side / count)


def _bearing(work: Work, name: str, wall: PlateStock, bolted: Bolted, shear: Array) -> Finding:
    size, _ = parse_bolt(bolted.bolt)
    hole = clearance_hole(size.name)
    found = bearing(
        name=name,
        size=size,
        thickness=wall.thickness,
        edge=2.0 * size.diameter if bolted.edge is None else bolted.edge,
        hole=hole.diameter,
        material=material_of(work.job, wall.of),
        shear=shear,
        cases=work.cases,
        countersink=bolted.countersink or 0.0,
    )
    notes = [f"hole of {1e3 * hole.diameter:.4g} mm: {hole.fit} clearance, {sources()[hole.source].title}"]
    if bolted.edge is None:
        notes.append("the rail's edge is twice the bolt's diameter from each hole: give bolted its edge")
    return noted(found, *notes)


def _hollow(
    work: Work, name: str, rail: str, support: Support, bolted: Bolted, joint: Tightened
) -> Iterator[Finding]:
    if support.wall is None:
        claim = "the hollow rail bears the preload of the bolt through it"
        missing = f"give {rail} its wall, like wall: 2.5 mm S235"
        yield unanswered(f"preload:{name}", claim, missing, source="common practice, no source")
        return
    tube = None if bolted.crush_tube is None else (bolted.crush_tube[0], bolted.crush_tube[1])
    yield crushing(
        name=name,
        joint=joint,
        wall=support.wall.thickness,
        material=material_of(work.job, support.wall.of),
        tube=tube,
        tube_material=material_of(work.job, bolted.crush_tube_of) if bolted.crush_tube_of else None,
    )


def _sheet_foot(work: Work, fork: ForkPart, sheet: Sheet, push: Array, tipping: Array) -> Iterator[Finding]:
    spec = fork.spec
    assert fork.bung is not None
    metal = material_of(work.job, sheet.plate.of)
    own = (spec.width, fork.bung.length if spec.tabs == "2" else spec.plate.thickness)
    foot, depth = own if sheet.spreader_size is None else (sheet.spreader_size, sheet.spreader_size)
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
        moment=tipping,
        cases=work.cases,
        spread=sheet.spreader is not None,
    )
    if sheet.spreader is not None and sheet.spreader_size is not None:
        yield spreader(
            name=fork.name,
            size=sheet.spreader_size,
            foot=min(own),
            thickness=sheet.spreader.thickness,
            material=material_of(work.job, sheet.spreader.of),
            push=push + 6.0 * tipping / sheet.spreader_size,
            cases=work.cases,
        )
