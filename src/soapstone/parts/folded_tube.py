"""Rectangular tube folded about one wall: wedges cut out of the other three, closed and welded.

The flat tube lies along x from 0. Its section's own axes are those of the tube: y across its width, z up its
height. A fold up keeps the wall below and cuts the wedge from above.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.parts.sections import RectangularTube

Array = NDArray[np.float64]

WAYS = {"up": (0.0, 1.0), "down": (0.0, -1.0), "left": (1.0, 0.0), "right": (-1.0, 0.0)}
"""The way a fold turns the tube, in y and z."""
_ROWS = 721
"""Of a wedge's line round the tube: kinks come on top; chords of a corner's arc miss it by under a micron."""


@dataclass(frozen=True, eq=False)
class Wedge:
    """One wedge on the flat tube.

    Attributes
    ----------
    station : float
        m, of the hinge line: where the two cuts meet, on the inner face of the wall that stays.
    angle : float
        rad that the tube is folded by.
    way : (2,)
        In y and z: the way the tube turns; the wall on the other side stays.
    opening : float
        m, width of the wedge on the outside of the wall it opens in, before the kerf is allowed for.
    marked : float
        m, the same between the lines to mark: the saw takes half its kerf of each cut outside of them.
    depth : float
        m, of the cut from that wall: down to the inner face of the wall that stays.
    hinge : float
        m, flat width of the wall that stays: all that holds the two halves.
    weld : float
        m, length of the seam once it is folded.
    """

    station: float
    angle: float
    way: tuple[float, float]
    opening: float
    marked: float
    depth: float
    hinge: float
    weld: float


@dataclass(frozen=True, eq=False)
class FoldedPart:
    """A folded tube as it is marked out.

    Attributes
    ----------
    name : str
    shape : RectangularTube
    legs : tuple of float
        m, along the axis from corner to corner.
    length : float
        m, of the flat tube, the nose's tongue included.
    wedges : tuple of Wedge
    nose : Nose or None
    volume : float
        m³ of metal that is left, wedges and nose cut away, folded or not.
    """

    name: str
    shape: RectangularTube
    legs: tuple[float, ...]
    length: float
    wedges: tuple[Wedge, ...]
    nose: "Nose | None"
    volume: float


@dataclass(frozen=True)
class Nose:
    """An end closed by the wall above, wrapped round the side walls down to the one below.

    Attributes
    ----------
    begins : float
        m, station where the wall above begins to bend; the wall below is cut square there.
    radius : float
        m, to which the side walls are cut round: half of the height inside.
    tongue : float
        m, length of the wall above beyond that station, laid flat.
    width : float
        m, of the tongue: the flat of the wall above, its corners sawn off.
    weld : float
        m, along both sides and across below.
    """

    begins: float
    radius: float
    tongue: float
    width: float
    weld: float


def fold_tube(
    name: str,
    shape: RectangularTube,
    legs: Sequence[float],
    folds: Sequence[tuple[float, str]],
    kerf: float,
    *,
    nose: bool = False,
) -> FoldedPart:
    """Mark out a folded tube.

    Parameters
    ----------
    legs : sequence of float
        m, along the axis, from corner to corner; one more than folds. A nose lies within the last.
    folds : sequence of (float, str)
        Angle rad and way (`up`, `down`, `left`, `right`) of each.
    kerf : float
        m.

    Raises
    ------
    GeometryError
        Two wedges run into each other, or a wedge off the tube's end.
    """
    hinges = [_hinge(shape, way) for _, way in folds]
    backs = [a * math.tan(angle / 2.0) for (angle, _), (a, _) in zip(folds, hinges, strict=True)]
    flats = [
        leg + (backs[row - 1] if row else 0.0) + (backs[row] if row < len(folds) else 0.0)
        for row, leg in enumerate(legs)
    ]
    stations = np.cumsum(flats)[:-1]
    wedges = tuple(
        _wedge(shape, float(station), angle, way, kerf)
        for station, (angle, way) in zip(stations, folds, strict=True)
    )
    end = float(sum(flats))
    _check_room(name, wedges, end)
    tip = _nose(name, shape, end, wedges) if nose else None
    length = end if tip is None else tip.begins + tip.tongue
    volume = shape.section.area * end - sum(wedge_volume(shape, wedge) for wedge in wedges)
    volume += 0.0 if tip is None else _nose_volume(shape, tip, end)
    return FoldedPart(name, shape, tuple(legs), length, wedges, tip, volume)


def _hinge(shape: RectangularTube, way: str) -> tuple[float, float]:
    """From the axis to the inner face of the wall that stays, and the flat width of that wall, m."""
    upright = WAYS[way][1] != 0.0
    high, wide = (shape.height, shape.width) if upright else (shape.width, shape.height)
    return high / 2.0 - shape.wall, wide - 2.0 * max(shape.outside_corner_radius, shape.wall)


def _wedge(shape: RectangularTube, station: float, angle: float, way: str, kerf: float) -> Wedge:
    off, hinge = _hinge(shape, way)
    direction = WAYS[way]
    high = 2.0 * (off + shape.wall)
    half = math.tan(angle / 2.0)
    opening = 2.0 * (high - shape.wall) * half
    lines, reach = _lines(shape, direction)
    run = reach * half
    steps = np.hypot(np.hypot(*np.diff(lines, axis=0).T), np.diff(run))
    weld = float(steps[(reach[1:] > 1e-12) | (reach[:-1] > 1e-12)].sum())
    marked = max(0.0, opening - kerf / math.cos(angle / 2.0))
    return Wedge(station, angle, direction, opening, marked, high - shape.wall, hinge, weld)


def _lines(shape: RectangularTube, way: tuple[float, float]) -> tuple[Array, Array]:
    """Points (n, 2) round the outside, and how far above the hinge each lies, m; 0 below it."""
    outline = shape.outline
    even = np.linspace(0.0, outline.perimeter, _ROWS)
    rows = np.unique(np.concatenate([even, outline.knots(), [0.0, outline.perimeter]]))
    points = outline.generators(rows, 0.0)
    off = (shape.height if way[1] else shape.width) / 2.0 - shape.wall
    return points, np.maximum(0.0, points @ np.array(way) + off)


def layout_lines(shape: RectangularTube, wedge: Wedge, kerf: float) -> tuple[Array, Array, Array]:
    """The two lines of a wedge on the unrolled outside: abscissae and both stations, (n,) m.

    The lines to mark: they lie half a kerf inside the cut, as far as the wedge is wide enough; nearer to the
    hinge the one saw cut is all there is, and both lines are its middle.
    """
    outline = shape.outline
    even = np.linspace(0.0, outline.perimeter, _ROWS)
    rows = np.unique(np.concatenate([even, outline.knots(), [0.0, outline.perimeter]]))
    _, reach = _lines(shape, wedge.way)
    half = reach * math.tan(wedge.angle / 2.0) - kerf / 2.0 / math.cos(wedge.angle / 2.0)
    half = np.maximum(half, 0.0)
    return rows, wedge.station - half, wedge.station + half


def wedge_volume(shape: RectangularTube, wedge: Wedge) -> float:
    """m³ of wall that a wedge takes away, without the kerf: the section's moment above the hinge.

    2 tan(angle / 2) times the first moment, about the hinge, of what lies above it; by strips of the profile,
    whose corners are circular.
    """
    off = (shape.height if wedge.way[1] else shape.width) / 2.0 - shape.wall
    upright = wedge.way[1] != 0.0
    moment = _moment_above(shape, upright, -off)
    return 2.0 * math.tan(wedge.angle / 2.0) * moment


def _moment_above(shape: RectangularTube, upright: bool, level: float) -> float:
    """∫ (z − level) dA of the wall over all z above a level, m³; the section is symmetric about its axis."""
    high = shape.height if upright else shape.width
    edges = _levels(shape, high, level)
    nodes, weights = np.polynomial.legendre.leggauss(32)
    total = 0.0
    for low, top in pairwise(edges):
        # a substitution that takes out the square root at a corner's ends: z = middle + half sin(pi/2 u)
        middle, half = (low + top) / 2.0, (top - low) / 2.0
        z = middle + half * np.sin(math.pi / 2.0 * nodes)
        scale = half * math.pi / 2.0 * np.cos(math.pi / 2.0 * nodes)
        total += float(((z - level) * _wall_across(shape, upright, z) * scale) @ weights)
    return total


def _levels(shape: RectangularTube, high: float, level: float) -> list[float]:
    outer, inner = shape.outside_corner_radius, max(shape.outside_corner_radius - shape.wall, 0.0)
    top, inside = high / 2.0, high / 2.0 - shape.wall
    marks = {level, top, top - outer, inside, inside - inner, -inside, inner - inside, outer - top}
    return sorted(mark for mark in marks if level <= mark <= top)


def _wall_across(shape: RectangularTube, upright: bool, z: Array) -> Array:
    """Width of metal at heights z, m."""
    wide, high = (shape.width, shape.height) if upright else (shape.height, shape.width)
    outside = _width(wide, high, shape.outside_corner_radius, z)
    bore = max(shape.outside_corner_radius - shape.wall, 0.0)
    return outside - _width(wide - 2.0 * shape.wall, high - 2.0 * shape.wall, bore, z)


def _width(wide: float, high: float, radius: float, z: Array) -> Array:
    into = np.clip(np.abs(z) - (high / 2.0 - radius), 0.0, radius)
    rounded = wide - 2.0 * (radius - np.sqrt(np.maximum(radius**2 - into**2, 0.0)))
    return np.where(np.abs(z) <= high / 2.0, rounded, 0.0)


def _check_room(name: str, wedges: Sequence[Wedge], end: float) -> None:
    edges = [
        (0.0, 0.0),
        *((w.station - w.opening / 2, w.station + w.opening / 2) for w in wedges),
        (end, end),
    ]
    for number, ((_, before), (after, _)) in enumerate(pairwise(edges), 1):
        if after - before < 1e-6:
            raise GeometryError(
                f"its leg {number} is too short: what is cut at its two ends meets",
                where=name,
                remedy="take a longer leg, or fold less",
            )


def _nose(name: str, shape: RectangularTube, end: float, wedges: Sequence[Wedge]) -> Nose:
    """Wrapped round half a circle: the tongue's own middle runs at the radius plus half its wall."""
    radius = shape.height / 2.0 - shape.wall
    begins = end - radius - shape.wall
    last = wedges[-1].station + wedges[-1].opening / 2.0 if wedges else 0.0
    if begins <= last:
        raise GeometryError(
            f"its last leg has no room for a nose {1e3 * (radius + shape.wall):.0f} mm long",
            where=name,
            remedy="take a longer leg",
        )
    tongue = math.pi * (radius + shape.wall / 2.0)
    width = shape.width - 2.0 * max(shape.outside_corner_radius, shape.wall)
    weld = 2.0 * math.pi * radius + width
    return Nose(begins, radius, tongue, width, weld)


def _nose_volume(shape: RectangularTube, nose: Nose, end: float) -> float:
    """m³ that the end has more (less where negative) than a tube cut square at `end`."""
    sides = 2.0 * shape.wall * math.pi / 2.0 * nose.radius**2
    tongue = nose.tongue * nose.width * shape.wall
    return sides + tongue - shape.section.area * (end - nose.begins)
