"""Finished tubes: mitres, lengths, clocking, volume."""

import math

import numpy as np
import parts_kit as kit
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body, Tube
from soapstone.parts.cuts import EndKind, coped, mitred, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube

TUBE = RoundTube(38.1e-3, 2.5e-3)
BOX = RectangularTube(40e-3, 30e-3, 2e-3, 4e-3)
DENSITY = 7850.0


def _rail(at, direction, shape=None):
    return Body("rail", shape or RoundTube(50.8e-3, 2e-3), Axes.along(at, direction, np.roll(direction, 1)))


def test_square_tube_mass_and_lengths():
    # 40 × 2.5 mm tube, 500 mm, 7850 kg/m³: 1.1560079 kg (classical formulas).
    part = cut_tube("leg", RoundTube(40e-3, 2.5e-3), (0, 0, 0), (0.5, 0, 0), (0, 1, 0), square(0), square(0))
    assert part.mass(DENSITY) == pytest.approx(1.1560079, abs=5e-8)
    assert part.saw_length == part.short_length == part.centre_length == pytest.approx(0.5)
    np.testing.assert_allclose(part.centroid, (0.25, 0, 0), atol=1e-12)
    assert part.clocking is None
    assert part.in_one_plane
    assert part.end_a.kind is EndKind.SQUARE


def test_trimmed_square_ends():
    part = cut_tube("leg", BOX, (1, 0, 0), (1, 0, 0.5), (0, 1, 0), square(0.02), square(-0.01))
    assert part.end_a.outline.outer == pytest.approx(0.02)
    assert part.end_b.outline.outer == pytest.approx(0.51)
    assert part.saw_length == pytest.approx(0.49)
    assert part.volume == pytest.approx(0.49 * BOX.section.area, rel=1e-9)


def test_mitre_by_the_book():
    # z = r cos φ tan γ, γ half the deflection. r = 19.05, γ = 45°: 19.05, 16.497784, 9.525, 0.
    # J. Triouleyre's tables for pipe layout (Delagrave) print 32.99 for r = 57.15, γ = 30°.
    for radius, degrees, expected in (
        (19.05, 45, (19.05, 16.497784, 9.525, 0.0)),
        (57.15, 30, (32.995568, 32.995568 * math.cos(math.pi / 6), 32.995568 / 2, 0.0)),
    ):
        gamma = math.radians(degrees)
        away = (math.cos(2 * gamma), math.sin(2 * gamma), 0)
        shape = RoundTube(2e-3 * radius, 2e-3)
        part = cut_tube("leg", shape, (-0.5, 0, 0), (0, 0, 0), (0, 1, 0), square(0), mitred("next", away))
        end = part.end_b
        rows = [int(np.abs(end.outline.angle - math.radians(d)).argmin()) for d in (0, 30, 60, 90)]
        setback = 0.5 - end.outline.outer[rows]
        np.testing.assert_allclose(setback * 1e3, expected, atol=5e-7)
        assert end.angle == pytest.approx(gamma, rel=1e-12)
        assert end.heel == pytest.approx(0.0, abs=1e-12)
        assert not end.half_turn
        assert part.saw_length == pytest.approx(0.5 + expected[0] * 1e-3, abs=1e-9)
        assert part.short_length == pytest.approx(0.5 - expected[0] * 1e-3, abs=1e-9)
        assert part.centre_length == pytest.approx(0.5)
        assert part.volume == pytest.approx(0.5 * shape.section.area, rel=1e-9)


@given(seed=st.integers(0, 10_000))
@settings(deadline=None, max_examples=25)
def test_two_mitred_tubes_fit_face_to_face(seed):
    # Of one section and clocked alike to the bend, both cuts are the same closed line in space.
    rng = np.random.default_rng(seed)
    turn = rng.uniform(0.1, 2.4)
    away = np.array([math.cos(turn), math.sin(turn), 0])
    rotation = kit.random_rotation(rng)
    up = rotation @ (0, 0, 1)
    shape = BOX if seed % 2 else TUBE
    first = cut_tube(
        "a", shape, rotation @ (-0.6, 0, 0), (0, 0, 0), up, square(0), mitred("b", rotation @ away)
    )
    second = cut_tube(
        "b", shape, (0, 0, 0), rotation @ (0.6 * away), up, mitred("a", rotation @ (-1, 0, 0)), square(0)
    )
    ours, theirs = first.end_b.outline, second.end_a.outline
    even = np.linspace(0, shape.outline.perimeter, 181)
    lines = []
    for part, outline in ((first, ours), (second, theirs)):
        rows = np.abs(outline.abscissa[:, None] - even).argmin(axis=0)
        local = np.column_stack((outline.outer[rows], shape.outline.generators(outline.abscissa[rows], 0)))
        lines.append(part.axes.to_world(local))
    np.testing.assert_allclose(*lines, atol=1e-8)
    assert first.end_b.angle == pytest.approx(turn / 2)


