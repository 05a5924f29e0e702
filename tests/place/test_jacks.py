"""Turns of screws by hand figures, and what screws cannot do."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError, LooseError
from soapstone.place.jacks import Screw, lift_to, reached_by
from soapstone.place.pose import Pose, rotation_from_angles, rotation_from_vector

UP = np.array([0.0, 0.0, 1.0])
NOW = Pose(np.eye(3), np.zeros(3))
NOTICED = (1e-4, 1e-4)
PIVOT = np.zeros(3)


def screw(name: str, x: float, y: float, pitch: float = 0.002) -> Screw:
    return Screw(name, np.array([x, y, -0.2]), UP, pitch)


THREE = (screw("front left", 0.3, 0.25), screw("front right", 0.3, -0.25), screw("rear", -0.4, 0.0))


def test_straight_up() -> None:
    lift = lift_to(THREE, NOW, Pose(np.eye(3), np.array([0, 0, 0.005])), PIVOT, noticed=NOTICED)
    assert [turn.turns for turn in lift.turns] == pytest.approx([2.5] * 3, rel=1e-12)
    assert {turn.way for turn in lift.turns} == {"clockwise"} and lift.words == ()


def test_nose_down_by_hand() -> None:
    """1 deg nose down about the pivot: a point at (x, z) falls by x sin 1 deg, less z (1 - cos 1 deg)."""
    angle = np.radians(1.0)
    wanted = Pose(rotation_from_angles(turned_left=0, nose_down=angle, left_up=0), np.zeros(3))
    lift = lift_to(THREE, NOW, wanted, PIVOT, noticed=NOTICED)
    fall = 0.2 * (1 - np.cos(angle))
    front, rear = -0.3 * np.sin(angle) + fall, 0.4 * np.sin(angle) + fall
    assert [turn.lift for turn in lift.turns] == pytest.approx([front, front, rear], rel=1e-12)
    assert [turn.way for turn in lift.turns] == ["counter-clockwise", "counter-clockwise", "clockwise"]
    assert lift.turns[2].turns == pytest.approx(rear / 0.002, rel=1e-12)


def test_left_hand_screw_and_a_rest() -> None:
    left = tuple(Screw(s.name, s.point, s.axis, s.pitch, "counter-clockwise") for s in THREE)
    lift = lift_to(left, NOW, Pose(np.eye(3), np.array([0, 0, 0.005])), PIVOT, noticed=NOTICED)
    assert {turn.way for turn in lift.turns} == {"counter-clockwise"}
    still = lift_to(left, NOW, NOW, PIVOT, noticed=NOTICED)
    assert {(turn.way, turn.turns) for turn in still.turns} == {("", 0.0)}


def test_what_screws_cannot_do_is_said() -> None:
    """Yaw and plan shift are left whole; the heights are reached."""
    turn = rotation_from_angles(turned_left=np.radians(2.0), nose_down=0, left_up=0)
    lift = lift_to(THREE, NOW, Pose(turn, np.array([0.01, -0.02, 0.003])), PIVOT, noticed=NOTICED)
    assert lift.shift_left == pytest.approx([0.01, -0.02, 0.0], abs=1e-12)
    assert np.degrees(lift.turn_left) == pytest.approx([0.0, 0.0, 2.0], abs=1e-9)
    assert lift.words == (
        "shift it 10.0 mm forward by hand",
        "shift it 20.0 mm right by hand",
        "turn it 2.00 deg to the left by hand",
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=6, max_size=6), st.integers(0, 2))
def test_screws_then_hands_reach_the_pose(values: list[float], more: int) -> None:
    """Screws, then the shift and turn left over, give the wanted pose; heights need no hand."""
    screws = (*THREE, screw("fourth", -0.35, 0.3), screw("fifth", -0.1, -0.3))[: 3 + more]
    wanted = Pose(rotation_from_vector(0.1 * np.array(values[:3])), 0.02 * np.array(values[3:]))
    lift = lift_to(screws, NOW, wanted, PIVOT, noticed=NOTICED)
    rotation = rotation_from_vector(lift.turn_left) @ lift.reached.rotation
    assert np.allclose(rotation, wanted.rotation, atol=1e-12)
    assert np.allclose(lift.reached.apply(PIVOT) + lift.shift_left, wanted.apply(PIVOT), atol=1e-14)
    if more == 0:  # with more than three screws heights agree only where the leftover turn is small
        for s, turn in zip(screws, lift.turns, strict=True):
            assert (lift.reached.apply(s.point) - NOW.apply(s.point))[2] == pytest.approx(
                turn.lift, abs=1e-12
            )


def test_rounding_to_half_turns_shows_what_is_lost() -> None:
    reached = reached_by(THREE, NOW, [2.5, 2.5, 3.0], PIVOT)
    rise = [(reached.apply(s.point) - s.point)[2] for s in THREE]
    assert rise == pytest.approx([0.005, 0.005, 0.006], abs=1e-13)
    slope = np.degrees(np.arcsin(-reached.rotation[2, 0]))
    assert slope == pytest.approx(
        np.degrees(np.arcsin(0.001 / 0.7)), rel=1e-3
    )  # the arm tilts along, second order


def test_screws_that_do_not_hold() -> None:
    with pytest.raises(LooseError, match="on 2 screws"):
        lift_to(THREE[:2], NOW, NOW, PIVOT, noticed=NOTICED)
    line = (screw("a", 0.3, 0), screw("b", 0.0, 0), screw("c", -0.3, 0))
    with pytest.raises(LooseError, match="fore and aft"):
        reached_by(line, NOW, [1, 1, 1], PIVOT)
    with pytest.raises(GeometryError, match="pitch"):
        screw("x", 0, 0, 0.0)
