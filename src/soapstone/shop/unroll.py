"""A tube's end unrolled onto paper, in millimetres: what a wrapped template shows, before it meets a sheet.

Right is the way from the clocking line round the tube, up is the way from end A to end B; seen from
outside, so the printed side stays out. The edge at the long point lies flush with the sawn end.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon

from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.outline import End
from soapstone.shop.words import direction

Array = NDArray[np.float64]

KEEP = 18.0
"""mm of tube that the paper covers beyond the deepest cut: enough to tape down."""
GLUE = 8.0
"""mm of paper that goes under the other edge."""
_HATCH = 2.5
"""mm between hatch lines."""
_LEAST = 0.05
"""mm; a shallower cut is a square one on paper."""


@dataclass(frozen=True, eq=False)
class Unrolled:
    """One end on paper, mm.

    Attributes
    ----------
    end : End
    perimeter, height : float
        Size of the paper without the glue strip.
    outer, inner : (n, 2)
        Edge of the cut outside, and at the bore.
    lines : tuple of (float, str, str)
        Lines along the tube: place, degrees, the way they face in the vehicle.
    folds : tuple of float
        Where a rectangular tube's corners begin and end.
    hatch : tuple of (2, 2)
        Across the waste.
    heel : float or None
        Place of the line on the acute side.
    sawn, kept : float
        Heights of the edge at the sawn end and of the other edge.
    """

    end: End
    perimeter: float
    height: float
    outer: Array
    inner: Array
    lines: tuple[tuple[float, str, str], ...]
    folds: tuple[float, ...]
    hatch: tuple[Array, ...]
    heel: float | None
    sawn: float
    kept: float


def is_square(end: TubeEnd) -> bool:
    """Whether an end needs no template: the saw makes it."""
    depth = abs(end.outline.long_point.station - end.outline.short_point.station)
    return 1000.0 * depth < _LEAST


def unroll(part: TubePart, end: TubeEnd) -> Unrolled:
    """Lay one end of a tube flat."""
    profile, outline = part.shape.outline, end.outline
    perimeter = 1000.0 * profile.perimeter
    across = 1000.0 * outline.abscissa
    depth = 1000.0 * abs(outline.long_point.station - outline.short_point.station)
    height = depth + KEEP
    up = outline.end is End.B
    sawn, kept = (height, 0.0) if up else (0.0, height)
    base = 1000.0 * outline.long_point.station - sawn
    outer = np.column_stack((across, 1000.0 * outline.outer - base))
    inner = np.column_stack((across, 1000.0 * outline.inner - base))
    heel = None if end.heel is None else 1000.0 * profile.abscissa_at(end.heel)
    folds = () if profile.is_round else tuple(float(1000.0 * k) for k in profile.knots()[1:-1])
    return Unrolled(
        outline.end,
        perimeter,
        height,
        outer,
        inner,
        _lines(part, perimeter),
        folds,
        _hatch(outer, sawn, perimeter),
        heel,
        sawn,
        kept,
    )


def _lines(part: TubePart, perimeter: float) -> tuple[tuple[float, str, str], ...]:
    axes = part.axes
    ways = (axes.y, axes.z, -axes.y, -axes.z)
    quarters = [
        (quarter * perimeter / 4, f"{90 * quarter}", direction(way)) for quarter, way in enumerate(ways)
    ]
    return (*quarters, (perimeter, "0", quarters[0][2]))


def _hatch(outer: Array, sawn: float, perimeter: float) -> tuple[Array, ...]:
    waste = Polygon([*outer, (perimeter, sawn), (0.0, sawn)]).buffer(0.0)
    low, high = outer[:, 1].min(), outer[:, 1].max()
    reach = high - low
    starts = np.arange(-reach, perimeter, _HATCH)
    rays = MultiLineString([[(x, low), (x + reach, high)] for x in starts])
    found = rays.intersection(waste)
    pieces = getattr(found, "geoms", [found])
    return tuple(
        np.array(piece.coords) for piece in pieces if isinstance(piece, LineString) and piece.length > 0.4
    )
