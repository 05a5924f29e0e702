"""What each reading should show for given coordinates, with its derivatives, for all readings at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.survey.records import Array, Datum, Network, Plane, Reading, ReadingKind

Index = NDArray[np.intp]
_NEAR_ZERO = 1e-12  # m; keeps the derivative of a distance finite where both ends meet


@dataclass(frozen=True)
class Model:
    """The readings as arrays; m rows, of which the first are the network's readings in their order.

    Attributes
    ----------
    first, second : (m,)
        Point indices; a reading of one point has both alike.
    value, sigma : (m,) SI
    normal : (m, 3)
        Of the plane kinds.
    offset : (m,) m
    double : (m,)
        1 for a difference between two points along the normal, else 0.
    tape, plan, plane, level : (k,)
        The rows of each kind.
    """

    first: Index
    second: Index
    value: Array
    sigma: Array
    normal: Array
    offset: Array
    double: Array
    tape: Index
    plan: Index
    plane: Index
    level: Index

    @property
    def rows(self) -> int:
        """Number of rows."""
        return len(self.value)

    def subset(self, rows: Index) -> "Model":
        """The same for some of the rows."""
        place = np.full(self.rows, -1)
        place[rows] = np.arange(len(rows))

        def moved(kind: Index) -> Index:
            renumbered: Index = place[kind]
            return renumbered[renumbered >= 0]

        return Model(
            self.first[rows],
            self.second[rows],
            self.value[rows],
            self.sigma[rows],
            self.normal[rows],
            self.offset[rows],
            self.double[rows],
            moved(self.tape),
            moved(self.plan),
            moved(self.plane),
            moved(self.level),
        )


def compile_model(network: Network) -> Model:
    """Turn the readings, and the known points that are not exact, into arrays."""
    index = {name: i for i, name in enumerate(network.names)}
    readings = [*network.readings]
    if network.datum is Datum.FIXED:
        readings += _known_as_readings(network)
    kinds = np.array([_group(r.kind) for r in readings], dtype=object)
    surfaces = [r.surface or Plane((0.0, 0.0, 0.0)) for r in readings]
    return Model(
        first=np.array([index[r.points[0]] for r in readings], dtype=np.intp),
        second=np.array([index[r.points[-1]] for r in readings], dtype=np.intp),
        value=np.array([r.value for r in readings], dtype=float),
        sigma=np.array([r.sigma for r in readings], dtype=float),
        normal=np.array([s.normal for s in surfaces], dtype=float).reshape(-1, 3),
        offset=np.array([s.offset * (len(r.points) == 1) for r, s in zip(readings, surfaces, strict=True)]),
        double=np.array([float(len(r.points) == 2) for r in readings]),
        **{name: np.flatnonzero(kinds == name) for name in ("tape", "plan", "plane", "level")},
    )


def _group(kind: ReadingKind) -> str:
    return kind.value if kind in (ReadingKind.TAPE, ReadingKind.PLAN, ReadingKind.LEVEL) else "plane"


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


def evaluate(model: Model, xyz: Array) -> tuple[Array, Array, Array]:
    """What every reading should show, and how that changes with its two points.

    Parameters
    ----------
    model : Model
    xyz : (..., n, 3) m

    Returns
    -------
    shown : (..., m) SI
    by_first, by_second : (..., m, 3)
        Derivatives by the coordinates of the first and of the second point.
    """
    line = xyz[..., model.second, :] - xyz[..., model.first, :]
    shown = np.zeros(line.shape[:-1])
    slope = np.zeros(line.shape)
    _distances(line, model.tape, 3, shown, slope)
    _distances(line, model.plan, 2, shown, slope)
    _slopes(line, model.level, shown, slope)
    by_first = -slope
    _offsets(xyz, model, shown, by_first, slope)
    return shown, by_first, slope


def _offsets(xyz: Array, model: Model, shown: Array, by_first: Array, slope: Array) -> None:
    rows = model.plane
    if not len(rows):
        return
    normal, double = model.normal[rows], model.double[rows]
    ends = xyz[..., model.second[rows], :] - double[:, None] * xyz[..., model.first[rows], :]
    shown[..., rows] = np.sum(normal * ends, axis=-1) - model.offset[rows]
    slope[..., rows, :] = normal
    by_first[..., rows, :] = -double[:, None] * normal


def _distances(line: Array, rows: Index, axes: int, shown: Array, slope: Array) -> None:
    if not len(rows):
        return
    part = line[..., rows, :axes]
    length = np.sqrt(np.einsum("...a,...a->...", part, part))
    shown[..., rows] = length
    slope[..., rows, :axes] = part / np.maximum(length, _NEAR_ZERO)[..., None]


def _slopes(line: Array, rows: Index, shown: Array, slope: Array) -> None:
    if not len(rows):
        return
    part = line[..., rows, :]
    flat = np.maximum(np.hypot(part[..., 0], part[..., 1]), _NEAR_ZERO)
    rise = part[..., 2]
    square = flat**2 + rise**2
    shown[..., rows] = np.arctan2(rise, flat)
    slope[..., rows, :2] = (-rise / square / flat)[..., None] * part[..., :2]
    slope[..., rows, 2] = flat / square


def held_points(network: Network) -> NDArray[np.bool_]:
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
    lengths = np.concatenate([model.value[model.tape], model.value[model.plan], [0.0]])
    there = xyz[np.isfinite(xyz).all(axis=1)]
    spans = np.ptp(there, axis=0) if len(there) else np.zeros(1)
    heights = np.abs(model.value[model.plane] + model.offset[model.plane])
    size = max(float(lengths.max()), float(np.linalg.norm(spans)))
    return size or float(heights.max(initial=1.0)) or 1.0
