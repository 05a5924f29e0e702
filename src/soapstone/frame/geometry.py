"""Lengths, local axes and rigid arms of straight members."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError

Floats = NDArray[np.float64]

# The sine below which `up` counts as lying along the member, and the length below which one is a point.
_PARALLEL = 1e-6
_SHORTEST = 1e-9


@dataclass(frozen=True, eq=False)
class Geometry:
    """Where the members truly are.

    Attributes
    ----------
    starts : (m, 3) float, m
        True start points.
    lengths : (m,) float, m
        Between the true ends.
    axes : (m, 3, 3) float
        Rows are the unit vectors local x, y, z: `axes @ global_vector` is local.
    """

    starts: Floats
    lengths: Floats
    axes: Floats


def measure(
    nodes: Floats, ends: NDArray[np.int64], offsets: Floats, up: Floats, names: tuple[str, ...]
) -> Geometry:
    """Lengths and local axes; arguments as in `Frame`.

    Raises
    ------
    GeometryError
        A member without length, or with its reference direction along itself.
    """
    tips = nodes[ends] + offsets
    along = tips[:, 1] - tips[:, 0]
    lengths = np.sqrt(np.einsum("mi,mi->m", along, along))
    _refuse(~(lengths > _SHORTEST), names, "has no length", "its two ends fall on one point")
    x = along / lengths[:, None]
    y = np.cross(up, x)
    sines = np.sqrt(np.einsum("mi,mi->m", y, y))
    lost = ~(sines > _PARALLEL * np.sqrt(np.einsum("mi,mi->m", up, up)))
    _refuse(lost, names, "has its up direction along itself", "give one across the member")
    y /= sines[:, None]
    axes = np.stack([x, y, np.cross(x, y)], axis=1)
    return Geometry(tips[:, 0], lengths, axes)


def _refuse(bad: NDArray[np.bool_], names: tuple[str, ...], what: str, remedy: str) -> None:
    if bad.any():
        raise GeometryError(f"{names[int(bad.argmax())]} {what}", remedy=remedy)
