"""Statements without a number that tell one side from the other: "P is below A"."""

from collections.abc import Sequence

import numpy as np

from soapstone.survey.index import Array
from soapstone.survey.records import Network

# relation: axis of ISO 8855, and the sign of (first - second) along it
RELATIONS: dict[str, tuple[int, float]] = {
    "above": (2, 1.0),
    "below": (2, -1.0),
    "left of": (1, 1.0),
    "right of": (1, -1.0),
    "forward of": (0, 1.0),
    "ahead of": (0, 1.0),
    "aft of": (0, -1.0),
    "behind": (0, -1.0),
}
_WORDS = (("forward of", "aft of"), ("left of", "right of"), ("above", "below"))
_CURES = ("a tape to a point fore or aft of it", "an offset", "a height")


def kept(network: Network, xyz: Array) -> bool:
    """Whether the coordinates satisfy every statement; one about a point without position counts as kept."""
    index = {name: i for i, name in enumerate(network.names)}
    for first, relation, second in network.sides:
        axis, sign = RELATIONS[relation]
        apart = sign * (xyz[index[first], axis] - xyz[index[second], axis])
        if apart < 0:  # NaN compares false
            return False
    return True


def question(names: Sequence[str], point: int, here: Array, there: Array) -> str:
    """Ask for the one statement that tells two positions of a point apart.

    Parameters
    ----------
    names : sequence of str
    point : int
        The point asked about.
    here, there : (n, 3) m
        The two answers for all points.
    """
    gap = np.abs(here[point] - there[point])
    for axis in np.argsort(-gap):
        reference = _between(point, int(axis), here, there)
        if reference is not None:
            ahead = here[point, axis] > here[reference, axis]
            one, other = _WORDS[axis] if ahead else _WORDS[axis][::-1]
            first, second = names[point], names[reference]
            return f'say which is so: "{first} is {one} {second}" or "{first} is {other} {second}"'
    return f"{_CURES[int(np.argmax(gap))]} of {names[point]} would settle it"


def _between(point: int, axis: int, here: Array, there: Array) -> int | None:
    """A point that stays put and lies well between the two positions along an axis."""
    ahead = here[point, axis] - here[:, axis]
    behind = there[point, axis] - there[:, axis]
    still = np.abs(here - there).max(axis=1) <= 1e-3 * np.abs(here[point] - there[point]).max()
    margin = np.where(still & (ahead * behind < 0), np.minimum(np.abs(ahead), np.abs(behind)), 0.0)
    best = int(np.argmax(margin))
    return best if margin[best] > 0.05 * abs(here[point, axis] - there[point, axis]) else None
