"""Outlines from DXF files: units, versions, arcs, blocks, lines drawn twice, gaps, damage."""

import io
import math

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.parts import contour as outlines
from soapstone.parts.contour import Arc, Line
from soapstone.parts.dxf_pieces import Drawn, Reader, arc_between
from soapstone.parts.dxf_tags import read_drawing
from soapstone.parts.outline_in import CHORD_ERROR, OutlineIn, chain, read_outline, round_hole, turned
from soapstone.parts.overlaps import without_doubles
from soapstone.parts.plates import PlateOutline
from soapstone.shop.dxf import plate_dxf

MM = 1e-3


def ascii_of(document: Drawing) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def binary_of(document: Drawing) -> bytes:
    stream = io.BytesIO()
    document.write(stream, fmt="bin")
    return stream.getvalue()


def drawing(version: str = "R2010", units: int = 4) -> Drawing:
    return ezdxf.new(version, units=units)


def size(contour: outlines.Contour) -> tuple[float, float]:
    left, bottom, right, top = outlines.bounds(contour)
    return (right - left) / MM, (top - bottom) / MM


def box_lines(space: object, corners: list[tuple[float, float]]) -> None:
    for one, other in zip(corners, [*corners[1:], corners[0]], strict=True):
        space.add_line(one, other)  # type: ignore[attr-defined]


RECTANGLE = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]


def net_area(outline: OutlineIn) -> float:
    inner = sum(math.pi / 4 * hole.diameter**2 for hole in outline.holes)
    inner += sum(abs(outlines.moments(cut)[0]) for cut in outline.cutouts)
    return (outlines.moments(outline.contour)[0] - inner) / MM**2


def test_a_circle_of_two_bulges_in_inches() -> None:
    """$INSUNITS 1, two corners, bulge 1 at both: a 0.050 in hole at (1.102, 1.3155) in."""
    document = drawing(units=1)
    space = document.modelspace()
    space.add_lwpolyline([(1.077, 1.3155, 1), (1.127, 1.3155, 1)], format="xyb", close=True)
    outline = read_outline(ascii_of(document))
    assert (outline.unit, outline.unit_from, outline.holes, outline.cutouts) == ("in", "the file", (), ())
    hole = round_hole(outline.contour)
    assert hole is not None
    assert hole.diameter / MM == pytest.approx(1.270, abs=1e-9)
    assert hole.centre == pytest.approx((27.9908 * MM, 33.4137 * MM), abs=1e-9)
    assert net_area(outline) == pytest.approx(1.2668, abs=5e-5)
    space.add_lwpolyline([(0, 0), (3, 0), (3, 3), (0, 3)], close=True)
    inside = read_outline(ascii_of(document))
    assert [h.diameter for h in inside.holes] == pytest.approx([1.27 * MM])


def test_a_slot_reaches_beyond_its_corners() -> None:
    document = drawing()
    corners = [(0, 0.5, 0), (-1.5, 0.5, 1), (-1.5, -0.5, 0), (0, -0.5, 1)]
    document.modelspace().add_lwpolyline(corners, format="xyb", close=True)
    outline = read_outline(ascii_of(document))
    left, _, right, _ = outlines.bounds(outline.contour)
    assert (left / MM, right / MM) == pytest.approx((-2.0, 0.5), abs=1e-9)
    assert net_area(outline) == pytest.approx(1.5 + math.pi / 4, rel=1e-9)
    assert outlines.length(outline.contour) / MM == pytest.approx(3 + math.pi, rel=1e-9)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_bulge_past_half_a_turn(way: float) -> None:
    """Bulge 2 over a chord of 10: radius 6.25, 253.740°, 27.679 long, 10 deep; minus is the other side."""
    arc = arc_between((0.0, 0.0), (10.0, 0.0), 4 * math.atan(2 * way))
    assert isinstance(arc, Arc)
    assert arc.radius == pytest.approx(6.25, rel=1e-12)
    assert math.degrees(arc.end_angle - arc.start_angle) == pytest.approx(way * 253.740, abs=5e-4)
    assert arc.length == pytest.approx(27.679, abs=5e-4)
    left, bottom, right, top = outlines.bounds((arc,))
    assert (left, right) == pytest.approx((-1.25, 11.25), abs=1e-9)
    assert (bottom, top) == pytest.approx((-10.0, 0.0) if way > 0 else (0.0, 10.0), abs=1e-9)


