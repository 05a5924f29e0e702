"""Lines drawn twice: copies, reversed copies, overlaps and pieces of no length, each with its place."""

import math
from itertools import pairwise

from soapstone.parts.contour import Arc, Line, Piece, Point
from soapstone.parts.dxf_pieces import Drawn

_FULL = 2.0 * math.pi
Interval = tuple[float, float]


def without_doubles(drawn: list[Drawn], near: float) -> tuple[list[Drawn], list[str]]:
    """Each line once.

    Parameters
    ----------
    drawn : list of Drawn
    near : float
        m; what lies closer together is one.

    Returns
    -------
    clean, told
        The pieces that stay, in the drawing's order, and what was left off, in words.
    """
    told: list[tuple[int, str]] = []
    kept: list[tuple[int, Drawn]] = []
    long = []
    for row, one in enumerate(drawn):
        if one.piece.length <= near:
            told.append((row, f"{one.entity}: zero length at {_place(one.piece.start)}"))
        else:
            long.append((row, one))
    # the longest first, so that a piece is only ever covered by longer ones or by its like drawn before
    for row, one in sorted(long, key=lambda pair: (-round(pair[1].piece.length / near), pair[0])):
        covered: list[Interval] = []
        for _, other in kept:
            found = _covered(one.piece, other.piece, near)
            if not found:
                continue
            covered += found
            told.append((row, _words(one, other, found, near)))
        kept += [(row, Drawn(_part(one.piece, part), one.entity)) for part in _rest(one.piece, covered, near)]
    clean = [one for _, one in sorted(kept, key=lambda pair: pair[0])]
    return clean, [words for _, words in sorted(told)]


def _words(one: Drawn, other: Drawn, found: list[Interval], near: float) -> str:
    total = sum(high - low for low, high in found)
    whole = (
        abs(total - one.piece.length) <= 2 * near and abs(one.piece.length - other.piece.length) <= 2 * near
    )
    place = f"from {_place(one.piece.start)} to {_place(one.piece.end)}, over the {other.entity}"
    if not whole:
        return f"{one.entity}: overlap of {1e3 * total:.3g} mm {place}"
    closed = math.dist(one.piece.start, one.piece.end) <= near
    same = closed or math.dist(one.piece.start, other.piece.start) <= 2 * near
    return f"{one.entity}: {'copy' if same else 'reversed copy'} {place}"


def _covered(piece: Piece, other: Piece, near: float) -> list[Interval]:
    """Which parts of a piece, m from its start, another piece lies over."""
    if isinstance(piece, Line) and isinstance(other, Line):
        found = _line_over(piece, other, near)
    elif isinstance(piece, Arc) and isinstance(other, Arc):
        found = _arc_over(piece, other, near)
    else:
        found = []
    return [(low, high) for low, high in found if high - low > near]


def _line_over(piece: Line, other: Line, near: float) -> list[Interval]:
    (a, b), (c, d) = piece.start, piece.end
    along = ((c - a) / piece.length, (d - b) / piece.length)

    def seen(point: Point) -> tuple[float, float]:
        x, y = point[0] - a, point[1] - b
        return x * along[0] + y * along[1], abs(y * along[0] - x * along[1])

    (low, off), (high, off_too) = seen(other.start), seen(other.end)
    if max(off, off_too) > near:
        return []
    low, high = sorted((low, high))
    return [(max(low, 0.0), min(high, piece.length))]


def _arc_over(piece: Arc, other: Arc, near: float) -> list[Interval]:
    if math.dist(piece.centre, other.centre) > near or abs(piece.radius - other.radius) > near:
        return []
    sense = 1.0 if piece.end_angle > piece.start_angle else -1.0
    span = abs(piece.end_angle - piece.start_angle)
    ends = sorted(sense * (angle - piece.start_angle) for angle in (other.start_angle, other.end_angle))
    width = ends[1] - ends[0]
    begin = ends[0] % _FULL
    found = [(max(begin + turn, 0.0), min(begin + turn + width, span)) for turn in (-_FULL, 0.0)]
    return [(piece.radius * low, piece.radius * high) for low, high in found if high > low]


def _rest(piece: Piece, covered: list[Interval], near: float) -> list[Interval]:
    """What of a piece nothing lies over."""
    edges = [(0.0, 0.0), *sorted(covered), (piece.length, piece.length)]
    rest: list[Interval] = []
    done = 0.0
    for (_, high), (low, _) in pairwise(edges):
        done = max(done, high)
        if low - done > near:
            rest.append((done, low))
    return rest


def _part(piece: Piece, part: Interval) -> Piece:
    low, high = part[0] / piece.length, part[1] / piece.length
    if (low, high) == (0.0, 1.0):
        return piece
    if isinstance(piece, Arc):
        turn = piece.end_angle - piece.start_angle
        return Arc(
            piece.centre, piece.radius, piece.start_angle + low * turn, piece.start_angle + high * turn
        )
    (a, b), (c, d) = piece.start, piece.end
    return Line(
        (a + low * (c - a), b + low * (d - b)),
        (a + high * (c - a), b + high * (d - b)),
    )


def _place(point: Point) -> str:
    x, y = (f"{1e3 * part + 0.0:.3f}".rstrip("0").rstrip(".") for part in point)
    return f"({x}, {y}) mm"
