"""Every measure's rate is the change of its value."""

import numpy as np
import pytest

from soapstone.errors import GeometryError
from soapstone.place.measures import (
    UP,
    Clearance,
    Heading,
    Height,
    Measure,
    OffAxis,
    OffLine,
    OutOfLine,
    Slope,
    square_to,
)
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.place.shapes import Ball, Box, Cylinder, HalfSpace
from soapstone.place.solve import moved

POINT = np.array([0.1, 0.2, 0.3])


def unit(*xyz: float) -> np.ndarray:
    vector = np.array(xyz, float)
    return vector / np.linalg.norm(vector)


BOX = Box(np.zeros(3), np.array([0.3, 0.4, 0.5]), np.eye(3))
BAR = Cylinder(np.zeros(3), np.array([0.3, 0.4, 0.5]), 0.2)
MEASURES = [
    Height("height", POINT, UP, 0.1),
    Height("off a wall", POINT, unit(1, 2, 0.5)),
    OffLine("off the line", POINT, np.array([1.0, 2.0, 0.0]), unit(1, 0.2, 0.3)),
    Slope("slope", unit(1, 0.1, 0.2)),
    Heading("heading", unit(1, 0.1, 0.2), np.array([1.0, 0.0, 0.0])),
    OffAxis("hub", POINT, unit(0, 1, 0.1), np.array([0.2, 1.0, 0.2])),
    OutOfLine("hub line", unit(0, 1, 0.1), unit(0.1, 1, 0.2)),
    Clearance("ground", BOX, HalfSpace(UP, -3.0)),
    Clearance("ground below a ball", Ball(POINT, 0.2), HalfSpace(UP, -3.0)),
    Clearance("wall", BAR, HalfSpace(unit(-1, 0.2, 0.1), -3.0)),
    Clearance("rail", BOX, Box(np.array([3.0, 0.0, 0.0]), np.array([0.5, 0.5, 0.5]), np.eye(3))),
    Clearance("pipe", BAR, Cylinder(np.array([2.0, 0.0, 0.0]), np.array([2.0, 2.0, 0.5]), 0.2)),
]


@pytest.mark.parametrize("measure", MEASURES, ids=lambda m: m.name)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_rate_is_the_change_of_value(measure: Measure, seed: int) -> None:
    """Central differences over 1e-5: their own error is 1e-10; round solids find their points to 1e-7."""
    random = np.random.default_rng(seed)
    pose = Pose(rotation_from_vector(0.4 * random.normal(size=3)), 0.3 * random.normal(size=3))
    pivot = np.array([0.05, -0.1, 0.2])
    reading = measure.of(pose, pose.apply(pivot))
    assert (measure.unit == "rad") is not bool(np.any(reading.rate[:, :3]))
    for way in np.eye(6):
        ahead, back = (
            measure.of(moved(pose, pivot, s * way[:3], s * way[3:]), pose.apply(pivot)).value
            for s in (1e-5, -1e-5)
        )
        assert np.allclose((ahead - back) / 2e-5, reading.rate @ way, atol=2e-6)


def test_signs_are_as_said() -> None:
    level = Pose(np.eye(3), np.zeros(3))
    rise = Slope("", unit(1, 0, np.tan(np.radians(3)))).of(level, POINT).value
    assert np.degrees(rise) == pytest.approx([3.0], rel=1e-12)
    left = Heading("", unit(1, 0.1, 0), np.array([1.0, 0, 0])).of(level, POINT).value
    assert left == pytest.approx([np.arctan(0.1)], rel=1e-12)
    off = OffAxis("", np.zeros(3), unit(0, 1, 0), np.array([0.03, 0.7, 0.04])).of(level, POINT).value
    assert np.linalg.norm(off) == pytest.approx(0.05, rel=1e-12)
    lean = OutOfLine("", unit(0, 1, 0.02), unit(0, 1, 0)).of(level, POINT).value
    assert np.linalg.norm(lean) == pytest.approx(np.sin(np.arctan(0.02)), rel=1e-12)


def test_an_upright_axis_has_no_heading() -> None:
    with pytest.raises(GeometryError, match="crank"):
        Heading("crank", UP, np.array([1.0, 0, 0])).of(Pose(np.eye(3), np.zeros(3)), POINT)


def test_square_to_an_upright_direction() -> None:
    square = square_to(UP)
    assert np.allclose(square @ square.T, np.eye(2), atol=1e-15) and np.allclose(square @ UP, 0.0)


def test_contacts_find_the_corners_of_a_face() -> None:
    """A face along a face: rows at both ends of it, none nearer than the gap itself."""
    rail = Box(np.array([0.0, 0.6, 0.0]), np.array([2.0, 0.1, 0.1]), np.eye(3))
    clearance = Clearance("rail", BOX, rail)
    level = Pose(np.eye(3), np.zeros(3))
    found = clearance.contacts(level, np.zeros(3))
    assert found.value[0] == pytest.approx(0.35, rel=1e-12)
    assert np.all(found.value >= found.value[0] - 1e-15)
    yaws = found.rate[:, 5]  # nearing by a turn about the upright: the two ends of the face, 0.15 each way
    assert yaws.max() == pytest.approx(0.15, rel=1e-9) and yaws.min() == pytest.approx(-0.15, rel=1e-9)
    ground = Clearance("ground", BOX, HalfSpace(UP, -3.0))
    assert len(ground.contacts(level, np.zeros(3)).value) == 8
