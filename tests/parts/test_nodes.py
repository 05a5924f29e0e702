"""Several tubes at one node, ends on bent tube, flats: lines by other formulas, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import parts_kit as kit
import pytest

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.bent import BentTube, coped_onto_bent
from soapstone.parts.cope import Body
from soapstone.parts.cuts import EndKind, coped, flat, mitred, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.parts.trims import Trimmer, trimmed

TUBE = RoundTube(38.1e-3, 2.1e-3)
RAIL = Body("rail", RoundTube(50.8e-3, 3e-3), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))


def _k_joint(half_angle, other=TUBE, name="first"):
    """Two braces that leave the rail's axis upwards, `half_angle` to either side of upright."""
    lean = np.array([math.sin(half_angle), 0.0, math.cos(half_angle)])
    first = Body(name, other, Axes.along((0, 0, 0), lean, (0, 1, 0)))
    cut = trimmed(coped(RAIL), [Trimmer(first, 0.0, 0.4)])
    mirrored = lean * (-1, 1, 1)
    return cut_tube("second", TUBE, 0.4 * mirrored, (0, 0, 0), (0, 1, 0), square(0.0), cut), mirrored


def test_two_braces_of_a_k_meet_on_the_plane_between_them():
    # Two equal tubes that lean alike: where they meet is the plane x = 0, a mitre.
    part, _ = _k_joint(math.radians(30))
    end = part.end_b
    assert end.also == ("first",)
    lines = TUBE.outline.generators(end.outline.abscissa, 0.0)
    world = part.axes.to_world(np.column_stack((end.outline.outer, lines)))
    on_rail = np.hypot(world[:, 1], world[:, 2])
    trimmed_back = on_rail > 25.4e-3 + 1e-7
    assert 0.2 < trimmed_back.mean() < 0.6
    np.testing.assert_allclose(world[trimmed_back, 0], 0.0, atol=1e-9)
    np.testing.assert_allclose(on_rail[~trimmed_back], 25.4e-3, atol=1e-9)
    assert world[:, 0].max() < 1e-9


def test_braces_that_stand_apart_leave_each_other_alone():
    part, _ = _k_joint(math.radians(60))
    assert part.end_b.also == ()
    assert part.end_b.tools[0].span is None and len(part.end_b.tools) == 1


def test_a_thinner_neighbour_cuts_only_its_own_width():
    part, _ = _k_joint(math.radians(25), RoundTube(15e-3, 1.5e-3))
    end, plain = (
        part.end_b,
        cut_tube("second", TUBE, part.axes.origin, (0, 0, 0), (0, 1, 0), square(0), coped(RAIL)),
    )
    whole = np.interp(end.outline.abscissa, plain.end_b.outline.abscissa, plain.end_b.outline.outer)
    shorter = whole - end.outline.outer > 0.1e-3
    lines = TUBE.outline.generators(end.outline.abscissa, 0.0)
    # the clocking line is world y, and so is the neighbour's width
    assert np.abs(lines[shorter, 0]).max() < 7.5e-3 + 1e-6
    assert np.abs(lines[shorter, 0]).max() > 6e-3


def test_a_neighbour_in_the_way_at_too_sharp_an_angle_is_refused_by_name():
    with pytest.raises(GeometryError, match=r"meets first at 12\.0°, under 15°") as refused:
        _k_joint(math.radians(6))
    assert refused.value.where == "second"


def test_the_same_node_at_end_a():
    part, away = _k_joint(math.radians(30))
    lean = np.array([0.5, 0.0, math.cos(math.radians(30))])
    first = Body("first", TUBE, Axes.along((0, 0, 0), lean, (0, 1, 0)))
    cut = trimmed(coped(RAIL), [Trimmer(first, 0.0, 0.4)])
    back = cut_tube("second", TUBE, (0, 0, 0), 0.4 * away, (0, 1, 0), cut, square(0.0))
    assert back.end_a.also == ("first",)
    assert back.volume == pytest.approx(part.volume, rel=1e-6)
    assert back.saw_length == pytest.approx(part.saw_length, abs=1e-9)


def _hoop(outside=50e-3, bend=0.15, sweep=1.4):
    start = bend * np.array([math.cos(sweep / 2), -math.sin(sweep / 2), 0.0])
    return BentTube("hoop", RoundTube(outside, 3e-3), np.zeros(3), start, np.array([0.0, 0.0, 1.0]), sweep)


