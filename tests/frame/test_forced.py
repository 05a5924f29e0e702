"""Moved supports, warmth, and ends that do not meet their joints. Closed forms; exact elements, so 1e-9."""

from dataclasses import replace

import numpy as np
import pytest
from frame_kit import STEEL, make_frame, make_loads, random_frame, worst

from soapstone.errors import GeometryError
from soapstone.frame import (
    Loads,
    Release,
    balance,
    member_displacements,
    member_forces,
    pull_in,
    refine,
    solve,
)

X, Y, Z = np.eye(3)
EI, EA = STEEL["elastic_modulus"] * 1.79e-7, STEEL["elastic_modulus"] * 4.75e-4
CLAMPED = {"A": "xyzXYZ", "B": "xyzXYZ"}


def beam(held, **given):
    return make_frame({"A": (0, 0, 0), "B": (2, 0, 0)}, {"beam": ("A", "B")}, held, **given)


def none(frame):
    return Loads.none(frame, ["case"])


def test_clamped_beam_with_a_sunk_support():
    frame = beam(CLAMPED)
    loads = none(frame).with_settlement(1, (0, 0, -0.01, 0, 0, 0))
    solution = solve(frame, loads)
    # 12 EI d / L³ and 6 EI d / L² (beam tables, from memory).
    assert solution.reactions[0, 1, 2] == pytest.approx(-12 * EI * 0.01 / 8, rel=1e-9)
    assert solution.reactions[0, 1, 4] == pytest.approx(-6 * EI * 0.01 / 4, rel=1e-9)
    assert solution.displacements[0, 1, 2] == -0.01
    middle = member_displacements(frame, loads, solution, 3)[0, 0, 1]
    assert middle[2] == pytest.approx(-0.005, rel=1e-9)
    assert balance(frame, loads, solution).relative < 1e-12


def test_a_sunk_support_of_a_determinate_beam_asks_for_nothing():
    frame = beam({"A": "xyzX", "B": "yz"})
    solution = solve(frame, none(frame).with_settlement(1, (0, 0.002, -0.01, 0, 0, 0)))
    assert np.abs(solution.end_forces).max() < 1e-6 * 12 * EI * 0.01 / 8
    assert solution.displacements[0, 0, 4] == pytest.approx(0.005, rel=1e-9)


def test_moving_a_joint_that_is_not_held_is_refused():
    frame = beam({"A": "xyzXYZ"})
    with pytest.raises(GeometryError, match="joint B is moved in a direction in which it is not held; hold"):
        solve(frame, none(frame).with_settlement(1, (0, 0, -0.01, 0, 0, 0)))


def test_warm_bar_between_walls():
    frame = beam(CLAMPED)
    loads = none(frame).with_temperature([1.2e-5], [[100.0]])
    solution = solve(frame, loads)
    assert member_forces(frame, loads, solution, 3)[1][0, 0, :, 0] == pytest.approx(-EA * 1.2e-3, rel=1e-9)
    assert np.abs(member_displacements(frame, loads, solution, 5)).max() < 1e-15


def test_warm_bar_free_to_grow():
    frame = beam({"A": "xyzXYZ"})
    loads = none(frame).with_temperature([1.2e-5], [[100.0]], [[[30.0, 2000.0]]])
    solution = solve(frame, loads)
    assert np.abs(solution.end_forces).max() < 1e-9 * EA * 1.2e-3
    tip = solution.displacements[0, 1]
    # Curvature alpha dT/dz lifts its warm top away: the tip drops by kappa L² / 2 (and for y to the right).
    assert tip[0] == pytest.approx(2.4e-3, rel=1e-9)
    assert tip[2] == pytest.approx(-1.2e-5 * 2000 * 2, rel=1e-9)
    assert tip[1] == pytest.approx(-1.2e-5 * 30 * 2, rel=1e-9)
    along = member_displacements(frame, loads, solution, 3)[0, 0]
    assert worst(along[2], tip) < 1e-12
    assert along[1, 2] == pytest.approx(tip[2] / 4, rel=1e-9)


def test_bar_warm_on_one_side_between_walls():
    frame = beam(CLAMPED)
    loads = none(frame).with_temperature([1.2e-5], [[0.0]], [[[0.0, 2000.0]]])
    solution = solve(frame, loads)
    forces = member_forces(frame, loads, solution, 3)[1][0, 0]
    # M = -EI alpha dT/h all along (the warm top is pressed), and no curvature.
    assert forces[:, 4] == pytest.approx(-EI * 0.024, rel=1e-9)
    assert np.abs(member_displacements(frame, loads, solution, 5)[..., 2]).max() < 1e-15


@pytest.mark.parametrize(("area", "thrust", "moment"), [(1e4, 2880.0, 1440.0), (1e-2, 2876.5481, 1438.2741)])
def test_warm_corner(area, thrust, moment):
    # Two clamped legs of 1 m, 100 K: 12 EI alpha dT / L² and 6 EI alpha dT / L, less what the legs give.
    nodes = {"A": (0, 0, 0), "B": (1, 0, 0), "C": (1, 0, 1)}
    held = {"A": "xyzXYZ", "C": "xyzXYZ"}
    properties = {"elastic_modulus": 2e11, "area": area, "second_moment_y": 1e-6}
    frame = make_frame(nodes, {"AB": ("A", "B"), "BC": ("B", "C")}, held, **properties)
    foot = solve(frame, none(frame).with_temperature([1.2e-5] * 2, [[100.0] * 2])).reactions[0, 0]
    # Four decimals printed, half a unit is 4e-8; the stiff legs still give by 1e-9.
    assert abs(foot[0]) == pytest.approx(thrust, rel=5e-8)
    assert abs(foot[4]) == pytest.approx(moment, rel=5e-8)


