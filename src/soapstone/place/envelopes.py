"""The job's shapes as solids: parts of a body, obstacles, planes."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.job.hardware import Body, Obstacle, Shape
from soapstone.job.schema import Job
from soapstone.place.known import known_point, upright
from soapstone.place.shapes import Box, Cylinder, HalfSpace, Solid
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

_THIN = 1e-6
"""m; a box or bar given flat gets this, so that it is still a solid."""


@dataclass(frozen=True, eq=False)
class Part:
    """A shape with its name; `solid` is None for a scan, which is no plain solid."""

    name: str
    solid: Solid | HalfSpace | None


def parts_of(body: Body) -> tuple[Part, ...]:
    """The parts of a body's envelope, in its own axes."""
    return tuple(
        Part(shape.name or f"part {number}", solid_of(shape)) for number, shape in enumerate(body.envelope, 1)
    )


def obstacle_parts(name: str, obstacle: Obstacle) -> tuple[Part, ...]:
    """The solids of an obstacle, in vehicle axes; several are numbered where they have no name."""
    several = len(obstacle.shapes) > 1
    return tuple(
        Part(f"{name} {shape.name or number}" if several else name, solid_of(shape))
        for number, shape in enumerate(obstacle.shapes, 1)
    )


def solid_of(shape: Shape) -> Solid | None:
    """A box or a cylinder as a solid; None for a scan."""
    if shape.box is not None:
        one, other = np.array(shape.box.from_), np.array(shape.box.to)
        return Box((one + other) / 2.0, np.maximum(np.abs(other - one), _THIN), np.eye(3))
    if shape.cylinder is not None:
        start, end = np.array(shape.cylinder.from_), np.array(shape.cylinder.to)
        if float(np.linalg.norm(end - start)) < _THIN:
            end = start + np.array([_THIN, 0.0, 0.0])
        return Cylinder(start, end, shape.cylinder.diameter / 2.0)
    return None


def plane_of(name: str, about: str, inside: Array, job: Job, survey: Survey) -> HalfSpace:
    """A named plane as what lies behind it, at ride height.

    Parameters
    ----------
    name : of the plane
    about : what asks for it, for messages
    inside : (3,) m, a place on the free side; says which way a plane through three points faces

    Notes
    -----
    A floor under a vehicle on stands is brought up to where the wheels will stand on it.
    """
    plane = job.planes[name]
    if plane.at is not None and plane.faces is not None:
        normal, at = np.array(plane.faces), np.array(plane.at)
    else:
        at, second, third = (known_point(about, point, job, survey)[0] for point in plane.through)
        normal = np.cross(second - at, third - at)
        normal = normal / max(float(np.linalg.norm(normal)), 1e-300)
        normal = normal if float(normal @ (inside - at)) >= 0.0 else -normal
    settling = job.datum.settling
    if plane.of == "floor" and settling is not None:
        under = float(normal @ at) / normal[2]  # height of the floor straight under the origin
        at, normal = np.array([0.0, 0.0, under + settling.down]), upright(job)
    return HalfSpace(normal, float(normal @ at))


def reach_from(pivot: Array, points: Iterable[Array], parts: Iterable[Part]) -> float:
    """How far a body goes from a point of its own, m: to the farthest of its points and solids."""
    reaches = [float(np.linalg.norm(point - pivot)) for point in points]
    for part in parts:
        match part.solid:
            case Box(centre=centre, size=size):
                reaches.append(float(np.linalg.norm(np.abs(centre - pivot) + size / 2.0)))
            case Cylinder(start=start, end=end, round_radius=radius):
                reaches += [float(np.linalg.norm(one - pivot)) + radius for one in (start, end)]
    return max([*reaches, 0.05])  # a body without points or shape still turns about something
