"""Hot-spot factors against the parametric formulas put into numbers, and what they make of a job's tubes."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.finding import Verdict
from soapstone.formula import Chain
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.strength.fatigue import Detail, Part, fatigue, life, thickness_factor
from soapstone.strength.hot_spots import RoundJoint, joint_gap, put_factors
from soapstone.strength.tube_joints import Landing
from soapstone.tables import material

# beta 0.5, gamma 12, tau 0.5, alpha 20
JOINT = RoundJoint(0.240, 0.010, 0.120, 0.005, math.pi / 2, 2.4, False, 56e6)
TUBE = RoundTube(0.240, 0.010)
LANDING = Landing(RoundTube(0.120, 0.005), TUBE, material("S355"), math.pi / 2, True, 0.12, 0.12, 0.0, 1.2)


def factors(place, on_chord, joint=JOINT):
    chain = Chain()
    put_factors(chain, joint, on_chord, place)
    return {step.symbol: step.value for step in chain.steps}


# Efthymiou's T and X formulas put into numbers by hand, seven figures
@pytest.mark.parametrize(
    ("place", "on_chord", "symbol", "expected"),
    [
        ("saddle", True, "K_a", 6.207282),  # T5 is T1 at a right angle
        ("saddle", True, "K_o", 4.706250),  # T10
        ("crown", True, "K_i", 2.073586),  # T8
        ("saddle", False, "K_a", 6.440386),  # T3
        ("crown", False, "K_a", 2.886957),  # T7
        ("crown", False, "K_i", 2.420019),  # T9
        ("saddle", False, "K_o", 4.592887),  # T11
    ],
)
def test_tee_factors(place, on_chord, symbol, expected):
    assert factors(place, on_chord)[symbol] == pytest.approx(expected, rel=1e-6)


def test_a_cross_counts_by_the_worse_of_both_formulas():
    crossed = replace(JOINT, crossed=True)
    assert factors("saddle", True, crossed)["K_a"] == pytest.approx(9.436903, rel=1e-6)  # X1
    assert factors("saddle", False, crossed)["K_a"] == pytest.approx(7.758003, rel=1e-6)  # X3
    wide = replace(crossed, brace=0.240)
    assert (
        factors("saddle", True, wide)["K_a"] >= factors("saddle", True, replace(wide, crossed=False))["K_a"]
    )


def test_a_leaning_brace():
    leaning = replace(JOINT, angle=math.pi / 4)
    assert factors("saddle", True, leaning)["K_a"] == pytest.approx(3.998160, rel=1e-6)  # T5, C 0.7
    assert factors("crown", False, leaning)["K_i"] == pytest.approx(2.653944, rel=1e-6)  # T9


def test_no_factor_is_below_two_and_the_chord_s_own_stress_agrees_with_its_attachment():
    found = factors("crown", True)
    assert found["K_a"] == 2.0  # X2 alone gives 1.52
    # at the same damage: hot spot of 90 under K_c times a stress, attachment of 56 under the stress itself
    assert life(np.array(found["K_c"] * 40e6), 90e6) == pytest.approx(life(np.array(40e6), 56e6), rel=1e-12)


def test_half_way_round_lies_between():
    for on_chord in (True, False):
        saddle, crown = factors("saddle", on_chord), factors("crown", on_chord)
        between = factors("between", on_chord)
        assert between["K_a"] == pytest.approx((saddle["K_a"] + crown["K_a"]) / 2, rel=1e-12)
        # a moment that leans half out of the plane has both parts, which add there
        assert between["K_i"] == pytest.approx(crown["K_i"] / math.sqrt(2), rel=1e-12)
        assert between["K_o"] == pytest.approx(saddle["K_o"] / math.sqrt(2), rel=1e-12)


SIZES = st.tuples(
    st.floats(0.2, 1.0), st.floats(0.2, 1.0), st.floats(2.0, 32.0), st.floats(math.radians(20), math.pi / 2)
)


@settings(deadline=None, max_examples=60)
@given(SIZES)
def test_a_stockier_chord_than_the_fitted_ones_is_never_better_than_by_the_bare_formula(sizes):
    beta, tau, gamma, angle = sizes
    joint = RoundJoint(0.1, 0.05 / gamma, 0.1 * beta, 0.05 / gamma * tau, angle, 1.0, False, 80e6)
    thin = replace(joint, chord_wall=0.05 / 8, brace_wall=0.05 / 8 * tau)
    for place in ("saddle", "crown"):
        for on_chord in (True, False):
            stocky, fitted = factors(place, on_chord, joint), factors(place, on_chord, thin)
            for symbol in ("K_a", "K_i", "K_o"):
                if gamma < 8 and symbol in stocky:
                    assert stocky[symbol] >= fitted[symbol] * (1 - 1e-9)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"brace": RectangularTube(0.1, 0.1, 0.005, 0.01)}, "not both tubes are round"),
        ({"chord": RectangularTube(0.2, 0.2, 0.010, 0.02)}, "not both tubes are round"),
        ({"clash": "drop"}, "runs into drop"),
        ({"offset": 0.030}, "beside the middle"),
        ({"brace": RoundTube(0.040, 0.005)}, "diameter over the chord's is 0.17"),
        ({"brace": RoundTube(0.120, 0.012)}, "wall over the chord's is 1.20"),
        (
            {"chord": RoundTube(0.240, 0.003), "brace": RoundTube(0.12, 0.003)},
            "radius over its wall is 40.00",
        ),
        ({"angle": math.radians(15)}, "15 deg"),
    ],
)
def test_outside_the_fitted_range_it_says_what_would_close_it(change, word):
    gap = joint_gap(replace(LANDING, **change))
    assert word in gap and "`hot spot` factor from a solid model or strain gauges" in gap
    assert joint_gap(LANDING) == ""


def test_the_chain_sums_the_parts_of_a_hot_spot():
    ranges = np.array([[0.0, 30e6], [30e6, 0.0]])
    parts = (Part("a", "K_a", "axial", ranges), Part("i", "K_i", "bending", 2 * ranges))

    def put(chain):
        chain.given("K_a", 2.0, "1", "")
        chain.given("K_i", 1.5, "1", "")

    detail = Detail("toe", 90e6, "table B.1", 5 * ranges, 0.004, put, parts)
    finding = fatigue(name="side", details=[detail], cycles=np.array([1e4]), cases=["bump"])
    values = {step.symbol: step.value for step in finding.because}
    assert values["s_1"] == pytest.approx(2 * 30e6 + 1.5 * 60e6, rel=1e-12)
    assert finding.demand == pytest.approx(1e4 / (2e6 * (90 / (1.35 * 150)) ** 3), rel=1e-12)


def test_a_thick_wall_is_weaker():
    # (25/40)^0.2 = 0.910282, and nothing changes up to 25 mm
    assert thickness_factor(0.040) == pytest.approx(0.910282, rel=1e-6)
    assert thickness_factor(0.025) == thickness_factor(0.003) == thickness_factor(0.0) == 1.0
    ranges = np.array([[0.0, 60e6], [60e6, 0.0]])
    thick, thin = (
        fatigue(
            name="side",
            details=[Detail("toe", 90e6, "table B.1", ranges, wall)],
            cycles=np.array([1e4]),
            cases=["bump"],
        ).demand
        for wall in (0.040, 0.020)
    )
    assert thick / thin == pytest.approx((40 / 25) ** 0.6, rel=1e-12)


CYCLES = ("\ntable:", "  cycles: {full torque: 5000, holding back: 5000}\n\ntable:")


def test_a_job_s_feet_crack_by_swings_between_opposite_cases(changed):
    job = changed(CYCLES)
    drop = job.finding("fatigue:drop_right")
    values = {step.symbol: step.value for step in drop.because}
    assert "table B.1" in drop.assumed[1]
    assert "toe" in drop.because[[s.symbol for s in drop.because].index("ds_C")].words
    # T8 by hand, the stocky chord counting as 8
    beta, tau, angle = values["d_b"] / 0.04445, values["t_b"] / 0.003048, values["theta"]
    inside = 1.45 * beta * tau**0.85 * 8 ** (1 - 0.68 * beta) * math.sin(angle) ** 0.7
    assert values["K_i"] == pytest.approx(inside, rel=1e-9)
    total = values["K_a"] * values["a_1"] + inside * values["i_1"] + values["K_c"] * values["c_1"]
    assert values["s_1"] == pytest.approx(total, rel=1e-9)
    assert drop.demand >= 5000 / (2e6 * (90e6 / (1.35 * total)) ** 3) * (1 - 1e-9)


def test_a_square_foot_is_open_until_its_factor_is_told(changed):
    factors = "welds:\n  cross_1 start: {hot spot: 6}\n  cross_1 end: {hot spot: 6}\n"
    before, after = changed(CYCLES), changed(CYCLES, ("\nwelds:\n", "\n" + factors))
    silent, told = (job.finding("fatigue:cross_1") for job in (before, after))
    assert silent.verdict is Verdict.OPEN and "`hot spot`" in silent.remedy
    assert told.verdict is not Verdict.OPEN
    values = {step.symbol: step.value for step in told.because}
    assert values["s_1"] == pytest.approx(6 * values["a_1"], rel=1e-12)
