"""Loose points in words: which point can still move, and which way."""

import numpy as np

from soapstone.survey.index import Array
from soapstone.survey.records import Loose, Network, ReadingKind

_SEEN = 1e-2  # share of a unit displacement below which a point does not take part
_AXES = (
    ("fore and aft", "a tape to a known point fore or aft of it"),
    ("side to side", "an offset"),
    ("up and down", "a height"),
)


def loose_points(network: Network, basis: Array) -> tuple[Loose, ...]:
    """Name each point that takes part in a loose displacement.

    Parameters
    ----------
    network : Network
    basis : (3n, k)
        Orthonormal loose displacements, from `soapstone.survey.spread`.
    """
    if basis.shape[1] == 0:
        return ()
    blocks = basis.reshape(len(network.names), 3, -1)
    taking_part = [i for i in range(len(blocks)) if np.linalg.norm(blocks[i], 2) > _SEEN]
    return tuple(_loose(network, blocks, i, taking_part) for i in taking_part)


def _loose(network: Network, blocks: Array, point: int, taking_part: list[int]) -> Loose:
    left, values, right = np.linalg.svd(blocks[point])
    count = int(np.count_nonzero(values > max(_SEEN, 1e-3 * values[0])))
    directions = np.array([_upright(d) for d in left[:, :count].T])
    name = network.names[point]
    moved = np.abs(blocks @ right[:count].T).max(axis=(1, 2))
    others = [network.names[i] for i in taking_part if i != point and moved[i] > _SEEN]
    words = f"{name} can move {_way(directions)}" + _along(others) + _held_by(network, name)
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


def _held_by(network: Network, name: str) -> str:
    labels = [r.label for r in network.readings if name in r.points]
    if not labels:
        return "; no reading reaches it"
    tapes = [r for r in network.readings if name in r.points and r.kind is ReadingKind.TAPE]
    if len(labels) == len(tapes) == 2:
        ends = " and ".join(next(p for p in r.points if p != name) for r in tapes)
        return f"; it can swing about the line through {ends}"
    return f"; held only by {', '.join(labels)}" if len(labels) <= 3 else ""


def cure_words(name: str, direction: Array) -> str:
    """One reading that would hold a point along a direction, (3,)."""
    return f"{_AXES[int(np.argmax(np.abs(direction)))][1]} of {name} would hold it"
