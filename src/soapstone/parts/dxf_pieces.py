"""What a DXF file draws, as straight lines and arcs in metres, blocks put in place."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from scipy.interpolate import BSpline

from soapstone.errors import GeometryError
from soapstone.parts.contour import Arc, Line, Piece, Point
from soapstone.parts.dxf_tags import Drawing, Entity

UNITS = {"1": ("in", 0.0254), "2": ("ft", 0.3048), "4": ("mm", 1e-3), "5": ("cm", 1e-2), "6": ("m", 1.0)}
"""$INSUNITS to a unit's name and metres."""
METRES = dict(UNITS.values())
_DRAWN = ("LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE", "INSERT")
_DEEPEST = 16
_MOST = 20_000
"""Copies of blocks that a drawing of one plate may have."""
_WHOLE = 2.0 * math.pi - 1e-9


@dataclass(frozen=True)
class Drawn:
    """A line or arc, m, and the entity that it comes from."""

    piece: Piece
    entity: str


@dataclass(frozen=True)
class Placing:
    """Where a block's own coordinates go: x' = a x + b y + e, y' = c x + d y + f."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def at(self, point: Point) -> Point:
        """A point, placed."""
        x, y = point
        return self.a * x + self.b * y + self.e, self.c * x + self.d * y + self.f

    def within(self, outer: "Placing") -> "Placing":
        """This placing, inside another."""
        o = outer
        return Placing(
            o.a * self.a + o.b * self.c,
            o.a * self.b + o.b * self.d,
            o.c * self.a + o.d * self.c,
            o.c * self.b + o.d * self.d,
            *o.at((self.e, self.f)),
        )

    @property
    def even(self) -> bool:
        """Whether circles stay circles."""
        size = math.hypot(self.a, self.c)
        same = abs(size - math.hypot(self.b, self.d)) <= 1e-9 * size
        return same and abs(self.a * self.b + self.c * self.d) <= 1e-9 * size * size

    @property
    def mirrored(self) -> bool:
        """Whether left and right are swapped."""
        return self.a * self.d - self.b * self.c < 0.0


@dataclass
class Reader:
    """Turns entities into pieces.

    Attributes
    ----------
    drawing : Drawing
    chord_error : float
        In the drawing's own unit: how far the chords of splines and ellipses may lie off them.
    left_out : kinds of entity that draw nothing that is cut, with their number
    curves : number of splines and ellipses turned into chords
    """

    drawing: Drawing
    chord_error: float
    left_out: dict[str, int] = field(default_factory=dict)
    curves: int = 0
    _placed: int = 0

    def pieces(self) -> list[Drawn]:
        """Everything in model space, in the drawing's unit."""
        return list(self._of(self.drawing.model, Placing(), 0))

    def _of(self, entities: list[Entity], placing: Placing, depth: int) -> Iterator[Drawn]:
        rows = iter(range(len(entities)))
        for row in rows:
            entity = entities[row]
            if entity.kind == "POLYLINE":
                end = row + 1
                while end < len(entities) and entities[end].kind == "VERTEX":
                    end += 1
                yield from self._placed_pieces(_polyline(entity, entities[row + 1 : end]), entity, placing)
            elif entity.kind == "INSERT":
                yield from self._insert(entity, placing, depth)
            elif entity.kind in _DRAWN:
                yield from self._placed_pieces(self._plain(entity), entity, placing)
            elif entity.kind not in ("VERTEX", "SEQEND"):
                self.left_out[entity.kind] = self.left_out.get(entity.kind, 0) + 1

    def _plain(self, entity: Entity) -> list[Piece]:
        match entity.kind:
            case "LINE":
                return [Line(_point(entity, 10), _point(entity, 11))]
            case "CIRCLE":
                return [Arc(_point(entity, 10), _radius(entity), 0.0, 2.0 * math.pi)]
            case "ARC":
                start, end = (math.radians(entity.number(code)) for code in (50, 51))
                return [Arc(_point(entity, 10), _radius(entity), start, start + _positive_turn(end - start))]
            case "LWPOLYLINE":
                return _bulged(*_light_corners(entity), closed=bool(entity.whole(70) & 1))
            case "ELLIPSE":
                self.curves += 1
                return _chords(_ellipse(entity), self.chord_error)
            case _:
                self.curves += 1
                return _spline(entity, self.chord_error)

    def _placed_pieces(self, pieces: list[Piece], entity: Entity, placing: Placing) -> Iterator[Drawn]:
        if entity.number(230, 1.0) < 0.0:  # drawn from behind: its own x axis runs the other way
            own = Placing(a=-1.0) if entity.kind not in ("LINE", "SPLINE", "ELLIPSE") else Placing()
            placing = own.within(placing)
        what = f"{entity.kind} at {entity.place}"
        for piece in pieces:
            yield from (Drawn(moved, what) for moved in _moved(piece, placing, self.chord_error))

    def _insert(self, entity: Entity, placing: Placing, depth: int) -> Iterator[Drawn]:
        name = entity.text(2)
        if name.upper() not in self.drawing.blocks:
            raise entity.damaged(f"names the block {name!r}, which is not in the file")
        if depth >= _DEEPEST:
            raise entity.damaged("stands inside itself")
        (base_x, base_y), inner = self.drawing.blocks[name.upper()]
        across, up = entity.number(41, 1.0), entity.number(42, 1.0)
        turn = math.radians(entity.number(50, 0.0))
        cos, sin = math.cos(turn), math.sin(turn)
        columns, rows = max(1, entity.whole(70, 1)), max(1, entity.whole(71, 1))
        mirror = Placing(a=-1.0) if entity.number(230, 1.0) < 0.0 else Placing()
        self._placed += columns * rows
        if self._placed > _MOST:
            raise entity.damaged(f"makes more than {_MOST} copies of its block")
        for row in range(rows):
            for column in range(columns):
                dx, dy = column * entity.number(44, 0.0), row * entity.number(45, 0.0)
                own = Placing(
                    across * cos,
                    -up * sin,
                    across * sin,
                    up * cos,
                    entity.number(10, 0.0) + cos * dx - sin * dy - across * cos * base_x + up * sin * base_y,
                    entity.number(20, 0.0) + sin * dx + cos * dy - across * sin * base_x - up * cos * base_y,
                )
                yield from self._of(inner, own.within(mirror).within(placing), depth + 1)


