"""The rigid fit: proper rotations only, each point weighted by what is known of it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.place.pose import rigid_fit, rotation_from_angles, rotation_from_vector

UNIT = np.tile(np.eye(3), (20, 1, 1))


def fit(own: object, target: object):  # type: ignore[no-untyped-def]
    own, target = np.array(own, float), np.array(target, float)
    return rigid_fit([f"p{i}" for i in range(len(own))], own, target, UNIT[: len(own)])


def test_points_named_for_the_wrong_side_give_a_proper_turn_and_a_hint() -> None:
    """Field case: a set mirrored left for right; an unguarded fit returned a mirror image (rms 0.519)."""
    own = [(-1, 0, 0), (0, 2, 0), (0, 1, 0), (0, 1, 1)]
    target = [(0, -1, -1), (0, -1, 0), (0, 0, 0), (-1, 0, 0)]
    found = fit(own, target)
    assert np.linalg.det(found.pose.rotation) == pytest.approx(1.0, abs=1e-12)
    assert found.rms == pytest.approx(0.69477, abs=5e-6)  # printed to five digits
    assert found.mirrored_rms == pytest.approx(0.519, abs=5e-4)  # printed to three


def test_a_flat_set_gets_a_proper_turn() -> None:
    """Field case: a flat ring of eleven points against the same ring tilted."""
    angle = np.linspace(0.0, 2 * np.pi, 12)[:-1]
    ring = np.stack([np.cos(angle), np.sin(angle), np.zeros(11)], axis=1)
    tilt = rotation_from_vector(np.array([0.3, -0.5, 0.2]))
    found = fit(ring, ring @ tilt.T + [1.0, 2.0, 3.0])
    assert np.linalg.det(found.pose.rotation) == pytest.approx(1.0, abs=1e-12)
    assert np.allclose(found.pose.rotation, tilt, atol=1e-9)
    assert found.rms < 1e-9


vectors = st.tuples(*[st.floats(-3.0, 3.0)] * 3).map(np.array)


@settings(deadline=None, max_examples=50)
@given(vectors, vectors, st.integers(0, 2**32 - 1))
def test_what_was_moved_is_found_again(turn: np.ndarray, shift: np.ndarray, seed: int) -> None:
    own = np.random.default_rng(seed).normal(size=(6, 3))
    rotation = rotation_from_vector(turn)
    found = fit(own, own @ rotation.T + shift)
    assert np.allclose(found.pose.apply(own), own @ rotation.T + shift, atol=1e-9)
    assert np.allclose(found.pose.rotation, rotation, atol=1e-9)


def test_a_point_that_is_known_badly_pulls_less() -> None:
    own = np.array([(0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0.5)], float)
    target = own.copy()
    target[3] += [0.0, 0.0, 0.1]
    alike = rigid_fit("abcd", own, target, np.tile(np.eye(3), (4, 1, 1)))
    bad = np.tile(np.eye(3), (4, 1, 1))
    bad[3] *= 1e6
    loose = rigid_fit("abcd", own, target, bad)
    assert np.linalg.norm(loose.residuals[:3]) < 1e-4 * np.linalg.norm(alike.residuals[:3])


def test_the_covariance_is_that_of_many_trials() -> None:
    rng = np.random.default_rng(7)
    own = rng.normal(size=(5, 3))
    sigma = 1e-3
    covariances = np.tile(sigma**2 * np.eye(3), (5, 1, 1))
    turns = []
    for _ in range(600):
        found = rigid_fit("abcde", own, own + rng.normal(0.0, sigma, own.shape), covariances)
        r = found.pose.rotation
        turns.append([r[2, 1] - r[1, 2], r[0, 2] - r[2, 0], r[1, 0] - r[0, 1]])
    spread = np.std(np.array(turns) / 2, axis=0)
    told = np.sqrt(np.diag(found.covariance)[3:])
    assert np.allclose(spread, told, rtol=0.12)  # 600 trials: a spread is known to 3 %, four of those


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ([(0, 0, 0), (1, 0, 0)], "matched at 2 points"),
        ([(0, 0, 0), (1, 1, 1), (2, 2, 2)], "on one line"),
        ([(0, 0, 0), (0, 0, 0), (0, 0, 0)], "on one line"),
    ],
)
def test_too_little_to_settle_it_is_said(own: list, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        fit(own, own)


def test_angles_turn_the_ways_their_names_say() -> None:
    forward, left, _ = np.eye(3)
    assert (rotation_from_angles(turned_left=0.1, nose_down=0.0, left_up=0.0) @ forward)[1] > 0
    assert (rotation_from_angles(turned_left=0.0, nose_down=0.1, left_up=0.0) @ forward)[2] < 0
    assert (rotation_from_angles(turned_left=0.0, nose_down=0.0, left_up=0.1) @ left)[2] > 0
    assert np.allclose(rotation_from_vector(np.zeros(3)), np.eye(3))
