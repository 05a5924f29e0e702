"""The best shift of a rigid part: closed answers, a general conic solver, what holds for every pattern."""

import itertools

import clarabel
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import sparse

from soapstone.fit.shift import Gates, best_shift

RECTANGLE = np.array([[0.2, 0.15], [0.2, -0.15], [-0.2, 0.15], [-0.2, -0.15]])


def plane_gates(places, room):
    moves = np.array([[[1.0, 0.0, -y], [0.0, 1.0, x]] for x, y in places])
    return Gates(moves, np.broadcast_to(room, len(places)).astype(float))


def by_clarabel(gates, errors):
    """Least worst miss by a general conic solver, in millimetres inside and metres outside."""
    m, _, d = gates.moves.shape
    rows = np.zeros((3 * m, d + 1))
    for i in range(m):
        rows[3 * i, d] = -1.0
        rows[3 * i + 1 : 3 * i + 3, :d] = gates.moves[i]
    goal = np.append(np.zeros(d), 1.0)
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-11
    cones = [clarabel.SecondOrderConeT(3)] * m
    empty = sparse.csc_matrix((d + 1, d + 1))
    right = np.column_stack([gates.room, errors]).ravel() * 1e3
    solver = clarabel.DefaultSolver(empty, goal, sparse.csc_matrix(rows), right, cones, settings)
    return solver.solve().x[d] * 1e-3


def test_two_holes_along_their_pitch_are_missed_by_half_of_what_the_room_cannot_swallow():
    """M10 in 11 mm holes swallow 2 mm of pitch where both parts have clearance, 1 mm where one is tapped.

    The floating and fixed fastener formulas of ASME Y14.5 (appendix B): H = F + T and H = F + 2 T.
    """
    pair = np.array([[0.0, 0.0], [0.3, 0.0]])
    for hole, clear_parts, pitch in ((0.011, 2, 0.002), (0.011, 1, 0.001)):
        room = clear_parts * (hole - 0.010) / 2.0
        errors = np.array([[[-pitch / 2, 0.0], [pitch / 2, 0.0]], [[-pitch, 0.0], [pitch, 0.0]]])
        miss = best_shift(plane_gates(pair, room), errors).miss
        assert miss == pytest.approx([0.0, pitch / 2], abs=1e-8 * pitch)


@pytest.mark.parametrize("tolerance", [0.0004, 0.0011])
def test_holes_within_the_fastener_formulas_always_go_in(tolerance):
    """ASME Y14.5, appendix B: with H = F + T each axis may be anywhere in a zone of diameter T."""
    random = np.random.default_rng(3)
    angle, size = random.uniform(0.0, 2 * np.pi, (2, 500, 4)), tolerance / 2.0
    zones = size * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    miss = best_shift(plane_gates(RECTANGLE, tolerance), zones[0] - zones[1]).miss
    assert miss.max() <= 0.0
    assert miss.max() > -0.6 * tolerance


def test_a_planar_pattern_agrees_with_a_conic_solver_try_by_try():
    errors = np.random.default_rng(0).normal(0.0, 1e-3, (400, 4, 2))
    gates = plane_gates(RECTANGLE, 5e-4)
    ours = best_shift(gates, errors).miss
    theirs = [by_clarabel(gates, one) for one in errors]
    # 1e-6 mm: a millionth of the errors' own size
    assert np.abs(ours - theirs).max() < 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_patterns_in_space_agree_with_a_conic_solver(seed):
    random = np.random.default_rng(seed)
    m = int(random.integers(5, 9))
    moves = random.normal(size=(m, 2, 6))
    moves[::3, 1] = 0.0
    errors = random.normal(0.0, 1e-3, (25, m, 2))
    errors[:, ::3, 1] = 0.0
    gates = Gates(moves, np.abs(random.normal(0.0, 1e-3, m)))
    ours = best_shift(gates, errors)
    assert np.abs(ours.miss - [by_clarabel(gates, one) for one in errors]).max() < 1e-9


def test_the_shift_given_reaches_the_miss_given_and_the_shares_prove_that_none_is_less():
    errors = np.random.default_rng(5).normal(0.0, 1e-3, (1000, 4, 2))
    gates = plane_gates(RECTANGLE, np.array([3e-4, 5e-4, 4e-4, 6e-4]))
    found = best_shift(gates, errors)
    off = errors - np.einsum("mkd,nd->nmk", gates.moves, found.shift)
    assert np.abs((np.linalg.norm(off, axis=2) - gates.room).max(1) - found.miss).max() < 1e-10
    assert found.share.min() >= 0.0
    assert np.abs(found.share.sum(1) - 1.0).max() < 1e-6


def test_pairs_alone_bound_the_miss_from_below():
    errors = np.random.default_rng(6).normal(0.0, 1e-3, (500, 4, 2))
    miss = best_shift(plane_gates(RECTANGLE, 0.0), errors).miss
    for i, j in itertools.combinations(range(4), 2):
        along = (RECTANGLE[i] - RECTANGLE[j]) / np.linalg.norm(RECTANGLE[i] - RECTANGLE[j])
        assert (miss >= np.abs((errors[:, i] - errors[:, j]) @ along) / 2.0 - 1e-10).all()


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10**6), st.floats(-0.01, 0.01), st.floats(-0.01, 0.01), st.floats(-0.01, 0.01))
def test_shifting_the_whole_part_first_changes_nothing(seed, dx, dy, turn):
    errors = np.random.default_rng(seed).normal(0.0, 1e-3, (5, 4, 2))
    gates = plane_gates(RECTANGLE, 5e-4)
    moved = errors + np.einsum("mkd,d->mk", gates.moves, [dx, dy, turn])
    # 1e-8 of the greatest error (the solver's own closeness) is 2e-10 m
    assert best_shift(gates, moved).miss == pytest.approx(best_shift(gates, errors).miss, abs=3e-10)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10**6), st.floats(1e-5, 5e-3))
def test_wider_holes_lessen_the_miss_by_what_they_are_wider(seed, more):
    errors = np.random.default_rng(seed).normal(0.0, 1e-3, (5, 4, 2))
    narrow = best_shift(plane_gates(RECTANGLE, 5e-4), errors).miss
    wide = best_shift(plane_gates(RECTANGLE, 5e-4 + more), errors).miss
    assert wide == pytest.approx(narrow - more, abs=1e-10)


def test_perfect_holes_are_missed_by_less_than_nothing():
    miss = best_shift(plane_gates(RECTANGLE, 5e-4), np.zeros((3, 4, 2))).miss
    assert miss == pytest.approx(-5e-4, abs=1e-8)


def test_one_hole_is_always_met():
    miss = best_shift(plane_gates(RECTANGLE[:1], 5e-4), np.full((2, 1, 2), 0.02)).miss
    assert miss == pytest.approx(-5e-4, abs=1e-8)
