"""Files of a tube for other machines: templates as SVG and DXF, the tube itself as STEP.

SVG is for paper at 1:1 and carries the paper's allowance; DXF is the outside of the tube unrolled, without.
Layers of the DXF: CUT closed round what stays, HOLES closed round what is cut out, BORE the same cut at the
bore, LINES the lines at 90°, 180° and 270°, NOTE the name.
"""

import io
from collections.abc import Callable, Iterator
from functools import lru_cache, partial
from typing import Literal
from xml.sax.saxutils import escape

import numpy as np
from shapely import MultiPolygon, Polygon

from soapstone.errors import GeometryError
from soapstone.parts.cutting import CutParts
from soapstone.parts.ends import TubePart
from soapstone.parts.step import exact_tube, laid_out, step_text
from soapstone.shop.dxf import new_drawing, no_clock
from soapstone.shop.marks import Marks
from soapstone.shop.unroll import Unrolled, needs_template, unroll, unroll_passage
from soapstone.shop.ways import Ways, cut_line

LAYERS = (("CUT", 7), ("HOLES", 1), ("BORE", 3), ("LINES", 8), ("NOTE", 5))
_MARGIN = 6.0
_BARS = 16.0
Unit = Literal["mm", "in"]


def tube_files(
    parts: CutParts, marks: Marks, ways: Ways, unit: Unit
) -> Iterator[tuple[str, Callable[[], bytes]]]:
    """Names and makers of all files of all tubes."""
    for name, part in parts.tubes.items():
        mark = marks.tubes[name]
        for title, wrapped, flat in _papers(part, mark, ways):
            stem = title.replace(" ", "-")
            yield f"tubes/{stem}.svg", partial(_svg, wrapped, title)
            yield f"tubes/{stem}.{unit}.dxf", partial(_dxf, flat, title, unit)
        try:
            content = _step(part, f"{mark} {name}", unit)
        except GeometryError as error:
            yield f"tubes/{mark}-no-step.txt", partial(str.encode, f"{error}\n")
        else:
            yield f"tubes/{mark}.{unit}.step", partial(bytes, content)


def about_tube_file(name: str) -> str:
    """What a file is for, for the packet's index."""
    what = name.rpartition(".")[2]
    return {
        "svg": "wrap template at 1:1, print at 100 %",
        "dxf": "the same unrolled without paper allowance; layers CUT, HOLES, BORE, LINES, NOTE",
        "step": "the tube as an exact solid (STEP AP214), x from end A, y its clocking line; coordinates in "
        + name.split(".")[-2],
        "txt": "why there is no STEP file of this tube",
    }[what]


def _papers(part: TubePart, mark: str, ways: Ways) -> Iterator[tuple[str, Unrolled, Unrolled]]:
    """Name, on paper, and on the tube's own outside."""
    for end in (part.end_a, part.end_b):
        if needs_template(part, end):
            clear = cut_line(end, ways) == "clear"
            wrapped = unroll(part, end, paper=ways.paper, clear=clear)
            yield f"{mark} end {end.outline.end.value}", wrapped, unroll(part, end, clear=clear)
    for number, opening in enumerate((o for o in part.openings if o.what == "hole"), 1):
        wrapped, _ = unroll_passage(part, opening, paper=ways.paper)
        yield f"{mark} hole {number}", wrapped, unroll_passage(part, opening)[0]


@lru_cache(maxsize=256)  # a part never changes, and a packet is often written again
def _step(part: TubePart, name: str, unit: Unit) -> bytes:
    return step_text(laid_out(exact_tube(part), part), name, unit).encode("ascii")


