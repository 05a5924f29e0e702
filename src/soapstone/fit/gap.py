"""The least distance between a part that moves and all that stands, as often as a planner asks for it."""

from collections.abc import Sequence

import fcl
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

Array = NDArray[np.float64]
Triangles = NDArray[np.int64]
Mesh = tuple[Array, Triangles]


def hull_mesh(points: Array) -> Mesh:
    """The convex hull of (k, 3) m as vertices and triangles."""
    hull = ConvexHull(points)
    return points, np.asarray(hull.simplices, dtype=np.int64)


def joined(meshes: Sequence[Mesh]) -> Mesh:
    """Several meshes as one."""
    offsets = np.cumsum([0, *(len(vertices) for vertices, _ in meshes[:-1])])
    triangles = [one + offset for (_, one), offset in zip(meshes, offsets, strict=True)]
    return np.vstack([vertices for vertices, _ in meshes]), np.vstack(triangles)


class Gap:
    """Distance of a moving mesh from a standing one.

    Parameters
    ----------
    moving : vertices m seen from the part's own middle, and triangles
    standing : vertices m, and triangles
    """

    def __init__(self, moving: Mesh, standing: Mesh) -> None:
        self.moving = fcl.CollisionObject(_model(moving), fcl.Transform())
        self.standing = fcl.CollisionObject(_model(standing), fcl.Transform())
        self.points = moving[0]
        self.reach = float(np.linalg.norm(moving[0], axis=1).max())

    def at(self, rotation: Array, middle: Array) -> float:
        """Gap m at a pose; nothing or less where skins cut each other."""
        self.moving.setTransform(fcl.Transform(rotation, middle))
        return float(fcl.distance(self.moving, self.standing, fcl.DistanceRequest(), fcl.DistanceResult()))

    def nearest(self, rotation: Array, middle: Array) -> tuple[float, Array, Array]:
        """Gap m, and the two points (3,) m that are nearest."""
        self.moving.setTransform(fcl.Transform(rotation, middle))
        result = fcl.DistanceResult()
        gap = fcl.distance(self.moving, self.standing, fcl.DistanceRequest(True), result)
        return float(gap), np.array(result.nearest_points[0]), np.array(result.nearest_points[1])


def _model(mesh: Mesh) -> fcl.BVHModel:
    vertices, triangles = mesh
    model = fcl.BVHModel()
    model.beginModel(len(triangles), len(vertices))
    model.addSubModel(np.ascontiguousarray(vertices), np.ascontiguousarray(triangles))
    model.endModel()
    return model
