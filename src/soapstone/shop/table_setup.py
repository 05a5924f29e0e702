"""The fixture table: where on its hole grid everything stands, how high, what to check before welding.

The mount keeps its upright; it is turned by quarter turns only, so that its length runs along the table, set
in the middle, then shifted by less than a hole so that its places fall nearest to holes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.job.service import Table
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout
from soapstone.place.pose import Pose
from soapstone.shop.table_places import FROM_THE_END, RISER, Place, places_of

Array = NDArray[np.float64]

_TRIES = 200
"""Shifts tried within one pitch: a step of a quarter millimetre at a pitch of 50."""
_DIAGONALS = 8


@dataclass(frozen=True, eq=False)
class Station:
    """One place that the table has to hold.

    Attributes
    ----------
    name : str
    centre : (3,) m
        In table axes, on the axis of the pin or the tube; z over the table's face.
    at : (3,) m
        Where its stack stands, at the same height: beside `centre` where something is in the way.
    column, row : int
        The nearest hole, counted from 1 from the lower left corner of the plan.
    offset : (2,) m
        From that hole to the place, along the columns' numbers and along the rows'.
    what : str
        What the height is to: a pin's axis or a tube's underside.
    height : float
        m, of that over the table's face.
    stacked : bool
        Whether a stack stands there; without one the height is set by a gauge.
    risers : tuple of float
        m, highest first.
    shim : float
        m, what the risers leave over; 0 without a stack.
    note : str
        What is out of the ordinary about it.
    """

    name: str
    centre: Array
    at: Array
    column: int
    row: int
    offset: Array
    what: str
    height: float
    stacked: bool
    risers: tuple[float, ...]
    shim: float
    note: str


@dataclass(frozen=True)
class CheckDimension:
    """Distance in space between two places, m."""

    first: str
    second: str
    length: float


@dataclass(frozen=True, eq=False)
class TableSetup:
    """The set-up.

    Attributes
    ----------
    size : (float, float)
        m, along the columns' numbers and along the rows'.
    pitch, hole : float
        m.
    columns, rows : int
    first_hole : (2,) m
        Centre of hole column 1, row 1 from the table's lower left corner.
    pose : Pose
        Vehicle axes into table axes; the table's origin is its lower left corner on its face.
    quarter_turns : int
        How often the vehicle is turned left by 90°.
    stations : tuple of Station
    checks : tuple of CheckDimension
        Longest first.
    needed, at_hand : tuple of (float, int)
        Risers by height, m: how many the stacks take together, and how many the job names.
    left_out : tuple of str
        Tubes, and ends of tubes, that no stack carries, with the reason.
    assumed : tuple of str
    """

    size: tuple[float, float]
    pitch: float
    hole: float
    columns: int
    rows: int
    first_hole: Array
    pose: Pose
    quarter_turns: int
    stations: tuple[Station, ...]
    checks: tuple[CheckDimension, ...]
    needed: tuple[tuple[float, int], ...]
    at_hand: tuple[tuple[float, int], ...]
    left_out: tuple[str, ...]
    assumed: tuple[str, ...]

    def hole_at(self, column: int, row: int) -> Array:
        """Centre of a hole, (2,) m from the table's lower left corner."""
        at: Array = self.first_hole + self.pitch * (np.array([column, row]) - 1.0)
        return at


def set_up(layout: Layout, parts: CutParts, table: Table) -> TableSetup:
    """Set a mount up on a table, each tube on its finished length; pure.

    Raises
    ------
    GeometryError
        When it does not fit on the table; says by how much.
    """
    places, left_out = places_of(layout, parts)
    if not places:
        raise GeometryError("nothing to set up on the table", remedy="give the job members or forks")
    hole, pitch = table.holes
    size = (max(table.size), min(table.size))
    counts = tuple(max(1, math.floor(side / pitch + 1e-9)) for side in size)
    first = (np.array(size) - pitch * (np.array(counts) - 1.0)) / 2.0
    points = np.array([place.stand for place in places])
    turns = 1 if np.ptp(points[:, 1]) > np.ptp(points[:, 0]) else 0
    turned = points @ _turn(turns).T
    shift = _shift(turned, np.array(size), first, pitch, table.lowest)
    pose = Pose(_turn(turns), shift)
    stations = tuple(_station(place, pose, table, first, counts) for place in places)
    return TableSetup(
        size=size,
        pitch=pitch,
        hole=hole,
        columns=counts[0],
        rows=counts[1],
        first_hole=first,
        pose=pose,
        quarter_turns=turns,
        stations=stations,
        checks=_checks(stations),
        needed=_counted([riser for station in stations for riser in station.risers]),
        at_hand=_counted(table.risers),
        left_out=left_out,
        assumed=(
            f"a riser is {1e3 * RISER:.0f} mm across: stacks stand at least that far apart, and half of it"
            " from any part that reaches lower than their tops",
            f"a tube is carried {1e3 * FROM_THE_END:.0f} mm in from its short points, or farther in where"
            " something stands there; a stack beside a pin carries a bar through it",
            "the hole grid sits in the middle of the table: measure your own first hole from the edge",
            "each stack is chosen by itself; the list of risers says what all of them take together",
        ),
    )


