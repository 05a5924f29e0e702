"""What a singular network leaves free, and its spread, against the pseudo-inverse of all of it at once."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree
from surveying import FRAME, KIND, measured, network, random_network

from soapstone.survey import Datum, Network, adjust
from soapstone.survey.descent import weighted
from soapstone.survey.model import compile_model


def slab(count: int, seed: int = 0) -> tuple[Network, np.ndarray]:
    """Points strewn over a room, each measured to its neighbours, held nowhere; with a start 5 mm off."""
    chance = np.random.default_rng(seed)
    xyz = chance.uniform([-3, -1, 0], [3, 1, 1.2], (count, 3))
    xyz = xyz[np.argsort(xyz[:, 0])]
    near = cKDTree(xyz).query(xyz, 13)[1]
    pairs = sorted({(min(i, j), max(i, j)) for i, row in enumerate(near.tolist()) for j in row if i != j})
    true = {f"P{i}": at for i, at in enumerate(xyz)}
    readings = measured(true, [(KIND.TAPE, f"P{i} P{j}") for i, j in pairs], chance)
    return Network(tuple(true), {}, tuple(readings), datum=Datum.FREE), xyz + 0.005 * chance.uniform(
        -1, 1, xyz.shape
    )


def without(net: Network, gone: set[str], kept: set[str] = frozenset()) -> Network:
    return replace(
        net, readings=tuple(r for r in net.readings if not gone & set(r.points) or r.label in kept)
    )


def pseudo_inverse(net: Network, xyz: np.ndarray) -> np.ndarray:
    """Of the normal matrix over all coordinates; singular values below 1e-9 of the largest are none."""
    model = compile_model(net)
    _, slopes = weighted(model, xyz)
    jacobian = np.zeros((model.rows, xyz.size))
    for end in range(model.ends.shape[1]):
        for axis in range(3):
            np.add.at(
                jacobian,
                (np.arange(model.rows), 3 * model.ends[:, end] + axis),
                slopes.reshape(model.rows, -1, 3)[:, end, axis],
            )
    inverse = np.linalg.pinv(jacobian, rcond=1e-9)
    return inverse @ inverse.T


@pytest.mark.parametrize("count", [40, 120])
def test_a_free_network_has_the_least_spread_there_is(count):
    """The pseudo-inverse is the covariance of inner constraints over all points."""
    net, start = slab(count)
    survey = adjust(net, start=start)
    assert survey.loose == ()
    whole = pseudo_inverse(net, survey.xyz)
    np.testing.assert_allclose(survey.covariance, whole, atol=1e-7 * whole.max(), rtol=0)
    assert survey.freedom == len(net.readings) - (3 * count - 6)
    vector = np.random.default_rng(1).normal(size=3 * count)
    np.testing.assert_allclose(survey.spread.times(vector), whole @ vector, atol=1e-5 * whole.max(), rtol=0)


def test_loose_points_of_a_free_network_are_named_and_no_others():
    """One point without a reading, one on a single tape: five freedoms beside the six of the whole."""
    net, start = slab(400)
    tied = next(r for r in net.readings if "P200" in r.points)
    net = without(net, {"P200", "P300"}, {tied.label})
    survey = adjust(net, start=start)
    assert [item.point for item in survey.loose] == ["P200", "P300"]
    assert [len(item.directions) for item in survey.loose] == [2, 3]
    assert f"held only by {tied.label}" in survey.loose[0].words
    other = next(p for p in tied.points if p != "P200")
    line = survey.point("P200") - survey.point(other)
    assert np.abs(survey.loose[0].directions @ line).max() < 1e-6 * np.linalg.norm(line)  # solved to 1e-9
    assert survey.freedom == len(net.readings) - (3 * 400 - 6 - 5)


def test_a_free_network_without_its_loose_points_has_the_same_redundancy():
    net, start = slab(120)
    loose = without(net, {"P50"})
    at = [i for i in range(120) if i != 50]
    alone = replace(loose, names=tuple(net.names[i] for i in at))
    one, other = adjust(loose, start=start), adjust(alone, start=start[at])
    np.testing.assert_allclose(one.residuals.redundancy, other.residuals.redundancy, atol=1e-6)
    assert one.freedom == other.freedom


def test_points_that_move_together_beyond_the_band_are_one_piece():
    """The far half hangs on one point of the near half: a ball joint, three turns."""
    net, start = slab(200)
    index = {name: i for i, name in enumerate(net.names)}

    def across(points) -> bool:
        one, two = sorted(index[p] for p in points)
        return one < 100 < two

    hinged = replace(net, readings=tuple(r for r in net.readings if not across(r.points)), datum=Datum.FIXED)
    held = {net.names[i]: start[i] for i in (0, 30, 60)}
    survey = adjust(replace(hinged, known=held), start=start)
    moving = {item.point for item in survey.loose}
    far = set(net.names[101:])
    assert moving <= far
    assert len(moving) > 0.95 * len(far)  # but those close to the axis of a turn
    assert "together with" in survey.loose[-1].words
    assert survey.freedom == len(hinged.readings) - (3 * 197 - 3)
    sizes = [np.sqrt(np.linalg.eigvalsh(survey.covariance_of(name))[-1]) for name in ("P150", "P40")]
    assert sizes[0] > 0.05 > 0.01 > sizes[1]  # m: a share of the network's size, and a few millimetres


def test_every_height_missing():
    """A hundred points and only plan distances between them: each is loose up and down, nothing else."""
    chance = np.random.default_rng(4)
    true = {f"P{i}": (0.1 * i, *chance.uniform(-0.5, 0.5, 2)) for i in range(100)}
    pairs = [(i, j) for i in range(100) for j in range(i + 1, min(i + 6, 100))]
    readings = measured(true, [(KIND.PLAN, f"P{i} P{j}") for i, j in pairs], chance)
    known = {name: true[name] for name in ("P0", "P40", "P99")}
    survey = adjust(
        network(known, readings), start=np.array([*map(true.get, network(known, readings).names)])
    )
    assert {item.point for item in survey.loose} == set(true) - set(known)
    assert {item.words.partition(";")[0] for item in survey.loose} == {
        f"{p} can move up and down" for p in set(true) - set(known)
    }
    assert survey.freedom == len(readings) - 2 * 97


def test_a_spring_more_than_needed_changes_nothing():
    """A point held to a metre by one reading and to a millimetre by others is weak, not loose."""
    wanted = [(KIND.TAPE, f"{a} G") for a in "ABEF"] + [(KIND.PLAN, f"{a} H") for a in "ABE"]
    true = {**FRAME, "H": (0.5, 0.2, 0.1)}
    readings = measured(true, wanted)
    known = {p: FRAME[p] for p in "ABEF"}
    start = {**true}
    poor = [*readings, replace(measured(true, [(KIND.HEIGHT, "H")])[0], sigma=0.9)]
    net = network(known, poor)
    survey = adjust(net, start=np.array([start[n] for n in net.names]))
    assert survey.loose == ()
    assert survey.sigma_of("H")[2] == pytest.approx(0.9, rel=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_random_networks_held_nowhere(seed):
    """Whatever the readings leave free beside the whole is counted as the pseudo-inverse counts it."""
    net, true = random_network(seed)
    free = replace(net, known={}, datum=Datum.FREE)
    survey = adjust(free, start=true)
    model = compile_model(free)
    _, slopes = weighted(model, survey.xyz)
    jacobian = np.zeros((model.rows, survey.xyz.size))
    for end in range(model.ends.shape[1]):
        for axis in range(3):
            np.add.at(
                jacobian,
                (np.arange(model.rows), 3 * model.ends[:, end] + axis),
                slopes.reshape(model.rows, -1, 3)[:, end, axis],
            )
    values = np.linalg.svd(jacobian, compute_uv=False)
    assert survey.freedom == model.rows - np.count_nonzero(values > 1 / 4)  # 1/size; all or nothing here
