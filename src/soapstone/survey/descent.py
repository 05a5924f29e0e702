"""Damped Gauss-Newton over the whole network, on a banded normal matrix.

Points are renumbered (reverse Cuthill-McKee) so that the normal matrix has a narrow band; its cost then
grows with the number of points, not with its cube. Damping after Levenberg and Marquardt.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cho_solve_banded, cholesky_banded
from scipy.sparse import coo_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

from soapstone.survey.index import Array, Index
from soapstone.survey.model import Model
from soapstone.survey.shown import evaluate

_STEPS = 200
_STILL = 1e-12  # of the size of the job: the last digits of its coordinates
_FIRST = 1e-6  # damping of the first step, in parts of the diagonal: hardly any
_NEARBY = 1e-5  # of the size of the job: a step this small hardly changes the derivatives
_HOPELESS = 1e12  # damping beyond which no step improves: the bottom, to the last digit


@dataclass(frozen=True)
class Layout:
    """Where each coordinate stands in the normal matrix.

    Attributes
    ----------
    columns : (n, 3)
        Column of each coordinate, -1 for a held point.
    size : int
        Number of unknowns.
    band : int
        Number of stored diagonals, the main one included.
    row_columns : (m, 3 w)
        The columns of each row's points, -1 for one that is held or not used.
    pairs : (k,)
        Which of the m * (3 w)^2 products of a row's derivatives are kept.
    targets : (k,)
        Where they add up in the band storage.
    """

    columns: Index
    size: int
    band: int
    row_columns: Index
    pairs: Index
    targets: Index


def lay_out(model: Model, held: NDArray[np.bool_]) -> Layout:
    """Number the unknowns for a narrow band."""
    columns = _numbered(model, held)
    size = 3 * int(np.count_nonzero(~held))
    row_columns = np.where(model.used[:, :, None], columns[model.ends], -1).reshape(
        model.rows, 3 * model.ends.shape[1]
    )
    wide = row_columns.shape[1]
    low = np.broadcast_to(row_columns[:, :, None], (model.rows, wide, wide))
    high = np.broadcast_to(row_columns[:, None, :], (model.rows, wide, wide))
    pairs = np.flatnonzero((high >= 0) & (low >= high))
    row, column = low.ravel()[pairs], high.ravel()[pairs]
    band = int((row - column).max(initial=0)) + 1
    return Layout(columns, size, band, row_columns, pairs, (row - column) * size + column)


def _numbered(model: Model, held: NDArray[np.bool_]) -> Index:
    count = len(held)
    wide = model.ends.shape[1]
    rows, others = np.repeat(model.ends, wide, axis=1).ravel(), np.tile(model.ends, wide).ravel()
    free = ~held[rows] & ~held[others]
    ends = rows[free], others[free]
    graph = coo_array((np.ones(len(ends[0])), ends), shape=(count, count)).tocsr()
    order = reverse_cuthill_mckee(graph, symmetric_mode=True)
    order = order[~held[order]]
    columns = np.full((count, 3), -1, dtype=np.intp)
    columns[order] = np.arange(3 * len(order)).reshape(-1, 3)
    return columns


def weighted(model: Model, xyz: Array) -> tuple[Array, Array]:
    """Misfit of each row, (m,), and its derivatives, (m, 3 w), in standard deviations of the reading."""
    shown, slopes = evaluate(model, xyz)
    return (shown - model.value) / model.sigma, slopes.reshape(
        model.rows, 3 * model.ends.shape[1]
    ) / model.sigma[:, None]


def normal_band(layout: Layout, slopes: Array) -> Array:
    """The normal matrix in lower band storage, (band, size)."""
    products = (slopes[:, :, None] * slopes[:, None, :]).ravel()[layout.pairs]
    flat = np.bincount(layout.targets, products, layout.band * layout.size).astype(float)
    band: Array = flat.reshape(layout.band, layout.size)
    return band


def _gradient(layout: Layout, misfit: Array, slopes: Array) -> Array:
    free = layout.row_columns >= 0
    products = slopes * misfit[:, None]
    return np.bincount(layout.row_columns[free], products[free], layout.size).astype(float)


def descend(model: Model, layout: Layout, xyz: Array, size: float, still: float = _STILL) -> Array:
    """The least-squares coordinates nearest downhill of a start.

    Parameters
    ----------
    model : Model
    layout : Layout
    xyz : (n, 3) m
        Start; held points keep it.
    size : float, m
        A length of the order of the job.
    still : float
        A step smaller than this part of `size` ends the descent.

    Returns
    -------
    xyz : (n, 3) m
    """
    xyz = xyz.copy()
    if layout.size == 0:
        return xyz
    damping, growth = _FIRST, 2.0
    misfit, slopes = weighted(model, xyz)
    factor, last = None, np.inf
    for _ in range(_STEPS):
        if factor is None or last > _NEARBY * size:  # close to the answer the last factor serves on
            factor, damping = _factored(normal_band(layout, slopes), damping)
        step = -cho_solve_banded((factor, True), _gradient(layout, misfit, slopes), check_finite=False)
        trial = _moved(layout, xyz, step)
        new_misfit, new_slopes = weighted(model, trial)
        last = float(np.abs(step).max())
        small = last < still * size
        if new_misfit @ new_misfit <= misfit @ misfit:
            xyz, misfit, slopes = trial, new_misfit, new_slopes
            damping, growth = damping / 1000, 2.0
            if small:
                break
        else:
            damping, growth = max(damping, 1e-6) * growth**2, 2 * growth
            factor = None
            if small or damping > _HOPELESS:
                break
    return xyz


def _factored(band: Array, damping: float) -> tuple[Array, float]:
    """Cholesky factor of the damped normal matrix, and the damping that it took."""
    diagonal = band[0]
    floor = np.maximum(diagonal, 1e-9 * diagonal.max() or 1.0)  # nothing at all moves nothing
    while True:
        stiffened = band.copy()
        stiffened[0] += max(damping, 1e-15) * floor
        try:
            return cholesky_banded(stiffened, lower=True, overwrite_ab=True, check_finite=False), damping
        except LinAlgError:
            damping = max(damping, 1e-15) * 10


def _moved(layout: Layout, xyz: Array, step: Array) -> Array:
    free = layout.columns[:, 0] >= 0
    moved = xyz.copy()
    moved[free] += step[layout.columns[free]]
    return moved


def fit_sum(model: Model, xyz: Array) -> float:
    """The weighted sum of squared misfits."""
    shown, _ = evaluate(model, xyz)
    misfit = (shown - model.value) / model.sigma
    return float(misfit @ misfit)
