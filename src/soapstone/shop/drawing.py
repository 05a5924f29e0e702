"""Line drawings of the mount in orthographic projection: what is in front hides what is behind.

Everything is cut into convex pieces; each is painted white with its outline, farthest first.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from soapstone.parts.assembly import Sort, Thing
from soapstone.parts.bent_part import BentPart, outside_rings
from soapstone.parts.ends import TubePart
from soapstone.shop.labels import apart

Array = NDArray[np.float64]

SCALES = (1, 2, 5, 10, 20, 50, 100)
"""ISO 5455, reductions."""
_PIECE = 0.03
"""m of tube per piece: short against the distance between tubes, so that sorting by depth holds."""
_BORDER = 1.0
"""mm round a drawing."""
_WORD_BORDER = np.array([20.0, 5.0])
"""mm beside and above a drawing with names in it, so that they find room outside its lines."""
_BALLOON_BORDER = np.array([14.0, 14.0])
_LONG_WORD = 4
_AROUND = 32
_END_ON = 0.05
_BEND_CHORD = 2e-4
"""m that a bend's pieces miss its arc by."""


@dataclass(frozen=True, eq=False)
class View:
    """A way of looking: unit vectors to the right and up on the paper, in vehicle axes."""

    name: str
    right: Array
    up: Array

    @property
    def near(self) -> Array:
        """Towards the viewer."""
        return np.cross(self.right, self.up)

    def flat(self, points: Array) -> Array:
        """Points (..., 3) m on the paper, (..., 2) m."""
        return points @ np.stack([self.right, self.up], axis=1)


def _unit(*parts: float) -> Array:
    return np.array(parts) / math.hypot(*parts)


PLAN = View("plan, from above, front of the vehicle at the top", _unit(0, -1, 0), _unit(1, 0, 0))
SIDE = View("from the left, front of the vehicle at the left", _unit(-1, 0, 0), _unit(0, 0, 1))
_LOOK = _unit(1.0, 1.0, math.sqrt(0.75))
_RIGHT = _unit(-1.0, 1.0, 0.0)
CORNER = View("from the front left, above", _RIGHT, np.cross(_LOOK, _RIGHT))


@dataclass(frozen=True, eq=False)
class _Painted:
    depth: float
    lines: list[dict[str, Any]]


def draw(
    view: View,
    found: Sequence[Thing],
    tubes: Mapping[str, TubePart | BentPart],
    labels: Mapping[str, tuple[str, Array]],
    room: tuple[float, float],
    scale: int = 0,
    *,
    fill: bool = False,
    over: Sequence[tuple[str, Array]] = (),
    place: Callable[..., Any] = apart,
) -> dict[str, Any]:
    """A drawing as plain data for `sheet.typ`, mm.

    Parameters
    ----------
    view : View
    found : sequence of Thing
    tubes : by name
    labels : key to (text, (3,) m)
    room : (width, height)
        mm; the largest standard scale that fits is taken.
    scale : int
        Asked for; 0 to choose.
    fill : bool
        Whether to fill the room instead, at no scale: for a picture that nobody measures on.
    over : sequence of (stroke, (n, 3) m)
        Lines that are drawn over all.
    place : as `soapstone.shop.labels.apart`
        Sets the labels.
    """
    own = [thing for thing in found if thing.sort is not Sort.OBSTACLE]
    low, high = _bounds(view, own)
    border = _border([text for text, _ in labels.values()]) if place is apart else _BALLOON_BORDER
    number = scale or standard_scale(_needed(low, high, room, border))
    factor = 1.0 / _needed(low, high, room, border) if fill else 1000.0 / number
    shift = border - factor * low
    size = factor * (high - low) + 2 * border

    def paper(points: Array) -> list[list[float]]:
        rounded: list[list[float]] = np.round(factor * points + shift, 3).tolist()
        return rounded

    painted: list[_Painted] = []
    for thing in found:
        if thing.sort is Sort.TUBE and thing.name in tubes:
            part = tubes[thing.name]
            painted += _bent(view, part, paper) if isinstance(part, BentPart) else _tube(view, part, paper)
        else:
            painted.append(_convex(view, thing, paper))
    painted.sort(key=lambda piece: piece.depth)
    lines = [line for piece in painted for line in piece.lines]
    lines += [{"points": paper(view.flat(points)), "stroke": stroke} for stroke, points in over]
    names, leaders = place(
        [(text, paper(view.flat(at))) for text, at in labels.values()],
        room=(float(size[0]), float(size[1])),
        drawn=[_closed(line) for line in lines if line["stroke"] != "none"],
    )
    return {
        "width": float(size[0]),
        "height": float(size[1]),
        "lines": [*lines, *leaders],
        "labels": names,
        "scale": "no scale" if fill else f"1 : {number}",
        "name": view.name,
    }


def _closed(line: dict[str, Any]) -> list[list[float]]:
    points: list[list[float]] = line["points"]
    return [*points, points[0]] if line.get("closed") else points


def _border(words: Sequence[str]) -> Array:
    """Beside and above, mm; marks of a few letters need no room of their own."""
    return _WORD_BORDER if any(len(word) > _LONG_WORD for word in words) else np.full(2, _BORDER)


