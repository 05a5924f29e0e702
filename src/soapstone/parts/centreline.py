"""The line through the middle of a tube: straights and bends, one after the other."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError

Array = NDArray[np.float64]

_IN_LINE = 1e-6
"""rad; two straights that turn less than this from each other are one (0.2 mm in 200 m)."""
_FULL = math.radians(179.0)
"""A corner sharper than this has its tangent points out of reach."""
_ROUNDING = 1e-9
"""m."""


@dataclass(frozen=True, eq=False)
class Straight:
    """A straight piece: from `origin` (3,) m along the unit vector `along`."""

    origin: Array
    along: Array
    length: float

    def at(self, way: Array) -> Array:
        """Points (n, 3) m, `way` (n,) m from its start."""
        points: Array = self.origin + way[:, None] * self.along
        return points

    def direction(self, way: Array) -> Array:
        """Unit tangents (n, 3)."""
        return np.broadcast_to(self.along, (len(way), 3)).copy()

    def nearest(self, point: Array) -> float:
        """How far along it, m, its spot nearest to a point lies."""
        return min(max(float((point - self.origin) @ self.along), 0.0), self.length)

    @property
    def end_direction(self) -> Array:
        """Unit tangent at its end."""
        return self.along


@dataclass(frozen=True, eq=False)
class Bend:
    """A bend of constant radius.

    Attributes
    ----------
    origin : (3,) m
        Where it begins.
    along, side : (3,) unit
        The tangent there, and the way to the bend's centre.
    radius : float
        m, of the axis.
    angle : float
        rad, more than zero.
    """

    origin: Array
    along: Array
    side: Array
    radius: float
    angle: float

    @property
    def length(self) -> float:
        """m, along the axis."""
        return self.radius * self.angle

    @property
    def normal(self) -> Array:
        """Unit vector about which it turns, right-handed."""
        return np.cross(self.along, self.side)

    @property
    def end_direction(self) -> Array:
        """Unit tangent at its end."""
        return math.cos(self.angle) * self.along + math.sin(self.angle) * self.side

    def at(self, way: Array) -> Array:
        """Points (n, 3) m, `way` (n,) m from its start."""
        turned = (way / self.radius)[:, None]
        points: Array = self.origin + self.radius * (
            np.sin(turned) * self.along + (1.0 - np.cos(turned)) * self.side
        )
        return points

    def direction(self, way: Array) -> Array:
        """Unit tangents (n, 3)."""
        turned = (way / self.radius)[:, None]
        tangents: Array = np.cos(turned) * self.along + np.sin(turned) * self.side
        return tangents

    def nearest(self, point: Array) -> float:
        """How far along it, m, its spot nearest to a point lies."""
        arm = point - (self.origin + self.radius * self.side)
        turned = math.atan2(float(arm @ self.along), float(-arm @ self.side))
        if 0.0 <= turned % (2 * math.pi) <= self.angle:
            return self.radius * (turned % (2 * math.pi))
        ends = self.at(np.array([0.0, self.length]))
        return 0.0 if np.linalg.norm(point - ends[0]) <= np.linalg.norm(point - ends[1]) else self.length


Piece = Straight | Bend


@dataclass(frozen=True, eq=False)
class Centreline:
    """Straights and bends that follow on each other without a kink.

    Attributes
    ----------
    pieces : tuple of Straight and Bend
    starts : (n,) m
        Stations at which the pieces begin.
    """

    pieces: tuple[Piece, ...]
    starts: Array

    @property
    def length(self) -> float:
        """m, along the axis."""
        return float(self.starts[-1]) + self.pieces[-1].length

    @property
    def bends(self) -> tuple[tuple[float, Bend], ...]:
        """Each bend with the station m at which it begins."""
        pairs = zip(self.starts, self.pieces, strict=True)
        return tuple((float(start), piece) for start, piece in pairs if isinstance(piece, Bend))

    def piece_at(self, station: float) -> tuple[float, Piece]:
        """The piece that holds a station, and where it begins; at a joint of two the straight one."""
        row = min(max(int(np.searchsorted(self.starts, station, side="right")) - 1, 0), len(self.pieces) - 1)
        if row and station - float(self.starts[row]) < _ROUNDING and isinstance(self.pieces[row], Bend):
            row -= 1
        return float(self.starts[row]), self.pieces[row]

    def at(self, stations: ArrayLike) -> Array:
        """Points (n, 3) m; beyond its ends straight on."""
        return self._of(stations, "at")

    def direction(self, stations: ArrayLike) -> Array:
        """Unit tangents (n, 3), from its start to its end."""
        return self._of(stations, "direction")

    def point(self, station: float) -> Array:
        """The point (3,) m at one station."""
        return self.at(station).reshape(3)

    def tangent(self, station: float) -> Array:
        """The unit tangent (3,) at one station."""
        return self.direction(station).reshape(3)

    def _of(self, stations: ArrayLike, what: str) -> Array:
        flat = np.atleast_1d(np.asarray(stations, dtype=np.float64))
        rows = np.clip(np.searchsorted(self.starts, flat, side="right") - 1, 0, len(self.pieces) - 1)
        found = np.empty((len(flat), 3))
        for row in np.unique(rows):
            mine = rows == row
            found[mine] = getattr(self.pieces[row], what)(flat[mine] - self.starts[row])
        return found

    def station_of(self, point: Array) -> float:
        """Station m of the spot nearest to a point (3,) m."""
        ways = [piece.nearest(point) for piece in self.pieces]
        gaps = [
            float(np.linalg.norm(piece.at(np.array([way]))[0] - point))
            for piece, way in zip(self.pieces, ways, strict=True)
        ]
        row = int(np.argmin(gaps))
        return float(self.starts[row]) + ways[row]

    def carried(self, vector: Array, station: float) -> Array:
        """A vector (3,) square to the start's tangent, carried along to a station without twist."""
        for start, bend in self.bends:
            turn = min(max((station - start) / bend.radius, 0.0), bend.angle)
            vector = _turned(vector, bend.normal, turn)
        return vector

    def chords(self, error: float) -> Array:
        """Stations (k,) m: both ends, and in bends so close that chords miss the axis by `error` m."""
        found = [0.0]
        for start, piece in zip(self.starts, self.pieces, strict=True):
            count = 1
            if isinstance(piece, Bend):
                widest = 2.0 * math.acos(max(1.0 - error / piece.radius, 0.0))
                count = max(2, math.ceil(piece.angle / widest))
            found += [float(start) + piece.length * part / count for part in range(1, count + 1)]
        return np.array(found)

    def extended(self, before: float, after: float) -> "Centreline":
        """The line with its straight ends so many m longer (shorter where negative); a bend's end stays."""
        pieces = list(self.pieces)
        first, last = pieces[0], pieces[-1]
        if isinstance(first, Straight):
            pieces[0] = Straight(first.origin - before * first.along, first.along, first.length + before)
        if isinstance(last, Straight):
            last = pieces[-1]
            assert isinstance(last, Straight)
            pieces[-1] = Straight(last.origin, last.along, last.length + after)
        return _joined(pieces)

    @property
    def reverse(self) -> "Centreline":
        """The same line from its end."""
        return _joined([_backwards(piece) for piece in reversed(self.pieces)])


