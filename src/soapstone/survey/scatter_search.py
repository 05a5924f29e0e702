"""Least squares for a few unknowns from many starts at once.

Every start is one slice of the arrays; all descend together, damped each on its own.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from soapstone.survey.index import Array

Function = Callable[[Array], tuple[Array, Array]]


def descend_together(
    function: Function, starts: Array, *, steps: int = 60, still: float = 1e-9
) -> tuple[Array, Array]:
    """Damped Gauss-Newton (Levenberg-Marquardt) from every start.

    Parameters
    ----------
    function : callable
        Takes (s, p) unknowns, returns misfits (s, m) and derivatives (s, m, p).
    starts : (s, p)
    steps : int
        Most steps taken.
    still : float
        A step smaller than this (in the unit of the unknowns) ends a descent.

    Returns
    -------
    ends : (s, p)
    sums : (s,)
        Sum of squared misfits at each end.
    """
    ends = starts.astype(float).copy()
    sums = np.empty(len(ends))
    active = np.arange(len(ends))
    damping = np.full(len(ends), 1e-2)
    misfit, slopes = function(ends)
    sums[:] = np.sum(misfit**2, axis=1)
    for _ in range(steps):
        step = _damped_steps(misfit, slopes, damping[active])
        trial = ends[active] + step
        new_misfit, new_slopes = function(trial)
        new_sums = np.sum(new_misfit**2, axis=1)
        better = new_sums <= sums[active]
        moved = active[better]
        ends[moved], sums[moved] = trial[better], new_sums[better]
        misfit = np.where(better[:, None], new_misfit, misfit)
        slopes = np.where(better[:, None, None], new_slopes, slopes)
        damping[active] *= np.where(better, 0.2, 4.0)
        going = (np.abs(step).max(axis=1) > still) & (damping[active] < 1e12)
        active, misfit, slopes = active[going], misfit[going], slopes[going]
        if not len(active):
            break
    return ends, sums


def _damped_steps(misfit: Array, slopes: Array, damping: Array) -> Array:
    turned = np.swapaxes(slopes, 1, 2)
    normal: NDArray[np.floating] = turned @ slopes
    diagonal = np.diagonal(normal, axis1=1, axis2=2)
    floor = np.maximum(diagonal, 1e-9 * diagonal.max(axis=1, keepdims=True) + 1e-300)
    places = np.arange(normal.shape[1])
    normal[:, places, places] += np.maximum(damping, 1e-13)[:, None] * floor
    steps: Array = -np.linalg.solve(normal, turned @ misfit[:, :, None])[:, :, 0]
    return steps


def distinct(ends: Array, sums: Array, apart: float) -> list[int]:
    """Indices of different ends, best first; ends closer than `apart` in every unknown count as one."""
    kept: list[int] = []
    for i in np.argsort(sums, kind="stable"):
        if all(np.abs(ends[i] - ends[k]).max() > apart for k in kept):
            kept.append(int(i))
    return kept
