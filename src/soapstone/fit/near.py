"""The least distance between two solids: exact between boxes and cylinders, by triangles for the rest."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import fcl
import numpy as np
from numpy.typing import NDArray

from soapstone.parts.axes import Axes
from soapstone.parts.solids import Solid as Mesh
from soapstone.parts.solids import box
from soapstone.place.pose import Pose
from soapstone.place.shapes import Box, Cylinder, gap
from soapstone.place.shapes import Solid as Convex

Array = NDArray[np.float64]

_RAY = np.array([0.5773502, 0.5012345, 0.6445678]) / np.linalg.norm([0.5773502, 0.5012345, 0.6445678])
"""A direction that runs along no edge that a shop would draw."""
HERE = Pose(np.eye(3), np.zeros(3))
_SIDES = 24
_UNIT = box(np.ones(3), Axes(np.zeros(3), *np.eye(3)))
_CIRCLE = np.array([[np.cos(a), np.sin(a)] for a in np.arange(_SIDES) * 2.0 * np.pi / _SIDES])


def _bar() -> NDArray[np.int64]:
    """Faces of a bar: two rings, then the middles of its ends."""
    here, there = np.arange(_SIDES), (np.arange(_SIDES) + 1) % _SIDES
    low, high = np.full(_SIDES, 2 * _SIDES), np.full(_SIDES, 2 * _SIDES + 1)
    sides = ((here, there, there + _SIDES), (here, there + _SIDES, here + _SIDES))
    ends = ((low, there, here), (high, here + _SIDES, there + _SIDES))
    return np.vstack([np.column_stack(corners) for corners in (*sides, *ends)])


_BAR = _bar()


@dataclass(frozen=True, eq=False)
class Near:
    """A solid made ready to be measured to.

    Attributes
    ----------
    mesh : its triangles
    convex : the same exactly, where it is a box or a cylinder
    closed : whether it has an inside
    """

    mesh: Mesh
    convex: Convex | None = None
    closed: bool = True
    low: Array = field(init=False)
    high: Array = field(init=False)

    def __post_init__(self) -> None:
        room = 0.0 if self.convex is None else 2.5e-3 * float(np.ptp(self.mesh.vertices, axis=0).max())
        object.__setattr__(self, "low", self.mesh.vertices.min(axis=0) - room)
        object.__setattr__(self, "high", self.mesh.vertices.max(axis=0) + room)

    @cached_property
    def shape(self) -> tuple[Any, Pose]:
        """What the library measures, and where that stands."""
        match self.convex:
            case Box(centre=centre, size=size, axes=axes):
                turned = axes * [1.0, 1.0, np.sign(np.linalg.det(axes))]
                return fcl.Box(*size), Pose(turned, centre)
            case Cylinder(start=start, end=end, round_radius=radius, axis=axis):
                long = float(np.linalg.norm(end - start))
                return fcl.Cylinder(radius, long), Pose(_upright(axis), (start + end) / 2.0)
        model = fcl.BVHModel()
        model.beginModel(len(self.mesh.triangles), len(self.mesh.vertices))
        model.addSubModel(self.mesh.vertices, self.mesh.triangles)
        model.endModel()
        return model, HERE

    def put(self, pose: Pose) -> Any:
        """The library's solid, moved by `pose` from where it stands."""
        shape, at = self.shape
        return fcl.CollisionObject(shape, fcl.Transform(pose.rotation @ at.rotation, pose.apply(at.origin)))

    def corners(self, pose: Pose) -> tuple[Array, Array]:
        """Lowest and highest corner of a box round it, once moved."""
        if pose is HERE:
            return self.low, self.high
        middle, half = (self.low + self.high) / 2.0, (self.high - self.low) / 2.0
        at, reach = pose.apply(middle), np.abs(pose.rotation) @ half
        return at - reach, at + reach


@dataclass(frozen=True, eq=False)
class Nearest:
    """The nearest points of two solids.

    Attributes
    ----------
    size : m; nothing where they touch or overlap
    here, there : (3,) m
    """

    size: float
    here: Array
    there: Array

    @property
    def way(self) -> Array:
        """Unit vector from the first to the second; upright where they touch."""
        run = self.there - self.here
        length = float(np.linalg.norm(run))
        return np.asarray(run / length) if length > 0.0 else np.array([0.0, 0.0, 1.0])


