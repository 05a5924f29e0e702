"""A tube's end unrolled onto paper, in millimetres: what a wrapped template shows, before it meets a sheet.

Right is the way from the clocking line round the tube, up is the way from end A to end B; seen from
outside, so the printed side stays out. The edge at the long point lies flush with the sawn end.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.openings import Opening
from soapstone.parts.outline import End
from soapstone.parts.profile import Profile
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
    cut : (n, 2)
        The line to cut to: the outer one, or for a cutter square to the wall the clear one.
    loops, bores : tuple of (m, 2)
        Edges of openings, outside and at the bore; one that runs over the clocking line stands on both sides.
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
    cut: Array
    loops: tuple[Array, ...] = ()
    bores: tuple[Array, ...] = ()


def is_square(end: TubeEnd) -> bool:
    """Whether the saw alone makes an end's shape."""
    depth = abs(end.outline.long_point.station - end.outline.short_point.station)
    return 1000.0 * depth < _LEAST


def slots_of(part: TubePart, end: TubeEnd) -> tuple[Opening, ...]:
    """Slots across an end."""
    far = end.outline.end is End.B
    return tuple(o for o in part.openings if o.what == "slot" and (o.station > part.length / 2) == far)


def needs_template(part: TubePart, end: TubeEnd) -> bool:
    """Whether an end needs a template."""
    return not is_square(end) or bool(slots_of(part, end))


def stretched(profile: Profile, abscissa: Array, paper: float) -> Array:
    """Abscissae, m, on paper `paper` m thick, whose middle lies half of that farther out."""
    found: Array = abscissa + paper / 2 * profile.turn(abscissa)
    return found


def unroll(part: TubePart, end: TubeEnd, *, paper: float = 0.0, clear: bool = False) -> Unrolled:
    """Lay one end of a tube flat.

    Parameters
    ----------
    part : TubePart
    end : TubeEnd
    paper : float
        m, thickness of what is wrapped.
    clear : bool
        Whether the line to cut to is the clear one.
    """
    profile, outline = part.shape.outline, end.outline
    across = 1000.0 * stretched(profile, outline.abscissa, paper)
    perimeter, slots = float(across[-1]), slots_of(part, end)
    deepest = [outline.short_point.station, *(slot.station for slot in slots)]
    depth = 1000.0 * max(abs(outline.long_point.station - station) for station in deepest)
    height = depth + KEEP
    up = outline.end is End.B
    sawn, kept = (height, 0.0) if up else (0.0, height)
    base = 1000.0 * outline.long_point.station - sawn
    outer, inner, cut = (
        np.column_stack((across, 1000.0 * line - base))
        for line in (outline.outer, outline.inner, end.clear if clear else outline.outer)
    )
    heel = None
    if end.heel is not None:
        heel = 1000.0 * float(stretched(profile, np.array([profile.abscissa_at(end.heel)]), paper)[0])
    loops, bores = _loops(part, slots, paper, base)
    return Unrolled(
        outline.end,
        perimeter,
        height,
        outer,
        inner,
        _lines(part, perimeter),
        _folds(profile, paper),
        (*_hatch(cut, sawn, perimeter), *_filled(loops)),
        heel,
        sawn,
        kept,
        cut,
        loops,
        bores,
    )


def unroll_passage(part: TubePart, opening: Opening, *, paper: float = 0.0) -> tuple[Unrolled, float]:
    """Lay the two holes of a passage flat, on one paper round the tube.

    Returns
    -------
    paper : Unrolled
        Without a line to cut to.
    lower : float
        Station of the paper's lower edge, m.
    """
    profile = part.shape.outline
    across = 1000.0 * stretched(profile, np.array([profile.perimeter]), paper)
    perimeter = float(across[0])
    stations = np.concatenate([loop.outer for loop in opening.loops])
    lower = float(stations.min()) - KEEP / 1000.0
    height = 1000.0 * float(np.ptp(stations)) + 2 * KEEP
    loops, bores = _loops(part, (opening,), paper, 1000.0 * lower)
    none = np.empty((0, 2))
    flat = Unrolled(
        End.A,
        perimeter,
        height,
        none,
        none,
        _lines(part, perimeter),
        _folds(profile, paper),
        _filled(loops),
        None,
        0.0,
        height,
        none,
        loops,
        bores,
    )
    return flat, lower


def _folds(profile: Profile, paper: float) -> tuple[float, ...]:
    if profile.is_round:
        return ()
    return tuple(float(1000.0 * k) for k in stretched(profile, profile.knots(), paper)[1:-1])


def _loops(
    part: TubePart, openings: tuple[Opening, ...], paper: float, base: float
) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
    """Closed edges of openings on the paper, mm, outside and at the bore."""
    loops, bores = [], []
    for opening in openings:
        for loop in opening.loops:
            loops += _copies(part, loop.abscissa, 1000.0 * loop.outer - base, paper)
            if opening.what == "hole":
                bores += _copies(part, loop.inner_abscissa, 1000.0 * loop.inner - base, paper)
    return tuple(loops), tuple(bores)


def _copies(part: TubePart, abscissa: Array, height: Array, paper: float) -> list[Array]:
    """An edge where it lies on the paper, and again a turn on where it runs over the clocking line."""
    profile = part.shape.outline
    turn = profile.perimeter
    wide = float(stretched(profile, np.array([turn]), paper)[0])
    turns = np.floor(abscissa / turn)
    across = stretched(profile, abscissa - turns * turn, paper) + turns * wide
    found = []
    for shift in (-2, -1, 0, 1, 2):
        moved = across + shift * wide
        if moved.max() > 0.0 and moved.min() < wide:
            found.append(np.column_stack((1000.0 * moved, height)))
    return found


def _filled(loops: tuple[Array, ...]) -> tuple[Array, ...]:
    """Hatch inside closed edges."""
    found: list[Array] = []
    for loop in loops:
        inside = Polygon(loop).buffer(0.0)
        left, low, right, high = inside.bounds
        reach = high - low
        starts = np.arange(left - reach, right, _HATCH)
        rays = MultiLineString([[(x, low), (x + reach, high)] for x in starts])
        found += _pieces(rays.intersection(inside))
    return tuple(found)


def _lines(part: TubePart, perimeter: float) -> tuple[tuple[float, str, str], ...]:
    axes = part.axes
    ways = (axes.y, axes.z, -axes.y, -axes.z)
    quarters = [
        (quarter * perimeter / 4, f"{90 * quarter}", direction(way)) for quarter, way in enumerate(ways)
    ]
    return (*quarters, (perimeter, "0", quarters[0][2]))


def _hatch(outer: Array, sawn: float, perimeter: float) -> tuple[Array, ...]:
    if np.ptp(outer[:, 1]) < _LEAST:
        return ()
    waste = Polygon([*outer, (perimeter, sawn), (0.0, sawn)]).buffer(0.0)
    low, high = outer[:, 1].min(), outer[:, 1].max()
    reach = high - low
    starts = np.arange(-reach, perimeter, _HATCH)
    rays = MultiLineString([[(x, low), (x + reach, high)] for x in starts])
    return tuple(_pieces(rays.intersection(waste)))


def _pieces(found: BaseGeometry) -> list[Array]:
    pieces = getattr(found, "geoms", [found])
    return [
        np.array(piece.coords) for piece in pieces if isinstance(piece, LineString) and piece.length > 0.4
    ]
