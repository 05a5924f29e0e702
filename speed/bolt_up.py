"""Whether four bolts go in, 100,000 tries, side by side with two general solvers of convex problems.

Each side is given the same errors and answers with the least worst miss of every try; the peers solve a part
of the tries, one after another, and their time is scaled to all of them.

- scipy.optimize.minimize (SLSQP): the cones squared, with exact derivatives, from a start inside them.
- clarabel: the cone program itself, a new solver for each try, as a user of the library would write it.
"""

import statistics
import time
from typing import Any

import clarabel
import numpy as np
from scipy import sparse
from scipy.optimize import minimize

from soapstone.fit.shift import Gates, best_shift

TRIES = 100_000
ROOM = 0.5
PLACES = np.array([[200.0, 150.0], [200.0, -150.0], [-200.0, 150.0], [-200.0, -150.0]])
MOVES = np.array([[[1.0, 0.0, -y], [0.0, 1.0, x]] for x, y in PLACES])
GOAL = np.array([0.0, 0.0, 0.0, 1.0])


def by_slsqp(errors: np.ndarray) -> list[float]:
    """Least worst miss of each try; mm and thousandths of a radian, so that all unknowns are of one size."""
    moves = MOVES * [1.0, 1.0, 1e-3]

    def one(error: np.ndarray) -> float:
        def stray(z: np.ndarray) -> np.ndarray:
            return error - moves @ z[:3]

        def inside(z: np.ndarray) -> np.ndarray:
            return np.append((ROOM + z[3]) ** 2 - (stray(z) ** 2).sum(1), ROOM + z[3])

        def slope(z: np.ndarray) -> np.ndarray:
            out = np.zeros((5, 4))
            out[:4, :3] = 2.0 * np.einsum("ij,ijk->ik", stray(z), moves)
            out[:4, 3] = 2.0 * (ROOM + z[3])
            out[4, 3] = 1.0
            return out

        start = np.append(np.zeros(3), np.linalg.norm(error, axis=1).max())
        rule = {"type": "ineq", "fun": inside, "jac": slope}
        options = {"ftol": 1e-12, "maxiter": 200}
        return float(
            minimize(
                lambda z: z[3], start, jac=lambda z: GOAL, constraints=rule, method="SLSQP", options=options
            ).x[3]
        )

    return [one(error) for error in errors]


def by_clarabel(errors: np.ndarray) -> list[float]:
    """Least worst miss of each try."""
    rows = np.zeros((12, 4))
    rows[::3, 3] = -1.0
    rows[1::3, :3], rows[2::3, :3] = MOVES[:, 0], MOVES[:, 1]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    matrix, nothing = sparse.csc_matrix(rows), sparse.csc_matrix((4, 4))
    cones = [clarabel.SecondOrderConeT(3)] * 4
    found = []
    for error in errors:
        right = np.column_stack([np.full(4, ROOM), error]).ravel()
        found.append(clarabel.DefaultSolver(nothing, GOAL, matrix, right, cones, settings).solve().x[3])
    return found


def measure() -> list[dict[str, Any]]:
    """One row for each peer."""
    errors = np.random.default_rng(0).normal(0.0, 1.0, (TRIES, 4, 2))
    gates = Gates(MOVES, np.full(4, ROOM))
    rows = []
    for key, peer, solver, sample, goal in (
        ("bolt-up-slsqp", "scipy SLSQP", by_slsqp, 300, 200.0),
        ("bolt-up-clarabel", "clarabel", by_clarabel, 2000, 5.0),
    ):
        ours, theirs = [], []
        for run in range(3):
            start = time.perf_counter()
            miss = best_shift(gates, errors).miss
            middle = time.perf_counter()
            at = slice(run * sample, (run + 1) * sample)
            found = np.array(solver(errors[at]))
            theirs.append((time.perf_counter() - middle) * TRIES / sample)
            ours.append(middle - start)
            worst = np.abs(found - miss[at]).max()
            if not worst < 1e-5:
                raise AssertionError(f"the two differ by {worst} mm")
        ratio = statistics.median(theirs) / statistics.median(ours)
        rows.append(
            {
                "id": key,
                "room": "fit",
                "what": "least worst miss of a pattern of four bolts, try by try",
                "size": f"{TRIES:,} tries",
                "ours_s": statistics.median(ours),
                "peer": peer,
                "peer_s": statistics.median(theirs),
                "ratio": ratio,
                "goal": goal,
                "holds": ratio >= goal,
            }
        )
    return rows
