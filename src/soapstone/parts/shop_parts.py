"""What the job makes beside its frame, and whether a cutter and a press can make it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import shapely

from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.job.schema import Job
from soapstone.parts import contour as outlines
from soapstone.parts.folded_tube import FoldedPart, fold_tube
from soapstone.parts.layout import section_of
from soapstone.parts.plate_parts import MadePlate, plate_parts
from soapstone.parts.plates import PlateOutline
from soapstone.parts.sections import RectangularTube
from soapstone.parts.turned import TurnedMade, fit_findings, turned_parts
from soapstone.tables.fits import fold_rule, process

_CHORD = 1e-5  # m: a tenth of what a cutter holds
_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class ShopParts:
    """Plates, folded tubes and turned parts of a job, in its order."""

    plates: tuple[MadePlate, ...]
    folded: tuple[FoldedPart, ...]
    turned: tuple[TurnedMade, ...]


def shop_parts(job: Job) -> ShopParts:
    """Make them all; reads the outlines that the job names.

    Raises
    ------
    GeometryError
        A part that cannot be made, by its name.
    """
    folded = []
    for name, spec in job.folded.items():
        tube = section_of(job.stock[spec.stock])
        assert isinstance(tube, RectangularTube)
        if spec.deep == "across":
            tube = replace(tube, width=tube.height, height=tube.width)
        folds = [(fold.angle, fold.to) for fold in spec.folds]
        folded.append(fold_tube(name, tube, spec.legs, folds, spec.kerf, nose=spec.nose == "yes"))
    return ShopParts(plate_parts(job), tuple(folded), turned_parts(job))


def shop_findings(parts: ShopParts) -> tuple[Finding, ...]:
    """Every finding about them; pure."""
    found: list[Finding] = []
    for made in parts.plates:
        if made.source is not None:
            found.append(_outline(made))
        found += _cut(made)
        found += _folds(made)
    found += [_hinge(part) for part in parts.folded if part.wedges]
    return (*found, *fit_findings(parts.turned))


def _outline(made: MadePlate) -> Finding:
    source = made.source
    assert source is not None
    differ = [note for note in source.notes if "the job's counts" in note]
    left, bottom, right, top = made.plate.outline.bounds
    size = f"{1e3 * (right - left):.3f} x {1e3 * (top - bottom):.3f} mm"
    told = [f"Left off: {'; '.join(source.left_off)}."] if source.left_off else []
    told += [f"{note[0].upper()}{note[1:]}." for note in source.notes if note not in differ]
    return Finding(
        id=f"outline:{made.name}",
        about=made.name,
        claim=f"the drawing of {made.name} is one closed plate of {size}",
        verdict=Verdict.OPEN if differ else Verdict.HOLDS,
        remedy=f"{differ[0]}; measure the drawing, and take unit out of the job if the file is right"
        if differ
        else "",
        caution=" ".join(told),
        source="its own file",
        assumed=(f"unit of the drawing: {source.unit}, from {source.unit_from}",),
    )


def _cut(made: MadePlate) -> Iterator[Finding]:
    """`cut-hole` and `cut-web` of a plate."""
    outline, by = made.plate.outline, made.spec.cut_by
    if by is None or not (outline.holes or outline.cutouts):
        return
    row = process(by)
    holes = {f"the hole at {_at(hole.centre)}": hole.diameter for hole in outline.holes}
    holes |= {f"the cut-out at {_at(cut[0].start)}": _narrowest(cut) for cut in outline.cutouts}
    where = min(holes, key=lambda name: holes[name])
    yield _thicknesses(
        f"cut-hole:{made.name}",
        f"no opening of {made.name} is too small to be cut by {by}",
        (holes[where], where),
        (row.hole, f"least opening by {by}, in thicknesses"),
        outline.thickness,
        "drill it instead, or make it larger",
    )
    web, spot = least_web(outline)
    yield _thicknesses(
        f"cut-web:{made.name}",
        f"the metal between the openings of {made.name} and its edge stands the cut by {by}",
        (web, f"least metal, {spot}"),
        (row.web, f"least metal by {by}, in thicknesses"),
        outline.thickness,
        "move the opening away from what is next to it",
    )


def _thicknesses(
    id: str, claim: str, have: tuple[float, str], want: tuple[float, str], thickness: float, remedy: str
) -> Finding:
    chain = Chain()
    chain.given("t", thickness, "m", "thickness")
    chain.given("k", want[0], "1", want[1])
    capacity = chain.given("a", max(have[0], 1e-9), "m", have[1])
    demand = chain.step("a_min", "k * t", "m", "least")
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id=id,
        about=id.partition(":")[2],
        claim=claim,
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source=_PRACTICE,
        remedy="" if verdict is Verdict.HOLDS else f"{remedy}: {1e3 * demand:.1f} mm or more",
        assumed=(f"{want[1]}: {want[0]:g}, common practice, no source; the shop's own rule wins",),
    )


def _narrowest(contour: outlines.Contour) -> float:
    """Least width of a cut-out, m: of the rectangle round it that is narrowest."""
    box = shapely.Polygon(outlines.polygon(contour, _CHORD)).minimum_rotated_rectangle
    x, y = box.exterior.coords.xy
    return min(math.dist((x[i], y[i]), (x[i + 1], y[i + 1])) for i in range(2))


def least_web(outline: PlateOutline) -> tuple[float, str]:
    """Least metal between an opening and the edge or another opening, m, and where."""
    edge = shapely.LinearRing(outlines.polygon(outline.contour, _CHORD))
    inner = [(hole.contour, hole.centre) for hole in outline.holes]
    inner += [(cut, cut[0].start) for cut in outline.cutouts]
    shapes = [(shapely.Polygon(outlines.polygon(contour, _CHORD)), place) for contour, place in inner]
    found: list[tuple[float, str]] = []
    for row, (shape, place) in enumerate(shapes):
        found.append((shape.distance(edge), f"from {_at(place)} to the edge"))
        found += [(shape.distance(other), f"from {_at(place)} to {_at(at)}") for other, at in shapes[:row]]
    return min(found)


def _folds(made: MadePlate) -> Iterator[Finding]:
    """`fold-radius`, `fold-leg` and `fold-hole` of a strip."""
    if made.flat is None or not made.folds:
        return
    rule, thickness = fold_rule(), made.plate.outline.thickness
    tightest = min(fold.radius for fold in made.folds)
    yield _thicknesses(
        f"fold-radius:{made.name}",
        f"{made.name} is folded round enough not to crack outside",
        (tightest, "inside radius"),
        (rule.radius, "least inside radius, in thicknesses"),
        thickness,
        "take a wider radius, or a softer metal and a trial fold",
    )
    leg = min(made.spec.legs)
    yield _thicknesses(
        f"fold-leg:{made.name}",
        f"the press's die carries every leg of {made.name}",
        (leg, "shortest leg over the outside"),
        (rule.leg, "least leg, in thicknesses"),
        thickness,
        "make the leg longer and cut it off after folding",
    )
    gaps = [
        (min(abs(hole.centre[0] - low), abs(hole.centre[0] - high)) - hole.diameter / 2.0, _at(hole.centre))
        if not low < hole.centre[0] < high
        else (-hole.diameter / 2.0, _at(hole.centre))
        for hole in made.plate.outline.holes
        for low, high in made.flat.zones
    ]
    if gaps:
        gap, where = min(gaps)
        yield _thicknesses(
            f"fold-hole:{made.name}",
            f"no hole of {made.name} is pulled out of round by a fold",
            (gap, f"from the fold to the rim of the hole at {where} of the flat"),
            (rule.hole, "least from fold to rim, in thicknesses"),
            thickness,
            "move the hole away from the fold, or drill it after folding",
        )


def _hinge(part: FoldedPart) -> Finding:
    """The wall that stays is folded sharp about its inner face."""
    chain = Chain()
    sharpest = max(part.wedges, key=lambda wedge: wedge.angle)
    chain.given("theta", sharpest.angle, "rad", "sharpest fold")
    chain.given("most", math.pi / 2.0, "rad", "most that a wall folds about its inner face")
    demand, capacity = chain["theta"], chain["most"]
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id=f"fold-wedge:{part.name}",
        about=part.name,
        claim=f"the wall of {part.name} that stays folds without tearing",
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="rad",
        ratio=ratio,
        because=chain.steps,
        source=_PRACTICE,
        remedy="" if verdict is Verdict.HOLDS else "cut it through and mitre it, or fold it in two steps",
        caution="The fold is sharp, strained far past yield: weld over it outside, never fold it twice.",
    )


def _at(point: outlines.Point) -> str:
    x, y = (f"{1e3 * part + 0.0:.1f}".removesuffix(".0") for part in point)
    return f"({x}, {y}) mm"