def through_corners(name: str, corners: ArrayLike, radius: float) -> Centreline:
    """Straights between corners (n, 3) m, every corner but the first and the last rounded by one radius.

    Raises
    ------
    GeometryError
        Two corners are one place, three lie in line or turn back, or the bends leave no room between them.
    """
    points = np.asarray(corners, dtype=np.float64)
    runs = np.diff(points, axis=0)
    lengths = np.linalg.norm(runs, axis=1)
    if lengths.min() < _ROUNDING:
        raise GeometryError("two of the places that it goes through are one", where=name)
    ways = runs / lengths[:, None]
    turns = [_turn(name, number, a, b) for number, (a, b) in enumerate(pairwise(ways), 1)]
    cut = np.array([0.0, *(radius * math.tan(turn / 2.0) for turn in turns), 0.0])
    rest = lengths - cut[:-1] - cut[1:]
    for run, left in enumerate(rest):
        if left < -_ROUNDING:
            asked, there = 1e3 * (cut[run] + cut[run + 1]), 1e3 * lengths[run]
            raise GeometryError(
                f"a bend radius of {1e3 * radius:.0f} mm needs {asked:.0f} mm between its corners"
                f" {run} and {run + 1}, and there are {there:.0f} mm",
                where=name,
                remedy="take a tighter radius, or move the two apart",
            )
    pieces: list[Piece] = []
    for run, left in enumerate(rest):
        begin = points[run] + cut[run] * ways[run]
        if left > _ROUNDING or not turns:
            pieces.append(Straight(begin, ways[run], max(float(left), 0.0)))
        if run < len(turns):
            side = ways[run + 1] - (ways[run + 1] @ ways[run]) * ways[run]
            corner = begin + left * ways[run]
            pieces.append(Bend(corner, ways[run], side / np.linalg.norm(side), radius, turns[run]))
    return _joined(pieces)


