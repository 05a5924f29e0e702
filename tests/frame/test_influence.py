"""Influence of unit loads, and the reworking of single sections."""

import sys
from dataclasses import replace

import numpy as np
import pytest
from frame_kit import make_frame, random_frame, worst
from test_properties import full_frame

from soapstone.errors import GeometryError
from soapstone.frame import Loads, hardest, influence, member_forces, rework, solve

AGREED = 1e-8


def test_influence_of_a_beam_on_three_supports():
    """Two equal spans: the moment over the middle is 0.096 P L where P stands 0.4 L from the outer end."""
    nodes = {name: (x, 0, 0) for name, x in zip("ABCDE", (0, 0.4, 1.0, 1.5, 2.0), strict=True)}
    members = {pair: (pair[0], pair[1]) for pair in ("AB", "BC", "CD", "DE")}
    frame = make_frame(nodes, members, {"A": "xyzX", "C": "yz", "E": "yz"})
    found = influence(frame, [(node, np.zeros(3)) for node in range(5)])
    # The unit loads point up. Theorem of three moments: M = P a (L² - a²) / (4 L²).
    over = -found.forces[:, 2, 1, 1, 4]
    assert over == pytest.approx([0, 0.4 * 0.84 / 4, 0, 0.5 * 0.75 / 4, 0], abs=1e-9)
    assert found.reactions[1, 2, :, 2].sum() == pytest.approx(-1.0, rel=1e-9)


def test_which_point_hurts_which_member():
    frame, _ = random_frame(12)
    rng = np.random.default_rng(12)
    m = len(frame.ends)
    fibres = rng.uniform(-1, 1, (m, 4, 6)) * [1e3, 0, 0, 0, 1e5, 1e5]
    points = [(int(node), rng.uniform(-0.2, 0.2, 3)) for node in (1, 3, 4)]
    found = hardest(influence(frame, points), fibres)
    # The direction told is the worst there is, and a unit load that way does what was told.
    for member in (0, m // 2, m - 1):
        node, arm = points[found.point[member]]

        def stress(way, node=node, arm=arm, member=member):
            loads = Loads.none(frame, ["push"])
            loads.nodal[0, node] = np.concatenate([way, np.cross(arm, way)])
            forces = member_forces(frame, loads, solve(frame, loads), 2)[1][0, member]
            return (forces @ fibres[member].T).ravel()

        told = found.stress[found.point[member], member]
        assert stress(found.direction[member]).max() == pytest.approx(told, rel=AGREED)
        others = rng.standard_normal((20, 3))
        assert max(np.abs(stress(v / np.linalg.norm(v))).max() for v in others) <= told * (1 + AGREED)
        assert (found.stress[:, member] <= told).all()
    with pytest.raises(GeometryError, match="no point was given to load"):
        influence(frame, [])


def resectioned(frame, member, section):
    columns = {name: getattr(frame, name).copy() for name in section}
    for name, value in section.items():
        columns[name][member] = value
    return replace(frame, **columns)


NEW = {"area": 1e-3, "second_moment_y": 7e-7, "torsion_constant": 1e-8, "shear_area_z": 3e-4}


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("forced", [False, True])
def test_another_section_answers_like_a_new_frame(seed, forced):
    """With arms, skew releases and springs; and with gaps, warmth and moved supports."""
    frame, loads = full_frame(seed)
    if forced:
        rng = np.random.default_rng(seed)
        m = len(frame.ends)
        loads = loads.with_misfit(1, 0, rng.uniform(-1e-3, 1e-3, 6)).with_settlement(
            0, [1e-3, 0, 0, 0, 1e-3, 0]
        )
        loads = loads.with_temperature(np.full(m, 1.2e-5), np.full((3, m), 50.0), np.full((3, m, 2), 300.0))
    prepared = rework(frame, loads)
    for member in [*(release.member for release in frame.releases), 1, 1]:
        found = prepared.with_section(member, **NEW)
        expected = solve(resectioned(frame, member, NEW), loads)
        for name in ("displacements", "end_forces", "reactions"):
            assert worst(getattr(found, name), getattr(expected, name)) < AGREED


def test_what_is_kept_is_bounded(monkeypatch):
    monkeypatch.setattr(sys.modules["soapstone.frame.rework"], "_KEPT", 0)
    frame, loads = random_frame(2)
    prepared = rework(frame, loads)
    for member in (0, 3, 0):
        expected = solve(resectioned(frame, member, NEW), loads)
        assert worst(prepared.with_section(member, **NEW).end_forces, expected.end_forces) < AGREED
    assert len(prepared._kept) == 1


@pytest.mark.parametrize("section", [{"area": 0.0}, {"density": 1.0}, {"second_moment_y": np.nan}])
def test_sections_that_make_no_sense(section):
    frame, loads = random_frame(2)
    with pytest.raises(GeometryError, match="the new section of tube_0 makes no sense; give areas"):
        rework(frame, loads).with_section(0, **section)
