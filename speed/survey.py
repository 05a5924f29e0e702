"""Adjustment of a large network beside a general least-squares solver, from the same start in the same run.

Ours also gives covariance, redundancy numbers and standardised residuals; the peer gives coordinates only.
With its default derivatives the peer is stopped after its first step (it would take several): that time is
a lower bound. With our sparse derivatives it runs to its default tolerances.
"""

import gc
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import least_squares
from scipy.sparse import coo_array, csr_array

from soapstone.survey import Network, Reading, ReadingKind, adjust
from soapstone.survey.model import compile_model
from soapstone.survey.shown import evaluate

POINTS, READINGS = 300, 2000
KNOWN = 6  # spread along every 300 points
GOAL = 50.0
SPARSE_GOAL = 4.0
AGREEMENT = 1e-6  # m; the peer stops where it gains less than one part in 10^12
LAPS = 5
WORK_LAPS = 12  # the least of these counts: whatever else runs, some of them go undisturbed


def measure() -> list[dict[str, Any]]:
    """Ours in full against both solvers, which must agree on a small network; and how ours grows."""
    _agree(*band_network(30, 200))
    network, start = band_network(POINTS, READINGS)
    mine = _median(network, start)
    theirs, _ = _timed(lambda: _peer(network, start, most=2))
    sparse, _ = _timed(lambda: _peer(network, start, sparse=True))
    short = _work(network, start)
    long = band_network(10 * POINTS, 10 * READINGS)
    return [
        _row("survey-default", "scipy.optimize.least_squares, defaults, first step only", mine, theirs, GOAL),
        _row(
            "survey-sparse",
            "scipy.optimize.least_squares, same sparse derivatives",
            mine,
            sparse,
            SPARSE_GOAL,
        ),
        _row("survey-growth", "ours, ten times a network a tenth as long", _work(*long), 10 * short, 1.0)
        | {"size": f"{10 * POINTS} points, {10 * READINGS} readings"},
    ]


def _work(network: Network, start: np.ndarray) -> float:
    """Least time of one thread: growth shall not hang on what else the machine does."""
    spent = []
    gc.disable()  # as timeit does
    try:
        for _ in range(WORK_LAPS):
            begin = time.thread_time()
            adjust(network, start=start)
            spent.append(time.thread_time() - begin)
    finally:
        gc.enable()
    return min(spent)


def _median(network: Network, start: np.ndarray) -> float:
    return statistics.median(_timed(lambda: adjust(network, start=start))[0] for _ in range(LAPS))


def _agree(network: Network, start: np.ndarray) -> None:
    for sparse in (False, True):
        theirs = _peer(network, start, sparse=sparse, strict=True)
        if np.abs(theirs - adjust(network, start=start).xyz).max() > AGREEMENT:
            raise RuntimeError("the adjustments differ")


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
    known = {names[i]: xyz[i] for i in range(0, points, points // KNOWN if points < 300 else 300 // KNOWN)}
    return Network(names, known, tuple(rows)), xyz + 0.005 * chance.uniform(-1, 1, xyz.shape)


def _tape(names: tuple[str, ...], xyz: np.ndarray, i: int, j: int, chance: np.random.Generator) -> Reading:
    value = float(np.linalg.norm(xyz[i] - xyz[j]) + 0.001 * chance.normal())
    return Reading(ReadingKind.TAPE, (names[i], names[j]), value, 0.001, f"tape {names[i]} {names[j]}")


def _peer(
    network: Network,
    start: np.ndarray,
    most: int | None = None,
    *,
    sparse: bool = False,
    strict: bool = False,
) -> np.ndarray:
    model = compile_model(network)
    xyz = np.array([network.known.get(name, at) for name, at in zip(network.names, start, strict=True)])
    free = np.array([name not in network.known for name in network.names])
    columns = np.full((len(free), 3), -1)
    columns[free] = np.arange(3 * np.count_nonzero(free)).reshape(-1, 3)
    of_row = np.where(model.used[:, :, None], columns[model.ends], -1).reshape(model.rows, -1)
    kept = of_row >= 0
    places = np.broadcast_to(np.arange(model.rows)[:, None], of_row.shape)[kept], of_row[kept]

    def moved(unknown: np.ndarray) -> np.ndarray:
        xyz[free] = unknown.reshape(-1, 3)
        return xyz

    def misfit(unknown: np.ndarray) -> np.ndarray:
        return (evaluate(model, moved(unknown))[0] - model.value) / model.sigma

    def slopes(unknown: np.ndarray) -> csr_array:
        by_end = evaluate(model, moved(unknown))[1].reshape(model.rows, -1) / model.sigma[:, None]
        return coo_array((by_end[kept], places), shape=(model.rows, unknown.size)).tocsr()

    tolerances = {"ftol": 1e-12, "xtol": 1e-12, "gtol": 1e-12} if strict else {}
    derivatives = {"jac": slopes} if sparse else {}
    found = least_squares(misfit, start[free].ravel(), max_nfev=most, **derivatives, **tolerances)
    return moved(found.x).copy()
