"""The job's half-shafts and propeller shafts, run between what is placed and what they drive."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError, LooseError
from soapstone.finding import Finding
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.job.shafts import HalfShaft, Hub, PropellerShaft
from soapstone.place.answers import unanswered
from soapstone.place.findings_shafts import ShaftLimits, half_shaft_findings
from soapstone.place.half_shafts import ShaftTravel, through_travel
from soapstone.place.known import spot_at
from soapstone.place.linkage import carrier_at, double_wishbone
from soapstone.place.placed import Placed
from soapstone.place.propeller_shafts import Line
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

_ACROSS = np.array([0.0, 1.0, 0.0])
_SAMPLES = 6
"""Positions drawn from wishbones on each side of ride height."""


@dataclass(frozen=True, eq=False)
class Travelled:
    """A far joint in n positions of the wheel or axle, lowest first.

    Attributes
    ----------
    names : what each position is called
    travel : (n,) m, up positive
    at, axis : (n, 3) m; unit vectors
    assumed : every assumed value with its origin
    """

    names: tuple[str, ...]
    travel: Array
    at: Array
    axis: Array
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class HalfRun:
    """A half-shaft through the travel; `moves` and `shaft` are None where `trouble` says why.

    Attributes
    ----------
    inner : (3,) m
    ride_length : m, from which plunge is counted
    """

    name: str
    spec: HalfShaft
    inner: Array
    moves: Travelled | None = None
    shaft: ShaftTravel | None = None
    ride_length: float = 0.0
    trouble: str = ""


@dataclass(frozen=True, eq=False)
class PropellerRun:
    """A propeller shaft in n positions of the axle (one where it does not move).

    Attributes
    ----------
    names : of the positions
    joints : (n, k, 3) m, centres of the joints; of a rigid shaft the flange and two places
    lines : directions and phases in each position; empty where `trouble` says why
    whole : whether the last joint's pinion is known, so that the line is whole
    flange : (3,), axis of the output, towards the shaft
    """

    name: str
    spec: PropellerShaft
    names: tuple[str, ...] = ()
    joints: Array | None = None
    lines: tuple[Line, ...] = ()
    whole: bool = False
    flange: Array | None = None
    trouble: str = ""


def half_runs(job: Job, survey: Survey, placed: Mapping[str, Placed]) -> tuple[HalfRun, ...]:
    """Every half-shaft of the job; pure."""
    return tuple(_half(name, spec, job, survey, placed) for name, spec in job.half_shafts.items())


def _half(name: str, spec: HalfShaft, job: Job, survey: Survey, placed: Mapping[str, Placed]) -> HalfRun:
    found = output_of(spec.from_, spec.axis, job, placed)
    if found is None:
        body = parse_place(spec.from_).name
        return HalfRun(name, spec, np.zeros(3), trouble=f"say under place where {body} sits")
    inner, axis = found
    try:
        moves = travelled(f"half shafts.{name}.hub", spec.hub, job, survey)
        ride = spec.length or _ride_length(inner, moves)
        shaft = through_travel(inner, axis, moves.at, moves.axis, ride_length=ride)
    except (GeometryError, LooseError) as error:
        return HalfRun(name, spec, inner, trouble=str(error))
    return HalfRun(name, spec, inner, moves, shaft, ride)


def output_of(place: str, axis: str, job: Job, placed: Mapping[str, Placed]) -> tuple[Array, Array] | None:
    """A body's point (3,) m and axis (3,) in vehicle axes; None while the body is nowhere."""
    where = parse_place(place)
    body = placed.get(where.name)
    if body is None:
        return None
    return body.points[where.point], body.pose.turn(np.array(job.bodies[where.name].axes[axis]))


def _ride_length(inner: Array, moves: Travelled) -> float:
    if not moves.travel[0] <= 0.0 <= moves.travel[-1]:
        raise GeometryError(
            "the table does not reach ride height, so the shaft's length is not known",
            remedy="add the position at travel 0 mm, or give the shaft's length",
        )
    outer = [np.interp(0.0, moves.travel, moves.at[:, axis]) for axis in range(3)]
    return float(np.linalg.norm(np.array(outer) - inner))


def travelled(about: str, hub: Hub, job: Job, survey: Survey) -> Travelled:
    """Where the outer joint goes.

    Raises
    ------
    GeometryError, LooseError
        When the links do not let the wheel go that far, or leave it loose.
    """
    if hub.wishbones is not None:
        return _on_links(about, hub, job, survey)
    rows = sorted(hub.positions, key=lambda row: row.travel)
    axes = [row.axis for row in rows]
    assumed = ("the hub's axis runs straight across all the way: no camber or toe given",)
    return Travelled(
        tuple(row.name or travel_words(row.travel) for row in rows),
        np.array([row.travel for row in rows]),
        np.array([row.at for row in rows]),
        np.array([_ACROSS if axis is None else axis for axis in axes]),
        assumed if None in axes else (),
    )


def travel_words(travel: float) -> str:
    """`60 mm up`, `ride height`."""
    if abs(travel) < 5e-5:
        return "ride height"
    return f"{1000 * abs(travel):.0f} mm {'up' if travel > 0.0 else 'down'}"


