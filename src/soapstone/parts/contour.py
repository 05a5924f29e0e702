"""Closed outlines of straight lines and circular arcs, with exact area, centre, length and reach."""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from soapstone.parts.profile import Array

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A straight piece from `start` to `end`, (x, y) m."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """m."""
        return math.dist(self.start, self.end)

    def moments(self) -> tuple[float, float, float]:
        """Its share of ∫dA, ∫x dA and ∫y dA by Green's theorem, m², m³, m³."""
        (a, b), (c, d) = self.start, self.end
        twice = a * d - c * b
        return twice / 2, twice * (a + c) / 6, twice * (b + d) / 6

    def distance(self, point: Point) -> float:
        """From a point to the nearest spot on it, m."""
        (a, b), (c, d) = self.start, self.end
        along = ((point[0] - a) * (c - a) + (point[1] - b) * (d - b)) / self.length**2
        part = min(max(along, 0.0), 1.0)
        return math.dist(point, (a + part * (c - a), b + part * (d - b)))

    def corners(self, chord_error: float) -> list[Point]:
        """Its points but the last."""
        return [self.start]

    def extremes(self) -> list[Point]:
        """Points that can bound it."""
        return [self.start, self.end]


@dataclass(frozen=True)
class Arc:
    """A circular piece.

    Attributes
    ----------
    centre : (x, y) m
    radius : m
    start_angle, end_angle : rad
        From +x towards +y; it runs counter-clockwise where the end angle is the larger.
    """

    centre: Point
    radius: float
    start_angle: float
    end_angle: float

    @property
    def start(self) -> Point:
        """First point, m."""
        return self.at(self.start_angle)

    @property
    def end(self) -> Point:
        """Last point, m."""
        return self.at(self.end_angle)

    @property
    def length(self) -> float:
        """m."""
        return self.radius * abs(self.end_angle - self.start_angle)

    def at(self, angle: float) -> Point:
        """The point at an angle, m."""
        return self.centre[0] + self.radius * math.cos(angle), self.centre[1] + self.radius * math.sin(angle)

    def moments(self) -> tuple[float, float, float]:
        """Its share of ∫dA, ∫x dA and ∫y dA: the chord's, and the segment's between chord and arc."""
        area, first, second = Line(self.start, self.end).moments()
        turn = self.end_angle - self.start_angle
        segment = self.radius**2 / 2 * (turn - math.sin(turn))
        middle = (self.start_angle + self.end_angle) / 2
        # ∫ of the distance from the centre along the middle line, over the segment
        outward = 2 / 3 * (self.radius * math.sin(turn / 2)) ** 3
        return (
            area + segment,
            first + segment * self.centre[0] + outward * math.cos(middle),
            second + segment * self.centre[1] + outward * math.sin(middle),
        )

    def distance(self, point: Point) -> float:
        """From a point to the nearest spot on it, m."""
        away = math.dist(point, self.centre)
        if away == 0.0 or self.spans(math.atan2(point[1] - self.centre[1], point[0] - self.centre[0])):
            return abs(away - self.radius)
        return min(math.dist(point, self.start), math.dist(point, self.end))

    def spans(self, angle: float) -> bool:
        """Whether it passes the direction `angle`, rad, seen from its centre."""
        low, high = sorted((self.start_angle, self.end_angle))
        return (angle - low) % (2 * math.pi) <= high - low

    def corners(self, chord_error: float) -> list[Point]:
        """Points on it but the last, so close that chords miss it by at most `chord_error` m."""
        widest = 2 * math.acos(max(1 - chord_error / self.radius, 0.0))
        turn = self.end_angle - self.start_angle
        count = max(math.ceil(abs(turn) / widest), 1)
        return [self.at(self.start_angle + turn * i / count) for i in range(count)]

    def extremes(self) -> list[Point]:
        """Points that can bound it: its ends and the quarter points it passes."""
        quarters = [i * math.pi / 2 for i in range(4)]
        return [self.start, self.end, *(self.at(q) for q in quarters if self.spans(q))]


Piece = Line | Arc
Contour = tuple[Piece, ...]


def moments(contour: Contour) -> tuple[float, Point]:
    """Area, m², positive counter-clockwise, and centroid, m, of a closed contour; exact."""
    area, first, second = (sum(column) for column in zip(*(p.moments() for p in contour), strict=True))
    return area, (first / area, second / area)


def length(contour: Contour) -> float:
    """Length of a contour, m."""
    return sum(piece.length for piece in contour)


def bounds(contour: Contour) -> tuple[float, float, float, float]:
    """Smallest x and y, largest x and y, m; arcs honoured."""
    x, y = zip(*(point for piece in contour for point in piece.extremes()), strict=True)
    return min(x), min(y), max(x), max(y)


def distance(contour: Contour, point: Point) -> float:
    """From a point to the nearest spot on a contour, m."""
    return min(piece.distance(point) for piece in contour)


def polygon(contour: Contour, chord_error: float) -> Array:
    """Corners (n, 2) m of a polygon in the contour, its chords at most `chord_error` m off the arcs."""
    return np.array([corner for piece in contour for corner in piece.corners(chord_error)])


def widest_gap(contour: Contour) -> float:
    """Largest distance between the end of a piece and the start of the next, m; zero when closed."""
    following = (*contour[1:], contour[0])
    return max(math.dist(a.end, b.start) for a, b in zip(contour, following, strict=True))


def encloses(contour: Contour, point: Point) -> bool:
    """Whether a closed contour goes round a point: the angle it is seen under from there is a whole turn."""
    turned = 0.0
    for piece in contour:
        spots = [*piece.corners(0.05 * piece.length), piece.end]
        for one, other in pairwise(spots):
            a = math.atan2(one[1] - point[1], one[0] - point[0])
            b = math.atan2(other[1] - point[1], other[0] - point[0])
            turned += (b - a + math.pi) % (2 * math.pi) - math.pi
    return abs(turned) > math.pi
