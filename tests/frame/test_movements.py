"""Named places under load, from the solution the frame room has tested already."""

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.frame.movements import movements


def test_pins_on_stiff_rails_stay_and_the_unit_sinks(heron: Build) -> None:
    case = heron.idealised.loads.case_names.index("own weight")
    stiff = movements(heron.layout, heron.placed, heron.idealised, heron.solution)
    assert np.allclose(stiff["FL"], 0.0, atol=1e-15)
    # on giving tabs it moves: a tab of 50 x 6 mm reaching 49 mm pulls with some MN/m
    assert 1e-7 < np.abs(heron.movements["FL"]).max() < 1e-3
    assert -0.003 < heron.movements["drive_unit centre"][case, 2] < 0.0


def test_the_unit_moves_as_one_rigid_thing(heron: Build) -> None:
    """Distances between its points do not change (to second order in the small turn)."""
    body = heron.placed["drive_unit"]
    for case in range(len(heron.cases)):
        moved = {name: at + heron.movements[f"drive_unit.{name}"][case] for name, at in body.points.items()}
        before = np.linalg.norm(body.points["boss_1"] - body.points["boss_4"])
        after = np.linalg.norm(moved["boss_1"] - moved["boss_4"])
        assert after == pytest.approx(before, rel=1e-4)


def test_every_tube_end_is_there(heron: Build) -> None:
    for tube in heron.job.members:
        assert heron.movements[f"{tube} start"].shape == (len(heron.cases), 3)
        assert f"{tube} end" in heron.movements


def test_a_soft_support_gives_by_its_force_over_its_stiffness(heron: Build) -> None:
    node = heron.idealised.frame.node_names.index("fork_arm_front")
    stiff = movements(heron.layout, heron.placed, heron.idealised, heron.solution)
    assert np.allclose(stiff["T"], -heron.solution.reactions[:, node, :3] / 25e6, rtol=1e-9, atol=1e-12)