def scale_for(view: View, found: Sequence[Thing], room: tuple[float, float]) -> int:
    """The largest standard scale at which all but the obstacles fit into a room, mm."""
    low, high = _bounds(view, [thing for thing in found if thing.sort is not Sort.OBSTACLE])
    return standard_scale(_needed(low, high, room, np.full(2, _BORDER)))


def standard_scale(needed: float) -> int:
    """The largest standard scale that needs no more than so many m per mm of paper."""
    return next((scale for scale in SCALES if scale >= 1000.0 * needed), SCALES[-1])


def _needed(low: Array, high: Array, room: tuple[float, float], border: Array) -> float:
    """m per mm of paper."""
    return float(((high - low) / (np.array(room) - 2 * border)).max())


def _bounds(view: View, found: Sequence[Thing]) -> tuple[Array, Array]:
    flat = np.vstack([view.flat(thing.solid.vertices) for thing in found])
    return flat.min(axis=0), flat.max(axis=0)


def _hull(points: Array) -> Array:
    try:
        return points[ConvexHull(points).vertices]
    except QhullError:  # seen edge on: a line has no hull
        return points[[int(points[:, 0].argmin()), int(points[:, 0].argmax())]]


def _convex(view: View, thing: Thing, paper: Any) -> _Painted:
    flat = paper(_hull(view.flat(thing.solid.vertices)))
    if thing.sort in (Sort.OBSTACLE, Sort.BODY):
        stroke = "grey" if thing.sort is Sort.OBSTACLE else "centre"
        behind = -1e3 if thing.sort is Sort.OBSTACLE else -1e2
        return _Painted(behind, [{"points": flat, "stroke": stroke, "closed": True}])
    depth = float((thing.solid.vertices @ view.near).mean())
    return _Painted(depth, [{"points": flat, "stroke": "thin", "closed": True, "fill": True}])


def _tube(view: View, part: TubePart, paper: Any) -> Iterator[_Painted]:
    around = rings(part)
    flat, depth = view.flat(around), around @ view.near
    axis = view.flat(part.axes.x)
    if np.linalg.norm(axis) < _END_ON:
        outline = paper(_hull(flat.reshape(-1, 2)))
        yield _Painted(
            float(depth.mean()), [{"points": outline, "stroke": "thick", "closed": True, "fill": True}]
        )
        return
    across = flat @ np.array([-axis[1], axis[0]])
    edges = [flat[np.arange(len(flat)), pick(across, axis=1)] for pick in (np.argmax, np.argmin)]
    facing = float(part.axes.x @ view.near)
    for index in range(len(around) - 1):
        both = flat[index : index + 2].reshape(-1, 2)
        fill: dict[str, Any] = {"points": paper(_hull(both)), "stroke": "none", "closed": True, "fill": True}
        sides = [{"points": paper(edge[index : index + 2]), "stroke": "thick"} for edge in edges]
        before: list[dict[str, Any]] = []
        after: list[dict[str, Any]] = []
        for at, outward in ((0, -facing), (len(around) - 1, facing)):
            if at in (index, index + 1) and (at == 0) == (index == 0 and at == index):
                ring = {"points": paper(flat[at]), "stroke": "thin", "closed": True}
                (after if outward > 0.0 else before).append(ring)
        yield _Painted(float(depth[index : index + 2].mean()), [*before, fill, *sides, *after])


def _bent(view: View, part: BentPart, paper: Any) -> Iterator[_Painted]:
    """A bent tube in pieces from ring to ring, each with its own two edges."""
    rings = outside_rings(part, _BEND_CHORD)
    flat, depth = view.flat(rings), rings @ view.near
    for index in range(len(rings) - 1):
        both = flat[index : index + 2]
        way = both[1].mean(axis=0) - both[0].mean(axis=0)
        hull = _hull(both.reshape(-1, 2))
        fill: dict[str, Any] = {"points": paper(hull), "stroke": "none", "closed": True, "fill": True}
        lines = [fill]
        if np.linalg.norm(way) > _END_ON * part.shape.outside_diameter:
            across = both @ np.array([-way[1], way[0]])
            for pick in (np.argmax, np.argmin):
                edge = both[[0, 1], pick(across, axis=1)]
                lines.append({"points": paper(edge), "stroke": "thick"})
        else:
            lines[0] = {**fill, "stroke": "thick"}
        if index == 0:
            lines.append({"points": paper(flat[0]), "stroke": "thin", "closed": True})
        if index == len(rings) - 2:
            lines.append({"points": paper(flat[-1]), "stroke": "thin", "closed": True})
        yield _Painted(float(depth[index : index + 2].mean()), lines)


def rings(part: TubePart) -> Array:
    """Rings of points round the outside, from end A to end B, (n, m, 3) m."""
    a, b = part.end_a.outline, part.end_b.outline
    rows = np.unique(np.linspace(0, len(a.abscissa) - 2, _AROUND).astype(int))
    lines = part.shape.outline.generators(a.abscissa[rows], 0.0)
    count = max(1, math.ceil(part.saw_length / _PIECE))
    along = np.linspace(0.0, 1.0, count + 1)[:, None]
    stations = a.outer[rows] + along * (b.outer[rows] - a.outer[rows])
    local = np.dstack([stations, np.broadcast_to(lines, (count + 1, *lines.shape))])
    return part.axes.to_world(local)
