"""What is forced on a frame besides loads: warmth, movements of the vehicle, holes that do not meet."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.frame.model import Frame, Loads
from soapstone.place.loads import LoadCase

Array = NDArray[np.float64]
End = tuple[int, int]


def warmed(
    loads: Loads, cases: Sequence[LoadCase], parts: Sequence[str], expansion: ArrayLike, count: int
) -> Loads:
    """With the warmth of each case.

    Parameters
    ----------
    parts : (m,) the tube or hanger that each member is a piece of
    expansion : (m,) 1/K
    count : m
    """
    if not any(case.warmer for case in cases):
        return loads
    warmer = np.zeros((len(cases), count))
    for row, case in zip(warmer, cases, strict=True):
        row[:] = [case.warmer.get(part, case.warmer.get("all", 0.0)) for part in parts]
    known = np.where(warmer.any(axis=0), np.asarray(expansion, dtype=float), 0.0)
    return loads.with_temperature(known, warmer)


def moved(frame: Frame, loads: Loads, cases: Sequence[LoadCase]) -> Loads:
    """With what the vehicle does to its forks in each case.

    A rigid support carries its fork along; a soft one pushes it through its stiffness.
    """
    node_of = {name: node for node, name in enumerate(frame.node_names)}
    springs = {spring.node: spring.stiffness for spring in frame.springs if spring.other is None}
    for index, case in enumerate(cases):
        for fork, way in case.moves.items():
            node = node_of[fork]
            if frame.held[node, :3].all():
                movement = np.zeros((len(cases), 6))
                movement[index, :3] = way
                loads = loads.with_settlement(node, movement)
            else:
                loads.nodal[index, node, :3] += springs[node][:3, :3] @ np.array(way)
    return loads


def forced(loads: Loads, misfit: Mapping[str, tuple[float, float, float]], ends: Mapping[str, End]) -> Loads:
    """With the holes that were pulled into line, which strains every case alike."""
    for name, gap in misfit.items():
        if name in ends:
            loads = loads.with_misfit(*ends[name], np.array([*gap, 0.0, 0.0, 0.0]))
    return loads
