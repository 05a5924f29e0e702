"""Plates that a job lists: shapes by hand, holes where they are said, walls of cut-outs, cutting."""

import io
import math
from pathlib import Path

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError, JobError
from soapstone.finding import Verdict
from soapstone.job.load import load_text
from soapstone.job.schema import Job
from soapstone.parts import contour as outlines
from soapstone.parts.axes import Axes
from soapstone.parts.contours import gusset, rectangle, rounded, slot
from soapstone.parts.plate_parts import MadePlate, plate_parts
from soapstone.parts.plates import Hole, PlateOutline
from soapstone.parts.shop_parts import least_web, shop_findings, shop_parts
from soapstone.parts.strokes import strokes, width_of
from soapstone.shop.dxf import plate_dxf

HEAD = """
soapstone: 1
title: Plates (invented)
invented: yes
datum: {origin: anywhere, state: standing}
points: {A: {at: [0 mm fwd, 0 mm left, 0 mm up]}}
stock:
  box: {tube: 50 x 30 x 2.5 mm, of: S235}
  main: {tube: 42.4 x 2.6 mm, of: S235}
service: {cases: {own weight: from table}}
"""


def job(lines: str, folder: Path = Path()) -> Job:
    return load_text(HEAD + lines, folder)


def plates(lines: str, folder: Path = Path()) -> dict[str, MadePlate]:
    return {made.name: made for made in plate_parts(job("plates:\n" + lines, folder))}


@settings(max_examples=50, deadline=None)
@given(st.floats(0.02, 0.3), st.floats(0.02, 0.3), st.floats(0.0, 0.0099), st.floats(-1, 1), st.floats(-1, 1))
def test_a_rounded_rectangle_is_exact(width: float, height: float, r: float, x: float, y: float) -> None:
    contour = rectangle("plate", width, height, r, (x, y))
    area, centre = outlines.moments(contour)
    assert area == pytest.approx(width * height - (4 - math.pi) * r * r, rel=1e-9)
    assert centre == pytest.approx((x, y), abs=1e-9)
    assert outlines.widest_gap(contour) < 1e-12
    assert outlines.length(contour) == pytest.approx(2 * (width + height) - (8 - 2 * math.pi) * r, rel=1e-9)
    assert outlines.bounds(contour) == pytest.approx(
        (x - width / 2, y - height / 2, x + width / 2, y + height / 2), abs=1e-12
    )


@settings(max_examples=50, deadline=None)
@given(st.floats(0.004, 0.03), st.floats(0.001, 0.05), st.floats(-3, 3))
def test_a_slot_is_exact(wide: float, more: float, angle: float) -> None:
    contour = slot((0.1, -0.2), wide, wide + more, angle)
    area, centre = outlines.moments(contour)
    assert area == pytest.approx(wide * more + math.pi / 4 * wide**2, rel=1e-9)
    assert centre == pytest.approx((0.1, -0.2), abs=1e-12)
    assert outlines.widest_gap(contour) < 1e-12


@settings(max_examples=50, deadline=None)
@given(
    st.floats(0.05, 0.3),
    st.floats(0.05, 0.3),
    st.floats(0.0, 0.02),
    st.floats(0.0, 0.015),
    st.floats(0.8, 2.2),
)
def test_a_gusset_keeps_its_legs_and_its_noses(
    along: float, up: float, clip: float, nose: float, angle: float
) -> None:
    contour = gusset("gusset", along, up, clip, nose, angle)
    area, _ = outlines.moments(contour)
    c, s = math.cos(angle), math.sin(angle)
    corners = [(clip, 0.0), (along, 0.0), (along, nose), (up * c + nose * s, up * s - nose * c)]
    corners += [(up * c, up * s), (clip * c, clip * s)]
    shoelace = (
        sum(a * d - b * c_ for (a, b), (c_, d) in zip(corners, [*corners[1:], corners[0]], strict=True)) / 2
    )
    assert area == pytest.approx(shoelace, rel=1e-9)
    assert area > 0


def test_rounded_inner_corners_turn_the_other_way() -> None:
    """An L: five outside corners and one inside, all rounded by 5 mm: (5 − 1) (1 − π/4) r² less."""
    corners = [(0, 0), (0.1, 0), (0.1, 0.04), (0.04, 0.04), (0.04, 0.1), (0, 0.1)]
    area, _ = outlines.moments(rounded("l", corners, [0.005] * 6))
    assert area == pytest.approx(0.0064 - 4 * (1 - math.pi / 4) * 0.005**2, rel=1e-12)
    with pytest.raises(GeometryError, match="too short for its rounded"):
        rounded("l", corners, [0.035] * 6)


