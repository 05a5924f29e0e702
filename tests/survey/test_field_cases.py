"""Cases from the shop floor, each with the answer it has to give."""

from dataclasses import replace

import numpy as np
import pytest
from surveying import FRAME, KIND, frame, network, shown, tape

from soapstone.errors import GeometryError, SoapstoneError
from soapstone.survey import Edge, adjust, between_centres, findings

CORNERS = {"A": (1.0, 1.0, 1.0), "B": (1.0, -1.0, 1.0), "C": (-1.0, -1.0, 1.0)}
EXACT = [tape(f"{a} P", 3**0.5) for a in "ABC"]


def test_two_mirror_places_are_both_found_and_asked_about():
    """lemmingapex/trilateration #7, marcocorvi/topodroid #129: a third, wrong place was returned."""
    net = network(CORNERS, EXACT)
    survey = adjust(net)
    (doubt,) = survey.ambiguous
    places = sorted([doubt.here, doubt.there], key=lambda p: p[2])
    np.testing.assert_allclose(places, [(0, 0, 0), (0, 0, 2)], atol=1e-9)  # exact input, metres
    assert '"P is below ' in doubt.question
    assert '"P is above ' in doubt.question
    (finding,) = [f for f in findings(survey, net) if f.id == "point:P"]
    assert finding.verdict == "open"
    assert finding.remedy == doubt.question


@pytest.mark.parametrize(("relation", "height"), [("below", 0.0), ("above", 2.0)])
def test_one_side_statement_settles_it(relation, height):
    survey = adjust(network(CORNERS, EXACT, sides=[("P", relation, "A")]))
    np.testing.assert_allclose(survey.point("P"), (0, 0, height), atol=1e-9)
    assert survey.ambiguous == ()


def test_statements_that_no_place_satisfies_are_refused():
    with pytest.raises(
        SoapstoneError, match="no position that suits the readings agrees with: P is left of A"
    ):
        adjust(network(CORNERS, EXACT, sides=[("P", "left of", "A")]))


FLAT = {"A": (0.0, 0.0, 0.0), "B": (1.2, 0.0, 0.0), "C": (1.2, 0.8, 0.0), "D": (0.0, 0.8, 0.0)}


def test_anchors_at_one_height_leave_the_height_poor_and_two_sided():
    """ntu-aris/ntu_viral_dataset #27: four anchors in one plane."""
    lengths = {"A": 0.58387, "B": 0.76217, "C": 0.86076, "D": 0.70774}
    net = network(FLAT, [tape(f"{a} P", v) for a, v in lengths.items()])
    survey = adjust(net)
    # published to two or three digits, asked for within 5 %
    np.testing.assert_allclose(survey.sigma_of("P") * 1000, (0.61, 0.90, 11.9), rtol=0.05)
    (doubt,) = survey.ambiguous
    assert doubt.here[2] == pytest.approx(-doubt.there[2], abs=1e-9)
    told = replace(net, sides=(("P", "above", "A"),))
    (finding,) = [f for f in findings(adjust(told), told) if f.id == "point:P"]
    assert finding.verdict == "short"
    assert "up and down" in finding.claim
    assert finding.remedy == "a height of P would hold it"


def test_raising_two_anchors_cures_the_height():
    raised = {**FLAT, "A": (0.0, 0.0, 0.4), "C": (1.2, 0.8, 0.4)}
    lengths = {"A": 0.69058, "B": 0.76217, "C": 0.93643, "D": 0.70774}
    survey = adjust(network(raised, [tape(f"{a} P", v) for a, v in lengths.items()]))
    assert survey.sigma_of("P")[2] * 1000 == pytest.approx(1.5, rel=0.05)
    assert survey.ambiguous == ()


@pytest.mark.parametrize(
    ("read", "first", "second"),
    [
        (0.715, Edge.FAR, Edge.FAR),
        (0.685, Edge.NEAR, Edge.NEAR),
        (0.698, Edge.FAR, Edge.NEAR),  # left edge to left edge, the 13 mm hole on the left
        (0.702, Edge.NEAR, Edge.FAR),  # right edge to right edge
        (0.700, Edge.CENTRE, Edge.CENTRE),
    ],
)
def test_hole_edges_come_to_the_centres(read, first, second):
    assert between_centres(read, 0.013, first, 0.017, second) == pytest.approx(0.700, rel=1e-12)


