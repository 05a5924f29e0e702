"""A body on elastic mounts: worked examples, an independent finite-element program, and stops."""

from dataclasses import replace

import numpy as np
import openseespy.opensees as ops
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError, LooseError
from soapstone.place.isolators import (
    Hung,
    Mount,
    Stop,
    come_to_rest,
    loose_ways,
    stiffness_at,
    weight_load,
)
from soapstone.place.modes import (
    firing_frequency,
    mass_matrix,
    rigid_modes,
    sag_frequency,
    shake,
    torque_roll_axis,
    transmissibility,
    vee_pair,
)
from soapstone.place.pose import rotation_from_angles, rotation_from_vector

G = np.array([0.0, 0.0, -9.80665])
LEVEL = np.eye(3)


def roll(degrees: float) -> np.ndarray:
    return rotation_from_angles(turned_left=0.0, nose_down=0.0, left_up=np.radians(degrees))


def pitch(degrees: float) -> np.ndarray:
    return rotation_from_angles(turned_left=0.0, nose_down=np.radians(degrees), left_up=0.0)


def mount(name, place, stiffness, axes=LEVEL, **more) -> Mount:  # type: ignore[no-untyped-def]
    return Mount(name, np.array(place, float), axes, np.array(stiffness, float), **({"dynamic": 1.0} | more))


UNIT = Hung(180.0, np.zeros(3), np.array([[9, -0.6, 1.5], [-0.6, 16, 0.4], [1.5, 0.4, 14]]))
INCLINED = (
    mount("left", (0.20, 0.30, -0.10), (60e3, 60e3, 320e3), roll(40)),
    mount("right", (0.20, -0.30, -0.10), (60e3, 60e3, 320e3), roll(-40)),
    mount("rear", (-0.55, 0, -0.05), (90e3, 120e3, 150e3), pitch(15)),
)
THREE = (
    mount("1", (0.28, 0.05, 0.10), (120e3, 90e3, 210e3)),
    mount("2", (-0.25, 0.20, -0.02), (60e3, 150e3, 80e3)),
    mount("3", (-0.10, -0.30, -0.12), (200e3, 70e3, 70e3)),
)
SMALL = Hung(62.0, np.zeros(3), np.array([[1.9, -0.12, 0.08], [-0.12, 2.6, 0.15], [0.08, 0.15, 2.3]]))


def avionics(x: tuple[float, float] = (6.18, 2.68)) -> tuple[Hung, tuple[Mount, ...]]:
    """Irvine's box on four isolators, inch and pound units with g = 386 in/s²; left in inches."""
    body = Hung(4.28 / 386, np.zeros(3), np.diag([44.9, 39.9, 18.8]) / 386)
    corners = [(a, -3.85, z) for z in (3.0, -3.0) for a in x]
    return body, tuple(mount(str(i), at, (80, 80, 80)) for i, at in enumerate(corners))


def test_avionics_box() -> None:
    """Printed 7.338, 12.02, 27.04, 27.47, 63.06, 83.19 Hz (T. Irvine, inputs and print from memory)."""
    found = rigid_modes(*avionics()).frequencies
    assert found == pytest.approx([7.338, 12.02, 27.04, 27.47, 63.06, 83.19], abs=5e-3)
    more = [7.33784417, 12.0195308, 27.03752217, 27.47483104, 63.05974198, 83.1852452]
    assert found == pytest.approx(more, rel=1e-8)


def test_avionics_matrix_and_shares() -> None:
    body, mounts = avionics()
    k = stiffness_at(mounts, body.centre)
    assert np.diag(k) == pytest.approx([320, 320, 320, 7623.2, 10139.968, 12003.168], rel=1e-12)
    terms = {(0, 5): 1232, (1, 5): 1417.6, (2, 3): -1232, (2, 4): -1417.6, (3, 4): 5457.76}
    assert {at: k[at] for at in terms} == pytest.approx(terms, rel=1e-12)
    shares = 100 * rigid_modes(body, mounts).shares
    assert shares[0] == pytest.approx([38.785, 51.351, 0, 0, 0, 9.863], abs=1e-3)  # digits cut, not rounded
    assert shares[5] == pytest.approx([4.244, 5.619, 0, 0, 0, 90.137], abs=1e-3)


