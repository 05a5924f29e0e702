"""Several tubes at one node: an end that sits on one tube is trimmed back to others that stand there too.

Each line along the tube ends at whatever it meets first on its way to the joint. A line that passes
beside another tube is not cut by it, so the outline may step where that tube's silhouette lies.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.cope import Body, CopeFit, Tube
from soapstone.parts.cuts import Cut, Cutting
from soapstone.parts.outline import End, Stations
from soapstone.parts.profile import Array, Profile
from soapstone.parts.tools import BarTool

Flags = NDArray[np.bool_]

_EVEN = 720
"""Lines round the tube between which two cuts may cross once."""
_HALVINGS = 40
_APART = 5e-9
"""m between the two rows that stand for a step: five times what makes two lines one."""


@dataclass(frozen=True, eq=False)
class Trimmer:
    """A tube that another is trimmed to, and the part of its axis that counts, m from its origin."""

    body: Body
    low: float
    high: float


def trimmed(base: Cut, others: Sequence[Trimmer], *, gap: float = 0.0) -> Cut:
    """The cut `base`, and cut back further to what of `others` stands in the way before it.

    Parameters
    ----------
    base : Cut
    others : sequence of Trimmer
        Those that stand in nobody's way change nothing and are not named by the cutting.
    gap : float
        m, left between the tube and each of them.

    Raises
    ------
    GeometryError
        When made, if the tube meets one of those in its way at less than 15° or runs along it.
    """

    def make(tube: Tube, length: float, end: End) -> Cutting:
        cutting = base(tube, length, end)
        for other in others:
            cutting = _with(cutting, other, tube, length / 2, end, gap)
        return cutting

    return make


def _with(cutting: Cutting, other: Trimmer, tube: Tube, middle: float, end: End, gap: float) -> Cutting:
    if other.body.name == cutting.onto or not _near(tube, other):
        return cutting
    fit = CopeFit.of(tube, other.body, end, np.inf, gap, 0.0)
    hit = _hit(fit, other, middle)
    profile = tube.shape.outline
    depths = (0.0, tube.shape.wall)
    steps = np.concatenate([_steps(profile, cutting.stations, hit, end.sign, depth) for depth in depths])
    if not len(steps) and not _in_the_way(profile, cutting.stations, hit, end.sign):
        return cutting
    CopeFit.of(tube, other.body, end, np.inf)  # refuses what is too acute, now that it is in the way
    first = min if end is End.B else max

    def stations(lines: Array) -> Array:
        pick = np.minimum if first is min else np.maximum
        found: Array = pick(cutting.stations(lines), hit(lines))
        return found

    tool = BarTool(other.body.axes, fit.through, end.sign * tube.axes.x, (other.low, other.high))
    breaks = np.concatenate((cutting.breaks, fit.breaks(), steps))
    return replace(
        cutting,
        stations=stations,
        breaks=breaks,
        also=(*cutting.also, other.body.name),
        tools=(*cutting.tools, tool),
    )


def _near(tube: Tube, other: Trimmer) -> bool:
    """Whether the two lines come so near that the tubes may meet; parallel ones stand apart."""
    mine, theirs = tube.axes, other.body.axes
    normal = np.cross(mine.x, theirs.x)
    sine = float(np.linalg.norm(normal))
    if sine < 1e-6:
        return False
    reach = sum(
        body.shape.outline.support(float(normal @ body.axes.y), float(normal @ body.axes.z))
        for body in (tube, other.body)
    )
    return abs(float(normal @ (mine.origin - theirs.origin))) < reach - 1e-6 * sine


def _hit(fit: CopeFit, other: Trimmer, middle: float) -> Stations:
    def hit(lines: Array) -> Array:
        stations, along = fit.hits(lines)
        counts = (along > other.low) & (along < other.high) & (fit.sign * (stations - middle) > 0.0)
        found: Array = np.where(counts, stations, fit.sign * np.inf)
        return found

    return hit


def _in_the_way(profile: Profile, base: Stations, hit: Stations, sign: int) -> bool:
    lines = profile.generators(np.linspace(0.0, profile.perimeter, _EVEN), 0.0)
    return bool((sign * (base(lines) - hit(lines)) > 1e-9).any())


def _steps(profile: Profile, base: Stations, hit: Stations, sign: int, depth: float) -> Array:
    """Abscissae, in pairs a hair apart, between which one cut takes over from the other at a depth, m."""

    def ahead(abscissa: Array) -> Flags:
        lines = profile.generators(abscissa, depth)
        return np.asarray(sign * (hit(lines) - base(lines)) < 0.0)

    even = np.linspace(0.0, profile.perimeter, _EVEN)
    state = ahead(even)
    changes = np.flatnonzero(state[1:] != state[:-1])
    if not len(changes):
        return np.empty(0)
    low, high = _between(ahead, even[changes], even[changes + 1], state[changes])
    middle = (low + high) / 2
    pairs = np.concatenate((middle - _APART / 2, middle + _APART / 2))
    return np.clip(pairs, 0.0, profile.perimeter)


def _between(ahead: Callable[[Array], Flags], low: Array, high: Array, state: Flags) -> tuple[Array, Array]:
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        same = ahead(middle) == state
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return low, high
