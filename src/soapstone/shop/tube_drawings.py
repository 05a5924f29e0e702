"""A dimensioned drawing of each straight tube: two views and a look at end A, all lengths from one datum.

What is hidden is left out. Lengths run along the axis from the long point of end A; each stands there once.
"""

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, box

from soapstone.parts.cutting import CutParts
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.layout import Layout
from soapstone.parts.profile import Profile
from soapstone.shop.marks import Marks
from soapstone.shop.running import Mark, below, room_for
from soapstone.shop.templates import clocking_words, end_words
from soapstone.shop.unroll import is_square
from soapstone.shop.words import Words

Array = NDArray[np.float64]
Drawing = dict[str, Any]

TOLERANCE = "lengths and angles to ISO 2768-m"
"""What a cut tube is held to where nothing else is said (common practice, no source)."""
_WIDE = 186.0
_SCALES = (1, 2, 5, 10, 20, 50)
_BETWEEN, _AIR, _SIDE = 9.0, 9.0, 6.0
"""mm: between two views, above and beside all."""
_DETAIL_WIDE, _DETAIL_TALL = 88.0, 112.0
_PAST = 0.012
"""m of tube shown past the deepest point of an enlarged end."""
_ON = 1e-7


def tube_drawings(
    layout: Layout, parts: CutParts, marks: Marks, words: Words, *, first_angle: bool
) -> list[dict[str, Any]]:
    """Plain data for the `drawings` template, one page a straight tube; pure."""
    return [
        _page(layout, part, marks.tubes[name], words, first_angle=first_angle)
        for name, part in parts.tubes.items()
    ]


def _page(layout: Layout, part: TubePart, mark: str, words: Words, *, first_angle: bool) -> dict[str, Any]:
    tube = layout.tubes[part.name]
    ends = ((part.end_a, tube.seats[0].on), (part.end_b, tube.seats[1].on))
    drawing = tube_drawing(part, words, first_angle=first_angle)
    return {
        "mark": mark,
        "name": part.name,
        "facts": [
            ["material", tube.material.name],
            ["section", words.section(part.shape)],
            ["quantity", "1"],
            ["mass", words.mass(part.mass(tube.material.density))],
            *([f"end {end.outline.end.value}", end_words(end, on, words)] for end, on in ends),
            ["clocking", clocking_words(part, words)],
            *([f"hole at {words.length(_past(part, o.station))}", f"for {o.of}"] for o in part.openings),
            ["tolerance", TOLERANCE],
        ],
        "drawing": drawing,
        "details": [
            detail(part, end, first_angle=first_angle)
            for end in (part.end_a, part.end_b)
            if not is_square(end) and drawing["scale"] != "1 : 1"
        ],
    }


def _past(part: TubePart, station: float) -> float:
    """From the datum, m."""
    return station - part.end_a.outline.long_point.station


def tube_drawing(part: TubePart, words: Words, *, first_angle: bool) -> Drawing:
    """Two views, the look at end A, and every length from the long point of end A."""
    size = 2e3 * max(part.shape.outline.half_y, part.shape.outline.half_z)
    beside = 32.0
    scale = next(
        (n for n in _SCALES if (1e3 * part.saw_length + size) / n + beside <= _WIDE),
        _SCALES[-1],
    )
    factor = 1e3 / scale
    half = size / scale / 2.0
    look = 2.0 * half + beside - _SIDE
    left = _SIDE if first_angle else _SIDE + look
    shift = left - factor * part.end_a.outline.long_point.station
    places = list(_places(part, 1 if first_angle else 0))
    edge = room_for([words.length(_past(part, station)) for station, _ in places])
    low, high = edge + half, edge + 3.0 * half + _BETWEEN
    # seen from above: over the main view in third angle, under it in first
    main, plan = (high, low) if first_angle else (low, high)
    lines: list[dict[str, Any]] = []
    labels: list[dict[str, Any]] = []
    for turn, axis in ((0, main), (1, plan)):
        lines += _view(part, turn, factor, shift, axis)
    right = left + factor * part.saw_length
    marks = [
        Mark(shift + factor * station, low + factor * up, words.length(_past(part, station)))
        for station, up in places
    ]
    own, told = below(marks, edge, left)
    lines, labels = [*lines, *own], [*labels, *told]
    middle = right + look - half if first_angle else _SIDE + look / 2.0
    own, told = _end_view(part, factor, middle, main)
    lines, labels = [*lines, *own], [*labels, *told]
    for axis, text in ((main, "90° line in front"), (plan, "0° line in front")):
        labels.append(_label(f"{text}", (left + right) / 2.0, axis + half + 1.0, "center-bottom", 7))
    for end, at in (("A", left), ("B", right)):
        labels.append(_label(end, at, high + half + 1.0, "center-bottom", 9))
    width = right + _SIDE + (look if first_angle else 0.0)
    return {
        "width": width,
        "height": high + half + _AIR,
        "lines": lines,
        "labels": labels,
        "scale": f"1 : {scale}",
    }