def test_one_wrong_sign_shows_in_five_modes() -> None:
    """The trap: the third mode stays, so that a check of one mode passes."""
    found = rigid_modes(*avionics((6.18, -2.68))).frequencies
    assert found == pytest.approx([14.320, 19.002, 27.038, 40.930, 54.731, 81.318], abs=5e-4)


def test_inclined_mounts() -> None:
    modes = rigid_modes(UNIT, INCLINED)
    expected = [5.45960352, 6.21927942, 8.72916140, 8.94636336, 9.89855979, 12.05281993]
    assert modes.frequencies == pytest.approx(expected, abs=5e-9)
    assert 100 * modes.shares[1] == pytest.approx([0.005, 38.959, 0, 48.962, 0.070, 12.004], abs=5e-4)
    assert modes.words(0) == "mostly fore and aft (100 %)"


def test_sag_of_inclined_mounts() -> None:
    rest = come_to_rest(INCLINED, UNIT.centre, weight_load(UNIT, G))
    assert 1e3 * rest.displacement[[0, 2, 4]] == pytest.approx(
        [0.20741393, -3.09853547, -0.24700861], abs=5e-9
    )
    expected = [
        (-13.92689, -390.36537, 648.16736),
        (-13.92689, 390.36537, 648.16736),
        (27.85378, 0, 468.86228),
    ]
    assert np.allclose(rest.forces, expected, atol=5e-6) and rest.on_stop == (False, False, False)


def test_torque_on_inclined_mounts() -> None:
    rest = come_to_rest(INCLINED, UNIT.centre, np.array([0, 0, 0, 300.0, 0, 0]))
    assert 1e3 * rest.displacement[[1, 3, 5]] == pytest.approx([1.1581957, 14.18466262, 2.78720721], abs=5e-8)
    assert rest.forces[0] == pytest.approx([50.16973, 20.06789, -503.34465], abs=5e-6)
    assert rest.forces[2] == pytest.approx([0, -40.13578, 0], abs=5e-6)
    moved = 1e3 * (INCLINED[0].axes @ rest.squeezed[0])
    assert moved == pytest.approx([-0.83616216, 3.1341034, 4.25539879], abs=5e-8)


def test_four_equal_mounts_by_formula() -> None:
    """Two planes of symmetry: bounce and yaw alone, two pairs by a quadratic each (Harris and Piersol ch.
    3).
    """
    m, (ix, iy, iz), (kx, ky, kz), a, b, h = 180.0, (9.0, 16.0, 14.0), (120e3, 90e3, 250e3), 0.30, 0.25, -0.15
    mounts = [mount("", (sx * a, sy * b, h), (kx, ky, kz)) for sx in (1, -1) for sy in (1, -1)]

    def pair(k: float, turn: float, inertia: float) -> list[float]:
        first, second, c = k / m, (turn + k * h**2) / inertia, (k * h) ** 2 / (m * inertia)
        root = np.sqrt((first - second) ** 2 + 4 * c)
        return [(first + second - root) / 2, (first + second + root) / 2]

    squares = [4 * kz / m, 4 * (kx * b**2 + ky * a**2) / iz]
    squares += pair(4 * kx, 4 * kz * a**2, iy) + pair(4 * ky, 4 * kz * b**2, ix)
    found = rigid_modes(Hung(m, np.zeros(3), np.diag([ix, iy, iz])), mounts).frequencies
    assert found == pytest.approx(np.sort(np.sqrt(squares)) / (2 * np.pi), rel=1e-12)
    assert found[3] == pytest.approx(11.862709, abs=5e-7)


def test_three_general_mounts() -> None:
    expected = [10.363139, 10.653311, 11.510473, 12.453757, 15.996948, 22.687605]
    assert rigid_modes(SMALL, THREE).frequencies == pytest.approx(expected, abs=5e-7)


def test_bounce_and_pitch_on_two_springs() -> None:
    """Thomson's car: 1.0981 and 1.4406 Hz (printed from memory); feet and pounds as they stand."""
    body = Hung(100.0, np.zeros(3), 1600.0 * np.eye(3))
    springs = (mount("front", (4.5, 0, 0), (0, 0, 2400)), mount("rear", (-5.5, 0, 0), (0, 0, 2600)))
    found = rigid_modes(body, springs).frequencies
    assert found[:4] == pytest.approx([0, 0, 0, 0], abs=1e-6)  # nothing holds these four
    assert found[4:] == pytest.approx([1.0980781, 1.4405865], abs=1e-7)


