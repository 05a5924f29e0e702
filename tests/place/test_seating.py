"""A unit set by what the job wants of it: the solve, what fights, what is free, free play, screws."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from soapstone.cli import app
from soapstone.finding import Verdict
from soapstone.job.load import load_text
from soapstone.place.pose import rotation_from_angles

Trial = Callable[..., Any]
WANTED_POINT = "      - {point: output, at: [300 mm aft, 0 mm left, 300 mm up], within: 3 mm}\n"
CRANK = "      - {level: crank, within: 0.1 deg}\n"
GROUND = "{clear: ground, at least: 110 mm}"
LOW = (GROUND, "{clear: ground, at least: 20 mm}")
HEADING = "      - {heading: crank, toward: forward, within: 0.25 deg}\n"


def check(text: str, folder: Path) -> tuple[int, dict[str, dict[str, Any]]]:
    """What `soapstone check --json` says of a job file."""
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    done = CliRunner().invoke(app, ["check", str(folder), "--json"])
    return done.exit_code, {one["id"]: one for one in json.loads(done.stdout)["findings"]}


def test_the_unit_sits_as_wanted(trial: Trial) -> None:
    found = trial()
    pose = found.placed["unit"].pose
    assert np.allclose(pose.rotation, np.eye(3), atol=1e-9)  # level both ways and straight ahead
    assert np.allclose(found.placed["unit"].points["output"], [-0.3, 0.0, 0.3], atol=1e-9)
    assert all(f.verdict is Verdict.HOLDS for f in found.findings.values())
    assert found.seat.free == ()
    assert not np.allclose(found.seat.now.rotation, pose.rotation, atol=1e-3)  # it hung otherwise


def test_two_limits_that_fight_are_named_by_check(edited: Callable[..., str], tmp_path: Path) -> None:
    """Sump to ground and casing to bonnet: 210 + 330 + 70 mm do not go into 600 mm."""
    low = (GROUND, "{clear: ground, at least: 210 mm}\n      - {clear: bonnet, at least: 70 mm}")
    code, found = check(edited(low), tmp_path)
    assert code == 1
    ground, bonnet = (
        found["pose-limit:unit.gap of sump to ground"],
        found["pose-limit:unit.gap of casing to bonnet"],
    )
    assert ground["verdict"] == bonnet["verdict"] == "short"
    assert "together with gap of casing to bonnet" in ground["remedy"]
    assert "together with gap of sump to ground" in bonnet["remedy"]
    rails = [one for id, one in found.items() if id.startswith("pose-limit:unit.gap of") and "rails" in id]
    assert rails and all(one["verdict"] == "holds" for one in rails)
    assert found["pose-target:unit.crank level"]["verdict"] == "open"
    assert (
        "gap of sump to ground and gap of casing to bonnet" in found["pose-target:unit.crank level"]["remedy"]
    )
    assert not any(id.startswith("pose-free") for id in found)


def test_what_is_still_free_is_said_by_check(edited: Callable[..., str], tmp_path: Path) -> None:
    code, found = check(edited((WANTED_POINT, "      - {point: output, height: 300 mm}\n")), tmp_path)
    free = found["pose-free:unit"]
    assert code == 3 and free["verdict"] == "open"
    assert "shifted fore and aft" in free["remedy"] and "shifted side to side" in free["remedy"]
    assert "turned" not in free["remedy"] and "rest: as it hangs" in free["remedy"]
    assert "3 mm is near enough" in found["pose-target:unit.height of output"]["assumed"][0]


def test_what_is_free_may_stay_as_it_hangs(trial: Trial) -> None:
    found = trial(LOW, (WANTED_POINT, ""), ("    nose down: 1 deg\n", "    rest: as it hangs\n"))
    free = found.findings["pose-free:unit"]
    assert free.verdict is Verdict.HOLDS and "shifted fore and aft" in free.caution
    assert found.placed["unit"].points["output"] == pytest.approx([-0.32, 0.01, 0.29], abs=1e-9)


def test_limits_alone_leave_it_as_it_hangs(trial: Trial) -> None:
    wanted = (CRANK, ""), (WANTED_POINT, ""), (HEADING, "")
    found = trial(LOW, *wanted, ("      - {level: flange axis, within: 0.1 deg}\n", ""))
    assert np.array_equal(found.placed["unit"].pose.rotation, found.seat.now.rotation)
    assert np.array_equal(found.placed["unit"].pose.origin, found.seat.now.origin)
    assert "pose-free:unit" not in found.findings


def test_a_limit_pushes_the_unit_up_and_the_miss_is_told(trial: Trial) -> None:
    """The sump hangs 180 mm under the shaft's line at 300 mm: 130 mm of gap lift it by 10 mm."""
    stiff = (CRANK, CRANK.replace("0.1 deg", "0.0001 deg"))  # else it helps itself by pitching a little
    found = trial(stiff, (GROUND, "{clear: ground, at least: 130 mm}"))
    missed = found.findings["pose-target:unit.output up and down"]
    assert missed.verdict is Verdict.SHORT and missed.demand == pytest.approx(0.010, abs=1e-6)
    assert "gap of sump to ground" in missed.remedy
    assert found.findings["pose-limit:unit.gap of sump to ground"].caution == "nothing is left to it"


