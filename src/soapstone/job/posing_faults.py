"""Names in what is wanted of a body's pose, in its faces and under its jacks, that lead nowhere."""

from collections.abc import Iterator

from soapstone.job.faults import KeyPath, quote, remedy
from soapstone.job.fields import Vector
from soapstone.job.hardware import Body, Put
from soapstone.job.names import Names
from soapstone.job.posing import Lean, Wanted
from soapstone.job.schema import Job

Told = Iterator[tuple[KeyPath, str]]
_RUNS = ("fore-aft", "side to side", "up and down")
_STEEP = 0.9
"""An axis with a larger part upright lies so steep that no level is laid on it, and it has no heading."""


def runs(axis: Vector) -> str:
    """The way an axis of a body mostly runs: `fore-aft`, `side to side` or `up and down`."""
    return _RUNS[max(range(3), key=lambda part: abs(axis[part]))]


def face_faults(job: Job) -> Told:
    """Faces levelled for an axis that is not there, or that lean the other way."""
    for name, body in job.bodies.items():
        for face, spec in body.faces.items():
            path: KeyPath = ("bodies", name, "faces", face)
            yield (*path, "level to"), unknown_axis(spec.level_to, name, body)
            if face in body.axes:
                yield path, f"{face} is an axis of {name} too; one name, one thing"
            if spec.angle is not None and spec.level_to in body.axes:
                yield (*path, "angle"), _strange_lean(body.axes[spec.level_to], spec.level_to, spec.angle)


def unknown_axis(axis: str, name: str, body: Body) -> str:
    """What is wrong with the name of an axis of a body; nothing when it is there."""
    if axis in body.axes:
        return ""
    return f"{quote(axis)} is no axis of {name}; {remedy(axis, body.axes)}"


def _strange_lean(axis: Vector, name: str, lean: Lean) -> str:
    way = runs(axis)
    if way == "up and down" or abs(axis[2]) > _STEEP:
        return f"{name} runs up and down; a level shows nothing of it"
    if (way == "fore-aft") is (lean.about == "across"):
        return ""
    words = "nose down or nose up" if way == "fore-aft" else "left up or left down"
    return f"{name} runs {way}; say {words}"


def wanted_faults(name: str, body: Body, put: Put, names: Names) -> Told:
    """Of one body's `wanted`: points, axes, faces, obstacles and planes that are not there."""
    for index, wanted in enumerate(put.wanted):
        path: KeyPath = ("place", name, "wanted", index)
        for key in ("point", "flange"):
            own = getattr(wanted, key)
            if own is not None and own not in body.points:
                yield (*path, key), f"{quote(own)} is no point of {name}; {remedy(own, body.points)}"
        yield from _axes(path, name, body, wanted)
        yield from _places(path, body, wanted, names)
    if (put.rest is not None or put.free_play is not None) and not put.wanted:
        yield ("place", name), "rest and free play belong to wanted"
    if put.free_play is not None and not put.free_play.turn > 0.0:
        yield ("place", name, "free play", "turn"), "must be more than nothing"


def _axes(path: KeyPath, name: str, body: Body, wanted: Wanted) -> Told:
    if wanted.level is not None:
        yield from _level(path, name, body, wanted)
    for key in ("heading", "axis"):
        axis = getattr(wanted, key)
        if axis is not None:
            yield (*path, key), unknown_axis(axis, name, body)
    if wanted.heading in body.axes and abs(body.axes[wanted.heading or ""][2]) > _STEEP:
        yield (*path, "heading"), f"{wanted.heading} runs up and down; it points nowhere"


def _level(path: KeyPath, name: str, body: Body, wanted: Wanted) -> Told:
    face = body.faces.get(wanted.face)
    if face is None and wanted.face not in body.axes:
        known = [*body.axes, *body.faces]
        told = f"{quote(wanted.face)} is no axis and no face of {name}; {remedy(wanted.face, known)}"
        yield (*path, "level"), told
        return
    axis = body.axes.get(face.level_to if face is not None else wanted.face)
    if axis is None:  # told at the face
        return
    way = runs(axis)
    if way == "up and down" or abs(axis[2]) > _STEEP:
        yield (*path, "level"), f"{wanted.face} runs up and down; level an axis that lies"
    elif wanted.way and wanted.way != way:
        yield (*path, "level"), f"{wanted.face} runs {way}, so it is levelled {way}"
    for key, leans in (("slope", (wanted.slope,)), ("between", wanted.between or ())):
        for lean in leans:
            if lean is not None:
                yield (*path, key), _strange_lean(axis, wanted.face, lean)


def _places(path: KeyPath, body: Body, wanted: Wanted, names: Names) -> Told:
    points = [*(wanted.on_line or ()), *(wanted.in_line_with or ())]
    points += [wanted.at] if isinstance(wanted.at, str) else []
    for point in points:
        yield path, names.misplaced(point, "points")
    for pair in (wanted.on_line or (), wanted.in_line_with or ()):
        if len(pair) == 2 and pair[0] == pair[1]:
            yield path, f"{pair[0]} twice makes no line"
    if wanted.above is not None:
        yield (*path, "above"), names.unknown(wanted.above, "planes")
    if wanted.clear not in (None, "all"):
        yield (*path, "clear"), names.unknown(wanted.clear or "", "obstacles", "planes")
    parts = [shape.name for shape in body.envelope if shape.name is not None]
    numbered = [f"part {number}" for number, shape in enumerate(body.envelope, 1) if shape.name is None]
    if wanted.part is not None and wanted.part not in (*parts, *numbered):
        told = f"{quote(wanted.part)} is no part of the envelope; {remedy(wanted.part, parts + numbered)}"
        yield (*path, "part"), told


def jack_faults(job: Job, names: Names) -> Told:
    """Jacks under bodies or points that are not there."""
    for name, jacks in job.jacks.items():
        yield ("jacks", name), names.unknown(name, "bodies")
        body = job.bodies.get(name)
        for screw, jack in jacks.items():
            if body is not None and jack.point not in body.points:
                path: KeyPath = ("jacks", name, screw, "point")
                yield path, f"{quote(jack.point)} is no point of {name}; {remedy(jack.point, body.points)}"
