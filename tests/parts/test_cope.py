"""Copes: against the saddle formula, against exact solids, and what cannot be cut."""

import math

import numpy as np
import parts_kit as kit
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body, CopeFit, Tube, cope
from soapstone.parts.outline import End
from soapstone.parts.sections import RectangularTube, RoundBar, RoundTube

PRINTED = 0.5e-6  # half the last printed digit of the rows below


@pytest.mark.parametrize(
    ("through", "branch", "beta", "degrees", "expected"),
    [
        # Equal tee: r·|cos φ| (unwrapping of a saddle: Apostol & Mnatsakanian, New Horizons in Geometry).
        (25.0, 25.0, 90, (0, 30, 60, 90), (25, 21.650635, 12.5, 0)),
        (25.4, 19.05, 90, (0, 30, 60, 90), (25.4, 23.546430, 19.312771, 16.800521)),
        (
            25.4,
            19.05,
            60,
            (0, 30, 60, 90, 120, 150, 180),
            (40.327916, 36.714076, 27.799728, 19.399570, 16.801206, 17.664076, 18.330871),
        ),
    ],
)
def test_saddle_lengths(through, branch, beta, degrees, expected):
    lengths = kit.saddle_lengths(through * 1e-3, branch * 1e-3, math.radians(beta), degrees)
    np.testing.assert_allclose(lengths * 1e3, expected, atol=PRINTED)


@given(
    through=st.floats(10e-3, 60e-3),
    share=st.floats(0.2, 1.0),
    beta=st.floats(math.radians(15.1), math.radians(90)),
    aside=st.floats(-1, 1),
)
@settings(deadline=None, max_examples=60)
def test_saddle_formula_with_offset(through, share, beta, aside):
    r, e = share * through, aside * (1 - share) * through
    tube = kit.branch_round(r, beta, e, wall=r / 8)
    outline = cope(tube, kit.through_round(through))
    phi = outline.angle
    # The kit's z axis points to world +y or −y; the formula's offset counts along sin φ.
    e *= tube.axes.z[1]
    for radius, stations in ((r, outline.outer), (r * 7 / 8, outline.inner)):
        root = np.sqrt(np.maximum(through**2 - (radius * np.sin(phi) + e) ** 2, 0))
        expected = (root + radius * np.cos(phi) * math.cos(beta)) / math.sin(beta)
        # at the pinch the root loses half its digits: √(R²·1e-14), a hundred roundings
        np.testing.assert_allclose(-stations, expected, rtol=1e-9, atol=1e-7 * through / math.sin(beta))


def test_length_of_the_saddle_line():
    # ∫√(r²+(dL/dφ)²)dφ; the equal tee is two half ellipses: 4·25√2·E(½).
    tee = cope(kit.branch_round(25.4e-3 * 0.75, math.pi / 2), kit.through_round(25.4e-3), points=2001)
    equal = cope(kit.branch_round(25e-3, math.pi / 2), kit.through_round(25e-3), points=2001)
    profile, equal_profile = (RoundTube(2 * r, 1e-3).outline for r in (19.05e-3, 25e-3))
    # chords of 2000 to the turn are short by (π/1000)²/24 of the length at most, twice that for the bend
    assert tee.length_of_line(profile) == pytest.approx(125.57727e-3, rel=1e-6)
    assert equal.length_of_line(equal_profile) == pytest.approx(191.00989e-3, rel=1e-6)
    assert 100 * math.sqrt(2) * ellipe(0.5) == pytest.approx(191.00989, abs=5e-6)


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [(0.5, (4.795867, 5.172663, 5.826547)), (1.0, (5.730297, 6.174887, 6.925737))],
)
def test_weld_length_round_a_branch(ratio, expected):
    # Exact saddle of a 1.5 in branch at 90, 60 and 45 degrees, ∫√(r²+(dL/dφ)²)dφ by quadrature elsewhere.
    for degrees, length in zip((90, 60, 45), expected, strict=True):
        branch = kit.branch_round(0.75, math.radians(degrees), wall=0.1)
        outline = cope(branch, kit.through_round(0.75 / ratio, wall=0.1), points=4001)
        # chords at 4001 rows: (2π/4000)²/24 = 1e-7 of the length, and half the last printed digit
        assert outline.length_of_line(branch.shape.outline) == pytest.approx(length, abs=2e-6)


