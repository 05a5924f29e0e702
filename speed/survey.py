"""Adjustment of a large network beside a general least-squares solver, from the same start in the same run.

Ours also gives covariance, redundancy numbers and standardised residuals; the peer gives coordinates only.
"""

import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import least_squares
from scipy.sparse import coo_array

from soapstone.survey import Network, Reading, ReadingKind, adjust
from soapstone.survey.model import Model, compile_model, evaluate

POINTS, READINGS = 300, 2000
KNOWN = 6
AGREEMENT = 1e-5  # m; the peer stops at its default tolerances of 1e-8 of the sum of squares
ROUNDS = 3


def measure() -> list[dict[str, Any]]:
    """Time ours against the solver's defaults, and against the solver given our sparse derivatives."""
    network, start = band_network(POINTS, READINGS)
    ours, plain, sparse = [], [], []
    for lap in range(ROUNDS):
        mine, survey = _timed(lambda: adjust(network, start=start))
        ours.append(mine)
        if lap == 0:  # minutes would pass for nothing: the default is far from the goal's edge
            plain.append(_timed(lambda: _peer(network, start, derivatives=False))[0])
        took, theirs = _timed(lambda: _peer(network, start, derivatives=True))
        sparse.append(took)
        if np.abs(theirs - survey.xyz).max() > AGREEMENT:
            raise RuntimeError("the two adjustments differ")
    mine = statistics.median(ours)
    return [
        _row(
            "survey-default", "scipy.optimize.least_squares, defaults", mine, statistics.median(plain), 50.0
        ),
        _row(
            "survey-sparse",
            "scipy.optimize.least_squares, our sparse derivatives",
            mine,
            statistics.median(sparse),
            4.0,
        ),
    ]


def _row(name: str, peer: str, mine: float, theirs: float, goal: float) -> dict[str, Any]:
    return {
        "id": name,
        "room": "survey",
        "what": "least-squares points of a network with covariance",
        "size": f"{POINTS} points, {READINGS} readings",
        "ours_s": mine,
        "peer": peer,
        "peer_s": theirs,
        "ratio": theirs / mine,
        "goal": goal,
        "holds": theirs / mine >= goal,
    }


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    begin = time.perf_counter()
    result = work()
    return time.perf_counter() - begin, result


def band_network(points: int, readings: int) -> tuple[Network, np.ndarray]:
    """An invented long frame: each point is measured to its neighbours along it; with a start 5 mm off."""
    chance = np.random.default_rng(0)
    xyz = np.stack(
        [
            np.linspace(0, points / 25, points),
            chance.uniform(-0.6, 0.6, points),
            chance.uniform(0, 0.8, points),
        ],
        axis=1,
    )
    names = tuple(f"P{i}" for i in range(points))
    pairs = [(i, j) for i in range(points) for j in range(i + 1, min(i + 9, points))]
    kept = sorted(chance.choice(len(pairs), readings - points, replace=False))
    rows = [_tape(names, xyz, *pairs[k], chance) for k in kept]
    heights = xyz[:, 2] + 0.0005 * chance.normal(size=points)
    rows += [
        Reading(ReadingKind.HEIGHT, (n,), float(z), 0.0005, f"height {n}")
        for n, z in zip(names, heights, strict=True)
    ]
    known = {names[i]: xyz[i] for i in range(KNOWN)}
    return Network(names, known, tuple(rows)), xyz + 0.005 * chance.uniform(-1, 1, xyz.shape)


def _tape(names: tuple[str, ...], xyz: np.ndarray, i: int, j: int, chance: np.random.Generator) -> Reading:
    value = float(np.linalg.norm(xyz[i] - xyz[j]) + 0.001 * chance.normal())
    return Reading(ReadingKind.TAPE, (names[i], names[j]), value, 0.001, f"tape {names[i]} {names[j]}")


def _peer(network: Network, start: np.ndarray, *, derivatives: bool) -> np.ndarray:
    model = compile_model(network)
    xyz = start.copy()
    free = np.array([n not in network.known for n in network.names])
    for i, name in enumerate(network.names):
        if name in network.known:
            xyz[i] = network.known[name]

    def placed(unknown: np.ndarray) -> np.ndarray:
        xyz[free] = unknown.reshape(-1, 3)
        return xyz

    def misfit(unknown: np.ndarray) -> np.ndarray:
        return (evaluate(model, placed(unknown))[0] - model.value) / model.sigma

    def slopes(unknown: np.ndarray) -> coo_array:
        return _derivatives(model, placed(unknown), free)

    more: dict[str, Any] = {"jac": slopes} if derivatives else {}
    found = least_squares(misfit, start[free].ravel(), **more)
    return placed(found.x).copy()


def _derivatives(model: Model, xyz: np.ndarray, free: np.ndarray) -> coo_array:
    columns = np.full((len(xyz), 3), -1)
    columns[free] = np.arange(3 * int(free.sum())).reshape(-1, 3)
    _, first, second = evaluate(model, xyz)
    entries = np.concatenate([first, second], axis=1) / model.sigma[:, None]
    places = np.concatenate([columns[model.first], columns[model.second]], axis=1)
    rows = np.broadcast_to(np.arange(model.rows)[:, None], places.shape)
    kept = places >= 0
    shape = (model.rows, 3 * int(free.sum()))
    return coo_array((entries[kept], (rows[kept], places[kept])), shape=shape).tocsr()
