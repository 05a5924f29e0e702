"""How high over the ground everything hangs, and what ramps and crests go through under it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from soapstone.fit.clearances import SPREAD
from soapstone.fit.fasteners import Fastener, shanks
from soapstone.fit.floor import Bump, Floor
from soapstone.fit.groups import Group, Role
from soapstone.fit.moves import Moves
from soapstone.fit.near import Near, rod
from soapstone.fit.unsure import Known
from soapstone.place.shapes import HalfSpace, gap

Array = NDArray[np.float64]

_APART = 0.01
"""m; outlines are looked at every centimetre."""
_CHORDS = 1e-4
"""m; the straight sides of round things keep within a tenth of a millimetre of them."""


@dataclass(frozen=True, eq=False)
class Low:
    """A piece over the ground.

    Attributes
    ----------
    name : str
    height : m, of its lowest place at rest
    sway : m, how far it comes down or up at most under load
    within : m, how far that can be off: 95 in 100, floor and piece, and the chords of round things
    places : (n, 2) m, along the ground and over it: places round its outline seen from the side
    fastener : whether it is a head or a nut
    assumed : what nobody stated, with its origin
    """

    name: str
    height: float
    sway: float
    within: float
    places: Array
    fastener: bool
    assumed: tuple[str, ...] = ()

    @property
    def left(self) -> float:
        """m over the ground, moved as far as it goes."""
        return self.height - self.sway

    def at(self, bump: Bump) -> float:
        """m over the ground with the wheels at their upper stops, moved as far as it goes."""
        drawn = self.places[:, 1]
        lowest = float((drawn - bump.drop(self.places[:, 0])).min())
        return lowest - max(float(drawn.min()) - self.height, 0.0) - self.sway


def lows_of(
    floor: Floor, groups: Sequence[Group], fasteners: Sequence[Fastener], known: Known, moves: Moves
) -> tuple[Low, ...]:
    """Everything that is hung or made, lowest first.

    Parameters
    ----------
    floor : Floor
    groups, fasteners : all of the job's
    known, moves : how well it is known where they are, and how far they go

    Notes
    -----
    Floor and piece count as known apart from each other: what their points have in common moves both the same
    way, so that the height is known no worse than that.
    """
    ground = floor.plane
    found = []
    bars = {name: rod(start, end, across) for name, start, end, across in shanks(tuple(fasteners))}
    for group in groups:
        if group.role not in (Role.FRAME, Role.BRACKETS, Role.BODY) or not group.pieces:
            continue
        sway = moves.farthest(group)[0]
        own = {piece.owner for piece in group.pieces}
        pieces = [(piece.name, piece.near, False) for piece in group.pieces]
        pieces += [(name, near, True) for name, near in bars.items() if name.partition(" of ")[2] in own]
        for name, near, fastener in pieces:
            height, at = _lowest(near, ground)
            unsure = known.unsure(group, at, ground.normal)
            sigma = float(np.hypot(unsure.sigma, floor.sigma(at)))
            places = _in_side_view(near, ground)
            assumed = (*unsure.assumed, *floor.assumed)
            found.append(Low(name, height, sway, SPREAD * sigma + _CHORDS, places, fastener, assumed))
    return tuple(sorted(found, key=lambda low: low.left))


def _lowest(near: Near, ground: HalfSpace) -> tuple[float, Array]:
    """m over the ground, and where, (3,) m."""
    if near.convex is not None:
        found = gap(near.convex, ground)
        return found.size, found.here
    heights = near.mesh.vertices @ ground.normal - ground.offset
    least = int(heights.argmin())
    return float(heights[least]), near.mesh.vertices[least]


def _in_side_view(near: Near, ground: HalfSpace) -> Array:
    """(n, 2) m: along the ground, forward, and over it; places all round the outline that holds it."""
    forward = np.eye(3)[0] - ground.normal[0] * ground.normal
    forward /= np.linalg.norm(forward)
    flat = near.mesh.vertices @ np.column_stack([forward, ground.normal]) - [0.0, ground.offset]
    around = flat[ConvexHull(flat).vertices]
    places = []
    for start, end in zip(around, np.roll(around, -1, axis=0), strict=True):
        count = max(int(np.ceil(np.linalg.norm(end - start) / _APART)), 1)
        places.append(start + np.arange(count)[:, None] / count * (end - start))
    return np.vstack(places)


def ramp_angle(places: Array, axle: float, radius: float) -> Array:
    """(n,) rad: the steepest ramp ahead of a wheel that still goes under each place.

    Inside the wheel's own outline no ramp comes: a right angle stands there. Elsewhere a line under angle a
    that touches the wheel from below and ahead passes below a place (x, z) seen from the axle when
    x sin(a) - z cos(a) <= R, so a = atan2(z, x) + asin(R / sqrt(x^2 + z^2)).

    Parameters
    ----------
    places : (n, 2) m, along the ground (forward) and over it, all ahead of the axle
    axle, radius : m, where the axle stands along the ground, and the rolling radius
    """
    x, z = places[:, 0] - axle, places[:, 1] - radius
    far = np.hypot(x, z)
    steepest = np.arctan2(z, x) + np.arcsin(np.minimum(radius / far, 1.0))
    return np.where(far <= radius, np.pi / 2.0, steepest)


def crest_angle(places: Array, rear: float, rear_radius: float, front: float, front_radius: float) -> Array:
    """(n,) rad: both slopes together of the sharpest crest that each place between axles clears.

    Inside a wheel's own outline no crest comes. Elsewhere a slope runs down from the place under each wheel
    and touches it: seen from the place the axle stands at (x, z), and the slope is
    asin(R / sqrt(x^2 + z^2)) - atan2(z, x).
    """
    slopes = np.zeros(len(places))
    for away, radius in ((front - places[:, 0], front_radius), (places[:, 0] - rear, rear_radius)):
        z = radius - places[:, 1]
        far = np.hypot(away, z)
        slope = np.arcsin(np.minimum(radius / far, 1.0)) - np.arctan2(z, away)
        slopes += np.where(far <= radius, np.pi, slope)
    return slopes
