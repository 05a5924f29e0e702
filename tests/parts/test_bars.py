"""Bars against a finite-element section package, closed forms and themselves in a mirror; their cuts."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sectionproperties.analysis import Section as Analysis
from sectionproperties.pre import Geometry
from shapely import Polygon

from soapstone.build import build
from soapstone.errors import GeometryError, JobError
from soapstone.job.load import load_text
from soapstone.parts.bars import Bar, angle, channel, flat_bar
from soapstone.parts.sections import FlatBar

STOCK = "  light: {tube: 1-1/4 in x 0.095 in, of: DOM 1020}"
BARS = """
  ell: {angle: 40 x 30 x 4 mm, root: 6 mm, of: S235}
  strip: {flat: 50 x 8 mm, of: S235}
  cee: {channel: 80 x 40 x 5 mm, of: S235}
  tee: {outline: [[0 mm, 0 mm], [40 mm, 0 mm], [40 mm, 5 mm], [22 mm, 5 mm], [22 mm, 30 mm], [18 mm, 30 mm],
    [18 mm, 5 mm], [0 mm, 5 mm]], of: S235}
"""
ARM = "  torque_arm: {from:"
STAY = "  stay: {{from: cross_1 at 200 mm, to: cross_2 at 250 mm, {}}}\n"


def _job(text, stay):
    return load_text(
        text.replace(STOCK, STOCK + BARS.rstrip()).replace(ARM, STAY.format(stay) + ARM), Path("x")
    )


@pytest.mark.parametrize(
    "bar",
    [
        angle(40, 40, 4, 6),
        angle(60, 30, 5, 5),
        angle(60, 30, 5),
        channel(80, 40, 5, 5),
        channel(80, 45, 6, 8, 8),
        flat_bar(50, 8),
        Bar("own outline", (), ((0, 0), (40, 0), (40, 5), (22, 5), (22, 30), (18, 30), (18, 5), (0, 5))),
    ],
    ids=lambda bar: f"{bar.words} {bar.sizes}",
)
def test_against_finite_elements(bar):
    geometry = Geometry(Polygon(bar.corners))
    geometry.create_mesh([bar.section.area / 400.0])
    other = Analysis(geometry)
    other.calculate_geometric_properties()
    other.calculate_warping_properties()
    own = bar.section
    assert own.area == pytest.approx(other.get_area(), rel=1e-9)
    assert own.centroid == pytest.approx(other.get_c(), rel=1e-9)
    strong, weak = other.get_ip()
    assert sorted((own.second_moment_y, own.second_moment_z)) == pytest.approx([weak, strong], rel=1e-8)
    assert own.product == pytest.approx(other.get_ic()[2], abs=1e-8 * strong)
    # both are approximations of one number: elements here and there, half a percent together
    assert own.torsion_constant == pytest.approx(other.get_j(), rel=5e-3)
    size = float(np.ptp(own.corners, axis=0).max())
    assert sorted(np.abs(own.shear_centre)) == pytest.approx(
        sorted(np.abs(other.get_sc_p())), abs=2e-3 * size
    )


@settings(deadline=None, max_examples=15)
@given(st.floats(0.1, 1.0))
def test_flat_bar_by_elements_is_the_flat_bar_by_series(ratio):
    own, series = flat_bar(1.0, ratio).section, FlatBar(min(ratio, 1.0), 1.0).section
    for name in ("area", "second_moment_y", "second_moment_z", "shear_area_y", "shear_area_z"):
        assert getattr(own, name) == pytest.approx(getattr(series, name), rel=1e-9), name
    assert own.torsion_constant == pytest.approx(series.torsion_constant, rel=2e-3)  # 240 elements
    assert own.torsion_modulus == pytest.approx(series.torsion_modulus, rel=0.06)  # Roark's circle against it
    assert own.shear_peak_z * own.area == pytest.approx(1.5, rel=1e-6)


@settings(deadline=None, max_examples=10)
@given(st.floats(0.02, 0.06), st.floats(0.02, 0.06), st.floats(0.002, 0.006), st.booleans(), st.booleans())
def test_a_mirror_changes_only_sides(up, across, thickness, y, z):
    one = angle(up, across, thickness)
    here, there = one.section, one.flipped(y, z).section
    for name in ("area", "second_moment_y", "second_moment_z", "torsion_constant", "torsion_modulus"):
        assert getattr(there, name) == pytest.approx(getattr(here, name), rel=1e-6), name
    sign = -1.0 if y != z else 1.0
    assert there.product == pytest.approx(sign * here.product, rel=1e-9)
    # principal means principal: nothing is left of the product
    corners = here.corners
    assert abs(Polygon(corners).centroid.x) + abs(Polygon(corners).centroid.y) < 1e-12


def test_thin_angle_shears_along_its_legs():
    # both legs carry half of a force square to the line of symmetry: Q / I t at the heel, closed form
    b, t = 1.0, 0.01
    section = angle(b + t / 2, b + t / 2, t).section
    strong = max(section.second_moment_y, section.second_moment_z)
    peak = section.shear_peak_y if section.second_moment_z == strong else section.shear_peak_z
    q = b * t * (b / 2 / math.sqrt(2))  # of one leg about the line of symmetry
    assert peak == pytest.approx(q / (strong * t), rel=0.03)  # the corner's own half thicknesses


@pytest.mark.parametrize(
    "make",
    [
        lambda: angle(40, 40, 38, 6),
        lambda: channel(20, 40, 5, 10),
        lambda: Bar("own outline", (), ((0, 0), (1, 1), (1, 0), (0, 1))),
    ],
)
def test_outlines_that_cannot_be(make):
    with pytest.raises(GeometryError):
        make()


@pytest.mark.parametrize(
    ("stay", "part", "open_"),
    [
        ("stock: ell, heel: down left", "angle", "an angle"),
        ("stock: strip, deep: up", "flat bar", "a flat bar"),
        ("stock: cee, heel: right", "channel", "a channel"),
        ("stock: tee, heel: down right", "own outline", "an outline of its own"),
    ],
)
def test_a_bar_in_a_mount(heron_text, stay, part, open_):
    made = build(_job(heron_text, stay))
    bar, cut = made.layout.bars["stay"], made.parts.bars["stay"]
    assert bar.section.words == part
    assert cut.solid.is_closed()
    # two planes cut a prism of its centroid's length: from face to face of the cross tubes
    face = [0.02 / abs(float(bar.axis @ made.layout.tubes[n].width_way)) for n in ("cross_1", "cross_2")]
    across = abs(float(bar.axis @ np.array([1.0, 0.0, 0.0])))
    assert cut.solid.volume / bar.section.section.area == pytest.approx(bar.length - 0.04 / across, rel=1e-3)
    assert len(face) == 2
    stress = made.finding("member-stress:stay")
    assert stress is not None and stress.ratio is not None and stress.ratio > 0.0
    for kind in ("member-buckling:stay", "weld:stay start", "tube-joint:stay end"):
        found = made.finding(kind)
        assert found is not None and found.verdict.value == "open" and open_ in found.remedy
    frame = made.idealised.frame
    beam = made.idealised.segments["stay"][0].member
    assert frame.second_moment_y[beam] == bar.section.section.second_moment_y
    # the frame's own axes of that beam are the principal ones
    assert frame.geometry.axes[beam, 2] == pytest.approx(bar.principal[1], abs=1e-9)
    assert [link.finding.id for link in made.links if link.finding.about == "stay"] == ["member-stress:stay"]


def test_heel_points_where_the_job_says(heron_text):
    for heel, signs in (("down left", (-1, 1)), ("up right", (1, -1)), ("down right", (-1, -1))):
        bar = build(_job(heron_text, f"stock: ell, heel: {heel}")).layout.bars["stay"]
        section = bar.section.section
        lower = bar.section.outline - section.centroid
        ways = np.stack([bar.width_way, np.cross(bar.axis, bar.width_way)])
        world = lower @ ways
        # unflipped the heel is the drawing's origin; a flip moves it with everything else
        corners = np.array(bar.section.corners)
        heel_at = (corners[np.argmin(np.linalg.norm(corners, axis=1))] - section.centroid) @ ways
        toes = world.mean(axis=0)
        assert np.sign(heel_at[2] - toes[2]) == signs[0]
        assert np.sign(heel_at[1] - toes[1]) == signs[1]


@pytest.mark.parametrize(
    ("stay", "said"),
    [
        ("stock: ell", "give it heel"),
        ("stock: cee, heel: up", "give it heel"),
    ],
)
def test_a_heel_must_be_told(heron_text, stay, said):
    with pytest.raises(GeometryError, match=said):
        build(_job(heron_text, stay))


def test_a_round_tube_wants_a_square_cut(heron_text):
    text = heron_text.replace(
        "cross: {tube: 40 x 40 x 3 mm, of: S355}", "cross: {tube: 42.4 x 3 mm, of: S355}"
    )
    with pytest.raises(GeometryError, match="start cut: square"):
        build(_job(text, "stock: strip"))
    part = build(_job(text, "stock: strip, start cut: square, end cut: square")).parts.bars["stay"]
    assert part.saw_length == part.short_length


@pytest.mark.parametrize(
    ("stay", "said"),
    [
        ("stock: strip, start cut: cope", "not cope"),
        ("stock: strip, heel: sideways", "belong here"),
        ("stock: light, heel: down left", "a tube has no heel"),
    ],
)
def test_what_a_bar_cannot(heron_text, stay, said):
    with pytest.raises(JobError, match=said):
        _job(heron_text, stay)


def test_nothing_lands_on_a_bar(heron_text):
    text = heron_text.replace(
        "  cross_3: {from: side_left at 31 in, to: side_right at 31 in, stock: light}",
        "  cross_3: {from: side_left at 31 in, to: stay at 100 mm, stock: light}",
    )
    with pytest.raises(JobError, match="stay is flat bar: nothing can be welded onto one here"):
        _job(text, "stock: strip")


@pytest.mark.parametrize(
    ("stock", "said"),
    [
        ("{angle: 40 x 4 mm, of: S235}", "three sizes"),
        ("{flat: 40 x 4 x 3 mm, of: S235}", "two sizes"),
        ("{channel: 40 x 4 mm, of: S235}", "height, flange"),
        ("{flat: 40 x 4 mm, root: 3 mm, of: S235}", "root belongs"),
        ("{flat: 40 x 4 mm, corner: 3 mm, of: S235}", "corner belongs"),
        ("{flat: 40 x 4 mm, tube: 40 x 4 mm, of: S235}", "stock is one of"),
    ],
)
def test_stock_that_cannot_be(heron_text, stock, said):
    with pytest.raises(JobError, match=said):
        load_text(heron_text.replace(STOCK, f"{STOCK}\n  odd: {stock}"), Path("x"))