def test_a_plate_with_a_cutout_is_exact_and_closed() -> None:
    window = rectangle("w", 0.04, 0.02, 0.003)
    plate = PlateOutline(
        "p", rectangle("p", 0.1, 0.06), (Hole((0.04, 0.02), 0.01),), 0.004, cutouts=(window,)
    )
    expected = 0.006 - math.pi / 4 * 1e-4 - (0.0008 - (4 - math.pi) * 9e-6)
    assert plate.area == pytest.approx(expected, rel=1e-12)
    mesh = plate.solid(Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)), 1e-6)
    assert mesh.is_closed()
    assert mesh.volume == pytest.approx(expected * 0.004, rel=1e-5)
    assert plate.cut_length == pytest.approx(0.32 + math.pi * 0.01 + outlines.length(window))
    assert plate.edge_distance(plate.holes[0]).to_centre == pytest.approx(0.01)
    near = PlateOutline("p", plate.contour, (Hole((0.03, 0.0), 0.01),), 0.004, cutouts=(window,))
    assert near.edge_distance(near.holes[0]).to_centre == pytest.approx(0.01)
    assert least_web(near)[0] == pytest.approx(0.005, abs=1e-5)


@pytest.mark.parametrize(
    ("at", "told"), [((0.04, 0.0), "does not fit inside"), ((0.0, 0.0), "runs into another")]
)
def test_cutouts_that_do_not_fit_are_named(at: tuple[float, float], told: str) -> None:
    hole = Hole((0.0, 0.015), 0.01)
    with pytest.raises(GeometryError, match=told):
        PlateOutline(
            "p", rectangle("p", 0.1, 0.06), (hole,), 0.004, cutouts=(rectangle("w", 0.04, 0.03, 0, at),)
        )


def test_holes_of_a_strip_lie_where_they_were_said() -> None:
    """On leg 2 of a channel, 30 mm from its outside corner: before it lie the first leg and half a bend.

    Folded up and measured, the hole's middle is 30 mm from the outside of leg 1.
    """
    made = plates(
        "  u: {strip: 60 mm, legs: [40 mm, 90 mm, 40 mm], folds: [90 deg up, 90 deg up], inside radius: 4 mm,"
        " plate: 3 mm S235, k factor: 0.5, holes: [{leg: 2, at: [30 mm, 5 mm], for: M10},"
        " {leg: 1, at: [18 mm, 0 mm], diameter: 8 mm}]}\n"
    )["u"]
    assert made.flat is not None
    two, one = made.plate.outline.holes
    assert one.centre == pytest.approx((0.018, 0.0))
    assert two.centre == pytest.approx((0.033 + math.pi / 2 * 0.0055 + 0.030 - 0.007, 0.005))
    assert two.diameter == pytest.approx(0.011)
    lines = made.plate.outline.bend_lines
    assert [line.start[0] for line in lines] == pytest.approx(list(made.flat.lines))
    assert sorted(line.number for line in lines) == [1, 2]
    assert made.plate.outline.bounds[2] == pytest.approx(made.flat.length)


def test_an_inner_wall_goes_once_round_its_cutout() -> None:
    """Straights 2 (90 + 70) − 8 r with r 12, and a whole turn of the neutral line of its four bends."""
    made = plates(
        "  carrier: {rectangle: 180 mm x 140 mm, plate: 5 mm S235, quantity: 2, cut outs: [{at: "
        "[0 mm, -10 mm],"
        " size: 90 mm x 70 mm, corners: 12 mm, inner wall: 25 mm, wall: 3 mm S355}]}\n"
    )
    wall = made["carrier-wall-1"]
    assert wall.plate.material == "S355" and wall.plate.quantity == 2 and wall.wall_of == "carrier"
    assert wall.flat is not None
    straight = 2 * (0.090 + 0.070) - 8 * 0.012
    # DIN 6935 for r/s = 3: k = 0.8886 puts the line at 0.444 of the thickness instead of a half
    k = (0.65 + 0.5 * math.log10(3.0)) / 2
    assert wall.flat.length == pytest.approx(straight + 2 * math.pi * (0.009 + k * 0.003), rel=1e-9)
    left, bottom, right, top = wall.plate.outline.bounds
    assert (right - left, top - bottom) == pytest.approx((wall.flat.length, 0.025))


def test_the_dxf_of_a_folded_plate_keeps_bends_and_mark_off_the_cut() -> None:
    made = plates(
        "  u: {strip: 60 mm, legs: [40 mm, 90 mm], folds: [90 deg up], inside radius: 4 mm, plate: 3 mm S235,"
        " holes: [{leg: 2, at: [50 mm, 0 mm], diameter: 9 mm, slot: 20 mm}]}\n"
    )["u"]
    document = ezdxf.read(io.StringIO(plate_dxf(made.plate.outline, "mm")))
    assert document.audit().errors == []
    kinds = {(e.dxf.layer, e.dxftype()) for e in document.modelspace()}
    assert kinds == {("CUT", "LWPOLYLINE"), ("HOLES", "LWPOLYLINE"), ("BEND", "LINE"), ("ETCH", "LINE")}
    assert all(e.closed for e in document.modelspace().query("LWPOLYLINE"))


