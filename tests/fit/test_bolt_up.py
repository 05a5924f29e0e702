"""From a job to the chance that its bolts go in."""

import dataclasses

import numpy as np
import pytest
from scipy.stats import norm

from soapstone.finding import Verdict
from soapstone.fit.bolt_up import bolt_up, draw_errors
from soapstone.fit.patterns import Hole, Pattern, patterns_of
from soapstone.job.bolting import TakeUp

UP = np.array([0.0, 0.0, 1.0])


def square(room=5e-4, made=3e-4, take_up=None, side=None):
    corners = [(0.2, 0.15), (0.2, -0.15), (-0.2, 0.15), (-0.2, -0.15)]
    holes = tuple(
        Hole(f"h{i}", np.array([x, y, 0.0]), UP, room, side, made, take_up, np.array([1.0, 0.0, 0.0]))
        for i, (x, y) in enumerate(corners)
    )
    return Pattern("plate", holes, np.zeros((12, 12)), ())


def taken(*ways, **more):
    return TakeUp(**{"ways": ways, **more})


def swap(pattern, take_up, rows):
    holes = [
        dataclasses.replace(hole, take_up=take_up) if row in rows else hole
        for row, hole in enumerate(pattern.holes)
    ]
    return dataclasses.replace(pattern, holes=tuple(holes))


def share_in(pattern):
    return bolt_up(pattern, 0.95).chance


def test_two_holes_go_in_as_often_as_the_normal_law_says():
    """Only the error along their pitch counts, √2 of one hole's; twice the room swallows it."""
    whole = square(room=2.5e-4)
    pair = dataclasses.replace(whole, holes=whole.holes[::2], measured=np.zeros((6, 6)))
    expected = 1.0 - 2.0 * norm.sf(5e-4, scale=3e-4 * np.sqrt(2.0))
    chance = bolt_up(pair, 0.95, tries=20000).chance
    # three standard deviations of the count of 20,000 tries
    assert chance == pytest.approx(expected, abs=3.0 * np.sqrt(expected * (1.0 - expected) / 20000))


def test_the_width_proposed_brings_the_wanted_chance():
    found = bolt_up(square(), 0.95)
    assert found.chance < 0.9
    wider = dataclasses.replace(
        found.pattern,
        holes=tuple(
            dataclasses.replace(hole, room=hole.room + found.wider / 2.0) for hole in found.pattern.holes
        ),
    )
    # the same tries, so only the try at the quantile itself may fall either side
    assert share_in(wider) == pytest.approx(0.95, abs=2.0 / 4000)


def test_each_take_up_helps_and_none_hurts():
    plain = share_in(square())
    for ways in (
        taken("drilled after"),
        taken("slot and weld washer"),
        taken("slot", along="along", by="6 mm"),
        taken("compliant mount", by="1 mm"),
        taken("adjustable end"),
    ):
        assert share_in(swap(square(), ways, {0})) > plain + 0.02, ways


def test_a_slot_hardly_longer_than_its_hole_is_the_hole():
    assert share_in(swap(square(), taken("slot", along="along", by="1 um"), {0, 1})) == share_in(square())


def test_all_holes_drilled_after_always_go_in():
    found = bolt_up(swap(square(), taken("drilled after"), range(4)), 0.95)
    assert (found.chance, found.tightest, found.wider) == (1.0, None, -np.inf)


def test_side_gaps_count_until_they_are_shimmed():
    tight = square(room=5e-3, side=1e-4)
    assert share_in(tight) < 0.6
    assert share_in(swap(tight, taken("shim"), range(4))) == 1.0


def test_the_hole_in_the_way_is_the_one_made_worst():
    pattern = square()
    worse = dataclasses.replace(pattern.holes[2], made=2e-3)
    found = bolt_up(dataclasses.replace(pattern, holes=(*pattern.holes[:2], worse, pattern.holes[3])), 0.95)
    assert found.tightest == "h2"
    assert max(found.after, key=lambda name: found.after[name]) == "h2"


def test_errors_scatter_as_survey_and_making_say():
    measured = np.zeros((12, 12))
    measured[:6, :6] = (
        4e-8 * (np.eye(6) + np.roll(np.eye(6), 3, axis=0) * 0.5 + np.roll(np.eye(6), 3, axis=1) * 0.5) / 1.0
    )
    measured[:6, :6] = (measured[:6, :6] + measured[:6, :6].T) / 2.0
    drawn = draw_errors(dataclasses.replace(square(), measured=measured), 40000, 3).reshape(-1, 12)
    expected = measured + 9e-8 * np.eye(12)
    # a covariance of 40,000 draws is within 4 √(2 / 40,000) = 3 % of its greatest entry
    assert np.abs(np.cov(drawn.T) - expected).max() < 0.03 * expected.max()


def test_a_job_has_one_pattern_for_each_rigid_part(heron):
    found = {one.pattern.name: [hole.name for hole in one.pattern.holes] for one in heron.bolted}
    assert set(found) == {"side_left", "torque_arm", "drive_unit"}
    assert len(found["side_left"]) == 6
    assert found["torque_arm"] == ["fork_arm_front", "fork_arm_rear"]
    assert all(name.startswith("hanger_") for name in found["drive_unit"])


def test_the_room_of_a_fork_is_that_of_both_its_holes_and_of_a_hanger_of_one(heron):
    """M12 in the medium hole of ISO 273, 13.5 mm: 0.75 mm each."""
    room = {hole.name: hole.room for one in heron.bolted for hole in one.pattern.holes}
    assert room["fork_front_left"] == pytest.approx(1.5e-3)
    assert room["hanger_front_left"] == pytest.approx(0.75e-3)


def test_holes_not_made_in_place_carry_the_survey(changed):
    made = changed(("fork_front_left:    made in place, shim", "fork_front_left:    shim"))
    one = next(one for one in made.bolted if one.pattern.name == "side_left")
    blocks = one.pattern.measured.reshape(6, 3, 6, 3)
    spread = np.einsum("iaia->i", blocks)
    assert spread[0] > 0.0
    assert (spread[1:] == 0.0).all()


def test_a_job_that_says_nothing_of_take_up_is_open_and_says_what_to_say(heron_text, changed):
    said = heron_text[heron_text.index("bolt up:") : heron_text.index("service:")]
    finding = changed((said, "")).finding("bolt-up:side_left")
    assert finding.verdict is Verdict.OPEN
    assert "bolt up" in finding.remedy
    assert any("ISO 13920" in line for line in finding.assumed)


def test_holes_true_to_class_only_are_short_and_the_remedy_is_enough(changed):
    hangers = ("front_left:  ", "front_right: ", "rear_left:   ", "rear_right:  ")
    edits = [(f"hanger_{one}made in place, shim", f"hanger_{one}shim") for one in hangers]
    finding = changed(*edits).finding("bolt-up:drive_unit")
    assert finding.verdict is Verdict.SHORT
    assert "mm wider" in finding.remedy


def test_patterns_follow_the_job_and_nothing_else(heron_job, heron):
    again = patterns_of(heron_job, heron.layout, heron.survey)
    assert [one.name for one in again] == [one.pattern.name for one in heron.bolted]
