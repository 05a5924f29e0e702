"""Load sharing, what is wrung through the case, sway, and one mount broken."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.place.broken import one_broken
from soapstone.place.isolators import Hung, Mount, Stop, come_to_rest
from soapstone.place.measures import Clearance
from soapstone.place.shapes import Ball, Box, HalfSpace
from soapstone.place.sharing import Half, all_cases, displaced, load_shares, sways, wrung_through

AHEAD = np.array([1.0, 0.0, 0.0])
G = np.array([0.0, 0.0, -9.80665])
BODY = Hung(200.0, np.array([0.1, 0.0, 0.3]), np.diag([8.0, 20.0, 18.0]))


def mount(name: str, x: float, y: float, stiff: float = 1e5, stops: tuple[Stop, ...] = ()) -> Mount:
    return Mount(name, np.array([x, y, 0.3]), np.eye(3), np.array([stiff, stiff, 2 * stiff]), 1.2, 0.1, stops)


def four(front: float = 1e5, rear: float = 1e5) -> tuple[Mount, ...]:
    return (
        mount("motor left", 0.4, 0.25, front),
        mount("motor right", 0.4, -0.25, front),
        mount("gearbox left", -0.4, 0.25, rear),
        mount("gearbox right", -0.4, -0.25, rear),
    )


STANDING = np.concatenate([BODY.mass * G, np.zeros(3)])
ROLL = STANDING + np.array([0, 0, 0, 400.0, 0, 0])


def test_equal_mounts_share_torque_alike() -> None:
    """400 N·m over a spread of 0.5 m and two ends: 400 N up and down at each mount, a quarter of the
    torque each.
    """
    rest = come_to_rest(four(), BODY.centre, np.array([0, 0, 0, 400.0, 0, 0]))
    shares = load_shares(four(), rest.forces, through=BODY.centre, axis=AHEAD)
    assert [share.torque for share in shares] == pytest.approx([0.25] * 4, rel=1e-12)
    assert rest.forces[:, 2] == pytest.approx([-400, 400, -400, 400], rel=1e-12)
    assert [share.weight for share in shares] == [0.0] * 4  # no weight to share


def test_shares_go_by_stiffness() -> None:
    """Three times as stiff in front: three quarters of the torque there."""
    mounts = four(front=3e5, rear=1e5)
    rest = come_to_rest(mounts, BODY.centre, np.array([0, 0, 0, 400.0, 0, 0]))
    shares = load_shares(mounts, rest.forces, through=BODY.centre, axis=AHEAD)
    assert sum(s.torque for s in shares[:2]) == pytest.approx(0.75, rel=1e-12)


def halves() -> tuple[Half, Half]:
    """All torque leaves at the gearbox; the motor is the heavier half."""
    motor = Half("motor", 120.0, np.array([0.3, 0.0, 0.3]), ("motor left", "motor right"), np.zeros(3))
    gearbox = Half(
        "gearbox",
        80.0,
        np.array([-0.2, 0.0, 0.3]),
        ("gearbox left", "gearbox right"),
        np.array([400.0, 0, 0]),
    )
    return motor, gearbox


def test_identical_bushes_wring_the_case() -> None:
    """Half of the torque is held at the motor's end, so half must pass the bell housing: 200 N·m. Field
    case.
    """
    joint = np.array([0.0, 0.0, 0.3])
    rest = come_to_rest(four(), BODY.centre, ROLL)
    motor, gearbox = halves()
    front = wrung_through(motor, four(), rest.forces, pull=G, joint=joint)
    back = wrung_through(gearbox, four(), rest.forces, pull=G, joint=joint)
    assert front.twist(AHEAD) == pytest.approx(200.0, rel=1e-9)
    assert front.force == pytest.approx(-back.force, abs=1e-9)
    assert front.moment == pytest.approx(-back.moment, abs=1e-9)
    soft = come_to_rest(four(rear=1e4), BODY.centre, ROLL)
    wrung = wrung_through(motor, four(rear=1e4), soft.forces, pull=G, joint=joint)
    assert wrung.twist(AHEAD) == pytest.approx(
        400 * 10 / 11, rel=1e-9
    )  # worse: the torque enters at the gearbox
    stiff = come_to_rest(four(front=1e4), BODY.centre, ROLL)
    wrung = wrung_through(motor, four(front=1e4), stiff.forces, pull=G, joint=joint)
    assert wrung.twist(AHEAD) == pytest.approx(400 / 11, rel=1e-9)


def test_bending_of_the_joint_by_hand() -> None:
    """Level unit under weight alone; mounts at the shaft's height, so only upright forces bend the joint."""
    rest = come_to_rest(four(), BODY.centre, STANDING)
    motor, _ = halves()
    wrung = wrung_through(motor, four(), rest.forces, pull=G, joint=np.array([0.0, 0.0, 0.3]))
    front = 200 * 9.80665 * (0.4 + 0.1) / 0.8
    assert wrung.force[2] == pytest.approx(120 * 9.80665 - front, rel=1e-9)
    assert wrung.bending(AHEAD) == pytest.approx(abs(front * 0.4 - 120 * 9.80665 * 0.3), rel=1e-9)
    assert wrung.twist(AHEAD) == pytest.approx(0.0, abs=1e-9)


def test_a_force_of_its_own_on_a_half() -> None:
    motor, _ = halves()
    belt = replace(motor, forces=((np.array([0.5, 0.0, 0.4]), np.array([0.0, 0.0, 700.0])),))
    rest = come_to_rest(four(), BODY.centre, STANDING)
    joint = np.array([0.0, 0.0, 0.3])
    plain, pulled = (wrung_through(h, four(), rest.forces, pull=G, joint=joint) for h in (motor, belt))
    assert pulled.force - plain.force == pytest.approx([0, 0, -700.0])
    assert pulled.moment - plain.moment == pytest.approx([0, 350.0, 0])
    with pytest.raises(GeometryError, match="no mount is called"):
        wrung_through(replace(motor, mounts=("nose",)), four(), rest.forces, pull=G, joint=joint)