def _point(entity: Entity, code: int) -> Point:
    return entity.number(code), entity.number(code + 10)


def _radius(entity: Entity) -> float:
    radius = entity.number(40)
    if radius <= 0.0:
        raise entity.damaged("has no radius")
    return radius


def _positive_turn(turn: float) -> float:
    turn %= 2.0 * math.pi
    return turn if turn > 1e-12 else 2.0 * math.pi


def _light_corners(entity: Entity) -> tuple[list[Point], list[float]]:
    """Corners of an LWPOLYLINE, each with the bulge that follows it in the file."""
    corners: list[list[float]] = []
    bulges: list[float] = []
    for code, value in entity.tags:
        if code == 10:
            corners.append([Entity(entity.kind, ((10, value),), entity.place).number(10), math.nan])
            bulges.append(0.0)
        elif code in (20, 42) and corners:
            number = Entity(entity.kind, ((code, value),), entity.place).number(code)
            if code == 20:
                corners[-1][1] = number
            else:
                bulges[-1] = number
    if len(corners) < 2 or any(math.isnan(y) for _, y in corners):
        raise entity.damaged("has no two whole corners")
    return [(x, y) for x, y in corners], bulges


def _polyline(entity: Entity, vertices: list[Entity]) -> list[Piece]:
    flags = entity.whole(70)
    if flags & (16 | 64):
        raise GeometryError(
            f"its POLYLINE at {entity.place} is a mesh, not an outline", remedy="draw the outline flat"
        )
    real = [vertex for vertex in vertices if not vertex.whole(70) & 16]  # 16: frame of a fitted curve
    if len(real) < 2:
        raise entity.damaged("has no two corners")
    corners = [_point(vertex, 10) for vertex in real]
    return _bulged(corners, [vertex.number(42, 0.0) for vertex in real], closed=bool(flags & 1))


def _bulged(corners: list[Point], bulges: list[float], *, closed: bool) -> list[Piece]:
    """Lines and arcs between corners; a bulge is the tangent of a quarter of the arc's sweep."""
    last = len(corners) if closed else len(corners) - 1
    return [
        arc_between(corners[row], corners[(row + 1) % len(corners)], 4.0 * math.atan(bulges[row]))
        for row in range(last)
    ]


