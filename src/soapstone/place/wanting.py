"""What the job wants of a body's pose, as targets to aim at and limits to keep."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.job.hardware import Body
from soapstone.job.posing import Lean, Wanted
from soapstone.job.schema import Job
from soapstone.place.envelopes import Part, obstacle_parts, parts_of, plane_of
from soapstone.place.known import known_point, upright
from soapstone.place.measures import (
    UP,
    Clearance,
    Heading,
    Height,
    Measure,
    OffAxis,
    OffLine,
    OutOfLine,
    Slope,
)
from soapstone.place.pose import Pose, rotation_from_angles
from soapstone.place.shapes import HalfSpace
from soapstone.place.solve import Limit, Target
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

ANGLE_WITHIN = float(np.radians(0.25))
LENGTH_WITHIN = 0.003
_ASSUMED = {
    "rad": "a quarter of a degree is near enough: what an angle gauge reads (common practice, no source)",
    "m": "3 mm is near enough: what body and frame readings hold (collision-repair practice)",
}
_TOWARD = {
    "forward": (1.0, 0.0, 0.0),
    "aft": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
}
_ALONG = ("fore and aft", "side to side", "up and down")


@dataclass(frozen=True, eq=False)
class Ask:
    """One entry of `wanted` as the solver takes it.

    Attributes
    ----------
    name : what it is about
    targets, limits : to aim at, to keep
    missing : what must be known before it can be asked; empty when it can
    assumed : every assumed value with its origin
    """

    name: str
    targets: tuple[Target, ...] = ()
    limits: tuple[Limit, ...] = ()
    missing: str = ""
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class _Setting:
    """What is known while the wishes of one body are read."""

    about: str
    body: Body
    start: Pose
    job: Job
    survey: Survey

    def own(self, point: str) -> Array:
        return np.array(self.body.points[point])

    def vehicle(self, point: str) -> Array:
        return known_point(self.about, point, self.job, self.survey)[0]


def asks(
    name: str, body: Body, wanted: tuple[Wanted, ...], start: Pose, job: Job, survey: Survey
) -> list[Ask]:
    """Every entry of `wanted`, in its order; some are several.

    Parameters
    ----------
    name, body : what is placed
    start : where it hangs now
    """
    setting = _Setting(f"place.{name}", body, start, job, survey)
    readers = {"level": _level, "heading": _heading, "point": _point, "flange": _flange, "clear": _clear}
    return [ask for one in wanted for ask in readers[one.head](one, setting)]


def _aimed(wanted: Wanted, measures: list[tuple[Measure, float]], name: str) -> Ask:
    """Targets of one tolerance; an assumed one is told."""
    unit = measures[0][0].unit
    given = wanted.within.value if wanted.within is not None else None
    within = given if given is not None else ANGLE_WITHIN if unit == "rad" else LENGTH_WITHIN
    size = {OffLine: 2, OffAxis: 2, OutOfLine: 2}
    targets = tuple(
        Target(measure, np.full(size.get(type(measure), 1), value), within) for measure, value in measures
    )
    return Ask(name, targets, assumed=() if given is not None else (_ASSUMED[unit],))


# ---- level and heading


def _level(wanted: Wanted, setting: _Setting) -> Iterator[Ask]:
    body, name = setting.body, wanted.face
    face = body.faces.get(name)
    axis = np.array(body.axes[face.level_to if face else name])
    label = f"{name} level" if wanted.slope is None and wanted.between is None else f"slope of {name}"
    if face is not None and face.angle is None:
        yield Ask(
            label, missing=f"measure how {name} lies to {face.level_to}, and give it as the face's angle"
        )
        return
    if face is not None and face.angle is not None:
        axis = tilted(axis, face.angle)
    measure = Slope(label, axis, upright(setting.job))
    if wanted.between is not None:
        ends = [rise(axis, lean) for lean in wanted.between]
        yield Ask(label, limits=(Limit(measure, min(ends), max(ends)),))
        return
    yield _aimed(wanted, [(measure, 0.0 if wanted.slope is None else rise(axis, wanted.slope))], label)


def tilted(axis: Array, lean: Lean) -> Array:
    """An own axis turned by a lean: where the face's line runs."""
    down, left = (lean.angle, 0.0) if lean.about == "across" else (0.0, lean.angle)
    turned: Array = rotation_from_angles(turned_left=0.0, nose_down=down, left_up=left) @ axis
    return turned


def rise(axis: Array, lean: Lean) -> float:
    """How steeply an axis rises along its own sense when it leans, rad."""
    fore_aft = lean.about == "across"
    along = float(axis[0] if fore_aft else axis[1])
    return float((-lean.angle if fore_aft else lean.angle) * np.sign(along))


def _heading(wanted: Wanted, setting: _Setting) -> Iterator[Ask]:
    assert wanted.heading is not None and wanted.toward is not None
    label = f"heading of {wanted.heading}"
    axis = np.array(setting.body.axes[wanted.heading])
    yield _aimed(wanted, [(Heading(label, axis, np.array(_TOWARD[wanted.toward])), 0.0)], label)


# ---- points


