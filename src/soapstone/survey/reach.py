"""Whether a tape can be pulled from one point to another: what stands in the way."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from soapstone.job.hardware import Shape
from soapstone.job.schema import Job
from soapstone.survey.index import Array

GRAZE = 0.005
"""m; a point lies on the skin of what it is drilled into, so a solid counts only from this deep on."""


class Solid(Protocol):
    """Something that no tape passes through."""

    def blocks(self, start: Array, end: Array) -> bool:
        """Whether the straight line between two points, (3,) m each, passes through it."""


@dataclass(frozen=True)
class Box:
    """A box between two corners, (3,) m, in axes of its own (`rotation` and `origin` carry them over)."""

    low: Array
    high: Array
    rotation: Array = field(default_factory=lambda: np.eye(3))
    origin: Array = field(default_factory=lambda: np.zeros(3))

    def blocks(self, start: Array, end: Array) -> bool:
        """Whether a straight line enters it deeper than a graze (slab by slab)."""
        one, two = (self.rotation.T @ (at - self.origin) for at in (start, end))
        low, high = self.low + GRAZE, self.high - GRAZE
        way = two - one
        moving = way != 0.0
        if np.any(low >= high) or np.any(~moving & ((one <= low) | (one >= high))):
            return False
        steps = np.stack([(low - one)[moving] / way[moving], (high - one)[moving] / way[moving]])
        enters = float(steps.min(axis=0).max(initial=0.0))
        leaves = float(steps.max(axis=0).min(initial=1.0))
        return enters < leaves


@dataclass(frozen=True)
class Cylinder:
    """A cylinder between the centres of its ends, (3,) m, and its radius, m."""

    start: Array
    end: Array
    radius: float

    def blocks(self, start: Array, end: Array) -> bool:
        """Whether a straight line enters it deeper than a graze."""
        axis = self.end - self.start
        length = float(np.linalg.norm(axis))
        along = axis / length if length else np.array([0.0, 0.0, 1.0])
        way, out = end - start, start - self.start
        enters, leaves = _between(float(out @ along), float(way @ along), GRAZE, length - GRAZE)
        if enters >= leaves:
            return False
        flat, off = way - (way @ along) * along, out - (out @ along) * along
        square = float(flat @ flat)
        nearest = np.clip(-float(off @ flat) / square, enters, leaves) if square else enters
        return float(np.linalg.norm(off + nearest * flat)) < self.radius - GRAZE


def _between(at: float, rate: float, low: float, high: float) -> tuple[float, float]:
    """The part of 0 to 1 in which `at + t rate` lies between two values; empty as (1, 0)."""
    if rate == 0.0:
        return (0.0, 1.0) if low < at < high else (1.0, 0.0)
    first, second = sorted(((low - at) / rate, (high - at) / rate))
    return max(first, 0.0), min(second, 1.0)


def solids(
    shapes: Sequence[Shape], rotation: Array | None = None, origin: Array | None = None
) -> list[Solid]:
    """Boxes and cylinders of the job as solids; scans are left out.

    Parameters
    ----------
    shapes : sequence of Shape
    rotation, origin : (3, 3) and (3,) m, optional
        Where a body sits that carries them.
    """
    turn = np.eye(3) if rotation is None else rotation
    shift = np.zeros(3) if origin is None else origin
    return [*_solids(shapes, turn, shift)]


def _solids(shapes: Sequence[Shape], turn: Array, shift: Array) -> Iterator[Solid]:
    for shape in shapes:
        if shape.box is not None:
            corners = np.array([shape.box.from_, shape.box.to])
            yield Box(corners.min(axis=0), corners.max(axis=0), turn, shift)
        elif shape.cylinder is not None:
            one, two = (turn @ np.array(at) + shift for at in (shape.cylinder.from_, shape.cylinder.to))
            yield Cylinder(one, two, shape.cylinder.diameter / 2)


def obstacles_of(job: Job) -> list[Solid]:
    """What stays in the vehicle and stands in the way."""
    return [solid for obstacle in job.obstacles.values() for solid in solids(obstacle.shapes)]


def in_the_way(start: Array, end: Array, among: Sequence[Solid]) -> bool:
    """Whether anything stands between two points, (3,) m each."""
    return any(solid.blocks(start, end) for solid in among)