def test_outer_and_inner_line_of_an_equal_tee():
    # Common practice, no source: 38.1 × 2.1 mm, the two lines differ by 8.7 mm at the crotch.
    outline = cope(kit.branch_round(19.05e-3, math.pi / 2, wall=2.1e-3), kit.through_round(19.05e-3))
    row = int(np.abs(outline.angle - math.pi / 2).argmin())
    assert outline.outer[row] == pytest.approx(0.0, abs=1e-9)
    assert -outline.inner[row] == pytest.approx(math.sqrt(19.05**2 - 16.95**2) * 1e-3, rel=1e-9)
    assert round(-outline.inner[row] * 1e3, 1) == 8.7
    assert outline.long_point.station == pytest.approx(0.0, abs=1e-9)
    assert outline.short_point.station == pytest.approx(-19.05e-3, rel=1e-12)


def _random_case(rng, kind):
    r_through, angle = rng.uniform(18e-3, 40e-3), math.radians(rng.uniform(20, 90))
    r = r_through * rng.uniform(0.3, 0.8)
    side = (r_through - r) * rng.uniform(-0.9, 0.9)
    rotation = kit.random_rotation(rng)
    main = Axes.along((0, 0, 0), (1, 0, 0), rng.normal(size=3))
    body = np.array([math.cos(angle), 0, math.sin(angle)])
    branch = Axes.along((0, side, 0), -body, rng.normal(size=3))
    shapes = {
        "round on round": (RoundTube(2 * r, r / 9), RoundTube(2 * r_through, r_through / 9)),
        "round on rectangular": (
            RoundTube(2 * r, r / 9),
            RectangularTube(2 * r_through, 2.3 * r_through, r_through / 9, r_through / 4),
        ),
        "rectangular on round": (
            RectangularTube(1.2 * r, 1.4 * r, r / 9, r / 4),
            RoundTube(2 * r_through, r_through / 9),
        ),
        "rectangular on rectangular": (
            RectangularTube(1.2 * r, 1.4 * r, r / 9, r / 4),
            RectangularTube(2 * r_through, 2.3 * r_through, r_through / 9, r_through / 4),
        ),
        "sharp on sharp": (
            RectangularTube(1.2 * r, 1.4 * r, r / 9, 0.0),
            RectangularTube(2 * r_through, 2.3 * r_through, r_through / 9, 0.0),
        ),
    }
    shift = rng.normal(size=3) * 0.1
    mine, other = shapes[kind]
    return (
        Tube("strut", mine, kit.moved(branch, rotation, shift)),
        Body("rail", other, kit.moved(main, rotation, shift)),
    )


CASES = [("round on round", seed) for seed in range(20)] + [
    (kind, seed)
    for kind in (
        "round on rectangular",
        "rectangular on round",
        "rectangular on rectangular",
        "sharp on sharp",
    )
    for seed in range(4)
]


@pytest.mark.parametrize(("kind", "seed"), CASES)
def test_against_the_exact_solid(kind, seed):
    tube, through = _random_case(np.random.default_rng(seed), kind)
    outline = cope(tube, through)
    profile = tube.shape.outline
    for depth, stations in ((0.0, outline.outer), (tube.shape.wall, outline.inner)):
        rows = np.column_stack((stations, profile.generators(outline.abscissa, depth)))
        on_through = through.axes.to_local(tube.axes.to_world(rows))[:, 1:]
        assert np.abs(through.shape.outline.distance(on_through)).max() < 1e-9
    # The kernel's own edges: where they run on the through tube's surface they are our lines.
    solid = kit.exact_cope(tube, through, 0.3)
    points = kit.edge_points(solid, 40)
    local = tube.axes.to_local(points)
    there = through.axes.to_local(points)[:, 1:]
    on_cut = np.abs(through.shape.outline.distance(there)) < 2e-6
    fit = CopeFit.of(tube, through, End.B, 0.0)
    assert on_cut.sum() > 60
    difference = local[on_cut, 0] - fit.stations(local[on_cut, 1:])
    assert np.abs(difference).max() < 0.01e-3
    assert set(np.round(profile.distance(local[on_cut, 1:]) / tube.shape.wall, 2)) >= {0.0, -1.0}


@pytest.mark.parametrize(("kind", "seed"), CASES)
def test_straight_between_rows_misses_the_line_by_less_than_a_printed_hair(kind, seed):
    tube, through = _random_case(np.random.default_rng(seed), kind)
    outline = cope(tube, through)
    between = (outline.abscissa[1:] + outline.abscissa[:-1]) / 2
    exact = CopeFit.of(tube, through, End.B, 0.0).stations(tube.shape.outline.generators(between, 0.0))
    step = np.diff(outline.outer) / np.diff(outline.abscissa)
    miss = (exact - (outline.outer[1:] + outline.outer[:-1]) / 2) / np.hypot(1.0, step)
    # Sag h²/8ρ of rows h = 0.6 to 1 mm apart, at corners every 9°: 10 mm·(1 − cos 4.5°) = 0.03 mm.
    assert np.abs(miss).max() < 0.03e-3


