"""Pose as a solve: targets met, limits that hold or fight, what is left free and how far it plays."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from soapstone.place.freedom import fighting, free_play, still_free, twist_words
from soapstone.place.measures import UP, Clearance, Heading, Height, OffAxis, OffLine, OutOfLine, Slope
from soapstone.place.pose import Pose, rotation_from_angles, rotation_from_vector
from soapstone.place.shapes import Box, Cylinder, HalfSpace
from soapstone.place.solve import Answer, Limit, Problem, Target, keep_limits, moved, solve_pose

BODY = Box(np.zeros(3), np.array([0.6, 0.5, 0.4]), np.eye(3))
CRANK, FLANGE = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
START = Pose(rotation_from_vector(np.array([0.05, 0.1, -0.08])), np.array([0.1, 0.05, 0.5]))
DEG = np.radians(1.0)

FLANGE_LEVEL = Target(Slope("flange axis level", FLANGE), np.zeros(1), 0.1 * DEG)
CRANK_DOWN = Target(Slope("crank", CRANK), np.array([-3 * DEG]), 0.1 * DEG)
HEIGHT = Target(Height("flange height", np.array([0.1, 0.25, 0.0]), UP), np.array([0.3]), 0.003)
GROUND = Limit(Clearance("ground", BODY, HalfSpace(UP, 0.0)), least=0.12)
RAIL_BOX = Box(np.array([0.0, 0.6, 0.3]), np.array([2.0, 0.1, 0.1]), np.eye(3))
RAIL = Limit(Clearance("left rail", BODY, RAIL_BOX), least=0.015)
BONNET = Limit(Clearance("bonnet", BODY, HalfSpace(-UP, -0.53)), least=0.012)


def problem(*parts: Target | Limit) -> Problem:
    targets = tuple(part for part in parts if isinstance(part, Target))
    limits = tuple(part for part in parts if isinstance(part, Limit))
    return Problem(START, np.zeros(3), 0.5, targets, limits)


def off(answer: Answer) -> np.ndarray:
    return np.concatenate([miss.off for miss in answer.misses])


def test_a_full_set_of_targets_is_met() -> None:
    """Six wants for six freedoms, none against another: every miss vanishes to rounding."""
    hub = np.array([0.2, 0.75, 0.42])
    answer = solve_pose(
        problem(
            FLANGE_LEVEL,
            CRANK_DOWN,
            Target(OffAxis("hub", np.array([0.1, 0.25, 0.0]), FLANGE, hub), np.zeros(2), 0.003),
            Target(Heading("crank ahead", CRANK, np.array([1.0, 0, 0])), np.zeros(1), 0.1 * DEG),
            Target(Height("gearbox off the centre", np.zeros(3), FLANGE), np.array([0.02]), 0.003),
        )
    )
    assert answer.possible and all(miss.met for miss in answer.misses)
    assert np.abs(off(answer)).max() < 1e-12
    expected = rotation_from_angles(turned_left=0.0, nose_down=3 * DEG, left_up=0.0)
    assert np.allclose(answer.pose.rotation, expected, atol=1e-11)
    at = answer.pose.apply(np.array([0.1, 0.25, 0.0]))
    assert at[[0, 2]] == pytest.approx(hub[[0, 2]], abs=1e-11)


def test_a_limit_holds_the_targets_back() -> None:
    """Want the flange at 300 mm, but the ground keeps the unit up: the ground is touched, not broken."""
    answer = solve_pose(problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT, GROUND, RAIL))
    assert answer.possible and answer.rooms[0].touched and not answer.rooms[1].touched
    assert answer.rooms[0].pressure > 0.0 and answer.rooms[1].pressure == 0.0
    assert not answer.misses[2].met and answer.misses[0].met
    assert answer.stationarity < 1e-8  # relative slope left over, from rounding alone


def test_the_answer_is_the_least_of_all_that_keep_the_limits() -> None:
    """A general minimiser with penalties, started near the answer, finds nothing lower."""
    setting = problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT, GROUND, RAIL)
    answer = solve_pose(setting)
    pivot = setting.pivot

    def cost(step: np.ndarray) -> float:
        pose = moved(answer.pose, pivot, step[:3], step[3:] / setting.size)
        at = pose.apply(pivot)
        square = sum(
            float(np.sum(((t.measure.of(pose, at).value - t.wanted) / t.within) ** 2))
            for t in setting.targets
        )
        rooms = [float((lim.measure.of(pose, at).value - lim.least).min()) for lim in setting.limits]
        return square + 1e7 * sum(max(0.0, -room) for room in rooms)

    best = cost(np.zeros(6))
    away = 0.01 * np.random.default_rng(5).normal(size=6)
    tried = minimize(cost, away, method="Nelder-Mead", options={"maxiter": 1200})
    assert tried.fun > best - 1e-3 * best - 1e-6  # the penalty lets limits slip by its own rounding


def test_two_limits_that_fight_are_named() -> None:
    """A unit 400 mm high needs 120 below and 12 above; 530 mm leave it 2 mm short: ground against bonnet."""
    stuck = problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT, RAIL, GROUND, BONNET)
    answer = solve_pose(stuck)
    assert not answer.possible
    assert {limit.measure.name for limit in fighting(stuck)} == {"ground", "bonnet"}
    enough = replace(stuck, limits=(RAIL, GROUND, replace(BONNET, least=0.0099)))
    assert solve_pose(enough).possible and fighting(enough) == ()


def test_three_limits_can_fight_though_no_two_do() -> None:
    """A point at least 1 off each of three planes of a triangle that is too small for it."""
    ways = [np.array([np.cos(a), np.sin(a), 0.0]) for a in np.radians([90.0, 210.0, 330.0])]
    limits = [Limit(Height(f"plane {i}", np.zeros(3), way), least=0.1) for i, way in enumerate(ways)]
    found = fighting(problem(*limits, GROUND))
    assert {limit.measure.name for limit in found} == {"plane 0", "plane 1", "plane 2"}


def test_a_limit_past_a_wall_is_found_from_poses_around() -> None:
    """Start wholly inside an obstacle; the least way out is taken and no limit stays broken."""
    block = Box(START.origin + np.array([0.1, 0, 0]), np.full(3, 0.5), np.eye(3))
    inside = Limit(Clearance("block", BODY, block), least=0.01)
    answer = solve_pose(problem(inside, GROUND))
    assert answer.possible and answer.rooms[0].room > -1e-7


def test_no_limits_no_targets() -> None:
    setting = problem()
    assert np.allclose(keep_limits(setting).rotation, START.rotation)
    answer = solve_pose(setting)
    assert np.allclose(answer.pose.origin, START.origin) and len(still_free(setting, answer)) == 6
    assert {play.ahead for play in free_play(setting, START, shift=0.1, turn=0.1)} == {0.1}


def test_what_nothing_settles_is_said() -> None:
    """Level both ways and at a height: plan place and heading are left, and stay where they were."""
    setting = problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT)
    answer = solve_pose(setting)
    words = [freedom.words for freedom in still_free(setting, answer)]
    assert len(words) == 3
    assert words[0] == "it can be shifted fore and aft" and words[1] == "it can be shifted side to side"
    assert words[2].startswith("it can be turned about a line running up and down")
    assert answer.pose.origin[:2] == pytest.approx(START.origin[:2], abs=5e-3)


def test_a_face_on_the_ground_is_held_level_by_it() -> None:
    """Nothing asks for level, but all four corners touch: plan place and heading are all that is left."""
    low = Target(Height("centre", np.zeros(3), UP), np.array([0.3]), 0.003)
    setting = replace(problem(low, GROUND), start=Pose(np.eye(3), np.array([0.0, 0.0, 0.5])))
    answer = solve_pose(setting)
    assert answer.rooms[0].touched and answer.pose.origin[2] == pytest.approx(0.32, abs=1e-6)
    words = [freedom.words for freedom in still_free(setting, answer)]
    assert [word.split(" ")[4] for word in words] == ["fore", "side", "about"]


def test_free_movements_change_no_target() -> None:
    setting = problem(
        FLANGE_LEVEL,
        Target(OffLine("nose on the line", np.array([0.3, 0, 0]), np.zeros(3), CRANK), np.zeros(2), 0.003),
    )
    answer = solve_pose(setting)
    free = still_free(setting, answer)
    assert len(free) == 3
    for freedom in free:
        step = 1e-5 * freedom.twist
        pose = moved(answer.pose, setting.pivot, step[:3], step[3:])
        for miss in answer.misses:
            now = miss.target.measure.of(pose, pose.apply(setting.pivot)).value - miss.target.wanted
            assert np.allclose(now, miss.off, atol=1e-9)  # second order in a step of 1e-5


def test_a_line_of_a_hub_leaves_turning_about_it() -> None:
    setting = problem(
        Target(OffAxis("hub", np.zeros(3), FLANGE, np.array([0.1, 0.8, 0.4])), np.zeros(2), 0.003),
        Target(OutOfLine("hub line", FLANGE, FLANGE), np.zeros(2), 0.1 * DEG),
        Target(Height("to the side", np.zeros(3), FLANGE), np.array([0.0]), 0.003),
    )
    answer = solve_pose(setting)
    (only,) = still_free(setting, answer)
    assert only.words == "it can be turned about a line running side to side through (100, 0, 400) mm"


def test_a_screw_movement_in_words() -> None:
    words = twist_words(np.array([0.0, 0.0, 0.09 / np.pi, 0.0, 0.0, 0.5]), np.zeros(3))
    assert (
        words == "it can be turned about a line running up and down through (0, 0, 0) mm, "
        "moving 1.00 mm along it per deg"
    )


def test_free_play_by_hand() -> None:
    """A level box between ground, a wall ahead and a pipe to the left: each way by plain arithmetic."""
    wall = Limit(Clearance("bulkhead", BODY, HalfSpace(-CRANK, -0.35)), least=0.01)
    pipe = Limit(
        Clearance("pipe", BODY, Cylinder(np.array([-2, 0.4, 0.3]), np.array([2, 0.4, 0.3]), 0.05)), least=0.02
    )
    lean = Limit(Slope("crank", CRANK), -2 * DEG, 2 * DEG)
    setting = replace(problem(GROUND, wall, pipe, lean), start=Pose(np.eye(3), np.array([0.0, 0.0, 0.34])))
    plays = {play.name: play for play in free_play(setting, setting.start, shift=0.1, turn=10 * DEG)}
    exact = 2e-7  # what a limit counts as kept within, and the halving
    ahead = plays["forward, aft"]
    assert ahead.ahead == pytest.approx(0.35 - 0.30 - 0.01, abs=exact) and ahead.stopped_ahead == "bulkhead"
    assert ahead.back == 0.1 and ahead.stopped_back == ""
    side = plays["left, right"]
    assert side.ahead == pytest.approx(0.4 - 0.05 - 0.25 - 0.02, abs=exact) and side.stopped_ahead == "pipe"
    height = plays["up, down"]
    assert height.back == pytest.approx(0.34 - 0.2 - 0.12, abs=exact) and height.stopped_back == "ground"
    pitch = plays["nose down, up"]
    assert pitch.ahead == pytest.approx(2 * DEG, abs=1e-6) and pitch.stopped_ahead == "crank"
    roll = plays["left side up, down"]
    # the low right edge: 0.25 sin a + 0.2 cos a = 0.22
    reach = np.hypot(0.25, 0.2)
    expected = np.arcsin(0.22 / reach) - np.arctan2(0.2, 0.25)
    assert roll.ahead == pytest.approx(expected, abs=1e-6) and roll.stopped_ahead == "ground"


def test_a_thin_bar_is_not_stepped_over() -> None:
    """Found to a millionth of the 2 m looked through."""
    bar = Limit(
        Clearance("wire", BODY, Cylinder(np.array([-2, 0.4, 0.34]), np.array([2, 0.4, 0.34]), 1e-4)),
        least=0.0,
    )
    setting = replace(problem(bar), start=Pose(np.eye(3), np.array([0.0, 0.0, 0.34])))
    side = next(p for p in free_play(setting, setting.start, shift=2.0, turn=0.1) if p.name == "left, right")
    assert side.ahead == pytest.approx(0.4 - 1e-4 - 0.25, abs=2e-6) and side.stopped_ahead == "wire"


@pytest.mark.parametrize("turn", [30.0, 140.0])
def test_a_turned_workshop_gives_the_turned_answer(turn: float) -> None:
    """Everything turned about the upright: heights, slopes and rooms stay, the pose turns along."""
    spin = rotation_from_angles(turned_left=np.radians(turn), nose_down=0.0, left_up=0.0)
    plain = solve_pose(problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT, GROUND, RAIL))
    rail = replace(RAIL, measure=Clearance("left rail", BODY, RAIL_BOX.moved(Pose(spin, np.zeros(3)))))
    setting = replace(
        problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT, GROUND, rail),
        start=Pose(spin @ START.rotation, spin @ START.origin),
    )
    turned = solve_pose(setting)
    assert np.allclose(turned.pose.rotation, spin @ plain.pose.rotation, atol=1e-7)
    assert np.allclose(turned.pose.origin, spin @ plain.pose.origin, atol=1e-7)


def test_a_mirrored_workshop_gives_the_mirrored_answer() -> None:
    """Left for right, rail and start too: the mirrored pose, with the flange axis seen from the other
    side.
    """
    mirror = np.diag([1.0, -1.0, 1.0])
    plain = solve_pose(problem(FLANGE_LEVEL, CRANK_DOWN, HEIGHT, GROUND, RAIL))
    rail = replace(
        RAIL, measure=Clearance("right rail", BODY, replace(RAIL_BOX, centre=mirror @ RAIL_BOX.centre))
    )
    height = replace(HEIGHT, measure=Height("flange height", np.array([0.1, -0.25, 0.0]), UP))
    setting = replace(
        problem(FLANGE_LEVEL, CRANK_DOWN, height, GROUND, rail),
        start=Pose(mirror @ START.rotation @ mirror, mirror @ START.origin),
    )
    mirrored = solve_pose(setting)
    assert np.allclose(mirrored.pose.rotation, mirror @ plain.pose.rotation @ mirror, atol=1e-7)
    assert np.allclose(mirrored.pose.origin, mirror @ plain.pose.origin, atol=1e-7)
