"""The bend table of every bent tube, as a page for the bender and as rows for a machine."""

import csv
import io
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.job.hardware import Bender
from soapstone.job.schema import Job
from soapstone.parts.bend_findings import heel_from_bend, order_of
from soapstone.parts.bent_part import BentPart, outside_rings
from soapstone.parts.bent_tube import BendTable, bent_wall, trim_needed
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout
from soapstone.shop.drawing import View
from soapstone.shop.labels import apart
from soapstone.shop.marks import Marks
from soapstone.shop.words import Words, millimetres

Array = NDArray[np.float64]

HEADER = (
    "mark",
    "name",
    "from end",
    "bend",
    "straight before mm",
    "turn degrees clockwise seen from that end",
    "bend degrees",
    "set to degrees",
    "bend begins mm from that end",
    "radius of the axis mm",
)
_ROOM_FLAT, _ROOM_EDGE = (180.0, 84.0), (180.0, 46.0)
"""mm for each view."""
_SCALES = (1, 2, 5, 10, 20, 50, 100)


def bender_of(job: Job, name: str) -> Bender | None:
    """The bender that a bent member is made on, where the job names it."""
    return job.benders.get(job.members[name].bender or "")


def from_b_first(part: BentPart, bender: Bender | None) -> bool:
    """Whether the table is to be read from end B: only where the bender asks for it."""
    return bender is not None and bender.turns is not None and order_of(part, bender)[0]


def bent_saw_length(part: BentPart, bender: Bender | None) -> tuple[float, float, float]:
    """m to saw the raw tube to, and what of it is spare at the end bent first and at the other."""
    table = part.table(from_b=from_b_first(part, bender))
    first, last = (0.0, 0.0) if bender is None else trim_needed(table, bender.clamp, bender.tail)
    return table.length + first + last, first, last


