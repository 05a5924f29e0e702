"""The checks of one plate with a bolt through it, be it a fork's tab or a hanger."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from soapstone.finding import Finding
from soapstone.parts.layout import ForkPart, HangerPart, material_of
from soapstone.parts.reach import face_towards
from soapstone.parts.sections import RoundTube
from soapstone.parts.tabs import foot_width, hole_of
from soapstone.strength.foot_forces import FootForces, plate_way
from soapstone.strength.landings import used_at
from soapstone.strength.lugs import Plate, lug
from soapstone.strength.pinned_plates import lug_as_lifted
from soapstone.strength.plate_joints import PlateLanding, plate_joint
from soapstone.strength.preload import Tightened, tightening
from soapstone.strength.tab_welds import tab_weld
from soapstone.strength.tabs import edge_distance
from soapstone.strength.welds import weld_size
from soapstone.strength.work import Array, Work
from soapstone.tables import filler

_TABS_NOTE = "tabs count as stiff in the frame"
OILED, WRENCH = 0.10, 1.6
_TORQUE_NOTES = (
    f"friction {OILED:g} of the thread and under the head: oiled, the least of VDI 2230's usual range, "
    "from memory",
    f"scatter {WRENCH:g}: torque wrench, VDI 2230, from memory",
)


def noted(finding: Finding, *notes: str) -> Finding:
    """A finding with more assumptions."""
    return replace(finding, assumed=(*finding.assumed, *notes))


def round_the_hole(
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
    yield noted(
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


def foot_weld(
    work: Work, part: ForkPart | HangerPart, load: FootForces, names: tuple[str, ...], leg: float
) -> Iterator[Finding]:
    """The fillets at a plate's foot: `tab-weld`, `weld-size`; `leg` m is added to them."""
    weld = work.weld(part.name)
    size = None if weld.fillet is None else weld.fillet + leg
    yield tab_weld(
        name=part.name,
        width=foot_width(work.layout, part),
        thickness=part.spec.plate.thickness,
        leg=size,
        filler=filler(weld.filler) if weld.filler else None,
        material=material_of(work.job, part.spec.plate.of),
        load=load,
        cases=names,
    )
    thinner = _thinner(work, part)
    if thinner is not None:
        yield weld_size(name=part.name, leg=size, thinner=thinner)


def _thinner(work: Work, part: ForkPart | HangerPart) -> float | None:
    """The thinner of plate and what it stands on, m; None where that is not known."""
    plate = part.spec.plate.thickness
    tube = work.layout.tubes.get(part.host.on)
    if tube is not None:
        return min(plate, tube.section.wall)
    support = work.job.supports.get(part.host.on)
    if support is not None and support.sheet is not None:
        spreader = support.sheet.spreader or support.sheet.plate
        return min(plate, spreader.thickness)
    return min(plate, support.wall.thickness) if support is not None and support.wall is not None else None


def on_tube(work: Work, part: ForkPart | HangerPart, load: FootForces, names: tuple[str, ...]) -> Finding:
    """`plate-joint` of a plate that stands on a tube; `load` may hold several rows per case."""
    tube, code = work.layout.tubes[part.host.on], work.job.service.code
    arm = (part.pin if isinstance(part, ForkPart) else part.boss) - tube.at(part.host.station)
    _, distance, flat = face_towards(tube.leg(part.host.station), arm)
    is_round = isinstance(tube.section, RoundTube)
    face = 2.0 * distance if is_round else flat + 2.0 * tube.section.outside_corner_radius  # type: ignore[union-attr]
    along, width = plate_way(work, part)
    landing = PlateLanding(
        tube.section,
        tube.material,
        face,
        along,
        width,
        part.spec.plate.thickness,
        min(part.host.station, tube.length - part.host.station),
    )
    used = used_at(work, tube, part.host.station, code)
    return plate_joint(
        name=part.name,
        landing=landing,
        load=load,
        chord_use=np.tile(used, len(names) // len(work.cases)),
        cases=names,
        code=code,
    )


def tightened(part: ForkPart | HangerPart) -> Tightened | None:
    """The part's bolt with the torque that the job gives it."""
    if part.bolt is None or part.spec.torque is None:
        return None
    size, grade = part.bolt
    return Tightened(size, grade, 1, part.spec.torque, OILED, WRENCH, 0.15)


def bolt_torque(part: ForkPart | HangerPart) -> Iterator[Finding]:
    """`tightening` of a fork's or a hanger's bolt, where the job gives its torque."""
    joint = tightened(part)
    if joint is not None:
        yield noted(tightening(name=part.name, joint=joint), *_TORQUE_NOTES)