def test_the_smaller_tolerance_wins(trial: Trial) -> None:
    """Two heights of one point that cannot both be: the miss is shared as the squares of the tolerances."""
    both = WANTED_POINT + "      - {point: output, height: 310 mm, within: 1 mm}\n"
    found = trial((WANTED_POINT, both))
    assert found.placed["unit"].points["output"][2] == pytest.approx(0.309, abs=1e-7)  # 9 : 1


@pytest.mark.parametrize(
    ("lean", "pitch", "roll"),
    [("3 deg nose down", 3.0, 0.0), ("3 deg tail down", -3.0, 0.0), ("2 deg left up", 0.0, 2.0)],
)
def test_a_slope_in_words(trial: Trial, lean: str, pitch: float, roll: float) -> None:
    axis = "crank" if pitch else "flange axis"
    old = f"      - {{level: {axis}, within: 0.1 deg}}\n"
    found = trial(LOW, (old, f"      - {{level: {axis}, slope: {lean}, within: 0.1 deg}}\n"))
    expected = rotation_from_angles(turned_left=0.0, nose_down=np.radians(pitch), left_up=np.radians(roll))
    assert np.allclose(found.placed["unit"].pose.rotation, expected, atol=1e-9)


def test_an_axis_that_points_aft_slopes_the_same_way(trial: Trial) -> None:
    found = trial(
        LOW,
        ("axes: {crank: along,", "axes: {tail: [-1, 0, 0], crank: along,"),
        (CRANK, "      - {level: tail, slope: 3 deg nose down, within: 0.1 deg}\n"),
    )
    crank = found.placed["unit"].pose.rotation[:, 0]
    assert np.degrees(np.arcsin(crank[2])) == pytest.approx(-3.0, abs=1e-6)


# ---- faces, the vehicle's state, what is on the unit


def test_levelling_on_a_face_that_lies(trial: Trial) -> None:
    """The lid is built 1.5 deg nose down to the crank: laid level, the crank runs 1.5 deg nose up."""
    found = trial((CRANK, "      - {level: 'lid, fore-aft', within: 0.1 deg}\n"))
    crank = found.placed["unit"].pose.rotation[:, 0]
    assert np.degrees(np.arcsin(crank[2])) == pytest.approx(1.5, abs=1e-6)


def test_a_face_of_unknown_angle_is_asked_for(trial: Trial) -> None:
    found = trial((CRANK, "      - {level: pad}\n"))
    asked = found.findings["pose-target:unit.pad level"]
    assert asked.verdict is Verdict.OPEN and "pad" in asked.remedy and "crank" in asked.remedy
    assert found.findings["pose-free:unit"].verdict is Verdict.OPEN  # it was the only word on its pitch


FULL = "starter: on, filter: on, manifolds: on, belts: slack end, shifter: on, hoses: corridor"


