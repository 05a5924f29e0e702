"""Readings as columns, each record looked at once: a large network is mostly waiting for its records."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, repeat
from operator import attrgetter

import numpy as np

from soapstone.survey.index import Array, Index
from soapstone.survey.records import Plane, Reading, ReadingKind, usual_plane

KINDS = tuple(ReadingKind)
_NUMBER = {kind: k for k, kind in enumerate(KINDS)}
_PLAIN = frozenset({ReadingKind.TAPE, ReadingKind.PLAN, ReadingKind.LEVEL})
_NOWHERE = (0.0, 0.0, 0.0, 0.0)
_FIELDS = attrgetter("kind", "points", "value", "sigma", "plane")


@dataclass(frozen=True)
class Columns:
    """One entry for each of m readings.

    Attributes
    ----------
    kind : (m,)
        Place in `KINDS`.
    counts : (m,)
        How many points it names.
    ends : (m, w)
        Place of its points among the names, w = 2 or 4; a row of fewer repeats its last one, and -1 is no
        point of the list.
    value, sigma : (m,) SI
    plane : (m, 4)
        Normal and offset; nothing for a kind without one.
    """

    kind: Index
    counts: Index
    ends: Index
    value: Array
    sigma: Array
    plane: Array


def read_columns(names: Iterable[str], readings: Sequence[Reading]) -> Columns:
    """Readings as arrays."""
    index = {name: i for i, name in enumerate(names)}
    if not readings:
        empty, none = np.zeros(0), np.zeros(0, dtype=np.intp)
        return Columns(none, none, none.reshape(0, 2), empty, empty, np.zeros((0, 4)))
    kinds, points, values, sigmas, planes = zip(*map(_FIELDS, readings), strict=True)
    counts = np.fromiter(map(len, points), np.intp, len(points))
    return Columns(
        kind=np.fromiter(map(_NUMBER.__getitem__, kinds), np.intp, len(kinds)),
        counts=counts,
        ends=_ends(index, points, counts, 4 if counts.max() > 2 else 2),
        value=np.array(values, dtype=float),
        sigma=np.array(sigmas, dtype=float),
        plane=_planes(kinds, planes),
    )


def _ends(index: dict[str, int], points: Sequence[tuple[str, ...]], counts: Index, wide: int) -> Index:
    flat = np.fromiter(map(index.get, chain.from_iterable(points), repeat(-1)), np.intp, int(counts.sum()))
    starts = np.cumsum(counts) - counts
    along = np.minimum(np.arange(wide), np.maximum(counts[:, None] - 1, 0))
    ends: Index = np.append(flat, -1)[np.minimum(starts[:, None] + along, len(flat))]
    ends[counts == 0] = -1
    return ends


def _planes(kinds: Sequence[ReadingKind], planes: Sequence[Plane | None]) -> Array:
    rows = [row for row, kind in enumerate(kinds) if kind not in _PLAIN]
    found = np.zeros((len(kinds), 4))
    if rows:
        found[rows] = [_row(kinds[row], planes[row]) for row in rows]
    return found


def _row(kind: ReadingKind, plane: Plane | None) -> tuple[float, ...]:
    surface = plane or usual_plane(kind)
    return (*surface.normal, surface.offset) if surface else _NOWHERE