def arc_between(start: Point, end: Point, sweep: float) -> Piece:
    """The arc between two points that sweeps an angle, rad, counter-clockwise positive; a line for none."""
    chord = math.dist(start, end)
    if abs(sweep) < 1e-9 or chord == 0.0:
        return Line(start, end)
    # the centre stands off the chord's middle by half the chord over tan of half the sweep, to the left
    off = 0.5 / math.tan(sweep / 2.0)
    (a, b), (c, d) = start, end
    centre = ((a + c) / 2.0 - off * (d - b), (b + d) / 2.0 + off * (c - a))
    first = math.atan2(b - centre[1], a - centre[0])
    return Arc(centre, chord / (2.0 * abs(math.sin(sweep / 2.0))), first, first + sweep)


def _ellipse(entity: Entity) -> np.ndarray:
    """Points (n, 2) on an ellipse, close enough to be thinned to chords."""
    major = np.array(_point(entity, 11))
    minor = entity.number(40) * np.array([-major[1], major[0]])
    if entity.number(230, 1.0) < 0.0:
        minor = -minor
    start, end = entity.number(41, 0.0), entity.number(42, 2.0 * math.pi)
    turn = np.linspace(start, start + _positive_turn(end - start), 2049)[:, None]
    points: np.ndarray = np.array(_point(entity, 10)) + np.cos(turn) * major + np.sin(turn) * minor
    if end - start >= _WHOLE:
        points[-1] = points[0]
    return points


def _spline(entity: Entity, error: float) -> list[Piece]:
    degree = entity.whole(71)
    knots = np.array(entity.numbers(40))
    control = np.column_stack([entity.numbers(10), entity.numbers(20)])
    if not len(control):
        raise entity.damaged("has fit points and no control points")
    if not 1 <= degree <= 25 or len(knots) != len(control) + degree + 1 or (np.diff(knots) < 0.0).any():
        raise entity.damaged("has knots that do not go with its control points")
    weights = np.array(entity.numbers(41) or [1.0] * len(control))
    if len(weights) != len(control) or (weights <= 0.0).any():
        raise entity.damaged("has weights that do not go with its control points")
    curve = BSpline(knots, np.column_stack([control * weights[:, None], weights]), degree)
    spans = np.unique(knots[degree : len(control) + 1])
    at = np.concatenate([np.linspace(low, high, 129)[:-1] for low, high in pairwise(spans)])
    found = curve(np.append(at, spans[-1]))
    return _chords(found[:, :2] / found[:, 2:], error)


def _chords(points: np.ndarray, error: float) -> list[Piece]:
    """Chords through some of the points that no point lies farther off than `error` (Douglas and Peucker)."""
    keep = {0, len(points) - 1}
    if len(points) > 2 and np.allclose(points[0], points[-1], rtol=0.0, atol=error):
        keep.add(len(points) // 2)
    waiting = list(pairwise(sorted(keep)))
    while waiting:
        low, high = waiting.pop()
        if high - low < 2:
            continue
        along = points[high] - points[low]
        arm = points[low + 1 : high] - points[low]
        size = float(np.hypot(*along))
        far = np.abs(arm @ np.array([-along[1], along[0]])) / size if size else np.hypot(*arm.T)
        worst = int(far.argmax())
        if far[worst] > error:
            middle = low + 1 + worst
            keep.add(middle)
            waiting += [(low, middle), (middle, high)]
    corners = [(float(x), float(y)) for x, y in points[sorted(keep)]]
    return [Line(a, b) for a, b in pairwise(corners)]


def _moved(piece: Piece, placing: Placing, error: float) -> list[Piece]:
    if isinstance(piece, Line):
        return [Line(placing.at(piece.start), placing.at(piece.end))]
    if not placing.even:
        turned = np.linspace(piece.start_angle, piece.end_angle, 1025)
        points = np.array([placing.at(piece.at(float(angle))) for angle in turned])
        return _chords(points, error)
    sweep = piece.end_angle - piece.start_angle
    size = math.hypot(placing.a, placing.c)
    centre, begin = placing.at(piece.centre), placing.at(piece.start)
    first = math.atan2(begin[1] - centre[1], begin[0] - centre[0])
    return [Arc(centre, piece.radius * size, first, first + (-sweep if placing.mirrored else sweep))]


def scaled(drawn: Drawn, factor: float) -> Drawn:
    """The same in another unit."""
    piece = drawn.piece
    if isinstance(piece, Line):
        (a, b), (c, d) = piece.start, piece.end
        return Drawn(Line((factor * a, factor * b), (factor * c, factor * d)), drawn.entity)
    x, y = piece.centre
    arc = Arc((factor * x, factor * y), factor * piece.radius, piece.start_angle, piece.end_angle)
    return Drawn(arc, drawn.entity)
