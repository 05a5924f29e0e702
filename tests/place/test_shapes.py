"""Gaps between simple solids against closed forms, a separate search and what must not change."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from soapstone.errors import GeometryError
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.place.shapes import Ball, Box, Cylinder, HalfSpace, Solid, gap

LEVEL = np.eye(3)


def at(*xyz: float) -> np.ndarray:
    return np.array(xyz, float)


def box(x: float, y: float, z: float, size: float = 1.0) -> Box:
    return Box(at(x, y, z), at(size, size, size), LEVEL)


@pytest.mark.parametrize(
    ("first", "second", "size"),
    [
        (box(0, 0, 0), box(2, 0, 0), 1.0),
        (box(0, 0, 0), box(2, 2, 2), 3**0.5),
        (box(0, 0, 0), box(0.9, 0.1, 0.2), -0.1),
        (box(0, 0, 0), Cylinder(at(3, 0, -1), at(3, 0, 1), 0.5), 2.0),
        (Cylinder(at(-5, 0, 0), at(5, 0, 0), 0.5), Cylinder(at(-5, 3, 3), at(5, 3, 3), 0.5), 18**0.5 - 1),
        (Cylinder(at(-5, 0, 0), at(5, 0, 0), 0.5), Cylinder(at(0, -5, 1.2), at(0, 5, 1.2), 0.5), 0.2),
        (Cylinder(at(-5, 0, 0), at(5, 0, 0), 0.5), Cylinder(at(0, -5, 0.7), at(0, 5, 0.7), 0.5), -0.3),
        (Cylinder(at(0, 0, 0), at(1, 0, 0), 0.2), Cylinder(at(0, 0, 0), at(1, 0, 0), 0.2), -0.4),
        (Ball(at(0, 0, 0), 1.0), Ball(at(0, 3, 4), 1.5), 2.5),
        (Ball(at(0, 0, 0), 1.0), Ball(at(0, 0, 1.5), 1.0), -0.5),
        (Ball(at(0, 0, 0.3), 0.2), box(0, 0, 0), -0.4),
        (Ball(at(0, 0, 0), 0.2), Ball(at(0, 0, 0), 0.3), -0.5),
    ],
)
def test_closed_forms(first: Solid, second: Solid, size: float) -> None:
    """Exact but for overlaps of round solids, which are found to 1e-10."""
    found = gap(first, second)
    assert found.size == pytest.approx(size, abs=1e-9)
    assert (found.there - found.here) @ found.direction == pytest.approx(size, abs=1e-9)


def test_ends_that_nearly_face_each_other() -> None:
    """Ends 0.3 apart, one tilted by a millionth: its rim comes nearer by that times the radius."""
    tilt = 1e-6
    first = Cylinder(at(0, 0, 0), at(1, 0, 0), 0.2)
    second = Cylinder(at(1.3, 0, 0), at(1.3 + np.cos(tilt), 0, np.sin(tilt)), 0.2)
    assert gap(first, second).size == pytest.approx(0.3 - 0.2 * np.sin(tilt), abs=1e-12)


def test_a_plane() -> None:
    tilted = HalfSpace(at(0.6, 0, 0.8), 1.0)
    assert gap(Ball(at(0, 0, 3), 0.5), tilted).size == pytest.approx(2.4 - 1.0 - 0.5, rel=1e-12)
    assert gap(box(0, 0, 3), tilted).size == pytest.approx(2.4 - 0.7 - 1.0, rel=1e-12)
    standing = Cylinder(at(0, 0, 2), at(0, 0, 4), 0.3)
    assert gap(standing, tilted).size == pytest.approx(1.6 - 0.6 * 0.3 - 1.0, rel=1e-12)
    assert gap(standing, HalfSpace(at(0, 0, 1), 0.5)).size == pytest.approx(1.5, rel=1e-12)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Ball(at(0, 0, 0), 0.0),
        lambda: Box(at(0, 0, 0), at(1, -1, 1), LEVEL),
        lambda: Cylinder(at(0, 0, 0), at(0, 0, 0), 1.0),
    ],
)
def test_no_size_no_solid(make) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(GeometryError):
        make()


numbers = st.floats(-1.0, 1.0)
sizes = st.floats(0.1, 1.0)
triples = st.tuples(numbers, numbers, numbers).map(np.array)


@st.composite
def solids(draw: st.DrawFn) -> Solid:
    centre, turn = 1.5 * draw(triples), 3.0 * draw(triples)
    axes = rotation_from_vector(turn)
    match draw(st.integers(0, 2)):
        case 0:
            return Box(centre, np.array([draw(sizes) for _ in range(3)]), axes)
        case 1:
            return Cylinder(centre, centre + draw(sizes) * axes[0], draw(sizes) / 2)
    return Ball(centre, draw(sizes) / 2)


def parted(first: Solid, second: Solid, direction: np.ndarray) -> float:
    """How far the second stands beyond the first along a direction; both support functions alone."""
    n = direction[None]
    return float((second.support(-n) - first.support(n))[0] @ direction) - first.radius - second.radius


def farthest_parted(first: Solid, second: Solid) -> float:
    """The same at the best direction that a general minimiser finds from the best of many starts."""

    def against(angles: np.ndarray) -> float:
        t, p = angles
        return -parted(first, second, np.array([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)]))

    grid = [(t, p) for t in np.linspace(0.05, np.pi - 0.05, 14) for p in np.linspace(-np.pi, np.pi, 24)]
    starts = sorted(grid, key=lambda a: against(np.array(a)))[:3]
    return -min(minimize(against, start, method="Nelder-Mead").fun for start in starts)


@settings(max_examples=25, deadline=None)
@given(solids(), solids())
def test_the_best_direction_tells_the_gap(first: Solid, second: Solid) -> None:
    """The gap is the largest separation over all directions: it is one of them, and no search finds a
    larger.
    """
    found = gap(first, second)
    assert found.size == pytest.approx(parted(first, second, found.direction), abs=1e-9)
    assert found.size >= farthest_parted(first, second) - (1e-8 if found.size > 0.0 else 1e-6)


@settings(max_examples=30, deadline=None)
@given(solids(), solids(), triples, triples)
def test_seen_from_anywhere_the_gap_is_the_same(
    first: Solid, second: Solid, shift: np.ndarray, turn: np.ndarray
) -> None:
    """Rigid motion and exchange change nothing; an overlap with many equal ways out is known to 1e-6."""
    here = gap(first, second)
    pose = Pose(rotation_from_vector(turn), shift)
    there = gap(first.moved(pose), second.moved(pose))
    near = 1e-9 if here.size > 0.0 else 1e-6
    assert there.size == pytest.approx(here.size, abs=near)
    assert gap(second, first).size == pytest.approx(here.size, abs=near)
    if here.size > 1e-3:
        assert np.linalg.norm(here.there - here.here) == pytest.approx(here.size, rel=1e-9)
