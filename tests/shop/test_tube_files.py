"""SVG, DXF and STEP of tubes read back; paper at 1:1 read back; the field cases of paper and scale."""

import io
import math
import re
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
import pymupdf
import pytest
from ezdxf import recover
from shapely import Polygon

from soapstone.job.schema import Job
from soapstone.job.service import Show
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import coped, mitred, square
from soapstone.parts.cutting import CutParts
from soapstone.parts.ends import TubePart, cut_tube
from soapstone.parts.openings import opened, passage, slot
from soapstone.parts.outline import End
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.shop.marks import Marks
from soapstone.shop.sheet import head, paper_of, typeset
from soapstone.shop.templates import TubeWords, template_pages
from soapstone.shop.tube_files import about_tube_file, dxf_text, svg_text, tube_files
from soapstone.shop.unroll import unroll, unroll_passage
from soapstone.shop.ways import Ways
from soapstone.shop.words import Words

MM = 72.0 / 25.4
TUBE = RoundTube(38.1e-3, 2.1e-3)
RAIL = Body("rail", RoundTube(50.8e-3, 3e-3), Axes.along((0.4, 0, 0), (0.3, 1, 0.2), (0, 0, 1)))
STRUT = cut_tube("strut", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 0, 1), mitred("b", (-1, 1.5, 0)), coped(RAIL))
BOX = cut_tube(
    "box",
    RectangularTube(0.03, 0.035, 0.002, 0.004),
    (0, 0, 0),
    (0.4, 0, 0),
    (0, 0, 1),
    square(0),
    coped(RAIL),
)
PIERCED = opened(
    STRUT,
    passage(
        STRUT, Body("pin", RoundTube(20e-3, 2e-3), Axes.along((0.2, 0, 0), (0.3, 0.2, 1), (1, 0, 0))), 4e-4
    ),
)
SLOTTED_RAW = cut_tube("slotted", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 0, 1), square(0), square(0))
SLOTTED = opened(SLOTTED_RAW, slot(SLOTTED_RAW, End.B, "a plate", 5.3e-3, 30e-3, (0, 0, 1)))


def _paths(svg: str, group: str) -> list[np.ndarray]:
    space = "{http://www.w3.org/2000/svg}"
    (found,) = [g for g in ET.fromstring(svg).iter(f"{space}g") if g.get("id") == group]
    return [
        np.array([[float(v) for v in corner.split()] for corner in path.get("d", "")[1:].split(" L")])
        for path in found
    ]


@pytest.mark.parametrize("part", [STRUT, BOX], ids=lambda part: part.name)
def test_svg_outline_read_back(part: TubePart) -> None:
    flat = unroll(part, part.end_b)
    text = svg_text(flat, "T1 end B")
    root = ET.fromstring(text)
    # one unit of the view is one millimetre of paper
    wide = float(root.get("width", "").removesuffix("mm"))
    assert [float(v) for v in root.get("viewBox", "").split()][2] == pytest.approx(wide, abs=1e-9)
    (cut,) = _paths(text, "cut")
    drawn = (cut - cut[0]) * (1, -1)
    outline = part.end_b.outline
    wanted = 1e3 * np.column_stack((outline.abscissa, outline.outer - outline.outer[0]))
    # four decimals of a millimetre stand in the file
    np.testing.assert_allclose(drawn, wanted, atol=2e-4)
    (bar,) = re.findall(r'id="bar-100-mm" d="M0 [\d.]+H(\d+)"', text)
    assert bar == "100"


