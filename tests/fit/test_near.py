"""The least distance between solids: the same by triangles as exactly, whichever way it is asked."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.fit.near import HERE, Near, at_least, nearest, rod, slab, touch
from soapstone.parts.axes import Axes
from soapstone.parts.solids import Solid, box
from soapstone.place.pose import Pose, rotation_from_vector

seeds = st.integers(0, 2**32 - 1)


def a_box(random: np.random.Generator) -> Near:
    turn = rotation_from_vector(random.normal(size=3))
    return slab(random.uniform(-0.4, 0.4, 3), random.uniform(0.05, 0.5, 3), turn)


def bare(near: Near) -> Near:
    """The same without what is known of it exactly."""
    return Near(near.mesh)


def moved(near: Near, pose: Pose) -> Near:
    assert near.convex is not None
    return Near(Solid(pose.apply(near.mesh.vertices), near.mesh.triangles), near.convex.moved(pose))


@settings(deadline=None, max_examples=60)
@given(seeds)
def test_triangles_agree_with_exact_boxes(seed: int) -> None:
    random = np.random.default_rng(seed)
    one, other = a_box(random), a_box(random)
    exact = nearest(one, other)
    for first, second in ((bare(one), bare(other)), (one, bare(other)), (bare(one), other)):
        found = nearest(first, second)
        assert found.size == pytest.approx(exact.size, abs=1e-6)  # the library's own closeness
        assert touch(first, second) == (exact.size == 0.0)
        if found.size > 0.0:
            assert np.linalg.norm(found.there - found.here) == pytest.approx(found.size, abs=1e-6)
            assert at_least(first, second) <= found.size + 1e-9
            for near, point in ((first, found.here), (second, found.there)):
                spot = slab(point, np.full(3, 1e-9), np.eye(3))
                assert nearest(spot, Near(near.mesh, near.convex)).size < 1e-5  # each on its own solid


@settings(deadline=None, max_examples=40)
@given(seeds)
def test_a_rigid_motion_and_a_mirror_change_nothing(seed: int) -> None:
    random = np.random.default_rng(seed)
    one, other = a_box(random), a_box(random)
    before = nearest(one, other)
    pose = Pose(rotation_from_vector(random.normal(size=3)), random.normal(size=3))
    assert nearest(moved(one, pose), moved(other, pose)).size == pytest.approx(before.size, abs=1e-9)
    flip = np.diag([1.0, -1.0, 1.0])
    left = [Near(Solid(near.mesh.vertices @ flip, near.mesh.triangles[:, ::-1])) for near in (one, other)]
    assert nearest(*left).size == pytest.approx(before.size, abs=1e-6)
    pushed = nearest(one, other, pose).size
    assert pushed == pytest.approx(nearest(moved(one, pose), other).size, abs=1e-9)


def test_a_bar_beside_a_bar() -> None:
    one = rod(np.zeros(3), np.array([0.0, 0.0, 1.0]), 0.04)
    other = rod(np.array([0.1, 0.0, 0.0]), np.array([0.1, 0.0, 1.0]), 0.02)
    assert nearest(one, other).size == pytest.approx(0.07, abs=1e-12)
    assert nearest(one, bare(other)).size == pytest.approx(0.07, abs=1e-4)  # 24 sides inscribed in 10 mm
    assert nearest(one, other).way == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)


def test_what_is_swallowed_whole_touches() -> None:
    large, small = slab(np.zeros(3), np.ones(3), np.eye(3)), slab(np.zeros(3), np.full(3, 0.1), np.eye(3))
    for first, second in ((bare(large), bare(small)), (bare(small), bare(large))):
        assert nearest(first, second).size == 0.0
        assert touch(first, second)
    turned = Solid(large.mesh.vertices, large.mesh.triangles[:, ::-1])
    assert nearest(Near(turned), bare(small)).size == 0.0  # whichever way its faces look
    sheet = Near(large.mesh, closed=False)
    assert nearest(sheet, bare(small)).size == pytest.approx(0.45, abs=1e-9)


def test_nearest_points_of_what_touches_lie_between() -> None:
    one = box([0.2, 0.2, 0.2], Axes(np.zeros(3), *np.eye(3)))
    other = box([0.2, 0.2, 0.2], Axes(np.array([0.15, 0.0, 0.0]), *np.eye(3)))
    found = nearest(Near(one), Near(other))
    assert found.size == 0.0
    assert found.way == pytest.approx([0.0, 0.0, 1.0])
    assert found.here == pytest.approx([0.075, 0.0, 0.0])
    assert at_least(Near(one), Near(other), HERE) == 0.0