@pytest.mark.parametrize("kind", sorted({kind for kind, _ in CASES}))
@given(seed=st.integers(0, 10_000))
@settings(deadline=None, max_examples=15)
def test_rigid_motion_changes_nothing_and_a_mirror_mirrors(kind, seed):
    rng = np.random.default_rng(seed)
    tube, through = _random_case(rng, kind)
    outline = cope(tube, through)
    rotation, shift = kit.random_rotation(rng), rng.normal(size=3)
    carried = cope(
        Tube("strut", tube.shape, kit.moved(tube.axes, rotation, shift)),
        Body("rail", through.shape, kit.moved(through.axes, rotation, shift)),
    )
    even = np.linspace(0, outline.abscissa[-1], 181)
    np.testing.assert_allclose(_at(carried, even), _at(outline, even), atol=1e-9)
    # Mirrored left to right, the tube's own axes stay right-handed: what stood at +z stands at −z.
    flip = np.diag([1.0, -1.0, 1.0])
    mirrored = cope(
        Tube("strut", tube.shape, _flipped(tube.axes, flip)),
        Body("rail", through.shape, _flipped(through.axes, flip)),
    )
    np.testing.assert_allclose(_at(mirrored, even), _at(outline, even[::-1]), atol=1e-9)


def _flipped(axes, flip):
    return Axes(flip @ axes.origin, flip @ axes.x, flip @ axes.y, -(flip @ axes.z))


def _at(outline, abscissa):
    rows = np.abs(outline.abscissa[:, None] - abscissa).argmin(axis=0)
    np.testing.assert_allclose(outline.abscissa[rows], abscissa, atol=1e-8)
    return outline.outer[rows]


@pytest.mark.parametrize("end", list(End))
def test_template_closes_and_holds_its_points(end):
    tube = kit.branch_round(19.05e-3, math.radians(50), 3e-3)
    axes = tube.axes if end is End.B else Axes(tube.axes.origin, -tube.axes.x, tube.axes.y, -tube.axes.z)
    outline = cope(Tube("strut", tube.shape, axes), kit.through_round(25.4e-3), end)
    assert outline.outer[0] == outline.outer[-1]
    assert outline.inner[0] == outline.inner[-1]
    assert outline.abscissa[-1] == pytest.approx(2 * math.pi * 19.05e-3, rel=1e-12)
    assert (np.diff(outline.abscissa) > 0).all()
    leaving = outline.outer * end.sign
    assert outline.long_point.station == outline.outer[leaving.argmax()]
    assert outline.short_point.station == outline.outer[leaving[:-1].argmin()]
    # the same joint seen from either way along the tube
    assert outline.long_point.station * end.sign == pytest.approx(
        cope(tube, kit.through_round(25.4e-3)).long_point.station, abs=1e-9
    )


