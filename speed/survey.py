"""Adjustment of a large network beside a general least-squares solver, from the same start in the same run.

Ours also gives covariance, redundancy numbers and standardised residuals; the peer gives coordinates only.
The peer is stopped after its first step (it would take several): its time is a lower bound.
"""

import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from soapstone.survey import Network, Reading, ReadingKind, adjust
from soapstone.survey.model import compile_model, evaluate

POINTS, READINGS = 300, 2000
KNOWN = 6
GOAL = 50.0
AGREEMENT = 1e-6  # m; the peer stops at its default tolerances
LAPS = 5


def measure() -> list[dict[str, Any]]:
    """Ours in full against the first step of the solver; both must agree on a small network."""
    _agree(*band_network(30, 200))
    network, start = band_network(POINTS, READINGS)
    mine = statistics.median(_timed(lambda: adjust(network, start=start))[0] for _ in range(LAPS))
    theirs, _ = _timed(lambda: _peer(network, start, most=2))
    return [_row("survey-default", "scipy.optimize.least_squares, defaults, first step only", mine, theirs)]


def _agree(network: Network, start: np.ndarray) -> None:
    if np.abs(_peer(network, start) - adjust(network, start=start).xyz).max() > AGREEMENT:
        raise RuntimeError("the two adjustments differ")


def _row(name: str, peer: str, mine: float, theirs: float) -> dict[str, Any]:
    return {
        "id": name,
        "room": "survey",
        "what": "least-squares points of a network with covariance",
        "size": f"{POINTS} points, {READINGS} readings",
        "ours_s": mine,
        "peer": peer,
        "peer_s": theirs,
        "ratio": theirs / mine,
        "goal": GOAL,
        "holds": theirs / mine >= GOAL,
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


def _peer(network: Network, start: np.ndarray, most: int | None = None) -> np.ndarray:
    model = compile_model(network)
    xyz = np.array([network.known.get(name, at) for name, at in zip(network.names, start, strict=True)])
    free = np.array([name not in network.known for name in network.names])

    def misfit(unknown: np.ndarray) -> np.ndarray:
        xyz[free] = unknown.reshape(-1, 3)
        return (evaluate(model, xyz)[0] - model.value) / model.sigma

    found = least_squares(misfit, start[free].ravel(), max_nfev=most)
    xyz[free] = found.x.reshape(-1, 3)
    return xyz