def opensees_modes(body: Hung, mounts: tuple[Mount, ...]) -> np.ndarray:
    """The same body built from rigid links and zero-length springs, in principal axes of its inertia."""
    moments, axes = np.linalg.eigh(body.inertia)
    axes = axes * np.linalg.det(axes)
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    ops.node(1, 0.0, 0.0, 0.0)
    ops.mass(1, *[body.mass] * 3, *map(float, moments))
    material = 0
    for i, m in enumerate(mounts):
        at = [float(v) for v in axes.T @ (m.place - body.centre)]
        free, ground = 10 + 2 * i, 11 + 2 * i
        ops.node(free, *at)
        ops.node(ground, *at)
        ops.fix(ground, 1, 1, 1, 1, 1, 1)
        ops.rigidLink("beam", 1, free)
        numbers = []
        for k in m.stiffness * m.dynamic:
            material += 1
            ops.uniaxialMaterial("Elastic", material, float(k))
            numbers.append(material)
        turned = axes.T @ m.axes
        x, y = [float(v) for v in turned[:, 0]], [float(v) for v in turned[:, 1]]
        ops.element("zeroLength", i + 1, free, ground, "-mat", *numbers, "-dir", 1, 2, 3, "-orient", *x, *y)
    ops.constraints("Transformation")
    values = ops.eigen("-fullGenLapack", 6)
    ops.wipe()
    return np.sqrt(np.sort(np.array(values))) / (2 * np.pi)


@pytest.mark.parametrize(("body", "mounts"), [(UNIT, INCLINED), (SMALL, THREE)])
def test_modes_agree_with_opensees(body: Hung, mounts: tuple[Mount, ...]) -> None:
    assert rigid_modes(body, mounts).frequencies == pytest.approx(opensees_modes(body, mounts), rel=1e-6)


def random_setting(seed: int, count: int = 4) -> tuple[Hung, tuple[Mount, ...]]:
    random = np.random.default_rng(seed)
    points = random.normal(size=(12, 3)) * [0.3, 0.2, 0.2]
    points = points - points.mean(axis=0)
    inertia = 15.0 * (np.trace(points.T @ points) * np.eye(3) - points.T @ points)
    body = Hung(180.0, random.normal(size=3) * 0.3, inertia)
    mounts = tuple(
        mount(
            f"m{i}",
            body.centre + random.uniform(-0.5, 0.5, 3),
            random.uniform(5e4, 5e5, 3),
            rotation_from_vector(random.normal(size=3)),
            dynamic=random.uniform(1.0, 1.4),
        )
        for i in range(count)
    )
    return body, mounts


@pytest.mark.parametrize("seed", range(12))
def test_random_modes_agree_with_opensees(seed: int) -> None:
    body, mounts = random_setting(seed)
    assert rigid_modes(body, mounts).frequencies == pytest.approx(opensees_modes(body, mounts), rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_invariants_of_modes(seed: int) -> None:
    """Shares sum to one both ways, squared frequencies to the trace; turning the whole set changes
    nothing.
    """
    body, mounts = random_setting(seed)
    modes = rigid_modes(body, mounts)
    assert modes.shares.sum(axis=1) == pytest.approx(np.ones(6), abs=1e-10)
    assert modes.shares.sum(axis=0) == pytest.approx(np.ones(6), abs=1e-10)
    trace = np.trace(np.linalg.solve(mass_matrix(body), stiffness_at(mounts, body.centre, shaken=True)))
    assert np.sum((2 * np.pi * modes.frequencies) ** 2) == pytest.approx(trace, rel=1e-10)
    turn = rotation_from_vector(np.array([0.3, -1.1, 0.7]))
    spun = Hung(body.mass, turn @ body.centre, turn @ body.inertia @ turn.T)
    carried = tuple(replace(m, place=turn @ m.place, axes=turn @ m.axes) for m in mounts)
    assert rigid_modes(spun, carried).frequencies == pytest.approx(modes.frequencies, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 10_000),
    # to a thousandth of a newton: less is no load, and 1e-209 N is lost in the mounts' rounding
    st.lists(st.floats(-500, 500).map(lambda newtons: round(newtons, 3)), min_size=6, max_size=6),
)
def test_rest_balances(seed: int, load: list[float]) -> None:
    """Forces and moments of mounts and load cancel to rounding of the largest action."""
    body, mounts = random_setting(seed)
    mounts = tuple(replace(m, stops=(Stop(2, -0.001, 1e6), Stop(0, 0.002, 5e5))) for m in mounts)
    rest = come_to_rest(mounts, body.centre, np.array(load))
    arms = np.array([m.place for m in mounts]) - body.centre
    size = max(np.abs(rest.forces).max(), np.abs(load).max(), 1e-300)
    assert np.abs(rest.forces.sum(axis=0) + load[:3]).max() <= 1e-10 * size
    assert np.abs(np.cross(arms, rest.forces).sum(axis=0) + load[3:]).max() <= 1e-10 * size


