"""Plate cards: each plate drawn with its holes, its folds and what the cutter and the press must know."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.job.schema import Job
from soapstone.parts import contour as outlines
from soapstone.parts.contour import Contour
from soapstone.parts.layout import material_of
from soapstone.parts.plate_parts import MadePlate
from soapstone.parts.plates import PlateOutline
from soapstone.parts.sheet_bend import folded_points, relief
from soapstone.parts.strokes import MARK_HEIGHT, strokes
from soapstone.shop.words import Words
from soapstone.tables.fits import process

Array = NDArray[np.float64]

_ROOM = (176.0, 118.0)
"""mm for the drawing."""
_SIDE_ROOM = (84.0, 44.0)
_SCALES = (1, 2, 5, 10, 20)
_BORDER = 12.0
_CHORD = 2e-5


def plate_pages(job: Job, plates: Sequence[MadePlate], words: Words) -> list[dict[str, Any]]:
    """Plain data for the `plates` template, one page a plate."""
    return [_page(job, made, words) for made in plates]


def _page(job: Job, made: MadePlate, words: Words) -> dict[str, Any]:
    outline = made.plate.outline
    left, bottom, right, top = outline.bounds
    density = material_of(job, made.plate.material).density
    facts = [
        ["for", ", ".join(made.plate.used_by)],
        ["how many", str(made.plate.quantity)],
        ["of", f"{words.size(outline.thickness)} {made.plate.material}"],
        ["over all, flat", f"{words.both(right - left)} by {words.both(top - bottom)}"],
        ["mass of one", words.mass(outline.mass(density))],
        ["length of cut", words.both(outline.cut_length)],
        ["file", f"plates/{made.name}.{job.show.dxf}.dxf"],
        *_cut_facts(made, words),
    ]
    return {
        "name": made.name,
        "facts": facts,
        "drawing": plate_drawing(outline, (left, bottom)),
        "origin": _origin(made),
        "holes": _holes(made, words),
        "folds": _folds(made, words),
        "side": _side(made),
        "notes": _notes(made, words),
    }


def _cut_facts(made: MadePlate, words: Words) -> list[list[str]]:
    if made.spec.cut_by is None:
        return []
    row = process(made.spec.cut_by)
    apart_by = max(row.apart, made.plate.outline.thickness)
    return [
        ["cut by", f"{row.name}; drawn to size, the cutter allows for its kerf of {1e3 * row.kerf:.1f} mm"],
        ["apart on the sheet", f"{words.size(apart_by)} at least, no edge in common with another part"],
    ]


def _origin(made: MadePlate) -> str:
    if made.flat is not None:
        return "the middle of the first leg's edge"
    if made.spec.gusset is not None:
        return "the corner of its two legs"
    return "its own drawing's" if made.spec.outline is not None else "its middle"


def plate_drawing(outline: PlateOutline, corner: tuple[float, float]) -> dict[str, Any]:
    """The plate as drawn on paper, its holes numbered, its bend lines dashed, its etched mark as strokes."""
    _, _, right, top = outline.bounds
    size = np.array([right - corner[0], top - corner[1]])
    needed = float((1e3 * size / (np.array(_ROOM) - 2 * _BORDER)).max())
    scale = next((one for one in _SCALES if one >= needed), _SCALES[-1])
    factor = 1e3 / scale

    def paper(points: Any) -> list[list[float]]:
        flat = (np.asarray(points, dtype=float) - np.array(corner)) * factor + _BORDER
        rounded: list[list[float]] = np.round(flat, 3).tolist()
        return rounded

    lines: list[dict[str, Any]] = [_closed(paper(_polygon(outline.contour)), "thick")]
    lines += [_closed(paper(_polygon(cut)), "thick") for cut in outline.cutouts]
    lines += [{"points": paper([b.start, b.end]), "stroke": "dashed"} for b in outline.bend_lines]
    lines += [
        {"points": paper(s), "stroke": "hair"} for s in strokes(outline.mark, outline.mark_at, MARK_HEIGHT)
    ]
    circles: list[dict[str, Any]] = []
    labels: list[dict[str, Any]] = []
    for number, hole in enumerate(outline.holes, 1):
        ((x, y),) = paper([hole.centre])
        radius = factor * hole.diameter / 2.0
        circles.append({"x": x, "y": y, "r": radius, "stroke": "thick"})
        lines += _cross([x, y], radius + 1.5)
        labels.append(_label(str(number), x + 0.8 * radius + 0.8, y + 0.8 * radius + 0.8, "left-bottom"))
    for number, cut in enumerate(outline.cutouts, len(outline.holes) + 1):
        ((x, y),) = paper([outlines.moments(cut)[1]])
        labels.append(_label(str(number), x, y, "center-horizon"))
    for line in outline.bend_lines:
        ((x, y),) = paper([line.end])
        labels.append(_label(f"fold {line.number}", x, y + 1.0, "center-bottom"))
    wide, tall = (float(part) for part in factor * size + 2 * _BORDER)
    return {
        "width": wide,
        "height": tall,
        "lines": lines,
        "circles": circles,
        "labels": labels,
        "scale": f"1 : {scale}",
    }


def _label(text: str, x: float, y: float, anchor: str) -> dict[str, Any]:
    return {"x": x, "y": y, "text": text, "anchor": anchor, "size": 8, "weight": "medium"}


def _cross(at: list[float], reach: float) -> list[dict[str, Any]]:
    x, y = at
    return [
        {"points": [[x - reach, y], [x + reach, y]], "stroke": "hair"},
        {"points": [[x, y - reach], [x, y + reach]], "stroke": "hair"},
    ]


def _polygon(contour: Contour) -> Array:
    return outlines.polygon(contour, _CHORD)


def _closed(points: list[list[float]], stroke: str) -> dict[str, Any]:
    return {"points": [*points, points[0]], "stroke": stroke}


def _holes(made: MadePlate, words: Words) -> list[list[str]]:
    """Number, what it is, and where, right and up from the origin."""
    outline = made.plate.outline
    rows: list[tuple[str, float, float]] = []
    sinks = dict(made.sinks)
    for hole in outline.holes:
        sink = f", countersunk 90° to {words.size(sinks[hole])}" if hole in sinks else ""
        rows.append((f"round {words.size(hole.diameter)}{sink}", *hole.centre))
    for cut in outline.cutouts:
        left, bottom, right, top = outlines.bounds(cut)
        size = f"cut-out {words.size(right - left)} by {words.size(top - bottom)}"
        rows.append((size, (left + right) / 2.0, (bottom + top) / 2.0))
    return [
        [str(number), what, words.length(x), words.length(y)] for number, (what, x, y) in enumerate(rows, 1)
    ]


def _folds(made: MadePlate, words: Words) -> list[list[str]]:
    """In the order of folding: number, where, how far, which way, radius."""
    lines = sorted(made.plate.outline.bend_lines, key=lambda line: line.number)
    return [
        [
            str(line.number),
            words.both(line.start[0]),
            f"{math.degrees(abs(line.angle)):.0f}°",
            "up" if line.angle > 0 else "down",
            words.size(line.radius),
        ]
        for line in lines
    ]


def _side(made: MadePlate) -> dict[str, Any] | None:
    """The strip seen from its side, folded."""
    if made.flat is None:
        return None
    points = folded_points(made.flat, made.folds, made.plate.outline.thickness)
    low, high = points.min(axis=0), points.max(axis=0)
    size = np.maximum(high - low, 1e-3)
    needed = float((1e3 * size / (np.array(_SIDE_ROOM) - 8.0)).max())
    scale = next((one for one in _SCALES if one >= needed), _SCALES[-1])
    flat = np.round(1e3 / scale * (points - low) + 4.0, 3).tolist()
    return {
        "width": float(1e3 / scale * size[0] + 8.0),
        "height": float(1e3 / scale * size[1] + 8.0),
        "lines": [{"points": flat, "stroke": "thick"}],
        "scale": f"1 : {scale}",
    }


def _notes(made: MadePlate, words: Words) -> list[str]:
    notes: list[str] = []
    if made.flat is not None and not made.wall_of:
        thickness = made.plate.outline.thickness
        own = made.spec.k_factor
        how = f"K-factor {own:g}, the shop's own" if own is not None else "DIN 6935"
        notes.append(f"Laid flat by {how}. Fold one piece of scrap, measure it, and correct the legs.")
        slot = relief(made.folds[0].radius, thickness) if made.folds else None
        if slot is not None:
            notes.append(
                "Where a fold ends inside the plate, cut a relief"
                f" {words.size(slot.width)} wide and {words.size(slot.depth)} deep first."
            )
    if made.wall_of:
        notes.append(
            f"Lines the cut-out of {made.wall_of}: starts in the middle of its lower side, butts there."
        )
        notes.append(f"Weld it all round; {words.both(made.flat.length if made.flat else 0.0)} a side.")
    if made.source is not None:
        notes += [f"Left off the drawing: {what}." for what in made.source.left_off]
        notes += [f"{what[0].upper()}{what[1:]}." for what in made.source.notes]
    return notes