def detail(part: TubePart, end: TubeEnd, *, first_angle: bool) -> Drawing:
    """One end in both views, as large as there is room for, broken off behind its deepest point."""
    tip, deep, sign = end.outline.long_point.station, end.outline.short_point.station, end.outline.end.sign
    low, high = sorted((tip, deep - sign * _PAST))
    half = max(part.shape.outline.half_y, part.shape.outline.half_z)
    scale = next(
        (
            n
            for n in _SCALES
            if 1e3 * (high - low) / n + 2 * _SIDE <= _DETAIL_WIDE
            and 4e3 * half / n + _BETWEEN + _AIR <= _DETAIL_TALL
        ),
        _SCALES[-1],
    )
    factor = 1e3 / scale
    shift, tall = _SIDE - factor * low, factor * half
    axes = (tall + 1.0, 3.0 * tall + 1.0 + _BETWEEN)
    broken = high if end.outline.end.value == "A" else low
    lines: list[dict[str, Any]] = []
    labels: list[dict[str, Any]] = []
    for turn, axis in zip((1, 0) if first_angle else (0, 1), axes, strict=True):
        lines += _view(part, turn, factor, shift, axis, (low, high))
        lines.append(_break(shift + factor * broken, axis, tall))
        text = "0° line in front" if turn else "90° line in front"
        labels.append(_label(text, _SIDE, axis + tall + 0.8, "left-bottom", 7))
    return {
        "width": factor * (high - low) + 2 * _SIDE + 24.0,
        "height": axes[1] + tall + _AIR,
        "lines": lines,
        "labels": labels,
        "scale": f"1 : {scale}",
        "name": f"end {end.outline.end.value}",
    }


def _label(text: str, x: float, y: float, anchor: str, size: float = 8) -> dict[str, Any]:
    return {"x": x, "y": y, "text": text.replace(" ", "\u00a0"), "anchor": anchor, "size": size}


def _places(part: TubePart, turn: int) -> Iterator[tuple[float, float]]:
    """Stations that have a dimension, and how high in the view they lie, m."""
    for end in (part.end_a, part.end_b):
        for tip in (end.outline.long_point, end.outline.short_point):
            line = part.shape.outline.generators(np.array([tip.abscissa]), 0.0)
            yield tip.station, float(_seen(line, turn)[0][0])
    for opening in part.openings:
        yield opening.station, 0.0


def _seen(lines: Array, turn: int) -> tuple[Array, Array]:
    """Up in the view and towards the viewer, m, of lines along the tube at (n, 2) y and z."""
    return (-lines[:, 1], lines[:, 0]) if turn else (lines[:, 0], lines[:, 1])