def _turn(name: str, number: int, before: Array, after: Array) -> float:
    turn = math.atan2(float(np.linalg.norm(np.cross(before, after))), float(before @ after))
    if turn < _IN_LINE:
        raise GeometryError(f"nothing bends at its corner {number}: the runs are in line", where=name)
    if turn > _FULL:
        raise GeometryError(
            f"it turns back on itself at its corner {number}",
            where=name,
            remedy="take two corners for a bend of half a turn",
        )
    return turn


def arch(name: str, start: ArrayLike, on: ArrayLike, end: ArrayLike) -> Centreline:
    """One bend of constant radius from `start` over `on` to `end`, each (3,) m.

    Raises
    ------
    GeometryError
        The three lie in line or two are one place.
    """
    a, b, c = (np.asarray(point, dtype=np.float64) for point in (start, on, end))
    p, q = b - a, c - a
    normal = np.cross(p, q)
    double = float(np.linalg.norm(normal))
    if double < _IN_LINE * float(np.linalg.norm(p)) * float(np.linalg.norm(q)) or double == 0.0:
        raise GeometryError("an arch needs three places that are not in line", where=name)
    # centre of the circle through the three, from a: the classical formula with vector products
    arm = np.cross((p @ p) * q - (q @ q) * p, normal) / (2.0 * double**2)
    radius = float(np.linalg.norm(arm))
    side, unit = arm / radius, normal / double
    along = np.cross(side, unit)  # right-handed about the normal: from a over b to c
    last = c - (a + arm)
    angle = math.atan2(float(last @ along), float(-last @ side)) % (2 * math.pi)
    return _joined([Bend(a, along, side, radius, angle)])


def _joined(pieces: Sequence[Piece]) -> Centreline:
    ends = np.cumsum([piece.length for piece in pieces])
    return Centreline(tuple(pieces), np.array([0.0, *ends[:-1]]))


def _backwards(piece: Piece) -> Piece:
    end = piece.at(np.array([piece.length]))[0]
    if isinstance(piece, Straight):
        return Straight(end, -piece.along, piece.length)
    centre = piece.origin + piece.radius * piece.side
    return Bend(end, -piece.end_direction, (centre - end) / piece.radius, piece.radius, piece.angle)


def _turned(vector: Array, axis: Array, angle: float) -> Array:
    """A vector turned right-handed about a unit axis (Rodrigues)."""
    turned: Array = (
        math.cos(angle) * vector
        + math.sin(angle) * np.cross(axis, vector)
        + (1.0 - math.cos(angle)) * float(axis @ vector) * axis
    )
    return turned
