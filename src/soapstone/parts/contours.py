"""Contours that plates are made of: rectangles, slots, gussets, and any polygon with rounded corners."""

import math
from collections.abc import Sequence

from soapstone.errors import GeometryError
from soapstone.parts.contour import Arc, Contour, Line, Piece, Point

_CLOSED = 1e-9  # m


def rounded(name: str, corners: Sequence[Point], radii: Sequence[float]) -> Contour:
    """A polygon, its corners rounded; counter-clockwise corners give a counter-clockwise contour.

    Parameters
    ----------
    corners : sequence of (x, y) m
    radii : sequence of float
        m, one a corner; zero for a sharp one.

    Raises
    ------
    GeometryError
        A side is too short for the two roundings at its ends.
    """
    count = len(corners)
    pieces: list[Piece] = []
    cuts = [
        _tangent(corners[row - 1], corners[row], corners[(row + 1) % count], radii[row])
        for row in range(count)
    ]
    for row in range(count):
        here, after = corners[row], corners[(row + 1) % count]
        length = math.dist(here, after)
        rest = length - cuts[row] - cuts[(row + 1) % count]
        if rest < -_CLOSED:
            raise GeometryError(
                f"a side of {1e3 * length:.4g} mm is too short for its rounded corners", where=name
            )
        if radii[row] > 0.0:
            pieces.append(_corner(corners[row - 1], here, after, radii[row], cuts[row]))
        if rest > _CLOSED:
            way = ((after[0] - here[0]) / length, (after[1] - here[1]) / length)
            ends = (cuts[row], length - cuts[(row + 1) % count])
            start, end = ((here[0] + along * way[0], here[1] + along * way[1]) for along in ends)
            pieces.append(Line(start, end))
    return tuple(pieces)


def _turn(before: Point, here: Point, after: Point) -> float:
    first = math.atan2(here[1] - before[1], here[0] - before[0])
    second = math.atan2(after[1] - here[1], after[0] - here[0])
    return (second - first + math.pi) % (2 * math.pi) - math.pi


def _tangent(before: Point, here: Point, after: Point, radius: float) -> float:
    return radius * abs(math.tan(_turn(before, here, after) / 2.0))


def _corner(before: Point, here: Point, after: Point, radius: float, cut: float) -> Arc:
    turn = _turn(before, here, after)
    length = math.dist(before, here)
    along = ((here[0] - before[0]) / length, (here[1] - before[1]) / length)
    side = math.copysign(1.0, turn)
    start = (here[0] - cut * along[0], here[1] - cut * along[1])
    centre = (start[0] - side * radius * along[1], start[1] + side * radius * along[0])
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    return Arc(centre, radius, first, first + turn)


def rectangle(name: str, width: float, height: float, radius: float = 0.0, at: Point = (0.0, 0.0)) -> Contour:
    """A rectangle m about `at`, its width along x, counter-clockwise."""
    a, b, (x, y) = width / 2.0, height / 2.0, at
    corners = [(x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)]
    return rounded(name, corners, [radius] * 4)


def slot(centre: Point, diameter: float, length: float, angle: float) -> Contour:
    """A slot with round ends: `length` m over all, its long way at `angle` rad from x; counter-clockwise.

    Raises
    ------
    GeometryError
        It is no longer than it is wide.
    """
    reach = (length - diameter) / 2.0
    if reach <= 0.0:
        raise GeometryError(
            f"a slot of {1e3 * length:.4g} mm is no longer than its width of {1e3 * diameter:.4g} mm"
        )
    x, y = reach * math.cos(angle), reach * math.sin(angle)
    far, near = (centre[0] + x, centre[1] + y), (centre[0] - x, centre[1] - y)
    half = math.pi / 2.0
    ends = (
        Arc(far, diameter / 2.0, angle - half, angle + half),
        Arc(near, diameter / 2.0, angle + half, angle + 3.0 * half),
    )
    return ends[0], Line(ends[0].end, ends[1].start), ends[1], Line(ends[1].end, ends[0].start)


def gusset(
    name: str, along: float, up: float, clip: float, nose: float, angle: float = math.pi / 2
) -> Contour:
    """A gusset: two legs from a corner, the corner clipped, the two tips cut off blunt.

    Parameters
    ----------
    along, up : float
        m, its legs; the first lies along x from the corner at the origin.
    clip : float
        m that the corner is set back along each leg, to pass over a weld; zero leaves it sharp.
    nose : float
        m, width of each tip, square to its leg: a sharp tip burns away.
    angle : float
        rad between the legs.

    Raises
    ------
    GeometryError
        Clip or nose are larger than the legs allow.
    """
    if not (0.0 <= clip < min(along, up) and 0.0 <= nose < min(along, up) * math.sin(angle)):
        raise GeometryError("its clip or its nose is larger than its legs", where=name)
    c, s = math.cos(angle), math.sin(angle)
    corners: list[Point] = [(clip, 0.0), (along, 0.0)]
    if nose > 0.0:
        corners.append((along, nose))
        corners.append((up * c + nose * s, up * s - nose * c))
    corners.append((up * c, up * s))
    corners.append((clip * c, clip * s))
    if clip == 0.0:
        corners.pop()
    return rounded(name, corners, [0.0] * len(corners))
