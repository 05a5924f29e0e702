"""Many small symmetric systems solved side by side, each number of the matrix an array over the systems."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LEAST = 1e-13
"""A pivot below this share of its diagonal is lost in rounding; held there, its unknown hardly moves."""


def solve_each(matrix: Mapping[tuple[int, int], Array], right: Sequence[Array]) -> list[Array]:
    """Solve positive definite systems by L D Lᵀ (Golub and Van Loan, Matrix Computations, 2013, section 4.1).

    Parameters
    ----------
    matrix : the upper triangle, (row, column) -> (n,)
    right : k arrays (n,)

    Returns
    -------
    list of k arrays (n,)
    """
    k = len(right)
    low: dict[tuple[int, int], Array] = {}
    scaled: dict[tuple[int, int], Array] = {}
    middle: list[Array] = []
    for j in range(k):
        pivot = matrix[j, j]
        for p in range(j):
            pivot = pivot - low[j, p] * scaled[j, p]
        pivot = np.maximum(pivot, _LEAST * matrix[j, j])
        middle.append(pivot)
        for i in range(j + 1, k):
            entry = matrix[j, i]
            for p in range(j):
                entry = entry - low[i, p] * scaled[j, p]
            scaled[i, j] = entry
            low[i, j] = entry / pivot
    answer = list(right)
    for i in range(k):
        for p in range(i):
            answer[i] = answer[i] - low[i, p] * answer[p]
    answer = [value / pivot for value, pivot in zip(answer, middle, strict=True)]
    for i in reversed(range(k)):
        for p in range(i + 1, k):
            answer[i] = answer[i] - low[p, i] * answer[p]
    return answer
