"""Which readings are wrong: one after another, the most striking first (data snooping)."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import norm

from soapstone.survey.adjust import adjust
from soapstone.survey.descent import weighted
from soapstone.survey.mistakes import Mistake, explain
from soapstone.survey.model import compile_model
from soapstone.survey.records import Network, Survey

CRITICAL = float(norm.ppf(1 - 0.001 / 2))  # Baarda 1968: a right reading passes this once in a thousand times
_LIKE = 0.99  # correlation of two standardised residuals beyond which the readings cannot be told apart


@dataclass(frozen=True)
class Suspect:
    """A reading that the others contradict.

    Attributes
    ----------
    row : int
        Its index among the readings of the network.
    error, sigma : float
        SI; read minus true as the other readings have it, and how well that is known.
    standardised : float
        Its standardised residual when it was picked.
    mistakes : tuple of Mistake
        What explains it, the best first.
    alike : tuple of int
        Other readings that would explain the contradiction just as well.
    """

    row: int
    error: float
    sigma: float
    standardised: float
    mistakes: tuple[Mistake, ...]
    alike: tuple[int, ...]


@dataclass(frozen=True)
class Snooped:
    """The outcome of the search for wrong readings.

    Attributes
    ----------
    suspects : tuple of Suspect
        In the order they were found, the most striking first.
    rows : tuple of int
        The readings that are left, by their index in the network.
    survey : Survey
        Their adjustment.
    """

    suspects: tuple[Suspect, ...]
    rows: tuple[int, ...]
    survey: Survey


def snoop(network: Network, survey: Survey) -> Snooped:
    """Take out the most striking reading, adjust again, and so on until the rest agrees.

    Parameters
    ----------
    network : Network
    survey : Survey
        Its adjustment with all readings.
    """
    rows = list(range(len(network.readings)))
    picked: list[tuple[int, float, tuple[int, ...]]] = []
    current, reduced = survey, network
    while True:
        strikes = np.array([abs(c.standardised) for c in current.checked])
        if strikes.max(initial=0.0) <= CRITICAL:
            break
        worst = int(np.argmax(strikes))
        alike = tuple(rows[i] for i in _alike(reduced, current, worst))
        picked.append((rows.pop(worst), current.checked[worst].standardised, alike))
        reduced = replace(network, readings=tuple(network.readings[r] for r in rows))
        current = adjust(reduced, start=current.xyz)
    suspects = tuple(_suspect(network, current, row, strike, alike) for row, strike, alike in picked)
    return Snooped(suspects, tuple(rows), current)


def _alike(network: Network, survey: Survey, worst: int) -> list[int]:
    """Readings whose residuals move with the worst one's, whatever the errors are."""
    model = compile_model(network)
    _, slopes = weighted(model, survey.xyz)
    matrix = np.zeros((model.rows, survey.xyz.size))
    for side, points in ((slopes[:, :3], model.first), (slopes[:, 3:], model.second)):
        for axis in range(3):
            np.add.at(matrix, (np.arange(model.rows), 3 * points + axis), side[:, axis])
    share = -matrix @ (survey.covariance @ matrix[worst])
    share[worst] += 1.0
    count = len(network.readings)
    redundancy = np.array([c.redundancy for c in survey.checked])
    strength = share[:count] / np.sqrt(np.maximum(redundancy * redundancy[worst], 1e-12))
    striking = np.array([abs(c.standardised) > CRITICAL for c in survey.checked])
    return [int(i) for i in np.flatnonzero((np.abs(strength) > _LIKE) & striking) if i != worst]


def _suspect(network: Network, survey: Survey, row: int, strike: float, alike: tuple[int, ...]) -> Suspect:
    reading = network.readings[row]
    model = compile_model(replace(network, readings=(reading,), known_covariance={}))
    shown = weighted(model, survey.xyz)
    misfit, slopes = float(shown[0][0]), shown[1][0]
    ends = [3 * model.first[0] + np.arange(3), 3 * model.second[0] + np.arange(3)]
    both = np.concatenate(ends)
    known = float(slopes @ survey.covariance[np.ix_(both, both)] @ slopes)
    error, sigma = -misfit * reading.sigma, reading.sigma * float(np.sqrt(1 + max(known, 0.0)))
    return Suspect(row, error, sigma, strike, explain(network, row, survey.xyz, error, sigma), alike)
