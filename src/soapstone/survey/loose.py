"""Loose points in words: which point can still move, and which way."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from soapstone.survey.index import Array, Index
from soapstone.survey.records import Loose, Network, Reading, ReadingKind
from soapstone.survey.spread import LoosePiece

Reached = Mapping[str, Sequence[Reading]]

_SEEN = 1e-2  # part of the largest displacement below which a point does not take part
_AXES = (
    ("fore and aft", "a tape to a known point fore or aft of it"),
    ("side to side", "an offset"),
    ("up and down", "a height"),
)


def loose_points(network: Network, pieces: Sequence[LoosePiece]) -> tuple[Loose, ...]:
    """Name each point that takes part in a loose displacement, in the order of the network.

    Parameters
    ----------
    network : Network
    pieces : sequence of LoosePiece
        Points that carry frames may be among them; they have no name.
    """
    if not pieces:
        return ()
    reached: dict[str, list[Reading]] = defaultdict(list)
    for reading in network.readings:
        for name in reading.points:
            reached[name].append(reading)
    found = {point: loose for piece in pieces for point, loose in _of_piece(network, reached, piece)}
    return tuple(found[point] for point in sorted(found))


def _of_piece(network: Network, reached: Reached, piece: LoosePiece) -> Iterator[tuple[int, Loose]]:
    share = np.linalg.norm(piece.moves, axis=(1, 2))
    named = (piece.points < len(network.names)) & (share > _SEEN * share.max())
    points, moves = piece.points[named], piece.moves[named]
    for k, point in enumerate(points):
        yield int(point), _loose(network.names, reached, points, moves, k)


def _loose(names: Sequence[str], reached: Reached, points: Index, moves: Array, which: int) -> Loose:
    left, values, right = np.linalg.svd(moves[which])
    count = int(np.count_nonzero(values > 1e-3 * values[0]))
    directions = np.array([_upright(d) for d in left[:, :count].T])
    name = names[points[which]]
    moved = np.abs(moves @ right[:count].T).max(axis=(1, 2))
    along = np.flatnonzero(moved > _SEEN * moved.max())
    others = [names[points[i]] for i in along if i != which]
    words = f"{name} can move {_way(directions)}" + _along(others) + _held_by(reached.get(name, []), name)
    return Loose(name, directions[0], words, directions, cure_words(name, directions[0]))


def _upright(direction: Array) -> Array:
    """The same line, pointing to the larger positive part."""
    clean = np.where(np.abs(direction) < 1e-9, 0.0, direction)
    turned: Array = clean * np.sign(clean[np.argmax(np.abs(clean))])
    return turned / np.linalg.norm(turned)


def _way(directions: Array) -> str:
    if len(directions) == 3:
        return "in every direction"
    if len(directions) == 1:
        return direction_words(directions[0])
    square = _upright(np.cross(directions[0], directions[1]))
    return f"anywhere square to the line running {direction_words(square)}"


def direction_words(direction: Array) -> str:
    """A direction, (3,), as a fabricator would point it out; either sense of the line will do."""
    axis = int(np.argmax(np.abs(direction)))
    if abs(direction[axis]) > np.cos(np.radians(2)):  # within 2 deg of an axis the axis is its name
        return _AXES[axis][0]
    x, y, z = direction if direction[0] >= 0 else -np.asarray(direction)
    flat = float(np.hypot(x, y))
    rise = np.degrees(np.arctan2(z, flat))
    turn = np.degrees(np.arctan2(y, x))
    tilt = f"{abs(rise):.0f} deg {'up' if rise > 0 else 'down'}"
    if abs(rise) > 88:
        return _AXES[2][0]
    if abs(turn) < 2:
        return f"along a line {tilt} from forward"
    side = "left" if turn > 0 else "right"
    plain = f"along a line {abs(turn):.0f} deg {side} of forward"
    return plain if abs(rise) < 2 else f"{plain}, {tilt}"


def _along(others: list[str]) -> str:
    if not others:
        return ""
    return (
        f", together with {', '.join(others)}"
        if len(others) <= 3
        else f", together with {len(others)} others"
    )


def _held_by(readings: Sequence[Reading], name: str) -> str:
    labels = [r.label for r in readings]
    if not labels:
        return "; no reading reaches it"
    tapes = [r for r in readings if r.kind is ReadingKind.TAPE]
    if len(labels) == len(tapes) == 2:
        ends = " and ".join(next(p for p in r.points if p != name) for r in tapes)
        return f"; it can swing about the line through {ends}"
    return f"; held only by {', '.join(labels)}" if len(labels) <= 3 else ""


def cure_words(name: str, direction: Array) -> str:
    """One reading that would hold a point along a direction, (3,)."""
    return f"{_AXES[int(np.argmax(np.abs(direction)))][1]} of {name} would hold it"