def test_a_tube_from_the_middle_of_a_bend_by_hand():
    # From the arc's centre out: at height z and y = 0 the inside of the bend is R − √(r² − z²);
    # at z = 0 and aside by y it is √((R − r)² − y²).
    part = cut_tube("strut", TUBE, (0, 0, 0), (0.15, 0, 0), (0, 1, 0), square(0), coped_onto_bent(_hoop()))
    outline = part.end_b.outline
    lines = TUBE.outline.generators(outline.abscissa, 0.0)
    up = np.abs(lines[:, 0]) < 1e-9
    aside = np.abs(lines[:, 1]) < 1e-9
    assert up.sum() == 2 and aside.sum() == 3
    np.testing.assert_allclose(outline.outer[up], 0.15 - math.sqrt(25e-3**2 - 19.05e-3**2), atol=1e-9)
    np.testing.assert_allclose(outline.outer[aside], math.sqrt(0.125**2 - 19.05e-3**2), atol=1e-9)
    assert part.end_b.angle == pytest.approx(math.pi / 2)


@pytest.mark.parametrize("along", [0.02, 0.05])
def test_on_a_straight_leg_it_is_the_plain_cope(along):
    hoop = _hoop()
    far = hoop.axes.to_world(hoop._on_arc(hoop.sweep))
    way = hoop._along(hoop.sweep) @ hoop.axes.rotation
    at = far + way * (0.06 + along)
    rail = Body("leg", hoop.shape, Axes.along(far, way, (0, 0, 1)))
    start = at + np.array([0.0, 0.05, 0.3])
    parts = [
        cut_tube("strut", TUBE, start, at, (1, 0, 0), square(0), cut)
        for cut in (coped_onto_bent(hoop, gap=0.2e-3), coped(rail, gap=0.2e-3))
    ]
    np.testing.assert_allclose(parts[0].volume, parts[1].volume, rtol=1e-9)
    assert parts[0].end_b.angle == pytest.approx(parts[1].end_b.angle, abs=1e-12)
    assert parts[0].end_b.outline.short_point.station == pytest.approx(
        parts[1].end_b.outline.short_point.station, abs=1e-9
    )


def test_a_leg_counts_for_as_far_as_it_runs():
    """The strut comes down on the bend past where the leg, if it went on, would have crossed it."""
    hoop = _hoop(sweep=math.pi / 2)
    far = hoop.axes.to_world(hoop._on_arc(hoop.sweep))
    way = hoop._along(hoop.sweep) @ hoop.axes.rotation
    on_arc = hoop.axes.to_world(hoop._on_arc(0.2))
    start = 2 * (far + 0.25 * way) - on_arc  # the axis of the leg lies half-way, 0.25 m past the bend

    def strut(legs):
        cut = coped_onto_bent(replace(hoop, legs=(legs, legs)))
        return cut_tube("strut", TUBE, start, on_arc, (0, 0, 1), square(0), cut)

    whole = float(np.linalg.norm(on_arc - start))
    cut_off, right = (strut(legs).end_b for legs in (math.inf, 0.05))
    assert cut_off.outline.long_point.station < 0.6 * whole
    assert right.outline.short_point.station > 0.75 * whole


def test_equal_tubes_on_a_bend_pinch_where_they_should():
    hoop = _hoop(outside=38.1e-3)
    part = cut_tube("strut", TUBE, (0, 0, 0), (0.15, 0, 0), (0, 1, 0), square(0), coped_onto_bent(hoop))
    assert part.end_b.outline.long_point.station == pytest.approx(0.15, abs=1e-6)


@pytest.mark.parametrize(
    ("hoop", "start", "end", "words"),
    [
        (_hoop(), (0, 0, 0.03), (0.15, 0, 0.03), "past the side of hoop"),
        (_hoop(), (0, 0, 0.3), (0.15, 0, 0.3), "past the side of hoop, or misses it"),
        (_hoop(bend=0.02), (-0.3, 0, 0.0), (0.02, 0, 0), "has no room for a cope"),
    ],
)
def test_what_a_bend_refuses(hoop, start, end, words):
    with pytest.raises(GeometryError, match=words) as refused:
        cut_tube("strut", TUBE, start, end, (0, 0, 1), square(0), coped_onto_bent(hoop))
    assert {"hoop"} <= set(str(refused.value).replace(":", " ").replace(",", " ").replace(";", " ").split())


def test_an_overhang_on_a_bend_is_recorded():
    hoop = _hoop(outside=36.1e-3)
    part = cut_tube(
        "strut",
        TUBE,
        (0, 0, 0),
        (0.15, 0, 0),
        (0, 1, 0),
        square(0),
        coped_onto_bent(hoop, overhang_allowed=2.1e-3),
    )
    assert part.end_b.outline.overhang == pytest.approx(1e-3, abs=1e-6)


