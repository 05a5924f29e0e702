"""Folded tubes on paper: where each wedge goes, and its lines round all four faces at 1:1."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.job.schema import Job
from soapstone.parts.folded_tube import WAYS, FoldedPart, Wedge, layout_lines
from soapstone.parts.layout import material_of
from soapstone.parts.sections import RectangularTube
from soapstone.shop.sheet import MARGIN, Paper, paper_of
from soapstone.shop.words import Words

Array = NDArray[np.float64]

_BESIDE = 12.0
"""mm of tube shown beside a wedge, so that the paper wraps on."""
_FOOT = 95.0
"""mm of the sheet that words and title block take."""


def folded_pages(job: Job, parts: Sequence[FoldedPart], words: Words) -> list[dict[str, Any]]:
    """Plain data for the `folded` template."""
    return [_page(job, part, words) for part in parts]


def _page(job: Job, part: FoldedPart, words: Words) -> dict[str, Any]:
    spec = job.folded[part.name]
    stock = job.stock[spec.stock]
    density = material_of(job, stock.of).density
    facts = [
        ["for", spec.what or part.name],
        ["of", f"{spec.stock}: {words.section(part.shape)}, {stock.of}"],
        ["how many", str(spec.quantity)],
        ["saw square to", words.both(part.length)],
        ["legs along the axis", ", ".join(words.length(leg) for leg in part.legs)],
        ["mass of one", words.mass(part.volume * density)],
    ]
    return {
        "name": part.name,
        "facts": facts,
        "rows": [_row(number, wedge, words) for number, wedge in enumerate(part.wedges, 1)],
        "strips": [
            *_strips(part, spec.kerf, paper_of(job.show)),
            *([] if part.nose is None else [nose_strip(part, paper_of(job.show))]),
        ],
        "nose": _nose(part, words),
        "view": side_view(part) if _flat_folds(part) else None,
    }


def _row(number: int, wedge: Wedge, words: Words) -> list[str]:
    way = next(name for name, vector in WAYS.items() if vector == wedge.way)
    opposite = {"up": "below", "down": "above", "left": "on the right", "right": "on the left"}[way]
    return [
        str(number),
        words.both(wedge.station),
        f"{math.degrees(wedge.angle):.1f}° {way}",
        words.both(wedge.opening),
        words.both(wedge.marked),
        words.both(wedge.depth),
        f"{words.size(wedge.hinge)} {opposite}",
        words.both(wedge.weld),
    ]


def _nose(part: FoldedPart, words: Words) -> list[list[str]]:
    if part.nose is None:
        return []
    nose = part.nose
    return [
        ["wall below cut square at", words.both(nose.begins)],
        ["side walls cut round from there, radius", words.both(nose.radius)],
        ["wall above left long, beyond there", words.both(nose.tongue)],
        ["width of that tongue, corners sawn off", words.both(nose.width)],
        ["weld along both sides and across below", words.both(nose.weld)],
    ]


def _faces(shape: RectangularTube) -> list[tuple[float, float, str]]:
    """Where each face lies on the unrolled outside, mm from the clocking line, in order."""
    outline = shape.outline
    across, up, radius = shape.width, shape.height, shape.outside_corner_radius
    quarter = math.pi / 2.0 * radius
    flat_up, flat_across = up - 2.0 * radius, across - 2.0 * radius
    half = flat_up / 2.0 + quarter / 2.0
    edges = [half]
    for size in (flat_across, flat_up, flat_across):
        edges.append(edges[-1] + size + quarter)
    total = outline.perimeter
    return [
        (0.0, 1e3 * edges[0], "left"),
        (1e3 * edges[0], 1e3 * edges[1], "above"),
        (1e3 * edges[1], 1e3 * edges[2], "right"),
        (1e3 * edges[2], 1e3 * edges[3], "below"),
        (1e3 * edges[3], 1e3 * total, "left"),
    ]


def _strips(part: FoldedPart, kerf: float, paper: Paper) -> list[dict[str, Any]]:
    """One wrap a wedge: round the tube across the sheet, its length up it; in pieces where it is too wide."""
    room = paper.width - 2.0 * MARGIN
    found = []
    for number, wedge in enumerate(part.wedges, 1):
        rows, low, high = (1e3 * line for line in layout_lines(part.shape, wedge, kerf))
        reach = 1e3 * wedge.opening / 2.0 + _BESIDE
        if 2.0 * reach > paper.height - 2.0 * MARGIN - _FOOT:
            raise GeometryError(
                f"its wedge {number} is too long for one sheet of {paper.name}",
                where=part.name,
                remedy="fold it in two steps, or print on larger paper",
            )
        for left, right in _pieces(part.shape, room):
            found.append(_strip(part, number, (rows, low, high), 1e3 * wedge.station, reach, (left, right)))
    return found


def _pieces(shape: RectangularTube, room: float) -> list[tuple[float, float]]:
    """Where to part the wrap, at the middles of corners; a face wider than the sheet is parted anywhere."""
    total = 1e3 * shape.outline.perimeter
    cuts, begin = [0.0], 0.0
    marks = [edge for _, edge, _ in _faces(shape)]
    while total - begin > room:
        fits = [mark for mark in marks if begin + 1.0 < mark <= begin + room]
        begin = max(fits) if fits else begin + room
        cuts.append(begin)
    return list(zip(cuts, [*cuts[1:], total], strict=True))


def _strip(
    part: FoldedPart,
    number: int,
    lines: tuple[Array, Array, Array],
    station: float,
    reach: float,
    piece: tuple[float, float],
) -> dict[str, Any]:
    rows, low, high = lines
    left, right = piece
    bottom = station - reach

    stays = _STAYS[part.wedges[number - 1].way]

    def shown(line: Array) -> list[dict[str, Any]]:
        drawn = []
        for first, last in _cut_spans(part, stays):
            low, high = max(first, left), min(last, right)
            if high - low < 1e-6:
                continue
            own = np.unique(np.concatenate([rows[(rows >= low) & (rows <= high)], [low, high]]))
            heights = np.interp(own, rows, line) - bottom
            points = np.round(np.column_stack([own - left, heights]), 3).tolist()
            drawn.append({"points": points, "stroke": "thick"})
        return drawn

    wide, tall = right - left, 2.0 * reach
    drawn: list[dict[str, Any]] = [
        {"points": [[0, 0], [wide, 0], [wide, tall], [0, tall], [0, 0]], "stroke": "hair"},
        {"points": [[0, reach], [wide, reach]], "stroke": "centre"},
        *shown(low),
        *shown(high),
    ]
    labels = []
    for begin, end, face in _faces(part.shape):
        first, last = max(begin, left), min(end, right)
        if last - first < 6.0:
            continue
        if first > left:
            drawn.append({"points": [[first - left, 0], [first - left, tall]], "stroke": "grey"})
        text = f"{face}: stays" if face == stays else face
        labels.append(
            {"x": (first + last) / 2 - left, "y": 4.0, "text": text, "anchor": "center-horizon", "size": 7}
        )
    whole = left == 0.0 and right > 1e3 * part.shape.outline.perimeter - 1e-6
    return {
        "title": f"{part.name}, wedge {number}" + ("" if whole else f", from {left:.0f} mm round"),
        "at": f"{station:.1f} mm",
        "drawing": {"width": wide, "height": tall, "lines": drawn, "labels": labels},
    }


_STAYS = {(0.0, 1.0): "below", (0.0, -1.0): "above", (1.0, 0.0): "right", (-1.0, 0.0): "left"}
"""The face that stays, by the way a fold turns."""


def _cut_spans(part: FoldedPart, wall: str) -> list[tuple[float, float]]:
    """Where round the outside something is cut, mm: everywhere but the flat of the wall that stays."""
    arc = 1e3 * math.pi / 4.0 * part.shape.outside_corner_radius
    faces = _faces(part.shape)
    total, first = faces[-1][1], faces[0][1]
    if wall == "left":  # it straddles the start
        return [(first - arc, faces[-1][0] + arc)]
    begin, end = next((low, high) for low, high, face in faces if face == wall)
    return [(0.0, begin + arc), (end - arc, total)]


def nose_strip(part: FoldedPart, paper: Paper) -> dict[str, Any]:
    """The end with its tongue on the unrolled outside, 1:1."""
    assert part.nose is not None
    shape, nose = part.shape, part.nose
    total = shape.outline.perimeter
    if 1e3 * total > paper.width - 2.0 * MARGIN:
        raise GeometryError(
            f"its nose is wider round than one sheet of {paper.name}",
            where=part.name,
            remedy="print on larger paper",
        )
    rows = np.linspace(0.0, total, 1441)
    points = shape.outline.generators(rows, 0.0)
    reach = np.sqrt(np.maximum(nose.radius**2 - points[:, 1] ** 2, 0.0))
    on_side = np.abs(points[:, 0]) > shape.width / 2.0 - 1e-9
    on_top = (points[:, 1] > shape.height / 2.0 - 1e-9) & (np.abs(points[:, 0]) <= nose.width / 2.0)
    heights = np.where(on_top, nose.tongue, np.where(on_side, reach, 0.0))
    bottom = 2.0 * _BESIDE
    line = np.round(1e3 * np.column_stack([rows, heights]) + [0.0, bottom], 3).tolist()
    wide, tall = 1e3 * total, 1e3 * nose.tongue + bottom + 4.0
    lines = [
        {"points": [[0, 0], [wide, 0], [wide, tall], [0, tall], [0, 0]], "stroke": "hair"},
        {"points": [[0, bottom], [wide, bottom]], "stroke": "centre"},
        {"points": line, "stroke": "thick"},
    ]
    lines += [{"points": [[x, 0], [x, tall]], "stroke": "grey"} for _, x, _ in _faces(shape)[:-1]]
    labels = [
        {"x": (low + high) / 2, "y": 5.0, "text": face, "anchor": "center-horizon", "size": 7}
        for low, high, face in _faces(shape)
    ]
    return {
        "title": f"{part.name}, nose",
        "at": f"{1e3 * nose.begins:.1f} mm",
        "drawing": {"width": wide, "height": tall, "lines": lines, "labels": labels},
    }


def _flat_folds(part: FoldedPart) -> bool:
    """Whether all folds lie in one plane, so that one view shows them."""
    return len({abs(wedge.way[1]) for wedge in part.wedges}) == 1


def side_view(part: FoldedPart) -> dict[str, Any]:
    """The folded tube from the side that shows its folds: both outer edges and its axis."""
    upright = part.wedges[0].way[1] != 0.0
    half = (part.shape.height if upright else part.shape.width) / 2.0
    here, way = np.zeros(2), 0.0
    axis, ways = [here], [0.0]
    for row, leg in enumerate(part.legs):
        here = here + leg * np.array([math.cos(way), math.sin(way)])
        axis.append(here)
        if row < len(part.wedges):
            wedge = part.wedges[row]
            way += math.copysign(wedge.angle, wedge.way[1] if upright else wedge.way[0])
            ways.append(way)
    edges = [[_offset(axis, ways, row, side * half) for row in range(len(axis))] for side in (1.0, -1.0)]
    spots = np.array([*edges[0], *edges[1]])
    low, high = spots.min(axis=0), spots.max(axis=0)
    needed = float((1e3 * (high - low) / np.array([170.0, 60.0])).max())
    scale = next((one for one in (1, 2, 5, 10, 20, 50) if one >= needed), 50)

    def paper(points: Sequence[Array]) -> list[list[float]]:
        rounded: list[list[float]] = np.round(1e3 / scale * (np.array(points) - low) + 4.0, 3).tolist()
        return rounded

    seams = [[edges[0][row], edges[1][row]] for row in range(1, len(axis) - 1)]
    ends = [[edges[0][row], edges[1][row]] for row in (0, -1)]
    lines = [{"points": paper(edge), "stroke": "thick"} for edge in (*edges, *ends)]
    lines += [{"points": paper(seam), "stroke": "thin"} for seam in seams]
    lines.append({"points": paper(axis), "stroke": "centre"})
    size = 1e3 / scale * (high - low) + 8.0
    return {"width": float(size[0]), "height": float(size[1]), "lines": lines, "scale": f"1 : {scale}"}


def _offset(axis: list[Array], ways: list[float], row: int, by: float) -> Array:
    """A corner of the outside: the axis' corner moved square to the seam that halves the fold."""
    before, after = ways[max(row - 1, 0)], ways[min(row, len(ways) - 1)]
    if row == len(axis) - 1:
        after = before
    middle, half = (before + after) / 2.0, (after - before) / 2.0
    moved: Array = axis[row] + by / math.cos(half) * np.array([-math.sin(middle), math.cos(middle)])
    return moved