def test_square_tube_of_one_size_stops_at_the_corner_arcs():
    # Faces in line: the sides run to where the corner arc begins, one corner radius below the face.
    box = RectangularTube(50e-3, 50e-3, 3e-3, 6e-3)
    through = Body("rail", box, Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    tube = Tube("strut", box, Axes.along((0, 0, 0), (0, 0, -1), (1, 0, 0)))
    outline = cope(tube, through)
    assert outline.long_point.station == pytest.approx(-19e-3, abs=1e-9)
    assert outline.short_point.station == pytest.approx(-25e-3, abs=1e-12)


def test_near_side_is_taken():
    tube = kit.branch_round(10e-3, math.pi / 2)
    far = Tube("strut", tube.shape, Axes.along((0, 0, -3.0), (0, 0, 1), (1, 0, 0)))
    outline = cope(far, kit.through_round(25e-3))
    assert outline.short_point.station == pytest.approx(3.0 - 25e-3)


@pytest.mark.parametrize(
    ("tube", "through", "words"),
    [
        (kit.branch_round(30e-3, 1.5), kit.through_round(20e-3), "wider than rail .* 10 mm past its side"),
        (kit.branch_round(15e-3, 1.5, 8e-3), kit.through_round(20e-3), "offset by 8 mm .* reaches 3 mm past"),
        (kit.branch_round(15e-3, 1.5, 40e-3), kit.through_round(20e-3), "passes rail .* 5 mm and misses"),
        (kit.branch_round(15e-3, 1.5, 35e-3), kit.through_round(20e-3), "touches only rail"),
        (kit.branch_round(15e-3, math.radians(11.3)), kit.through_round(20e-3), "rail at 11.3°, under 15°"),
    ],
)
def test_what_cannot_be_cut_names_both(tube, through, words):
    with pytest.raises(GeometryError, match=words) as refused:
        cope(tube, through)
    assert refused.value.where == "strut"
    assert "rail" in str(refused.value)


BOX = RectangularTube(40e-3, 30e-3, 2e-3, 4e-3)
ROUND = RoundTube(40e-3, 2e-3)


@pytest.mark.parametrize(
    ("mine", "other", "apart", "words"),
    [
        (ROUND, ROUND, 40e-3, "touches only"),
        (ROUND, ROUND, 45e-3, "parallel to rail, 5 mm away"),
        (ROUND, ROUND, 10e-3, "parallel to rail and inside it"),
        (BOX, ROUND, 40e-3, "touches only"),
        (ROUND, BOX, 41e-3, "parallel to rail, 1 mm away"),
        (BOX, BOX, 40e-3, "touches only"),
        (BOX, BOX, 42e-3, "parallel to rail, 2 mm away"),
    ],
)
def test_parallel_tubes(mine, other, apart, words):
    tube = Tube("strut", mine, Axes.along((0, apart, 0), (1, 0, 0), (0, 1, 0)))
    through = Body("rail", other, Axes.along((0, 0, 0), (-1, 0, 0), (0, 1, 0)))
    with pytest.raises(GeometryError, match=words):
        cope(tube, through)


@pytest.mark.parametrize("radius", [0.0, 4e-3])
def test_overhang_allowed_is_cut_at_the_side_and_recorded(radius):
    rail = Body(
        "rail", RectangularTube(30e-3, 30e-3, 2e-3, radius), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0))
    )
    for through in (rail, kit.through_round(15e-3)):
        tube = kit.branch_round(16e-3, math.pi / 2)
        with pytest.raises(GeometryError, match="wider"):
            cope(tube, through)
        outline = cope(tube, through, overhang_allowed=1.5e-3)
        assert outline.overhang == pytest.approx(1e-3)
        past = np.abs(np.sin(outline.angle)) * 16e-3 > 15e-3 + 1e-9
        side = -(15e-3 - (radius if through is rail else 15e-3))
        assert past.any()
        np.testing.assert_allclose(outline.outer[past], side, atol=1e-9)


def test_bar_as_through_member_and_names_of_rectangles():
    bung = Body("bung", RoundBar(30e-3), Axes.along((0, 0, 0), (0, 1, 0), (1, 0, 0)))
    tube = Tube("strut", RoundTube(25e-3, 2e-3), Axes.along((0, 0, 0.2), (0, 0, -1), (1, 0, 0)))
    assert cope(tube, bung).short_point.station == pytest.approx(0.2 - 15e-3)
    wide = Tube("strut", BOX, Axes.along((0, 0, 0.2), (0, 0, -1), (1, 0, 0)))
    with pytest.raises(GeometryError, match=r"strut \(40 × 30 mm\) is wider than bung \(30 mm\)"):
        cope(wide, bung)


def test_pinch_and_turning_points_are_rows_wherever_the_clocking_line_lies():
    # 0.5137 rad is no multiple of a row: even rows alone would miss both points by up to 0.2 mm.
    turned = (math.cos(0.5137), math.sin(0.5137), 0.0)
    equal = Tube("strut", RoundTube(50e-3, 2e-3), Axes.along((0, 0, 0), (0, 0, -1), turned))
    assert cope(equal, kit.through_round(25e-3)).long_point.station == pytest.approx(0.0, abs=1e-9)
    lean = Tube(
        "strut", RoundTube(38.1e-3, 2e-3), Axes.along((0, 2e-3, 0), (-0.5, 0, -math.sqrt(0.75)), turned)
    )
    outline = cope(lean, kit.through_round(25.4e-3))
    fine = cope(lean, kit.through_round(25.4e-3), points=20_001)
    for name in ("long_point", "short_point"):
        mine, exact = getattr(outline, name), getattr(fine, name)
        # the parabola's vertex is some 4e-4 rad off, and the station there by r times 1e-7
        assert mine.station == pytest.approx(exact.station, abs=4e-9)
        assert mine.angle == pytest.approx(exact.angle, abs=1e-3)
