"""A plate for the cutter: closed outlines with true arcs, circles for holes, named layers, nothing else.

Layer CUT holds the outside edge, layer HOLES the round holes; both are cut through. Written as AutoCAD 2010
DXF, which carries its unit in $INSUNITS.
"""

import io
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Literal

import ezdxf
import ezdxf.units
from ezdxf.document import Drawing
from ezdxf.filemanagement import new

from soapstone.parts.contour import Arc, Piece
from soapstone.parts.plates import PlateOutline

OUTLINE, HOLES = "CUT", "HOLES"
_OPTIONS = ezdxf.options  # type: ignore[attr-defined]
_VERSION = "R2010"
_UNITS = {"mm": (ezdxf.units.MM, 1000.0, 1), "in": (ezdxf.units.IN, 1000.0 / 25.4, 0)}
_ARC_AT_MOST = math.radians(270.0)
"""A bulge grows without bound towards a full turn; an arc longer than this goes in two."""


def plate_dxf(plate: PlateOutline, unit: Literal["mm", "in"]) -> str:
    """The text of a DXF file, the same for the same plate.

    Parameters
    ----------
    plate : PlateOutline
    unit : {'mm', 'in'}
        Of the coordinates; stands in the header too.
    """
    with no_clock():
        stream = io.StringIO()
        _drawing(plate, unit).write(stream)
    return stream.getvalue()


def new_drawing(unit: str, layers: Iterable[tuple[str, int]]) -> tuple[Drawing, float]:
    """An empty drawing with its layers and colours, and its units per metre."""
    code, scale, metric = _UNITS[unit]
    document = new(_VERSION, units=code)
    document.header["$MEASUREMENT"] = metric
    for layer, colour in layers:
        document.layers.add(layer, color=colour)
    return document, scale


def _drawing(plate: PlateOutline, unit: str) -> Drawing:
    document, scale = new_drawing(unit, ((OUTLINE, 7), (HOLES, 1)))
    space = document.modelspace()
    corners = [corner for piece in plate.contour for corner in _corners(piece)]
    space.add_lwpolyline(
        [(scale * x, scale * y, bulge) for x, y, bulge in corners],
        format="xyb",
        close=True,
        dxfattribs={"layer": OUTLINE},
    )
    for hole in plate.holes:
        x, y = hole.centre
        space.add_circle((scale * x, scale * y), scale * hole.diameter / 2, dxfattribs={"layer": HOLES})
    return document


def _corners(piece: Piece) -> list[tuple[float, float, float]]:
    """Start of the piece with the bulge towards its end: the tangent of a quarter of the arc's angle."""
    if not isinstance(piece, Arc):
        return [(*piece.start, 0.0)]
    sweep = piece.end_angle - piece.start_angle
    parts = math.ceil(abs(sweep) / _ARC_AT_MOST)
    bulge = math.tan(sweep / parts / 4)
    return [(*piece.at(piece.start_angle + sweep * part / parts), bulge) for part in range(parts)]


@contextmanager
def no_clock() -> Iterator[None]:
    """Leave out the clock and the random ids that would make a file differ from run to run."""
    before = _OPTIONS.write_fixed_meta_data_for_testing
    _OPTIONS.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        _OPTIONS.write_fixed_meta_data_for_testing = before
