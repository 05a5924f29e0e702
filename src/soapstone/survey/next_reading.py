"""What to measure next: the readings that help the points that matter most, in order.

Each candidate is one more row of the adjustment; what it would bring follows from the covariance alone
(a rank-one update), before anything is read.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2

from soapstone.job.measured import Reading as JobReading
from soapstone.job.readings import sigma_of
from soapstone.job.schema import Job
from soapstone.survey.index import Array, Index
from soapstone.survey.model import compile_model
from soapstone.survey.reach import Solid, in_the_way
from soapstone.survey.records import CENTRE, FLOOR, Network, Reading, ReadingKind, Survey
from soapstone.survey.shown import evaluate

ELLIPSOID = float(np.sqrt(chi2.ppf(0.95, 3)))  # half axis of the 95 % ellipsoid in standard deviations
_WORTH = 0.01  # a reading that betters what is wanted by less than this part is not worth taking
_STEEP = 0.5  # rad; a level is laid along lines flatter than this


@dataclass(frozen=True)
class Tool:
    """An instrument of the shop, for one kind of reading.

    Attributes
    ----------
    kind : ReadingKind
        Tape, plan, height, offset or level.
    name : str
    fixed, per_length : float
        Standard deviation: SI, and per m.
    reach : float, m
        The longest it can be used on.
    """

    kind: ReadingKind
    name: str
    fixed: float
    per_length: float = 0.0
    reach: float = float("inf")


@dataclass(frozen=True)
class Proposal:
    """A reading worth taking.

    Attributes
    ----------
    reading : Reading
        With what it will show, as far as is known, and its accuracy.
    tool : str
        The instrument's name.
    brings : mapping of point to float, m
        Half axis of the 95 % ellipsoid of each wanted point once this and all before it are taken.
    helps : str
        The point it helps most.
    """

    reading: Reading
    tool: str
    brings: Mapping[str, float]
    helps: str


def tools_of(job: Job) -> tuple[Tool, ...]:
    """The instruments of the job, each for the kinds it reads."""
    found = []
    for kind, names in (
        (ReadingKind.HEIGHT, ("height",)),
        (ReadingKind.TAPE, ("tape",)),
        (ReadingKind.OFFSET, ("offset", "tape")),
        (ReadingKind.PLAN, ("plan",)),
        (ReadingKind.LEVEL, ("level",)),
    ):
        name = next((name for name in names if name in job.instruments), None)
        if name is not None:
            points = ("-", "+") if kind.is_length or kind is ReadingKind.LEVEL else ("-",)
            one = JobReading(kind=kind.value, points=points, read="-")
            fixed, at_one = (sigma_of(one, job, length) for length in (0.0, 1.0))
            found.append(Tool(kind, name, fixed, max(at_one - fixed, 0.0)))
    return tuple(found)


def next_readings(
    survey: Survey,
    wanted: Mapping[str, float],
    tools: Sequence[Tool],
    obstacles: Sequence[Solid] = (),
    most: int = 8,
) -> tuple[Proposal, ...]:
    """The readings that bring the wanted points to their accuracy, the most helpful first.

    Parameters
    ----------
    survey : Survey
    wanted : mapping of point to float, m
        The half axis of the 95 % ellipsoid that each point that matters needs.
    tools : sequence of Tool
        What the shop owns.
    obstacles : sequence of Solid
        What a tape cannot pass through.
    most : int
        Most readings proposed.

    Returns
    -------
    tuple of Proposal
        Ends as soon as all points are good enough, or nothing helps any more.
    """
    points = np.array([survey.index[name] for name in wanted], dtype=np.intp)
    needs = np.array(list(wanted.values()))
    readings = [*_candidates(survey, points, tools, obstacles)]
    if not readings:
        return ()
    model = compile_model(Network(survey.names, {}, tuple(reading for reading, _ in readings)))
    _, slopes = evaluate(model, survey.xyz)
    rows = np.zeros((model.rows, len(survey.names), 3))
    for end in range(slopes.shape[1]):
        np.add.at(rows, (np.arange(model.rows), model.ends[:, end]), slopes[:, end])
    matrix = rows.reshape(model.rows, -1)
    covariance = survey.covariance.copy()
    proposals: list[Proposal] = []
    while len(proposals) < most and _short_of(_axes(covariance, points), needs) > 0:
        best, axes = _best(covariance, matrix, model.sigma, points, needs)
        if best is None:
            break
        before = _axes(covariance, points)
        covariance = _with_row(covariance, matrix[best], float(model.sigma[best]))
        helped = int(np.argmax((before - axes) / needs))
        reading, tool = readings[best]
        brings = dict(zip(wanted, axes.tolist(), strict=True))
        proposals.append(Proposal(reading, tool, brings, list(wanted)[helped]))
    return tuple(proposals)


def _with_row(covariance: Array, row: Array, sigma: float) -> Array:
    """Covariance after one more reading."""
    moved = covariance @ row
    less: Array = covariance - np.outer(moved, moved) / (sigma**2 + row @ moved)
    return less


def _best(
    covariance: Array, matrix: Array, sigma: Array, points: Index, needs: Array
) -> tuple[int | None, Array]:
    """The candidate after which least is left to wish for, and the half axes then."""
    moved = matrix @ covariance
    scale = sigma**2 + np.einsum("mi,mi->m", matrix, moved)
    parts = moved.reshape(len(matrix), -1, 3)[:, points]
    blocks = (
        _blocks(covariance, points) - np.einsum("mpa,mpb->mpab", parts, parts) / scale[:, None, None, None]
    )
    axes = _half_axes(blocks)
    # the worst line of every point counts, what is good enough does not
    left = np.sum(np.log(np.maximum(axes / needs, 1.0)), axis=1) + 1e-3 * np.sum(
        np.trace(blocks, axis1=2, axis2=3) / needs**2, axis=1
    ) / np.sum(np.trace(_blocks(covariance, points), axis1=1, axis2=2) / needs**2)
    now = float(np.sum(np.log(np.maximum(_axes(covariance, points) / needs, 1.0)))) + 1e-3
    best = int(np.argmin(left))
    return (best if left[best] < now - _WORTH * 1e-3 else None), axes[best]


def _blocks(covariance: Array, points: Index) -> Array:
    count = len(covariance) // 3
    found: Array = covariance.reshape(count, 3, count, 3)[points, :, points, :]
    return found


def _half_axes(blocks: Array) -> Array:
    largest = np.linalg.eigvalsh(blocks)[..., -1]
    axes: Array = ELLIPSOID * np.sqrt(np.maximum(largest, 0.0))
    return axes


def _axes(covariance: Array, points: Index) -> Array:
    return _half_axes(_blocks(covariance, points))


def _short_of(axes: Array, needs: Array) -> int:
    return int(np.count_nonzero(axes > needs))


def _candidates(
    survey: Survey, points: Index, tools: Sequence[Tool], obstacles: Sequence[Solid]
) -> Iterator[tuple[Reading, str]]:
    """Readings of the tools at the wanted points, as far as the tools reach."""
    loose = {item.point for item in survey.loose}
    pairs = {tuple(sorted((int(p), q))) for p in points for q in range(len(survey.names)) if q != p}
    for tool in tools:
        if tool.kind in (ReadingKind.HEIGHT, ReadingKind.OFFSET):
            plane = FLOOR if tool.kind is ReadingKind.HEIGHT else CENTRE
            for p in sorted({int(p) for p in points}):
                value = float(np.dot(plane.normal, survey.xyz[p]))
                yield _reading(tool, (survey.names[p],), value, abs(value)), tool.name
            continue
        for p, q in sorted(pairs):
            line = survey.xyz[q] - survey.xyz[p]
            length = float(np.linalg.norm(line))
            hidden = {survey.names[p], survey.names[q]} & loose
            if not 0 < length <= tool.reach or (hidden and len(hidden) == 2):
                continue
            if tool.kind is not ReadingKind.PLAN and in_the_way(survey.xyz[p], survey.xyz[q], obstacles):
                continue
            flat = float(np.hypot(line[0], line[1]))
            slope = float(np.arctan2(line[2], flat))
            if (tool.kind is ReadingKind.LEVEL and abs(slope) > _STEEP) or flat == 0.0:
                continue
            value = {ReadingKind.TAPE: length, ReadingKind.PLAN: flat}.get(tool.kind, slope)
            yield _reading(tool, (survey.names[p], survey.names[q]), value, length), tool.name


def _reading(tool: Tool, points: tuple[str, ...], value: float, length: float) -> Reading:
    sigma = tool.fixed + tool.per_length * length
    return Reading(tool.kind, points, value, sigma, " ".join((tool.kind.value, *points)))
