"""The spread of points that readings hold only by their curvature.

A tape hardly tells how far a point stands off the plane of the others: square to it the length changes
with the square of the displacement. Then the spread that follows from the derivatives alone is wrong both
ways: off the plane far too large, along it too small. Here the readings are taken to the second order. The
stiffness is that of the mean over the spread itself (the Gaussian nearest to the truth; statistical
linearisation), and what the square terms do to the answer is added.

References: D. M. Bates, D. G. Watts, *Relative Curvature Measures of Nonlinearity* (1980); R. C. Booton,
*Nonlinear Control Systems with Random Inputs* (1954), both from memory.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import null_space

from soapstone.survey.index import Array, Index
from soapstone.survey.model import Model
from soapstone.survey.shown import evaluate

_STEP = 1e-6  # of the size of the job, for second derivatives from first ones: half the digits are left
_ROUNDS = 60  # the square root is found by halving, so that even a start 1e6 times off is near after 30
_MODES = 24  # the loosest ways to move: in the others no square term counts
# Chance bends a nearly flat body the wrong way as often as the right one, so that its curvature holds it less
# than the mean says: with a tenth, poses of a flat unit scatter about the truth as stated, with all of it
# 1.2 times (150 copies).
_TRUSTED = 0.1
_CLOSE = 1e-3  # part of the spread that another round may still change


@dataclass(frozen=True)
class Curved:
    """Spread to the second order.

    Attributes
    ----------
    covariance : (3n, 3n) m^2
    bent : (m,)
        Root mean square of what the square term adds to a reading, in its standard deviations.
    """

    covariance: Array
    bent: Array


def curved_spread(model: Model, xyz: Array, free: Array, size: float) -> Curved:
    """Covariance of all coordinates, with the readings' curvature.

    Parameters
    ----------
    model : Model
    xyz : (n, 3) m
        Where the derivatives are taken.
    free : (3n, f)
        Displacements that are no change of shape: left out.
    size : float, m
        Along what even the curvature leaves free the standard deviation is this.
    """
    slopes, bends = _derivatives(model, xyz, size)
    unknowns: Index = (3 * model.ends[:, :, None] + np.arange(3)).reshape(model.rows, -1)
    jacobian = np.zeros((model.rows, xyz.size))
    np.add.at(jacobian, (np.arange(model.rows)[:, None], unknowns), slopes)
    kept: Array = null_space(free.T) if free.size else np.eye(xyz.size)
    normal: Array = kept.T @ (jacobian.T @ jacobian) @ kept + np.eye(kept.shape[1]) / size**2
    stiffness, before = normal, np.inf
    for _ in range(_ROUNDS):
        covariance: Array = kept @ np.linalg.inv(stiffness) @ kept.T
        if abs(before - np.trace(covariance)) <= _CLOSE * np.trace(covariance):
            break
        before = np.trace(covariance)
        stiffness = (stiffness + normal + kept.T @ _stiffening(bends, unknowns, covariance) @ kept) / 2
    sizes, ways = np.linalg.eigh(covariance)
    modes = ways[:, -_MODES:] * np.sqrt(np.maximum(sizes[-_MODES:], 0.0))
    by_row = modes[unknowns]  # (m, 3 w, k)
    squares = np.einsum("mak,mab,mbl->mkl", by_row, bends, by_row, optimize=True)
    mean = 0.5 * np.einsum("mkk->m", squares)
    flat = squares.reshape(model.rows, -1) / np.sqrt(2.0)
    bent = np.sqrt(mean**2 + np.sum(flat**2, axis=1))
    answer = covariance @ jacobian.T  # how the coordinates answer to a change of each reading
    moved = np.column_stack([answer @ flat, answer @ mean])
    return Curved(covariance + moved @ moved.T, bent)


def _stiffening(bends: Array, unknowns: Index, covariance: Array) -> Array:
    """Mean of what the square terms add to the normal matrix over the spread."""
    own = covariance[unknowns[:, :, None], unknowns[:, None, :]]
    mean = 0.5 * np.einsum("mab,mab->m", bends, own)
    parts = _TRUSTED * (bends @ own @ bends + np.maximum(mean, 0.0)[:, None, None] * bends)
    whole = np.zeros_like(covariance)
    np.add.at(whole, (unknowns[:, :, None], unknowns[:, None, :]), parts)
    return whole


def _derivatives(model: Model, xyz: Array, size: float) -> tuple[Array, Array]:
    """First, (m, 3 w), and second, (m, 3 w, 3 w), of each reading by its own ends, in standard deviations."""
    wide = model.ends.shape[1]
    apart = replace(model, ends=np.arange(model.rows * wide).reshape(-1, wide))
    at = xyz[model.ends].reshape(-1, 3)
    scale = model.sigma[:, None]
    first = evaluate(apart, at)[1].reshape(model.rows, -1) / scale
    second = np.empty((model.rows, 3 * wide, 3 * wide))
    step = _STEP * size
    for end in range(wide):
        for axis in range(3):
            shift = np.zeros((model.rows, wide, 3))
            shift[:, end, axis] = step
            change = [evaluate(apart, at + way * shift.reshape(-1, 3))[1] for way in (1.0, -1.0)]
            second[:, 3 * end + axis] = (change[0] - change[1]).reshape(model.rows, -1) / (2 * step) / scale
    return first, (second + second.swapaxes(1, 2)) / 2
