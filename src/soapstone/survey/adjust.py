"""The whole way from readings to points: start, least squares, spread, what is loose, what is ambiguous."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.stats import chi2, norm

from soapstone.survey import mirrors
from soapstone.survey.build_up import Builder, State
from soapstone.survey.descent import Layout, descend, fit_sum, lay_out, unrest, weighted
from soapstone.survey.framed import nodes_at, without_frames
from soapstone.survey.index import Array, Mask
from soapstone.survey.loose import loose_points
from soapstone.survey.merged import merged
from soapstone.survey.model import Model, compile_model, held_points, positions, size_of, with_nodes
from soapstone.survey.motions import lay_onto, unheld_motions
from soapstone.survey.records import Datum, Network, Residuals, Survey
from soapstone.survey.sound import demand_sound
from soapstone.survey.spread import leverage, spread_of

# Baarda 1968: shift of a standardised residual that a test at 0.001 finds 80 times of 100
NONCENTRALITY = float(norm.ppf(1 - 0.001 / 2) + norm.ppf(0.80))
_UNCONTROLLED = 1e-6  # redundancy that rounding alone can leave
_GROSS = 10.0  # standardised residual beyond which it is asked whether a reading can be one at all


def adjust(network: Network, start: Array | None = None) -> Survey:
    """Least-squares points from readings.

    Parameters
    ----------
    network : Network
    start : (n, 3) m, optional
        Approximate coordinates; without them they are built up from the readings, and second answers
        that fit alike are looked for.

    Returns
    -------
    Survey

    Raises
    ------
    JobError
        A reading that cannot be one (not positive, of unknown points, longer than any way round).
    SoapstoneError
        Side-telling statements that contradict the readings.
    """
    columns = demand_sound(network, far=start is None)
    full = with_nodes(network)
    model, held = compile_model(full, columns), held_points(full)
    layout = lay_out(model, held)
    known = positions(network)
    size = size_of(model, known)
    if start is None and network.datum is Datum.FREE and np.isfinite(known).all():
        start = known
    problem = _Problem(network, model, held, layout, size)
    if start is not None:
        answers = [mirrors.Answer(np.where(held[: len(known), None], known, start), 0.0, kept=True)]
    else:
        answers = _without_start(problem, known)
    xyz = problem.descended(answers[0].xyz)
    free = np.zeros((6, 0))
    if network.datum is Datum.FREE:
        free = unheld_motions(model, held, xyz, size)
        target = np.full_like(xyz, np.nan)
        target[: len(known)] = known if np.isfinite(known).any() else _own_axes(xyz[: len(known)])
        xyz = lay_onto(xyz, target, free, size)
    survey = _judged(problem, xyz, free, answers)
    if start is not None and np.abs(survey.residuals.standardised).max(initial=0.0) > _GROSS:
        demand_sound(network, far=True)
    return survey


@dataclass(frozen=True)
class _Problem:
    """One network ready for least squares; the nodes of its frames stand after its points."""

    network: Network
    model: Model
    held: Mask
    layout: Layout
    size: float

    def descended(self, xyz: Array) -> Array:
        """Points and nodes, (n + 3 f, 3), from approximate points, (n, 3)."""
        begin = np.concatenate([xyz, nodes_at(self.network, xyz)])
        return descend(self.model, self.layout, begin, self.size)


def _without_start(problem: _Problem, known: Array) -> list[mirrors.Answer]:
    network = merged(without_frames(problem.network))
    model, held = compile_model(network), held_points(network)
    count = len(known)
    builder = Builder(network, model, held, np.where(held[:, None], known, np.nan), problem.size)
    laid: list[Array] = [known] if network.datum is Datum.FREE and np.isfinite(known).any() else []

    def finish(xyz: Array) -> tuple[Array, float]:
        whole = problem.descended(xyz)
        total = fit_sum(problem.model, whole)
        done = whole[:count]
        if laid:
            done = lay_onto(done, laid[0], builder.twists, problem.size)
        else:
            laid.append(done)  # answers that differ by a drift of the whole are the same answer
        return done, total

    answers = mirrors.Explorer(builder, finish).run(builder.run(State(builder.start)))
    mirrors.demand_kept(answers, problem.model.rows - problem.layout.size, network)
    return answers


def _own_axes(xyz: Array) -> Array:
    """Where a network known nowhere is laid: first point at the origin, second forward, third level."""
    target = np.full_like(xyz, np.nan)
    target[0] = 0.0
    if len(xyz) > 1:
        line = xyz[1] - xyz[0]
        target[1] = (np.linalg.norm(line), 0.0, 0.0)
    if len(xyz) > 2:
        along = (xyz[2] - xyz[0]) @ line / np.linalg.norm(line)
        target[2] = (along, np.sqrt(max(np.sum((xyz[2] - xyz[0]) ** 2) - along**2, 0.0)), 0.0)
    return target


def _judged(problem: _Problem, xyz: Array, free: Array, answers: list[mirrors.Answer]) -> Survey:
    network, model, size = problem.network, problem.model, problem.size
    count = len(network.names)
    misfit, slopes = weighted(model, xyz)
    spread = spread_of(model, problem.layout, xyz, slopes, size, free)
    freedom = model.rows - spread.rank
    redundancy = np.clip(1 - leverage(model, slopes, spread.covariance), 0.0, 1.0)
    loose = loose_points(network, spread.loose)
    return Survey(
        names=network.names,
        xyz=xyz[:count],
        spread=spread.covariance,
        readings=network.readings,
        residuals=_residuals(model, misfit, redundancy, len(network.readings)),
        freedom=freedom,
        variance_factor=float(misfit @ misfit) / freedom if freedom else None,
        variance_bounds=variance_bounds(freedom),
        loose=loose,
        ambiguous=mirrors.ambiguities(network, answers, {item.point for item in loose}, size),
        nodes=xyz[count:],
        unrest=unrest(problem.layout, misfit, slopes),
    )


def _residuals(model: Model, misfit: Array, redundancy: Array, count: int) -> Residuals:
    """Of the readings; the rows beyond them stand for known points and frames."""
    controlled = redundancy > _UNCONTROLLED
    root = np.sqrt(np.where(controlled, redundancy, 1.0))
    residual = misfit * model.sigma
    return Residuals(
        adjusted=(model.value + residual)[:count],
        residual=residual[:count],
        redundancy=np.where(controlled, redundancy, 0.0)[:count],
        standardised=np.where(controlled, misfit / root, 0.0)[:count],
        detectable=np.where(controlled, NONCENTRALITY * model.sigma / root, np.inf)[:count],
    )


@cache
def variance_bounds(freedom: int) -> tuple[float, float]:
    """Limits of the a-posteriori variance factor, 95 %; 0 and infinity when nothing is left over."""
    if freedom == 0:
        return 0.0, float("inf")
    return float(chi2.ppf(0.025, freedom)) / freedom, float(chi2.ppf(0.975, freedom)) / freedom
