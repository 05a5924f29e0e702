"""A plate's outline from the user's own DXF file: what is cut, and what was wrong with the drawing."""

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from soapstone.errors import GeometryError
from soapstone.parts import contour as outlines
from soapstone.parts.contour import Arc, Contour, Line, Piece, Point
from soapstone.parts.dxf_pieces import METRES, UNITS, Drawn, Reader, arc_between, scaled
from soapstone.parts.dxf_tags import Drawing, read_drawing
from soapstone.parts.overlaps import without_doubles
from soapstone.parts.plates import Hole

CHORD_ERROR = 1e-5
"""m; how far the chords that stand for splines and ellipses lie off them: a tenth of what a laser holds."""
JOIN = 2e-5
"""m; ends nearer than this are one corner: a fifth of what a laser holds (0.1 mm)."""
_TRIAL = 1e-5
_TOLD = 4
"""Places named in one message."""


@dataclass(frozen=True)
class OutlineIn:
    """An outline as read.

    Attributes
    ----------
    contour : Contour
        The outside, counter-clockwise, m.
    holes : tuple of Hole
        Round ones.
    cutouts : tuple of Contour
        All other inner contours, clockwise.
    unit : str
        Of the file's coordinates.
    unit_from : str
        `the file` or `the job`.
    left_off : tuple of str
        Every line that was drawn twice or had no length, with its place and kind.
    notes : tuple of str
        What else is worth knowing: entities that are not cut, curves turned into chords.
    """

    contour: Contour
    holes: tuple[Hole, ...]
    cutouts: tuple[Contour, ...]
    unit: str
    unit_from: Literal["the file", "the job"]
    left_off: tuple[str, ...]
    notes: tuple[str, ...]


def read_outline(data: bytes, unit: str | None = None) -> OutlineIn:
    """Read one plate.

    Parameters
    ----------
    data : bytes
        Of a DXF file, ASCII or binary, of any version.
    unit : str or None
        `mm`, `cm`, `m`, `in` or `ft`, as the job says; None takes what the file says.

    Raises
    ------
    GeometryError
        It cannot be read, says no unit, draws nothing in model space, or has an outline that is open, is
        crossed, or is more than one plate.
    """
    drawing = read_drawing(data)
    name, origin, told = _unit(drawing, unit)
    metres = METRES[name]
    reader = Reader(drawing, CHORD_ERROR / metres)
    drawn = [scaled(one, metres) for one in reader.pieces()]
    if not drawn:
        raise _nothing(drawing)
    clean, left_off = without_doubles(drawn, JOIN)
    contours = [_whole_circle(one.piece) for one in clean if _is_circle(one.piece)]
    contours += chain([one for one in clean if not _is_circle(one.piece)])
    outside, holes, cutouts = _nest(contours)
    return OutlineIn(outside, holes, cutouts, name, origin, tuple(left_off), (*told, *_notes(reader)))


def _unit(
    drawing: Drawing, wanted: str | None
) -> tuple[str, Literal["the file", "the job"], tuple[str, ...]]:
    says = UNITS.get(drawing.header.get("$INSUNITS", "").strip(), ("", 0.0))[0]
    if wanted is not None:
        differ = f"the file says {says} and the job {wanted}: the job's counts"
        return wanted, "the job", (differ,) if says not in ("", wanted) else ()
    if not says:
        raise GeometryError(
            "its DXF does not say in what unit it is drawn",
            remedy="say it in the job: unit: mm, cm, m, in or ft",
        )
    return says, "the file", ()


def _nothing(drawing: Drawing) -> GeometryError:
    if drawing.paper:
        where = " and ".join(f"{count} in the paper layout {name!r}" for name, count in drawing.paper.items())
        return GeometryError(
            f"its DXF draws nothing in model space, where a plate belongs; there are {where}",
            remedy="move the outline to model space at 1:1 and save it again",
        )
    return GeometryError("its DXF draws no line, arc, circle, polyline, ellipse or spline")


def _notes(reader: Reader) -> tuple[str, ...]:
    notes = [f"{count} {kind} not cut" for kind, count in sorted(reader.left_out.items())]
    if reader.curves:
        error = f"{1e3 * CHORD_ERROR:g} mm"
        notes.append(f"{reader.curves} splines and ellipses cut as straight chords within {error}")
    return tuple(notes)


def _is_circle(piece: Piece) -> bool:
    return isinstance(piece, Arc) and abs(piece.end_angle - piece.start_angle) > 2 * math.pi - 1e-9


def _whole_circle(piece: Piece) -> Contour:
    assert isinstance(piece, Arc)
    return (Arc(piece.centre, piece.radius, 0.0, 2 * math.pi),)