def test_a_mark_finds_room_or_is_left_out() -> None:
    big = plates(
        "  foot: {rectangle: 80 mm x 60 mm, plate: 4 mm S235, holes: [{at: [-25 mm, -20 mm], for: M8}]}\n"
    )
    outline = big["foot"].plate.outline
    assert outline.mark == "foot"
    for stroke in strokes(outline.mark, outline.mark_at, 5e-3):
        for point in stroke:
            assert outlines.encloses(outline.contour, point)
            assert math.dist(point, outline.holes[0].centre) > outline.holes[0].diameter / 2 + 1e-3
    small = plates(
        "  foot: {rectangle: 8 mm x 8 mm, plate: 4 mm S235}\n  b: {rectangle: 80 mm x 60 mm, "
        "plate: 4 mm S235, etch: no}\n"
    )
    assert [made.plate.outline.mark for made in small.values()] == ["", ""]


def test_strokes_stay_in_their_box() -> None:
    text = "AZ-09_./x"
    points = [p for stroke in strokes(text, (0.1, 0.2), 6e-3) for p in stroke]
    assert (
        min(x for x, _ in points) >= 0.1 and max(x for x, _ in points) <= 0.1 + width_of(text, 6e-3) + 1e-12
    )
    assert (min(y for _, y in points), max(y for _, y in points)) == pytest.approx((0.2, 0.206))
    assert width_of("", 6e-3) == 0.0 and strokes("é", (0, 0), 1e-3) == []


def findings(lines: str, folder: Path = Path()) -> dict[str, Verdict]:
    return {finding.id: finding.verdict for finding in shop_findings(shop_parts(job(lines, folder)))}


def test_small_holes_and_thin_webs_are_told_by_the_way_they_are_cut() -> None:
    plate = (
        "plates: {{p: {{rectangle: 80 mm x 60 mm, plate: 6 mm S235, cut by: {by}, holes: "
        "[{{at: [0 mm, {y}], diameter: {d}}}]}}}}\n"
    )
    good = findings(plate.format(by="laser", y="0 mm", d="7 mm"))
    assert set(good.values()) == {Verdict.HOLDS} and set(good) == {"cut-hole:p", "cut-web:p"}
    assert findings(plate.format(by="laser", y="0 mm", d="5 mm"))["cut-hole:p"] is Verdict.SHORT
    assert findings(plate.format(by="plasma", y="0 mm", d="7 mm"))["cut-hole:p"] is Verdict.SHORT
    assert findings(plate.format(by="laser", y="22 mm", d="7 mm"))["cut-web:p"] is Verdict.SHORT
    assert findings(plate.format(by="laser", y="20 mm", d="7 mm"))["cut-web:p"] is Verdict.HOLDS


def test_sharp_folds_short_legs_and_near_holes_are_told() -> None:
    strip = (
        "plates: {{u: {{strip: 60 mm, legs: [{leg}, 90 mm], folds: [90 deg up], inside radius: "
        "{r}, plate: 3 mm S235,"
        " holes: [{{leg: 2, at: [{x}, 0 mm], diameter: 8 mm}}]}}}}\n"
    )
    good = findings(strip.format(leg="40 mm", r="4 mm", x="30 mm"))
    assert set(good) == {"fold-radius:u", "fold-leg:u", "fold-hole:u"} and set(good.values()) == {
        Verdict.HOLDS
    }
    assert findings(strip.format(leg="40 mm", r="2 mm", x="30 mm"))["fold-radius:u"] is Verdict.SHORT
    assert findings(strip.format(leg="9 mm", r="4 mm", x="30 mm"))["fold-leg:u"] is Verdict.SHORT
    # bend ends 7 mm from the corner, the rim lies 16 − 4 − 7 = 5 mm off, and 6 are asked
    assert findings(strip.format(leg="40 mm", r="4 mm", x="16 mm"))["fold-hole:u"] is Verdict.SHORT


def _drawing(folder: Path, units: int, *, twice: bool = False) -> None:
    document = ezdxf.new("R2010", units=units)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 60), (0, 60)], close=True)
    space.add_circle((30, 30), 6)
    if twice:
        space.add_line((0, 0), (100, 0))
    document.saveas(folder / "cover.dxf")


