"""What the bender is told: straights, turns and bends, how far the tube springs back, how thin it gets."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.centreline import Bend, Centreline, Straight
from soapstone.parts.sections import RoundTube
from soapstone.tables import Material

Array = NDArray[np.float64]

_SWING = math.radians(10.0)
"""Between the stages of a bend at which the tube is looked at."""
_EVERY = 0.01
"""m between the spots of a tube that is looked at."""


@dataclass(frozen=True)
class BendRow:
    """One bend as it is made.

    Attributes
    ----------
    straight : float
        m, of the straight before it, from the end of the bend before (or from the finished end).
    mark : float
        m, from the finished end to where the bend begins.
    turn : float
        rad: from the plane of the bend before to that of this one, clockwise seen from the end that the
        table starts at, looking along the tube; 0 for the first.
    angle : float
        rad, finished.
    set_angle : float
        rad, to bend to before it springs back.
    radius, arc : float
        m, of the axis and along it.
    """

    straight: float
    mark: float
    turn: float
    angle: float
    set_angle: float
    radius: float
    arc: float


@dataclass(frozen=True)
class BendTable:
    """A tube as length, turn and bend.

    Attributes
    ----------
    rows : tuple of BendRow
    last : float
        m, the straight after the last bend.
    length : float
        m, along the axis, finished.
    """

    rows: tuple[BendRow, ...]
    last: float
    length: float


def bend_table(line: Centreline, springback: float) -> BendTable:
    """The table of a line from its start; take `line.reverse` for the one from its end.

    Parameters
    ----------
    line : Centreline
    springback : float
        Share of the angle bent to that the tube springs back by; see `springback_share`.
    """
    rows: list[BendRow] = []
    done, normal, straight = 0.0, None, 0.0
    for piece in line.pieces:
        if isinstance(piece, Straight):
            straight = piece.length
        else:
            turn = 0.0 if normal is None else signed_angle(normal, piece.normal, piece.along)
            set_angle = piece.angle / (1.0 - springback)
            rows.append(BendRow(straight, done, turn, piece.angle, set_angle, piece.radius, piece.length))
            normal, straight = piece.normal, 0.0
        done += piece.length
    return BendTable(tuple(rows), straight, line.length)


def trim_needed(table: BendTable, clamp: float, tail: float) -> tuple[float, float]:
    """m to leave on at the first and at the last end and to cut off after bending.

    The clamp holds the straight ahead of the first bend, and the last bend needs its tail held.
    """
    first = max(0.0, clamp - table.rows[0].straight) if table.rows else 0.0
    return first, max(0.0, tail - table.last) if table.rows else 0.0


def signed_angle(before: Array, after: Array, axis: Array) -> float:
    """rad in (−π, π] from one vector to another, right-handed about a unit axis square to both."""
    angle = math.atan2(float(np.cross(before, after) @ axis), float(before @ after))
    return math.pi if angle <= -math.pi + 1e-9 else angle


def points_of(table: BendTable) -> Array:
    """The axis built from a table alone: (n, 3) m, the ends and all tangent points.

    Starts at the origin along +x, the first bend towards +y. An independent way back from the table to the
    tube: whoever types the table into a machine gets this shape.
    """
    here, along, side = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0])
    found = [here]
    for row in table.rows:
        here = here + row.straight * along
        found.append(here)
        side = math.cos(row.turn) * side + math.sin(row.turn) * np.cross(along, side)
        c, s = math.cos(row.angle), math.sin(row.angle)
        here = here + row.radius * (s * along + (1.0 - c) * side)
        along, side = c * along + s * side, c * side - s * along
        found.append(here)
    found.append(here + table.last * along)
    return np.array(found)


def springback_share(tube: RoundTube, material: Material, radius: float) -> float | None:
    """Share of the angle under load that comes back; None where the metal's strength is not known.

    The tube is fully plastic under the die and unloads elastically: the curvature 1/R loses M / (E I) with
    M = f Z, and the arc keeps its length. f is the mean of yield and ultimate strength. Source: elastic
    unloading of an ideal plastic beam (from memory). It leaves out the give of the bender itself and the
    ovalling, so that a trial bend gives more: of 90°, shops report 3° to 4° (common practice, no source).
    """
    if material.yield_strength is None or material.ultimate_strength is None:
        return None
    section = tube.section
    flow = (material.yield_strength + material.ultimate_strength) / 2.0
    share = flow * section.plastic_modulus_y * radius / (material.elastic_modulus * section.second_moment_y)
    return min(share, 0.5)


@dataclass(frozen=True)
class BentWall:
    """Wall m outside and inside a bend, and the greatest stretch outside."""

    outside: float
    inside: float
    stretch: float


def bent_wall(tube: RoundTube, radius: float) -> BentWall:
    """How the wall thins outside a bend and thickens inside: t R / (R ± D/2).

    The axis keeps its length and the wall its volume, all of the stretch out of its thickness: the thinnest
    that a bend without axial push can give. Common practice, no source.
    """
    half = tube.outside_diameter / 2.0
    return BentWall(tube.wall * radius / (radius + half), tube.wall * radius / (radius - half), half / radius)


@dataclass(frozen=True)
class Swing:
    """What is in the way while one bend is made.

    Attributes
    ----------
    bend : int
        Of the table, from 0.
    below : float
        m that the middle of the tube formed so far hangs below the plane of the bend.
    gap : float
        m between the middle of the formed part and that of the straight still to come; infinite where
        nothing comes near.
    """

    bend: int
    below: float
    gap: float


def swings(line: Centreline, *, turns_right: bool, springback: float = 0.0) -> tuple[Swing, ...]:
    """The swing of every bend of a line that is bent from its start.

    The finished end is clamped to the die and swings round it, the raw tube lies still behind: seen from
    there the formed part turns backwards about the die's middle. A bender whose die turns to the right,
    seen from above, has the bend's own normal pointing up, one that turns to the left has it pointing down.

    Parameters
    ----------
    line : Centreline
    turns_right : bool
        Whether the die turns clockwise seen from above.
    springback : float
        Share; the tube swings that much further.
    """
    way = 1.0 if turns_right else -1.0
    return tuple(
        Swing(number, _below(line, start, way * bend.normal), _least_gap(line, start, bend, springback))
        for number, (start, bend) in enumerate(line.bends)
    )


def _formed(line: Centreline, start: float) -> Array:
    count = max(2, math.ceil(start / _EVERY) + 1)
    return line.at(np.linspace(0.0, start, count))


def _below(line: Centreline, start: float, up: Array) -> float:
    formed = _formed(line, start)
    return max(0.0, float(((formed[-1] - formed) @ up).max()))


def _least_gap(line: Centreline, start: float, bend: Bend, springback: float) -> float:
    """Least distance between the formed part and the raw tube, at every stage of the swing."""
    formed = _formed(line, start)
    clear = formed[np.linalg.norm(formed - bend.origin, axis=1) > 2.0 * bend.radius]
    if not len(clear):
        return math.inf
    most = bend.angle / (1.0 - springback)
    arm = clear - (bend.origin + bend.radius * bend.side)
    x, y, z = arm @ bend.along, arm @ bend.side, arm @ bend.normal
    turned = np.linspace(0.0, most, max(2, math.ceil(most / _SWING) + 1))[1:, None]
    ahead, aside = np.cos(turned) * x + np.sin(turned) * y, np.cos(turned) * y - np.sin(turned) * x
    beyond = ahead - np.clip(ahead, 0.0, line.length - start)
    return float(np.sqrt(beyond**2 + (aside + bend.radius) ** 2 + z**2).min())
