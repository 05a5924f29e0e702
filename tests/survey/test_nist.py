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


MISRA = np.array(SETS["Misra1a"][1], dtype=float), np.array(SETS["Misra1a"][2], dtype=float)
ECKERLE_AT = [*range(400, 436, 5), *np.arange(436.5, 465.5, 1.5), *range(470, 501, 5)]
ECKERLE = [
    *(0.0001575, 0.0001699, 0.0002350, 0.0003102, 0.0004917, 0.0008710, 0.0017418, 0.0046400, 0.0065895),
    *(0.0097302, 0.0149002, 0.0237310, 0.0401683, 0.0712559, 0.1264458, 0.2073413, 0.2902366, 0.3445623),
    *(0.3698049, 0.3668534, 0.3106727, 0.2078154, 0.1164354, 0.0616764, 0.0337200, 0.0194023, 0.0117831),
    *(0.0074357, 0.0022732, 0.0008800, 0.0004579, 0.0002345, 0.0001586, 0.0001143, 0.0000710),
]
MGH10 = [
    34780,
    28610,
    23650,
    19630,
    16370,
    13720,
    11540,
    9744,
    8261,
    7030,
    6005,
    5147,
    4427,
    3820,
    3307,
    2872,
]
RAT42 = [8.93, 10.8, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08]
RAT43 = [16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56]
RAT43 += [689.96, 637.56, 717.41]

# formula, x, y, starts, certified parameters and residual sum of squares; NIST StRD, nonlinear
# regression, levels of difficulty lower to higher, from memory: a wrong figure would miss the certified six
# digits. MGH10 from the nearer start alone: from the far one 5,000 steps are not enough.
MORE = {
    "Misra1b": (
        lambda x, a, b: a * (1 - (1 + b * x / 2) ** -2),
        *MISRA,
        [(500, 1e-4), (300, 2e-4)],
        (337.99746163, 3.9039091287e-4),
        0.075464681533,
    ),
    "Misra1c": (
        lambda x, a, b: a * (1 - (1 + 2 * b * x) ** -0.5),
        *MISRA,
        [(500, 1e-4), (600, 2e-4)],
        (636.42725809, 2.0813627256e-4),
        0.040966836971,
    ),
    "Misra1d": (
        lambda x, a, b: a * b * x / (1 + b * x),
        *MISRA,
        [(500, 1e-4), (450, 3e-4)],
        (437.36970754, 3.0227324449e-4),
        0.056419295283,
    ),
    "Rat42": (
        lambda x, a, b, c: a / (1 + np.exp(b - c * x)),
        [9, 14, 21, 28, 42, 57, 63, 70, 79],
        RAT42,
        [(100, 1, 0.1), (75, 2.5, 0.07)],
        (72.462237576, 2.6180768402, 0.067359200066),
        8.0565229338,
    ),
    "Rat43": (
        lambda x, a, b, c, d: a / (1 + np.exp(b - c * x)) ** (1 / d),
        range(1, 16),
        RAT43,
        [(100, 10, 1, 1), (700, 5, 0.75, 1.3)],
        (699.64151270, 5.2771253025, 0.75962938329, 1.2792483859),
        8786.4049080,
    ),
    "Eckerle4": (
        lambda x, a, b, c: a / b * np.exp(-0.5 * ((x - c) / b) ** 2),
        ECKERLE_AT,
        ECKERLE,
        [(1, 10, 500), (1.5, 5, 450)],
        (1.5543827178, 4.0888321754, 451.54121844),
        1.4635887487e-3,
    ),
    "MGH10": (
        lambda x, a, b, c: a * np.exp(b / (x + c)),
        range(50, 126, 5),
        MGH10,
        [(0.02, 4000, 250)],
        (5.6096364710e-3, 6181.3463463, 345.22363462),
        87.945855171,
    ),
}


@pytest.mark.parametrize("name", MORE)
def test_certified_values_of_harder_sets(name):
    """Derivatives by a complex step, exact to the last digits."""
    formula, x, y, starts, certified, total = MORE[name]
    x, y = np.array(x, dtype=float), np.array(y, dtype=float)

    def function(b):
        with np.errstate(all="ignore"):  # a wild trial step may overflow; it is not taken then
            columns = [b[:, k : k + 1] + 0j for k in range(b.shape[1])]
            shown = formula(x, *columns).real
            slopes = [
                formula(x, *(c + 1e-30j * (j == k) for j, c in enumerate(columns))).imag / 1e-30
                for k in range(b.shape[1])
            ]
        misfit, slopes = shown - y, np.stack(slopes, axis=2)
        return np.nan_to_num(misfit, nan=1e100, posinf=1e100, neginf=-1e100), np.nan_to_num(
            slopes, nan=0.0, posinf=0.0, neginf=0.0
        )

    ends, sums = descend_together(function, np.array(starts, dtype=float), steps=2000, still=1e-15)
    for end, reached in zip(ends, sums, strict=True):
        np.testing.assert_allclose(end, certified, rtol=5e-7)
        assert reached == pytest.approx(total, rel=5e-7)
