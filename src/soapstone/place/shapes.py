"""Simple solids for envelopes and obstacles, and the signed gap between two of them."""

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls
from scipy.spatial import ConvexHull, QhullError

from soapstone.errors import GeometryError
from soapstone.place.pose import Pose

Array = NDArray[np.float64]

_CLOSE = 1e-13
"""Of the gap and m; a nearest point is found when the next support point comes no nearer than this."""
_ROUNDS = 300
_CORNERS = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])
_SPHERE = 60  # directions tried at first where solids overlap
_REFINED = 60
_RING = np.array([[np.cos(a), np.sin(a)] for a in np.arange(16) * np.pi / 8])
_DEEP = 1e-10  # m, to which an overlap is found


class Solid(Protocol):
    """A convex solid: a core that a support point describes, swollen by `radius`."""

    @property
    def radius(self) -> float:
        """m, what the core is swollen by on all sides."""
        ...

    @property
    def middle(self) -> Array:
        """(3,) m, a point inside."""
        ...

    def support(self, directions: Array) -> Array:
        """Farthest points of the core, (n, 3) m, along directions (n, 3)."""
        ...

    def deepest(self, direction: Array) -> Array:
        """(k, 3) m: the core's points that can be the farthest along a direction when it tilts a little."""
        ...

    def moved(self, pose: Pose) -> "Solid":
        """The same solid after its own axes were put into others."""
        ...


@dataclass(frozen=True, eq=False)
class Ball:
    """A ball.

    Attributes
    ----------
    centre : (3,) m
    radius : float, m
    """

    centre: Array
    radius: float

    def __post_init__(self) -> None:
        _positive("a ball", self.radius)

    @property
    def middle(self) -> Array:
        """(3,) m."""
        return self.centre

    def support(self, directions: Array) -> Array:
        """The centre, whichever way."""
        return np.broadcast_to(self.centre, directions.shape)

    def deepest(self, direction: Array) -> Array:
        """The centre."""
        return self.centre[None]

    def moved(self, pose: Pose) -> "Ball":
        """The same ball elsewhere."""
        return replace(self, centre=pose.apply(self.centre))


@dataclass(frozen=True, eq=False)
class Box:
    """A box.

    Attributes
    ----------
    centre : (3,) m
    size : (3,) m, full edge lengths
    axes : (3, 3), columns are the unit vectors of the edges
    """

    centre: Array
    size: Array
    axes: Array

    def __post_init__(self) -> None:
        _positive("a box", *self.size)

    @property
    def radius(self) -> float:
        """A box is all core."""
        return 0.0

    @property
    def middle(self) -> Array:
        """(3,) m."""
        return self.centre

    def support(self, directions: Array) -> Array:
        """Corners."""
        corner: Array = self.centre + (np.sign(directions @ self.axes) * self.size / 2) @ self.axes.T
        return corner

    def deepest(self, direction: Array) -> Array:
        """All eight corners."""
        corners: Array = self.centre + (_CORNERS * self.size / 2) @ self.axes.T
        return corners

    def moved(self, pose: Pose) -> "Box":
        """The same box elsewhere."""
        return replace(self, centre=pose.apply(self.centre), axes=pose.rotation @ self.axes)


@dataclass(frozen=True, eq=False)
class Cylinder:
    """A solid round bar with flat ends.

    Attributes
    ----------
    start, end : (3,) m, middles of the two ends
    round_radius : float, m
    """

    start: Array
    end: Array
    round_radius: float

    def __post_init__(self) -> None:
        _positive("a cylinder", self.round_radius, float(np.linalg.norm(self.end - self.start)))

    @property
    def radius(self) -> float:
        """A cylinder is all core."""
        return 0.0

    @property
    def middle(self) -> Array:
        """(3,) m."""
        half: Array = (self.start + self.end) / 2
        return half

    @property
    def axis(self) -> Array:
        """(3,) unit vector."""
        run: Array = self.end - self.start
        return run / np.linalg.norm(run)

    def support(self, directions: Array) -> Array:
        """Points on the rim of the farther end; the end's middle along the axis itself."""
        along = directions @ self.axis
        rim = _unit_across(directions, self.axis)
        rim = _unit_across(rim, self.axis)  # once more: near the axis the first is square to it only roughly
        point: Array = np.where(along[:, None] > 0, self.end, self.start) + self.round_radius * rim
        return point

    def deepest(self, direction: Array) -> Array:
        """The farthest point of each end's rim."""
        rim = self.support(direction[None])[0] - np.where(self.axis @ direction > 0, self.end, self.start)
        return np.array([self.start + rim, self.end + rim])

    def moved(self, pose: Pose) -> "Cylinder":
        """The same cylinder elsewhere."""
        return replace(self, start=pose.apply(self.start), end=pose.apply(self.end))


def _unit_across(directions: Array, axis: Array) -> Array:
    """(n, 3): the part square to an axis, made a unit vector; zero for directions along the axis."""
    across = directions - (directions @ axis)[:, None] * axis
    length = np.linalg.norm(across, axis=1, keepdims=True)
    unit: Array = np.divide(across, length, out=np.zeros_like(across), where=length > 1e-12)
    return unit


@dataclass(frozen=True, eq=False)
class HalfSpace:
    """Everything behind a plane: the ground, a wall.

    Attributes
    ----------
    normal : (3,), unit vector, points to the free side
    offset : float, m; the plane is `normal . p = offset`
    """

    normal: Array
    offset: float


