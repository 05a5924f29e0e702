"""Machine settings for a tube's end: hole saw, mill or belt; saw angles; what to bevel."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.cope import Body, CopeFit, Tube
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.profile import Array
from soapstone.parts.sections import RoundBar, RoundTube
from soapstone.shop.ways import Ways

_PLANE = 0.05e-3
"""m that a cut may stand off a plane and still be sawn."""
_BEVEL = 0.2e-3
"""m; less than this is dressed with a file, not bevelled (common practice, no source)."""
_WANDERS = math.radians(20.0)  # common practice, no source: below it a hole saw wanders off on the tube


@dataclass(frozen=True, eq=False)
class RoundCut:
    """Settings of a hole saw, a milling cutter or a belt's roller; lengths m, angles rad.

    Attributes
    ----------
    diameter : float
        That fits exactly.
    taken : float or None
        The one at hand that fits best, when the shop lists any.
    misfit : float
        Widest gap that the taken one leaves.
    head : float
        Between the tube and a square cut across the cutter: 0 for a right angle.
    offset : float
        Of the cutter's axis from the tube's.
    towards : float or None
        The line of the tube, as an angle from the clocking line, towards which the cutter's axis is offset.
    up : float
        The line of the tube that lies on the acute side.
    beyond : float
        From the sawn end to the cutter's axis, along the tube's, outwards.
    travel : float
        That the cutter has to go through.
    clears : bool or None
        Whether it is deep enough; None where its depth is not said.
    advice : str
        What to do where it does not reach or clear; empty where all is well.
    """

    diameter: float
    taken: float | None
    misfit: float
    head: float
    offset: float
    towards: float | None
    up: float
    beyond: float
    travel: float
    clears: bool | None
    advice: str


def round_cut(part: TubePart, end: TubeEnd, onto: Body, ways: Ways) -> RoundCut | None:
    """Settings for a cope onto a round tube or bar; None where a round cutter cannot make the cut."""
    if not isinstance(onto.shape, RoundTube | RoundBar) or end.also or end.heel is None:
        return None
    gap = ways.gap
    exact = 2.0 * (onto.shape.outline.radius + gap)
    fits = {size: _misfit(part, end, onto, gap, size) for size in ways.cutters}
    taken = min(fits, key=lambda size: fits[size], default=None)
    mine, other = part.axes, onto.axes
    normal = np.cross(mine.x, other.x)
    normal /= np.linalg.norm(normal)
    aside = float(normal @ (other.origin - mine.origin))
    towards = math.atan2(float(normal @ mine.z), float(normal @ mine.y)) + (math.pi if aside < 0.0 else 0.0)
    travel = _travel(part, end, onto)
    clears = None if ways.cutter_depth is None else ways.cutter_depth >= travel
    misfit = 0.0 if taken is None else fits[taken]
    return RoundCut(
        exact,
        taken,
        misfit,
        math.pi / 2 - end.angle,
        abs(aside),
        towards % (2 * math.pi) if abs(aside) > 0.05e-3 else None,
        end.heel % (2 * math.pi),
        _beyond(part, end, onto),
        travel,
        clears,
        _advice(ways, end.angle, clears, misfit),
    )


def _travel(part: TubePart, end: TubeEnd, onto: Body) -> float:
    lines = part.shape.outline.generators(end.outline.abscissa, 0.0)
    world = part.axes.to_world(np.column_stack((end.outline.outer, lines)))
    along = onto.axes.to_local(world)[:, 0]
    return float(along.max() - along.min())


def _beyond(part: TubePart, end: TubeEnd, onto: Body) -> float:
    """From the long point out to where the cutter's axis passes the tube's, along the tube, m."""
    mine, other = part.axes, onto.axes
    cosine = float(mine.x @ other.x)
    between = other.origin - mine.origin
    station = float(between @ (mine.x - cosine * other.x)) / (1.0 - cosine * cosine)
    return end.outline.end.sign * (station - end.outline.long_point.station)


def _misfit(part: TubePart, end: TubeEnd, onto: Body, gap: float, taken: float) -> float:
    """Widest gap, beyond the one wanted, when a cutter of another size is set to touch where it first can.

    The cut that the cutter makes is pushed along the tube until its nearest point is where it should be.
    """
    tube = Tube(part.name, part.shape, part.axes)
    fit = CopeFit.of(tube, Body(onto.name, RoundBar(taken), onto.axes), end.outline.end, math.inf)
    profile = part.shape.outline
    depths = (0.0, part.shape.wall)
    lines = np.concatenate([profile.generators(end.outline.abscissa, depth) for depth in depths])
    made = np.column_stack((fit.stations(lines), lines))
    sign, wanted = end.outline.end.sign, onto.shape.outline.grown(gap)

    def apart(push: float) -> Array:
        moved = made + np.array((sign * push, 0.0, 0.0))
        found: Array = wanted.distance(onto.axes.to_local(part.axes.to_world(moved))[:, 1:])
        return found

    low, high = -2.0 * abs(taken) - 2.0 * wanted.half_y, 0.0
    while apart(high).min() > 0.0:
        high += wanted.half_y / 4
    for _ in range(45):
        middle = (low + high) / 2
        low, high = (middle, high) if apart(middle).min() > 0.0 else (low, middle)
    return float(apart(low).max())


def _advice(ways: Ways, angle: float, clears: bool | None, misfit: float) -> str:
    told = []
    if angle < _WANDERS:
        told.append("under 20° the saw wanders: use the template")
    if clears is False:
        told.append("not deep enough: go in half way, break the slug out, go on; or use the template")
    if misfit > 0.5e-3:
        told.append("the cutter at hand is off size: dress to the template")
    return "; ".join(told)


@dataclass(frozen=True)
class SawCut:
    """A flat cut; angles rad.

    Attributes
    ----------
    off_square : float
        Of the blade.
    up : float or None
        The line of the tube, from the clocking line, where it is cut back deepest; None for a square cut.
    swing, tilt : float
        The same as two settings for a tube that lies on a face: blade swung about the upright, then tilted.
    """

    off_square: float
    up: float | None
    swing: float
    tilt: float


def saw_cut(part: TubePart, end: TubeEnd) -> SawCut | None:
    """Saw angles where the end is flat all over; None where it is not."""
    profile = part.shape.outline
    depths = np.linspace(0.0, part.shape.wall, len(end.face))
    lines = np.concatenate([profile.generators(end.outline.abscissa, depth) for depth in depths])
    stations = end.face.ravel()
    unknown = np.column_stack((np.ones(len(lines)), lines))
    found, *_ = np.linalg.lstsq(unknown, stations, rcond=None)
    if np.abs(unknown @ found - stations).max() > _PLANE:
        return None
    slope = end.outline.end.sign * found[1:]
    steep = float(np.hypot(*slope))
    up = None if steep < 1e-6 else math.atan2(-slope[1], -slope[0]) % (2 * math.pi)
    swing = math.atan(slope[0])
    # tilted about the line the swung blade leaves on the table: what is left is steeper by 1/cos
    tilt = math.atan(slope[1] * math.cos(swing))
    return SawCut(math.atan(steep), up, swing, tilt)


@dataclass(frozen=True)
class Bevel:
    """Where the bore is bevelled back behind the outer line: angles rad from the clocking line, depth m."""

    start: float
    end: float
    deepest: float
    at: float


def bevels(end: TubeEnd) -> Sequence[Bevel]:
    """The stretches to bevel, each with its deepest place; one that runs over the clocking line is one."""
    depth, angle = end.bevel[:-1], end.outline.angle[:-1]
    deep = depth > _BEVEL
    if not deep.any():
        return ()
    if deep.all():
        worst = int(depth.argmax())
        return (Bevel(0.0, 2 * math.pi, float(depth[worst]), float(angle[worst])),)
    begin = int(np.flatnonzero(~deep)[0])
    order = np.roll(np.arange(len(depth)), -begin)
    runs = _runs(deep[order])
    found = []
    for first, last in runs:
        rows = order[first : last + 1]
        worst = int(rows[depth[rows].argmax()])
        found.append(
            Bevel(float(angle[rows[0]]), float(angle[rows[-1]]), float(depth[worst]), float(angle[worst]))
        )
    return tuple(found)


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of each run of true flags."""
    padded = np.concatenate(([0], flags.astype(int), [0]))
    change = np.diff(padded)
    starts, stops = np.flatnonzero(change == 1), np.flatnonzero(change == -1) - 1
    return [(int(a), int(b)) for a, b in zip(starts, stops, strict=True)]