@pytest.mark.parametrize("shape", [TUBE, RectangularTube(30e-3, 40e-3, 2e-3, 4e-3)])
def test_flat_ends_lie_on_their_face(shape):
    normal = np.array([1.0, 0.4, -0.3])
    part = cut_tube(
        "leg", shape, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), flat(normal, "bulkhead", gap=1e-3)
    )
    end = part.end_b
    assert (end.kind, end.onto) == (EndKind.FLAT, "bulkhead")
    world = part.axes.to_world(
        np.column_stack((end.outline.outer, shape.outline.generators(end.outline.abscissa, 0)))
    )
    np.testing.assert_allclose((world - (0.399, 0, 0)) @ normal, 0.0, atol=1e-12)
    assert end.angle == pytest.approx(math.atan(0.5), rel=1e-12)
    with pytest.raises(GeometryError, match="face of bulkhead at under 15°"):
        cut_tube("leg", shape, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), flat((0.2, 1, 0), "bulkhead"))


def test_gap_is_left_all_round():
    gap = 0.4e-3
    part = cut_tube("strut", TUBE, (0.2, 0, 0.3), (0, 0, 0), (0, 1, 0), square(0), coped(RAIL, gap=gap))
    lines = TUBE.outline.generators(part.end_b.outline.abscissa, 0.0)
    world = part.axes.to_world(np.column_stack((part.end_b.outline.outer, lines)))
    np.testing.assert_allclose(np.hypot(world[:, 1], world[:, 2]) - 25.4e-3, gap, atol=1e-12)
    # both tubes of a mitre leave half of it, square to the plane between them
    away = (math.cos(1.2), math.sin(1.2), 0.0)
    pair = [
        cut_tube("a", TUBE, (-0.4, 0, 0), (0, 0, 0), (0, 1, 0), square(0), mitred("b", away, gap=g))
        for g in (0, gap)
    ]
    back = pair[0].centre_length - pair[1].centre_length
    normal = np.add((1, 0, 0), away)
    assert back * normal[0] / np.linalg.norm(normal) == pytest.approx(gap / 2, rel=1e-9)


def test_clear_line_and_bevel_of_an_equal_tee():
    # 38.1 × 2.1 mm, 90°: outer and inner line are √(R² − (r − t)²) = 8.7 mm apart at the crotch.
    equal = Body("rail", TUBE, RAIL.axes)
    part = cut_tube("strut", TUBE, (0, 0, 0.3), (0, 0, 0), (0, 1, 0), square(0), coped(equal))
    end = part.end_b
    crotch = int(np.abs(end.outline.angle).argmin())
    assert 1e3 * (end.outline.outer - end.outline.inner)[crotch] == pytest.approx(8.7, abs=0.05)
    assert 1e3 * end.bevel.max() == pytest.approx(8.7, abs=0.05)
    assert (end.clear <= np.minimum(end.outline.outer, end.outline.inner) + 1e-12).all()
    assert end.bevel[int(np.abs(end.outline.angle - math.pi / 2).argmin())] == pytest.approx(0.0, abs=1e-9)
    kit_part = cut_tube("strut", TUBE, (0, 0, 0), (0, 0, 0.3), (0, 1, 0), coped(equal), square(0))
    assert kit_part.end_a.bevel.max() == pytest.approx(end.bevel.max(), rel=1e-9)


def test_field_case_crossing_tubes_of_one_size_and_tubes_that_touch():
    """Equal radii are the degenerate case: the cope closes and reaches from 0 to R; touching gives no cut."""
    for radius in (3e-3, 19.05e-3):
        shape = RoundTube(2 * radius, radius / 10)
        rail = Body("rail", shape, Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
        part = cut_tube("strut", shape, (0, 0, -10 * radius), (0, 0, 0), (1, 0, 0), square(0), coped(rail))
        setback = 10 * radius - part.end_b.outline.outer
        assert setback.min() == pytest.approx(0.0, abs=1e-9)
        assert setback.max() == pytest.approx(radius, rel=1e-12)
        assert part.end_b.outline.outer[0] == part.end_b.outline.outer[-1]
        # full bars: common volume 16 R³/3; half of it lies on the strut's side
        bars = [
            kit.exact_bar(shape.outline, axes, -4 * radius, 4 * radius) for axes in (rail.axes, part.axes)
        ]
        moved = kit.exact_bar(shape.outline, part.axes, 6 * radius, 14 * radius)
        assert (bars[0] * moved).mass == pytest.approx(16e9 * radius**3 / 3, rel=1e-6)
        touching = Axes.along((0, 2 * radius, 0), (1, 0, 0), (0, 1, 0))
        with pytest.raises(GeometryError, match="touches only") as refused:
            cut_tube(
                "strut",
                shape,
                touching.origin,
                touching.origin + touching.x,
                (0, 1, 0),
                square(0),
                coped(rail),
            )
        assert "strut" in str(refused.value) and "rail" in str(refused.value)
