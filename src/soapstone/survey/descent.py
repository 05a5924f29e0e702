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
_HELD = 1e-9  # what nothing holds is damped by this part of the diagonal, or rounding would drive it about
_EVEN = 1e-13  # change of the sum that rounding of the misfits alone can make
_HOPELESS = 1e12  # damping beyond which no step improves: the bottom, to the last digit


@dataclass(frozen=True)
class Pair:
    """What two ends of the rows add to the normal matrix.

    Attributes
    ----------
    rows : (r,)
        Those where both ends can move.
    left, right : (k,)
        Which of a row's derivatives are multiplied: 9 for two points, 6 for one with itself.
    targets : (r k,)
        Where the products add up in the band storage.
    """

    rows: Index
    left: Index
    right: Index
    targets: Index


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
    pairs : tuple of Pair
    """

    columns: Index
    size: int
    band: int
    row_columns: Index
    pairs: tuple[Pair, ...]


def lay_out(model: Model, held: NDArray[np.bool_]) -> Layout:
    """Number the unknowns for a narrow band."""
    columns = _numbered(model, held)
    size = 3 * int(np.count_nonzero(~held))
    wide = model.ends.shape[1]
    first = np.where(model.used, columns[model.ends, 0], -1)  # the column of each end's x
    row_columns = np.where(first[:, :, None] >= 0, first[:, :, None] + np.arange(3), -1)
    ranges = first.max(axis=1, initial=-1) - np.where(first < 0, size, first).min(axis=1, initial=size)
    band = min(int(ranges.max(initial=0)) + 3, max(size, 1))
    pairs = (_pair(first, one, two, size) for one in range(wide) for two in range(one, wide))
    kept = tuple(pair for pair in pairs if len(pair.rows))
    return Layout(columns, size, band, row_columns.reshape(model.rows, 3 * wide), kept)


def _pair(first: Index, one: int, two: int, size: int) -> Pair:
    rows = np.flatnonzero((first[:, one] >= 0) & (first[:, two] >= 0))
    left, right = np.tril_indices(3) if one == two else np.divmod(np.arange(9), 3)
    row, column = first[rows, one, None] + left, first[rows, two, None] + right
    targets = np.abs(row - column) * size + np.minimum(row, column)
    return Pair(rows, 3 * one + left, 3 * two + right, targets.ravel())


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
    flat = np.zeros(layout.band * layout.size)
    for pair in layout.pairs:
        own = slopes[pair.rows]
        products = own[:, pair.left] * own[:, pair.right]
        flat += np.bincount(pair.targets, products.ravel(), len(flat))
    return flat.reshape(layout.band, layout.size)


def _gradient(layout: Layout, misfit: Array, slopes: Array) -> Array:
    held = layout.size  # one place more takes what belongs to no unknown
    places = np.where(layout.row_columns >= 0, layout.row_columns, held)
    sums = np.bincount(places.ravel(), (slopes * misfit[:, None]).ravel(), layout.size + 1)
    gradient: Array = np.asarray(sums[:-1], dtype=float)
    return gradient


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
    factor, before, last, bumpy = None, np.inf, np.inf, False
    for _ in range(_STEPS):
        if factor is None or last > min(_NEARBY * size, before / 10):  # else the last factor serves on
            factor, damping = _factored(normal_band(layout, slopes), damping)
        step = -cho_solve_banded((factor, True), _gradient(layout, misfit, slopes), check_finite=False)
        trial = _moved(layout, xyz, step)
        new_misfit, new_slopes = weighted(model, trial)
        before, last = last, float(np.abs(step).max())
        small, close = last < still * size, last <= _NEARBY * size
        old, new = float(misfit @ misfit), float(new_misfit @ new_misfit)
        even = close and abs(new - old) <= _EVEN * old
        if new <= old or even:
            gain = _gain(layout, misfit, slopes, step, old - new) if bumpy and not even else 1.0
            xyz, misfit, slopes = trial, new_misfit, new_slopes
            damping, growth = damping * max(1e-3, 1 - (2 * gain - 1) ** 3), 2.0
            if small or (even and before <= last < 1e-8 * size):  # only rounding moves it still
                break
        else:
            damping, growth = max(damping, _HELD) * growth**2, 2 * growth
            factor, bumpy = None, True
            if small or damping > _HOPELESS:
                break
    return xyz


def _gain(layout: Layout, misfit: Array, slopes: Array, step: Array, fall: float) -> float:
    """Fall of the sum in parts of what the derivatives promised.

    Where they promise too much a damping that helped is kept (H. B. Nielsen, *Damping Parameter in
    Marquardt's Method*, 1999): in a curved valley the undamped step would overshoot each time anew.
    """
    moves = np.append(step, 0.0)[layout.row_columns]  # the last place stands for what does not move
    linear = misfit + np.sum(slopes * moves, axis=1)
    promised = float(misfit @ misfit - linear @ linear)
    return fall / promised if promised > 0 else 1.0


def _factored(band: Array, damping: float) -> tuple[Array, float]:
    """Cholesky factor of the damped normal matrix, and the damping that it took."""
    diagonal = band[0]
    floor = np.maximum(diagonal, 1e-9 * diagonal.max() or 1.0)  # nothing at all moves nothing
    while True:
        stiffened = band.copy()
        stiffened[0] += max(damping, 1e-15) * floor
        try:
            factor = cholesky_banded(stiffened, lower=True, overwrite_ab=True, check_finite=False)
        except LinAlgError:
            damping = max(damping, 1e-15) * 10
            continue
        if damping >= _HELD or np.all(factor[0] ** 2 > _HELD * floor):
            return factor, damping
        damping = _HELD


def _moved(layout: Layout, xyz: Array, step: Array) -> Array:
    free = layout.columns[:, 0] >= 0
    moved = xyz.copy()
    moved[free] += step[layout.columns[free]]
    return moved


def unrest(layout: Layout, misfit: Array, slopes: Array) -> float:
    """By how much the weighted sum would still fall with one more step: next to nothing at the bottom.

    What nothing holds is left out, as in the descent.
    """
    if layout.size == 0:
        return 0.0
    gradient = _gradient(layout, misfit, slopes)
    factor, _ = _factored(normal_band(layout, slopes), _HELD)
    return float(gradient @ cho_solve_banded((factor, True), gradient, check_finite=False))


def fit_sum(model: Model, xyz: Array) -> float:
    """The weighted sum of squared misfits."""
    shown, _ = evaluate(model, xyz)
    misfit = (shown - model.value) / model.sigma
    return float(misfit @ misfit)