@dataclass(frozen=True, eq=False)
class Gap:
    """How near two solids come.

    Attributes
    ----------
    size : float, m
        Distance; below zero the least way that would part them.
    here, there : (3,) m
        The points of the first and the second that are nearest (deepest when they overlap).
    direction : (3,)
        Unit vector from the first towards the second.
    """

    size: float
    here: Array
    there: Array
    direction: Array


def gap(first: Solid, second: Solid | HalfSpace) -> Gap:
    """Signed distance of two convex solids.

    Apart, the nearest points of the two are found by support points (after Gilbert, Johnson and Keerthi,
    IEEE J. Robotics and Automation 4(2) 1988); overlapping, the least of all ways out.
    """
    if isinstance(second, HalfSpace):
        return _to_plane(first, second)
    witness = _nearest(first, second) or _way_out(first, second)
    here = witness.here + first.radius * witness.direction
    there = witness.there - second.radius * witness.direction
    return Gap(float((there - here) @ witness.direction), here, there, witness.direction)


def _positive(what: str, *sizes: float) -> None:
    if not all(np.isfinite(size) and size > 0.0 for size in sizes):
        raise GeometryError(f"{what} needs sizes above zero")


def _to_plane(solid: Solid, plane: HalfSpace) -> Gap:
    points = solid.deepest(-plane.normal) - solid.radius * plane.normal
    sizes = points @ plane.normal - plane.offset
    least = int(sizes.argmin())
    return Gap(float(sizes[least]), points[least], points[least] - sizes[least] * plane.normal, -plane.normal)


@dataclass(frozen=True)
class _Witness:
    """Unit direction from the first to the second, and the points of both cores along it."""

    direction: Array
    here: Array
    there: Array


def _nearest(first: Solid, second: Solid) -> _Witness | None:
    """Nearest points of two cores, None when they overlap.

    The nearest point of a few support points' hull comes from non-negative least squares: shares λ that
    make |P λ|² + (1 - Σλ)² least are in proportion to those of the nearest point.
    """
    towards = second.middle - first.middle
    ours, theirs = first.support(towards[None]), second.support(-towards[None])
    for _ in range(_ROUNDS):
        apart = theirs - ours
        shares = nnls(np.vstack([apart.T, np.ones(len(apart))]), np.array([0.0, 0.0, 0.0, 1.0]))[0]
        kept = shares > 0.0
        ours, theirs, shares = ours[kept], theirs[kept], shares[kept] / shares.sum()
        here, there = shares @ ours, shares @ theirs
        length = float(np.linalg.norm(there - here))
        if length < 1e-9:
            return None
        direction = (there - here) / length
        next_here, next_there = first.support(direction[None]), second.support(-direction[None])
        reached = float((next_there - next_here)[0] @ direction)
        if length - reached < _CLOSE * (1.0 + length):
            break
        ours, theirs = np.vstack([ours, next_here]), np.vstack([theirs, next_there])
    return _Witness(direction, here, there)


def _way_out(first: Solid, second: Solid) -> _Witness:
    """The least shift that parts two overlapping cores, found over all directions.

    The differences of their points fill a convex body round the origin; its hull is refined at the face that
    lies nearest until the support there comes no farther out (expanding polytope, after van den Bergen 2001).
    Round solids may need endless refining where many ways are nearly as good: after some rounds the best is
    taken, and made better by small tilts. A depth can come out too large by that, never too small.
    """
    directions = _all_round()
    apart = first.support(directions) - second.support(-directions)
    if np.linalg.matrix_rank(apart - apart[0], tol=1e-9) < 3:  # two balls on one spot: any way is as good
        return _Witness(directions[0], first.middle, second.middle)
    hull = ConvexHull(apart, incremental=True)
    best, way = np.inf, directions[0]
    for _ in range(_REFINED):
        nearest = hull.equations[int(np.argmax(hull.equations[:, 3]))]
        here, there = first.support(nearest[None, :3])[0], second.support(-nearest[None, :3])[0]
        depth = float((here - there) @ nearest[:3])
        if depth < best:
            best, way = depth, nearest[:3]
        if best + nearest[3] < _DEEP:
            return _along(first, second, way)
        try:
            hull.add_points((here - there)[None])
        except QhullError:  # new faces too narrow for its rounding: refined as far as can be
            break
    return _along(first, second, _tilted(first, second, way, best))


def _along(first: Solid, second: Solid, way: Array) -> _Witness:
    return _Witness(way, first.support(way[None])[0], second.support(-way[None])[0])


def _tilted(first: Solid, second: Solid, way: Array, depth: float) -> Array:
    """A direction of less depth near a good one, by tilting it ever less."""
    size = 0.1
    while size > 1e-8:
        least = np.eye(3)[int(np.abs(way).argmin())]
        one = _unit_across(least[None], way)[0]
        tried = way + size * (_RING @ np.array([one, np.cross(way, one)]))
        tried = tried / np.linalg.norm(tried, axis=1, keepdims=True)
        depths = np.einsum("ni,ni->n", first.support(tried) - second.support(-tried), tried)
        if float(depths.min()) < depth - 1e-15:
            depth, way = float(depths.min()), tried[int(depths.argmin())]
        else:
            size /= 2
    return way


def _all_round() -> Array:
    """Directions spread evenly over a sphere (golden spiral)."""
    i = np.arange(_SPHERE)
    z = 1.0 - 2.0 * (i + 0.5) / _SPHERE
    around = np.pi * (1.0 + 5.0**0.5) * i
    flat = np.sqrt(1.0 - z**2)
    return np.stack([flat * np.cos(around), flat * np.sin(around), z], axis=1)