def test_straight_butt_is_a_square_mitre():
    for shape in (TUBE, BOX):
        part = cut_tube("leg", shape, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), mitred("next", (3, 0, 0)))
        assert part.end_b.heel is None
        assert part.end_b.angle == 0.0
        assert part.saw_length == pytest.approx(0.4)


def test_folded_back_mitre_is_refused():
    for away in ((-1, 0.3, 0), (-1, 0, 0)):
        with pytest.raises(GeometryError, match="leg: folds back onto next"):
            cut_tube("leg", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), mitred("next", away))


@pytest.mark.parametrize("degrees", [0, 30, 90, 137, -60, 180])
def test_clocking_between_two_mitres(degrees):
    # The second bend is turned about the tube, clockwise seen from end A, from the first by so much.
    turn = math.radians(degrees)
    part = cut_tube(
        "leg",
        TUBE,
        (0, 0, 0),
        (0.5, 0, 0),
        (0, 0.3, 1),
        mitred("before", (-1, 1, 0)),
        mitred("after", (1, math.cos(turn), math.sin(turn))),
    )
    assert math.cos(part.clocking - turn) == pytest.approx(1.0, abs=1e-12)
    assert -math.pi < part.clocking <= math.pi + 1e-9
    assert part.in_one_plane == (degrees % 180 == 0)
    assert math.degrees(part.end_a.angle) == pytest.approx(22.5)


@pytest.mark.parametrize(("degrees", "expected"), [(0, 0), (25, 25), (90, 90), (120, -60), (180, 0)])
def test_clocking_of_square_copes_repeats_every_half_turn(degrees, expected):
    turn = math.radians(degrees)
    part = cut_tube(
        "leg",
        TUBE,
        (0, 0, 0),
        (0.5, 0, 0),
        (0, 0, 1),
        coped(_rail((0, 0, 0), (0.0, 1.0, 0.0))),
        coped(_rail((0.5, 0, 0), (0.0, math.cos(turn), math.sin(turn)))),
    )
    assert part.end_a.half_turn
    assert part.end_b.half_turn
    assert math.degrees(part.clocking) == pytest.approx(expected, abs=1e-9)
    assert part.in_one_plane == (expected == 0)
    assert part.end_a.angle == pytest.approx(math.pi / 2)
    assert part.centre_length == pytest.approx(0.5 - 50.8e-3)
    # both tips of the tee reach √(R²−r²) short of the through tube's axis
    assert part.saw_length == pytest.approx(0.5 - 2 * math.sqrt(25.4**2 - 19.05**2) * 1e-3, abs=1e-9)


def test_offset_tee_is_no_longer_alike_after_half_a_turn():
    part = cut_tube(
        "leg",
        TUBE,
        (0, 3e-3, 0),
        (0.5, 3e-3, 0),
        (0, 0, 1),
        coped(_rail((0, 0, 0), (0.0, 0.0, 1.0))),
        square(0),
    )
    assert not part.end_a.half_turn
    assert part.end_a.onto == "rail"


