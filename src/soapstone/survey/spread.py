"""How well the coordinates are known, and what the readings leave free."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, cholesky_banded, orth

from soapstone.survey.covariance import Banded, Covariance, Dense
from soapstone.survey.descent import Layout, normal_band
from soapstone.survey.index import Array
from soapstone.survey.model import Model
from soapstone.survey.motions import rigid_motions

_NUMERIC = 1e-13  # relative singular value below which rounding alone explains what is left


@dataclass(frozen=True)
class Spread:
    """Covariance of all coordinates.

    Attributes
    ----------
    covariance : Covariance
        Of what the readings determine; nothing along the loose directions.
    loose : (3n, k)
        Orthonormal displacements that the readings leave free, those of a free datum not counted.
    rank : int
        Number of unknowns that the readings determine.
    """

    covariance: Covariance
    loose: Array
    rank: int


def spread_of(model: Model, layout: Layout, xyz: Array, slopes: Array, size: float, free: Array) -> Spread:
    """Covariance by the stated accuracies.

    A direction counts as loose when its standard deviation exceeds the size of the job.

    Parameters
    ----------
    model : Model
    layout : Layout
    xyz : (n, 3) m
        At the least-squares answer.
    slopes : (m, 3 w)
        Weighted derivatives there.
    size : float, m
    free : (6, f)
        Unheld motions that a free datum takes care of (inner constraints over all points).
    """
    if layout.size == 0:
        return Spread(Dense(np.zeros((xyz.size, xyz.size))), np.zeros((xyz.size, 0)), 0)
    if free.shape[1] == 0:
        regular = _regular(layout, slopes, size)
        if regular is not None:
            return Spread(regular, np.zeros((xyz.size, 0)), layout.size)
    return _deficient(layout, slopes, xyz, size, free)


def _regular(layout: Layout, slopes: Array, size: float) -> Banded | None:
    try:
        factor = cholesky_banded(normal_band(layout, slopes), lower=True, check_finite=False)
    except LinAlgError:
        return None
    inverse = Banded(factor, layout.columns)
    return inverse if float(inverse.variances.max()) < (size / 10) ** 2 else None


def _deficient(layout: Layout, slopes: Array, xyz: Array, size: float, free: Array) -> Spread:
    matrix = np.zeros((len(slopes), layout.size + 1))
    rows = np.broadcast_to(np.arange(len(slopes))[:, None], layout.row_columns.shape)
    np.add.at(matrix, (rows, layout.row_columns), slopes)
    _, values, turned = np.linalg.svd(matrix[:, :-1])
    values = np.concatenate([values, np.zeros(len(turned) - len(values))])
    unknown = values < max(1 / size, _NUMERIC * float(values.max(initial=0.0)))
    scaled = turned[~unknown] / values[~unknown, None]
    null = _spread_out(layout, turned[unknown].T, xyz.size)
    moving = (rigid_motions(xyz, size) @ free).reshape(xyz.size, -1)
    if moving.shape[1]:
        moving = orth(moving)
        null = null - moving @ (moving.T @ null)
        left, kept, _ = np.linalg.svd(null, full_matrices=False)
        null = left[:, kept > 0.5]  # unit vectors either lie in the datum motions or stand square to them
    return Spread(Dense(_embedded(layout, scaled.T @ scaled)), null, int(np.count_nonzero(~unknown)))


def _spread_out(layout: Layout, columns: Array, count: int) -> Array:
    """Columns of unknowns as displacements of all coordinates."""
    flat = layout.columns.ravel()
    whole = np.zeros((count, columns.shape[1]))
    whole[flat >= 0] = columns[flat[flat >= 0]]
    return whole


def _embedded(layout: Layout, inverse: Array) -> Array:
    flat = layout.columns.ravel()
    free = np.flatnonzero(flat >= 0)
    whole = np.zeros((len(flat), len(flat)))
    whole[np.ix_(free, free)] = inverse[np.ix_(flat[free], flat[free])]
    return whole


def leverage(model: Model, slopes: Array, covariance: Covariance) -> Array:
    """Share of each reading in its own adjusted value, (m,); 1 minus it is the redundancy number.

    Baarda, *A Testing Procedure for Use in Geodetic Networks* (1968): the diagonal of Q_v P.
    """
    share = np.zeros(model.rows)
    wide = model.ends.shape[1]
    by_end = slopes.reshape(model.rows, wide, 3)
    for one in range(wide):
        for two in range(one, wide):
            rows = np.flatnonzero(model.used[:, two])
            blocks = covariance.blocks(model.ends[rows, one], model.ends[rows, two])
            part = np.einsum("ma,mab,mb->m", by_end[rows, one], blocks, by_end[rows, two])
            share[rows] += part if one == two else 2 * part
    return share
