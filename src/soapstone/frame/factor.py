"""Factoring a stiffness once for any number of load cases."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dpbtrf, dpbtrs
from scipy.sparse.linalg import SuperLU, splu

from soapstone.frame.assemble import System

Floats = NDArray[np.float64]

# LAPACK's banded Cholesky beat SuperLU on every ladder, slab and block of 235 to 3900 members, up to a
# half-bandwidth of 450; its cost grows with the square of that, so that much wider frames go the sparse way.
_WIDEST_BAND = 400


class Factor(Protocol):
    """A factored stiffness."""

    def solve(self, right: Floats) -> Floats:
        """Movements (N, c) under forces (N, c)."""

    def pivots(self) -> Floats:
        """The pivots (N,), none of which is above its diagonal term; in the order of the equations."""


@dataclass(frozen=True, eq=False)
class BandFactor:
    """Banded Cholesky (LAPACK dpbtrf)."""

    band: Floats

    def solve(self, right: Floats) -> Floats:
        """See `Factor`."""
        if not right.size:
            return right
        movements: Floats = dpbtrs(self.band, right, lower=1)[0]
        return movements

    def pivots(self) -> Floats:
        """See `Factor`."""
        squares: Floats = self.band[0] ** 2
        return squares


@dataclass(frozen=True, eq=False)
class SparseFactor:
    """SuperLU, kept to the diagonal."""

    lu: SuperLU

    def solve(self, right: Floats) -> Floats:
        """See `Factor`."""
        movements: Floats = self.lu.solve(right)
        return movements

    def pivots(self) -> Floats:
        """See `Factor`."""
        diagonal: Floats = self.lu.U.diagonal()[self.lu.perm_c]
        return diagonal


def factor(system: System, shift: float = 0.0) -> Factor | None:
    """Factor a system; None where it is not positive definite.

    Parameters
    ----------
    shift : float
        Stiffness added to every direction, relative to its reference.
    """
    if system.size == 0:
        return BandFactor(np.zeros((1, 0)))
    rows = system.number[system.directions]
    band = int((rows.max(axis=1) - np.where(rows < 0, system.size, rows).min(axis=1)).max(initial=0))
    if band <= _WIDEST_BAND:
        return _factor_band(system, rows, band, shift)
    return _factor_sparse(system, shift)


def _factor_band(system: System, rows: NDArray[np.int64], band: int, shift: float) -> Factor | None:
    """Scatter the lower half of the blocks straight into LAPACK's band; the last slot takes the rest."""
    step = rows[:, :, None] - rows[:, None, :]
    kept = (step >= 0) & (rows[:, None, :] >= 0)
    slot = np.where(kept, step + rows[:, None, :] * (band + 1), system.size * (band + 1))
    flat = np.bincount(slot.ravel(), weights=system.blocks.ravel(), minlength=system.size * (band + 1) + 1)
    matrix = flat[:-1].reshape(system.size, band + 1).T
    matrix[0] += shift * system.reference
    lower, failed = dpbtrf(matrix, lower=1, overwrite_ab=1)
    return None if failed else BandFactor(lower)


def _factor_sparse(system: System, shift: float) -> Factor | None:
    matrix = system.matrix()
    if shift:
        matrix.setdiag(matrix.diagonal() + shift * system.reference)
    options = {"SymmetricMode": True, "Equil": False}
    try:
        lu = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
    except RuntimeError:  # SuperLU's only word for an exactly zero pivot
        return None
    done = SparseFactor(lu)
    return done if (done.pivots() > 0.0).all() else None
