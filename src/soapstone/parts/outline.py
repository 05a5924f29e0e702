"""The line round a tube's end: for each line along the tube, how far along it the cut lies."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import numpy as np

from soapstone.parts.profile import Array, Profile

Stations = Callable[[Array], Array]
"""Lines along the tube, given by their (n, 2) y and z in m, to the x at which each is cut, (n,) m."""

_SAME = 1e-9  # m: two lines along the tube nearer than this are one; a millionth of a millimetre


class End(Enum):
    """Which end of a tube: A where its axis starts, B where it points to."""

    A = "A"
    B = "B"

    @property
    def sign(self) -> int:
        """+1 where leaving the tube through this end goes along +x, else −1."""
        return 1 if self is End.B else -1


@dataclass(frozen=True)
class EndPoint:
    """One point of a cut.

    Attributes
    ----------
    abscissa : m
        Round the outside from the clocking line, from +y towards +z.
    angle : rad
        About the axis, from +y towards +z, 0 to 2π.
    station : m
        Along the tube's axis from its origin.
    """

    abscissa: float
    angle: float
    station: float


@dataclass(frozen=True, eq=False)
class Outline:
    """A cut round one end of a tube, in the tube's own axes.

    Attributes
    ----------
    end : End
    abscissa : (n,) m
        Round the outside from the clocking line (+y) towards +z, rising from 0 to the perimeter, so that
        the first and the last row are the same line along the tube.
    angle : (n,) rad
        The same about the axis, 0 to 2π.
    outer : (n,) m
        x at which the outside surface of the tube is cut; the line a wrapped template shows.
    inner : (n,) m
        x at which the bore, straight behind through the wall, meets the same cut.
    long_point, short_point : EndPoint
        The farthest tip and the deepest throat of the outer line; both are rows of it.
    overhang : float
        m by which the tube reaches past the side of what it is coped onto; zero where it does not.
    """

    end: End
    abscissa: Array
    angle: Array
    outer: Array
    inner: Array
    long_point: EndPoint
    short_point: EndPoint
    overhang: float = 0.0

    def length_of_line(self, profile: Profile) -> float:
        """Length of the outer line in space, m, along straight chords between its rows."""
        points = profile.generators(self.abscissa, 0.0)
        steps = np.column_stack((np.diff(points, axis=0), np.diff(self.outer)))
        return float(np.sqrt((steps**2).sum(axis=1)).sum())


def trace(
    profile: Profile,
    wall: float,
    stations: Stations,
    breaks: Array,
    end: End,
    points: int,
    overhang: float = 0.0,
) -> Outline:
    """Sample a cut evenly round the tube, and exactly where it turns.

    Parameters
    ----------
    profile : Profile
        Outside outline of the tube.
    wall : float
        m.
    stations : Stations
        The cut.
    breaks : (k,) m
        Abscissae from 0 to the perimeter where the cut may kink; they become rows.
    end : End
    points : int
        Rows per turn, the closing one included; kinks and the long and short points come on top.

    Returns
    -------
    Outline
    """
    perimeter = profile.perimeter
    even = np.arange(points) * (perimeter / (points - 1))
    abscissa = distinct(np.concatenate((even, breaks)), perimeter)
    lines = profile.generators(abscissa, 0.0)
    outer = stations(lines)
    turns = _turning_points(abscissa, outer)
    abscissa = np.concatenate((abscissa, turns))
    found = stations(np.concatenate((profile.generators(turns, 0.0), profile.generators(abscissa, wall))))
    fresh = len(turns)
    order = abscissa.argsort()
    lines = np.concatenate((lines, profile.generators(turns, 0.0)))[order]
    outer = np.concatenate((outer, found[:fresh]))[order]
    return _outline(profile, abscissa[order], lines, outer, found[fresh:][order], end, overhang)


def outline_at(
    profile: Profile, wall: float, stations: Stations, abscissa: Array, end: End, overhang: float = 0.0
) -> Outline:
    """Sample a cut at the given abscissae (n,) m, rising from 0 to the perimeter; see `trace`."""
    lines = profile.generators(abscissa, 0.0)
    inner = stations(profile.generators(abscissa, wall))
    return _outline(profile, abscissa, lines, stations(lines), inner, end, overhang)


def _outline(
    profile: Profile, abscissa: Array, lines: Array, outer: Array, inner: Array, end: End, overhang: float
) -> Outline:
    outer[-1], inner[-1] = outer[0], inner[0]
    if profile.is_round:
        angle = abscissa / profile.radius
    else:
        angle = np.arctan2(lines[:, 1], lines[:, 0]) % (2 * math.pi)
        angle[-1] = 2 * math.pi
    low, high = int(outer[:-1].argmin()), int(outer[:-1].argmax())
    least, most = (EndPoint(float(abscissa[i]), float(angle[i]), float(outer[i])) for i in (low, high))
    long_point, short_point = (most, least) if end is End.B else (least, most)
    return Outline(end, abscissa, angle, outer, inner, long_point, short_point, overhang)


def distinct(abscissa: Array, perimeter: float) -> Array:
    """Sorted abscissae without doubles, of a set that holds 0 and the perimeter."""
    rising = np.sort(abscissa)
    rising = np.concatenate((rising[:1], rising[1:][rising[1:] - rising[:-1] > _SAME]))
    rising[0], rising[-1] = 0.0, perimeter
    return rising


def _turning_points(abscissa: Array, outer: Array) -> Array:
    """Where the line is lowest and highest, m, unless a row is there: the vertex of a parabola through rows.

    At 181 rows the vertex misses the true turn by some 4e-4 rad (h² times the ratio of the third
    derivative to six times the second), and the station there by half the square of that, r·1e-7 or
    a few 1e-9 m. A turn at a kink is a row already.
    """
    rows = (int(outer[:-1].argmin()), int(outer[:-1].argmax()))
    return np.array([at for row in rows if (at := _vertex(abscissa, outer, row)) is not None])


def _vertex(abscissa: Array, outer: Array, row: int) -> float | None:
    last = row - 1 if row else -2
    x = float(abscissa[row])
    left = x - float(abscissa[last]) + (0.0 if row else float(abscissa[-1]))
    right = float(abscissa[row + 1]) - x
    slope_left = float(outer[row] - outer[last]) / left
    slope_right = float(outer[row + 1] - outer[row]) / right
    bend = slope_right - slope_left
    shift = -(slope_left * right + slope_right * left) / (2 * bend) if bend else 0.0
    if abs(shift) < _SAME or not _SAME - left < shift < right - _SAME:
        return None
    return (x + shift) % float(abscissa[-1])
