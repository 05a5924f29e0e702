"""How one end of a tube is cut: square, on a plane with another tube, or coped onto one."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from soapstone.errors import GeometryError
from soapstone.parts.cope import Body, CopeFit, Tube
from soapstone.parts.outline import End, Stations
from soapstone.parts.profile import Array
from soapstone.parts.tools import BarTool, PlaneTool, Tool

_FLAT = 1e-9  # rad: below it a mitre counts as square
_STEEPEST = math.radians(75.0)  # common practice, no source: past it the cut is under 15° to the tube


class EndKind(Enum):
    """What a tube's end is cut to."""

    SQUARE = "square"
    MITRE = "mitre"
    COPE = "cope"
    FLAT = "flat"


@dataclass(frozen=True, eq=False)
class Cutting:
    """A cut made ready for one end of one tube.

    Attributes
    ----------
    kind : EndKind
    onto : str
        Name of the tube it meets; empty for a square end.
    stations : Stations
    breaks : (k,) m
        Abscissae where it may kink.
    angle : float
        rad: of a mitre the saw's, from square; of a cope the one between the axes; 0 for a square end.
    heel : float or None
        Angle about the tube's axis, from +y towards +z, rad, of its line on the acute side, in the plane
        of the two axes; None for a square end.
    overhang : float
        m; see `cope`.
    also : tuple of str
        Names of the tubes that it is trimmed to beside.
    tools : tuple of Tool
        The same cut as exact bodies.
    """

    kind: EndKind
    onto: str
    stations: Stations
    breaks: Array
    angle: float
    heel: float | None
    overhang: float = 0.0
    also: tuple[str, ...] = ()
    tools: tuple[Tool, ...] = ()


Cut = Callable[[Tube, float, End], Cutting]
"""A cut, given the tube, its length between theoretical ends in m, and which end it is."""


def square(trim: float) -> Cut:
    """Cut square, `trim` m short of the theoretical end (negative: beyond it)."""

    def make(tube: Tube, length: float, end: End) -> Cutting:
        at = length - trim if end is End.B else trim
        axes = tube.axes
        tool = PlaneTool(axes.to_world(np.array((at, 0.0, 0.0))), end.sign * axes.x)
        stations = partial(_level, at)
        return Cutting(EndKind.SQUARE, "", stations, np.empty(0), 0.0, None, tools=(tool,))

    return make


def _level(at: float, lines: Array) -> Array:
    return np.full(len(lines), at)


def coped(through: Body, *, overhang_allowed: float = 0.0, gap: float = 0.0) -> Cut:
    """Cut to sit on `through` with a `gap`, m, all round; see `cope`."""

    def make(tube: Tube, length: float, end: End) -> Cutting:
        fit = CopeFit.of(tube, through, end, overhang_allowed, gap)
        tool = BarTool(through.axes, fit.through, end.sign * tube.axes.x)
        return Cutting(
            EndKind.COPE,
            through.name,
            fit.stations,
            fit.breaks(),
            fit.angle,
            fit.heel,
            fit.overhang,
            tools=(tool,),
        )

    return make


def flat(normal: ArrayLike, on: str, *, gap: float = 0.0) -> Cut:
    """Cut on a plane through the theoretical end, to lie on a flat face.

    Parameters
    ----------
    normal : (3,)
        Square to the face, either way; any length.
    on : str
        What the face belongs to.
    gap : float
        m, left along the tube's axis.

    Raises
    ------
    GeometryError
        When made, if the face runs under 15° to the tube.
    """
    direction = np.array(normal, dtype=float)

    def make(tube: Tube, length: float, end: End) -> Cutting:
        local = tube.axes.rotation @ (direction / np.linalg.norm(direction))
        if abs(local[0]) < math.cos(_STEEPEST):
            raise GeometryError(
                f"meets the face of {on} at under 15°: the cut would run out to a feather edge",
                where=tube.name,
                remedy="let them meet less acutely",
            )
        at = (length if end is End.B else 0.0) - end.sign * gap
        return _plane(tube, on, local, at, end, EndKind.FLAT)

    return make


def mitred(other: str, away: ArrayLike, *, gap: float = 0.0) -> Cut:
    """Cut on the plane that halves the angle between this tube and `other`, through the theoretical end.

    Half the `gap`, m, is left square to that plane; the other tube leaves the other half.

    Parameters
    ----------
    other : str
        Name of the other tube.
    away : (3,)
        The other tube's direction, from the joint into its body; any length.

    Raises
    ------
    GeometryError
        When made, if the two fold back on each other so sharply that the saw would have to stand under
        15° to the tube.
    """
    direction = np.array(away, dtype=float)

    def make(tube: Tube, length: float, end: End) -> Cutting:
        theirs = direction / np.linalg.norm(direction)
        outward = end.sign * tube.axes.x
        # The plane halves the angle between outward and the other's body: its normal is their sum.
        normal = tube.axes.rotation @ (outward + theirs)
        size = float(np.linalg.norm(normal))
        if size < 2.0 * math.cos(_STEEPEST):
            raise GeometryError(
                f"folds back onto {other}: the mitre would be under 15° to the tube",
                where=tube.name,
                remedy=f"cope {tube.name} onto {other}, or join them with a plate",
            )
        setback = gap / 2 * size / abs(float(normal[0]))
        at = (length if end is End.B else 0.0) - end.sign * setback
        return _plane(tube, other, normal, at, end)

    return make


def _plane(
    tube: Tube, other: str, normal: Array, at: float, end: End, kind: EndKind = EndKind.MITRE
) -> Cutting:
    slope = -normal[1:] / normal[0]
    tilt = math.atan(math.hypot(*slope))
    profile = tube.shape.outline
    if tilt < _FLAT:
        heel = None
        breaks = np.empty(0)
    else:
        deep = -end.sign * slope
        heel = math.atan2(float(deep[1]), float(deep[0]))
        breaks = np.array([profile.abscissa_at(heel), profile.abscissa_at(heel + math.pi)])
    if not profile.is_round:
        breaks = np.concatenate((breaks, profile.knots()))
    outward = tube.axes.to_world(np.array((1.0, *-slope))) - tube.axes.origin
    point = tube.axes.to_world(np.array((at, 0.0, 0.0)))
    tool = PlaneTool(point, end.sign * outward / np.linalg.norm(outward))
    return Cutting(kind, other, lambda lines: at + lines @ slope, breaks, tilt, heel, tools=(tool,))