def at_least(first: Near, second: Near, pose: Pose = HERE) -> float:
    """A distance, m, that the two cannot be nearer than: that of the boxes round them."""
    low, high = first.corners(pose)
    return float(np.linalg.norm(np.maximum(0.0, np.maximum(low - second.high, second.low - high))))


def nearest(first: Near, second: Near, pose: Pose = HERE) -> Nearest:
    """The least distance.

    Parameters
    ----------
    first, second : Near
    pose : how the first was moved from where it stands
    """
    if first.convex is not None and second.convex is not None:
        found = gap(first.convex.moved(pose), second.convex)
        return Nearest(max(found.size, 0.0), found.here, found.there)
    result = fcl.DistanceResult()
    size = fcl.distance(first.put(pose), second.put(HERE), fcl.DistanceRequest(True), result)
    if size > 0.0 and not _swallowed(first, second, pose):
        here, there = (np.asarray(point, dtype=np.float64) for point in result.nearest_points)
        if result.o1 is not first.shape[0]:  # the library measures triangles first, whichever way it is asked
            here, there = there, here
        return Nearest(float(size), here, there)
    low, high = first.corners(pose)
    middle = np.maximum(low, second.low) / 2.0 + np.minimum(high, second.high) / 2.0
    return Nearest(0.0, middle, middle)


def _swallowed(first: Near, second: Near, pose: Pose) -> bool:
    """Whether one lies wholly inside the other, their skins apart."""
    low, high = first.corners(pose)
    if second.closed and (low >= second.low).all() and (high <= second.high).all():
        return _inside(pose.apply(first.mesh.vertices[0]), second.mesh)
    if first.closed and (second.low >= low).all() and (second.high <= high).all():
        back = pose.rotation.T @ (second.mesh.vertices[0] - pose.origin)
        return _inside(back, first.mesh)
    return False


def _inside(point: Array, mesh: Mesh) -> bool:
    """Whether a point lies inside a closed mesh, however its faces look: a ray meets an odd number of them.

    Faces are hit as Moeller and Trumbore tell (J. Graphics Tools 2(1) 1997).
    """
    a, b, c = (mesh.vertices[mesh.triangles[:, i]] for i in range(3))
    one, two, off = b - a, c - a, point - a
    across = np.cross(_RAY, two)
    size = np.einsum("ni,ni->n", one, across)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.einsum("ni,ni->n", off, across) / size
        turned = np.cross(off, one)
        v = turned @ _RAY / size
        far = np.einsum("ni,ni->n", two, turned) / size
        hit = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0) & (far > 0.0)
    return bool(hit.sum() % 2)


def _upright(axis: Array) -> Array:
    """A rotation that brings z onto `axis`."""
    side = np.cross(axis, np.eye(3)[int(np.abs(axis).argmin())])
    side /= np.linalg.norm(side)
    return np.column_stack([side, np.cross(axis, side), axis])


def touch(first: Near, second: Near) -> bool:
    """Whether two solids have anything in common; sooner answered than how far apart they are."""
    if at_least(first, second) > 0.0:
        return False
    if fcl.collide(first.put(HERE), second.put(HERE), fcl.CollisionRequest(), fcl.CollisionResult()):
        return True
    return _swallowed(first, second, HERE)


def rod(start: Array, end: Array, diameter: float) -> Near:
    """A round bar between two places (3,) m."""
    axis = end - start
    turned = _upright(axis / np.linalg.norm(axis))
    ring = diameter / 2.0 * _CIRCLE @ turned[:, :2].T
    mesh = Mesh(np.vstack([start + ring, end + ring, start[None], end[None]]), _BAR)
    return Near(mesh, Cylinder(start, end, diameter / 2.0))


def slab(middle: Array, size: Array, axes: Array) -> Near:
    """A box: its middle (3,) m, its edges (3,) m along the columns of `axes` (3, 3)."""
    return Near(Mesh(middle + (_UNIT.vertices * size) @ axes.T, _UNIT.triangles), Box(middle, size, axes))
