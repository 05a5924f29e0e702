"""The solver that starts from many places, on nonlinear sets of NIST StRD: certified values to six digits."""

import numpy as np
import pytest

from soapstone.survey.scatter_search import descend_together


def saturating(b, x):
    """b1 (1 - exp(-b2 x)) and its slopes; BoxBOD and Misra1a."""
    fall = np.exp(np.clip(-b[:, 1:] * x, -700, 50))
    return b[:, :1] * (1 - fall), np.stack([1 - fall, b[:, :1] * x * fall], axis=2)


def rational(b, x):
    """b1 (x^2 + b2 x) / (x^2 + b3 x + b4) and its slopes; MGH09."""
    over, under = x**2 + b[:, 1:2] * x, x**2 + b[:, 2:3] * x + b[:, 3:]
    shown = b[:, :1] * over / under
    return shown, np.stack([over / under, b[:, :1] * x / under, -shown * x / under, -shown / under], axis=2)


SETS = {
    "BoxBOD": (
        saturating,
        [1, 2, 3, 5, 7, 10],
        [109, 149, 149, 191, 213, 224],
        [(1, 1), (100, 0.75)],
        (213.80940889, 0.54723748542),
    ),
    "MGH09": (
        rational,
        [4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625],
        [0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246],
        [(25, 39, 41.5, 39), (0.25, 0.39, 0.415, 0.39)],
        (0.19280693458, 0.19128232873, 0.12305650693, 0.13606233068),
    ),
    "Misra1a": (
        saturating,
        [77.6, 114.9, 141.1, 190.8, 239.9, 289, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760],
        [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78],
        [(500, 1e-4), (250, 5e-4)],
        (238.94212918, 5.5015643181e-4),
    ),
}


@pytest.mark.parametrize("name", SETS)
def test_certified_values(name):
    """NIST StRD, both starting points; residuals are at the answer, so convergence is not quadratic."""
    formula, x, y, starts, certified = SETS[name]
    x, y = np.array(x, dtype=float), np.array(y, dtype=float)

    def function(b):
        shown, slopes = formula(b, x)
        return shown - y, slopes

    ends, _ = descend_together(function, np.array(starts, dtype=float), steps=2000, still=1e-14)
    for end in ends:
        np.testing.assert_allclose(end, certified, rtol=5e-7)
