"""Openings in a tube's wall: the two holes that another tube passes through, and the slot over a plate."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from shapely import Polygon, box

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import SMALLEST_ANGLE, Body
from soapstone.parts.cuts import EndKind
from soapstone.parts.ends import TubePart
from soapstone.parts.outline import End
from soapstone.parts.profile import Array, Profile
from soapstone.parts.quadrature import area_points

_ROWS = 181
_TOUCH = 1e-6
_FINE = 2000
"""Corners of a polygon that stands for a section: its area is short by (2π/n)²/6, two parts in a million."""


@dataclass(frozen=True, eq=False)
class Loop:
    """The edge of an opening, unrolled.

    Attributes
    ----------
    abscissa : (n,) m
        Round the outside from the clocking line; runs on past the perimeter rather than jump back.
    outer, inner : (n,) m
        Stations of the edge outside and, behind it, at the bore.
    inner_abscissa : (n,) m
        Of the edge at the bore, straight through the wall.
    """

    abscissa: Array
    outer: Array
    inner_abscissa: Array
    inner: Array


@dataclass(frozen=True, eq=False)
class Opening:
    """What is cut out of a tube's wall, as a bar that is taken away.

    Attributes
    ----------
    what : {'hole', 'slot'}
    of : str
        The tube that passes through, or what the slot sits over.
    axes : Axes
        Of the bar; x runs along it.
    bar : Profile
        Its outline.
    reach : (2,) m
        Along its x; beyond the tube at both ends.
    loops : tuple of Loop
        A hole has two, the side where the bar comes in first; a slot one on each side.
    volume : float
        m³ of wall that goes.
    middle : (3,) m
        Centre of that volume, in the world.
    clearance : float
        m round what passes through.
    station : float
        m along the tube's axis: of a hole's middle, of a slot's bottom.
    """

    what: str
    of: str
    axes: Axes
    bar: Profile
    reach: tuple[float, float]
    loops: tuple[Loop, ...]
    volume: float
    middle: Array
    clearance: float
    station: float


def passage(host: TubePart, passing: Body, clearance: float) -> Opening:
    """The holes through both walls of `host` for `passing`, `clearance` m larger all round.

    Raises
    ------
    GeometryError
        If the two run along each other or nearly, miss, or the passing tube leaves less than the wall at the
        side of the host; the message names both.
    """
    bar = passing.shape.outline.grown(clearance)
    normal = np.cross(host.axes.x, passing.axes.x)
    sine = float(np.linalg.norm(normal))
    if sine < math.sin(SMALLEST_ANGLE):
        raise GeometryError(
            f"passes through {host.name} at {math.degrees(math.asin(sine)):.1f}°, under 15°",
            where=passing.name,
            remedy="let it end on the tube instead, or cross it less acutely",
        )
    normal /= sine
    apart = abs(float(normal @ (passing.axes.origin - host.axes.origin)))
    room = host.shape.bore.support(float(normal @ host.axes.y), float(normal @ host.axes.z)) - apart
    needed = bar.support(float(normal @ passing.axes.y), float(normal @ passing.axes.z))
    if needed > room + _TOUCH:
        raise GeometryError(
            f"is too wide to pass through {host.name}: its hole reaches "
            f"{1e3 * (needed - room):.4g} mm into the side wall",
            where=passing.name,
            remedy=f"let {passing.name} end on {host.name}, or take a narrower one",
        )
    rays = _Rays(host, passing.axes)
    abscissa = np.unique(np.concatenate((np.linspace(0.0, bar.perimeter, _ROWS), bar.knots())))
    near, far = rays.loops(bar.generators(abscissa, 0.0))
    volume, middle = rays.volume(bar)
    size = float(np.abs(np.concatenate((rays.last_reach(bar), [0.0]))).max()) + 2.0 * host.shape.wall
    foot = float(host.axes.to_local(rays.middle())[0])
    reach = rays.around(size)
    return Opening(
        "hole", passing.name, passing.axes, bar, reach, (near, far), volume, middle, clearance, foot
    )


@dataclass(frozen=True, eq=False)
class _Rays:
    """Lines along a bar, through a tube."""

    host: TubePart
    axes: Axes

    @property
    def way(self) -> Array:
        across = np.array([self.host.axes.y, self.host.axes.z])
        found: Array = across @ self.axes.x
        return found

    def starts(self, generators: Array) -> Array:
        world = self.axes.to_world(np.column_stack((np.zeros(len(generators)), generators)))
        found: Array = self.host.axes.to_local(world)
        return found

    def contacts(self, generators: Array) -> tuple[Array, Array, Array, Array]:
        """Along each line, m: into the outside, into the bore, out of the bore, out of the outside."""
        starts, way = self.starts(generators)[:, 1:], self.way
        outside, bore = self.host.shape.outline, self.host.shape.bore
        return (
            outside.entry(starts, way),
            bore.entry(starts, way),
            -bore.entry(starts, -way),
            -outside.entry(starts, -way),
        )

    def loops(self, generators: Array) -> tuple[Loop, Loop]:
        starts = self.starts(generators)
        direction = self.host.axes.rotation @ self.axes.x
        into, inside, out_of, beyond = (
            starts + reach[:, None] * direction for reach in self.contacts(generators)
        )
        return self._loop(into, inside), self._loop(beyond, out_of)

    def _loop(self, outer: Array, inner: Array) -> Loop:
        profile, wall = self.host.shape.outline, self.host.shape.wall
        turn = profile.perimeter
        abscissa = np.unwrap(profile.abscissae_of(outer[:, 1:]), period=turn)
        behind = np.unwrap(profile.abscissae_of(inner[:, 1:], wall), period=turn)
        lift = turn * round((abscissa.mean() - behind.mean()) / turn)
        return Loop(abscissa, outer[:, 0], behind + lift, inner[:, 0])

    def volume(self, bar: Profile) -> tuple[float, Array]:
        points, weights = area_points(bar)
        into, inside, out_of, beyond = self.contacts(points)
        parts = weights * (inside - into), weights * (beyond - out_of)
        volume = float(sum(part.sum() for part in parts))
        reach = parts[0] @ ((into + inside) / 2) + parts[1] @ ((beyond + out_of) / 2)
        across = (parts[0] + parts[1]) @ points
        return volume, self.axes.to_world(np.array([reach, *across]) / volume)

    def middle(self) -> Array:
        into, _, _, beyond = self.contacts(np.zeros((1, 2)))
        found: Array = self.axes.to_world(np.array([(into[0] + beyond[0]) / 2, 0.0, 0.0]))
        return found

    def last_reach(self, bar: Profile) -> Array:
        lines = bar.generators(np.linspace(0.0, bar.perimeter, _ROWS), 0.0)
        into, _, _, beyond = self.contacts(lines)
        centre = self.axes.to_local(self.middle())[0]
        found: Array = np.concatenate((into, beyond)) - centre
        return found

    def around(self, size: float) -> tuple[float, float]:
        centre = float(self.axes.to_local(self.middle())[0])
        return centre - size, centre + size


def slot(part: TubePart, end: End, over: str, width: float, depth: float, normal: ArrayLike) -> Opening:
    """A slot across a square end, to sit over a plate.

    Parameters
    ----------
    part : TubePart
    end : End
    over : str
        What it sits over.
    width, depth : float
        m; depth from the finished end.
    normal : (3,)
        Square to the plate.

    Raises
    ------
    GeometryError
        If the end is not square, the plate does not lie along the tube, or the slot is wider than the bore.
    """
    word = "start" if end is End.A else "end"
    cut = part.end_a if end is End.A else part.end_b
    if cut.kind is not EndKind.SQUARE:
        raise GeometryError(
            f"its {word} has a slot over {over} and a {cut.kind.value} too",
            where=part.name,
            remedy=f"let the {word} be square",
        )
    square = np.asarray(normal, dtype=float)
    square = square / np.linalg.norm(square)
    lean = float(square @ part.axes.x)
    if abs(lean) > math.sin(math.radians(0.5)):
        raise GeometryError(
            f"the plate that its {word} is slotted over does not lie along the tube",
            where=part.name,
            remedy="give the direction square to the plate, which is square to the tube too",
        )
    bore = part.shape.bore
    across = float(square @ part.axes.y), float(square @ part.axes.z)
    if not (0.0 < width / 2 < bore.support(*across) and 0.0 < depth < part.short_length):
        raise GeometryError(
            f"a slot {1e3 * width:.4g} mm wide and {1e3 * depth:.4g} mm deep has no room in its {word}",
            where=part.name,
            remedy="take a thinner plate, a shorter slot or a larger tube",
        )
    face = float(cut.outline.outer[0])
    bottom = face - end.sign * depth
    beyond = 2.0 * part.shape.wall
    low, high = sorted((bottom, face + end.sign * beyond))
    origin = part.axes.to_world(np.array([(low + high) / 2, 0.0, 0.0]))
    axes = Axes.along(origin, np.cross(square, part.axes.x), part.axes.x)
    reach = bore.support(-across[1], across[0]) + 2 * part.shape.wall
    area = _strip(part.shape.outline, across, width) - _strip(bore, across, width)
    middle = part.axes.to_world(np.array([(bottom + face) / 2, 0.0, 0.0]))
    return Opening(
        "slot", over, axes, Profile((high - low) / 2, width / 2, 0.0), (-reach, reach),
        _slot_loops(part, across, width, bottom, face), area * depth, middle, 0.0, bottom,
    )  # fmt: skip


def _slot_loops(
    part: TubePart, across: tuple[float, float], width: float, bottom: float, face: float
) -> tuple[Loop, ...]:
    profile, turn = part.shape.outline, part.shape.outline.perimeter
    edges = np.sort(profile.crossings(*across, np.array([-width / 2, width / 2])) % turn)
    loops = []
    # four lines along the tube; the strip lies between those two by two whose middle is inside it
    for one, other in zip(edges, np.append(edges[1:], edges[0] + turn), strict=True):
        middle = profile.generators(np.array([(one + other) / 2 % turn]), 0.0)[0]
        if abs(float(middle @ across)) < width / 2:
            abscissa = np.array([one, one, other, other])
            stations = np.array([face, bottom, bottom, face])
            loops.append(Loop(abscissa, stations, abscissa, stations))
    return tuple(loops)


def _strip(profile: Profile, across: tuple[float, float], width: float) -> float:
    """Area, m², of the part of an outline within half of `width` of the line through its middle."""
    half = width / 2
    if profile.is_round:
        radius = profile.radius
        return 2.0 * (half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius))
    corners = np.linspace(0.0, profile.perimeter, _FINE, endpoint=False)
    corners = np.unique(np.concatenate((corners, profile.knots()[:-1])))
    points = profile.generators(corners, 0.0)
    way = np.array(across) / math.hypot(*across)
    turned = np.column_stack((points @ way, points @ np.array((-way[1], way[0]))))
    reach = 2.0 * float(np.abs(turned).max())
    return float(Polygon(turned).intersection(box(-half, -reach, half, reach)).area)


def opened(part: TubePart, *openings: Opening) -> TubePart:
    """The tube with openings cut into its wall; they must not run into each other."""
    if not openings:
        return part
    gone = sum(opening.volume for opening in openings)
    left = part.volume - gone
    moment = part.volume * part.centroid - sum(o.volume * o.middle for o in openings)
    return replace(part, volume=left, centroid=moment / left, openings=(*part.openings, *openings))
