"""Mistakes of the trade put into a well-measured job, one and two at a time: named, their size guessed."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from surveying import FRAME, KIND, WELL_MEASURED, frame, invented_network, measured, network, shown

import soapstone.examples
from soapstone.job import load
from soapstone.survey import Network, Reading, Survey, adjust, findings, snoop
from soapstone.survey.mistakes import explain
from soapstone.survey.of_job import network_of

INCH = 0.0254


@pytest.fixture(scope="module", params=["heron", 0, 1])
def job(request) -> tuple[Network, Survey]:
    """The example's network, and two that have nothing to do with it."""
    if request.param == "heron":
        net = network_of(load(Path(soapstone.examples.__file__).parent / "heron"))
        return net, adjust(net)
    net, true = invented_network(request.param)
    return net, adjust(net, start=true)


def spoiled(net: Network, errors: dict[int, float]) -> Network:
    rows = [replace(r, value=r.value + errors.get(i, 0.0)) for i, r in enumerate(net.readings)]
    return replace(net, readings=tuple(rows))


def lengths_well_controlled(survey: Survey) -> list[int]:
    """Readings of a length whose redundancy is above 0.3; an inch is no mistake of a level."""
    return [
        i for i, c in enumerate(survey.checked) if c.redundancy > 0.3 and c.reading.kind is not KIND.LEVEL
    ]


def test_an_inch_in_each_well_controlled_reading_is_named_first_and_its_size_guessed(job):
    net, survey = job
    trials = [(i, e) for i in lengths_well_controlled(survey) for e in (INCH, -INCH)]
    named = sized = 0
    for row, error in trials:
        wrong = spoiled(net, {row: error})
        found = snoop(wrong, adjust(wrong, start=survey.xyz)).suspects
        if found and found[0].row == row:
            named += 1
            sized += bool(found[0].mistakes) and found[0].mistakes[0].error == pytest.approx(error, rel=1e-12)
    assert len(trials) > 80
    assert named >= 0.95 * len(trials)
    assert sized >= 0.90 * len(trials)


def test_two_inches_at_once_are_both_named(job):
    net, survey = job
    rows = lengths_well_controlled(survey)
    chance = np.random.default_rng(0)
    trials, both = 50, 0
    for _ in range(trials):
        one, two = (int(i) for i in chance.choice(rows, 2, replace=False))
        wrong = spoiled(net, {one: INCH * chance.choice([-1, 1]), two: INCH * chance.choice([-1, 1])})
        found = snoop(wrong, adjust(wrong, start=survey.xyz)).suspects
        both += {one, two} <= {s.row for s in found}
    assert both >= 0.80 * trials


def test_a_good_reading_that_came_out_goes_back():
    """Whatever is left out disagrees with the rest; whatever agrees is in."""
    net = frame(np.random.default_rng(5), {"tape A C": INCH, "tape B C": INCH, "height G": -0.01})
    found = snoop(net, adjust(net))
    assert {net.readings[s.row].label for s in found.suspects} == {"tape A C", "tape B C", "height G"}
    assert all(abs(s.error) / s.sigma > 3.29 for s in found.suspects)
    assert np.abs(found.survey.residuals.standardised).max() < 3.3


def best_guess(change, spoil: float, label: str, true=FRAME) -> str:
    """The words for one reading, changed and spoiled, among good ones."""
    readings = [change(r) if r.label == label else r for r in measured(true, WELL_MEASURED)]
    readings = [replace(r, value=r.value + spoil) if r.label == label else r for r in readings]
    net = network({p: true[p] for p in "ABEF"}, readings)
    (suspect,) = snoop(net, adjust(net)).suspects
    assert net.readings[suspect.row].label == label
    return suspect.mistakes[0].words


def test_swapped_digits_are_guessed_from_what_was_written():
    """23-7/8 written for 32-7/8: nine inches, which is no burned inch."""
    length = 32.875 * INCH
    true = {**FRAME, "A": tuple(np.array(FRAME["C"]) + length * np.array([0.8, 0.0, 0.6]))}
    words = best_guess(lambda r: replace(r, written="23-7/8 in"), (23.875 - 32.875) * INCH, "tape A C", true)
    assert words == "digits swapped: 32-7/8 in read as 23-7/8 in"


def test_a_wrong_edge_is_guessed_from_the_hole():
    words = best_guess(lambda r: replace(r, holes=(0.0, 0.017)), 0.017, "tape A C")
    assert words == "the far edge of hole C taken for the near edge"
    words = best_guess(lambda r: replace(r, holes=(0.0, 0.034)), -0.017, "tape A C")
    assert words == "the near edge of hole C taken for its centre"


def test_a_side_and_a_slope_with_the_wrong_sign_are_guessed():
    assert best_guess(lambda r: r, 2 * 0.37, "offset D") == "the side or sign swapped"
    true = {**FRAME, "C": (-0.62, 0.36, 0.34)}
    slope = shown(KIND.LEVEL, true, "C D")
    assert best_guess(lambda r: r, -2 * slope, "level C D", true) == "the sign of the slope swapped"


def test_the_second_guess_is_weighed_against_the_first():
    net = frame(np.random.default_rng(5), {"tape A C": INCH})
    (short,) = [f for f in findings(adjust(net), net) if f.kind == "reading" and f.verdict == "short"]
    assert "an inch burned at the end of the tape" in short.claim
    close = explain(net, 0, adjust(net).xyz, 0.0258, 0.0012)
    assert close[0].words == "an inch burned at the end of the tape"
    assert [m.likelihood for m in close] == sorted((m.likelihood for m in close), reverse=True)


def test_ten_thousand_readings_of_one_point():
    """Their mean: nothing is lost, and the spread falls with the root of their number."""
    chance = np.random.default_rng(0)
    base = measured(FRAME, [(KIND.TAPE, f"{a} G") for a in "ABEF"] * 2500)
    noisy = [
        Reading(r.kind, r.points, r.value + r.sigma * float(n), r.sigma, f"{r.label} {i}")
        for i, (r, n) in enumerate(zip(base, chance.normal(size=len(base)), strict=True))
    ]
    known = {p: FRAME[p] for p in "ABEF"}
    survey = adjust(network(known, noisy, sides=[("G", "above", "A")]))
    once = adjust(network(known, base[:4], sides=[("G", "above", "A")]))
    np.testing.assert_allclose(survey.sigma_of("G") * 50, once.sigma_of("G"), rtol=1e-3)
    assert np.all(np.abs(survey.point("G") - FRAME["G"]) < 4 * survey.sigma_of("G"))
    assert survey.variance_bounds[0] < survey.variance_factor < survey.variance_bounds[1]
