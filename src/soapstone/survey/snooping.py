"""Which readings are wrong: the one that explains the evidence best comes out, then the next (data snooping).

At the end every reading that came out is tried again beside the others: with several mistakes at once a
good reading may have come out in the place of a bad one.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import norm

from soapstone.survey.adjust import adjust
from soapstone.survey.descent import weighted
from soapstone.survey.index import Array
from soapstone.survey.mistakes import Mistake, explain, fit_of
from soapstone.survey.model import Model, compile_model, with_nodes
from soapstone.survey.records import Network, Survey

CRITICAL = float(norm.ppf(1 - 0.001 / 2))  # Baarda 1968: a right reading passes this once in a thousand times
_LIKE = 0.99  # correlation of two standardised residuals beyond which the readings cannot be told apart
_RIVAL = 0.5  # part of the largest squared standardised residual from which a reading may be the wrong one


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


@dataclass(frozen=True)
class _Pick:
    """A reading taken out, its standardised residual then, and what would have done as well."""

    row: int
    strike: float
    alike: tuple[int, ...]


def snoop(network: Network, survey: Survey) -> Snooped:
    """Take out the reading that explains the contradiction best, adjust again, until the rest agrees.

    Parameters
    ----------
    network : Network
    survey : Survey
        Its adjustment with all readings.
    """
    rows = list(range(len(network.readings)))
    picked: list[_Pick] = []
    current = survey
    while True:
        reduced = _of_rows(network, rows)
        strikes = np.abs(current.residuals.standardised)
        if strikes.max(initial=0.0) <= CRITICAL:
            break
        worst = _most_telling(reduced, current, strikes)
        alike = tuple(rows[i] for i in _alike(reduced, current, worst))
        picked.append(_Pick(rows.pop(worst), float(current.residuals.standardised[worst]), alike))
        current = adjust(_of_rows(network, rows), start=current.xyz)
    if len(picked) > 1:
        picked, rows, current = _readmitted(network, picked, rows, current)
    suspects = tuple(_suspect(network, current, pick) for pick in picked)
    return Snooped(suspects, tuple(rows), current)


def _of_rows(network: Network, rows: list[int]) -> Network:
    return replace(network, readings=tuple(network.readings[r] for r in rows))


def _most_telling(network: Network, survey: Survey, strikes: Array) -> int:
    """The reading whose likeliest mistake takes most of the contradiction away."""
    worst = float(strikes.max())
    rivals = np.flatnonzero((strikes > CRITICAL) & (strikes**2 >= _RIVAL * worst**2))
    if len(rivals) == 1:
        return int(rivals[0])
    scores = []
    for row in rivals:
        checked = survey.checked[row]
        sigma = checked.reading.sigma / float(np.sqrt(checked.redundancy))
        gain = float(strikes[row]) ** 2
        scores.append(gain - fit_of(explain(network, int(row), survey.xyz, checked.error, sigma)))
    return int(rivals[int(np.argmax(scores))])


def _readmitted(
    network: Network, picked: list[_Pick], rows: list[int], current: Survey
) -> tuple[list[_Pick], list[int], Survey]:
    """Put back, one by one and the best first, what agrees with the rest after all."""
    while len(picked) > 1:
        judged = [_predicted(network, current, pick.row) for pick in picked]
        offs = [abs(error) / sigma for error, sigma in judged]
        best = int(np.argmin(offs))
        if offs[best] > CRITICAL:
            break
        trial = sorted([*rows, picked[best].row])
        survey = adjust(_of_rows(network, trial), start=current.xyz)
        if np.abs(survey.residuals.standardised).max() > CRITICAL:
            break
        rows, current = trial, survey
        picked = [pick for pick in picked if pick is not picked[best]]
    return picked, rows, current


def _alike(network: Network, survey: Survey, worst: int) -> list[int]:
    """Readings whose residuals move with the worst one's, whatever the errors are."""
    model, slopes = _slopes(network, survey)
    moved = survey.spread.times(_as_vector(model, slopes, worst, survey))
    share = -np.einsum("mwa,mwa->m", slopes, moved.reshape(-1, 3)[model.ends])
    share[worst] += 1.0
    count = len(network.readings)
    redundancy = survey.residuals.redundancy
    strength = share[:count] / np.sqrt(np.maximum(redundancy * redundancy[worst], 1e-12))
    striking = np.abs(survey.residuals.standardised) > CRITICAL
    return [int(i) for i in np.flatnonzero((np.abs(strength) > _LIKE) & striking) if i != worst]


def _slopes(network: Network, survey: Survey) -> tuple[Model, Array]:
    model = compile_model(with_nodes(network))
    _, slopes = weighted(model, np.concatenate([survey.xyz, survey.nodes]))
    return model, slopes.reshape(model.rows, -1, 3)


def _as_vector(model: Model, slopes: Array, row: int, survey: Survey) -> Array:
    vector = np.zeros((len(survey.xyz) + len(survey.nodes), 3))
    np.add.at(vector, model.ends[row], slopes[row])
    return vector.ravel()


def _predicted(network: Network, survey: Survey, row: int) -> tuple[float, float]:
    """Error of a reading that took no part, as the others have it, and how well that is known (SI)."""
    model = compile_model(with_nodes(network)).subset(np.array([row]))
    misfit, slopes = weighted(model, np.concatenate([survey.xyz, survey.nodes]))
    vector = _as_vector(model, slopes.reshape(1, -1, 3), 0, survey)
    known = float(vector @ survey.spread.times(vector))
    sigma = network.readings[row].sigma
    return -float(misfit[0]) * sigma, sigma * float(np.sqrt(1 + max(known, 0.0)))


def _suspect(network: Network, survey: Survey, pick: _Pick) -> Suspect:
    error, sigma = _predicted(network, survey, pick.row)
    mistakes = explain(network, pick.row, survey.xyz, error, sigma)
    return Suspect(pick.row, error, sigma, pick.strike, mistakes, pick.alike)