def test_svg_on_paper_measures_100_mm() -> None:
    """Rendered by another program: the bar is 283.465 pt, 100 mm."""
    text = svg_text(unroll(STRUT, STRUT.end_b), "T1")
    pdf = pymupdf.open("pdf", pymupdf.open("svg", text.encode()).convert_to_pdf())
    lengths = [
        abs(item[2].x - item[1].x)
        for path in pdf[0].get_drawings()
        for item in path["items"]
        if item[0] == "l" and abs(item[2].y - item[1].y) < 0.01
    ]
    assert min(abs(length - 283.465) for length in lengths) < 0.1 * MM


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("part", [STRUT, BOX, SLOTTED], ids=lambda part: part.name)
def test_dxf_is_clean_and_closed(part: TubePart, unit: str) -> None:
    flat = unroll(part, part.end_b)
    text = dxf_text(flat, "T1 end B", unit)
    document, auditor = recover.read(io.BytesIO(text.encode()))
    assert not auditor.errors
    assert document.units == (ezdxf.units.MM if unit == "mm" else ezdxf.units.IN)
    assert {layer.dxf.name for layer in document.layers} >= {"CUT", "HOLES", "BORE", "LINES", "NOTE"}
    space = document.modelspace()
    lines = space.query("LWPOLYLINE")
    cut = [line for line in lines if line.dxf.layer == "CUT"]
    assert cut and all(line.closed for line in lines if line.dxf.layer in ("CUT", "HOLES"))
    assert len({tuple(np.round(np.array(line.get_points("xy")), 6).ravel()) for line in lines}) == len(lines)
    per_mm = 1.0 if unit == "mm" else 1 / 25.4
    kept = Polygon([*flat.cut, (flat.perimeter, flat.kept), (0.0, flat.kept)])
    for loop in flat.loops:
        kept = kept.difference(Polygon(loop))
    area = sum(Polygon(line.get_points("xy")).area for line in cut)
    assert area == pytest.approx(kept.area * per_mm**2, rel=1e-9)


def test_holes_on_the_paper() -> None:
    (opening,) = PIERCED.openings
    flat, lower = unroll_passage(PIERCED, opening)
    assert lower == pytest.approx(min(loop.outer.min() for loop in opening.loops) - 0.018)
    for loop, edge in zip(opening.loops, flat.loops, strict=False):
        turn = 1e3 * TUBE.outline.perimeter
        shift = (1e3 * loop.abscissa - edge[:, 0]) / turn
        np.testing.assert_allclose(shift, np.round(shift[0]), atol=1e-9)
        np.testing.assert_allclose(edge[:, 1], 1e3 * (loop.outer - lower), atol=1e-9)
    document = recover.read(io.BytesIO(dxf_text(flat, "T1 hole 1", "mm").encode()))[0]
    inside = [line for line in document.modelspace().query("LWPOLYLINE") if line.dxf.layer == "HOLES"]
    assert inside and all(line.closed for line in inside)
    assert flat.hatch


@pytest.mark.parametrize(
    "shape", [TUBE, RectangularTube(0.03, 0.035, 0.002, 0.004), RectangularTube(0.03, 0.035, 0.002, 0.0)]
)
def test_paper_goes_farther_round_than_the_tube(shape: object) -> None:
    # Its middle lies half its thickness farther out: once round, 2π of that whatever the shape.
    part = cut_tube("t", shape, (0, 0, 0), (0.4, 0, 0), (0, 0, 1), mitred("b", (-1, 1.5, 0)), square(0))
    bare, wrapped = (unroll(part, part.end_a, paper=paper) for paper in (0.0, 0.2e-3))
    assert wrapped.perimeter - bare.perimeter == pytest.approx(2 * math.pi * 0.1, rel=1e-9)
    np.testing.assert_allclose(wrapped.outer[:, 1], bare.outer[:, 1])
    assert (np.diff(wrapped.outer[:, 0]) >= np.diff(bare.outer[:, 0]) - 1e-12).all()


def test_a_laser_cuts_to_the_clear_line() -> None:
    flat = unroll(STRUT, STRUT.end_b, clear=True)
    assert (flat.cut[:, 1] <= np.minimum(flat.outer[:, 1], flat.inner[:, 1]) + 1e-9).all()
    assert (flat.cut[:, 1] < flat.outer[:, 1] - 0.1).any()