def test_lines_drawn_twice_are_named_and_left_off() -> None:
    document = drawing()
    space = document.modelspace()
    box_lines(space, RECTANGLE)
    for one, other in (((0, 0), (100, 0)), ((100, 0), (0, 0)), ((0, 60), (50, 60)), ((7, 8), (7, 8))):
        space.add_line(one, other)
    outline = read_outline(ascii_of(document))
    assert outlines.length(outline.contour) / MM == pytest.approx(320.0)
    kinds = [told.partition(": ")[2] for told in outline.left_off]
    assert [kind.split(" from ")[0].split(" at ")[0] for kind in kinds] == [
        "copy",
        "reversed copy",
        "overlap of 50 mm",
        "zero length",
    ]
    assert "(0, 0) mm to (100, 0) mm" in kinds[0] and "(7, 8) mm" in kinds[3]
    plate = PlateOutline("cover", outline.contour, outline.holes, 2 * MM)
    again = ezdxf.read(io.StringIO(plate_dxf(plate, "mm")))
    assert [entity.dxftype() for entity in again.modelspace()] == ["LWPOLYLINE"]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 0.9), st.floats(0.05, 1.0), st.booleans()), max_size=6),
    st.lists(st.tuples(st.floats(-7, 7), st.floats(0.1, 6.0)), max_size=4),
    st.randoms(use_true_random=False),
)
def test_whatever_is_drawn_over_an_outline_the_outline_is_left(lines, arcs, order) -> None:  # type: ignore[no-untyped-def]
    """A stadium with pieces of its own edges drawn over it, forwards and backwards, in any order."""
    left, right = Line((0.0, 0.02), (0.0, -0.02)), Line((0.1, -0.02), (0.1, 0.02))
    top = Arc((0.05, 0.02), 0.05, 0.0, math.pi)
    bottom = Arc((0.05, -0.02), 0.05, math.pi, 2 * math.pi)
    drawn = [Drawn(piece, f"piece {number}") for number, piece in enumerate((left, right, top, bottom))]
    for start, share, back in lines:
        ends = [(0.0, 0.02 - 0.04 * start), (0.0, 0.02 - 0.04 * min(1.0, start + share))]
        drawn.append(Drawn(Line(*(reversed(ends) if back else ends)), "over"))
    for start, sweep in arcs:
        low = start % math.pi
        high = min(math.pi, low + sweep)
        drawn.append(Drawn(Arc((0.05, 0.02), 0.05, high, low), "over"))
    order.shuffle(drawn)
    clean, told = without_doubles(drawn, 2e-5)
    assert len(told) >= len(drawn) - 4
    (contour,) = chain(clean)
    # pieces shorter than the join of 0.02 mm may be left off whole
    assert outlines.length(contour) == pytest.approx(0.08 + 0.1 * math.pi, abs=1e-4)
    assert abs(outlines.moments(contour)[0]) == pytest.approx(0.004 + math.pi * 0.0025, abs=1e-5)


def test_an_array_of_holes_in_a_block_of_no_height() -> None:
    """An insert with a z scale of 0 whose block holds the outline and a row of 14 holes at −0.5 in."""
    document = drawing(units=1)
    hole = document.blocks.new("HOLE")
    hole.add_circle((0, 0), 0.13)
    strip = document.blocks.new("STRIP", base_point=(1, 1))
    box_lines(strip, [(1, 1), (2.852, 1), (2.852, 8.25), (1, 8.25)])
    row = strip.add_blockref("HOLE", (1.375, 7.875))
    row.dxf.row_count, row.dxf.row_spacing = 14, -0.5
    whole = document.modelspace().add_blockref("STRIP", (-11, -13))
    whole.dxf.zscale = 0
    outline = read_outline(ascii_of(document))
    assert size(outline.contour) == pytest.approx((1.852 * 25.4, 7.25 * 25.4))
    assert len(outline.holes) == 14
    assert {round(hole.diameter / MM, 6) for hole in outline.holes} == {6.604}
    heights = sorted(hole.centre[1] / MM for hole in outline.holes)
    assert np.diff(heights) == pytest.approx([12.7] * 13)
    nearest = min(outlines.distance(outline.contour, hole.centre) for hole in outline.holes)
    assert nearest / MM == pytest.approx(9.525)


