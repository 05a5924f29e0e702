"""What can be measured on a placed body, with how it changes as the body moves.

A movement of the body is a twist (6,): a shift of the pivot in m, then a small turn in rad about vehicle axes
through the pivot.
"""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.place.shapes import HalfSpace, Solid, gap

Array = NDArray[np.float64]

UP = np.array([0.0, 0.0, 1.0])
_TILT = 1e-3  # rad; faces nearer to parallel than this count as lying along each other


@dataclass(frozen=True, eq=False)
class Reading:
    """A measure's value and its rate.

    Attributes
    ----------
    value : (k,) SI
    rate : (k, 6) per m of shift and rad of turn
    """

    value: Array
    rate: Array


class Measure(Protocol):
    """One thing that can be measured on a body in a pose."""

    @property
    def name(self) -> str:
        """How a fabricator would call it."""
        ...

    @property
    def unit(self) -> str:
        """`m` or `rad`."""
        ...

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """Value and rate in a pose; `pivot` is the (3,) m point that the twist shifts."""
        ...


class _InMetres:
    @property
    def unit(self) -> str:
        """A length."""
        return "m"


class _InRadians:
    @property
    def unit(self) -> str:
        """An angle."""
        return "rad"


@dataclass(frozen=True, eq=False)
class Height(_InMetres):
    """Distance of a body point from a plane, along the plane's normal.

    Attributes
    ----------
    name : str
    point : (3,) m in the body's axes
    normal : (3,) unit vector; up for a height
    offset : float, m; the plane is `normal . p = offset`
    """

    name: str
    point: Array
    normal: Array
    offset: float = 0.0

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """One value."""
        at = pose.apply(self.point)
        value = float(self.normal @ at) - self.offset
        return Reading(np.array([value]), self.normal[None] @ _point_rate(at, pivot))


@dataclass(frozen=True, eq=False)
class OffLine(_InMetres):
    """How far a body point stands off a line of the vehicle, along two directions square to it.

    Attributes
    ----------
    name : str
    point : (3,) m in the body's axes
    through : (3,) m
    along : (3,) unit vector
    """

    name: str
    point: Array
    through: Array
    along: Array

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """Two values."""
        square = square_to(self.along)
        at = pose.apply(self.point)
        return Reading(square @ (at - self.through), square @ _point_rate(at, pivot))


@dataclass(frozen=True, eq=False)
class Slope(_InRadians):
    """How steeply an axis of the body rises above the level plane; up is positive.

    Attributes
    ----------
    name : str
    axis : (3,) unit vector in the body's axes
    up : (3,) unit vector, what is upright at ride height, in vehicle axes
    """

    name: str
    axis: Array
    up: Array = field(default_factory=UP.copy)

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """One value, -90 to 90 deg."""
        axis = pose.turn(self.axis)
        across = np.cross(axis, self.up)
        flat = float(np.linalg.norm(across))
        rate = _unchanged_by_shift(across[None] / max(flat, 1e-12))
        return Reading(np.array([np.arctan2(axis @ self.up, flat)]), rate)


@dataclass(frozen=True, eq=False)
class Heading(_InRadians):
    """How far an axis of the body points off a direction of the vehicle, seen from above; left is positive.

    Attributes
    ----------
    name : str
    axis : (3,) unit vector in the body's axes
    direction : (3,) in vehicle axes, not upright
    """

    name: str
    axis: Array
    direction: Array

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """One value, -180 to 180 deg."""
        axis = pose.turn(self.axis)
        wanted = self.direction
        flat = float(axis[0] ** 2 + axis[1] ** 2)
        if flat < 1e-12:
            raise GeometryError("an upright axis has no heading", where=self.name)
        sine = wanted[0] * axis[1] - wanted[1] * axis[0]
        cosine = wanted[0] * axis[0] + wanted[1] * axis[1]
        by_axis = np.array([-axis[1], axis[0], 0.0]) / flat
        rate = _unchanged_by_shift(np.cross(axis, by_axis)[None])
        return Reading(np.array([np.arctan2(sine, cosine)]), rate)