def test_edges_that_leave_nothing_are_refused():
    with pytest.raises(GeometryError, match="leaves no distance"):
        between_centres(0.010, 0.013, Edge.FAR, 0.017, Edge.FAR)
    with pytest.raises(GeometryError, match="negative diameter"):
        between_centres(0.7, -0.013, Edge.FAR, 0.017, Edge.FAR)


def test_plan_and_direct_lengths_agree_and_a_mix_up_is_named():
    """1200 in plan and 340 apart in height make 1247.24 direct (47.24 more)."""
    at = {"A": (0.0, 0.5, 0.2), "B": (0.0, -0.5, 0.2), "C": (1.0, 0.4, 0.9), "P": (1.2, 0.5, 0.54)}
    assert shown(KIND.TAPE, at, "A P") == pytest.approx(1.24724, abs=5e-6)
    good = [
        (KIND.TAPE, "A P"),
        (KIND.TAPE, "B P"),
        (KIND.TAPE, "C P"),
        (KIND.HEIGHT, "P"),
        (KIND.OFFSET, "P"),
    ]
    from surveying import measured, reading

    known = {n: at[n] for n in "ABC"}
    right = network(known, [*measured(at, good), reading(KIND.PLAN, "A P", 1.2)])
    assert {f.verdict for f in findings(adjust(right), right) if f.kind == "reading"} == {"holds"}
    wrong = network(known, [*measured(at, good), reading(KIND.PLAN, "A P", 1.24724)])
    short = [f for f in findings(adjust(wrong), wrong) if f.kind == "reading" and f.verdict == "short"]
    assert [f.id for f in short] == ["reading:plan A P"]
    assert (
        "47.2 mm (too much) against the other readings; best guess: direct length entered as plan"
        in short[0].claim
    )


@pytest.mark.parametrize(
    ("label", "error", "words"),
    [
        ("tape A C", 0.0254, "an inch burned at the end of the tape"),
        ("tape F G", 0.100, "100 mm burned at the end of the tape"),
        ("tape C D", -0.3048, "a foot too little"),
        ("height G", -0.010, "10 mm too little"),
        ("offset D", 0.74, "the side or sign swapped"),
    ],
)
def test_one_mistake_is_named_with_its_likely_cause(label, error, words):
    net = frame(np.random.default_rng(5), {label: error})
    results = {f.id: f for f in findings(adjust(net), net)}
    short = [f for f in results.values() if f.kind == "reading" and f.verdict == "short"]
    assert [f.id for f in short] == [f"reading:{label}"]
    assert f"best guess: {words}" in short[0].claim
    assert short[0].remedy == f"take {label} again"
    touched = label.split()[-1]
    assert "is off" in results[f"point:{touched}"].caution


def test_two_mistakes_are_both_named():
    net = frame(np.random.default_rng(5), {"tape A C": 0.0254, "tape F G": -0.0254})
    short = {f.id for f in findings(adjust(net), net) if f.kind == "reading" and f.verdict == "short"}
    assert short == {"reading:tape A C", "reading:tape F G"}


def test_readings_that_share_the_blame_say_so():
    """Four tapes and three unknowns: any of the four may be the wrong one."""
    known = {n: FRAME[n] for n in "ABE"} | {"G": FRAME["G"]}
    at = {**FRAME, "P": (-0.6, 0.1, -0.2)}
    tapes = [tape(f"{a} P", shown(KIND.TAPE, at, f"{a} P") + 0.0254 * (a == "E")) for a in "ABEG"]
    net = network(known, tapes)
    short = [f for f in findings(adjust(net), net) if f.kind == "reading" and f.verdict == "short"]
    assert len(short) == 4
    assert sum("cannot tell which" in f.claim for f in short) == 3
    assert sum("it could as well be" in f.claim for f in short) == 1
