"""In which order things come apart, one at a time and straight; and the knots where none does.

For every body and each of six directions it is asked which others are struck on the way out. A body comes
out when in one direction nothing is struck any more. Taking out all that can come out, again and again,
finds an order if there is one, since what can come out early can come out late as well: taking things away
strikes nothing.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.nearby import UPRIGHT, Nearby, Piece
from soapstone.fit.pieces import FRAME, Bodies
from soapstone.parts.layout import Layout

Array = NDArray[np.float64]

_WAYS = {
    "down": np.array([0.0, 0.0, -1.0]),
    "up": np.array([0.0, 0.0, 1.0]),
    "aft": np.array([-1.0, 0.0, 0.0]),
    "forward": np.array([1.0, 0.0, 0.0]),
    "left": np.array([0.0, 1.0, 0.0]),
    "right": np.array([0.0, -1.0, 0.0]),
}
_CLEAR = 1e-5
"""m; pieces that come nearer than this count as struck."""


@dataclass(frozen=True)
class Step:
    """One step of taking apart: the body, the way it goes, and the bolts that are drawn first."""

    name: str
    way: str
    bolts: tuple[str, ...]


@dataclass(frozen=True)
class Knot:
    """Bodies of which none can be first out, and what holds each in the direction held by the least."""

    names: tuple[str, ...]
    held_by: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Order:
    """How all of it comes apart.

    Attributes
    ----------
    apart : steps, first out first; going together is the same backwards
    to_reach : by body, what has to come out before it, first out first
    knots : what does not come apart
    """

    apart: tuple[Step, ...]
    to_reach: Mapping[str, tuple[str, ...]]
    knots: tuple[Knot, ...]


Struck = Mapping[str, Mapping[str, frozenset[str]]]
"""By body and way: what is struck."""


def order_of(bodies: Bodies, layout: Layout) -> Order:
    """The order for all but the vehicle; what hangs comes out before what carries it, if it can."""
    names = sorted(bodies.moved, key=lambda name: (name in bodies.groups, name == FRAME))
    struck = {name: _struck(name, bodies) for name in names}
    return ordered(struck, {name: tuple(_bolts(name, bodies, layout)) for name in names})


def ordered(struck: Struck, bolts: Mapping[str, tuple[str, ...]]) -> Order:
    """The order that follows from what is struck in every direction.

    Parameters
    ----------
    struck : by body and way; what is no body itself never moves
    bolts : by body, those that hold it
    """
    left, apart, drawn = list(struck), [], set[str]()
    while True:
        free = next(
            (
                (name, way)
                for name in left
                for way, by in struck[name].items()
                if not by - (set(struck) - {*left})
            ),
            None,
        )
        if free is None:
            break
        left.remove(free[0])
        apart.append(Step(*free, tuple(bolt for bolt in bolts.get(free[0], ()) if bolt not in drawn)))
        drawn.update(bolts.get(free[0], ()))
    sequence = [step.name for step in apart]
    reach = {name: _before(name, struck, sequence) for name in sequence}
    return Order(tuple(apart), reach, tuple(_knots(left, struck, set(struck) - {*left})))


def _before(name: str, struck: Struck, sequence: list[str]) -> tuple[str, ...]:
    """The fewest bodies that have to come out first, by the way that needs the fewest."""
    earlier = sequence[: sequence.index(name)]
    ways = [by for by in struck[name].values() if by <= {*earlier}]
    choices = []
    for by in ways:
        needed = {*by}
        for one in by:
            needed |= {*_before(one, struck, sequence)}
        choices.append(needed)
    best = min(choices, key=len)
    return tuple(one for one in earlier if one in best)


def _knots(left: list[str], struck: Struck, gone: set[str]) -> Iterator[Knot]:
    held = {
        name: min((by - gone for by in struck[name].values()), key=lambda by: (len(by), sorted(by)))
        for name in left
    }
    waiting = list(left)
    while waiting:
        knot, more = {waiting[0]}, True
        while more:
            grown = knot | {n for n in waiting for k in knot if n in held[k] or k in held[n]}
            more, knot = grown != knot, grown
        waiting = [name for name in waiting if name not in knot]
        names = tuple(name for name in left if name in knot)
        yield Knot(names, {name: tuple(sorted(held[name])) for name in names})


def _struck(name: str, bodies: Bodies) -> dict[str, frozenset[str]]:
    others = {**bodies.vehicle, **{other: some for other, some in bodies.moved.items() if other != name}}
    far = _span([*bodies.vehicle.values(), *bodies.moved.values()])
    hit: dict[str, set[str]] = {way: set() for way in _WAYS}
    for other, pieces in others.items():
        near = Nearby(bodies.moved[name], pieces)
        for way, direction in _WAYS.items():
            if not near.clear(near.seat, (near.middle + far * direction, UPRIGHT), _CLEAR):
                hit[way].add(other)
    return {way: frozenset(by) for way, by in hit.items()}


def _span(all_pieces: list[tuple[Piece, ...]]) -> float:
    points = np.vstack([piece.points for pieces in all_pieces for piece in pieces])
    return float(np.linalg.norm(points.max(axis=0) - points.min(axis=0)))


def _bolts(name: str, bodies: Bodies, layout: Layout) -> Iterator[str]:
    """Forks and hangers whose bolts hold a body."""
    own = bodies.groups.get(name, ())
    for fork in layout.forks.values():
        held = fork.holds is not None and fork.holds[0] in own
        if fork.bolt is not None and held != (fork.on_member and fork.host.on in own):
            yield fork.name
    for hanger in layout.hangers.values():
        if hanger.bolt is not None and (hanger.body == name) != (hanger.host.on in own):
            yield hanger.name