@dataclass(frozen=True, eq=False)
class OffAxis(_InMetres):
    """How far a point of the vehicle (a hub) stands off an axis of the body (a flange's), two directions.

    Attributes
    ----------
    name : str
    point : (3,) m, of the axis, in the body's axes
    axis : (3,) unit vector in the body's axes
    hub : (3,) m in vehicle axes
    """

    name: str
    point: Array
    axis: Array
    hub: Array

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """Two values, along directions that the body carries along."""
        square = pose.turn(square_to(self.axis))
        away = self.hub - pose.apply(self.point)
        turned = np.cross(square, self.hub - pivot)  # the hub stands still while the body turns under it
        return Reading(square @ away, np.hstack([-square, turned]))


@dataclass(frozen=True, eq=False)
class OutOfLine(_InRadians):
    """How far an axis of the body leans off a direction of the vehicle, as turns about two axes square to it.

    Attributes
    ----------
    name : str
    axis : (3,) unit vector in the body's axes
    direction : (3,) unit vector in vehicle axes
    """

    name: str
    axis: Array
    direction: Array

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """Two values: the sine of the lean, shared between the two axes."""
        square = square_to(self.direction)
        axis = pose.turn(self.axis)
        away = square @ np.cross(self.direction, axis)
        # d(d x a) = d x (w x a) = w (d . a) - a (d . w)
        turn = float(self.direction @ axis) * square - np.outer(square @ axis, self.direction)
        return Reading(away, _unchanged_by_shift(turn))


@dataclass(frozen=True, eq=False)
class Clearance(_InMetres):
    """Gap between a solid of the body and a solid of the vehicle; below zero when they overlap.

    Attributes
    ----------
    name : str
    solid : Solid in the body's axes
    obstacle : Solid or HalfSpace in vehicle axes
    """

    name: str
    solid: Solid
    obstacle: Solid | HalfSpace

    def of(self, pose: Pose, pivot: Array) -> Reading:
        """One value; above a plane one for each of the solid's points that can come nearest to it."""
        solid = self.solid.moved(pose)
        if isinstance(self.obstacle, HalfSpace):
            normal = self.obstacle.normal
            points = solid.deepest(-normal) - solid.radius * normal
            along = np.broadcast_to(normal, points.shape)
            rates = np.hstack([along, np.cross(points - pivot, along)])  # n . (w x r) = w . (r x n)
            return Reading(points @ normal - self.obstacle.offset, rates)
        found = gap(solid, self.obstacle)
        rate = -found.direction[None] @ _point_rate(found.here, pivot)
        return Reading(np.array([found.size]), rate)

    def contacts(self, pose: Pose, pivot: Array) -> Reading:
        """The gap and, where faces or edges lie along each other, more rows for their far ends.

        The solid is tilted a little each way about the nearest point; where the nearest points then are, the
        distance along the first direction is a row of its own. No row is below the gap.
        """
        exact = self.of(pose, pivot)
        if isinstance(self.obstacle, HalfSpace):
            return exact
        solid = self.solid.moved(pose)
        first = gap(solid, self.obstacle)
        values, rates = [exact.value], [exact.rate]
        for axis in square_to(first.direction):
            for tilt in (_TILT, -_TILT):
                turn = rotation_from_vector(tilt * axis)
                about = Pose(turn, first.here - turn @ first.here)
                near = gap(solid.moved(about), self.obstacle)
                here = (near.here - about.origin) @ turn
                values.append(np.array([first.direction @ (near.there - here)]))
                rates.append(-first.direction[None] @ _point_rate(here, pivot))
        return Reading(np.concatenate(values), np.vstack(rates))


def square_to(direction: Array) -> Array:
    """(2, 3) unit vectors square to a direction and to each other, as near to vehicle axes as can be.

    The first lies flat for any direction that is not upright; then the second points up as far as it can.
    """
    direction = direction / np.linalg.norm(direction)
    first = np.cross(UP, direction)
    length = float(np.linalg.norm(first))
    first = first / length if length > 1e-9 else np.array([1.0, 0.0, 0.0])
    return np.array([first, np.cross(direction, first)])


def _point_rate(at: Array, pivot: Array) -> Array:
    """(3, 6): movement of a body point per twist."""
    x, y, z = at - pivot
    turn = np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])
    return np.hstack([np.eye(3), turn])


def _unchanged_by_shift(turn: Array) -> Array:
    return np.hstack([np.zeros_like(turn), turn])