def _point(wanted: Wanted, setting: _Setting) -> Iterator[Ask]:
    assert wanted.point is not None
    own, name = setting.own(wanted.point), wanted.point
    if wanted.height is not None:
        yield _height(wanted, own, setting)
    elif wanted.on_line is not None:
        first, second = (setting.vehicle(point) for point in wanted.on_line)
        along = _unit(second - first)
        label = f"{name} on the line {' '.join(wanted.on_line)}"
        yield _aimed(wanted, [(OffLine(label, own, first, along), 0.0)], label)
    else:
        at = wanted.at
        parts = list(enumerate(setting.vehicle(at))) if isinstance(at, str) else list(at or ())
        measures: list[tuple[Measure, float]] = [
            (Height(f"{name} {_ALONG[axis]}", own, np.eye(3)[axis]), float(value)) for axis, value in parts
        ]
        yield _aimed(wanted, measures, f"{name} in its place")


def _height(wanted: Wanted, own: Array, setting: _Setting) -> Ask:
    assert wanted.height is not None
    label = f"height of {wanted.point}"
    normal, offset = UP, 0.0
    if wanted.above is not None:
        label += f" above {wanted.above}"
        if missing := _unsettled(wanted.above, setting.job):
            return Ask(label, missing=missing)
        plane = _plane(wanted.above, setting)
        normal, offset = plane.normal, plane.offset
    measure = Height(label, own, normal, offset)
    sort, value = wanted.height
    if sort == "":
        return _aimed(wanted, [(measure, value)], label)
    limit = Limit(measure, least=value) if sort == "at least" else Limit(measure, most=value)
    return Ask(label, limits=(limit,))


def _plane(name: str, setting: _Setting) -> HalfSpace:
    inside = setting.start.apply(np.array(setting.body.centre))
    return plane_of(name, setting.about, inside, setting.job, setting.survey)


def _unsettled(name: str, job: Job) -> str:
    """What must be said before a plane counts, of a vehicle that was measured on stands."""
    plane = job.planes[name]
    if job.datum.measured_on != "stands" or plane.of == "vehicle":
        return ""
    if plane.of is None:
        return f"say of {name} whether it is of the vehicle or of the floor: the vehicle was on stands"
    if job.datum.settling is None:
        return f"give datum.settling: on its wheels the vehicle stands nearer to {name} than on stands"
    return ""


# ---- flanges


def _flange(wanted: Wanted, setting: _Setting) -> Iterator[Ask]:
    assert wanted.flange is not None and wanted.axis is not None and wanted.in_line_with is not None
    own, axis = setting.own(wanted.flange), np.array(setting.body.axes[wanted.axis])
    first = setting.vehicle(wanted.in_line_with[0])
    label = f"{wanted.flange} in line with {' '.join(wanted.in_line_with)}"
    if len(wanted.in_line_with) == 1:
        yield _aimed(wanted, [(OffAxis(label, own, axis, first), 0.0)], label)
        return
    along = _unit(setting.vehicle(wanted.in_line_with[1]) - first)
    yield _aimed(wanted, [(OffLine(label, own, first, along), 0.0)], label)
    facing = along if float(setting.start.turn(axis) @ along) >= 0.0 else -along
    lean, given = f"{wanted.axis} along {' '.join(wanted.in_line_with)}", wanted.angle_within
    target = Target(OutOfLine(lean, axis, facing), np.zeros(2), given or ANGLE_WITHIN)
    yield Ask(lean, (target,), assumed=() if given else (_ASSUMED["rad"],))


def _unit(run: Array) -> Array:
    along: Array = run / max(float(np.linalg.norm(run)), 1e-300)
    return along


# ---- gaps


def _clear(wanted: Wanted, setting: _Setting) -> Iterator[Ask]:
    assert wanted.clear is not None and wanted.at_least is not None
    mine = [part for part in parts_of(setting.body) if wanted.part in (None, part.name)]
    for name, theirs in _obstacles(wanted.clear, setting):
        label = f"gap to {name}"
        missing = _unsettled(name, setting.job) if name in setting.job.planes else ""
        if not mine:
            missing = "give the body an envelope: without one nothing can come near"
        if missing:
            yield Ask(label, missing=missing)
            continue
        limits = tuple(
            Limit(
                Clearance(f"gap of {part.name} to {other.name}", part.solid, other.solid),
                least=wanted.at_least,
            )
            for part in mine
            for other in theirs
            if part.solid is not None and not isinstance(part.solid, HalfSpace) and other.solid is not None
        )
        yield Ask(label, limits=limits)
        for part in (*mine, *theirs):
            if part.solid is None:
                yield Ask(
                    f"gap of {part.name} ({name})", missing=f"{part.name} is a scan; put a box round it"
                )


def _obstacles(name: str, setting: _Setting) -> Iterator[tuple[str, tuple[Part, ...]]]:
    job = setting.job
    if name == "all":
        yield from ((one, obstacle_parts(one, obstacle)) for one, obstacle in job.obstacles.items())
    elif name in job.obstacles:
        yield name, obstacle_parts(name, job.obstacles[name])
    else:
        yield name, (Part(name, _plane(name, setting)),)