@pytest.mark.parametrize(
    ("dress", "lacking"),
    [
        ("belts: none", ["starter", "filter", "manifolds", "shifter", "hoses"]),
        (FULL.replace("slack end", "on"), ["belts"]),  # they stretch: the adjuster's end counts
        (
            FULL.replace("starter: on", "starter: missing").replace(", hoses: corridor", ""),
            ["starter", "hoses"],
        ),
        (FULL + ", pump: missing", ["pump"]),
    ],
)
def test_what_was_not_on_the_unit_is_asked_for(trial: Trial, dress: str, lacking: list[str]) -> None:
    asked = trial((FULL, dress)).findings["dressed:unit"]
    assert asked.verdict is Verdict.OPEN
    every = ["starter", "filter", "manifolds", "belts", "shifter", "hoses", "pump"]
    assert [thing for thing in every if thing in asked.remedy.partition(": ")[2]] == lacking


def test_a_unit_of_which_nothing_is_said_was_not_dressed(trial: Trial) -> None:
    asked = trial((f"    dressed: {{{FULL}}}\n", "")).findings["dressed:unit"]
    assert asked.verdict is Verdict.OPEN and "starter" in asked.remedy and "hoses" in asked.remedy


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("", ["wheels, stands or", "aboard"]),
        (", measured on: wheels", ["aboard"]),
        (", measured on: stands, aboard: nothing", ["settling"]),
    ],
)
def test_how_the_vehicle_stood_is_asked_for(trial: Trial, state: str, words: list[str]) -> None:
    asked = trial((", measured on: wheels, aboard: driver", state)).findings["ride-height:vehicle"]
    assert asked.verdict is Verdict.OPEN and all(word in asked.remedy for word in words)


STANDS = ", measured on: stands, aboard: driver, settling: {down: 60 mm, nose down: 2 deg, left up: 1 deg}"


def test_level_counts_at_ride_height_not_on_stands(trial: Trial) -> None:
    """Once the vehicle has come down, the crank and the flange axis are level in the world."""
    found = trial((", measured on: wheels, aboard: driver", STANDS), LOW)
    settled = rotation_from_angles(turned_left=0.0, nose_down=np.radians(2.0), left_up=np.radians(1.0))
    world = settled @ found.placed["unit"].pose.rotation
    assert abs(world[2, 0]) < 1e-9 and abs(world[2, 1]) < 1e-9
    assert found.findings["ride-height:vehicle"].verdict is Verdict.HOLDS


def test_the_floor_comes_nearer_when_the_vehicle_settles(trial: Trial) -> None:
    """Seen from the road: every corner of the sump in the settled vehicle, by hand."""
    found = trial((", measured on: wheels, aboard: driver", STANDS), LOW)
    settled = rotation_from_angles(turned_left=0.0, nose_down=np.radians(2.0), left_up=np.radians(1.0))
    corners = [[x, y, z] for x in (-0.1, 0.1) for y in (-0.1, 0.1) for z in (-0.18, -0.13)]
    placed = found.placed["unit"].pose.apply(np.array(corners))
    # the origin stood on the floor's level; it comes 60 mm nearer along the settled upright
    above = (settled @ placed.T).T[:, 2] - 0.060 * settled[2, 2]
    gap = found.findings["pose-limit:unit.gap of sump to ground"]
    assert gap.capacity == pytest.approx(above.min(), abs=1e-9)


def test_a_plane_is_asked_about_when_the_vehicle_was_on_stands(trial: Trial) -> None:
    on_stands = (", measured on: wheels, aboard: driver", ", measured on: stands, aboard: driver")
    asked = trial(on_stands).findings["pose-limit:unit.gap to ground"]
    assert asked.verdict is Verdict.OPEN and "settling" in asked.remedy
    asked = trial(on_stands, (", faces: up, of: floor", ", faces: up")).findings[
        "pose-limit:unit.gap to ground"
    ]
    assert asked.verdict is Verdict.OPEN and "of the floor" in asked.remedy


# ---- other ways to ask


def test_a_point_on_a_line_and_a_flange_aimed_at_a_hub(trial: Trial) -> None:
    lines = (
        "      - {point: output, on line: [P, Q], within: 1 mm}\n"
        "      - {flange: flange_left, axis: flange axis, in line with: HUB, within: 1 mm}\n"
    )
    found = trial((WANTED_POINT, lines), LOW, (HEADING, ""))
    pose = found.placed["unit"].pose
    assert pose.apply(np.array([-0.3, 0, 0]))[1:] == pytest.approx([0.0, 0.3], abs=1e-9)
    hub = np.array([0.0, 0.7, 0.3]) - pose.apply(np.array([0, 0.215, 0]))
    assert np.cross(pose.turn(np.array([0.0, 1, 0])), hub) == pytest.approx([0, 0, 0], abs=1e-9)