def _view(
    part: TubePart,
    turn: int,
    factor: float,
    shift: float,
    axis: float,
    window: tuple[float, float] = (-math.inf, math.inf),
) -> list[dict[str, Any]]:
    """The tube from its side: outlines, ends, holes in front, the axis."""
    abscissa = part.end_a.outline.abscissa[:-1]
    up, near = _seen(part.shape.outline.generators(abscissa, 0.0), turn)
    found: list[tuple[str, Array]] = []
    a, b = part.end_a.outline.outer[:-1], part.end_b.outline.outer[:-1]
    for edge in (up.max(), up.min()):
        there = np.abs(up - edge) < _ON
        found.append(("thick", np.array([(a[there].min(), edge), (b[there].max(), edge)])))
    for stations, sign in ((a, -1), (b, 1)):
        front = near > -_ON
        order = np.lexsort((sign * stations, up))
        order = order[front[order]]
        hides = np.interp(up, up[order], sign * stations[order])
        for mask, stroke in ((front, "thick"), (~front & (sign * stations > hides + 1e-5), "thin")):
            found += [(stroke, np.column_stack((stations[run], up[run]))) for run in _runs(mask)]
    for opening in part.openings:
        for loop in opening.loops:
            around = loop.abscissa % part.shape.outline.perimeter
            high, front_of = _seen(part.shape.outline.generators(around, 0.0), turn)
            keep = front_of > -_ON
            found += [("thick", np.column_stack((loop.outer[r], high[r]))) for r in _open_runs(keep)]
    ends = max(a.min() - 4.0 / factor, window[0]), min(b.max() + 4.0 / factor, window[1])
    found.append(("centre", np.array([(ends[0], 0.0), (ends[1], 0.0)])))
    room = box(max(window[0], -1e3), -1e3, min(window[1], 1e3), 1e3)
    return [
        {"points": _paper(np.array(piece.coords), factor, shift, axis), "stroke": stroke}
        for stroke, points in found
        for piece in _clipped(points, room)
    ]


def _clipped(points: Array, room: Any) -> list[Any]:
    if len(points) < 2:
        return []
    cut = LineString(points).intersection(room)
    return [g for g in getattr(cut, "geoms", [cut]) if g.geom_type == "LineString" and g.length > _ON]


def _paper(points: Array, factor: float, shift: float, axis: float) -> list[list[float]]:
    found: list[list[float]] = np.round(factor * points + np.array((shift, axis)), 3).tolist()
    return found


def _open_runs(mask: NDArray[np.bool_]) -> list[NDArray[np.int64]]:
    rows = np.flatnonzero(mask)
    return [run for run in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1) if len(run) > 1]


def _runs(mask: NDArray[np.bool_]) -> list[NDArray[np.int64]]:
    """Rows of each stretch of a closed curve that a mask keeps, in order."""
    if mask.all():
        return [np.append(np.arange(len(mask)), 0)]
    first = int(np.flatnonzero(~mask)[0])
    turned = np.roll(mask, -first)
    return [(run + first) % len(mask) for run in _open_runs(turned)]


def _break(x: float, axis: float, half: float) -> dict[str, Any]:
    """A long-break line across the tube."""
    tall = half + 2.0
    zig = [[0.0, -tall], [0.0, -1.5], [1.2, -0.6], [-1.2, 0.6], [0.0, 1.5], [0.0, tall]]
    return {"points": [[x + dx, axis + dy] for dx, dy in zig], "stroke": "hair"}


def _end_view(
    part: TubePart, factor: float, x: float, y: float
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The section as end A is looked at, towards end B: the 0° line up, angles clockwise."""
    outer, bore = part.shape.outline, part.shape.bore
    lines = [
        {"points": _ring(profile, factor, x, y), "stroke": "thick", "closed": True}
        for profile in (outer, bore)
    ]
    reach = factor * max(outer.half_y, outer.half_z)
    lines += [
        {"points": [[x - reach - 2, y], [x + reach + 2, y]], "stroke": "centre"},
        {"points": [[x, y - reach - 2], [x, y + reach + 3.5]], "stroke": "centre"},
    ]
    labels = [
        _label("0°", x, y + reach + 3.6, "center-bottom", 7),
        _label("seen from A", x, y - reach - 3.0, "center-top", 7),
    ]
    return lines, labels


def _ring(profile: Profile, factor: float, x: float, y: float) -> list[list[float]]:
    rows = np.unique(np.concatenate((np.linspace(0.0, profile.perimeter, 73)[:-1], profile.knots())))
    lines = profile.generators(rows, 0.0)
    found: list[list[float]] = np.round(factor * lines[:, ::-1] + np.array((x, y)), 3).tolist()
    return found
