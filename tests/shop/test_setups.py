"""Machine settings: hole saws by hand, saw angles, bevels, punch tables."""

import math

import numpy as np
import pytest

from soapstone.job.service import Show
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import coped, flat, mitred, square
from soapstone.parts.ends import TubePart, cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.shop.setups import bevels, punch_rows, round_cut, saw_cut
from soapstone.shop.tube_cards import cut_words, plane_words, round_words, saw_words, vent_words
from soapstone.shop.ways import Ways, is_closed, last_fitted, saw_length, sawn_start
from soapstone.shop.words import Words

TUBE = RoundTube(38.1e-3, 2.1e-3)
BOX = RectangularTube(30e-3, 40e-3, 2e-3, 4e-3)
SAW = Ways(cutter="hole saw")
WORDS = Words.of(Show())


def rail(outside: float, aside: float = 0.0) -> Body:
    return Body("rail", RoundTube(outside, 3e-3), Axes.along((0, aside, 0), (1, 0, 0), (0, 1, 0)))


def strut(onto: Body, degrees: float = 90.0, gap: float = 0.0, shape: object = TUBE) -> TubePart:
    lean = math.radians(degrees)
    start = 0.4 * np.array([math.cos(lean), 0.0, math.sin(lean)])
    return cut_tube("strut", shape, start, (0, 0, 0), (0, 1, 0), square(0), coped(onto, gap=gap))


def test_hole_saw_by_hand() -> None:
    onto = rail(50.8e-3, aside=4e-3)
    part = strut(onto, 60.0, gap=0.3e-3)
    found = round_cut(part, part.end_b, onto, Ways(cutter="hole saw", gap=0.3e-3))
    assert found is not None
    assert found.diameter == pytest.approx(51.4e-3)
    assert found.head == pytest.approx(math.radians(30))
    assert found.offset == pytest.approx(4e-3)
    # the clocking line is world y, and so is the way from the tube's axis to the rail's
    assert found.towards is not None and math.cos(found.towards) == pytest.approx(1.0, rel=1e-12)
    # the rail's axis passes the tube's at its theoretical end
    assert found.beyond == pytest.approx(0.4 - part.end_b.outline.long_point.station, abs=1e-12)
    assert (found.taken, found.clears, found.misfit, found.advice) == (None, None, 0.0, "")


def test_how_far_a_saw_goes_through_a_right_angled_tube() -> None:
    onto = rail(50.8e-3)
    part = strut(onto)
    found = round_cut(part, part.end_b, onto, SAW)
    assert found is not None
    assert found.travel == pytest.approx(38.1e-3, abs=1e-6)
    for depth, clears in ((38e-3, False), (40e-3, True)):
        told = round_cut(part, part.end_b, onto, Ways(cutter="hole saw", cutter_depth=depth))
        assert told is not None and told.clears is clears
        assert ("not deep enough" in told.advice) is not clears


def test_the_best_saw_at_hand_and_the_gap_it_leaves() -> None:
    onto = rail(50e-3)
    part = strut(onto)
    found = round_cut(part, part.end_b, onto, Ways(cutter="hole saw", cutters=(30e-3, 52e-3, 76e-3)))
    assert found is not None and found.taken == 52e-3
    # A larger saw touches in the throat and stands off at the tube's sides: circles of 25 and 26 that touch,
    # 19.05 off their common line.
    y = 19.05e-3
    tip = math.sqrt(26e-3**2 - y**2) - 1e-3
    assert found.misfit == pytest.approx(math.hypot(y, tip) - 25e-3, abs=1e-6)
    exact = round_cut(part, part.end_b, onto, Ways(cutter="hole saw", cutters=(50e-3,)))
    assert exact is not None and exact.misfit == pytest.approx(0.0, abs=1e-9)
    small = round_cut(part, part.end_b, onto, Ways(cutter="hole saw", cutters=(42e-3,)))
    assert small is not None and "off size" in small.advice


def test_a_sharp_angle_is_no_work_for_a_hole_saw() -> None:
    onto = rail(60e-3)
    part = strut(onto, 18.0)
    found = round_cut(part, part.end_b, onto, SAW)
    assert found is not None and "wanders" in found.advice
    told = list(round_words(found, WORDS, SAW))
    assert told[1].startswith("Head 72.0° off square")
    assert told[-1].startswith("Under 20° the saw wanders")


def test_no_round_cutter_for_a_flat_face() -> None:
    onto = Body("box", BOX, Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    part = strut(onto, shape=RoundTube(20e-3, 2e-3))
    assert round_cut(part, part.end_b, onto, SAW) is None
    sawn = saw_cut(part, part.end_b)
    assert sawn is not None and sawn.up is None
    assert saw_words(sawn, WORDS, round_tube=True) == "A square cut all round"


@pytest.mark.parametrize("shape", [TUBE, BOX])
@pytest.mark.parametrize("normal", [(1.0, 0.4, 0.0), (1.0, 0.0, -0.5), (1.0, 0.3, 0.6)])
def test_saw_angles_make_the_plane(shape: object, normal: tuple[float, float, float]) -> None:
    part = cut_tube("leg", shape, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), flat(normal, "wall"))
    found = saw_cut(part, part.end_b)
    assert found is not None and found.up is not None
    unit = np.array(normal) / np.linalg.norm(normal)
    assert math.cos(found.off_square) == pytest.approx(unit[0], rel=1e-9)
    # cut deepest on the side that the face leans to
    side = np.array([math.cos(found.up), math.sin(found.up)])
    np.testing.assert_allclose(side * np.hypot(*unit[1:]), unit[1:], atol=1e-9)
    # swing about the upright, then tilt about the line that the swung blade leaves on the table
    trace = np.array([math.tan(found.swing), 1.0, 0.0])
    trace /= np.linalg.norm(trace)
    upright = np.array(
        [
            math.sin(found.tilt) * math.cos(found.swing),
            -math.sin(found.tilt) * math.sin(found.swing),
            math.cos(found.tilt),
        ]
    )
    assert trace @ unit == pytest.approx(0.0, abs=1e-9)
    assert upright @ unit == pytest.approx(0.0, abs=1e-9)