def test_a_flange_in_line_with_a_shaft_that_is_there(trial: Trial) -> None:
    """As in a boat: the crank continues the line of the stern tube, in place and in direction."""
    shaft = (
        "  C2: {at: [1800 mm aft, 0 mm left, 268 mm up]}",
        "  C2: {at: [1800 mm aft, 20 mm right, 228 mm up]}",
    )
    line = (
        "      - {flange: output, axis: crank, in line with: [C1, C2], within: 0.1 mm,"
        " angle within: 0.01 deg}\n"
        "      - {point: output, at: [300 mm aft], within: 1 mm}\n"
    )
    found = trial(shaft, (WANTED_POINT, line), (CRANK, ""), (HEADING, ""))
    run = np.array([-0.5, -0.02, -0.04])
    pose = found.placed["unit"].pose
    assert np.cross(pose.rotation[:, 0], run) == pytest.approx([0, 0, 0], abs=1e-9)
    away = pose.apply(np.array([-0.3, 0, 0])) - np.array([-1.3, 0, 0.268])
    assert np.cross(away, run) == pytest.approx([0, 0, 0], abs=1e-9)
    assert pose.rotation[0, 0] > 0.99  # it did not turn round to look the other way


def test_a_height_that_must_be_kept_above_a_plane(trial: Trial) -> None:
    kept = WANTED_POINT + "      - {point: a, height: at least 205 mm, above: ground}\n"
    found = trial((WANTED_POINT, kept))
    low = found.findings["pose-limit:unit.height of a above ground"]
    assert low.verdict is Verdict.HOLDS and low.caution == "nothing is left to it"
    assert found.placed["unit"].points["a"][2] == pytest.approx(0.205, abs=1e-6)
    high = trial((WANTED_POINT, WANTED_POINT + "      - {point: a, height: at most 195 mm}\n"))
    assert high.placed["unit"].points["a"][2] == pytest.approx(0.195, abs=1e-6)


def test_a_slope_kept_between_two(trial: Trial) -> None:
    found = trial(LOW, (CRANK, "      - {level: crank, between: [1 deg nose down, 4 deg nose down]}\n"))
    crank = found.placed["unit"].pose.rotation[:, 0]
    assert -4.0 <= np.degrees(np.arcsin(crank[2])) <= -1.0
    assert found.findings["pose-limit:unit.slope of crank"].verdict is Verdict.HOLDS


def test_a_plane_through_three_points_is_free_where_the_unit_hangs(trial: Trial) -> None:
    points = (
        "  C1:",
        "  F1: {at: [1 m, 1 m, 0 mm]}\n  F2: {at: [1 m, -1 m, 0 mm]}\n  F3: {at: [-1 m, 0 mm, 0 mm]}\n  C1:",
    )
    plane = (
        "  ground: {at: [0 mm, 0 mm, 0 mm], faces: up, of: floor}",
        "  ground: {through: [F1, F2, F3], of: floor}",
    )
    found = trial(points, plane)
    assert found.findings["pose-limit:unit.gap of sump to ground"].capacity == pytest.approx(0.12, abs=1e-9)


def test_a_scan_is_not_passed_over(edited: Callable[..., str], tmp_path: Path) -> None:
    """A gap to a scan cannot be solved for: it stays open, it is not left out."""
    (tmp_path / "bay.stl").write_bytes(b"")
    text = edited(("  rails:\n    shapes:\n", "  rails:\n    shapes:\n      - {scan: bay.stl, unit: mm}\n"))
    job = load_text(text, tmp_path)
    from soapstone.place.findings_seat import seat_findings
    from soapstone.place.placed import place_bodies
    from soapstone.survey import adjust
    from soapstone.survey.of_job import network_of

    found = {f.id: f for f in seat_findings(place_bodies(job, adjust(network_of(job))), [])}
    asked = found["pose-limit:unit.gap of rails 1 (rails)"]
    assert asked.verdict is Verdict.OPEN and "box round it" in asked.remedy


