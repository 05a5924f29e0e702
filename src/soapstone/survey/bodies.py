"""A body measured on the shop floor: its shape in the axes of its drawing, with its spread.

Nothing says how a body lies on the floor, so its readings give a shape without a place. That is laid onto
the drawing by the points that are held; what is left is spread of the shape alone (W. Baarda,
*S-Transformations and Criterion Matrices*, 1973).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import permutations, product

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.job.schema import Job
from soapstone.survey.adjust import adjust
from soapstone.survey.curved import Curved, curved_spread
from soapstone.survey.descent import descend, fit_sum, lay_out
from soapstone.survey.findings import findings
from soapstone.survey.framed import nodes_at
from soapstone.survey.index import Array
from soapstone.survey.mirrors import ALIKE
from soapstone.survey.model import compile_model, held_points, positions, size_of, with_nodes
from soapstone.survey.motions import rigid_motions, unheld_motions
from soapstone.survey.of_job import frames_of, read_as
from soapstone.survey.records import Datum, Network, Reading, ReadingKind, Survey

_ROUGH = 1e-6  # of the size of the body: near enough to tell which way it lies
_SHAPE_ALONE = frozenset({ReadingKind.TAPE, ReadingKind.STRAIGHT, ReadingKind.FLUSH, ReadingKind.FRAMED})


@dataclass(frozen=True)
class Shape:
    """What the readings among a body's points say.

    Attributes
    ----------
    body : str
    names : tuple of str
        The points that are read, as the body calls them.
    network, survey : on the shop floor; points are called `body.point` there
    xyz : (n, 3) m
        In the axes of the drawing.
    covariance : (3n, 3n) m^2
        Of the shape alone: it says nothing of where the body is. To the second order.
    bent : (m,)
        What curvature adds to each reading within that spread, in its standard deviations.
    """

    body: str
    names: tuple[str, ...]
    network: Network
    survey: Survey
    xyz: Array
    covariance: Array
    bent: Array

    def of(self, names: tuple[str, ...]) -> tuple[Array, Array]:
        """Places, (k, 3) m, and covariance, (3k, 3k) m^2, of some of its points."""
        at = np.array([self.names.index(name) for name in names], dtype=np.intp)
        rows = (3 * at[:, None] + np.arange(3)).ravel()
        return self.xyz[at], self.covariance[np.ix_(rows, rows)]


def body_shapes(job: Job) -> dict[str, Shape]:
    """The shape of every body that has readings of its own."""
    return {name: body_shape(body_network(job, name)) for name, body in job.bodies.items() if body.readings}


def as_measured(job: Job, shapes: Mapping[str, Shape]) -> Job:
    """The job with the points of its bodies where they were measured."""
    if not shapes:
        return job
    bodies = dict(job.bodies)
    for name, shape in shapes.items():
        found = {point: tuple(map(float, at)) for point, at in zip(shape.names, shape.xyz, strict=True)}
        bodies[name] = bodies[name].model_copy(update={"points": {**bodies[name].points, **found}})
    return job.model_copy(update={"bodies": bodies})


def body_network(job: Job, body: str) -> Network:
    """The readings among a body's points as a network that nothing holds, its drawing for a start."""
    own = job.bodies[body]
    read = {point for reading in own.readings for point in reading.points}
    known = {f"{body}.{name}": np.array(at) for name, at in own.points.items() if name in read}
    rows = tuple(_named(one, body) for reading in own.readings for one in read_as(job, reading))
    frames = tuple(
        replace(frame, name=f"{body}.{frame.name}") for frame in frames_of(own.readings, job.instruments)
    )
    return Network(tuple(known), known, rows, datum=Datum.FREE, frames=frames)


def _named(reading: Reading, body: str) -> Reading:
    points = tuple(f"{body}.{point}" for point in reading.points)
    kind, *names = reading.label.split()
    count = len(reading.touched)
    label = " ".join((kind, *points[:count], *names[count:]))
    return replace(reading, points=points, label=label, holes=())


def body_shape(network: Network, start: Array | None = None) -> Shape:
    """Solve it however it lies, and lay it onto its drawing.

    Parameters
    ----------
    network : Network
    start : (n, 3) m, optional
        How it lies, roughly; without it every way up is tried.
    """
    drawn = np.array([network.known[name] for name in network.names])
    survey = adjust(network, start=_best_lying(network, drawn) if start is None else start)
    loose = {item.point for item in survey.loose}
    firm = np.array([name not in loose for name in network.names])
    if np.count_nonzero(firm) < 3:
        firm[:] = True
    rotation, origin = _laid(survey.xyz[firm], drawn[firm])
    xyz = survey.xyz @ rotation.T + origin
    turned = np.kron(np.eye(len(xyz)), rotation)
    curved = _curved(network, survey, drawn)
    moves = rigid_motions(xyz, 1.0).reshape(-1, 6)
    holding = moves * np.repeat(firm, 3)[:, None]
    kept = np.eye(xyz.size) - moves @ np.linalg.pinv(holding.T @ moves) @ holding.T
    covariance = kept @ turned @ curved.covariance[: xyz.size, : xyz.size] @ turned.T @ kept.T
    body = network.names[0].partition(".")[0]
    names = tuple(name.removeprefix(f"{body}.") for name in network.names)
    return Shape(body, names, network, survey, xyz, covariance, curved.bent[: len(network.readings)])