@pytest.mark.parametrize("released", [True, False])
def test_hole_pulled_into_line(released):
    """A clamped tube whose far hole lies 3 mm to the left of its bolt."""
    releases = [Release(0, 1, axis) for axis in (X, Y, Z)] if released else []
    frame = beam(CLAMPED, releases=releases)
    pull = pull_in(frame, 0, 1, (0, 0.003, 0, 0, 0, 0))
    # Cantilever 3 EI d / L³ pinned, 12 EI d / L³ where the end may not turn.
    stiffness = (3 if released else 12) * EI / 8
    assert pull.force == pytest.approx([0, -stiffness * 0.003, 0], rel=1e-9, abs=1e-9)
    assert pull.work == pytest.approx(stiffness * 0.003**2 / 2, rel=1e-9)
    moment = -stiffness * 0.003 * 2 / (1 if released else 2)
    assert pull.solution.reactions[0, 0, 5] == pytest.approx(-moment, rel=1e-9)
    # Nothing acts from outside: what stays behind balances itself.
    assert np.abs(pull.solution.reactions[0, :, :3].sum(axis=0)).max() < 1e-9
    along = member_displacements(frame, pull.loads, pull.solution, [0.0, 1.0])
    assert along[0, 0, 1, 1] == pytest.approx(-0.003, rel=1e-9)
    assert abs(along[0, 0, 0, 1]) < 1e-15


def test_a_gap_at_the_start_bends_like_one_at_the_end():
    frame = beam(CLAMPED)
    start = pull_in(frame, 0, 0, (0, 0, 0.002, 0, 0, 0))
    end = pull_in(frame, 0, 1, (0, 0, -0.002, 0, 0, 0))
    assert worst(start.solution.end_forces, end.solution.end_forces) < 1e-12
    along = member_displacements(frame, start.loads, start.solution, [0.0, 1.0])[0, 0, :, 2]
    assert along == pytest.approx([-0.002, 0.0], abs=1e-15)


def test_gap_along_a_free_direction_asks_for_nothing():
    frame = beam(CLAMPED, releases=[Release(0, 1, X, "translation")])
    assert np.abs(pull_in(frame, 0, 1, (0.01, 0, 0, 0, 0, 0)).solution.end_forces).max() < 1e-6


def test_a_member_cut_in_pieces_answers_alike():
    """Every kind of load goes through `refine`; the elements are exact, so nothing may change."""
    frame, loads = random_frame(5, arms=True, cases=2)
    rng = np.random.default_rng(5)
    frame = replace(frame, releases=(Release(2, 0, rng.standard_normal(3)), Release(3, 1, Y)))
    loads = loads.with_settlement(0, rng.uniform(-1e-3, 1e-3, 6))
    loads = loads.with_misfit(1, 0, rng.uniform(-1e-3, 1e-3, 6)).with_misfit(
        3, 1, rng.uniform(-1e-3, 1e-3, 6)
    )
    m = len(frame.ends)
    loads = loads.with_temperature(np.full(m, 1.2e-5), np.full((2, m), 40.0), rng.uniform(0, 500, (2, m, 2)))
    cut = refine(frame, loads, 3)
    whole, pieces = solve(frame, loads), solve(cut.frame, cut.loads)
    n = len(frame.nodes)
    # Condition near 1e6.
    assert worst(pieces.displacements[:, :n], whole.displacements) < 1e-9
    assert worst(pieces.reactions[:, :n], whole.reactions) < 1e-9
    along = member_displacements(frame, loads, whole, 4)
    inside = np.array([[cut.along(i)[1:3] for i in range(m)]])[0]
    assert worst(pieces.displacements[:, inside], along[:, :, 1:3]) < 1e-9
    assert cut.frame.member_names[3:6] == ("tube_1 piece 1", "tube_1 piece 2", "tube_1 piece 3")
    assert refine(frame, loads, 1).frame is frame
    with pytest.raises(GeometryError, match="less than one piece"):
        refine(frame, loads, 0)


def test_one_case_by_itself():
    frame, loads = random_frame(3)
    alone = solve(frame, loads.with_settlement(0, np.arange(18.0).reshape(3, 6) * 1e-4).case(1))
    everything = solve(frame, loads.with_settlement(0, np.arange(18.0).reshape(3, 6) * 1e-4))
    assert worst(alone.displacements[0], everything.displacements[1]) < 1e-10


def test_loads_of_the_wrong_shape_are_refused():
    frame = beam(CLAMPED)
    loads = make_loads(frame)
    with pytest.raises(GeometryError, match="settled loads are not given for each of the 1 cases"):
        replace(loads, settled=np.zeros((2, 2, 6)))
    with pytest.raises(GeometryError, match="strain loads hold something that is no number"):
        replace(loads, strain=np.full((1, 1, 3), np.inf))