@pytest.mark.parametrize("turn", [0.0, 37.0, 200.0])
@pytest.mark.parametrize(("across", "up"), [(1.0, 1.0), (-2.0, 2.0), (1.5, -1.5), (2.0, 0.5)])
def test_blocks_are_placed_as_another_reader_places_them(turn: float, across: float, up: float) -> None:
    document = drawing()
    block = document.blocks.new("B", base_point=(3, 4))
    block.add_lwpolyline([(0, 0, 0.5), (30, 0, 0), (30, 20, -0.3), (0, 20, 0)], format="xyb", close=True)
    reference = document.modelspace().add_blockref("B", (50, 60))
    reference.dxf.rotation, reference.dxf.xscale, reference.dxf.yscale = turn, across, up
    mine = read_outline(ascii_of(document))
    parts = list(reference.virtual_entities())
    flat = [v for part in parts for v in _flattened(part)]
    low, high = np.min(flat, axis=0), np.max(flat, axis=0)
    # both are chords within a hundredth of a millimetre where circles become ellipses
    assert size(mine.contour) == pytest.approx(tuple(high - low), abs=0.03)


def _flattened(entity) -> list[tuple[float, float]]:  # type: ignore[no-untyped-def]
    from ezdxf.path import make_path

    return [(v.x, v.y) for v in make_path(entity).flattening(0.005)]


VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("form", [ascii_of, binary_of])
def test_every_version_text_or_binary_gives_one_outline(version: str, form) -> None:  # type: ignore[no-untyped-def]
    document = drawing(version)
    space = document.modelspace()
    corners = [(0, 0, 0), (100, 0, 0.41421356), (120, 20, 0), (120, 60, 0), (0, 60, 0)]
    if version == "R12":
        space.add_polyline2d(corners, format="xyb", close=True)
    else:
        space.add_lwpolyline(corners, format="xyb", close=True)
    space.add_circle((30, 30), 8)
    outline = read_outline(form(document), "mm")
    assert size(outline.contour) == pytest.approx((120.0, 60.0))
    assert [round(h.diameter / MM, 9) for h in outline.holes] == [16.0]
    area = 100 * 60 + 20 * 40 + 20 * 20 - (1 - math.pi / 4) * 400
    assert net_area(outline) == pytest.approx(area - math.pi * 64, abs=1e-4)  # the bulge has nine digits


def test_a_file_without_a_header_is_asked_its_unit() -> None:
    tags = "0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n90\n4\n70\n1\n"
    for x, y, bulge in ((0, 0, 0), (100, 0, 0.41421356), (120, 20, 0), (0, 60, 0)):
        tags += f"10\n{x}\n20\n{y}\n" + (f"42\n{bulge}\n" if bulge else "")
    data = (tags + "0\nENDSEC\n0\nEOF\n").encode()
    with pytest.raises(GeometryError, match=r"does not say in what unit.*unit: mm"):
        read_outline(data)
    outline = read_outline(data, "mm")
    arcs = [piece for piece in outline.contour if isinstance(piece, Arc)]
    assert [round(arc.radius / MM, 3) for arc in arcs] == [20.0]
    _, _, right, top = outlines.bounds(outline.contour)
    assert (right / MM, top / MM) == pytest.approx((120.0, 60.0), abs=1e-6)


def test_our_own_r12_in_inches_reads_back() -> None:
    outline = PlateOutline("cover", read_outline(_rectangle_file()).contour, (), 2 * MM)
    text = plate_dxf(outline, "in", "R12")
    kinds = {entity.dxftype() for entity in ezdxf.read(io.StringIO(text)).modelspace()}
    assert kinds == {"POLYLINE"} and "$INSUNITS" not in text
    again = read_outline(text.encode(), "in")
    assert size(again.contour) == pytest.approx((100.0, 60.0), abs=1e-9)
    with pytest.raises(GeometryError, match="unit"):
        read_outline(text.encode())


def _rectangle_file(units: int = 4) -> bytes:
    document = drawing(units=units)
    box_lines(document.modelspace(), RECTANGLE)
    return ascii_of(document)


