"""Half-shafts through the wheel's travel: angles of both joints, and how far they pull apart or close up."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ShaftTravel:
    """A half-shaft in n positions of the wheel.

    Attributes
    ----------
    length : (n,) m, between the joints' centres
    plunge : (n,) m, length minus that at ride height; positive pulls the joints apart
    inner_angle, outer_angle : (n,) rad, between the shaft and each joint's axis
    """

    length: Array
    plunge: Array
    inner_angle: Array
    outer_angle: Array


def through_travel(
    inner: Array, inner_axis: Array, outer: Array, outer_axis: Array, *, ride_length: float
) -> ShaftTravel:
    """A shaft between two joints.

    Parameters
    ----------
    inner, outer : (3,) or (n, 3) m, joint centres, vehicle axes
    inner_axis, outer_axis : (3,) or (n, 3)
        Axes of the flange and of the hub; either sense.
    ride_length : float, m
        Length between centres at ride height, from which plunge is counted.

    Raises
    ------
    GeometryError
        When both centres fall together.
    """
    run = np.atleast_2d(np.asarray(outer, float) - np.asarray(inner, float))
    length = np.linalg.norm(run, axis=1)
    if float(length.min()) == 0.0:
        raise GeometryError("both joints of a half-shaft stand at the same place")
    inner_angle = angle_between(run, np.broadcast_to(inner_axis, run.shape))
    outer_angle = angle_between(run, np.broadcast_to(outer_axis, run.shape))
    return ShaftTravel(length, length - ride_length, inner_angle, outer_angle)


def angle_between(first: Array, second: Array) -> Array:
    """Angle (...,) rad between lines of directions (..., 3), 0 to 90 deg, exact near both ends."""
    square = np.linalg.norm(np.cross(first, second), axis=-1)
    along = np.abs(np.sum(np.asarray(first) * second, axis=-1))
    angle: Array = np.arctan2(square, along)
    return angle


def joint_moment(torque: float, flange: Array, shaft: Array) -> Array:
    """Moment (3,) N·m that a constant-velocity joint passes from a flange to a shaft.

    The part along each axis is the torque, and nothing else acts: `T (f + s) / (1 + f . s)` with unit axes of
    like sense. Square to the flange there is left `T tan(angle / 2)`, which the joint's housing must take.
    """
    flange, shaft = flange / np.linalg.norm(flange), shaft / np.linalg.norm(shaft)
    moment: Array = torque * (flange + shaft) / (1.0 + float(flange @ shaft))
    return moment


def tripod_orbit(spider_radius: float, angle: float) -> float:
    """Radius m on which the centre of a tripod's spider runs round: `r / 2 (1 / cos angle - 1)`.

    From memory, after Seherr-Thoss, Schmelz and Aucktor, Universal Joints and Driveshafts.
    """
    return spider_radius / 2.0 * (1.0 / float(np.cos(angle)) - 1.0)