def bends_csv(job: Job, parts: CutParts, marks: Marks) -> str:
    """Every bend of every tube, mm and degrees; RFC 4180."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(HEADER)
    for name, part in parts.bent.items():
        from_b = from_b_first(part, bender_of(job, name))
        for number, row in enumerate(part.table(from_b=from_b).rows, 1):
            writer.writerow(
                [
                    marks.tubes[name],
                    name,
                    "B" if from_b else "A",
                    number,
                    f"{1e3 * row.straight:.2f}",
                    f"{math.degrees(row.turn) + 0.0:.2f}",
                    f"{math.degrees(row.angle):.2f}",
                    f"{math.degrees(row.set_angle):.2f}",
                    f"{1e3 * row.mark:.2f}",
                    f"{1e3 * row.radius:.2f}",
                ]
            )
    return stream.getvalue()


def bends_data(job: Job, layout: Layout, parts: CutParts, marks: Marks, words: Words) -> list[dict[str, Any]]:
    """Plain data for the `bends` template, one page a tube."""
    return [_page(job, layout, part, marks.tubes[name], words) for name, part in parts.bent.items()]


def _page(job: Job, layout: Layout, part: BentPart, mark: str, words: Words) -> dict[str, Any]:
    tube, bender = layout.tubes[part.name], bender_of(job, part.name)
    from_b = from_b_first(part, bender)
    table = part.table(from_b=from_b)
    first, last = ("B", "A") if from_b else ("A", "B")
    raw, spare_first, spare_last = bent_saw_length(part, bender)
    wall = bent_wall(part.shape, min(row.radius for row in table.rows))
    numbers = range(len(table.rows), 0, -1) if from_b else range(1, len(table.rows) + 1)
    return {
        "mark": mark,
        "name": part.name,
        "stock": f"{tube.stock}: {words.section(part.shape)}, {tube.material.name}",
        "first": first,
        "last": last,
        "facts": [
            ["saw to", words.both(raw)],
            ["of it spare", _spare(first, spare_first, last, spare_last, words)],
            ["finished along the axis", words.both(table.length)],
            ["springback", _springback(job, part)],
            ["bender", _bender(job, part, words)],
            [
                "wall outside the bends",
                f"{1e3 * part.shape.wall:.2f} mm thins to {1e3 * wall.outside:.2f} mm",
            ],
            ["wall inside", f"thickens to {1e3 * wall.inside:.2f} mm"],
            ["finished mass", words.mass(part.mass(tube.material.density))],
        ],
        "rows": _rows(table, spare_first, words),
        "after": words.both(table.last + spare_last),
        "ends": [_end(part, end, words) for end in ((1, 0) if from_b else (0, 1))],
        "corners": _corners(part),
        "views": [view_of(part, view, list(numbers), room) for view, room in _views(part)],
        "inches": words.inches,
    }


def _spare(first: str, one: float, last: str, other: float, words: Words) -> str:
    told = [f"{words.both(size)} at end {end}" for end, size in ((first, one), (last, other)) if size > 0.0]
    return ", ".join(told) + ", cut off after bending" if told else "nothing"


def _springback(job: Job, part: BentPart) -> str:
    if not part.springback:
        return "not known: bend a trial piece first"
    bender = bender_of(job, part.name)
    measured = bender is not None and bender.springback is not None
    origin = "measured" if measured else "computed, bend a trial piece first"
    return f"{90.0 * part.springback:.1f}° of 90° ({origin})"


def _bender(job: Job, part: BentPart, words: Words) -> str:
    bender, name = bender_of(job, part.name), job.members[part.name].bender
    if bender is None:
        radius = min(bend.radius for _, bend in part.path.bends)
        return f"any whose bends come off at {words.both(radius)} on the axis"
    return f"{name}, die {words.both(bender.radius)}"


def _rows(table: BendTable, spare: float, words: Words) -> list[dict[str, str]]:
    return [
        {
            "number": str(number),
            "straight": words.length(row.straight + (spare if number == 1 else 0.0)),
            "straight_mm": millimetres(row.straight + (spare if number == 1 else 0.0)),
            "turn": "–" if number == 1 else _turn(row.turn),
            "angle": words.degrees(row.angle),
            "set": words.degrees(row.set_angle),
            "mark": words.length(row.mark + spare),
            "mark_mm": millimetres(row.mark + spare),
            "radius": millimetres(row.radius),
            "arc": millimetres(row.arc),
        }
        for number, row in enumerate(table.rows, 1)
    ]


def _turn(angle: float) -> str:
    degrees = round(math.degrees(angle), 1)
    if degrees == 0.0:
        return "none, same plane"
    if abs(degrees) == 180.0:
        return "half a turn"
    return f"{abs(degrees):.1f}° {'clockwise' if degrees > 0.0 else 'anticlockwise'}"


def _end(part: BentPart, end: int, words: Words) -> dict[str, str]:
    leg = part.leg_b if end else part.leg_a
    letter = "B" if end else "A"
    if leg is None:
        return {"end": letter, "cut": "square, in the bend", "heel": "–"}
    cut = leg.end_b if end else leg.end_a
    if not cut.onto:
        return {"end": letter, "cut": "square", "heel": "–"}
    verb = "mitre with" if cut.kind.value == "mitre" else "cope onto"
    heel = heel_from_bend(part, end)
    return {
        "end": letter,
        "cut": f"{verb} {cut.onto} at {words.degrees(cut.angle)}",
        "heel": "any way round" if heel is None else _heel(heel),
    }


def _heel(angle: float) -> str:
    degrees = round(math.degrees(angle), 1)
    if degrees == 0.0:
        return "on the inside of the bend"
    if abs(degrees) == 180.0:
        return "on the outside of the bend"
    way = "clockwise" if degrees > 0.0 else "anticlockwise"
    return f"{abs(degrees):.1f}° {way} from the inside of the bend"


def corner_points(part: BentPart) -> Array:
    """Ends and corners, (n, 3) m, for a machine that takes points: where the straights' axes meet."""
    found = [part.path.point(0.0)]
    for _, bend in part.path.bends:
        reach = bend.radius * math.tan(min(bend.angle, math.radians(179.0)) / 2.0)
        found.append(bend.origin + reach * bend.along)
    found.append(part.path.point(part.path.length))
    return np.array(found)


