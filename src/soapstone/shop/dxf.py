"""A plate for the cutter: closed outlines with true arcs, circles for holes, named layers, nothing else.

Layer CUT holds the outside edge, layer HOLES round holes and other cut-outs; both are cut through. Layer BEND
holds the lines that the sheet is folded on, dashed, layer ETCH the part's number in single strokes; both are
there only when there is something on them. Written as AutoCAD 2010 DXF, which carries its unit in $INSUNITS,
or as R12, which carries none: then the unit stands in the file's name.
"""

import io
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import Literal

import ezdxf
import ezdxf.units
from ezdxf.document import Drawing
from ezdxf.filemanagement import new

from soapstone.parts.contour import Arc, Piece
from soapstone.parts.plates import PlateOutline
from soapstone.parts.strokes import MARK_HEIGHT, strokes

OUTLINE, HOLES, BEND, ETCH = "CUT", "HOLES", "BEND", "ETCH"
_OPTIONS = ezdxf.options  # type: ignore[attr-defined]
_UNITS = {"mm": (ezdxf.units.MM, 1000.0, 1), "in": (ezdxf.units.IN, 1000.0 / 25.4, 0)}
_ARC_AT_MOST = math.radians(270.0)
"""A bulge grows without bound towards a full turn; an arc longer than this goes in two."""


def plate_dxf(
    plate: PlateOutline, unit: Literal["mm", "in"], version: Literal["R2010", "R12"] = "R2010"
) -> str:
    """The text of a DXF file, the same for the same plate.

    Parameters
    ----------
    plate : PlateOutline
    unit : {'mm', 'in'}
        Of the coordinates; stands in the header too.
    version : {'R2010', 'R12'}
        R12 has polylines of its own kind, no light ones.
    """
    with no_clock():
        stream = io.StringIO()
        _drawing(plate, unit, version).write(stream)
    return stream.getvalue()


def new_drawing(
    unit: str, layers: Iterable[tuple[str, int]], version: str = "R2010"
) -> tuple[Drawing, float]:
    """An empty drawing with its layers and colours, and its units per metre."""
    code, scale, metric = _UNITS[unit]
    document = new(version, units=code)
    document.header["$MEASUREMENT"] = metric
    for layer, colour in layers:
        document.layers.add(layer, color=colour)
    return document, scale


def _drawing(plate: PlateOutline, unit: str, version: str) -> Drawing:
    layers = [(OUTLINE, 7), (HOLES, 1)]
    layers += [(BEND, 5)] if plate.bend_lines else []
    layers += [(ETCH, 3)] if plate.mark else []
    document, scale = new_drawing(unit, layers, version)
    space = document.modelspace()
    for layer, contour in ((OUTLINE, plate.contour), *((HOLES, cutout) for cutout in plate.cutouts)):
        corners = [corner for piece in contour for corner in _corners(piece)]
        points = [(scale * x, scale * y, bulge) for x, y, bulge in corners]
        if version == "R12":
            space.add_polyline2d(points, format="xyb", close=True, dxfattribs={"layer": layer})
        else:
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
    for line in plate.bend_lines:
        start, end = ((scale * x, scale * y) for x, y in (line.start, line.end))
        space.add_line(start, end, dxfattribs={"layer": BEND})
    for stroke in strokes(plate.mark, plate.mark_at, MARK_HEIGHT):
        for one, other in pairwise(stroke):
            start, end = ((scale * x, scale * y) for x, y in (one, other))
            space.add_line(start, end, dxfattribs={"layer": ETCH})
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
