"""What each reading should show for given coordinates, with its derivatives, for all readings at once."""

import numpy as np

from soapstone.survey.index import Array, Index
from soapstone.survey.model import Model

_NEAR_ZERO = 1e-12  # m; keeps a derivative finite where points meet


def evaluate(model: Model, xyz: Array) -> tuple[Array, Array]:
    """What every reading should show, and how that changes with its points.

    Parameters
    ----------
    model : Model
    xyz : (..., n, 3) m

    Returns
    -------
    shown : (..., m) SI
    slopes : (..., m, w, 3)
        Derivatives by the coordinates of each end; nothing for an end that is not used.
    """
    batch = xyz.shape[:-2]
    shown = np.zeros((*batch, model.rows))
    slopes = np.zeros((*batch, *model.ends.shape, 3))
    for name, formula in _FORMULAS.items():
        rows = model.rows_of[name]
        if len(rows):
            formula(model, rows, xyz, shown, slopes)
    return shown, slopes


def _line(model: Model, rows: Index, xyz: Array) -> Array:
    line: Array = xyz[..., model.ends[rows, 1], :] - xyz[..., model.ends[rows, 0], :]
    return line


def _tapes(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    _distances(_line(model, rows, xyz), rows, 3, shown, slopes)


def _plans(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    _distances(_line(model, rows, xyz)[..., :2], rows, 2, shown, slopes)


def _distances(part: Array, rows: Index, axes: int, shown: Array, slopes: Array) -> None:
    length = np.sqrt(np.einsum("...a,...a->...", part, part))
    shown[..., rows] = length
    along = part / np.maximum(length, _NEAR_ZERO)[..., None]
    slopes[..., rows, 1, :axes] = along
    slopes[..., rows, 0, :axes] = -along


def _levels(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    part = _line(model, rows, xyz)
    flat = np.maximum(np.hypot(part[..., 0], part[..., 1]), _NEAR_ZERO)
    rise = part[..., 2]
    square = flat**2 + rise**2
    shown[..., rows] = np.arctan2(rise, flat)
    slope = np.concatenate(
        [(-rise / square / flat)[..., None] * part[..., :2], (flat / square)[..., None]], axis=-1
    )
    slopes[..., rows, 1, :] = slope
    slopes[..., rows, 0, :] = -slope


def _planes(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    normal, double = model.normal[rows], model.used[rows, 1].astype(float)
    last = xyz[..., model.ends[rows, 1], :] - double[:, None] * xyz[..., model.ends[rows, 0], :]
    shown[..., rows] = np.einsum("ma,...ma->...m", normal, last) - model.offset[rows]
    slopes[..., rows, 1, :] = double[:, None] * normal
    slopes[..., rows, 0, :] = (1 - 2 * double)[:, None] * normal


def _unit(vectors: Array) -> tuple[Array, Array]:
    """Unit vectors and lengths, (..., 3) and (..., 1)."""
    length = np.maximum(np.sqrt(np.einsum("...a,...a->...", vectors, vectors)), _NEAR_ZERO)[..., None]
    return vectors / length, length


def _dot(one: Array, two: Array) -> Array:
    product: Array = np.einsum("...a,...a->...", one, two)[..., None]
    return product


def _straights(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    """The gap square to the line, seen along the line and sideways: two rows share the whole gap."""
    point, start, end = (xyz[..., model.ends[rows, k], :] for k in range(3))
    along, length = _unit(end - start)
    steep = np.abs(along[..., 2:]) > 0.9  # a line that stands up has no up of its own
    upward = np.where(steep, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    up, _ = _unit(upward - _dot(upward, along) * along)
    seen = np.where(model.normal[rows, 2:] > 0.5, up, np.cross(up, along))
    share = _dot(point - start, along) / length
    shown[..., rows] = _dot(point - start, seen)[..., 0]
    slopes[..., rows, 0, :] = seen
    slopes[..., rows, 1, :] = -(1 - share) * seen
    slopes[..., rows, 2, :] = -share * seen


def _flushes(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    """The distance from the plane of three points, positive on the side of the row's normal."""
    point, first, second, third = (xyz[..., model.ends[rows, k], :] for k in range(4))
    one, two, out = second - first, third - first, point - first
    normal, area = _unit(np.cross(one, two))
    normal = normal * np.where(_dot(normal, model.normal[rows]) < 0, -1.0, 1.0)
    shares = (
        _dot(np.cross(out, two), np.cross(one, two)) / area**2,
        _dot(np.cross(one, out), np.cross(one, two)) / area**2,
    )
    shown[..., rows] = _dot(out, normal)[..., 0]
    slopes[..., rows, 0, :] = normal
    slopes[..., rows, 1, :] = -(1 - shares[0] - shares[1]) * normal
    slopes[..., rows, 2, :] = -shares[0] * normal
    slopes[..., rows, 3, :] = -shares[1] * normal


def _framed(model: Model, rows: Index, xyz: Array, shown: Array, slopes: Array) -> None:
    """A coordinate in the frame of three nodes: x towards the second, y in their plane, z square to it.

    The turn of the frame that goes with small moves of its nodes, about each of its own axes, gives the
    derivatives.
    """
    point, origin, ahead, aside = (xyz[..., model.ends[rows, k], :] for k in range(4))
    a, b, out = ahead - origin, aside - origin, point - origin
    x, long = _unit(a)
    along = _dot(b, x)
    y, far = _unit(b - along * x)
    z = np.cross(x, y)
    normal = model.normal[rows]
    axis = normal[:, :1] * x + normal[:, 1:2] * y + normal[:, 2:] * z
    length = model.scaled[rows][:, None]
    fixed = length == 0.0
    scale = np.where(fixed, 1.0, long / np.where(fixed, 1.0, length))
    value = _dot(out, axis) / scale
    lever = np.cross(axis, out)
    by_ahead = (
        _dot(lever, z) * y / long - _dot(lever, y) * z / long - _dot(lever, x) * along / (long * far) * z
    )
    by_ahead = by_ahead / scale - np.where(fixed, 0.0, value / long) * x
    by_aside = _dot(lever, x) * z / far / scale
    by_point = axis / scale
    shown[..., rows] = value[..., 0]
    slopes[..., rows, 0, :] = by_point
    slopes[..., rows, 1, :] = -(by_point + by_ahead + by_aside)
    slopes[..., rows, 2, :] = by_ahead
    slopes[..., rows, 3, :] = by_aside


_FORMULAS = {
    "tape": _tapes,
    "plan": _plans,
    "level": _levels,
    "plane": _planes,
    "straight": _straights,
    "flush": _flushes,
    "framed": _framed,
}