EVERY = 15
"""Degrees between two centre-punch marks on a round tube."""


def punch_rows(part: TubePart, end: TubeEnd, line: str = "outer") -> list[tuple[float, float, float, float]]:
    """Centre-punch marks round an end.

    Returns
    -------
    list of (angle, round, outer, bore)
        rad and m from the clocking line, then m from the sawn end (at the long point) in to the outer line
        and to the line at the bore. On rectangular tube the marks stand where the corners begin and end and
        at quarters of each face.
    """
    profile, outline = part.shape.outline, end.outline
    if profile.is_round:
        at: Array = np.arange(0.0, 360.0, EVERY) * (profile.perimeter / 360.0)
    else:
        knots = profile.knots()
        flats = [np.linspace(knots[i], knots[i + 1], 5) for i in (2, 4, 6)]
        halves = np.linspace(-profile.core_z, profile.core_z, 5) % profile.perimeter
        at = np.unique(np.concatenate((halves, *flats))).astype(np.float64)
    long_point, sign = outline.long_point.station, outline.end.sign
    rows = []
    outer = _at(outline.abscissa, outline.outer if line == "outer" else end.clear, at)
    bore = _at(outline.abscissa, outline.inner, at)
    angles = _at(outline.abscissa, outline.angle, at)
    for place, angle, one, other in zip(at, angles, outer, bore, strict=True):
        rows.append((float(angle), float(place), sign * (long_point - one), sign * (long_point - other)))
    return rows


def _at(abscissa: Array, values: Array, at: Array) -> Array:
    found: Array = np.interp(at, abscissa, values)
    return found
