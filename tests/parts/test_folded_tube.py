"""Folded tubes against solids cut by wedges, and by hand."""

import math

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.parts.folded_tube import WAYS, fold_tube, layout_lines, wedge_volume
from soapstone.parts.sections import RectangularTube

BOX = RectangularTube(0.030, 0.050, 0.0025, 0.005)


def solid(shape: RectangularTube, length: float) -> manifold3d.Manifold:
    """The tube along x, its corners as polygons."""
    rings = [
        profile.generators(np.linspace(0, profile.perimeter, 2881)[:-1], 0.0)
        for profile in (shape.outline, shape.bore)
    ]
    section = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
    bar = manifold3d.Manifold.extrude(section, length)
    return bar.transform([[0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]])


def wedge_prism(shape: RectangularTube, station: float, angle: float, way: str) -> manifold3d.Manifold:
    """A triangular prism, its edge on the inner face of the wall that stays, across the tube."""
    y, z = WAYS[way]
    off = (shape.height if z else shape.width) / 2 - shape.wall
    tall, wide = 0.2, 0.2
    half = tall * math.tan(angle / 2)
    edge = np.array([station, -off * y, -off * z])
    across = np.array([0, -z, y]) * wide
    top = tall * np.array([0, y, z])
    across_top = np.array([half, 0.0, 0.0])
    corners = [edge + s * across + t for s in (-1, 1) for t in (0 * top, top - across_top, top + across_top)]
    return manifold3d.Manifold.hull_points(np.array(corners))


@settings(max_examples=25, deadline=None)
@given(
    st.floats(0.02, 0.06),
    st.floats(0.02, 0.06),
    st.floats(0.0015, 0.004),
    st.floats(0.2, 1.5),
    st.sampled_from(sorted(WAYS)),
    st.floats(0.0, 2.5),
)
def test_what_a_wedge_takes_agrees_with_a_solid(wide, high, wall, angle, way, corner) -> None:  # type: ignore[no-untyped-def]
    shape = RectangularTube(wide, high, wall, min(corner * wall, wide / 2.2, high / 2.2))
    part = fold_tube("nose", shape, (0.3, 0.3), [(angle, way)], 0.0)
    flat = solid(shape, part.length)
    left = (flat - wedge_prism(shape, part.wedges[0].station, angle, way)).volume()
    # a corner's polygon of some 300 sides is short by 1e-5 of its area; the tube is mostly flat
    assert part.volume == pytest.approx(left, rel=2e-5)
    assert wedge_volume(shape, part.wedges[0]) == pytest.approx(flat.volume() - left, rel=2e-4, abs=1e-9)


def test_sizes_by_hand() -> None:
    """45° up: opening 2 (50 − 2.5) tan 22.5°, hinge 20 mm flat below, axis legs 260, 180, 260."""
    part = fold_tube("cradle", BOX, (0.26, 0.18, 0.26), [(math.pi / 4, "up")] * 2, 0.0012)
    tan = math.tan(math.pi / 8)
    first, second = part.wedges
    assert first.opening == pytest.approx(2 * 0.0475 * tan)
    assert first.marked == pytest.approx(2 * 0.0475 * tan - 0.0012 / math.cos(math.pi / 8))
    assert first.hinge == pytest.approx(0.020)
    assert first.station == pytest.approx(0.26 + 0.0225 * tan)
    assert second.station - first.station == pytest.approx(0.18 + 2 * 0.0225 * tan)
    assert part.length == pytest.approx(0.70 + 4 * 0.0225 * tan)


def test_the_seam_has_its_length() -> None:
    """Sharp corners: across the top 30, and two sides of 47.5 / cos 22.5°, less nothing."""
    sharp = RectangularTube(0.030, 0.050, 0.0025, 0.0)
    part = fold_tube("cradle", sharp, (0.26, 0.26), [(math.pi / 4, "up")], 0.0)
    # one row of 721 round 160 mm may straddle the hinge: 0.25 mm a side
    assert part.wedges[0].weld == pytest.approx(0.030 + 2 * 0.0475 / math.cos(math.pi / 8), abs=5e-4)


def test_up_and_down_fold_back_to_parallel_and_keep_their_axis() -> None:
    """A jog: the axis' legs fold up to a step of 180 sin 30°; the flat grows by what folds take."""
    part = fold_tube("jog", BOX, (0.2, 0.18, 0.2), [(math.pi / 6, "up"), (math.pi / 6, "down")], 0.0)
    assert part.length == pytest.approx(0.58 + 4 * 0.0225 * math.tan(math.pi / 12))
    assert part.wedges[0].way == (0.0, 1.0) and part.wedges[1].way == (0.0, -1.0)


def test_closing_the_wedge_brings_the_axis_to_its_corner() -> None:
    """Turn the second half about the hinge by the angle: its axis leaves the first half's at the corner."""
    angle = math.radians(50)
    part = fold_tube("l", BOX, (0.2, 0.3), [(angle, "up")], 0.0)
    hinge = np.array([part.wedges[0].station, -0.0225])
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    end = hinge + turn @ (np.array([part.length, 0.0]) - hinge)
    corner = np.array([0.2, 0.0])
    assert end == pytest.approx(corner + 0.3 * np.array([math.cos(angle), math.sin(angle)]), abs=1e-12)


def test_layout_lines_close_round_the_tube_and_leave_half_a_kerf() -> None:
    part = fold_tube("l", BOX, (0.2, 0.3), [(0.8, "left")], 0.001)
    rows, low, high = layout_lines(BOX, part.wedges[0], 0.001)
    assert low[0] == pytest.approx(low[-1]) and high[0] == pytest.approx(high[-1])
    assert (high - low).max() == pytest.approx(part.wedges[0].marked, abs=1e-9)
    assert ((high - low) == 0.0).any()
    assert np.allclose(low + high, 2 * part.wedges[0].station)
    assert rows[-1] == pytest.approx(BOX.outline.perimeter)


def test_a_nose_by_hand() -> None:
    """50 x 30 x 2.5: r 22.5, begins 120 − 25 mm, tongue π (22.5 + 1.25), 20 wide."""
    part = fold_tube("horn", BOX, (0.12,), [], 0.001, nose=True)
    nose = part.nose
    assert nose is not None
    assert (nose.begins, nose.radius, nose.width) == pytest.approx((0.095, 0.0225, 0.020))
    assert nose.tongue == pytest.approx(math.pi * 0.02375)
    assert part.length == pytest.approx(0.095 + math.pi * 0.02375)
    sides = 2 * 0.0025 * math.pi / 2 * 0.0225**2
    assert part.volume == pytest.approx(
        BOX.section.area * 0.095 + sides + nose.tongue * 0.020 * 0.0025, rel=1e-12
    )


@pytest.mark.parametrize(
    ("legs", "folds", "nose", "told"),
    [
        ((0.2, 0.02, 0.2), [(1.0, "up"), (1.0, "up")], False, "leg 2 is too short"),
        ((0.01, 0.2), [(1.0, "up")], False, "leg 1 is too short"),
        ((0.02,), [], True, "no room for a nose"),
    ],
)
def test_what_has_no_room_is_named(legs, folds, nose, told) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(GeometryError, match=told) as caught:
        fold_tube("cradle", BOX, legs, folds, 0.001, nose=nose)
    assert "cradle" in str(caught.value)
