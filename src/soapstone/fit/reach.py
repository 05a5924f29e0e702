"""Can a tool be put on a bolt and swung, and can the bolt be drawn out along its axis?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.fasteners import Fastener, Side
from soapstone.fit.groups import Piece
from soapstone.fit.near import Near, at_least, rod, slab, touch
from soapstone.tables.tools import Tool, tools_for

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

_ANGLES = 144
"""Places of a handle that are tried all round: every 2.5 degrees, so that two next to each other overlap to
the end of the longest handle (450 mm by 30 mm: 20 mm apart) and nothing thin stands unseen between them."""
_STEP = 2.0 * np.pi / _ANGLES
_OFF = 5e-4
"""m; a tool lies half a millimetre off the face, and what is drawn out rubs by as much without harm."""
_ENOUGH = 0.5
"""m; how far is looked where the length of a bolt is not known."""
_HALVINGS = 12


@dataclass(frozen=True, eq=False)
class Turned:
    """A tool on one end of a bolt.

    Attributes
    ----------
    tool : Tool
    put_on : whether it goes on at all
    swing : rad, the widest angle that its handle has
    way : unit vector of the handle in the middle of that; None where it has none
    stopped_by : what is in the way, nearest to it first
    """

    tool: Tool
    put_on: bool
    swing: float
    way: Array | None
    stopped_by: tuple[str, ...]

    @property
    def turns(self) -> bool:
        """Whether it swings as far as it must."""
        return self.put_on and self.swing >= self.tool.swing - 1e-9


@dataclass(frozen=True, eq=False)
class From:
    """A bolt with its head on one side.

    Attributes
    ----------
    side : Side
    needed, free : m, how far it has to be drawn, and can be; needed is None where its length is not known
    stopped_by : what it strikes
    head, nut : the tools on both ends, the best first; nut is empty for one screwed into a boss
    torque : the torque wrench on the head; None where no torque is asked for
    """

    side: Side
    needed: float | None
    free: float
    stopped_by: str
    head: tuple[Turned, ...]
    nut: tuple[Turned, ...]
    torque: Turned | None

    @property
    def drawn(self) -> bool:
        """Whether it can be drawn out."""
        return self.needed is None or self.free >= self.needed

    @property
    def turned(self) -> Turned | None:
        """The tool that turns it: on the head while something holds the nut, or the other way round."""
        for ours, theirs in ((self.head, self.nut), (self.nut, self.head)):
            turning = next((one for one in ours if one.turns), None)
            holds = not self.nut or any(one.put_on and one.way is not None for one in theirs)
            if turning is not None and holds:
                return turning
        return None


@dataclass(frozen=True, eq=False)
class Reached:
    """A bolt from each side that its head can lie on, the best first."""

    bolt: Fastener
    ways: tuple[From, ...]

    @property
    def best(self) -> From:
        """The side from which most goes."""
        return self.ways[0]


def reached(bolt: Fastener, pieces: Sequence[Piece]) -> Reached:
    """Try tools and sides until all goes.

    Parameters
    ----------
    bolt : Fastener
    pieces : everything that stands; what the bolt itself holds together is passed over
    """
    others = [piece for piece in pieces if piece.owner not in bolt.own]
    ways: list[From] = []
    for side in bolt.sides:
        ways.append(_from(bolt, side, others))
        if ways[-1].drawn and ways[-1].turned:
            break
    ways.sort(key=lambda way: (not (way.drawn and way.turned), not way.drawn, not way.turned, -way.free))
    return Reached(bolt, tuple(ways))


def _from(bolt: Fastener, side: Side, pieces: Sequence[Piece]) -> From:
    head = bolt.head
    needed = None if bolt.length is None else bolt.length + head.height
    free, stopped = _drawn(side, head.across, _ENOUGH if needed is None else needed, pieces)
    torque = None
    if bolt.torqued:
        torque = _turned(head.torque_wrench, side.seat, side.out, head.height, pieces)
    near = _until_turned(head.tools, side.seat, side.out, head.height, pieces)
    far: tuple[Turned, ...] = ()
    if side.far is not None:
        far = _until_turned(tools_for(bolt.size), side.far, -side.out, bolt.size.nut_height, pieces)
    return From(side, needed, free, stopped, near, far, torque)


def _until_turned(
    tools: Sequence[Tool], seat: Array, out: Array, height: float, pieces: Sequence[Piece]
) -> tuple[Turned, ...]:
    """Tools in the order they are taken up, to the first that turns."""
    tried: list[Turned] = []
    for tool in tools:
        tried.append(_turned(tool, seat, out, height, pieces))
        if tried[-1].turns:
            break
    return tuple(tried)


def _drawn(side: Side, across: float, far: float, pieces: Sequence[Piece]) -> tuple[float, str]:
    """How far the head can go from its seat, m, up to `far` and what stops it."""
    start = side.seat + _OFF * side.out

    def bar(length: float) -> Near:
        return rod(start, start + max(length, 2.0 * _OFF) * side.out, across - 2.0 * _OFF)

    free, stopped = far, ""
    for piece in pieces:
        if not touch(bar(free), piece.near):
            continue
        low, high, stopped = 0.0, free, piece.name
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            low, high = (low, middle) if touch(bar(middle), piece.near) else (middle, high)
        free = low
    return free, stopped


def _turned(tool: Tool, seat: Array, out: Array, height: float, pieces: Sequence[Piece]) -> Turned:
    """A tool on a head or nut of some height, m."""
    base = seat + _OFF * out
    first = np.cross(out, np.eye(3)[int(np.abs(out).argmin())])
    first /= np.linalg.norm(first)
    second = np.cross(out, first)
    below = base + tool.stem[1] * out
    level = below + tool.head[1] / 2.0 * out
    disc = rod(
        level - tool.handle_thick / 2.0 * out, level + tool.handle_thick / 2.0 * out, 2.0 * tool.handle
    )
    close = [piece for piece in pieces if at_least(disc, piece.near) <= height + tool.stem[1] + tool.head[1]]
    stops = _put_on(tool, base, out, height, close)
    if stops:
        return Turned(tool, False, 0.0, None, stops)
    swept = [piece for piece in close if touch(disc, piece.near)]
    free = np.ones(_ANGLES, dtype=bool)
    hit: dict[str, int] = {}
    for place in range(_ANGLES if swept else 0):
        way = np.cos(place * _STEP) * first + np.sin(place * _STEP) * second
        handle = _handle(tool, level, way, out)
        for piece in swept:
            if touch(handle, piece.near):
                free[place] = False
                hit[piece.name] = hit.get(piece.name, 0) + 1
                break
    start, count = _longest(free)
    middle = (start + (count - 1) / 2.0) * _STEP
    swing = 2.0 * np.pi if count == _ANGLES else max(count - 1, 0) * _STEP
    way = np.cos(middle) * first + np.sin(middle) * second if count else None
    return Turned(tool, True, swing, way, tuple(sorted(hit, key=lambda name: -hit[name])))


def _put_on(tool: Tool, base: Array, out: Array, height: float, pieces: Sequence[Piece]) -> tuple[str, ...]:
    """What is in the way of putting it on: along the bolt, or where it then sits."""
    lift = (tool.goes_in or height) if tool.axial else 0.0
    top = tool.stem[1] + tool.head[1] + lift
    rods = [rod(base + tool.stem[1] * out, base + top * out, tool.head[0])]
    if tool.stem[1] > 0.0:
        foot = base + height * out if tool.goes_in else base
        rods.append(rod(foot, base + (tool.stem[1] + lift) * out, tool.stem[0]))
    return tuple(piece.name for piece in pieces if any(touch(one, piece.near) for one in rods))


def _handle(tool: Tool, level: Array, way: Array, out: Array) -> Near:
    size = np.array([tool.handle, tool.handle_wide, tool.handle_thick])
    return slab(level + tool.handle / 2.0 * way, size, np.column_stack([way, np.cross(out, way), out]))


def _longest(free: Bools) -> tuple[int, int]:
    """Start and length of the longest run of places that are free, round the circle."""
    if free.all():
        return 0, len(free)
    first = int((~free).argmax())
    best, start, count = (0, 0), 0, 0
    for place in range(first, first + len(free)):
        if free[place % len(free)]:
            start, count = (place, 1) if count == 0 else (start, count + 1)
            best = max(best, (start, count), key=lambda run: run[1])
        else:
            count = 0
    return best[0] % len(free), best[1]
