"""Plates: exact areas and centres, edge distances, and shapes that are refused."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.parts import contour as outlines
from soapstone.parts.axes import Axes
from soapstone.parts.contour import Arc, Line
from soapstone.parts.plates import CUT_LAYER, Hole, PlateOutline, hanger, tab

EAR = {"base_length": 50e-3, "reach": 40e-3, "end_radius": 20e-3, "hole_diameter": 12.5e-3, "thickness": 6e-3}


def test_parallel_sided_tab():
    plate = tab("tab", **{**EAR, "base_length": 40e-3})
    gross = 40e-3 * 40e-3 + math.pi / 2 * 20e-3**2
    hole = math.pi / 4 * 12.5e-3**2
    assert plate.area == pytest.approx(gross - hole, rel=1e-12)
    assert plate.perimeter == pytest.approx(40e-3 + 2 * 40e-3 + math.pi * 20e-3, rel=1e-12)
    assert plate.cut_length == pytest.approx(plate.perimeter + math.pi * 12.5e-3, rel=1e-12)
    np.testing.assert_allclose(plate.bounds, (-20e-3, 0, 20e-3, 60e-3), atol=1e-15)
    # half disc: centre 4r/3π beyond its flat
    up = (
        1600e-6 * 20e-3 + math.pi / 2 * 400e-6 * (40e-3 + 4 * 20e-3 / (3 * math.pi)) - hole * 40e-3
    ) / plate.area
    assert plate.centroid == (pytest.approx(0.0, abs=1e-15), pytest.approx(up, rel=1e-12))
    assert plate.layer == CUT_LAYER
    assert plate.mass(7850) == pytest.approx(plate.area * 6e-3 * 7850)


def test_edge_distance_in_both_definitions():
    plate = tab("tab", **EAR)
    edge = plate.edge_distance(plate.holes[0])
    assert edge.to_centre == pytest.approx(20e-3, rel=1e-12)
    assert edge.clear == pytest.approx(20e-3 - 6.25e-3, rel=1e-12)
    low = hanger(
        "hanger",
        width=50e-3,
        length=120e-3,
        corner_radius=10e-3,
        holes=[Hole((0, 40e-3), 10e-3)],
        thickness=6e-3,
    )
    assert low.edge_distance(low.holes[0]).to_centre == pytest.approx(20e-3)
    corner = Hole((18e-3, 53e-3), 2e-3)
    assert low.edge_distance(corner).to_centre == pytest.approx(10e-3 - math.hypot(3e-3, 3e-3))


@given(base=st.floats(20e-3, 120e-3), reach=st.floats(21e-3, 80e-3), radius=st.floats(8e-3, 20e-3))
@settings(deadline=None, max_examples=40)
def test_sides_of_a_tab_are_tangent_to_its_end(base, reach, radius):
    plate = tab("tab", base_length=base, reach=reach, end_radius=radius, hole_diameter=8e-3, thickness=5e-3)
    arc = next(piece for piece in plate.contour if isinstance(piece, Arc))
    for piece in plate.contour[1:]:
        if isinstance(piece, Line):
            assert piece.distance(arc.centre) == pytest.approx(radius, rel=1e-9)
    assert outlines.widest_gap(plate.contour) < 1e-12
    assert plate.bounds[3] == pytest.approx(reach + radius)
    polygon = shapely.Polygon(outlines.polygon(plate.contour, 1e-8))
    hole = math.pi / 4 * 8e-3**2
    # chords a hundred-thousandth of a millimetre off the arc, along at most the whole of it
    assert plate.area == pytest.approx(polygon.area - hole, abs=1e-8 * plate.perimeter)
    assert plate.centroid[1] * plate.area + hole * reach == pytest.approx(
        polygon.centroid.y * polygon.area, abs=1e-8 * plate.perimeter * 0.1
    )


def test_hanger_with_rounded_ends():
    holes = [Hole((0, 40e-3), 12e-3), Hole((0, -40e-3), 10e-3)]
    plate = hanger("link", width=40e-3, length=120e-3, corner_radius=20e-3, holes=holes, thickness=8e-3)
    assert plate.area == pytest.approx(
        40e-3 * 80e-3 + math.pi * 20e-3**2 - math.pi / 4 * (12e-3**2 + 10e-3**2), rel=1e-12
    )
    assert plate.perimeter == pytest.approx(160e-3 + math.pi * 40e-3, rel=1e-12)
    assert plate.bounds == pytest.approx((-20e-3, -60e-3, 20e-3, 60e-3))
    assert plate.centroid[1] < 0  # the larger hole is at the top
    sharp = hanger("plate", width=30e-3, length=60e-3, corner_radius=0.0, holes=[], thickness=8e-3)
    assert sharp.area == pytest.approx(1800e-6, rel=1e-12)
    assert len(sharp.contour) == 4
    assert len(plate.contour) == 6  # no line of no length between the arcs of an end


def test_concave_arc_takes_away():
    notch = Arc((0.0, 30e-3), 10e-3, 0.0, -math.pi)
    pieces = (
        Line((-30e-3, 0), (30e-3, 0)),
        Line((30e-3, 0), (30e-3, 30e-3)),
        Line((30e-3, 30e-3), notch.start),
        notch,
        Line(notch.end, (-30e-3, 30e-3)),
        Line((-30e-3, 30e-3), (-30e-3, 0)),
    )
    plate = PlateOutline("saddle", pieces, (), 5e-3)
    half = math.pi / 2 * 100e-6
    assert plate.area == pytest.approx(1800e-6 - half, rel=1e-12)
    lost = 30e-3 - 4 * 10e-3 / (3 * math.pi)
    assert plate.centroid[1] == pytest.approx((1800e-6 * 15e-3 - half * lost) / plate.area, rel=1e-12)
    assert outlines.distance(plate.contour, (0.0, 5e-3)) == pytest.approx(5e-3)
    assert outlines.distance(plate.contour, (0.0, 12e-3)) == pytest.approx(8e-3)


def test_arc_distance_and_chords():
    arc = Arc((0, 0), 1.0, 0.0, math.pi / 2)
    assert arc.distance((0, 0)) == 1.0
    assert arc.distance((-1, 0)) == pytest.approx(math.sqrt(2))
    corners = np.array([*arc.corners(1e-3), arc.end])
    middles = (corners[1:] + corners[:-1]) / 2
    sag = 1 - np.hypot(*middles.T)
    assert 0.2e-3 < sag.max() <= 1e-3
    assert len(arc.corners(10.0)) == 1


def test_plate_solid():
    plate = tab("tab", **EAR)
    axes = Axes.along((0, 0, 1), (1, 0, 0), (0, 1, 0))
    solid = plate.solid(axes, 1e-6)
    assert solid.is_closed()
    # chords 1e-6 m off arcs of 6 mm and more: 2e-4 of their discs at most
    assert solid.volume == pytest.approx(plate.area * plate.thickness, rel=2e-4)
    assert solid.vertices[:, 0].max() == pytest.approx(6e-3)
    assert solid.vertices[:, 2].max() == pytest.approx(1.06)


SQUARE = (Line((0, 0), (1, 0)), Line((1, 0), (1, 1)), Line((1, 1), (0, 1)), Line((0, 1), (0, 0)))
TWISTED = (Line((0, 0), (1, 0)), Line((1, 0), (0, 1)), Line((0, 1), (1, 1)), Line((1, 1), (0, 0)))
BACKWARDS = tuple(Line(piece.end, piece.start) for piece in reversed(SQUARE))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (
            lambda: tab("ear", **{**EAR, "hole_diameter": 41e-3}),
            "ear: its hole of 41 mm is larger than its end",
        ),
        (
            lambda: tab("ear", **{**EAR, "reach": 15e-3}),
            "ear: its end radius of 20 mm reaches below its base",
        ),
        (lambda: tab("ear", **{**EAR, "thickness": 0.0}), "ear: its thickness is 0 mm, not more than zero"),
        (lambda: tab("ear", **{**EAR, "base_length": math.nan}), "ear: its base length is nan mm"),
        (
            lambda: hanger("h", width=1, length=2, corner_radius=0.6, holes=[], thickness=1),
            "h: a corner radius",
        ),
        (lambda: PlateOutline("p", SQUARE[:3], (), 0.1), "p: its outline is not closed"),
        (lambda: PlateOutline("p", TWISTED, (), 0.1), "p: its outline crosses itself"),
        (lambda: PlateOutline("p", BACKWARDS, (), 0.1), "p: its outline runs clockwise"),
        (
            lambda: PlateOutline("p", SQUARE, (Hole((0.5, 0.9), 0.3),), 0.1),
            "hole of 300 mm at .500, 900 mm. does not",
        ),
        (lambda: PlateOutline("p", SQUARE, (Hole((1.5, 0.5), 0.3),), 0.1), "does not fit inside the plate"),
        (
            lambda: PlateOutline("p", SQUARE, (Hole((0.4, 0.5), 0.3), Hole((0.6, 0.5), 0.2)), 0.1),
            r"holes at \(400, 500 mm\) and \(600, 500 mm\) run together",
        ),
        (lambda: PlateOutline("p", SQUARE, (Hole((0.4, 0.5), 0.0),), 0.1), "its hole diameter is 0 mm"),
    ],
)
def test_plates_that_cannot_be_made(make, words):
    with pytest.raises(GeometryError, match=words):
        make()