def test_files_of_all_tubes_and_what_the_index_says() -> None:
    parts = CutParts({"strut": PIERCED, "slotted": SLOTTED}, ())
    made = dict(tube_files(parts, Marks({"strut": "T1", "slotted": "T2"}, {}), Ways(), "in"))
    assert list(made) == [
        "tubes/T1-end-A.svg",
        "tubes/T1-end-A.in.dxf",
        "tubes/T1-end-B.svg",
        "tubes/T1-end-B.in.dxf",
        "tubes/T1-hole-1.svg",
        "tubes/T1-hole-1.in.dxf",
        "tubes/T1.in.step",
        "tubes/T2-end-B.svg",
        "tubes/T2-end-B.in.dxf",
        "tubes/T2.in.step",
    ]
    assert made["tubes/T1.in.step"]().startswith(b"ISO-10303-21;")
    assert made["tubes/T1-end-A.svg"]().startswith(b"<svg")
    assert about_tube_file("tubes/T1.in.step").endswith("coordinates in in")
    assert "1:1" in about_tube_file("tubes/T1-end-A.svg")


def test_a_tube_without_its_exact_solid_says_why() -> None:
    from dataclasses import replace

    odd = replace(STRUT, volume=1.01 * STRUT.volume)
    made = dict(tube_files(CutParts({"strut": odd}, ()), Marks({"strut": "T1"}, {}), Ways(), "mm"))
    assert b"strut: its exact solid comes out" in made["tubes/T1-no-step.txt"]()
    assert about_tube_file("tubes/T1-no-step.txt") == "why there is no STEP file of this tube"


def _pdf(part: TubePart, paper: str, ways: Ways | None = None) -> pymupdf.Document:
    show = Show.model_construct(paper=paper)
    described = Job.model_construct(title="t", date=None, show=show)
    said = {part.name: TubeWords("T1", "S355", 1.0, ("here", "there"))}
    words = Words.of(show)
    pages = template_pages((part,), said, words, paper_of(show), ways or Ways())
    return pymupdf.open(
        stream=typeset("templates", {"head": head(described, units=words.names), "pages": pages})
    )


@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 210.0, 297.0), ("Letter", 215.9, 279.4)])
def test_field_case_a_wrap_longer_than_the_sheet(paper: str, width: float, height: float) -> None:
    """4 in outside is 319.19 mm long: split, never shrunk; whole sheets; their number said first."""
    shape = RoundTube(101.6e-3, 3e-3)
    part = cut_tube(
        "wide", shape, (0, 0, 0), (0.8, 0, 0), (0, 0, 1), square(0.0), mitred("b", (0.0, 1.0, 0.0))
    )
    opened_pdf = _pdf(part, paper)
    assert "sheet 1 of 3 for T1" in opened_pdf[0].get_text()
    drawn = []
    for page in opened_pdf:
        box = page.mediabox
        assert (box.width / MM, box.height / MM) == pytest.approx((width, height), abs=0.01)
        for path in page.get_drawings():
            if path["width"] == pytest.approx(0.7 * MM, rel=1e-3) and len(path["items"]) > 50:
                points = [path["items"][0][1], *(item[2] for item in path["items"])]
                drawn.append(np.array([(p.x, p.y) for p in points]) / MM)
    for path in drawn:
        # every sheet draws the whole line at the one scale, and shows its own window of it
        assert np.ptp(path[:, 0]) == pytest.approx(319.19, abs=0.01)
        assert np.ptp(path[:, 1]) == pytest.approx(101.6, abs=0.01)
    assert len(drawn) >= 3


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_field_case_the_bar_is_100_mm(paper: str) -> None:
    """72 against 96 to the inch makes 113 of 85: the bar is 283.465 pt in the page."""
    for page in _pdf(PIERCED, paper, Ways(paper=0.1e-3)):
        found = [
            item[2].x - item[1].x
            for path in page.get_drawings()
            for item in path["items"]
            if item[0] == "l" and abs(item[2].y - item[1].y) < 1e-3
        ]
        assert min(abs(length - 283.465) for length in found) < 0.1 * MM


def test_field_case_an_outline_on_paper_with_its_allowance() -> None:
    page = _pdf(STRUT, "A4", Ways(paper=0.2e-3))[0]
    lengths = [
        np.ptp([p.x for item in path["items"] for p in item[1:]]) / MM
        for path in page.get_drawings()
        if path["width"] == pytest.approx(0.7 * MM, rel=1e-3) and len(path["items"]) > 50
    ]
    assert lengths == pytest.approx([math.pi * 38.3] * 2, abs=0.01)
