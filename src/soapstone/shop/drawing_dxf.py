"""A drawing of the packet as DXF at true size: its lines on layers by what they are, its words as text."""

import io
from typing import Any, Literal

from ezdxf.enums import TextEntityAlignment
from shapely import LineString, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from soapstone.shop.dxf import new_drawing, no_clock

LAYERS = (("OUTLINE", 7), ("EDGES", 8), ("DIMENSIONS", 4), ("CENTRE", 1), ("WORDS", 5))
_LAYER = {"thick": "OUTLINE", "thin": "EDGES", "hair": "DIMENSIONS", "centre": "CENTRE"}
_EDGE = 0.02
"""mm of paper by which what hides is smaller than its own outline, so that this stays."""
_POINT = 0.3528
_SHORT = 0.01
_ACROSS = {"left": "LEFT", "center": "CENTER", "right": "RIGHT"}
_UP = {"top": "TOP", "horizon": "MIDDLE", "bottom": "BOTTOM"}


def drawing_dxf(drawing: dict[str, Any], unit: Literal["mm", "in"]) -> str:
    """The text of a DXF file, the same for the same drawing.

    Parameters
    ----------
    drawing : dict
        As `drawing` of `sheet.typ` takes it; its `scale` turns its mm of paper into those of the part.
    unit : {'mm', 'in'}
    """
    with no_clock():
        document, per_metre = new_drawing(unit, LAYERS)
        factor = per_metre / 1e3 * float(drawing["scale"].partition(":")[2])
        space = document.modelspace()
        for item in visible(drawing["lines"]):
            points = [(factor * x, factor * y) for x, y in item["points"]]
            layer = {"layer": _LAYER[item["stroke"]]}
            space.add_lwpolyline(points, close=item.get("closed", False), dxfattribs=layer)
        for item in drawing.get("circles", ()):
            layer = {"layer": _LAYER[item["stroke"]]}
            space.add_circle((factor * item["x"], factor * item["y"]), factor * item["r"], dxfattribs=layer)
        for item in drawing.get("labels", ()):
            across, _, up = item.get("anchor", "left-horizon").partition("-")
            turn = float(item.get("turn", 0))
            if turn:  # a quarter turn: what hung from its top ends there
                across, up = "right", "horizon"
            text = item["text"].replace("\u00a0", " ")
            entity = space.add_text(
                text,
                height=0.7 * _POINT * factor * item.get("size", 7),
                rotation=turn,
                dxfattribs={"layer": "WORDS"},
            )
            align = TextEntityAlignment[f"{_UP[up]}_{_ACROSS[across]}"]
            entity.set_placement((factor * item["x"], factor * item["y"]), align=align)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue()


def visible(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What is seen of lines that were painted one over the other, those filled hiding what came before."""
    hidden: BaseGeometry = Polygon()
    found: list[dict[str, Any]] = []
    for item in reversed(lines):
        points = item["points"]
        if item["stroke"] != "none" and len(points) > 1:
            found += _seen(item, hidden)
        if item.get("fill", False) and len(points) > 2:
            hidden = unary_union([hidden, Polygon(points).buffer(0).buffer(-_EDGE)])
    return _once(found)[::-1]


def _once(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Of lines that lie on each other, those of parts one behind the other, only the front one."""
    kept: dict[tuple[tuple[float, ...], ...], dict[str, Any]] = {}
    for item in lines:
        key = tuple(tuple(round(size, 2) for size in at) for at in item["points"])
        kept.setdefault(min(key, key[::-1]), item)
    return list(kept.values())


def _seen(item: dict[str, Any], hidden: BaseGeometry) -> list[dict[str, Any]]:
    closed = item.get("closed", False) and len(item["points"]) > 2
    line = LineString([*item["points"], item["points"][0]] if closed else item["points"])
    if not line.intersects(hidden):
        return [{"points": item["points"], "stroke": item["stroke"], "closed": closed}]
    left = line.difference(hidden)
    return [
        {"points": [list(at) for at in piece.coords], "stroke": item["stroke"]}
        for piece in getattr(left, "geoms", [left])
        if piece.geom_type == "LineString" and piece.length > _SHORT
    ]
