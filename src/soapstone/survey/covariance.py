"""Covariance of many points: all of it for a small network, the blocks near the diagonal for a long one.

The inverse of a banded matrix is full, but what a survey asks of it stands within the band. Those blocks
follow from the Cholesky factor alone, backwards (Takahashi, Fagan and Chin, *Formation of a sparse bus
impedance matrix*, 1973), at a cost that grows with the length of the band. The rest is solved for when asked.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from scipy.linalg import cho_solve_banded

from soapstone.survey.index import Array, Index


class Covariance(Protocol):
    """Covariance of the coordinates of n points, m^2."""

    def blocks(self, first: Index, second: Index) -> Array:
        """Covariances of pairs of points, (k, 3, 3)."""

    def times(self, vectors: Array) -> Array:
        """Product with vectors, (3n,) or (3n, k)."""

    def dense(self) -> Array:
        """All of it, (3n, 3n)."""


@dataclass(frozen=True)
class Dense:
    """All of it in one array, (3n, 3n) m^2."""

    matrix: Array

    def blocks(self, first: Index, second: Index) -> Array:
        """Covariances of pairs of points, (k, 3, 3)."""
        count = len(self.matrix) // 3
        found: Array = self.matrix.reshape(count, 3, count, 3)[first, :, second, :]
        return found

    def times(self, vectors: Array) -> Array:
        """Product with vectors, (3n,) or (3n, k)."""
        product: Array = self.matrix @ vectors
        return product

    def dense(self) -> Array:
        """All of it, (3n, 3n)."""
        return self.matrix


@dataclass(frozen=True)
class Banded:
    """The inverse of a banded normal matrix.

    Attributes
    ----------
    factor : (b, u)
        Cholesky factor of the normal matrix, lower band storage.
    columns : (n, 3)
        Unknown of each coordinate, -1 for one that is held.
    """

    factor: Array
    columns: Index

    @cached_property
    def width(self) -> int:
        """Unknowns of one block: as wide as the band, and whole points."""
        return 3 * max(-(-(len(self.factor) - 1) // 3), 1)

    @cached_property
    def _near(self) -> tuple[Array, Array]:
        """Blocks of the inverse on the diagonal, (k, w, w), and just below it."""
        diagonal, below = _factor_blocks(self.factor, self.width)
        inverse = np.linalg.inv(diagonal)
        carried = below @ inverse[:-1]
        squares = inverse.transpose(0, 2, 1) @ inverse
        under = np.empty_like(carried)
        for k in range(len(carried) - 1, -1, -1):
            under[k] = -squares[k + 1] @ carried[k]
            squares[k] -= carried[k].T @ under[k]
        return squares, np.concatenate([under, np.zeros((1, self.width, self.width))])

    @cached_property
    def variances(self) -> Array:
        """Of the unknowns, (u,)."""
        diagonal: Array = np.einsum("kii->ki", self._near[0]).ravel()[: self.factor.shape[1]]
        return diagonal

    def blocks(self, first: Index, second: Index) -> Array:
        """Covariances of pairs of points, (k, 3, 3); pairs far apart in the band are solved for."""
        points = self.width // 3
        one, two = self.columns[first, 0] // 3, self.columns[second, 0] // 3
        low, high = np.maximum(one, two), np.minimum(one, two)
        block, along = low // points, high // points
        on, under = (
            part.reshape(len(part), points, 3, points, 3).transpose(0, 1, 3, 2, 4) for part in self._near
        )
        found: Array = on[along, low % points, high % points]
        beside = np.flatnonzero(block == along + 1)
        found[beside] = under[along[beside], low[beside] % points, high[beside] % points]
        turned = np.flatnonzero(one < two)
        found[turned] = found[turned].transpose(0, 2, 1)
        found[high < 0] = 0.0
        for pair in np.flatnonzero((block - along > 1) & (high >= 0)):
            found[pair] = self._solved(int(first[pair]), int(second[pair]))
        return found

    def _solved(self, first: int, second: int) -> Array:
        unit = np.zeros((self.columns.size, 3))
        unit[3 * second + np.arange(3), np.arange(3)] = 1.0
        block: Array = self.times(unit)[3 * first : 3 * first + 3]
        return block

    def times(self, vectors: Array) -> Array:
        """Product with vectors, (3n,) or (3n, k)."""
        flat = self.columns.ravel()
        free = flat >= 0
        right = np.zeros((self.factor.shape[1], *vectors.shape[1:]))
        right[flat[free]] = vectors[free]
        product = np.zeros(vectors.shape)
        if right.size:
            solved = cho_solve_banded((self.factor, True), right, check_finite=False)
            product[free] = solved[flat[free]]
        return product

    def dense(self) -> Array:
        """All of it, (3n, 3n)."""
        matrix = self.times(np.eye(self.columns.size))
        symmetric: Array = (matrix + matrix.T) / 2
        return symmetric


@dataclass(frozen=True)
class Projected:
    """A covariance without its part along some displacements, and with a variance of their own instead.

    Attributes
    ----------
    base : Banded
    moves : (3n, 2 g)
        The displacements, orthonormal, and what the base makes of them.
    weights : (2 g, 2 g)
        What of them is added to the base.
    """

    base: Banded
    moves: Array
    weights: Array

    @classmethod
    def along(cls, base: Banded, moves: Array, variance: Array) -> "Projected":
        """Take out orthonormal displacements, (3n, g), and give them variances, (g,) m^2."""
        answer = base.times(moves)
        count = moves.shape[1]
        weights = np.zeros((2 * count, 2 * count))
        weights[:count, :count] = moves.T @ answer + np.diag(variance)
        weights[:count, count:] = weights[count:, :count] = -np.eye(count)
        return cls(base, np.hstack([moves, answer]), weights)

    def blocks(self, first: Index, second: Index) -> Array:
        """Covariances of pairs of points, (k, 3, 3)."""
        weighted = (self.moves @ self.weights).reshape(-1, 3, self.moves.shape[1])
        plain = self.moves.reshape(weighted.shape)
        more: Array = np.einsum("kag,kbg->kab", weighted[first], plain[second])
        return self.base.blocks(first, second) + more

    def times(self, vectors: Array) -> Array:
        """Product with vectors, (3n,) or (3n, k)."""
        return self.base.times(vectors) + self.moves @ (self.weights @ (self.moves.T @ vectors))

    def dense(self) -> Array:
        """All of it, (3n, 3n)."""
        matrix: Array = self.base.dense() + self.moves @ self.weights @ self.moves.T
        return matrix


def _factor_blocks(factor: Array, width: int) -> tuple[Array, Array]:
    """A banded factor cut into square blocks on the diagonal, (k, w, w), and below it, (k - 1, w, w)."""
    band, size = factor.shape
    count = -(-size // width)
    padded = np.zeros((2 * width, count * width))
    padded[:band, :size] = factor
    padded[0, size:] = 1.0
    row, column = np.mgrid[:width, :width]
    starts = width * np.arange(count)[:, None, None]
    diagonal = np.where(row >= column, padded[np.maximum(row - column, 0), starts + column], 0.0)
    below = padded[width + row - column, starts[:-1] + column]
    return diagonal, below
