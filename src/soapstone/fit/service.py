"""The room that service needs: filter, plug, belt, filler."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from soapstone.fit.groups import Group
from soapstone.fit.near import HERE, Near, rod, slab, touch
from soapstone.job.room import Cone, ServicePoint
from soapstone.job.schema import Job
from soapstone.parts.solids import Solid
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Served:
    """A service point, and what stands in the room that it needs.

    Attributes
    ----------
    name : str
    stands_in, past : names of pieces, and of what comes off first
    """

    name: str
    stands_in: tuple[str, ...]
    past: tuple[str, ...]


def served(job: Job, placed: Mapping[str, Placed], groups: Sequence[Group]) -> tuple[Served, ...]:
    """Every service point of the job; its own body is no obstacle to it."""
    return tuple(_served(name, point, placed, groups) for name, point in job.service_points.items())


def _served(name: str, point: ServicePoint, placed: Mapping[str, Placed], groups: Sequence[Group]) -> Served:
    body = placed.get(point.of) if point.of is not None else None
    room = room_of_point(point, body.pose if body else HERE)
    passed = {point.of, *point.past}
    stands = [
        piece.name
        for group in groups
        if group.name not in passed
        for piece in group.pieces
        if piece.owner not in passed and touch(room, piece.near)
    ]
    return Served(name, tuple(dict.fromkeys(stands)), point.past)


def room_of_point(point: ServicePoint, pose: Pose) -> Near:
    """The solid that must be free, in vehicle axes."""
    if point.box is not None:
        low, high = np.array(point.box.from_), np.array(point.box.to)
        return slab(pose.apply((low + high) / 2.0), np.maximum(np.abs(high - low), 1e-6), pose.rotation)
    if point.cylinder is not None:
        ends = pose.apply(np.array([point.cylinder.from_, point.cylinder.to]))
        return rod(ends[0], ends[1], point.cylinder.diameter)
    assert point.cone is not None
    return _cone(point.cone, pose)


def _cone(cone: Cone, pose: Pose) -> Near:
    """A cone as the hull of two rings drawn outside its circles."""
    start, end = pose.apply(np.array([cone.from_, cone.to]))
    bar = rod(start, end, 1.0 / float(np.cos(np.pi / 24.0)))
    half = (len(bar.mesh.vertices) - 2) // 2
    rings = [bar.mesh.vertices[:half] - start, bar.mesh.vertices[half : 2 * half] - end]
    points = np.vstack([start + cone.diameter * rings[0], end + cone.widens_to * rings[1]])
    return Near(Solid(points, ConvexHull(points).simplices.astype(np.int64)))
