"""Two reference libraries solve the same random space frames.

Sources: PyNiteFEA (Euler-Bernoulli members) and openseespy (ElasticTimoshenkoBeam). 1e-8 of the largest
entry: both solve in double precision systems of condition near 1e6, which leaves 1e-10.
"""

from dataclasses import replace

import numpy as np
import pytest
from frame_kit import random_frame, worst
from frame_peers import PyniteFrame, by_openseespy

from soapstone.frame import Release, Spring, solve

AGREED = 1e-8


@pytest.mark.parametrize("seed", range(20))
def test_openseespy_agrees_on_shear_flexible_frames(seed):
    frame, loads = random_frame(seed)
    solution = solve(frame, loads)
    moved, reactions, forces = by_openseespy(frame, loads)
    assert worst(solution.displacements, moved) < AGREED
    assert worst(solution.reactions, reactions) < AGREED
    assert worst(solution.end_forces, forces) < AGREED


@pytest.mark.parametrize("seed", range(20))
def test_pynite_agrees_on_slender_frames(seed):
    frame, loads = random_frame(seed, slim=True)
    peer = PyniteFrame(frame, loads)
    solution = solve(replace(frame, up=peer.up), loads)
    moved, reactions, forces = peer.solve()
    assert worst(solution.displacements, moved) < AGREED
    assert worst(solution.reactions, reactions) < AGREED
    assert worst(solution.end_forces, forces) < AGREED


@pytest.mark.parametrize("slim", [True, False])
@pytest.mark.parametrize("seed", range(100, 106))
def test_openseespy_agrees_with_arms_at_both_ends(seed, slim):
    frame, loads = random_frame(seed, slim=slim, arms=True)
    solution = solve(frame, loads)
    moved, reactions, forces = by_openseespy(frame, loads)
    assert worst(solution.displacements, moved) < AGREED
    assert worst(solution.reactions, reactions) < AGREED
    assert worst(solution.end_forces, forces) < AGREED


@pytest.mark.parametrize("seed", range(200, 204))
def test_openseespy_agrees_on_springs_to_the_ground(seed):
    frame, loads = random_frame(seed)
    stiffness = np.random.default_rng(seed).uniform(1e4, 1e6, (2, 6))
    springs = tuple(Spring(node, np.diag(k)) for node, k in zip((2, 4), stiffness, strict=True))
    frame = replace(frame, springs=springs)
    solution = solve(frame, loads)
    moved, reactions, _ = by_openseespy(frame, loads)
    assert worst(solution.displacements, moved) < AGREED
    assert worst(solution.reactions, reactions) < AGREED


@pytest.mark.parametrize("seed", range(300, 306))
def test_pynite_agrees_on_released_ends(seed):
    frame, loads = random_frame(seed, slim=True)
    peer = PyniteFrame(frame, loads)
    frame = replace(frame, up=peer.up)
    rng = np.random.default_rng(seed)
    releases = []
    for member in rng.choice(len(frame.ends), 3, replace=False).tolist():
        flags = np.zeros(12, dtype=bool)
        # One end turns about local y and z, the other about z only: a bolt at one, a hinge at the other.
        flags[[4, 5, 11]] = True
        peer.model.def_releases(frame.member_names[member], *flags.tolist())
        axes = frame.geometry.axes[member]
        releases += [Release(member, 0, axes[1]), Release(member, 0, axes[2]), Release(member, 1, axes[2])]
    solution = solve(replace(frame, releases=tuple(releases)), loads)
    moved, reactions, forces = peer.solve()
    assert worst(solution.displacements, moved) < AGREED
    assert worst(solution.reactions, reactions) < AGREED
    assert worst(solution.end_forces, forces) < AGREED