def test_a_stop_takes_over() -> None:
    """One upright spring 100 kN/m with a stop at 2 mm of 900: 500 N press 2 mm and 0.3 mm more."""
    body = Hung(50.0, np.zeros(3), np.eye(3))
    corners = [(0.3, 0.2), (0.3, -0.2), (-0.3, 0.2), (-0.3, -0.2)]
    mounts = tuple(
        mount(f"{x},{y}", (x, y, 0), (25e3, 25e3, 25e3), stops=(Stop(2, -0.002, 225e3),)) for x, y in corners
    )
    before = come_to_rest(mounts, body.centre, np.array([0, 0, -200.0, 0, 0, 0]))
    assert before.displacement[2] == pytest.approx(-0.002, rel=1e-9) and not any(before.on_stop)
    beyond = come_to_rest(mounts, body.centre, np.array([0, 0, -500.0, 0, 0, 0]))
    assert beyond.displacement[2] == pytest.approx(-0.0023, rel=1e-9) and all(beyond.on_stop)


def test_two_mounts_do_not_hold_a_body() -> None:
    with pytest.raises(LooseError, match="running side to side"):
        come_to_rest(INCLINED[:2], UNIT.centre, weight_load(UNIT, G))
    assert loose_ways((), UNIT.centre).shape == (6, 6)
    swing = loose_ways(INCLINED[:2], UNIT.centre)
    assert swing.shape == (1, 6) and abs(swing[0, 4]) == pytest.approx(np.linalg.norm(swing[0, 3:]), rel=1e-9)


def test_stops_alone_can_hold() -> None:
    """Rear rubber gone, its stops left: 3 mm of free way, then caught; without a stop below, not."""
    caught = replace(
        INCLINED[2], axes=LEVEL, stiffness=np.zeros(3), stops=(Stop(2, -0.003, 1e6), Stop(2, 0.003, 1e6))
    )
    rest = come_to_rest((*INCLINED[:2], caught), UNIT.centre, weight_load(UNIT, G))
    assert rest.on_stop == (False, False, True)
    assert rest.forces[:, 2].sum() == pytest.approx(180 * 9.80665, rel=1e-9)
    open_below = replace(caught, stops=(Stop(2, 0.003, 1e6),))
    with pytest.raises(LooseError, match="do not hold"):
        come_to_rest((*INCLINED[:2], open_below), UNIT.centre, weight_load(UNIT, G))


def test_shake_against_one_mass_on_one_spring() -> None:
    """Bounce of four equal mounts: passed force is the closed form with the loss factor in place of 2 z r."""
    body = Hung(180.0, np.zeros(3), np.diag([9.0, 16, 14]))
    mounts = [
        mount("", (sx * 0.3, sy * 0.25, 0), (1e5, 1e5, 2.5e5), loss=0.1, dynamic=1.3)
        for sx in (1, -1)
        for sy in (1, -1)
    ]
    natural = np.sqrt(4 * 2.5e5 * 1.3 / 180) / (2 * np.pi)
    for ratio in (0.5, 1.0, 2.0**0.5, 3.0):
        out = shake(body, mounts, np.array([0, 0, 100.0, 0, 0, 0]), ratio * natural)
        expected = np.sqrt((1 + 0.1**2) / ((1 - ratio**2) ** 2 + 0.1**2))
        assert abs(out.passed[2]) / 100 == pytest.approx(expected, rel=1e-9)
        assert abs(out.forces[:, 2].sum()) == pytest.approx(abs(out.passed[2]), rel=1e-12)


