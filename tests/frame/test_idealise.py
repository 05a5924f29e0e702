"""From parts to beams: statics by hand on the example's own numbers."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import GeometryError
from soapstone.frame import balance
from soapstone.job.places import Spot

Changed = Callable[..., Build]


def test_loads_and_reactions_cancel(heron: Build) -> None:
    """Six equations of equilibrium in every case; rounding leaves some 1e-12 of the loads."""
    left = balance(heron.idealised.frame, heron.idealised.loads, heron.solution)
    assert left.relative < 1e-11


def test_the_torque_arrives_at_the_forks(heron: Build) -> None:
    """Between `full torque` and `own weight` the reactions differ by the housing's couple alone."""
    names = heron.idealised.loads.case_names
    extra = (
        heron.solution.reactions[names.index("full torque")]
        - heron.solution.reactions[names.index("own weight")]
    )
    moment = (np.cross(heron.idealised.frame.nodes, extra[:, :3]) + extra[:, 3:]).sum(axis=0)
    torque = 230 * 9.3 * 0.97  # below what the tyres let through, 0.9 · 900 · 9.80665 · 0.3 = 2383
    assert np.allclose(moment, [0.0, torque, 0.0], atol=1e-6 * torque)
    assert np.allclose(extra[:, :3].sum(axis=0), 0.0, atol=1e-6 * torque)


def test_a_pin_carries_no_moment_about_its_bolt(heron: Build) -> None:
    for fork, (member, end) in heron.idealised.pins.items():
        axes = heron.idealised.frame.geometry.axes[member]
        moment = heron.solution.end_forces[:, member, 6 * end + 3 : 6 * end + 6] @ axes
        about = moment @ heron.layout.forks[fork].axis
        assert np.abs(about).max() < 1e-9 * (1.0 + np.abs(moment).max()), fork


def test_every_tube_is_a_row_of_beams_without_a_gap(heron: Build) -> None:
    for name, segments in heron.idealised.segments.items():
        for one, following in pairwise(segments):
            assert one.end == pytest.approx(following.start, abs=1e-12), name
        lengths = heron.idealised.frame.geometry.lengths
        for segment in segments:
            assert lengths[segment.member] == pytest.approx(segment.end - segment.start, abs=1e-9), name


def test_a_welded_tube_begins_at_the_others_face(heron: Build) -> None:
    first = heron.idealised.segments["cross_1"][0]
    assert first.start == pytest.approx(1.75 * 0.0254 / 2, rel=1e-3)  # the two axes are not quite square


def test_a_softer_support_takes_less(changed: Changed, heron: Build) -> None:
    soft = changed(("stiffness: 25 kN/mm", "stiffness: 1 kN/mm"))
    stiff = heron.idealised.frame.node_names.index("fork_arm_front")
    case = heron.idealised.loads.case_names.index("braking")
    assert abs(soft.solution.reactions[case, stiff, 0]) < abs(heron.solution.reactions[case, stiff, 0])


def test_tubes_that_run_into_each_other_are_named(changed: Changed) -> None:
    with pytest.raises(GeometryError, match=r"torque_arm|brace_left|stub"):
        changed(
            (
                "  torque_arm: {",
                "  stub: {from: side_left at 700 mm, to: cross_2 at 10 mm, stock: light}\n  torque_arm: {",
            ),
        )


def test_a_boss_too_near_its_tube_is_named(changed: Changed) -> None:
    with pytest.raises(
        GeometryError, match=r"hanger_front_left: its hole is 1\.9 mm from what it is welded to"
    ):
        changed(
            ("boss_1: [205 mm fwd, 152 mm left, 12 mm up]", "boss_1: [265 mm fwd, 152 mm left, 28 mm up]")
        )


def test_only_what_is_tight_is_pinned(heron: Build) -> None:
    assert heron.layout.fork_of("side_left", Spot.START).name == "fork_front_left"
    assert heron.layout.fork_of("cross_1", Spot.START) is None
    assert set(heron.idealised.pins) == set(heron.layout.forks)
