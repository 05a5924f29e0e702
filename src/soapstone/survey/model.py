"""The readings of a network as arrays."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from soapstone.survey.columns import KINDS, Columns, read_columns
from soapstone.survey.index import Array, Index, Mask
from soapstone.survey.records import Datum, Frame, Network, Plane, Reading, ReadingKind

_NAMES = ("tape", "plan", "plane", "level", "straight", "flush", "framed")
_OF_KIND = np.array([_NAMES.index(kind.value) if kind.value in _NAMES else 2 for kind in KINDS])


@dataclass(frozen=True)
class Model:
    """The readings as arrays; m rows, of which the first are the network's readings in their order.

    Attributes
    ----------
    ends : (m, w)
        Point indices, w = 2 or 4; a row of fewer points repeats its last one.
    used : (m, w)
        Which ends are points of their own.
    value, sigma : (m,) SI
    normal : (m, 3)
        Of the kinds that have a plane.
    offset : (m,) m
    scaled : (m,) m
        For a framed row whose scale is solved along, the length of its frame; else 0.
    rows_of : mapping of str to (k,)
        The rows of each kind: tape, plan, plane, level, straight, flush, framed.
    """

    ends: Index
    used: Mask
    value: Array
    sigma: Array
    normal: Array
    offset: Array
    scaled: Array
    rows_of: Mapping[str, Index]

    @property
    def rows(self) -> int:
        """Number of rows."""
        return len(self.value)

    def touching(self, inside: Mask) -> Mask:
        """Rows with a point among those marked, (n,) to (m,)."""
        touched: Mask = np.any(inside[self.ends], axis=1)
        return touched

    def within(self, inside: Mask) -> Mask:
        """Rows with no point but those marked, (n,) to (m,)."""
        contained: Mask = np.all(inside[self.ends], axis=1)
        return contained

    def neighbours(self, point: int) -> Index:
        """Points that share a row with a point."""
        around = np.unique(self.ends[(self.ends == point).any(axis=1)])
        others: Index = around[around != point]
        return others

    def narrowed(self, rows: Index) -> tuple["Model", Index]:
        """Some of the rows and the points they touch, (k,): the ends count within these."""
        model = self.subset(rows)
        points, ends = np.unique(model.ends, return_inverse=True)
        return replace(model, ends=ends.reshape(model.ends.shape)), points

    def subset(self, rows: Index) -> "Model":
        """The same for some of the rows."""
        place = np.full(self.rows, -1)
        place[rows] = np.arange(len(rows))
        kept = {name: moved[moved >= 0] for name, own in self.rows_of.items() for moved in [place[own]]}
        return Model(
            self.ends[rows],
            self.used[rows],
            self.value[rows],
            self.sigma[rows],
            self.normal[rows],
            self.offset[rows],
            self.scaled[rows],
            kept,
        )


def compile_model(network: Network, columns: Columns | None = None) -> Model:
    """Turn the readings, known points that are not exact, and what carries the frames into arrays.

    Parameters
    ----------
    network : Network
    columns : Columns, optional
        Of the network's readings, when they have been read already.
    """
    readings: Sequence[Reading] = network.readings
    more = _frame_rows(network)
    if network.datum is Datum.FIXED and network.known_covariance:
        more += _known_as_readings(network)
    if more or columns is None:
        readings = [*readings, *more]
        columns = read_columns(network.names, readings)
    lengths = {node: frame_length(network, f) for f in network.frames if f.scaled for node in f.nodes[:1]}
    used = np.arange(columns.ends.shape[1]) < columns.counts[:, None]
    scaled = np.zeros(len(readings))
    if lengths:
        scaled[:] = [lengths.get(r.points[1], 0.0) if len(r.points) == 4 else 0.0 for r in readings]
    return Model(
        ends=columns.ends,
        used=used,
        value=columns.value,
        sigma=columns.sigma,
        normal=columns.plane[:, :3],
        offset=columns.plane[:, 3] * ~used[:, 1],
        scaled=scaled,
        rows_of={name: np.flatnonzero(_OF_KIND[columns.kind] == k) for k, name in enumerate(_NAMES)},
    )


def frame_length(network: Network, frame: Frame) -> float:
    """How far the nodes of a frame stand apart (m): as far as the coordinates in it reach."""
    return max((abs(r.value) for r in network.readings if r.points[1:] == frame.nodes), default=0.0) or 1.0


def with_nodes(network: Network) -> Network:
    """The same with the points that carry the frames among its names, after all others."""
    if not network.frames:
        return network
    nodes = tuple(node for frame in network.frames for node in frame.nodes)
    return Network(
        network.names + nodes,
        network.known,
        network.readings,
        network.sides,
        network.known_covariance,
        network.datum,
        network.frames,
    )


def _frame_rows(network: Network) -> list[Reading]:
    """What fixes the lengths between a frame's nodes; it meets no other reading, so any accuracy will do."""
    rows = []
    for frame in network.frames:
        origin, ahead, aside = frame.nodes
        length = frame_length(network, frame)
        pairs = [(origin, aside, 1.0), (ahead, aside, 2**0.5)] + [(origin, ahead, 1.0)] * (not frame.scaled)
        for first, second, times in pairs:
            rows.append(Reading(ReadingKind.TAPE, (first, second), times * length, 1e-3 * length, frame.name))
    return rows


def _known_as_readings(network: Network) -> list[Reading]:
    """Three independent plane readings that together carry the covariance of a known point."""
    return [
        row
        for name, covariance in network.known_covariance.items()
        for row in _whitened(name, network.known[name], np.asarray(covariance, dtype=float))
    ]


def _whitened(name: str, at: Array, covariance: Array) -> Sequence[Reading]:
    whitener = np.linalg.inv(np.linalg.cholesky(covariance))
    sizes = np.linalg.norm(whitener, axis=1)
    normals = whitener / sizes[:, None]
    return [
        Reading(
            ReadingKind.COORDINATE,
            (name,),
            float(normal @ at),
            float(1 / size),
            f"known {name}",
            plane=Plane((float(normal[0]), float(normal[1]), float(normal[2]))),
        )
        for normal, size in zip(normals, sizes, strict=True)
    ]


def held_points(network: Network) -> Mask:
    """Which points do not move: known, exact, and the datum fixed; (n,)."""
    if network.datum is Datum.FREE:
        return np.zeros(len(network.names), dtype=bool)
    return np.array([n in network.known and n not in network.known_covariance for n in network.names])


def positions(network: Network, known: Mapping[str, Array] | None = None) -> Array:
    """The known coordinates, (n, 3) m, with NaN for points not known."""
    given = network.known if known is None else known
    xyz = np.full((len(network.names), 3), np.nan)
    for i, name in enumerate(network.names):
        if name in given:
            xyz[i] = given[name]
    return xyz


def size_of(model: Model, xyz: Array) -> float:
    """A length that measures the whole job (m): the longest distance read or spanned by points."""
    rows = model.rows_of
    lengths = np.concatenate([model.value[rows["tape"]], model.value[rows["plan"]], [0.0]])
    there = xyz[np.isfinite(xyz).all(axis=1)]
    spans = np.ptp(there, axis=0) if len(there) else np.zeros(1)
    heights = np.abs(model.value[rows["plane"]] + model.offset[rows["plane"]])
    size = max(float(lengths.max()), float(np.linalg.norm(spans)))
    return size or float(heights.max(initial=1.0)) or 1.0