def test_heel_is_on_the_acute_side_at_either_end():
    lean = (math.cos(math.radians(50)), 0.0, math.sin(math.radians(50)))
    forward = Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0))
    for sign in (1, -1):
        rail = Body("rail", RoundTube(50.8e-3, 2e-3), Axes.along((0, 0, 0), sign * forward.x, (0, 1, 0)))
        at_b = cut_tube("leg", TUBE, np.multiply(0.4, lean), (0, 0, 0), (0, 1, 0), square(0), coped(rail))
        at_a = cut_tube("leg", TUBE, (0, 0, 0), np.multiply(0.4, lean), (0, 1, 0), coped(rail), square(0))
        for part, end in ((at_b, at_b.end_b), (at_a, at_a.end_a)):
            heel = math.cos(end.heel) * part.axes.y + math.sin(end.heel) * part.axes.z
            assert heel[0] > 0.7
            assert end.outline.short_point.angle == pytest.approx(end.heel % (2 * math.pi), abs=1e-9)
            assert math.degrees(end.angle) == pytest.approx(50)
        assert at_a.saw_length == pytest.approx(at_b.saw_length, abs=1e-9)
        assert at_a.volume == pytest.approx(at_b.volume, rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(
    "shapes", [(TUBE, None), (TUBE, BOX), (BOX, None), (BOX, RectangularTube(60e-3, 50e-3, 3e-3, 6e-3))]
)
def test_volume_and_centre_against_the_exact_solid(shapes, seed):
    rng = np.random.default_rng(seed)
    shape, other = shapes
    if other is BOX:
        shape = RoundTube(25e-3, 1.5e-3)
    rail = Body(
        "rail", other or RoundTube(60e-3, 2e-3), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0.3 * (seed % 3)))
    )
    body = np.array([math.cos(a := rng.uniform(0.5, 1.6)), 0, math.sin(a)])
    offset = np.array([0, rng.uniform(-2e-3, 2e-3), 0])
    part = cut_tube("leg", shape, 0.25 * body + offset, offset, (0, 1, 0.2), square(0), coped(rail))
    solid = kit.exact_cope(Tube("leg", shape, part.axes), rail, 0.25)
    # quadrature where the cut kinks along the edges of a rectangular tube: some 1e-5 of the whole
    assert part.volume == pytest.approx(solid.mass * 1e-9, rel=2e-5)
    centre = np.array([solid.center.x, solid.center.y, solid.center.z]) * 1e-3
    np.testing.assert_allclose(part.centroid, centre, atol=5e-6)


def test_cut_and_uncut_volumes_add_up():
    # Equal tee: what the cope takes off a bar to the axis is half of Steinmetz's 16r³/3, and off the
    # tube that less the same for its bore, which is half of (8R/3)[(R²+r²)E − (R²−r²)K].
    from scipy.special import ellipe, ellipk

    def common(big, small):
        m = (small / big) ** 2
        return 8 * big / 3 * ((big**2 + small**2) * ellipe(m) - (big**2 - small**2) * ellipk(m))

    assert common(25.4, 19.05) == pytest.approx(53489.764586, abs=5e-7)
    for radius in (25.4, 19.05):
        shape = RoundTube(2e-3 * radius, 2.5e-3)
        rail = Body("rail", RoundTube(50.8e-3, 2e-3), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
        part = cut_tube("leg", shape, (0, 0, 0.3), (0, 0, 0), (1, 0, 0), square(0), coped(rail))
        whole = 16 / 3 * radius**3 if radius == 25.4 else common(25.4, radius)
        taken = (whole - common(25.4, radius - 2.5)) / 2
        # the pinch of equal radii costs the quadrature 1e-5 of the tube
        assert part.volume == pytest.approx(0.3 * shape.section.area - taken * 1e-9, rel=1e-5)


def test_cuts_that_run_into_each_other():
    with pytest.raises(
        GeometryError, match="leg: is too short: its two cuts, at before and the square cut, run into"
    ):
        cut_tube("leg", TUBE, (0, 0, 0), (0.005, 0, 0), (0, 0, 1), mitred("before", (-1, 1, 0)), square(0))


def test_axes_that_make_no_sense():
    with pytest.raises(GeometryError, match="two ends are the same point"):
        cut_tube("leg", TUBE, (0, 0, 1), (0, 0, 1), (0, 0, 1), square(0), square(0))
    with pytest.raises(GeometryError, match="clocking direction runs along the tube"):
        Axes.between((0, 0, 0), (0, 0, 1), (0, 0, 2))
    with pytest.raises(GeometryError, match="needs a direction"):
        Axes.along((0, 0, 0), (0, 0, 0), (0, 0, 2))


def test_axes_there_and_back():
    axes = Axes.along((1, 2, 3), (1, 1, 0), (0, 0.2, 1))
    np.testing.assert_allclose(axes.rotation @ axes.rotation.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(axes.rotation) == pytest.approx(1.0)
    points = np.arange(12.0).reshape(4, 3)
    np.testing.assert_allclose(axes.to_world(axes.to_local(points)), points, atol=1e-14)