def test_a_body_without_envelope_is_asked_for_one(trial: Trial, unit_text: str) -> None:
    envelope = unit_text[unit_text.index("    envelope:\n") : unit_text.index("place:\n")]
    asked = trial((envelope, "")).findings["pose-limit:unit.gap to rails"]
    assert asked.verdict is Verdict.OPEN and "envelope" in asked.remedy


# ---- free play and screws


def test_free_play_ends_at_the_limit_by_hand(trial: Trial) -> None:
    """Down: the sump stands 120 mm over the ground, 110 mm are kept."""
    seat = trial(("      - {clear: all, at least: 15 mm}\n", "      - {clear: all, at least: 110 mm}\n")).seat
    plays = {play.name: play for play in seat.plays}
    assert plays["up, down"].back == pytest.approx(0.010, abs=1e-6)
    assert plays["up, down"].stopped_back == "gap of sump to ground"
    assert plays["left, right"].ahead == pytest.approx(0.025, abs=1e-6)  # 285 - 150 - 110
    assert plays["left, right"].stopped_ahead == "gap of casing to rails 1"
    assert plays["forward, aft"].ahead == 0.05 and plays["forward, aft"].stopped_ahead == ""
    near = {play.name: play for play in seat.near_enough}
    assert near["forward, aft"].back == pytest.approx(0.003, abs=1e-6)
    assert near["nose down, up"].ahead == pytest.approx(np.radians(0.1), rel=1e-4)


def test_free_play_looks_as_far_as_the_job_says(trial: Trial) -> None:
    look = ("    wanted:\n", "    free play: {shift: 5 mm, turn: 1 deg}\n    wanted:\n")
    assert trial(look).seat.plays[0].ahead == pytest.approx(0.005)


def test_the_screws_turn_as_far_as_their_points_rise(trial: Trial) -> None:
    found = trial()
    jacks = found.findings["jacks:unit"]
    steps = {step.symbol: step.value for step in jacks.because}
    seat, own = found.seat, found.job.bodies["unit"].points
    for number, (point, pitch) in enumerate((("a", 0.002), ("b", 0.002), ("c", 0.00175)), 1):
        rise = (seat.answer.pose.apply(np.array(own[point])) - seat.now.apply(np.array(own[point])))[2]
        assert steps[f"t_{number}"] == pytest.approx(abs(rise) / pitch, rel=1e-9)
    words = {step.symbol: step.words for step in jacks.because}
    assert "clockwise" in words["t_1"] and "counter-clockwise" in words["t_3"]
    assert "shift it 20.0 mm forward by hand" in jacks.caution
    assert jacks.assumed and jacks.assumed[0].startswith("front left: a turn clockwise lifts")


def test_a_jack_without_a_thread_tells_the_way_alone(trial: Trial) -> None:
    jacks = trial(("rear: {point: c, pitch: 1.75 mm, raises: counter-clockwise}", "rear: {point: c}"))
    steps = {step.symbol for step in jacks.findings["jacks:unit"].because}
    assert "h_3" in steps and "t_3" not in steps and "t_2" in steps


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (("    rear: {point: c, pitch: 1.75 mm, raises: counter-clockwise}\n", ""), "2 screws tips over"),
        (("rear: {point: c,", "rear: {point: middle,"), "in one line"),
    ],
)
def test_screws_that_cannot_hold_it(trial: Trial, edit: tuple[str, str], words: str) -> None:
    point = (
        "      c: [200 mm aft",
        "      middle: [200 mm fwd, 0 mm left, 100 mm down]\n      c: [200 mm aft",
    )
    asked = trial(point, edit).findings["jacks:unit"]
    assert asked.verdict is Verdict.OPEN and words in asked.remedy


def test_jacks_want_to_know_where_to(trial: Trial, unit_text: str) -> None:
    wanted = unit_text[unit_text.index("    wanted:\n") : unit_text.index("jacks:\n")]
    asked = trial((wanted, "")).findings["jacks:unit"]
    assert asked.verdict is Verdict.OPEN and "what is wanted" in asked.remedy
