"""The report's table of how far things move under load."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from soapstone.place.loads import LoadCase

Array = NDArray[np.float64]

_TUBE_ENDS = 8
"""How many tube ends and points are listed beside those of what is hung."""


def movement_rows(
    moved: Mapping[str, Array], cases: Sequence[LoadCase], bodies: Iterable[str]
) -> list[dict[str, str]]:
    """Each point of the bodies, then the other places that move most: the case in which it moves farthest.

    Parameters
    ----------
    moved : name to (c, 3) m
    cases : the c load cases
    bodies : names of what is hung

    Returns
    -------
    list of dict
        name, case, and x, y, z and size in mm.
    """
    hung = [name for name in moved if name.split(".")[0].split(" ")[0] in set(bodies)]
    others = [name for name in moved if name not in set(hung)]
    others.sort(key=lambda name: -_sizes(moved[name]).max())
    return [_row(name, moved[name], cases) for name in (*hung, *others[:_TUBE_ENDS])]


def _sizes(moves: Array) -> Array:
    sizes: Array = np.linalg.norm(moves, axis=1)
    return sizes


def _row(name: str, moves: Array, cases: Sequence[LoadCase]) -> dict[str, str]:
    worst = int(_sizes(moves).argmax())
    x, y, z = (f"{1000.0 * value:+.2f}".replace("-", "\u2212") for value in moves[worst])
    size = f"{1000.0 * float(_sizes(moves)[worst]):.2f}"
    return {"name": name, "case": cases[worst].name, "x": x, "y": y, "z": z, "size": size}
