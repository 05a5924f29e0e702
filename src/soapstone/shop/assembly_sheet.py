"""The assembly drawing: a view with balloons, the parts list, and three views with their sizes over all."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.assembly import Sort, Thing
from soapstone.parts.bent_part import BentPart
from soapstone.parts.cutting import CutParts
from soapstone.parts.ends import TubePart
from soapstone.shop.cutlist import Row
from soapstone.shop.drawing import CORNER, SIDE, View, draw, standard_scale
from soapstone.shop.labels import balloons
from soapstone.shop.running import Mark, below, beside, room_for
from soapstone.shop.words import Words

Array = NDArray[np.float64]
Drawing = dict[str, Any]

ABOVE = View("from above", np.array([-1.0, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]))
FRONT = View("from the front", np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))
_ROOM = (188.0, 128.0)
_VIEWS = (186.0, 224.0)
_BETWEEN, _AIR = 10.0, 8.0
"""mm: between two views, above a view for its name."""
_BORDER = 1.0


def assembly_data(
    found: Sequence[Thing], parts: CutParts, rows: Sequence[Row], words: Words, *, first_angle: bool
) -> dict[str, Any] | None:
    """Plain data for the `drawings` template; None where nothing has a place."""
    own = [thing for thing in found if thing.sort not in (Sort.OBSTACLE, Sort.BODY)]
    if not own:
        return None
    numbers = {_key(row): str(number) for number, row in enumerate(rows, 1)}
    spots = _spots(own, parts, numbers)
    together = sum(row.quantity * row.mass for row in rows)
    return {
        "view": draw(CORNER, own, parts.both, spots, _ROOM, fill=True, place=balloons),
        "views": three_views(own, parts.both, words, first_angle=first_angle),
        "rows": [_row(row, numbers[_key(row)], _key(row) in spots, words) for row in rows],
        "together": words.mass(together),
    }


def _key(row: Row) -> str:
    """What a row is found by: tubes and bungs by their name, plates by that of their file."""
    return row.mark if row.stock == "plate" else row.name


def _row(row: Row, number: str, is_placed: bool, words: Words) -> list[str]:
    return [
        number,
        row.mark or row.name,
        row.name + ("" if is_placed else ", not drawn: the job gives it no place"),
        f"{row.section}, {row.material}" if row.section else row.material,
        str(row.quantity),
        words.mass(row.mass),
        words.mass(row.quantity * row.mass),
    ]


def _spots(own: Sequence[Thing], parts: CutParts, numbers: Mapping[str, str]) -> dict[str, tuple[str, Array]]:
    """Number and place of what a balloon points to, by the row's name: the first of each."""
    plates = {user: plate.name for plate in parts.plates for user in plate.used_by}
    found: dict[str, tuple[str, Array]] = {}
    for thing in own:
        name = thing.name
        if thing.sort is Sort.PLATE:
            name = plates[name if name in plates else name.partition(" tab ")[0]]
        if name in numbers and name not in found:
            found[name] = (numbers[name], _middle(thing, parts))
    return found


def _middle(thing: Thing, parts: CutParts) -> Array:
    part = parts.both.get(thing.name)
    if isinstance(part, BentPart):
        return part.path.point(part.path.length / 2.0)
    vertices = thing.solid.vertices
    middle: Array = (vertices.min(axis=0) + vertices.max(axis=0)) / 2.0
    return middle


def three_views(
    own: Sequence[Thing], tubes: Mapping[str, TubePart | BentPart], words: Words, *, first_angle: bool
) -> Drawing:
    """From the left, from above and from the front, in the projection of the job, at one scale."""
    points = np.vstack([thing.solid.vertices for thing in own])
    long, wide, tall = (float(size) for size in np.ptp(points, axis=0))
    edge = room_for([words.length(size) for size in (long, wide, tall)])
    scale = _scale(long, wide, tall, edge)
    main, plan, front = (draw(view, own, tubes, {}, _VIEWS, scale) for view in (SIDE, ABOVE, FRONT))
    across = (edge, edge + main["width"] + _BETWEEN)
    if not first_angle:
        across = (edge + front["width"] + _BETWEEN, edge)
    up = edge + (plan["height"] + _BETWEEN if first_angle else 0.0)
    over = edge if first_angle else edge + main["height"] + _BETWEEN
    places = ((main, across[0], up), (plan, across[0], over), (front, across[1], up))
    lines: list[dict[str, Any]] = []
    labels: list[dict[str, Any]] = []
    for drawing, x, y in places:
        lines += [
            {**line, "points": [[x + u, y + v] for u, v in line["points"]]} for line in drawing["lines"]
        ]
    for (drawing, x, y), name in zip(places, (SIDE.name, ABOVE.name, FRONT.name), strict=True):
        labels.append(
            {
                "x": x + drawing["width"] / 2.0,
                "y": y + drawing["height"] + 0.5,
                "text": name.partition(",")[0],
                "anchor": "center-bottom",
                "size": 7,
            }
        )
    factor = 1e3 / scale
    sized = (
        (below, across[0], min(up, over), long),
        (below, across[1], up, wide),
        (beside, up, min(across), tall),
    )
    for run, at, side, size in sized:
        begin = side + _BORDER
        ends = (0.0, size)
        marks = [Mark(at + _BORDER + factor * end, begin, words.length(end)) for end in ends]
        own_lines, told = run(marks, side, at + _BORDER)
        lines, labels = [*lines, *own_lines], [*labels, *told]
    return {
        "width": max(x + drawing["width"] for drawing, x, _ in places) + 2.0,
        "height": max(y + drawing["height"] for drawing, _, y in places) + _AIR,
        "lines": lines,
        "labels": labels,
        "scale": f"1 : {scale}",
    }


def _scale(long: float, wide: float, tall: float, edge: float) -> int:
    """The largest standard scale at which the three stand beside and over each other."""
    room = np.array(_VIEWS) - (edge + _BETWEEN + 2.0, edge + _BETWEEN + _AIR) - 4 * _BORDER
    return standard_scale(float((np.array((long + wide, tall + wide)) / room).max()))
