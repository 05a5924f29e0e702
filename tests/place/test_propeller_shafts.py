"""Universal joints and shaft tubes against closed forms, charts, and the geometry of the crosses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError, SoapstoneError
from soapstone.place.driveline import least_angle, residual_angle_allowed, working_angle
from soapstone.place.propeller_shafts import (
    Line,
    acceleration,
    compound_angle,
    critical_speed,
    equal_speed_turn,
    greatest_lag,
    peak_acceleration,
    residual_angle,
    residual_for,
    residual_unevenness,
    speed_ratio,
    turned_through,
    unevenness,
)

RAD = np.radians
RPM = 2 * np.pi / 60


def flat_line(*bends: float, phases: tuple[float, ...] = ()) -> Line:
    """Shafts in one upright plane; each joint bends by so many deg, up is positive."""
    slopes = RAD(np.cumsum([0.0, *bends]))
    return Line(np.stack([np.cos(slopes), 0 * slopes, np.sin(slopes)], axis=1), phases)


def test_speed_of_one_joint() -> None:
    """25 deg at 100 rad/s, Mechanical Engineer's Data Handbook p. 72."""
    beta = RAD(25.0)
    assert 100 * speed_ratio(beta, [0.0, np.pi / 2]) == pytest.approx([110.33779, 90.630779], abs=5e-6)
    assert np.degrees(equal_speed_turn(beta)) == pytest.approx(43.591431, abs=5e-7)
    assert speed_ratio(beta, equal_speed_turn(beta)) == pytest.approx(1.0, rel=1e-14)
    assert np.degrees(greatest_lag(beta)) == pytest.approx(2.8171379, abs=5e-8)


@pytest.mark.parametrize(
    ("beta", "spread", "lag"),
    [
        (5, 0.0076251394, 0.10922175),
        (8, 0.0195595038, 0.28016367),
        (10, 0.0306188589, 0.43856143),
        (15, 0.0693503541, 0.99312196),
        (20, 0.1244851517, 1.78168190),
        (25, 0.1970701319, 2.81713791),
        (30, 0.2886751346, 4.11719427),
    ],
)
def test_unevenness_and_lag(beta: float, spread: float, lag: float) -> None:
    assert unevenness(RAD(beta)) == pytest.approx(spread, abs=1e-10)  # digits cut, not rounded
    assert np.degrees(greatest_lag(RAD(beta))) == pytest.approx(lag, abs=1e-8)
    assert np.degrees(residual_for(spread)) == pytest.approx(beta, rel=1e-8)
    exact = residual_unevenness(flat_line(beta))
    assert exact == pytest.approx(spread, abs=1e-10)  # by the cross's geometry


def test_allowed_residual_of_a_catalogue() -> None:
    """About 3 deg for an unevenness of 0.0027."""
    assert np.degrees(residual_for(0.0027)) == pytest.approx(2.97650576, abs=5e-9)


def test_peak_acceleration() -> None:
    """20 deg at 1500 rpm, Khurmi and Gupta: about 3090 rad/s² and 371 N·m on 0.12 kg·m²; exact 3083.4020."""
    theta, peak = peak_acceleration(RAD(20.0), 1500 * RPM)
    assert np.degrees(theta) == pytest.approx(41.458695, abs=5e-7)
    assert peak == pytest.approx(3083.4020, abs=5e-5)
    assert 0.12 * peak == pytest.approx(371, abs=2)  # the book rounds on the way
    turns = np.linspace(0, 2 * np.pi, 3601)
    assert np.abs(acceleration(RAD(20.0), turns, 1500 * RPM)).max() <= peak
    step = 1e-6
    rate = speed_ratio(RAD(20.0), 0.7 + step) - speed_ratio(RAD(20.0), 0.7 - step)
    expected = (1500 * RPM) ** 2 * float(rate) / (2 * step)
    assert float(acceleration(RAD(20.0), 0.7, 1500 * RPM)) == pytest.approx(expected, rel=1e-8)
    assert peak_acceleration(0.0, 100.0)[1] == 0.0


@pytest.mark.parametrize("bends", [(20.0, -20.0), (20.0, 20.0), (3.0, 3.0)])
def test_equal_angles_in_phase_cancel(bends: tuple[float, float]) -> None:
    """Both the Z and the W arrangement: the last shaft turns as evenly as the first."""
    line = flat_line(*bends, phases=(0.0,))
    assert residual_unevenness(line) < 1e-11
    assert np.degrees(residual_angle(line)) < 1e-5
    crossed = flat_line(*bends, phases=(np.pi / 2,))
    assert residual_angle(crossed) == pytest.approx(2**0.5 * RAD(abs(bends[0])), rel=1e-12)


