"""Weights added up with their doubts, and reactions by statics."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError, LooseError
from soapstone.place.bookkeeping import Item, Support, add_up, out_of_balance, reactions
from soapstone.place.isolators import Mount, come_to_rest
from soapstone.place.pose import rotation_from_vector


def item(name: str, mass: float, *centre: float, sigma: float = 0.0, doubt: float = 0.0) -> Item:
    return Item(name, mass, np.array(centre), sigma, doubt**2 * np.eye(3), np.zeros((3, 3)))


def test_two_weights_by_hand() -> None:
    """60 and 40 kg, 1 m apart: centre 0.4 m along, inertia m1 m2 / M across."""
    whole = add_up([item("motor", 60, 0, 0, 0), item("gearbox", 40, 1, 0, 0)])
    assert whole.mass == 100 and whole.centre == pytest.approx([0.4, 0, 0])
    assert np.diag(whole.inertia) == pytest.approx([0, 24, 24])
    assert whole.centre_sigma == pytest.approx([0, 0, 0])


def test_doubt_by_hand() -> None:
    """Motor +-2 kg, 0.4 m off the centre: 8 mm along; gearbox centre +-10 mm weighs 40 %: 4 mm each way."""
    whole = add_up([item("motor", 60, 0, 0, 0, sigma=2), item("gearbox", 40, 1, 0, 0, doubt=0.01)])
    assert whole.mass_sigma == 2.0
    assert whole.centre_sigma == pytest.approx([np.hypot(0.008, 0.004), 0.004, 0.004])
    assert whole.largest_doubt == "motor"


def test_doubt_by_many_trials() -> None:
    """20 000 drawn assemblies: their spread is the first-order one within 3 %, three of its own sigmas."""
    random = np.random.default_rng(3)
    items = []
    for i in range(6):
        root = 0.01 * random.normal(size=(3, 3))
        items.append(
            Item(
                f"i{i}",
                random.uniform(5, 90),
                random.normal(size=3),
                random.uniform(0.1, 2),
                root @ root.T,
                np.zeros((3, 3)),
            )
        )
    whole = add_up(items)
    trials = 20_000
    mass = np.stack([random.normal(i.mass, i.mass_sigma, trials) for i in items])
    at = np.stack([random.multivariate_normal(i.centre, i.centre_covariance, trials) for i in items])
    centres = np.einsum("in,inj->nj", mass, at) / mass.sum(axis=0)[:, None]
    assert centres.std(axis=0) == pytest.approx(whole.centre_sigma, rel=0.03)
    assert mass.sum(axis=0).std() == pytest.approx(whole.mass_sigma, rel=0.03)
    drawn = np.cov(centres.T)
    scale = np.outer(whole.centre_sigma, whole.centre_sigma)
    assert np.abs((drawn - whole.centre_covariance) / scale).max() < 0.04


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_inertia_moves_and_turns_with_the_assembly(seed: int) -> None:
    random = np.random.default_rng(seed)
    items = []
    for i in range(5):
        p = random.normal(size=(4, 3)) * 0.1
        p = p - p.mean(axis=0)
        inertia = np.trace(p.T @ p) * np.eye(3) - p.T @ p
        items.append(
            Item(f"i{i}", random.uniform(1, 50), random.normal(size=3), 1.0, 1e-4 * np.eye(3), inertia)
        )
    whole = add_up(items)
    turn, shift = rotation_from_vector(random.normal(size=3)), random.normal(size=3)
    moved = add_up(
        [
            Item(
                i.name,
                i.mass,
                turn @ i.centre + shift,
                i.mass_sigma,
                i.centre_covariance,
                turn @ i.inertia @ turn.T,
            )
            for i in items
        ]
    )
    assert moved.centre == pytest.approx(turn @ whole.centre + shift, abs=1e-12)
    assert np.allclose(moved.inertia, turn @ whole.inertia @ turn.T, atol=1e-9)
    assert np.allclose(moved.centre_covariance, turn @ whole.centre_covariance @ turn.T, atol=1e-15)
    two = add_up(items[:2]), add_up(items[2:])
    joined = add_up(
        [
            Item(str(i), w.mass, w.centre, w.mass_sigma, w.centre_covariance, w.inertia)
            for i, w in enumerate(two)
        ]
    )
    assert np.allclose(joined.inertia, whole.inertia, atol=1e-9)


def test_nothing_weighs_nothing() -> None:
    with pytest.raises(GeometryError):
        add_up([])
    with pytest.raises(GeometryError, match="stone"):
        item("stone", 0.0, 0, 0, 0)


def random_supports(random: np.random.Generator, count: int) -> list[Support]:
    ways = random.normal(size=(count, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    return [
        Support(f"s{i}", random.uniform(-0.6, 0.6, 3), ways[i], random.uniform(5e4, 5e5))
        for i in range(count)
    ]


def test_two_hundred_bodies_balance() -> None:
    """Six to twelve supports anywhere, any load: forces and moments cancel to 1e-10 of the largest."""
    random = np.random.default_rng(20)
    for _ in range(200):
        supports = random_supports(random, int(random.integers(6, 13)))
        load, at = random.normal(size=6) * [1e3, 1e3, 1e3, 300, 300, 300], random.normal(size=3)
        forces = reactions(supports, load, at)
        assert out_of_balance(supports, forces, load, at) <= 1e-10
        if len(supports) == 6:
            rows = np.array([[*s.direction, *np.cross(s.place - at, s.direction)] for s in supports]).T
            assert forces == pytest.approx(np.linalg.solve(rows, -load), rel=1e-6)  # conditions up to 1e8


def test_two_hundred_bodies_on_mounts_agree_with_the_elastic_solve() -> None:
    """Three upright and sideways stiffnesses each: least stored energy is what springs under a stiff body
    do.
    """
    random = np.random.default_rng(21)
    for _ in range(200):
        count = int(random.integers(3, 6))
        mounts = [
            Mount(
                f"m{i}",
                random.uniform(-0.6, 0.6, 3),
                rotation_from_vector(random.normal(size=3)),
                random.uniform(5e4, 5e5, 3),
                1.0,
            )
            for i in range(count)
        ]
        load, centre = random.normal(size=6) * [1e3, 1e3, 1e3, 300, 300, 300], random.normal(size=3) * 0.3
        rest = come_to_rest(mounts, centre, load)
        supports = [Support(m.name, m.place, m.axes[:, j], m.stiffness[j]) for m in mounts for j in range(3)]
        forces = reactions(supports, load, centre)
        assert out_of_balance(supports, forces, load, centre) <= 1e-10
        each = (forces[:, None] * np.array([s.direction for s in supports])).reshape(count, 3, 3).sum(axis=1)
        assert np.abs(each - rest.forces).max() <= 1e-9 * np.abs(rest.forces).max()


def test_three_scales_by_hand() -> None:
    """92 kg on three upright supports: levers alone."""
    up = np.array([0.0, 0.0, 1.0])
    places = {"front": (0.6, 0.0, 0.0), "left": (-0.3, 0.4, 0.0), "right": (-0.3, -0.4, 0.0)}
    supports = [Support(name, np.array(at), up) for name, at in places.items()]
    weight = 92 * 9.80665
    forces = reactions(supports, np.array([0, 0, -weight, 0, 0, 0]), np.array([0.06, 0.04, 0.2]))
    front = weight * 0.36 / 0.9
    side = weight * 0.04 / 0.8
    assert forces == pytest.approx(
        [front, (weight - front) / 2 + side, (weight - front) / 2 - side], rel=1e-12
    )
    with pytest.raises(LooseError, match="cannot balance"):
        reactions(supports, np.array([10.0, 0, 0, 0, 0, 0]), np.zeros(3))