def test_shake_far_below_is_the_lasting_load() -> None:
    load = np.array([10.0, -5, 30, 40, -20, 10])
    slow = shake(UNIT, INCLINED, load, 1e-4)
    assert slow.passed.real == pytest.approx(load, rel=1e-6)
    assert slow.displacement.real == pytest.approx(
        come_to_rest(INCLINED, UNIT.centre, load).displacement, rel=1e-6
    )


def test_resonance_without_loss() -> None:
    body = Hung(100.0, np.zeros(3), np.eye(3))
    corners = [(1, 1), (1, -1), (-1, 1), (-1, -1)]
    mounts = [mount("", (x, y, 0), (2500, 2500, 2500)) for x, y in corners]
    with pytest.raises(GeometryError, match="loss factor"):
        shake(body, mounts, np.ones(6), 10 / (2 * np.pi))


def test_transmissibility_from_sag() -> None:
    """25 mm of sag at 1500 rpm, damping 0.05: 3.15 Hz, ratio 7.93, 0.0206 (public calculator page)."""
    natural = sag_frequency(0.025, 9.80665)
    assert natural == pytest.approx(3.1522, abs=5e-5)
    assert transmissibility(25.0 / (15.76 / 25**0.5), 0.05) == pytest.approx(0.02061519, abs=5e-9)
    table = {1.0: 5.099020, 2**0.5: 1.0, 2.0: 0.355862, 3.0: 0.145366}
    for ratio, passed in table.items():
        assert transmissibility(ratio, 0.1) == pytest.approx(passed, abs=5e-7)
    assert sag_frequency(0.005, 9.81) == pytest.approx(7.049684, abs=5e-7)


def test_firing_frequency() -> None:
    assert firing_frequency(800 * 2 * np.pi / 60, 4) == pytest.approx(800 / 60 * 2, rel=1e-12)
    assert firing_frequency(800 * 2 * np.pi / 60, 2, strokes=2) == pytest.approx(800 / 60 * 2, rel=1e-12)
    with pytest.raises(GeometryError):
        firing_frequency(80.0, 1, strokes=3)


def test_torque_roll_axis() -> None:
    axis, angle = torque_roll_axis(UNIT.inertia, np.array([250.0, 0, 0]))
    assert axis == pytest.approx([0.99339418, 0.03994169, -0.10757628], abs=5e-9)
    assert np.degrees(angle) == pytest.approx(6.589314, abs=5e-7)


@pytest.mark.parametrize(
    ("lean", "height", "upright", "sideways", "turn"),
    [
        (0, 0, 800e3, 200e3, 50000),
        (15, 0.15612485, 759807.62, 240192.38, 41633.294),
        (30, 0.18557687, 650e3, 350e3, 28571.429),
        (45, 0.15, 500e3, 500e3, 20000),
        (60, 0.09992601, 350e3, 650e3, 15384.615),
    ],
)
def test_vee_pair(lean, height, upright, sideways, turn) -> None:  # type: ignore[no-untyped-def]
    """The classic formulas, and the same from two inclined mounts felt at that height."""
    found = vee_pair(0.25, np.radians(lean), 400e3, 100e3)
    assert found.height == pytest.approx(height, abs=5e-9)
    assert (found.upright, found.sideways, found.roll) == pytest.approx((upright, sideways, turn), rel=1e-7)
    pair = [mount("", (0, side * 0.25, 0), (100e3, 100e3, 400e3), roll(side * lean)) for side in (1, -1)]
    k = stiffness_at(pair, np.array([0.0, 0.0, found.height]))
    assert k[1, 1] == pytest.approx(found.sideways, rel=1e-12)
    assert k[3, 3] == pytest.approx(found.roll, rel=1e-9)
    assert abs(k[1, 3]) < 1e-9 * found.sideways  # nothing couples at the elastic centre


def test_what_is_no_mount_and_no_body() -> None:
    with pytest.raises(GeometryError):
        mount("x", (0, 0, 0), (1, -1, 1))
    with pytest.raises(GeometryError):
        Stop(3, 0.001, 1.0)
    with pytest.raises(GeometryError, match="products"):
        Hung(10.0, np.zeros(3), np.diag([1.0, 1.0, 3.0]))
    with pytest.raises(GeometryError, match="inertia above zero"):
        Hung(10.0, np.zeros(3), np.diag([1.0, 1.0, -1.0]))
    with pytest.raises(GeometryError):
        vee_pair(0.25, 0.0, 1.0, 0.0)