def svg_text(flat: Unrolled, title: str) -> str:
    """A template as SVG, mm, y downwards as SVG has it, with a check bar of 100 mm."""
    wide = max(flat.perimeter, 100.0) + 2 * _MARGIN
    tall = flat.height + 2 * _MARGIN + _BARS
    groups = [
        _group(
            "bore", 'stroke-dasharray="3 1.2" stroke-width="0.35"', [flat.inner, *flat.bores], flat.height
        ),
        _group("lines", 'stroke-width="0.18"', _upright(flat), flat.height),
        _group("edge", 'stroke-width="0.35"', [_frame(flat)], flat.height),
        _group("cut", 'stroke-width="0.7"', [flat.cut, *flat.loops], flat.height),
    ]
    low = flat.height + _BARS - 4.0
    bar = f'<path id="bar-100-mm" d="M0 {low}H100" stroke-width="0.35"/>'
    ticks = "".join(f'<path d="M{x} {low - 1.5}V{low + 1.5}" stroke-width="0.35"/>' for x in (0, 100))
    way = "up is towards end B; print at 100 %, the bar is 100 mm"
    text = (
        f'<text x="0" y="{flat.height + 6.0}" font-size="4" stroke="none" fill="#000" '
        f'font-family="sans-serif">{escape(title)}: {way}</text>'
    )
    inside = "\n".join([*groups, bar + ticks, text])
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{tall:.3f}mm" '
        f'viewBox="{-_MARGIN:.3f} {-_MARGIN:.3f} {wide:.3f} {tall:.3f}">\n<title>{escape(title)}</title>\n'
        f'<g fill="none" stroke="#000" stroke-linejoin="round">\n{inside}\n</g>\n</svg>\n'
    )


def _svg(flat: Unrolled, title: str) -> bytes:
    return svg_text(flat, title).encode()


def _group(name: str, style: str, lines: list[np.ndarray], height: float) -> str:
    paths = []
    for line in lines:
        if len(line):
            corners = " L".join(f"{x:.4f} {height - y:.4f}" for x, y in line)
            paths.append(f'<path d="M{corners}"/>')
    return f'<g id="{name}" {style}>{"".join(paths)}</g>'


def _upright(flat: Unrolled) -> list[np.ndarray]:
    places = (*(x for x, _, _ in flat.lines), *flat.folds)
    return [np.array([(x, 0.0), (x, flat.height)]) for x in places]


def _frame(flat: Unrolled) -> np.ndarray:
    wide, tall = flat.perimeter, flat.height
    return np.array([(0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall), (0.0, 0.0)])


def dxf_text(flat: Unrolled, title: str, unit: Unit) -> str:
    """A tube's end unrolled, as DXF; every contour closed, nothing twice."""
    with no_clock():
        document, scale = new_drawing(unit, LAYERS)
        space = document.modelspace()
        per_mm = scale / 1000.0

        def put(line: np.ndarray, layer: str, *, close: bool) -> None:
            space.add_lwpolyline((per_mm * line).tolist(), close=close, dxfattribs={"layer": layer})

        for piece in _kept(flat):
            put(np.array(piece.exterior.coords)[:-1], "CUT", close=True)
            for ring in piece.interiors:
                put(np.array(ring.coords)[:-1], "HOLES", close=True)
        for line in (flat.inner, *flat.bores):
            if len(line):
                put(line, "BORE", close=False)
        for x, _, _ in flat.lines[1:-1]:
            put(np.array([(x, 0.0), (x, flat.height)]), "LINES", close=False)
        space.add_text(title, height=4.0 * per_mm, dxfattribs={"layer": "NOTE"}).set_placement(
            (0.0, -8.0 * per_mm)
        )
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue()


def _dxf(flat: Unrolled, title: str, unit: Unit) -> bytes:
    return dxf_text(flat, title, unit).encode()


def _kept(flat: Unrolled) -> list[Polygon]:
    """What stays of the paper when it is cut."""
    kept = Polygon(_frame(flat)[:-1])
    if len(flat.cut):
        wide = flat.perimeter
        kept = Polygon([*flat.cut, (wide, flat.kept), (0.0, flat.kept)])
    for loop in flat.loops:
        kept = kept.difference(Polygon(loop))
    return list(kept.geoms) if isinstance(kept, MultiPolygon) else [kept]
