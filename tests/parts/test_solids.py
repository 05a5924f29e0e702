"""Meshes: closed, the right size, and cut and uncut volumes that add up."""

import math

import numpy as np
import parts_kit as kit
import pytest

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import coped, mitred, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.parts.solids import (
    Solid,
    box,
    cylinder,
    difference,
    intersection,
    plate_solid,
    tube_solid,
    union,
)

HERE = Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0))
TUBES = [
    RoundTube(38.1e-3, 2.5e-3),
    RectangularTube(30e-3, 25e-3, 2e-3, 4e-3),
    RectangularTube(30e-3, 25e-3, 2e-3, 1e-3),
    RectangularTube(30e-3, 25e-3, 2e-3, 0.0),
]
RAILS = [RoundTube(50.8e-3, 2e-3), RectangularTube(50e-3, 60e-3, 3e-3, 6e-3)]


def _part(shape, rail_shape):
    rail = Body("rail", rail_shape, HERE)
    return cut_tube(
        "leg", shape, (0, 2e-3, 0), (0.1, 2e-3, 0.3), (1, 0, 0), coped(rail), mitred("next", (1, 1, 0.3))
    ), rail


@pytest.mark.parametrize("shape", TUBES)
@pytest.mark.parametrize("rail_shape", RAILS)
def test_tube_mesh_is_closed_and_agrees_with_the_part(shape, rail_shape):
    part, _ = _part(shape, rail_shape)
    solid = tube_solid(part)
    assert solid.is_closed()
    # polygons in the circles: (2π/180)²/6 = 2e-4 of the disc, more of a corner with fewer rows
    assert solid.volume == pytest.approx(part.volume, rel=1e-3)
    np.testing.assert_allclose(solid.centroid, part.centroid, atol=2e-5)
    # and both end lines are in it, vertex for vertex
    for end in (part.end_a, part.end_b):
        for stations, depth in ((end.outline.outer, 0.0), (end.outline.inner, shape.wall)):
            rows = np.column_stack((stations, shape.outline.generators(end.outline.abscissa, depth)))
            gaps = np.linalg.norm(solid.vertices[:, None] - part.axes.to_world(rows[::17])[None], axis=2)
            assert gaps.min(axis=0).max() < 1e-12


@pytest.mark.parametrize("shape", TUBES)
@pytest.mark.parametrize("rail_shape", RAILS)
def test_coped_end_does_not_enter_the_through_tube(shape, rail_shape):
    part, rail = _part(shape, rail_shape)
    inside = rail.shape.outline.distance(rail.axes.to_local(tube_solid(part).vertices)[:, 1:])
    assert inside.min() > -1e-9


def test_cut_and_uncut_volumes_add_up():
    long_tube = tube_solid(
        cut_tube("leg", TUBES[0], (0, 0, -0.2), (0, 0, 0.2), (1, 0, 0), square(0), square(0))
    )
    rail = cylinder(25.4e-3, 0.3, Axes.along((-0.15, 0, 0), (1, 0, 0), (0, 1, 0)), 256)
    left, taken = difference(long_tube, rail), intersection(long_tube, rail)
    assert left.volume + taken.volume == pytest.approx(long_tube.volume, rel=1e-9)
    assert left.is_closed()
    both = union(long_tube, rail)
    assert both.volume == pytest.approx(long_tube.volume + rail.volume - taken.volume, rel=1e-9)
    np.testing.assert_allclose(left.centroid, (0, 0, 0), atol=1e-8)


@pytest.mark.parametrize(
    ("radius", "small", "expected"),
    [
        # Steinmetz: 16 r³/3; crossing of unlike cylinders by the elliptic integrals.
        (3.0, 3.0, 144.000),
        (19.05, 19.05, 36870.89),
        (25.0, 25.0, 83333.333),
        (25.4, 19.05, 53489.764586),
    ],
)
def test_common_volume_of_crossing_bars_converges_to_the_closed_form(radius, small, expected):
    errors = []
    for segments in (64, 128, 256):
        one = cylinder(radius, 6 * radius, Axes.along((-3 * radius, 0, 0), (1, 0, 0), (0, 1, 0)), segments)
        two = cylinder(small, 6 * radius, Axes.along((0, -3 * radius, 0), (0, 1, 0), (0, 0, 1)), segments)
        errors.append(1 - intersection(one, two).volume / expected)
    # inscribed polygons: second order, a quarter each time the sides double
    assert errors[1] / errors[0] == pytest.approx(0.25, abs=0.01)
    assert errors[2] / errors[1] == pytest.approx(0.25, abs=0.01)
    assert abs(errors[2]) < 5e-4


def test_bars_that_only_touch_leave_no_sliver():
    one = cylinder(10e-3, 0.2, HERE, 128)
    two = cylinder(10e-3, 0.2, Axes.along((0, 20e-3, 0), (1, 0, 0), (0, 1, 0)), 128)
    assert len(intersection(one, two).triangles) == 0
    assert difference(one, two).volume == pytest.approx(one.volume, rel=1e-12)


def test_box_and_plate_in_place():
    axes = Axes.along((1, 2, 3), (0, 1, 0), (0, 0, 1))
    block = box((0.4, 0.2, 0.1), axes)
    assert block.volume == pytest.approx(0.008)
    np.testing.assert_allclose(block.centroid, (1, 2, 3), atol=1e-12)
    np.testing.assert_allclose(np.ptp(block.vertices, axis=0), (0.1, 0.4, 0.2), atol=1e-12)
    outline = np.array([(0, 0), (0.2, 0), (0.2, 0.1), (0, 0.1)])
    hole = np.array([(0.05, 0.05), (0.07, 0.05), (0.07, 0.07), (0.05, 0.07)])
    plate = plate_solid(outline, [hole], 0.01, axes)
    assert plate.volume == pytest.approx((0.02 - 0.0004) * 0.01)
    assert plate.is_closed()
    # the outline's x runs along the frame's y, world up here, and the thickness along its x
    assert plate.vertices[:, 2].max() == pytest.approx(3.2)
    assert plate.vertices[:, 1].max() == pytest.approx(2.01)


def test_volume_of_an_open_or_turned_mesh_is_noticed():
    block = box((1, 1, 1), HERE)
    turned = Solid(block.vertices, block.triangles[:, ::-1])
    assert turned.volume == pytest.approx(-1.0)
    open_mesh = Solid(block.vertices, block.triangles[1:])
    assert not open_mesh.is_closed()
    with pytest.raises(GeometryError, match="not a closed solid"):
        difference(open_mesh, block)


def test_mesh_agrees_with_the_exact_solid():
    part = cut_tube(
        "leg",
        TUBES[0],
        (0.1, 0, 0.25),
        (0, 0, 0),
        (1, 0, 0),
        square(0),
        coped(Body("rail", RAILS[0], HERE)),
        points=721,
    )
    tube = kit.Tube("leg", TUBES[0], part.axes)
    exact = kit.exact_cope(tube, Body("rail", RAILS[0], HERE), math.hypot(0.1, 0.25))
    # (2π/720)²/6 = 1.3e-5 of the discs
    assert tube_solid(part).volume == pytest.approx(exact.mass * 1e-9, rel=2e-5)
