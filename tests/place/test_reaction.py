"""Torque reaction against hand free bodies."""

import numpy as np
import pytest

from soapstone.errors import GeometryError
from soapstone.place.reaction import (
    FORWARD_ROLL,
    Action,
    Drive,
    Flange,
    FreeBody,
    Layout,
    axle_reaction,
    belt,
    crank_axis,
    housing_reaction,
    inboard_brake,
    motor_on_gearbox,
    propeller_torque,
    rotor,
    thrust,
)

ORIGIN = np.zeros(3)
LEFT, RIGHT = np.array([0.0, 0.2, 0.3]), np.array([0.0, -0.2, 0.3])
HALVES = (Flange("left", LEFT, 0.5), Flange("right", RIGHT, 0.5))
TAIL = (Flange("tail", np.array([-0.5, 0.0, 0.3])),)


def drive(layout: Layout, **more) -> Drive:  # type: ignore[no-untyped-def]
    given = {
        "torque": 400.0,
        "gear": 3.5,
        "final": 4.0,
        "gear_efficiency": 0.95,
        "final_efficiency": 0.9,
        "shock": 1.5,
        "holding_back": 0.6,
    }
    return Drive(layout, **(given | more))


@pytest.mark.parametrize(
    ("layout", "flanges", "by_hand"),
    [
        (Layout.TRANSVERSE, HALVES, (0, -400 * 3.5 * 4 * 0.95 * 0.9 * 1.5, 0)),
        (Layout.TRANSAXLE, HALVES, (0, -400 * 3.5 * 4 * 0.95 * 0.9 * 1.5, 0)),
        (Layout.LONGITUDINAL, TAIL, (400 * 3.5 * 0.95 * 1.5, 0, 0)),
    ],
)
def test_three_layouts_driving(
    layout: Layout, flanges: tuple[Flange, ...], by_hand: tuple[float, ...]
) -> None:
    """Half-shafts turn about +y driving forward, a clockwise propeller shaft about -x; the housing the
    other way.
    """
    found = housing_reaction(drive(layout), flanges)
    assert found.about(ORIGIN) == pytest.approx([0, 0, 0, *by_hand], rel=1e-12)
    assert found.because[-1].value == pytest.approx(np.abs(by_hand).max(), rel=1e-12)
    assert any("grip" in note for note in found.assumed)


@pytest.mark.parametrize(
    ("layout", "flanges", "by_hand"),
    [
        (Layout.TRANSVERSE, HALVES, (0, 400 * 0.6 * 3.5 * 4 / 0.95 / 0.9 * 1.5, 0)),
        (Layout.TRANSAXLE, HALVES, (0, 400 * 0.6 * 3.5 * 4 / 0.95 / 0.9 * 1.5, 0)),
        (Layout.LONGITUDINAL, TAIL, (-400 * 0.6 * 3.5 / 0.95 * 1.5, 0, 0)),
    ],
)
def test_three_layouts_holding_back(
    layout: Layout, flanges: tuple[Flange, ...], by_hand: tuple[float, ...]
) -> None:
    """The wheels drive the motor: losses add to what they must bring, and the moment turns round."""
    found = housing_reaction(drive(layout), flanges, reverse=True)
    assert found.about(ORIGIN)[3:] == pytest.approx(by_hand, rel=1e-12)


def test_the_other_way_round() -> None:
    other = housing_reaction(drive(Layout.LONGITUDINAL, clockwise=False), TAIL).about(ORIGIN)
    assert other[3] == pytest.approx(-400 * 3.5 * 0.95 * 1.5, rel=1e-12)


def test_the_tyres_let_through_less() -> None:
    """2400 N·m at the wheels: all of it on a unit with half-shafts, a fourth through its final drive
    otherwise.
    """
    limit = {"wheel_limit": 2400.0}
    inside = housing_reaction(drive(Layout.TRANSAXLE, **limit), HALVES)
    assert inside.about(ORIGIN)[4] == pytest.approx(-2400.0, rel=1e-12) and inside.assumed == ()
    along = housing_reaction(drive(Layout.LONGITUDINAL, **limit), TAIL)
    assert along.about(ORIGIN)[3] == pytest.approx(2400 / (4 * 0.9), rel=1e-12)
    back = housing_reaction(drive(Layout.LONGITUDINAL, wheel_limit=240.0), TAIL, reverse=True)
    assert back.about(ORIGIN)[3] == pytest.approx(-240 / 4 * 0.9, rel=1e-12)


def test_vehicle_as_a_whole_feels_only_the_wheels() -> None:
    """Unit and axle of a longitudinal drive together: the propeller shaft cancels, as inside one housing."""
    car = drive(Layout.LONGITUDINAL)
    for reverse in (False, True):
        unit = housing_reaction(car, TAIL, reverse=reverse).about(ORIGIN)
        axle = axle_reaction(car, np.array([-2.0, 0, 0.3]), reverse=reverse).about(ORIGIN)
        whole = housing_reaction(drive(Layout.TRANSAXLE), HALVES, reverse=reverse).about(ORIGIN)
        assert unit + axle == pytest.approx(whole, abs=1e-9)
    with pytest.raises(GeometryError, match="no axle"):
        axle_reaction(drive(Layout.TRANSVERSE), ORIGIN)


def test_where_the_motor_torque_goes() -> None:
    """Through the joint between motor and gearbox: about x for a longitudinal motor even where no mount
    feels it.
    """
    assert motor_on_gearbox(drive(Layout.TRANSAXLE)) == pytest.approx([600.0, 0, 0])
    assert motor_on_gearbox(drive(Layout.TRANSVERSE)) == pytest.approx([0, -600.0, 0])
    assert motor_on_gearbox(drive(Layout.TRANSVERSE, crank_forward=False)) == pytest.approx([0, 600.0, 0])
    assert motor_on_gearbox(drive(Layout.LONGITUDINAL), reverse=True) == pytest.approx([-360.0, 0, 0])
    assert crank_axis(drive(Layout.LONGITUDINAL, clockwise=False)) == pytest.approx([1.0, 0, 0])


