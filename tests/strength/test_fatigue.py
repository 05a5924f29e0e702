"""Fatigue curves and damage sums against EN 1993-1-9 and a printed sum."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.finding import Verdict
from soapstone.strength.fatigue import (
    Detail,
    attachment_category,
    damage,
    end_category,
    endurance_limits,
    fatigue,
    life,
    swings,
)


# EN 1993-1-9 7.1: limits of categories, MPa, to the digits given
@pytest.mark.parametrize(
    ("category", "constant", "cut_off"),
    [
        (56, 41.2612, 22.6639),
        (71, 52.3132, 28.7346),
        (80, 58.9445, 32.3771),
        (90, 66.3126, 36.4242),
        (50, 36.840315, 0.404713 * 50),
        (40, 29.472252, 0.404713 * 40),
        (36, 26.525027, 0.404713 * 36),
    ],
)
def test_limits(category, constant, cut_off):
    found = endurance_limits(float(category))
    assert found[0] == pytest.approx(constant, rel=2e-6)
    assert found[1] == pytest.approx(cut_off, rel=3e-6)


# printed 2.5 and 0.33 for 1e5 cycles at 90, 1e6 at 60, 1e7 at 40 MPa
@pytest.mark.parametrize(("category", "total"), [(56, 2.535004), (90, 0.331002)])
def test_printed_sums(category, total):
    assert damage(np.array([90.0, 60, 40]), np.array([1e5, 1e6, 1e7]), category) == pytest.approx(
        total, rel=1e-6
    )


# tube ends at 30 MPa: 4740740.7 and 3456000 cycles
@pytest.mark.parametrize(("category", "cycles"), [(40.0, 4740740.7), (36.0, 3456000.0)])
def test_life_at_30(category, cycles):
    assert life(np.array(30.0), category) == pytest.approx(cycles, rel=1e-7)


@settings(deadline=None, max_examples=50)
@given(st.floats(1.0, 500.0), st.floats(36.0, 160.0), st.floats(1.01, 3.0))
def test_life_never_grows_with_the_range_and_the_curve_is_whole(stress, category, factor):
    assert life(np.array(stress * factor), category) <= life(np.array(stress), category)
    constant, cut_off = endurance_limits(category)
    # both branches meet at the knees: 5 and 100 million cycles
    assert life(np.array(constant), category) == pytest.approx(5e6, rel=1e-9)
    assert life(np.array(cut_off * (1 + 1e-9)), category) == pytest.approx(1e8, rel=1e-7)
    assert life(np.array(cut_off * (1 - 1e-9)), category) == np.inf
    assert life(np.array(category), category) == pytest.approx(2e6, rel=1e-12)


def test_categories_from_geometry():
    # EN 1993-1-9 table 8.4: longitudinal attachments to 50, 80, 100 mm and over; table 8.6: ends with fillets
    assert [attachment_category(x / 1e3) / 1e6 for x in (50, 51, 80, 100, 101)] == [80, 71, 71, 63, 56]
    assert (end_category(True), end_category(False)) == (40e6, 36e6)


def judged(cycles, stress=(40e6, 20e6, 5e6), gap=""):
    """A place with one stress per case, rest being none."""
    states = np.append(stress, 0.0)
    ranges = np.abs(states[:, None] - states)
    details = [Detail("its start", 40e6, "table 8.6", ranges), Detail("its end", 80e6, "table 8.4", ranges)]
    return fatigue(
        name="side",
        details=details,
        cycles=np.array(cycles, dtype=float),
        cases=["bump", "kerb", "rest"],
        gap=gap,
    )


def test_the_sum_and_the_hungriest_case():
    few_hard, many_soft = judged([1e4, 0, 0]), judged([1e3, 3e6, 1e7])
    assert few_hard.case == "bump" and many_soft.case == "kerb"
    expected = 1e4 / (2e6 * (40 / 54) ** 3)
    assert few_hard.demand == pytest.approx(expected, rel=1e-12)
    assert many_soft.demand == pytest.approx(
        damage(1.35 * np.array([40e6, 20e6, 5e6]), np.array([1e3, 3e6, 1e7]), 40e6), rel=1e-12
    )
    assert "its start" in few_hard.because[0].words


def test_short_and_open():
    short = judged([1e7, 0, 0])
    assert short.verdict is Verdict.SHORT and "its start" in short.remedy
    unknown = judged([1.0, 0, 0], gap="its start: give its factor")
    assert unknown.verdict is Verdict.OPEN and unknown.remedy == "its start: give its factor"
    # what is short already needs no more knowledge
    assert judged([1e7, 0, 0], gap="its start: give its factor").verdict is Verdict.SHORT


def test_a_push_after_a_pull_swings_by_both():
    # 1e4 pulls of 30 MPa and 4e3 pushes of 20: 4e3 swings of 50 and 6e3 of 30
    finding = judged([1e4, 4e3, 0], stress=(30e6, -20e6, 5e6))
    expected = damage(1.35 * np.array([50e6, 30e6]), np.array([4e3, 6e3]), 40e6)
    assert finding.demand == pytest.approx(expected, rel=1e-12)
    apart = damage(1.35 * np.array([30e6, 20e6]), np.array([1e4, 4e3]), 40e6)
    assert finding.demand > apart
    assert finding.case == "bump to kerb"


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.floats(-100.0, 100.0), min_size=1, max_size=6).flatmap(
        lambda stress: st.tuples(
            st.just(stress), st.lists(st.floats(0.0, 1e6), min_size=len(stress), max_size=len(stress))
        )
    )
)
def test_every_cycle_is_used_once_and_never_less_than_from_rest(both):
    stress, cycles = (np.array(values) for values in both)
    states = np.append(stress, 0.0)
    found = swings(np.abs(states[:, None] - states), cycles)
    for i, count in enumerate(cycles):
        used = sum(s.cycles for s in found if i in (s.one, s.other))
        assert used == pytest.approx(count, rel=1e-9, abs=1e-6)  # of a million
    cubes = sum(s.cycles * s.range**3 for s in found)
    # a like-signed pair is never joined, since going from rest is the wider swing
    assert cubes >= float(np.sum(cycles * np.abs(stress) ** 3)) * (1 - 1e-9)