def test_the_jobs_unit_wins_and_the_difference_is_told() -> None:
    outline = read_outline(_rectangle_file(units=1), "mm")
    assert size(outline.contour) == pytest.approx((100.0, 60.0))
    assert outline.notes == ("the file says in and the job mm: the job's counts",)


@pytest.mark.parametrize("gap", [0.5, 0.05])
def test_an_open_outline_is_named_by_place(gap: float) -> None:
    document = drawing()
    box_lines(document.modelspace(), RECTANGLE)
    last = document.modelspace()[-1]
    last.dxf.end = (0.0, gap)
    with pytest.raises(GeometryError) as caught:
        read_outline(ascii_of(document))
    assert "open at (0, 0) mm" in str(caught.value) and f"(0, {gap:g}) mm" in str(caught.value)
    assert f"{gap:g} mm apart" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_ends_nearer_than_a_cutter_holds_are_joined_exactly() -> None:
    document = drawing()
    space = document.modelspace()
    box_lines(space, RECTANGLE)
    space[0].dxf.end = (100.0, 0.008)
    outline = read_outline(ascii_of(document))
    assert outlines.widest_gap(outline.contour) < 1e-12


def test_splines_and_ellipses_keep_within_the_chord_error() -> None:
    document = drawing()
    space = document.modelspace()
    space.add_ellipse((0, 0), (50, 10), 0.4)
    outline = read_outline(ascii_of(document))
    major, minor = math.hypot(50, 10), 0.4 * math.hypot(50, 10)
    angle = math.atan2(10, 50)
    worst = 0.0
    for piece in outline.contour:
        for share in np.linspace(0, 1, 5):
            point = (1 - share) * np.array(piece.start) + share * np.array(piece.end)
            x, y = point / MM @ [[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]]
            f = (x / major) ** 2 + (y / minor) ** 2 - 1
            grad = 2 * math.hypot(x / major**2, y / minor**2)
            worst = max(worst, abs(f) / grad)
    # 2049 points stand for the ellipse: their own chords are off by another 6e-5 mm
    assert worst * MM < 1.02 * CHORD_ERROR
    assert outline.notes == ("1 splines and ellipses cut as straight chords within 0.01 mm",)


def test_a_rational_spline_is_a_circle() -> None:
    document = drawing()
    spline = document.modelspace().add_spline(degree=2)
    half = math.sqrt(0.5)
    ring = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    spline.control_points = [(20 * x, 20 * y, 0) for x, y in ring]
    spline.weights = [1, half, 1, half, 1, half, 1, half, 1]
    spline.knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    outline = read_outline(ascii_of(document))
    radii = [math.hypot(*piece.start) / MM for piece in outline.contour]
    assert radii == pytest.approx([20.0] * len(radii), abs=1e-9)
    assert net_area(outline) == pytest.approx(400 * math.pi, rel=1e-3)


def test_an_empty_model_space_says_where_the_drawing_is() -> None:
    document = drawing()
    box_lines(document.layouts.new("Sheet2"), RECTANGLE)
    with pytest.raises(GeometryError, match=r"nothing in model space.*4 in the paper layout 'Sheet2'"):
        read_outline(ascii_of(document))
    with pytest.raises(GeometryError, match="draws no line"):
        read_outline(ascii_of(drawing()))


def test_text_and_dimensions_are_counted_not_cut() -> None:
    document = drawing()
    box_lines(document.modelspace(), RECTANGLE)
    document.modelspace().add_text("cut me")
    document.modelspace().add_point((1, 1))
    assert read_outline(ascii_of(document)).notes == ("1 POINT not cut", "1 TEXT not cut")


def test_drawn_from_behind_is_mirrored() -> None:
    document = drawing()
    space = document.modelspace()
    box_lines(space, RECTANGLE)
    circle = space.add_circle((-20, 30), 5)
    circle.dxf.extrusion = (0, 0, -1)
    assert read_outline(ascii_of(document)).holes[0].centre == pytest.approx((20 * MM, 30 * MM))