def test_inclined_half_shafts_add_a_couple() -> None:
    """Both shafts aft by 10 deg: each joint keeps T tan 5 deg across; left and right cancel about x, add
    about z.
    """
    aft = np.radians(10.0)
    shaft = {1.0: np.array([-np.sin(aft), np.cos(aft), 0]), -1.0: np.array([np.sin(aft), np.cos(aft), 0])}
    flanges = (Flange("left", LEFT, 0.5, shaft[1.0]), Flange("right", RIGHT, 0.5, shaft[-1.0]))
    found = housing_reaction(drive(Layout.TRANSVERSE), flanges)
    total = 400 * 3.5 * 4 * 0.95 * 0.9 * 1.5
    assert found.about(ORIGIN)[3:] == pytest.approx([0, -total, 0], abs=1e-9)
    one = found.actions[0].moment
    assert one == pytest.approx([total / 2 * np.tan(aft / 2), -total / 2, 0], rel=1e-12)
    with pytest.raises(GeometryError, match="left"):
        housing_reaction(drive(Layout.TRANSVERSE), (Flange("left", LEFT, 1.0, np.array([0, -1.0, 0])),))


def test_inboard_brakes_push_the_nose_down() -> None:
    """Two discs of 700 N·m; the pads turn the unit the way the wheels roll."""
    found = FreeBody(tuple(inboard_brake(flange, 700.0) for flange in HALVES)).about(ORIGIN)
    assert found == pytest.approx([0, 0, 0, 0, 1400.0, 0], rel=1e-12)


def test_belt_by_hand() -> None:
    """Equal pulleys 0.3 m apart straight up: both strands pull up, and the tight one leads by (T1 - T2) r."""
    tight, slack = belt(
        "alternator belt",
        ORIGIN,
        0.08,
        np.array([0, 0, 0.3]),
        0.08,
        tight=800,
        slack=200,
        axis=np.array([1.0, 0, 0]),
    )
    total = FreeBody((tight, slack)).about(ORIGIN)
    assert total == pytest.approx([0, 0, 1000.0, -(800 - 200) * 0.08, 0, 0], abs=1e-12)


def test_belt_on_unequal_pulleys() -> None:
    """Strands touch both rims square to the radius, and turn the driving pulley back by (T1 - T2) r."""
    axis, other = np.array([1.0, 0, 0]), np.array([0.02, 0.1, 0.3])
    strands = belt("b", ORIGIN, 0.08, other, 0.04, tight=800, slack=200, axis=axis)
    for strand in strands:
        way = strand.force / np.linalg.norm(strand.force)
        assert way @ strand.place == pytest.approx(0.0, abs=1e-15)
        flat = other - other[0] * axis
        off = np.linalg.norm(np.cross(way, flat - strand.place))
        assert off == pytest.approx(0.04, rel=1e-12)
    assert FreeBody(strands).about(ORIGIN)[3] == pytest.approx(-600 * 0.08, rel=1e-12)
    with pytest.raises(GeometryError, match="overlap"):
        belt("b", ORIGIN, 0.5, other, 0.04, tight=800, slack=200, axis=axis)


def test_boat() -> None:
    """Thrust 3 kN through a shaft 8 deg nose up at a bearing 0.2 m below the origin, and 180 N·m of
    torque.
    """
    slope = np.radians(8.0)
    shaft = np.array([np.cos(slope), 0, np.sin(slope)])
    place = np.array([-0.4, 0.0, -0.2])
    turn = -shaft  # clockwise seen from in front
    found = FreeBody(()).plus(
        thrust("thrust", place, shaft, 3000.0), propeller_torque("propeller", place, turn, 180.0)
    )
    fx, fz = 3000 * np.cos(slope), 3000 * np.sin(slope)
    expected = [fx, 0, fz, 180 * np.cos(slope), -0.2 * fx + 0.4 * fz, 180 * np.sin(slope)]
    assert found.about(ORIGIN) == pytest.approx(expected, rel=1e-12)


def test_rotor() -> None:
    """0.1 kg·m² run up at 2000 rad/s² while turning left at 1 rad/s with 600 rad/s forward on a transverse
    axis.
    """
    found = rotor("rotor", ORIGIN, 0.1, FORWARD_ROLL, 2000.0, 600.0, np.array([0, 0, 1.0]))
    assert found.moment == pytest.approx([60.0, -200.0, 0.0], rel=1e-12)


def test_about_any_point() -> None:
    body = FreeBody(
        (Action("", np.array([1.0, 2.0, 3.0]), np.array([10.0, -5.0, 2.0]), np.array([1.0, 1.0, 1.0])),)
    )
    there = body.about(np.array([1.0, 2.0, 3.0]))
    assert there[3:] == pytest.approx([1, 1, 1])
    assert body.about(ORIGIN)[3:] == pytest.approx([1 + 2 * 2 + 3 * 5, 1 + 3 * 10 - 2, 1 - 5 - 20])


@pytest.mark.parametrize("wrong", [{"torque": 0.0}, {"gear_efficiency": 1.2}, {"final": -1.0}])
def test_no_such_drive(wrong: dict[str, float]) -> None:
    with pytest.raises(GeometryError):
        drive(Layout.TRANSVERSE, **wrong)


def test_shares_must_add_up() -> None:
    with pytest.raises(GeometryError, match="shares"):
        housing_reaction(drive(Layout.TRANSVERSE), HALVES[:1])
