"""The largest of K⁻¹ A: what modes and buckling both ask for."""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh
from scipy.sparse import csc_array
from scipy.sparse.linalg import LinearOperator, eigsh

from soapstone.frame.factor import Factor

Floats = NDArray[np.float64]

# Up to this size LAPACK's dense solver is quicker than Lanczos.
_DENSE = 360


def largest(matrix: csc_array, stiffness: csc_array, factored: Factor, count: int) -> tuple[Floats, Floats]:
    """The algebraically largest mu of A x = mu K x, descending.

    Parameters
    ----------
    matrix : (N, N) sparse
        A, symmetric.
    stiffness : (N, N) sparse
        K, symmetric and positive definite.
    factored : Factor
        Of K.
    count : int
        How many; fewer come where N is smaller.

    Returns
    -------
    (k,) and (N, k) float
        mu, and x with xᵀ K x = 1.
    """
    size = stiffness.shape[0]
    count = min(count, size)
    if size <= _DENSE or count > size // 3:
        mu, x = _dense(matrix, stiffness, count)
    else:
        inverse = LinearOperator(
            (size, size), matvec=lambda b: factored.solve(b.reshape(-1, 1))[:, 0], dtype=float
        )
        start = np.random.default_rng(0).standard_normal(size)
        mu, x = eigsh(matrix, count, stiffness, which="LA", Minv=inverse, v0=start, ncv=max(4 * count, 40))
    order = np.argsort(-mu)
    return mu[order], x[:, order]


def _dense(matrix: csc_array, stiffness: csc_array, count: int) -> tuple[Floats, Floats]:
    """Scaled to a unit diagonal first, so that units do not matter."""
    size = stiffness.shape[0]
    if not size or not count:
        return np.zeros(0), np.zeros((size, 0))
    scale = 1.0 / np.sqrt(stiffness.diagonal())
    both = [scale[:, None] * part.toarray() * scale for part in (matrix, stiffness)]
    mu, x = eigh(*both, subset_by_index=(size - count, size - 1))
    return mu, scale[:, None] * x