def chain(drawn: list[Drawn]) -> list[Contour]:
    """Closed contours of pieces in any order and direction.

    Raises
    ------
    GeometryError
        Ends that meet nothing, or places where three lines meet; each is named.
    """
    if not drawn:
        return []
    tips = np.array([point for one in drawn for point in (one.piece.start, one.piece.end)])
    nodes, places = _corners(tips)
    at: dict[int, list[int]] = defaultdict(list)
    for row, node in enumerate(nodes):
        at[node].append(row)
    _refuse_open(at, tips, drawn)
    contours: list[Contour] = []
    waiting = set(range(len(drawn)))
    while waiting:
        first = min(waiting)
        row, pieces = 2 * first, []
        while row // 2 in waiting:
            waiting.remove(row // 2)
            leave = row ^ 1
            corners = places[nodes[row]], places[nodes[leave]]
            pieces.append(_between(drawn[row // 2].piece, *corners, backwards=bool(row % 2)))
            row = next(other for other in at[nodes[leave]] if other != leave)
        contours.append(tuple(pieces))
    return contours


def _corners(ends: np.ndarray) -> tuple[list[int], list[Point]]:
    """Which corner each end belongs to, and where the corners are: the middle of the ends that meet."""
    pairs = cKDTree(ends).query_pairs(JOIN, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(ends), len(ends)))
    count, labels = connected_components(links, directed=False)
    sums = np.zeros((count, 2))
    np.add.at(sums, labels, ends)
    middles = sums / np.bincount(labels)[:, None]
    return labels.tolist(), [(float(x), float(y)) for x, y in middles]


def _refuse_open(at: dict[int, list[int]], ends: np.ndarray, drawn: list[Drawn]) -> None:
    loose = [rows[0] for rows in at.values() if len(rows) == 1]
    if loose:
        places = [f"{_mm(ends[row])} ({drawn[row // 2].entity})" for row in loose]
        gap = _nearest_gap(ends[loose])
        told = f"; the nearest two are {1e3 * gap:.3g} mm apart" if gap < math.inf else ""
        raise GeometryError(
            f"its outline is open at {_listed(places)}{told}", remedy="close it so that the ends touch"
        )
    forks = [rows for rows in at.values() if len(rows) > 2]
    if forks:
        places = [f"{_mm(ends[rows[0]])}" for rows in forks]
        raise GeometryError(
            f"more than two lines meet at {_listed(places)}", remedy="take out what is not to be cut"
        )


def _nearest_gap(points: np.ndarray) -> float:
    if len(points) < 2:
        return math.inf
    gaps, _ = cKDTree(points).query(points, k=2)
    return float(np.asarray(gaps)[:, 1].min())


def _between(piece: Piece, start: Point, end: Point, *, backwards: bool) -> Piece:
    """The piece from corner to corner; an arc keeps its sweep."""
    if isinstance(piece, Line):
        return Line(start, end)
    sweep = piece.end_angle - piece.start_angle
    return arc_between(start, end, -sweep if backwards else sweep)


def _nest(contours: list[Contour]) -> tuple[Contour, tuple[Hole, ...], tuple[Contour, ...]]:
    """Outside, round holes and other cut-outs."""
    shapes = [shapely.Polygon(outlines.polygon(contour, _TRIAL)) for contour in contours]
    for contour, shape in zip(contours, shapes, strict=True):
        if not shape.is_valid or shape.area == 0.0:
            raise GeometryError(f"its outline at {_mm(contour[0].start)} crosses itself")
    largest = max(range(len(shapes)), key=lambda row: shapes[row].area)
    holes: list[Hole] = []
    cutouts: list[Contour] = []
    for row, contour in enumerate(contours):
        if row == largest:
            continue
        _check_inside(row, largest, contours, shapes)
        hole = round_hole(contour)
        if hole is not None:
            holes.append(hole)
        else:
            cutouts.append(turned(contour, left=False))
    return turned(contours[largest], left=True), tuple(holes), tuple(cutouts)


def _check_inside(row: int, largest: int, contours: list[Contour], shapes: list[shapely.Polygon]) -> None:
    place = _mm(contours[row][0].start)
    if shapes[row].disjoint(shapes[largest]):
        raise GeometryError(
            f"its DXF draws more than one plate: a second outline stands at {place}",
            remedy="give each plate a file of its own",
        )
    if not shapes[largest].contains_properly(shapes[row]):
        raise GeometryError(f"its cut-out at {place} runs into the outside edge")
    for other, shape in enumerate(shapes):
        if other in (row, largest) or not shape.intersects(shapes[row]):
            continue
        if shape.contains(shapes[row]):
            raise GeometryError(
                f"its outline at {place} lies inside a cut-out and would fall out",
                remedy="give it a file of its own",
            )
        if not shapes[row].contains(shape):
            raise GeometryError(f"its cut-outs at {place} and {_mm(contours[other][0].start)} run together")


def round_hole(contour: Contour) -> Hole | None:
    """The hole of a contour that is one circle, however many arcs it is drawn in."""
    arcs = [piece for piece in contour if isinstance(piece, Arc)]
    if len(arcs) != len(contour):
        return None
    first = arcs[0]
    if any(
        math.dist(arc.centre, first.centre) > JOIN or abs(arc.radius - first.radius) > JOIN for arc in arcs
    ):
        return None
    turn = sum(arc.end_angle - arc.start_angle for arc in arcs)
    return Hole(first.centre, 2.0 * first.radius) if abs(abs(turn) - 2 * math.pi) < 1e-3 else None


def turned(contour: Contour, *, left: bool) -> Contour:
    """The contour counter-clockwise (`left`) or clockwise."""
    if (outlines.moments(contour)[0] > 0.0) is left:
        return contour
    return tuple(backwards(piece) for piece in reversed(contour))


def backwards(piece: Piece) -> Piece:
    """The piece from its end to its start."""
    if isinstance(piece, Line):
        return Line(piece.end, piece.start)
    return Arc(piece.centre, piece.radius, piece.end_angle, piece.start_angle)


def _mm(point: np.ndarray | Point) -> str:
    x, y = (f"{1e3 * float(part) + 0.0:.3f}".rstrip("0").rstrip(".") for part in point)
    return f"({x}, {y}) mm"


def _listed(places: list[str]) -> str:
    more = f" and {len(places) - _TOLD} more" if len(places) > _TOLD else ""
    return " and ".join(places[:_TOLD]) + more