def damaged(old: str, new: str) -> bytes:
    document = drawing()
    space = document.modelspace()
    box_lines(space, RECTANGLE)
    space.add_arc((50, 30), 5, 0, 90)
    space.add_spline([(0, 0), (5, 5), (9, 0)], degree=2)
    text = ascii_of(document).decode()
    entities = text.index("ENTITIES")
    assert old in text[entities:]
    return (text[:entities] + text[entities:].replace(old, new, 1)).encode()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "AcDbCircle\n 10\n50.0\n 20\n30.0\n 30\n0.0\n 40\n5.0\n",
            "AcDbCircle\n 10\n50.0\n 20\n30.0\n",
            "its ARC at line .* no group 40",
        ),
        (
            "AcDbCircle\n 10\n50.0\n 20\n30.0\n 30\n0.0\n 40\n5.0\n",
            "AcDbCircle\n 10\nfive\n 20\n30.0\n 40\n5.0\n",
            "its ARC .* has 'five' for a number",
        ),
        (
            "AcDbCircle\n 10\n50.0\n 20\n30.0\n 30\n0.0\n 40\n5.0\n",
            "AcDbCircle\n 10\n50.0\n 20\n30.0\n 40\n-5.0\n",
            "has no radius",
        ),
        ("AcDbLine\n 10\n", "AcDbLine\nten\n", "line \\d+ has 'ten' where a group code"),
        ("AcDbSpline\n 70\n", "AcDbSpline\n 70\n", "no control points"),
    ],
)
def test_damage_is_told_in_one_line(old: str, new: str, told: str) -> None:
    with pytest.raises(GeometryError, match=told) as caught:
        read_outline(damaged(old, new))
    assert "\n" not in str(caught.value) and "save" in str(caught.value)


@pytest.mark.parametrize(
    "data", [b"", b"not a drawing at all", b"AutoCAD Binary DXF\r\n\x1a\x00\x00SEC", b"%PDF-1.7\n%..."]
)
def test_no_dxf_at_all_is_told_in_one_line(data: bytes) -> None:
    with pytest.raises(GeometryError) as caught:
        read_outline(data)
    assert "\n" not in str(caught.value)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 100), st.integers(1, 40))
def test_a_file_cut_short_or_garbled_never_ends_in_a_traceback(start: int, length: int) -> None:
    for whole in (_rectangle_file(), binary_of(_spline_drawing())):
        first = len(whole) * start // 100
        for data in (whole[:first], whole[:first] + b"\x00?\xff"[: length % 4] + whole[first + length :]):
            try:
                read_outline(data, "mm")
            except GeometryError as error:
                assert "\n" not in str(error)


def _spline_drawing() -> Drawing:
    document = drawing()
    document.modelspace().add_lwpolyline([(0, 0), (9, 0), (5, 5)], close=True)
    return document


def test_two_plates_an_island_and_crossing_cuts_are_refused() -> None:
    def read(*boxes: tuple[float, float, float, float]) -> OutlineIn:
        document = drawing()
        for x, y, w, h in boxes:
            box_lines(document.modelspace(), [(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
        return read_outline(ascii_of(document))

    with pytest.raises(GeometryError, match=r"more than one plate.*\(200, 0\) mm"):
        read((0, 0, 100, 60), (200, 0, 20, 20))
    with pytest.raises(GeometryError, match="would fall out"):
        read((0, 0, 100, 60), (10, 10, 40, 40), (20, 20, 5, 5))
    with pytest.raises(GeometryError, match="run together"):
        read((0, 0, 100, 60), (10, 10, 20, 20), (20, 20, 20, 20))
    with pytest.raises(GeometryError, match="runs into the outside"):
        read((0, 0, 100, 60), (90, 10, 20, 20))
    good = read((0, 0, 100, 60), (10, 10, 20, 20))
    assert (
        len(good.cutouts) == 1
        and outlines.moments(good.cutouts[0])[0] < 0 < outlines.moments(good.contour)[0]
    )
    assert outlines.moments(turned(good.contour, left=False))[0] < 0


def test_a_block_inside_itself_is_refused() -> None:
    document = drawing()
    block = document.blocks.new("LOOP")
    block.add_line((0, 0), (1, 0))
    block.add_blockref("LOOP", (1, 1))
    document.modelspace().add_blockref("LOOP", (0, 0))
    with pytest.raises(GeometryError, match="stands inside itself"):
        read_outline(ascii_of(document))
    reader = Reader(read_drawing(_rectangle_file()), 0.01)
    assert len(reader.pieces()) == 4 and reader.left_out == {}
