"""Forced movements, second order, buckling and modes by two reference libraries.

Sources: PyNiteFEA and openseespy. 1e-8 of the largest entry unless a line says why not.
"""

from dataclasses import replace

import numpy as np
import pytest
from frame_kit import make_frame, make_loads, random_frame, worst
from frame_peers import PyniteFrame, frequencies_by_openseespy
from scipy.linalg import eigh

from soapstone.frame import LumpedMass, buckling, modes, refine, second_order, solve
from soapstone.frame.assemble import assemble
from soapstone.frame.factor import factor
from soapstone.frame.geometric import axial_only, geometric_blocks
from soapstone.frame.solve import prepare, solve_prepared

AGREED = 1e-8


@pytest.mark.parametrize("seed", range(400, 405))
def test_pynite_agrees_on_moved_supports(seed):
    frame, loads = random_frame(seed, slim=True)
    movement = np.random.default_rng(seed).uniform(-5e-3, 5e-3, 6)
    peer = PyniteFrame(frame, loads)
    peer.settle(frame.node_names[0], movement.tolist())
    solution = solve(replace(frame, up=peer.up), loads.with_settlement(0, movement))
    moved, reactions, forces = peer.solve()
    assert worst(solution.displacements, moved) < AGREED
    assert worst(solution.reactions, reactions) < AGREED
    assert worst(solution.end_forces, forces) < AGREED


def pynite_extras(frame, axial):
    """What PyNite has beside ours (m, 12, 12): Green's strain, N / L of stretch and N Ip / (A L) of twist."""
    polar = (frame.second_moment_y + frame.second_moment_z) / frame.area
    pair = np.array([[1.0, -1.0], [-1.0, 1.0]])
    local = np.zeros((len(axial), 12, 12))
    for first, share in ((0, np.ones_like(polar)), (3, polar)):
        rows = np.array([first, first + 6])
        local[:, rows[:, None], rows] = (axial * share / frame.geometry.lengths)[:, None, None] * pair
    turn = np.kron(np.eye(4), np.ones((3, 3))) * np.tile(frame.geometry.axes, (1, 4, 4))
    return turn.transpose(0, 2, 1) @ local @ turn


def gathered(frame, blocks):
    n = len(frame.nodes)
    total = np.zeros((6 * n, 6 * n))
    for directions, block in zip(assemble(frame).directions, blocks, strict=True):
        total[np.ix_(directions, directions)] += block
    return total


@pytest.mark.parametrize("seed", range(420, 424))
def test_pynite_agrees_on_the_geometric_stiffness_of_axial_forces(seed):
    frame, loads = random_frame(seed, slim=True, cases=1)
    loads = replace(loads, line=0 * loads.line)
    peer = PyniteFrame(frame, loads)
    frame = replace(frame, up=peer.up)
    peer.solve()
    forces = solve(frame, loads).end_forces[0]
    blocks = geometric_blocks(frame, assemble(frame), *axial_only(forces, loads.line[0], frame.geometry.axes))
    found = gathered(frame, blocks + pynite_extras(frame, forces[:, 6]))
    assert worst(found, peer.geometric_stiffness()) < AGREED


@pytest.mark.parametrize("seed", range(440, 443))
def test_pynite_agrees_on_second_order(seed):
    """It stops after one round with the first-order axial forces; so does ours here.

    On wide areas, where the two terms of its own vanish; condition 1e9 leaves 1e-6, in its reactions 1e-5.
    """
    frame, loads = random_frame(seed, slim=True, cases=1)
    frame = replace(frame, area=1e4 * frame.area)
    loads = replace(loads, nodal=0.2 * loads.nodal, line=0 * loads.line)
    peer = PyniteFrame(frame, loads)
    frame = replace(frame, up=peer.up)
    moved, reactions, _ = peer.solve(second_order=True)
    prepared, first = prepare(frame, loads), solve(frame, loads)
    axial = axial_only(first.end_forces[0], loads.line[0], frame.geometry.axes)
    stress = geometric_blocks(frame, prepared.system, *axial)
    firm = prepared.system.stiffened(frame.ends, stress)
    one_round = solve_prepared(frame, replace(prepared, factored=factor(firm)), loads, stress)
    assert worst(one_round.displacements, moved) < 1e-6
    assert worst(one_round.reactions, reactions) < 1e-5
    # What second order does at all is well above that, and the further rounds change little.
    assert worst(first.displacements, moved) > 1e-3
    assert worst(second_order(frame, loads).displacements, moved) < 1e-4


def test_pynite_agrees_on_the_buckling_of_a_portal():
    """Its stiffness and geometric stiffness in an eigenvalue solver, on the same mesh."""
    nodes = {"A": (0, 0, 0), "B": (0, 0, 1), "C": (1.2, 0, 1), "D": (1.2, 0, 0)}
    members = {"left": ("A", "B"), "beam": ("B", "C"), "right": ("C", "D")}
    whole = make_frame(nodes, members, {"A": "xyzXYZ", "D": "xyzXYZ"}, second_moment_y=3e-7, area=10.0)
    push = make_loads(whole, nodal=dict.fromkeys("BC", (0, 0, -1e3, 0, 0, 0)))
    cut = refine(whole, push, 3)
    peer = PyniteFrame(cut.frame, cut.loads)
    peer.solve()
    model, free = peer.model, ~cut.frame.held.ravel()
    stiffness = np.asarray(model.Ke("case", sparse=False), dtype=float)
    against = -np.asarray(peer.geometric_stiffness(), dtype=float)
    mu = eigh(against[np.ix_(free, free)], stiffness[np.ix_(free, free)], eigvals_only=True)
    # PyNite turns square tubes its own way, which their bending does not know; the beam is not square.
    up = peer.up[:: cut.pieces]
    found = buckling(replace(whole, up=up), push, 3, 3)[0].factors
    # The wide area leaves 1e-9 of its two own terms, and a condition near 1e9.
    assert found == pytest.approx(1 / mu[::-1][:3], rel=1e-6)


def lumps(frame, seed):
    rng = np.random.default_rng(seed)
    return [
        LumpedMass(node, rng.uniform(2, 20), rng.uniform(-0.2, 0.2, 3), np.diag(rng.uniform(0.1, 1.0, 3)))
        for node in range(1, len(frame.nodes) - 1)
    ]


@pytest.mark.parametrize("seed", range(460, 463))
def test_openseespy_agrees_on_modes_of_lumped_masses_off_their_joints(seed):
    frame, _ = random_frame(seed, slim=True)
    frame = replace(frame, density=0 * frame.density)
    masses = lumps(frame, seed)
    expected = frequencies_by_openseespy(frame, masses, 8, consistent=False)
    assert worst(modes(frame, masses, 8, 1).frequencies, expected) < AGREED


@pytest.mark.parametrize("seed", range(480, 483))
def test_openseespy_agrees_on_modes_of_consistent_masses(seed):
    """It has no rotary inertia: the same mass on a wide area, which turns as good as not; condition 1e10."""
    frame, _ = random_frame(seed, slim=True)
    wide = 1e5
    frame = replace(frame, area=frame.area * wide, density=frame.density / wide)
    masses = lumps(frame, seed)[:1]
    expected = frequencies_by_openseespy(frame, masses, 8, consistent=True)
    assert modes(frame, masses, 8, 1).frequencies == pytest.approx(expected, rel=5e-7)