def test_two_unequal_joints_leave_the_root() -> None:
    """8 and 5 deg leave 6.2449980 deg (small angles); exact geometry agrees within 0.2 %."""
    line = flat_line(8.0, -5.0, phases=(0.0,))
    assert np.degrees(residual_angle(line)) == pytest.approx(6.2449980, abs=5e-8)
    assert np.degrees(residual_for(residual_unevenness(line))) == pytest.approx(6.2449980, rel=2e-3)


def test_chart_of_second_joints() -> None:
    """At 1500 rpm a first joint of 0..9 deg lets the second have 7.3 .. 11.6 deg (chart after SAE AE-7)."""
    chart = [7.3, 7.4, 7.6, 7.9, 8.3, 8.9, 9.5, 10.1, 10.8, 11.6]
    for first, second in enumerate(chart):
        left = np.degrees(residual_angle(flat_line(float(first), second, phases=(0.0,))))
        assert left == pytest.approx(7.3, abs=0.11)  # the chart is read to a tenth
    allowed = np.degrees(residual_angle_allowed(1500 * RPM).value)
    assert allowed == pytest.approx(7.3, abs=0.05)


small = st.floats(-0.06, 0.06)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(small, small), min_size=3, max_size=5),
    st.lists(st.floats(0, 3.1), min_size=3, max_size=3),
)
def test_small_angles_add_as_vectors(bends: list[tuple[float, float]], phases: list[float]) -> None:
    """Shafts anywhere in space, yokes in any phase: exact geometry and the sum of β² vectors agree."""
    directions = np.array([[1.0, y, z] for y, z in bends])
    line = Line(directions, tuple(phases[: len(bends) - 2]))
    exact, plain = residual_unevenness(line), residual_angle(line) ** 2
    # next order: each joint's β⁴, and products of the joints' β²; peaks are read to 1e-7, sums to rounding
    assert exact == pytest.approx(plain, rel=1e-6, abs=2 * float(np.sum(line.angles**2)) ** 2 + 1e-11)


def test_the_last_shaft_makes_as_many_turns() -> None:
    line = flat_line(12.0, 7.0, -9.0, phases=(0.3, 1.0))
    turned = turned_through(line, np.linspace(0.0, 2 * np.pi, 361))
    assert turned[-1] - turned[0] == pytest.approx(2 * np.pi, rel=1e-12)
    assert np.all(np.diff(turned) > 0)


def test_straight_shafts_turn_evenly() -> None:
    assert residual_unevenness(flat_line(0.0, 0.0, phases=(0.4,))) < 1e-12
    assert residual_angle(flat_line(0.0, 0.0, phases=(0.4,))) == 0.0


def test_compound_angle() -> None:
    """2.15 and 2.50 deg from two sides: 3.3 deg on a driveline page; exact 3.2956."""
    assert np.degrees(compound_angle(RAD(2.15), RAD(2.50))) == pytest.approx(3.2956, abs=5e-5)


def test_critical_speed() -> None:
    """Shaft makers' n = 1.21e8 sqrt(D² + d²) / L² for steel, rpm and mm (from memory, three digits)."""
    found = critical_speed(length=1.4, outer=0.0762, inner=0.0720, modulus=207e9, density=7850) / RPM
    assert found == pytest.approx(1.21e8 * np.hypot(76.2, 72.0) / 1400**2, rel=5e-3)
    gyration2 = (0.0762**2 + 0.0720**2) / 16
    beam = (np.pi / 1.4) ** 2 * np.sqrt(207e9 * gyration2 / 7850)
    assert found * RPM == pytest.approx(beam, rel=1e-12)


def test_tables_of_joints() -> None:
    assert np.degrees(working_angle(3500 * RPM).value) == pytest.approx(5.0, rel=1e-12)
    assert np.degrees(working_angle(3750 * RPM).value) == pytest.approx(4.6, rel=1e-12)
    assert np.degrees(working_angle(500 * RPM).value) == pytest.approx(11.5, rel=1e-12)
    assert working_angle(2200 * RPM).from_memory and not working_angle(4200 * RPM).from_memory
    assert np.degrees(least_angle().value) == pytest.approx(0.5, rel=1e-12)
    with pytest.raises(SoapstoneError, match="5000 rpm"):
        working_angle(6000 * RPM)


def test_impossible_shafts() -> None:
    with pytest.raises(GeometryError, match="one phase"):
        Line(np.eye(3), ())
    with pytest.raises(GeometryError, match="outer diameter"):
        critical_speed(length=1.0, outer=0.05, inner=0.06, modulus=2e11, density=7850)