def _on_links(about: str, hub: Hub, job: Job, survey: Survey) -> Travelled:
    assert hub.wishbones is not None and hub.joint is not None and hub.travel is not None
    spots = hub.wishbones.model_dump(by_alias=True, exclude={"note"})
    linkage = double_wishbone({key: spot_at(about, spot, job, survey) for key, spot in spots.items()})
    low, high = hub.travel
    travel = np.unique(np.concatenate([np.linspace(low, 0.0, _SAMPLES), np.linspace(0.0, high, _SAMPLES)]))
    poses = carrier_at(linkage, travel)
    joint = spot_at(about, hub.joint, job, survey)
    axis = _ACROSS if hub.axis is None else np.array(hub.axis)
    assumed = () if hub.axis is not None else ("the hub's axis runs straight across at ride height",)
    return Travelled(
        tuple(travel_words(float(one)) for one in travel),
        travel,
        np.array([pose.apply(joint) for pose in poses]),
        np.array([pose.turn(axis) for pose in poses]),
        assumed,
    )


def half_findings(run: HalfRun, *, on_rubber: bool = False) -> tuple[Finding, ...]:
    """Both angles and both ends of the plunge.

    Parameters
    ----------
    on_rubber : whether what the unit moves on its mounts is looked at
    """
    if run.moves is None or run.shaft is None:
        claim = "the shaft's joints stay within their angles"
        return (unanswered("half-shaft-angle", run.name, claim, "rad", ask=run.trouble),)
    inner, outer = run.spec.inner, run.spec.outer
    limits = ShaftLimits(
        inner.angle, outer.angle, _both(inner.closes, outer.closes), _both(inner.opens, outer.opens)
    )
    zero = "ride height" if run.spec.length is None else "the middle of the joints"
    found = half_shaft_findings(run.name, run.shaft, run.moves.names, limits, zero)
    caution = f"what the frame{'' if on_rubber else ', or a mount,'} gives under torque comes on top"
    return tuple(
        replace(one, assumed=one.assumed + run.moves.assumed, caution=one.caution or caution) for one in found
    )


def _both(one: float | None, other: float | None) -> float | None:
    return None if one is None and other is None else (one or 0.0) + (other or 0.0)


# ---- propeller shafts


def propeller_runs(job: Job, survey: Survey, placed: Mapping[str, Placed]) -> tuple[PropellerRun, ...]:
    """Every propeller shaft of the job; pure."""
    return tuple(
        propeller_run(name, spec, job, survey, placed) for name, spec in job.propeller_shafts.items()
    )


def propeller_run(
    name: str, spec: PropellerShaft, job: Job, survey: Survey, placed: Mapping[str, Placed]
) -> PropellerRun:
    """One propeller shaft between what is placed and what it drives; pure."""
    found = output_of(spec.from_, spec.axis, job, placed)
    if found is None:
        return PropellerRun(name, spec, trouble=f"say under place where {parse_place(spec.from_).name} sits")
    first, axis = found
    about = f"propeller shafts.{name}"
    rest = [spot_at(about, spot, job, survey) for spot in spec.along]
    rows = sorted(spec.positions, key=lambda row: row.travel)
    names = tuple(row.name or travel_words(row.travel) for row in rows) or ("",)
    joints = np.array([[first, *rest[:-1], np.array(row.at)] for row in rows] or [[first, *rest]])
    if float(np.linalg.norm(np.diff(joints, axis=1), axis=2).min()) < 1e-6:
        return PropellerRun(name, spec, trouble="two of its joints stand at the same place")
    last = _pinions(spec, about, job, survey)
    lines = tuple(_line(spec, axis, row, pinion) for row, pinion in zip(joints, last, strict=True))
    flange = axis if float(axis @ (joints[0][1] - first)) >= 0.0 else -axis
    return PropellerRun(name, spec, names, joints, lines, all(one is not None for one in last), flange)


def _pinions(spec: PropellerShaft, about: str, job: Job, survey: Survey) -> list[Array | None]:
    """The axis that the last joint drives, in each position; None where it is not given."""
    if spec.positions:
        rows = sorted(spec.positions, key=lambda row: row.travel)
        return [None if row.axis is None else np.array(row.axis) for row in rows]
    if spec.pinion is None:
        return [None]
    start, end = (spot_at(about, point, job, survey) for point in spec.pinion)
    return [end - start]


def _line(spec: PropellerShaft, axis: Array, joints: Array, pinion: Array | None) -> Line:
    """Directions along the flow of power: an axis given the other way is turned round."""
    pieces = np.diff(joints, axis=0)
    directions = [axis if float(axis @ pieces[0]) >= 0.0 else -axis, *pieces]
    if pinion is not None:
        directions.append(pinion if float(pinion @ pieces[-1]) >= 0.0 else -pinion)
    units = np.array([one / np.linalg.norm(one) for one in directions])
    phases = spec.phases or (0.0,) * len(pieces)
    return Line(units, tuple(phases[: len(units) - 2]))