def _curved(network: Network, survey: Survey, drawn: Array) -> Curved:
    """The larger of the spreads at the answer and at the drawing laid on it.

    Chance lifts the points of a flat body off their plane, where they seem better held than they are.
    """
    full = with_nodes(network)
    model, held = compile_model(full), held_points(full)
    size = size_of(model, positions(network))
    rotation, origin = _laid(drawn, survey.xyz)
    laid = drawn @ rotation.T + origin
    places = (np.concatenate([survey.xyz, survey.nodes]), np.concatenate([laid, nodes_at(network, laid)]))

    def at(xyz: Array) -> Curved:
        twists = unheld_motions(model, held, xyz, size)
        free = (rigid_motions(xyz, size) @ twists).reshape(xyz.size, -1)
        return curved_spread(model, xyz, free, size)

    return max((at(xyz) for xyz in places), key=lambda spread: float(np.trace(spread.covariance)))


def _best_lying(network: Network, drawn: Array) -> Array:
    """How it lies: as the readings say; of ways that suit them alike (they know no mirror) as drawn."""
    full = with_nodes(network)
    model, held = compile_model(full), held_points(full)
    layout, size = lay_out(model, held), size_of(model, positions(network))

    def descended(start: Array) -> tuple[float, Array]:
        begin = np.concatenate([start, nodes_at(network, start)])
        done = descend(model, layout, begin, size, _ROUGH)
        return fit_sum(model, done), done[: len(start)]

    ways = list(_lying(network, drawn))
    if len(ways) == 1:
        return ways[0]
    found = [descended(way) for way in ways]
    least = min(total for total, _ in found)
    return min((at for total, at in found if total <= least + ALIKE), key=lambda at: _off(at, drawn))


def _off(own: Array, drawn: Array) -> float:
    rotation, origin = _laid(own, drawn)
    return float(np.sum((own @ rotation.T + origin - drawn) ** 2))


def _lying(network: Network, drawn: Array) -> Iterator[Array]:
    """The drawing as it may lie on the floor; as drawn where no reading knows the floor."""
    if all(reading.kind in _SHAPE_ALONE for reading in network.readings):
        yield drawn
        return
    for order, signs in product(permutations(range(3)), product((1.0, -1.0), repeat=3)):
        turn = np.eye(3)[list(order)] * np.array(signs)[:, None]
        if np.linalg.det(turn) > 0:
            yield drawn @ turn.T


def _laid(own: Array, onto: Array) -> tuple[Array, Array]:
    """Rotation and shift of least squares (S. Umeyama, IEEE PAMI 13(4), 1991)."""
    here, there = own.mean(axis=0), onto.mean(axis=0)
    left, _, right = np.linalg.svd((onto - there).T @ (own - here))
    rotation = left @ np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))]) @ right
    return rotation, there - rotation @ here


def shape_findings(shapes: Mapping[str, Shape]) -> tuple[Finding, ...]:
    """What each body's survey has to say: as for the vehicle, its points named with the body."""
    found = []
    for shape in shapes.values():
        for finding in findings(shape.survey, shape.network):
            whole = finding.about == "survey"
            found.append(
                replace(
                    finding,
                    id=finding.id.replace("survey:agreement", f"survey:{shape.body}").replace(
                        "survey:rest", f"survey:{shape.body}-rest"
                    ),
                    about=shape.body,
                    claim=finding.claim.replace("the readings", f"the readings of {shape.body}"),
                )
                if whole
                else finding
            )
        found += _hardly_held(shape)
    return tuple(found)


def _hardly_held(shape: Shape) -> list[Finding]:
    """A body so flat that its readings hold it across its plane by their curvature only."""
    row = int(np.argmax(shape.bent))
    reading = shape.network.readings[row]
    chain = Chain()
    accuracy = chain.given("s", reading.sigma, "m", f"standard deviation of {reading.label}")
    chain.given("b", float(shape.bent[row]), "1", "what the points' spread square to it adds, in s")
    demand = chain.step("d", "b * s", "m", "the same as a length")
    capacity = chain.step("a", "s / 2", "m", "more, and the curvature counts as much as the reading itself")
    if demand <= capacity or accuracy <= 0.0:
        return []
    return [
        Finding(
            id=f"body-shape:{shape.body}",
            about=shape.body,
            claim=f"the readings hold the shape of {shape.body} across its flat",
            verdict=Verdict.OPEN,
            demand=demand,
            capacity=capacity,
            unit="m",
            ratio=demand / capacity,
            because=chain.steps,
            source="D. M. Bates, D. G. Watts, Relative Curvature Measures of Nonlinearity, 1980, from memory",
            remedy=f"read the heights of the points of {shape.body} above the floor as it lies, "
            "or tapes to a point well off their plane",
        )
    ]
