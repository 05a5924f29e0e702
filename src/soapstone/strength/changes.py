"""What could be changed about a link: a heavier tube, a longer leg, a thicker plate, another bolt."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from soapstone.finding import Finding
from soapstone.parts.layout import ForkPart, HangerPart, Layout, Tube
from soapstone.quantity.gauges import gauges
from soapstone.strength.answers import length_words
from soapstone.strength.members import with_wall
from soapstone.strength.shapes import RectangularTubeLike
from soapstone.tables import BoltClass, BoltSize, bolt_classes, bolt_sizes

MORE = 1e-3
"""m more of a fillet's leg or a plate's thickness."""
WALLS = tuple(1e-3 * wall for wall in (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0))
"""Walls, m, that metric tube is sold with (EN 10305-3 and EN 10219-2, from memory)."""
_SAME_WALL = 2e-5
_PLATE = frozenset({"lug", "lug-lifting", "tab-bending", "tab-weld"})
_BOLT = frozenset({"bolt", "bolt-bending"})
_HOST = frozenset({"tube-joint", "plate-joint"})


@dataclass(frozen=True)
class Change:
    """One change.

    Attributes
    ----------
    part : str
        What it is a change of.
    words : str
    layout : Layout
        The job's parts after it.
    anew : bool
        Whether parts are cut and the frame is solved anew; else the forces stay.
    leg : float
        m more of the part's fillets.
    """

    part: str
    words: str
    layout: Layout
    anew: bool = False
    leg: float = 0.0


def part_of(about: str) -> str:
    """The part that an end or a foot belongs to."""
    return about.removesuffix(" start").removesuffix(" end").removesuffix(" foot")


def changes_for(layout: Layout, finding: Finding) -> Iterator[Change]:
    """The smallest changes that could help what a finding is about."""
    name = part_of(finding.about)
    kind = finding.kind
    part = layout.forks.get(name) or layout.hangers.get(name)
    if kind in ("weld", "tab-weld"):
        yield Change(name, f"1 mm more leg at {finding.about}", layout, leg=MORE)
    if kind in _HOST:
        host = part.host.on if part else layout.tubes[name].seats[int(finding.about.endswith(" end"))].on
        yield from _heavier(layout, layout.tubes[host])
    elif name in layout.tubes and kind != "weld":
        yield from _heavier(layout, layout.tubes[name])
    elif part is not None and kind in _PLATE:
        yield _thicker(layout, part)
    elif part is not None and kind == "clamping" and finding.about == name:
        yield from _harder(layout, part)
    elif part is not None and kind in _BOLT and finding.about == name:
        yield from _bolts(layout, part)


def heavier_wall(wall: float) -> float | None:
    """The next thicker wall m of the scale that a wall belongs to: Birmingham gauges, else metric ones."""
    inch = sorted(float(row.inch) * 0.0254 for (scale, _), row in gauges().items() if scale == "BWG")
    scale = inch if any(abs(wall - other) < _SAME_WALL for other in inch) else WALLS
    return next((other for other in scale if other > wall + _SAME_WALL), None)


def _heavier(layout: Layout, tube: Tube) -> Iterator[Change]:
    section, wall = tube.section, heavier_wall(tube.section.wall)
    rectangular = isinstance(section, RectangularTubeLike)
    room = min(section.width, section.height) if rectangular else section.outside_diameter  # type: ignore[union-attr]
    rounded = section.outside_corner_radius / section.wall if rectangular else 1.0  # type: ignore[union-attr]
    if wall is None or 2.0 * wall * max(1.0, rounded) >= room:
        return
    thick = replace(tube, section=with_wall(section, wall))  # type: ignore[arg-type]
    changed = replace(layout, tubes={**layout.tubes, tube.name: thick})
    yield Change(tube.name, f"{tube.name} with a wall of {length_words(wall)}", changed, anew=True)


def _thicker(layout: Layout, part: ForkPart | HangerPart) -> Change:
    plate = part.spec.plate
    thick = plate.model_copy(update={"thickness": plate.thickness + MORE})
    words = f"{part.name} of {1e3 * thick.thickness:.4g} mm plate"
    hangs = isinstance(part, HangerPart)  # its plate is a beam of the frame
    return Change(part.name, words, _with(layout, part, thick), anew=hangs)


def _with(layout: Layout, part: ForkPart | HangerPart, plate: object) -> Layout:
    if isinstance(part, ForkPart):
        fork = replace(part, spec=part.spec.model_copy(update={"plate": plate}))
        return replace(layout, forks={**layout.forks, part.name: fork})
    hanger = replace(part, spec=part.spec.model_copy(update={"plate": plate}))
    return replace(layout, hangers={**layout.hangers, part.name: hanger})


def _bolts(layout: Layout, part: ForkPart | HangerPart) -> Iterator[Change]:
    assert part.bolt is not None
    size, grade = part.bolt
    larger, stronger = _next_size(size), _next_class(grade)
    for bolt in ((larger, grade), (size, stronger)):
        if bolt[0] is not None and bolt[1] is not None:
            changed = _bolted(layout, part, (bolt[0], bolt[1]))
            words = f"{part.name} with {bolt[0].name} {bolt[1].name}"
            yield Change(part.name, words, changed)


def _harder(layout: Layout, part: ForkPart | HangerPart) -> Iterator[Change]:
    """A stronger bolt, tightened harder by as much as its yield is higher."""
    assert part.bolt is not None and part.spec.torque is not None
    size, grade = part.bolt
    stronger = _next_class(grade)
    if stronger is None or isinstance(part, ForkPart):
        return
    torque = part.spec.torque * stronger.yield_strength / grade.yield_strength
    spec = part.spec.model_copy(update={"torque": torque})
    hanger = replace(part, bolt=(size, stronger), spec=spec)
    changed = replace(layout, hangers={**layout.hangers, part.name: hanger})
    words = f"{part.name} with {size.name} {stronger.name} at {torque:.0f} N·m"
    yield Change(part.name, words, changed)


def _bolted(layout: Layout, part: ForkPart | HangerPart, bolt: tuple[BoltSize, BoltClass]) -> Layout:
    if isinstance(part, ForkPart):
        return replace(layout, forks={**layout.forks, part.name: replace(part, bolt=bolt)})
    return replace(layout, hangers={**layout.hangers, part.name: replace(part, bolt=bolt)})


def _next_size(size: BoltSize) -> BoltSize | None:
    larger = [s for s in bolt_sizes() if s.metric == size.metric and s.coarse and s.diameter > size.diameter]
    return min(larger, key=lambda s: s.diameter, default=None)


def _next_class(grade: BoltClass) -> BoltClass | None:
    stronger = [
        g
        for g in bolt_classes()
        if g.system == grade.system and g.stocked and g.ultimate_strength > grade.ultimate_strength
    ]
    return min(stronger, key=lambda g: g.ultimate_strength, default=None)