def _corners(part: BentPart) -> list[list[str]]:
    points = 1e3 * corner_points(part)
    names = ["A", *(str(number) for number in range(1, len(points) - 1)), "B"]
    return [
        [name, *(f"{value + 0.0:.1f}".replace("-", "−") for value in point)]
        for name, point in zip(names, points, strict=True)
    ]


def _views(part: BentPart) -> list[tuple[View, tuple[float, float]]]:
    """Square to the plane of the first bend, and along that plane."""
    _, bend = part.path.bends[0]
    ends = part.path.at(np.array([0.0, part.path.length]))
    right = ends[1] - ends[0]
    right = right - (right @ bend.normal) * bend.normal
    size = float(np.linalg.norm(right))
    right = right / size if size > 1e-6 else bend.along
    up = np.cross(bend.normal, right)
    return [
        (View("square to the plane of the bend next to end A", right, up), _ROOM_FLAT),
        (View("the same from below, along that plane", right, bend.normal), _ROOM_EDGE),
    ]


def view_of(part: BentPart, view: View, numbers: list[int], room: tuple[float, float]) -> dict[str, Any]:
    """One view of a bent tube: its edges, its axis, its ends and the numbers of its bends."""
    rings = view.flat(outside_rings(part))
    stations = np.linspace(0.0, part.path.length, 200)
    axis = view.flat(part.path.at(stations))
    low, high = rings.reshape(-1, 2).min(axis=0), rings.reshape(-1, 2).max(axis=0)
    needed = 1e3 * float(((high - low) / (np.array(room) - 18.0)).max())
    scale = next((one for one in _SCALES if one >= needed), _SCALES[-1])
    factor, border = 1e3 / scale, 9.0

    def paper(points: Array) -> list[list[float]]:
        rounded: list[list[float]] = np.round(factor * (points - low) + border, 3).tolist()
        return rounded

    lines: list[dict[str, Any]] = [{"points": paper(axis), "stroke": "centre"}]
    lines += [{"points": paper(edge), "stroke": "thick"} for edge in _edges(rings)]
    lines += [{"points": paper(ring), "stroke": "thin", "closed": True} for ring in (rings[0], rings[-1])]
    spots = [("end A", paper(axis[:1])[0]), ("end B", paper(axis[-1:])[0])]
    for number, (start, bend) in zip(numbers, part.path.bends, strict=True):
        spot = view.flat(part.path.at(np.array([start + bend.length / 2.0])))
        spots.append((f"bend {number}", paper(spot)[0]))
    size = factor * (high - low) + 2 * border
    drawn = [line["points"] for line in lines]
    labels, leaders = apart(spots, room=(float(size[0]), float(size[1])), drawn=drawn, size=8.5)
    return {
        "width": float(size[0]),
        "height": float(size[1]),
        "lines": [*lines, *leaders],
        "labels": labels,
        "scale": f"1 : {scale}",
        "name": view.name,
    }


def _edges(rings: Array) -> list[Array]:
    """The two outer edges of a swept ring, (k, 2) each: the points farthest to either side of the axis."""
    middles = rings.mean(axis=1)
    along = np.gradient(middles, axis=0)
    size = np.linalg.norm(along, axis=1)
    seen = size > 1e-9
    across = np.column_stack([-along[:, 1], along[:, 0]])[seen] / size[seen, None]
    reach = np.einsum("kij,kj->ki", rings[seen] - middles[seen, None], across)
    rows = np.arange(len(reach))
    return [rings[seen][rows, pick(reach, axis=1)] for pick in (np.argmax, np.argmin)]