def _turn(quarters: int) -> Array:
    return np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]) if quarters else np.eye(3)


def _shift(turned: Array, size: Array, first: Array, pitch: float, lowest: float) -> Array:
    low, high = turned.min(axis=0), turned.max(axis=0)
    over = (high - low)[:2] + RISER - size
    if (over > 0.0).any():
        side = int(np.argmax(over))
        raise GeometryError(
            f"the mount's stacks span {1e3 * (RISER + (high - low)[side]):.0f} mm and the table is"
            f" {1e3 * size[side]:.0f} mm {'long' if side == 0 else 'wide'}",
            where="table",
            remedy="take a larger table, or set the mount up in two parts",
        )
    shift = np.append((size - low[:2] - high[:2]) / 2.0, lowest - low[2])
    for axis in (0, 1):
        room = (size[axis] - RISER - (high - low)[axis]) / 2.0
        reach = min(pitch / 2.0, room)
        trial = np.linspace(-reach, reach, _TRIES + 1)
        off = turned[:, axis][:, None] + shift[axis] + trial[None, :] - first[axis]
        miss = off - pitch * np.round(off / pitch)
        shift[axis] += trial[int(np.argmin(np.sum(miss**2, axis=0)))]
    return shift


def _station(place: Place, pose: Pose, table: Table, first: Array, counts: Sequence[int]) -> Station:
    at = pose.apply(place.stand)
    pitch = table.holes[1]
    index = np.clip(np.round((at[:2] - first) / pitch), 0, np.array(counts) - 1)
    height = float(at[2]) - place.down
    risers = riser_stack(height, table.risers) if place.stacked else ()
    return Station(
        name=place.name,
        centre=pose.apply(place.centre),
        at=at,
        column=int(index[0]) + 1,
        row=int(index[1]) + 1,
        offset=at[:2] - (first + pitch * index),
        what=place.what,
        height=height,
        stacked=place.stacked,
        risers=risers,
        shim=height - sum(risers) if place.stacked else 0.0,
        note=place.note,
    )


def riser_stack(height: float, risers: Sequence[float]) -> tuple[float, ...]:
    """The risers that come nearest below a height, fewest pieces first; each riser once.

    Parameters
    ----------
    height : float
        m.
    risers : sequence of float
        m, one entry per piece.
    """
    reached: dict[int, tuple[float, ...]] = {0: ()}
    limit = round(1e6 * height)
    for riser in sorted(risers, reverse=True):
        for total, stack in list(reached.items()):
            higher = total + round(1e6 * riser)
            if higher <= limit and (higher not in reached or len(reached[higher]) > len(stack) + 1):
                reached[higher] = (*stack, riser)
    return reached[max(reached)]


def _checks(stations: Sequence[Station]) -> tuple[CheckDimension, ...]:
    """The longest distances between pins, or between all places where there are fewer than three pins."""
    pins = [station for station in stations if station.what == "pin axis"]
    ends = pins if len(pins) >= 3 else list(stations)
    found = [
        CheckDimension(one.name, other.name, float(np.linalg.norm(one.centre - other.centre)))
        for one, other in combinations(ends, 2)
    ]
    return tuple(sorted(found, key=lambda check: -check.length)[:_DIAGONALS])


def _counted(risers: Sequence[float]) -> tuple[tuple[float, int], ...]:
    return tuple((riser, list(risers).count(riser)) for riser in sorted(set(risers), reverse=True))
