"""Cholesky factor of a banded matrix that may be singular: unknowns without support get a spring.

Where a pivot all but vanishes, nothing before holds that unknown; a weak spring on it lets the work go on.
Which springs were needed tells afterwards what is free to move (C. Farhat and M. Géradin, *On the general
solution by a direct method of a large-scale singular system of linear equations*, 1998).
"""

import numpy as np
from scipy.linalg import LinAlgError, cholesky, solve_triangular

from soapstone.survey.index import Array, Index

# Pivot, in parts of the diagonal, below which a spring is put on; more than needed do no harm.
_VANISHING = 1e-9
_GENEROUS = 1e3  # times what counts as none: a displacement is felt at each of its unknowns in part only
# Its stiffness in parts of the diagonal: strong enough to solve with, weak enough to keep digits.
SPRING = 1e-3


def springs_for(band: Array, soft: float) -> tuple[Index, Array]:
    """Unknowns that need a spring, (d,), and their stiffness, (d,), so that a banded matrix can be factored.

    Parameters
    ----------
    band : (b, u)
        Lower band storage.
    soft : float
        What counts as no support, in the unit of the matrix.
    """
    width, size = max(len(band) - 1, 1), band.shape[1]
    diagonal = np.where(band[0] > 0, band[0], float(band[0].max(initial=0.0)) or 1.0)
    least = np.maximum(_VANISHING * diagonal, _GENEROUS * soft)
    springs: list[int] = []
    carried = np.zeros((width, width))
    for start in range(0, size, width):
        end = min(start + width, size)
        block = _block(band, start, end, start, end)
        block = block + np.tril(block, -1).T - carried[: end - start, : end - start]
        factor, weak = _factored(block, diagonal[start:end], least[start:end])
        springs += [start + k for k in weak]
        after = min(end + width, size)
        below = _block(band, end, after, start, end)
        reach = solve_triangular(factor, below.T, lower=True, check_finite=False)
        carried = reach.T @ reach
    found = np.array(springs, dtype=np.intp)
    return found, SPRING * diagonal[found]


def _block(band: Array, first: int, last: int, left: int, right: int) -> Array:
    """Rows `first` to `last` and columns `left` to `right` of the lower triangle."""
    row, column = np.arange(first, last)[:, None], np.arange(left, right)[None, :]
    apart = row - column
    inside = (apart >= 0) & (apart < len(band))
    block: Array = np.where(inside, band[np.where(inside, apart, 0), column], 0.0)
    return block


def _factored(block: Array, diagonal: Array, least: Array) -> tuple[Array, list[int]]:
    try:
        factor = cholesky(block, lower=True, check_finite=False)
    except LinAlgError:
        return _pivot_by_pivot(block, diagonal, least)
    if np.all(np.diag(factor) ** 2 > least):
        return factor, []
    return _pivot_by_pivot(block, diagonal, least)


def _pivot_by_pivot(block: Array, diagonal: Array, least: Array) -> tuple[Array, list[int]]:
    left, weak = block.copy(), []
    factor = np.zeros_like(block)
    for k in range(len(block)):
        if left[k, k] <= least[k]:
            left[k, k] = max(left[k, k], 0.0) + SPRING * diagonal[k]
            weak.append(k)
        factor[k:, k] = left[k:, k] / np.sqrt(left[k, k])
        left[k + 1 :, k + 1 :] -= np.outer(factor[k + 1 :, k], factor[k + 1 :, k])
    return factor, weak
