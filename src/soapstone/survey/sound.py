"""Readings that cannot be one, told before anything is computed."""

from collections import Counter
from collections.abc import Iterator

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from soapstone.errors import JobError
from soapstone.survey.columns import KINDS, Columns, read_columns
from soapstone.survey.index import Mask
from soapstone.survey.records import Network, Reading, ReadingKind
from soapstone.survey.sides import RELATIONS

_COUNTED = {(1, 2): "one point, or two", (2,): "two points", (3,): "three points", (4,): "four points"}
_HEIGHT = KINDS.index(ReadingKind.HEIGHT)
_LENGTHS = [KINDS.index(kind) for kind in KINDS if kind.is_length]
_GROSS = 1.5  # a distance this many times the way round is no matter of an inch: it is refused


def demand_sound(network: Network, *, far: bool = True) -> Columns:
    """Raise a JobError with one line for each fault; `far` looks for distances beyond the way round too.

    Returns
    -------
    Columns
        The readings as arrays.
    """
    columns = read_columns(network.names, network.readings)
    faults = [*_network_faults(network)]
    names = {*network.names, *(node for frame in network.frames for node in frame.nodes)}
    for row in np.flatnonzero(~_plainly_sound(columns)):
        reading = network.readings[row]
        faults += [f"{_where(reading)}{fault}" for fault in _faults(reading, names)]
    if far and not faults:
        faults = [*_too_long(network)]
    if faults:
        raise JobError(faults)
    return columns


def _where(reading: Reading) -> str:
    return f"{reading.place}: {reading.label}: " if reading.place else f"{reading.label}: "


def _network_faults(network: Network) -> Iterator[str]:
    names = set(network.names)
    for name, count in Counter(network.names).items():
        if count > 1:
            yield f"points: {name} stands {count} times in the list"
    for name in {*network.known, *network.known_covariance} - names:
        yield f"points: {name} has a position but is not in the list of points"
    for name in network.known_covariance.keys() - network.known.keys():
        yield f"points: {name} has an accuracy but no position"
    for name, at in network.known.items():
        if not np.isfinite(at).all():
            yield f"points: the position of {name} is not a number"
    for first, relation, second in network.sides:
        if relation not in RELATIONS:
            yield f'"{first} is {relation} {second}": the side can be {", ".join(RELATIONS)}'
        elif not {first, second} <= names or first == second:
            yield f'"{first} is {relation} {second}": two different points of the list are needed'


def _plainly_sound(columns: Columns) -> Mask:
    """A quick look at the commonest kinds: a height, or a distance between two different points."""
    first, last = columns.ends[:, 0], columns.ends[:, 1]
    height = (columns.kind == _HEIGHT) & (columns.counts == 1)
    length = np.isin(columns.kind, _LENGTHS) & (columns.counts == 2) & (first != last) & (columns.value > 0)
    finite = np.isfinite(columns.value) & (columns.sigma > 0) & (columns.sigma < np.inf)
    plain: Mask = (height | length) & (first >= 0) & (last >= 0) & finite
    return plain


def _faults(reading: Reading, names: set[str]) -> Iterator[str]:
    unknown = [p for p in reading.points if p not in names]
    counts = reading.kind.counts
    if unknown:
        yield f"no point is called {', '.join(unknown)}"
    elif len(reading.points) not in counts:
        yield f"a {reading.kind} reading needs {_COUNTED[counts]}"
    elif len(set(reading.points)) != len(reading.points):
        again = next(p for p in reading.points if reading.points.count(p) > 1)
        yield f"both ends are {again}" if len(reading.points) == 2 else f"{again} stands in it twice"
    if not np.isfinite(reading.value):
        yield "the reading is not a number"
    elif reading.kind.is_length and reading.value <= 0:
        yield f"the reading is {reading.value * 1000:g} mm, a distance is more than zero"
    elif reading.kind is ReadingKind.LEVEL and abs(reading.value) >= np.pi / 2:
        yield f"the reading is {np.degrees(reading.value):g} deg, a slope lies between -90 and 90 deg"
    if not (np.isfinite(reading.sigma) and reading.sigma > 0):
        yield "the accuracy has to be more than zero"
    if 1 in counts and reading.surface is None:
        yield f"a {reading.kind} reading needs a plane"


def _too_long(network: Network) -> Iterator[str]:
    """Distances far longer than the way round by other readings and known points.

    A tape bounds both the straight and the plan distance; a plan distance bounds only plan distances.
    """
    tapes = [r for r in network.readings if r.kind is ReadingKind.TAPE]
    lengths = [r for r in network.readings if r.kind.is_length]
    yield from _beyond(network, tapes, tapes)
    yield from _beyond(network, lengths, [r for r in lengths if r.kind is ReadingKind.PLAN])


def _beyond(network: Network, edges: list[Reading], judged: list[Reading]) -> Iterator[str]:
    if not judged:
        return
    index = {name: i for i, name in enumerate(network.names)}
    ends = [(index[r.points[0]], index[r.points[1]], r.value) for r in edges]
    known = [(index[a], network.known[a]) for a in network.known]
    ends += [(i, j, float(np.linalg.norm(a - b))) for k, (i, a) in enumerate(known) for j, b in known[:k]]
    shortest: dict[tuple[int, int], float] = {}
    for i, j, length in ends:
        pair = (min(i, j), max(i, j))
        shortest[pair] = min(length, shortest.get(pair, np.inf))
    count = len(network.names)
    rows, columns = np.array(list(shortest)).T
    weights = np.maximum(list(shortest.values()), 1e-12)  # a stored zero would mean no way at all
    sources = np.unique([index[r.points[0]] for r in judged])
    ways = dijkstra(
        coo_array((weights, (rows, columns)), shape=(count, count)).tocsr(), directed=False, indices=sources
    )
    at = {int(s): i for i, s in enumerate(sources)}
    for reading in judged:
        way = float(ways[at[index[reading.points[0]]], index[reading.points[1]]])
        if reading.value > _GROSS * way + 10 * reading.sigma:
            yield (
                f"{_where(reading)}{reading.value * 1000:.0f} mm is longer than the way round "
                f"by other readings, {way * 1000:.0f} mm"
            )
