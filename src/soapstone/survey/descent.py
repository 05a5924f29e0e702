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

from soapstone.survey.model import Index, Model, evaluate
from soapstone.survey.records import Array

_STEPS = 200
_STILL = 1e-12  # of the size of the job: the last digits of its coordinates
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
    row_columns : (m, 6)
        The columns of each row's two points.
    pairs : (k,)
        Which of the m * 36 products of a row's derivatives are kept.
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
    row_columns = np.concatenate([columns[model.first], columns[model.second]], axis=1)
    low = np.broadcast_to(row_columns[:, :, None], (model.rows, 6, 6))
    high = np.broadcast_to(row_columns[:, None, :], (model.rows, 6, 6))
    pairs = np.flatnonzero((high >= 0) & (low >= high))
    row, column = low.ravel()[pairs], high.ravel()[pairs]
    band = int((row - column).max(initial=0)) + 1
    return Layout(columns, size, band, row_columns, pairs, (row - column) * size + column)


def _numbered(model: Model, held: NDArray[np.bool_]) -> Index:
    count = len(held)
    ones = np.ones(2 * model.rows)
    ends = np.concatenate([model.first, model.second]), np.concatenate([model.second, model.first])
    graph = coo_array((ones, ends), shape=(count, count)).tocsr()
    order = reverse_cuthill_mckee(graph, symmetric_mode=True)
    order = order[~held[order]]
    columns = np.full((count, 3), -1, dtype=np.intp)
    columns[order] = np.arange(3 * len(order)).reshape(-1, 3)
    return columns


def weighted(model: Model, xyz: Array) -> tuple[Array, Array]:
    """Misfit of each row, (m,), and its six derivatives, (m, 6), in standard deviations of the reading."""
    shown, by_first, by_second = evaluate(model, xyz)
    slopes = np.concatenate([by_first, by_second], axis=1) / model.sigma[:, None]
    return (shown - model.value) / model.sigma, slopes


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
    damping, growth = 1e-3, 2.0
    misfit, slopes = weighted(model, xyz)
    for _ in range(_STEPS):
        band, gradient = normal_band(layout, slopes), _gradient(layout, misfit, slopes)
        step = _damped_step(band, gradient, damping)
        while step is None:
            damping, step = damping * 10, _damped_step(band, gradient, damping * 10)
        trial = _moved(layout, xyz, step)
        new_misfit, new_slopes = weighted(model, trial)
        small = float(np.abs(step).max()) < still * size
        if new_misfit @ new_misfit <= misfit @ misfit:
            xyz, misfit, slopes = trial, new_misfit, new_slopes
            damping, growth = damping / 10, 2.0
            if small:
                break
        else:
            damping, growth = max(damping, 1e-9) * growth, 2 * growth
            if small or damping > _HOPELESS:
                break
    return xyz


def _damped_step(band: Array, gradient: Array, damping: float) -> Array | None:
    diagonal = band[0]
    if not diagonal.any():
        return np.zeros_like(gradient)
    stiffened = band.copy()
    stiffened[0] += max(damping, 1e-15) * np.maximum(diagonal, 1e-9 * diagonal.max())
    try:
        factor = cholesky_banded(stiffened, lower=True, overwrite_ab=True, check_finite=False)
    except LinAlgError:
        return None
    step: Array = -cho_solve_banded((factor, True), gradient, check_finite=False)
    return step


def _moved(layout: Layout, xyz: Array, step: Array) -> Array:
    free = layout.columns[:, 0] >= 0
    moved = xyz.copy()
    moved[free] += step[layout.columns[free]]
    return moved


def fit_sum(model: Model, xyz: Array) -> float:
    """The weighted sum of squared misfits."""
    shown, _, _ = evaluate(model, xyz)
    misfit = (shown - model.value) / model.sigma
    return float(misfit @ misfit)
