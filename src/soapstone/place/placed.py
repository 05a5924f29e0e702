"""Every body put in its place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.job.hardware import Body, Put
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.place.known import known_point
from soapstone.place.pose import Pose, RigidFit, rigid_fit, rotation_from_angles
from soapstone.place.seating import Seat, seat
from soapstone.survey.bodies import Shape, as_measured
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

_LEAST_SIGMA = 1e-5
"""m; a point given without an accuracy still gets a hundredth of a millimetre, so that weights exist."""


@dataclass(frozen=True)
class Placed:
    """A body in vehicle axes.

    Attributes
    ----------
    name : str
    mass : kg
    pose : Pose
    centre : (3,) m, centre of mass
    points : name to (3,) m
    fit : RigidFit or None when it was put by position and angles
    seat : Seat or None when nothing is wanted of its pose beyond that
    """

    name: str
    mass: float
    pose: Pose
    centre: Array
    points: Mapping[str, Array]
    fit: RigidFit | None = None
    seat: Seat | None = None


def place_bodies(job: Job, survey: Survey, shapes: Mapping[str, Shape] | None = None) -> dict[str, Placed]:
    """Put every body that the job places; pure.

    Parameters
    ----------
    job : Job
    survey : Survey
    shapes : mapping of body to Shape, optional
        Of the bodies that were measured on the shop floor: their points are taken from there.

    Raises
    ------
    GeometryError
        When the matched points cannot settle where a body sits.
    """
    shapes = shapes or {}
    job = as_measured(job, shapes)
    return {
        name: _place(name, job.bodies[name], put, job, survey, shapes.get(name))
        for name, put in job.place.items()
    }


def _place(name: str, body: Body, put: Put, job: Job, survey: Survey, shape: Shape | None) -> Placed:
    fit = _fit(name, body, put, job, survey, shape) if put.match else None
    now = fit.pose if fit else _put(name, body, put, job, survey)
    seated = seat(name, now, job, survey) if put.wanted else None
    pose = seated.answer.pose if seated else now
    points = {point: pose.apply(np.array(own)) for point, own in body.points.items()}
    return Placed(name, body.mass, pose, pose.apply(np.array(body.centre)), points, fit, seated)


def _fit(name: str, body: Body, put: Put, job: Job, survey: Survey, shape: Shape | None) -> RigidFit:
    """Both sides count: what is known of the vehicle's points and of the body's own."""
    matched = list(put.match)
    own = np.array([body.points[point] for point in matched])
    target = np.array([known_point(f"place.{name}", put.match[point], job, survey)[0] for point in matched])
    vehicle = _spread_of([put.match[point] for point in matched], job, survey)
    spread = _own_spread(matched, body, shape)
    first = rigid_fit(matched, own, target, vehicle + np.diag(np.diag(spread)), body=name)
    turn = np.kron(np.eye(len(matched)), first.pose.rotation)
    return rigid_fit(matched, own, target, vehicle + turn @ spread @ turn.T, body=name)


def _own_spread(names: Sequence[str], body: Body, shape: Shape | None) -> Array:
    """(3n, 3n) m²: of the shape for what was measured, the stated accuracy for the rest."""
    drawn = max(body.point_accuracy, _LEAST_SIGMA) ** 2
    measured = set(shape.names) if shape else set()
    sizes = [_LEAST_SIGMA**2 if name in measured else drawn for name in names]
    whole = np.diag(np.repeat(sizes, 3))
    if shape is not None and measured & {*names}:
        rows = np.flatnonzero(np.repeat([name in measured for name in names], 3))
        whole[np.ix_(rows, rows)] += shape.of(tuple(n for n in names if n in measured))[1]
    return whole


def _spread_of(names: Sequence[str], job: Job, survey: Survey) -> Array:
    """Covariance of vehicle points together, (3n, 3n) m²; a laid-out one is as good as its base."""
    bases = [_base(name, job) for name in names]
    at = np.array([survey.index[base] for base in bases], dtype=np.intp)
    count = len(at)
    blocks = survey.spread.blocks(np.repeat(at, count), np.tile(at, count)).reshape(count, count, 3, 3)
    whole: Array = blocks.transpose(0, 2, 1, 3).reshape(3 * count, 3 * count)
    return whole


def _base(name: str, job: Job) -> str:
    while (from_ := job.points[name].from_) is not None:
        name = parse_place(from_).name
    return name


def _put(name: str, body: Body, put: Put, job: Job, survey: Survey) -> Pose:
    rotation = rotation_from_angles(turned_left=put.turned_left, nose_down=put.nose_down, left_up=put.left_up)
    at = known_point(f"place.{name}", put.at, job, survey)[0] if isinstance(put.at, str) else np.array(put.at)
    assert put.point is not None
    return Pose(rotation, at - rotation @ np.array(body.points[put.point]))


def placement_findings(placed: Mapping[str, Placed]) -> tuple[Finding, ...]:
    """One finding per matched point (does it sit within what is known?) and one on left and right."""
    findings: list[Finding] = []
    for body in placed.values():
        if body.fit is not None:
            findings += [_sits(body.name, body.fit, row) for row in range(len(body.fit.names))]
            findings += _swapped(body.name, body.fit) or _upside_down(body.name, body.fit)
    return tuple(findings)


def _sits(name: str, fit: RigidFit, row: int) -> Finding:
    chain = Chain()
    for axis, value in zip("xyz", fit.residuals[row], strict=True):
        chain.given(f"d{axis}", value, "m", f"measured minus placed, along {axis}")
    miss = chain.step("d", "sqrt(dx**2 + dy**2 + dz**2)", "m", "how far the point is off")
    allowed = chain.given("a", 0.003, "m", "working tolerance of a body or frame reading")
    ratio, verdict = judge(miss, allowed)
    point = fit.names[row]
    return Finding(
        id=f"placed-point:{name}.{point}",
        about=f"{name}.{point}",
        claim=f"{point} of {name} sits where it was measured",
        verdict=verdict,
        demand=miss,
        capacity=allowed,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source="collision-repair practice: body readings hold within 3 mm (1/8 in)",
        remedy="" if verdict is Verdict.HOLDS else f"measure {point} again, on the unit and in the vehicle",
    )


def _upside_down(name: str, fit: RigidFit) -> list[Finding]:
    """Bosses in one plane fit as well with sides exchanged: the unit is then turned over, not mirrored."""
    chain = Chain()
    upright = float(fit.pose.rotation[2, 2])
    lean = chain.given(
        "b", float(np.arccos(np.clip(upright, -1.0, 1.0))), "rad", "its own upright from the vehicle's"
    )
    allowed = chain.step("b_a", "pi / 2", "rad", "more than that, and its top looks down")
    if upright >= 0.0:
        return []
    return [
        Finding(
            id=f"placed-sides:{name}",
            about=name,
            claim=f"{name} sits the right way up",
            verdict=Verdict.SHORT,
            demand=lean,
            capacity=allowed,
            unit="rad",
            ratio=lean / allowed,
            because=chain.steps,
            source="common practice, no source",
            remedy="its points lie flat and fit upside down: see whether left and right, or front and rear, "
            "are exchanged in its points or in match",
        )
    ]


def _swapped(name: str, fit: RigidFit) -> list[Finding]:
    if fit.mirrored_rms >= 0.9 * fit.rms or fit.rms < 0.001:
        return []
    chain = Chain()
    own = chain.given("e", fit.rms, "m", "mean miss as the points are named")
    mirrored = chain.given("em", fit.mirrored_rms, "m", "mean miss with left and right exchanged")
    return [
        Finding(
            id=f"placed-sides:{name}",
            about=name,
            claim=f"the points of {name} are named for the right sides",
            verdict=Verdict.SHORT,
            demand=own,
            capacity=mirrored,
            unit="m",
            ratio=own / mirrored if mirrored > 0.0 else None,
            because=chain.steps,
            source="common practice, no source",
            remedy="see whether left and right are exchanged in its points or in match",
        )
    ]