def test_sway_box_by_hand() -> None:
    """A roll of 400 N·m on 4 x 200 kN/m at 0.25 m: 8 mrad; a point 0.4 m above the centre sways 3.2 mm
    right.
    """
    moves = all_cases(BODY, four(), STANDING, {"pull": ROLL, "hold back": STANDING - 0.5 * (ROLL - STANDING)})
    top = BODY.centre + np.array([0.0, 0.0, 0.4])
    (sway,) = sways(BODY, moves, {"filler cap": top})
    angle = 400.0 / (4 * 2e5 * 0.25**2)
    assert sway.low[1] == pytest.approx(-0.4 * np.sin(angle), rel=1e-9) and sway.low_by[1] == "pull"
    assert sway.high[1] == pytest.approx(0.4 * np.sin(angle / 2), rel=1e-9) and sway.high_by[1] == "hold back"
    assert sway.high[0] == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_every_point_stays_in_its_box(seed: int) -> None:
    random = np.random.default_rng(seed)
    loads = {f"case {i}": STANDING + random.normal(size=6) * [500, 500, 500, 200, 200, 200] for i in range(4)}
    points = {f"p{i}": BODY.centre + random.normal(size=3) * 0.4 for i in range(3)}
    moves = all_cases(BODY, four(), STANDING, loads)
    for sway in sways(BODY, moves, points):
        for move in moves:
            at = displaced(BODY, move.displacement).apply(points[sway.point]) - points[sway.point]
            assert np.all(at >= sway.low - 1e-15) and np.all(at <= sway.high + 1e-15)
        assert np.all(sway.low <= 0.0) and np.all(sway.high >= 0.0)


STEERING = Clearance(
    "steering shaft",
    Box(np.array([0.4, 0.30, 0.3]), np.array([0.1, 0.1, 0.2]), np.eye(3)),
    Ball(np.array([0.4, 0.30, 0.45]), 0.02),
)
GROUND = Clearance(
    "ground", Box(BODY.centre, np.array([1.0, 0.6, 0.4]), np.eye(3)), HalfSpace(np.array([0.0, 0, 1]), -0.05)
)


def test_one_of_four_broken_stands_on_three() -> None:
    """The other three hold it, and statics alone give their shares."""
    found = one_broken(BODY, four(), STANDING, {"standing": STANDING}, (STEERING, GROUND), size=0.6)
    assert len(found) == 4 and all(b.held for b in found)
    first = next(b for b in found if b.mount == "motor right")
    # the ground is farther off than any point of the unit can have come: it is not measured again
    assert [touch.name for touch in first.watched] == ["steering shaft"]
    # motor left then takes 5/8 of the weight, gearbox right 1/2, gearbox left is pulled up by 1/8
    assert first.displacement[3] == pytest.approx(1.25 * 200 * 9.80665 / 2e5, rel=1e-9)


def test_a_mount_that_lifts_jams_the_steering() -> None:
    """Field case: the torque lifts the unit off its broken left mount until it meets the steering shaft."""
    lifting = STANDING + np.array([0, 0, 0, 2500.0, 0, 0])
    found = one_broken(BODY, four(), STANDING, {"full torque": lifting}, (STEERING, GROUND), size=0.6)
    left = next(b for b in found if b.mount == "motor left")
    assert left.touched == ("steering shaft",) and "steering shaft" in left.words
    captive = tuple(
        replace(m, stops=(Stop(2, 0.004, 5e6), Stop(2, -0.02, 5e6))) if m.name == "motor left" else m
        for m in four()
    )
    kept = one_broken(BODY, captive, STANDING, {"full torque": lifting}, (STEERING, GROUND), size=0.6)
    assert next(b for b in kept if b.mount == "motor left").touched == ()


def test_one_of_three_broken_swings_until_it_meets() -> None:
    """Two left: the unit swings about their line, its weight driving it, nose down to the ground."""
    three = (mount("nose", 0.5, 0.0), mount("tail left", -0.3, 0.25), mount("tail right", -0.3, -0.25))
    found = one_broken(BODY, three, STANDING, {"standing": STANDING}, (STEERING, GROUND), size=0.6)
    nose = next(b for b in found if b.mount == "nose")
    assert not nose.held and nose.touched == ("ground",)
    # the box's low front edge, from the line at (-0.3, 0.3): 0.9 ahead and 0.2 below; the ground 0.35 below
    reach = np.hypot(0.9, 0.2)
    angle = np.arcsin(0.35 / reach) - np.arctan2(0.2, 0.9)
    assert np.degrees(angle) == pytest.approx(float(nose.words.split(", ")[1].split(" deg")[0]), abs=0.06)
    assert nose.displacement[4] == pytest.approx(angle, abs=1e-5)
    clear = one_broken(BODY, three, STANDING, {"standing": STANDING}, (), size=0.6)
    assert "meets nothing" in next(b for b in clear if b.mount == "nose").words


def test_nothing_drives_it_but_nothing_holds_it() -> None:
    """Two mounts under the centre and one broken: free in more than one way."""
    two = (mount("left", 0.1, 0.25), mount("right", 0.1, -0.25), mount("middle", 0.4, 0.0))
    push = {"across": STANDING}
    found = one_broken(BODY, two, STANDING, push, (GROUND,), size=0.6)
    middle = next(b for b in found if b.mount == "middle")
    assert not middle.held and middle.words.startswith("nothing holds it")