def test_a_compound_cut_is_told_as_two_settings() -> None:
    part = cut_tube("leg", BOX, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), flat((1, 0.3, 0.6), "wall"))
    found = saw_cut(part, part.end_b)
    assert found is not None
    told = saw_words(found, WORDS, round_tube=False)
    assert "the 180° side longer" in told and "the 270° side longer" in told
    assert saw_cut(strut(rail(50e-3)), strut(rail(50e-3)).end_b) is None


def test_bevels_of_an_equal_tee() -> None:
    part = strut(rail(38.1e-3))
    found = bevels(part.end_b)
    assert len(found) == 2
    assert {round(math.degrees(bevel.at)) % 180 for bevel in found} == {0}
    assert all(1e3 * bevel.deepest == pytest.approx(8.7, abs=0.05) for bevel in found)
    over = next(bevel for bevel in found if bevel.start > bevel.end)  # runs over the clocking line
    assert math.degrees(over.end) == pytest.approx(360 - math.degrees(over.start), abs=3)
    (told,) = cut_words(part.end_b, WORDS, Ways())
    assert (
        told.startswith("Cut to the solid line, the outer one, then bevel the bore back") and "8.7 mm" in told
    )
    (told,) = cut_words(part.end_b, WORDS, Ways(cutter="tube laser"))
    assert "square to the wall to the clear line" in told and "8.7 mm open" in told
    (told,) = cut_words(part.end_b, WORDS, SAW)
    assert "both" not in told and "at once" in told


def test_a_bevel_all_round_and_none() -> None:
    mitre = cut_tube("leg", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), mitred("b", (1, 2, 0)))
    assert len(bevels(mitre.end_b)) == 1
    assert bevels(mitre.end_a) == ()
    assert "no bevel needed" in next(cut_words(mitre.end_a, WORDS, Ways()))


def test_punch_table_of_an_equal_tee() -> None:
    part = strut(rail(38.1e-3))
    rows = punch_rows(part, part.end_b)
    assert len(rows) == 24
    for angle, place, outer, bore in rows:
        # setback √(R² − (r cos φ)²) from the long point, the tip, at the clocking line
        assert place == pytest.approx(19.05e-3 * angle, abs=1e-9)
        expected = math.sqrt(19.05e-3**2 - (19.05e-3 * math.cos(angle)) ** 2)
        # straight between rows of 2°: r·(1°)²/2 at most
        assert outer == pytest.approx(expected, abs=5e-6)
        inner = math.sqrt(19.05e-3**2 - (16.95e-3 * math.cos(angle)) ** 2)
        assert bore == pytest.approx(inner, abs=5e-6)
    box = strut(rail(60e-3), shape=BOX)
    places = [place for _, place, _, _ in punch_rows(box, box.end_b)]
    assert len(places) == 20 and places == sorted(places)


def test_lengths_and_order() -> None:
    part, ways = strut(rail(50e-3)), Ways(trim=1.5e-3)
    assert last_fitted(part) is part.end_b.outline.end
    assert saw_length(part, ways) == pytest.approx(part.saw_length + 1.5e-3)
    assert sawn_start(part, ways) == part.end_a.outline.long_point.station
    back = cut_tube("strut", TUBE, (0, 0, 0), (0, 0, 0.4), (0, 1, 0), coped(rail(50e-3)), square(0))
    assert last_fitted(back) is back.end_a.outline.end
    assert sawn_start(back, ways) == pytest.approx(back.end_a.outline.long_point.station - 1.5e-3)
    plain = cut_tube("leg", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), square(0), square(0))
    assert last_fitted(plain) is None
    assert saw_length(plain, ways) == plain.saw_length
    assert not is_closed(plain) and not is_closed(part)
    shut = cut_tube(
        "strut", TUBE, (0, 0, 0), (0, 0, 0.4), (0, 1, 0), coped(rail(50e-3)), flat((0, 0, 1), "lid")
    )
    assert is_closed(shut)
    assert "a 3 mm hole" in vent_words(shut, WORDS, Ways(vent=3e-3))
    assert "no size" in vent_words(shut, WORDS, Ways())


def test_what_is_said_first() -> None:
    part = cut_tube(
        "leg", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), mitred("a", (-1, 1, 0)), mitred("b", (1, 1, 1))
    )
    assert plane_words(part, WORDS).startswith("The ends do not lie in one plane: end B turned 45.0°")
    flat_one = cut_tube(
        "leg", TUBE, (0, 0, 0), (0.4, 0, 0), (0, 1, 0), mitred("a", (-1, 1, 0)), mitred("b", (1, 1, 0))
    )
    assert plane_words(flat_one, WORDS).startswith("Both ends in one plane")
    assert plane_words(strut(rail(50e-3)), WORDS).startswith("Both ends lie in one plane: at least one")
