"""The whole way from readings to points: start, least squares, spread, what is loose, what is ambiguous."""

import numpy as np
from scipy.stats import chi2, norm

from soapstone.survey import mirrors
from soapstone.survey.build_up import Builder, State
from soapstone.survey.descent import Layout, descend, fit_sum, lay_out, weighted
from soapstone.survey.loose import loose_points
from soapstone.survey.model import Model, compile_model, held_points, positions, size_of
from soapstone.survey.motions import lay_onto, unheld_motions
from soapstone.survey.records import Ambiguity, Array, Checked, Datum, Loose, Network, Survey
from soapstone.survey.sound import demand_sound
from soapstone.survey.spread import leverage, spread_of

# Baarda 1968: shift of a standardised residual that a test at 0.001 finds 80 times of 100
NONCENTRALITY = float(norm.ppf(1 - 0.001 / 2) + norm.ppf(0.80))
_UNCONTROLLED = 1e-6  # redundancy that rounding alone can leave


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
    demand_sound(network)
    model, held = compile_model(network), held_points(network)
    layout = lay_out(model, held)
    known = positions(network)
    size = size_of(model, known)
    if start is None and network.datum is Datum.FREE and np.isfinite(known).all():
        start = known
    if start is not None:
        begin = np.where(held[:, None], known, start)
        answers = [mirrors.Answer(descend(model, layout, begin, size), 0.0, kept=True)]
    else:
        answers = _without_start(network, model, layout, known, size)
    xyz = answers[0].xyz
    free = np.zeros((6, 0))
    if network.datum is Datum.FREE:
        free = unheld_motions(model, held, xyz, size)
        xyz = lay_onto(xyz, known if np.isfinite(known).any() else _own_axes(xyz), free, size)
    return _judged(network, model, layout, xyz, size, free, answers)


def _without_start(
    network: Network, model: Model, layout: Layout, known: Array, size: float
) -> list[mirrors.Answer]:
    held = held_points(network)
    begin = np.where(held[:, None], known, np.nan)
    builder = Builder(network, model, held, begin, size)
    laid: list[Array] = [known] if network.datum is Datum.FREE and np.isfinite(known).any() else []

    def finish(xyz: Array) -> tuple[Array, float]:
        done = descend(model, layout, xyz, size)
        if laid:
            done = lay_onto(done, laid[0], builder.twists, size)
        else:
            laid.append(done)  # answers that differ by a drift of the whole are the same answer
        return done, fit_sum(model, done)

    answers = mirrors.Explorer(builder, finish).run(builder.run(State(begin)))
    mirrors.demand_kept(answers, model.rows - layout.size, network)
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


def _judged(
    network: Network,
    model: Model,
    layout: Layout,
    xyz: Array,
    size: float,
    free: Array,
    answers: list[mirrors.Answer],
) -> Survey:
    spread = spread_of(model, layout, xyz, size, free)
    freedom = model.rows - spread.rank
    misfit, slopes = weighted(model, xyz)
    redundancy = np.clip(1 - leverage(model, slopes, spread.covariance), 0.0, 1.0)
    loose = loose_points(network, spread.loose)
    factor = float(misfit @ misfit) / freedom if freedom else None
    return Survey(
        names=network.names,
        xyz=xyz,
        covariance=spread.covariance + size**2 * spread.loose @ spread.loose.T,
        checked=_checked(network, model, misfit, redundancy),
        freedom=freedom,
        variance_factor=factor,
        variance_bounds=variance_bounds(freedom),
        loose=loose,
        ambiguous=_ambiguous(network, answers, loose, size),
    )


def _ambiguous(
    network: Network, answers: list[mirrors.Answer], loose: tuple[Loose, ...], size: float
) -> tuple[Ambiguity, ...]:
    return mirrors.ambiguities(network, answers, {item.point for item in loose}, size)


def _checked(network: Network, model: Model, misfit: Array, redundancy: Array) -> tuple[Checked, ...]:
    controlled = redundancy > _UNCONTROLLED
    root = np.sqrt(np.where(controlled, redundancy, 1.0))
    standardised = np.where(controlled, misfit / root, 0.0)
    detectable = np.where(controlled, NONCENTRALITY * model.sigma / root, np.inf)
    residual = misfit * model.sigma
    columns = zip(
        network.readings,
        (model.value + residual).tolist(),
        residual.tolist(),
        np.where(controlled, redundancy, 0.0).tolist(),
        standardised.tolist(),
        detectable.tolist(),
        strict=False,  # rows beyond the readings stand for known points
    )
    return tuple(Checked(*column) for column in columns)


def variance_bounds(freedom: int) -> tuple[float, float]:
    """Limits of the a-posteriori variance factor, 95 %; 0 and infinity when nothing is left over."""
    if freedom == 0:
        return 0.0, float("inf")
    return float(chi2.ppf(0.025, freedom)) / freedom, float(chi2.ppf(0.975, freedom)) / freedom
