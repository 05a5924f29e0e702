"""The plates that a job lists: outlines built or read, strips laid flat, walls for their cut-outs."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from soapstone.errors import GeometryError
from soapstone.job.csv_readings import read_beside
from soapstone.job.schema import Job
from soapstone.job.shop_parts import CutOut, PlateHole, PlatePart
from soapstone.parts import contour as outlines
from soapstone.parts.contour import Contour, Point
from soapstone.parts.contours import gusset, rectangle, slot
from soapstone.parts.outline_in import OutlineIn, read_outline
from soapstone.parts.plates import BendLine, Hole, PlateOutline
from soapstone.parts.sheet_bend import Flat, Fold, flat_strip, fold_order, setback
from soapstone.parts.strokes import MARK_HEIGHT, width_of
from soapstone.parts.tabs import Plate
from soapstone.tables import bolt_size, clearance_hole

LARGEST_OUTLINE = 20_000_000
"""Bytes of a DXF file that is still read."""


@dataclass(frozen=True)
class MadePlate:
    """A plate of the job as it is cut.

    Attributes
    ----------
    plate : Plate
        Its flat outline, material and number.
    spec : PlatePart
    flat : Flat or None
        Of a folded strip.
    folds : tuple of Fold
    source : OutlineIn or None
        What the user's file held.
    sinks : tuple of (Hole, float)
        Countersunk holes with the diameter at the face, m.
    wall_of : str
        The plate whose cut-out it lines; empty for a plate of its own.
    """

    plate: Plate
    spec: PlatePart
    flat: Flat | None = None
    folds: tuple[Fold, ...] = ()
    source: OutlineIn | None = None
    sinks: tuple[tuple[Hole, float], ...] = ()
    wall_of: str = ""

    @property
    def name(self) -> str:
        """Its mark, and the name of its file."""
        return self.plate.name


def plate_parts(job: Job) -> tuple[MadePlate, ...]:
    """Every plate of the job and every inner wall, in the job's order; reads the outlines it names.

    Raises
    ------
    GeometryError
        A plate that cannot be made, by its name.
    """
    return tuple(made for name, spec in job.plates.items() for made in _made(name, spec, job.folder))


def _made(name: str, spec: PlatePart, folder: Path) -> Iterator[MadePlate]:
    source = None if spec.outline is None else _read(name, spec, folder)
    flat, folds = _flat(name, spec)
    holes, slots, sinks = _holes(name, spec, flat)
    cutouts = [*slots, *(_window(name, cut) for cut in spec.cut_outs)]
    if source is not None:
        holes, cutouts = [*source.holes, *holes], [*source.cutouts, *cutouts]
    contour = source.contour if source is not None else _contour(name, spec, flat)
    outline = PlateOutline(name, contour, tuple(holes), spec.plate.thickness, cutouts=tuple(cutouts))
    lines = () if flat is None else _bend_lines(spec, flat, folds)
    outline = _marked(replace(outline, bend_lines=lines), spec)
    plate = Plate(outline, spec.plate.of, spec.quantity, (spec.what or name,))
    yield MadePlate(plate, spec, flat, folds, source, tuple(sinks))
    for number, cut in enumerate((cut for cut in spec.cut_outs if cut.wall is not None), 1):
        yield _wall(f"{name}-wall-{number}", name, spec, cut)


def _read(name: str, spec: PlatePart, folder: Path) -> OutlineIn:
    assert spec.outline is not None
    try:
        data = read_beside(folder, spec.outline, LARGEST_OUTLINE)
        if len(data) > LARGEST_OUTLINE:
            raise ValueError(f"{spec.outline} is larger than {LARGEST_OUTLINE / 1e6:.0f} MB")
        return read_outline(data, spec.unit)
    except GeometryError as error:
        raise GeometryError(f"{spec.outline}: {error.what}", where=name, remedy=error.remedy) from None
    except ValueError as error:
        raise GeometryError(str(error), where=name) from None


def _contour(name: str, spec: PlatePart, flat: Flat | None) -> Contour:
    if flat is not None:
        assert spec.strip is not None
        return rectangle(name, flat.length, spec.strip, at=(flat.length / 2.0, 0.0))
    if spec.gusset is not None:
        angle = math.pi / 2.0 if spec.angle is None else spec.angle
        along, up = spec.gusset
        return gusset(name, along, up, spec.clip, spec.nose, angle)
    assert spec.rectangle is not None
    width, height = spec.rectangle
    if 2.0 * spec.corners > min(width, height):
        raise GeometryError("its corners are rounder than its smaller side allows", where=name)
    return rectangle(name, width, height, spec.corners)


def _flat(name: str, spec: PlatePart) -> tuple[Flat | None, tuple[Fold, ...]]:
    if spec.strip is None:
        return None, ()
    assert spec.inside_radius is not None
    folds = tuple(Fold(angle, spec.inside_radius) for angle in spec.folds)
    return flat_strip(name, spec.legs, folds, spec.plate.thickness, spec.k_factor), folds


def _bend_lines(spec: PlatePart, flat: Flat, folds: tuple[Fold, ...]) -> tuple[BendLine, ...]:
    assert spec.strip is not None
    half, order = spec.strip / 2.0, fold_order(flat)
    return tuple(
        BendLine((at, -half), (at, half), fold.angle, fold.radius, order.index(row) + 1)
        for row, (at, fold) in enumerate(zip(flat.lines, folds, strict=True))
    )


def _holes(
    name: str, spec: PlatePart, flat: Flat | None
) -> tuple[list[Hole], list[Contour], list[tuple[Hole, float]]]:
    holes: list[Hole] = []
    slots: list[Contour] = []
    sinks: list[tuple[Hole, float]] = []
    for one in spec.holes:
        centre, diameter = _centre(name, spec, one, flat), hole_diameter(one)
        if one.slot is not None:
            slots.append(slot(centre, diameter, one.slot, one.slot_at))
            continue
        holes.append(Hole(centre, diameter))
        if one.countersink is not None:
            if one.countersink <= diameter:
                raise GeometryError("a countersink is larger than its hole", where=name)
            sinks.append((holes[-1], one.countersink))
    return holes, slots, sinks


def hole_diameter(hole: PlateHole) -> float:
    """m: as given, or the medium clearance hole of its bolt."""
    if hole.diameter is not None:
        return hole.diameter
    assert hole.for_ is not None
    return clearance_hole(bolt_size(hole.for_)).diameter


def _centre(name: str, spec: PlatePart, hole: PlateHole, flat: Flat | None) -> Point:
    """Where a hole lies on the flat plate; in a strip from the outside corner that its leg starts at."""
    x, y = hole.at
    if flat is None:
        return x, y
    assert hole.leg is not None and spec.inside_radius is not None
    row = hole.leg - 1
    if row == 0:
        return x, y
    back = setback(spec.inside_radius, spec.plate.thickness, abs(spec.folds[row - 1]))
    return flat.zones[row - 1][1] + x - back, y


def _window(name: str, cut: CutOut) -> Contour:
    width, height = cut.size
    return rectangle(name, width, height, cut.corners, cut.at)


def _wall(name: str, owner: str, spec: PlatePart, cut: CutOut) -> MadePlate:
    """The strip that lines a cut-out: bent round its corners on the inside of the opening, butted on a side.

    Its outer face lies on the opening, so that the outside radius of its bends is the corner's. It starts
    and ends in the middle of the opening's first side.
    """
    assert cut.wall is not None and cut.inner_wall is not None
    thick, radius = cut.wall.thickness, cut.corners - cut.wall.thickness
    width, height = cut.size
    # legs over the outside, to the sharp corners: half the first side, three whole ones, the other half
    legs = (width / 2.0, height, width, height, width / 2.0)
    folds = tuple(Fold(math.pi / 2.0, radius) for _ in range(4))
    flat = flat_strip(name, legs, folds, thick, spec.k_factor or (0.5 if radius == 0.0 else None))
    own = PlatePart.model_construct(
        what=f"inner wall of {owner}",
        plate=cut.wall,
        quantity=spec.quantity,
        strip=cut.inner_wall,
        legs=legs,
        folds=(math.pi / 2.0,) * 4,
        inside_radius=radius,
        k_factor=spec.k_factor,
        cut_by=spec.cut_by,
        etch=spec.etch,
        holes=(),
        cut_outs=(),
    )
    contour = rectangle(name, flat.length, cut.inner_wall, at=(flat.length / 2.0, 0.0))
    outline = PlateOutline(name, contour, (), thick, bend_lines=_bend_lines(own, flat, folds))
    plate = Plate(_marked(outline, own), cut.wall.of, spec.quantity, (f"cut-out of {owner}",))
    return MadePlate(plate, own, flat, folds, wall_of=owner)


def _marked(outline: PlateOutline, spec: PlatePart) -> PlateOutline:
    """The plate with its name etched where it lies clear of every edge; without where there is no room."""
    if spec.etch == "no":
        return outline
    wide, tall, clear = width_of(outline.name, MARK_HEIGHT), MARK_HEIGHT, 2e-3
    left, bottom, right, top = outline.bounds
    step = 4e-3
    for row in range(max(1, int((top - bottom) / step))):
        for column in range(max(1, int((right - left) / step))):
            at = left + clear + column * step, bottom + clear + row * step
            if _room(outline, at, wide, tall, clear):
                return replace(outline, mark=outline.name, mark_at=at)
    return outline


def _room(outline: PlateOutline, at: Point, wide: float, tall: float, clear: float) -> bool:
    """Whether a box lies inside the plate, clear of every edge and every fold."""
    x, y = at
    count = max(2, math.ceil(wide / clear))
    spots = [(x + wide * i / count, y + tall * j / 2.0) for i in range(count + 1) for j in range(3)]
    edges = [outline.contour, *(hole.contour for hole in outline.holes), *outline.cutouts]
    if any(outlines.distance(edge, spot) < clear for edge in edges for spot in spots):
        return False
    if any(line.start[0] - clear < x + wide and x < line.start[0] + clear for line in outline.bend_lines):
        return False
    return outlines.encloses(outline.contour, at) and not any(
        outlines.encloses(edge, at) for edge in edges[1:]
    )