def test_a_users_outline_becomes_a_plate(tmp_path: Path) -> None:
    _drawing(tmp_path, 4, twice=True)
    lines = (
        "plates: {cover: {outline: cover.dxf, plate: 2 mm S235, holes: [{at: [80 mm, 30 mm], for: M6}]}}\n"
    )
    parts = shop_parts(job(lines, tmp_path))
    outline = parts.plates[0].plate.outline
    assert outline.area == pytest.approx(0.006 - math.pi / 4 * (0.012**2 + 0.0066**2))
    (finding,) = shop_findings(parts)
    assert finding.id == "outline:cover" and finding.verdict is Verdict.HOLDS
    assert "copy" in finding.caution and "100.000 x 60.000 mm" in finding.claim


def test_a_unit_that_differs_is_open_and_a_missing_one_asked(tmp_path: Path) -> None:
    _drawing(tmp_path, 1)
    told = findings("plates: {cover: {outline: cover.dxf, unit: mm, plate: 2 mm S235}}\n", tmp_path)
    assert told["outline:cover"] is Verdict.OPEN
    _drawing(tmp_path, 0)
    with pytest.raises(GeometryError, match=r"cover: cover.dxf: its DXF does not say in what unit"):
        plates("  cover: {outline: cover.dxf, plate: 2 mm S235}\n", tmp_path)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("{rectangle: 80 mm x 60 mm, gusset: 80 mm x 60 mm, plate: 4 mm S235}", "one of rectangle, gusset"),
        ("{rectangle: 80 mm x 60 mm x 4 mm, plate: 4 mm S235}", "two sizes"),
        ("{rectangle: 80 mm x 60 mm, plate: 4 mm Cheese}", "no material"),
        ("{rectangle: 80 mm x 60 mm, plate: 4 mm S235, folds: [90 deg up]}", "belong to a strip"),
        (
            "{strip: 60 mm, legs: [40 mm], folds: [90 deg up], inside radius: 3 mm, plate: 3 mm S235}",
            "one leg more",
        ),
        (
            "{strip: 60 mm, legs: [40 mm, 40 mm], folds: [90 deg], inside radius: 3 mm, plate: 3 mm S235}",
            "90 deg up",
        ),
        (
            "{strip: 60 mm, legs: [40 mm, 40 mm], folds: [90 deg up], inside radius: 3 mm, "
            "plate: 3 mm S235, holes: [{at: [1 mm, 1 mm], for: M8}]}",
            "names its leg",
        ),
        ("{rectangle: 80 mm x 60 mm, plate: 4 mm S235, holes: [{at: [1 mm, 1 mm], for: M77}]}", "M77"),
        (
            "{rectangle: 80 mm x 60 mm, plate: 4 mm S235, holes: [{at: [1 mm, 1 mm]}]}",
            "for a bolt or has a diameter",
        ),
        (
            "{rectangle: 80 mm x 60 mm, plate: 4 mm S235, holes: [{at: [1 mm], for: M8}]}",
            "two parts belong here",
        ),
        ("{outline: nothing.dxf, plate: 4 mm S235}", "no file 'nothing.dxf'"),
        ("{outline: ../x.dxf, plate: 4 mm S235}", "leaves the job's folder"),
        (
            "{rectangle: 80 mm x 60 mm, plate: 4 mm S235, cut outs: [{at: [0 mm, 0 mm], size: "
            "20 mm x 20 mm, inner wall: 9 mm, wall: 2 mm S235}]}",
            "bends round the corners",
        ),
    ],
)
def test_faults_are_one_line(lines: str, told: str) -> None:
    with pytest.raises(JobError, match=told):
        job(f"plates: {{p: {lines}}}\n")


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (
            "{stock: main, legs: [200 mm, 200 mm], folds: [{angle: 30 deg, to: up}], kerf: 1 mm}",
            "main is round",
        ),
        ("{stock: box, legs: [200 mm], kerf: 1 mm}", "nothing is folded"),
        ("{stock: box, legs: [200 mm], folds: [{angle: 30 deg, to: up}], kerf: 1 mm}", "one leg more"),
        (
            "{stock: box, legs: [200 mm, 1 m], folds: [{angle: 170 deg, to: up}], kerf: 1 mm}",
            "at most 120 deg",
        ),
    ],
)
def test_faults_of_folded_tubes_are_one_line(lines: str, told: str) -> None:
    with pytest.raises(JobError, match=told):
        job(f"folded: {{f: {lines}}}\n")


def test_a_sharp_fold_is_short(tmp_path: Path) -> None:
    fold = (
        "folded: {{f: {{stock: box, deep: across, legs: [300 mm, 300 mm], folds: [{{angle: "
        "{a}, to: left}}], kerf: 1 mm}}}}\n"
    )
    assert findings(fold.format(a="60 deg")) == {"fold-wedge:f": Verdict.HOLDS}
    assert findings(fold.format(a="110 deg")) == {"fold-wedge:f": Verdict.SHORT}
    (part,) = shop_parts(job(fold.format(a="60 deg"))).folded
    assert (part.shape.width, part.shape.height) == (0.05, 0.03)
