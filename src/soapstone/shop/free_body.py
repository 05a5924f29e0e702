"""Free bodies drawn: what acts on a unit's housing from outside, and what its mounts answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from soapstone.job.schema import Job
from soapstone.parts.layout import Layout
from soapstone.place.bookkeeping import Support, reactions
from soapstone.place.hung import solid_of
from soapstone.place.loads import LoadCase
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed
from soapstone.place.reaction import Action
from soapstone.quantity import Kind
from soapstone.shop.drawing import SIDE, View
from soapstone.shop.labels import apart
from soapstone.shop.words import Words

Array = NDArray[np.float64]

FRONT = View("from in front", np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))
ABOVE = View("from above, front at the left", np.array([-1.0, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]))
_VIEWS = (FRONT, SIDE, ABOVE)  # for a torque about the axes along, across and up
_ROOM = np.array([88.0, 80.0])  # mm of paper for one picture
_EDGE = np.array([23.0, 20.0])  # mm round the unit, for arrows and names
_LONGEST = 17.0  # mm, arrow of the largest force
_ARC = 7.0  # mm, radius of a torque's arrow
_HEAD = 1.8
_TOGETHER = 6.0  # mm; places nearer than that on paper are one arrow
_TELLING = 0.2  # share of the largest torque that earns a view along its own axis
_LEAST = 1e-3  # share of the largest below which an arrow is not drawn


@dataclass(frozen=True, eq=False)
class FreeBodyPicture:
    """What a picture shows.

    Attributes
    ----------
    case : LoadCase
    actions : tuple of Action, from outside
    answers : mount or hanger to its force (3,) N on the unit
    places : mount or hanger to its place (3,) m
    """

    case: LoadCase
    actions: tuple[Action, ...]
    answers: Mapping[str, Array]
    places: Mapping[str, Array]


def free_bodies(
    layout: Layout, placed: Mapping[str, Placed], cases: Sequence[LoadCase], unit: OnRubber | None, name: str
) -> tuple[FreeBodyPicture, ...]:
    """One picture for each way that a body is acted on, in the case where it is acted on most.

    The answers are those of statics to what is drawn alone, its own weight aside: of rubber by its
    stiffness, of bolted hangers as if all were alike.
    """
    body = placed[name]
    held = supports_of(layout, unit, name)
    worst: dict[tuple[str, ...], tuple[float, LoadCase]] = {}
    for case in cases:
        acting = _acting(case, name)
        size = float(np.linalg.norm(case.wrench(name, body.centre)))
        if not acting or not held:
            continue
        key = (*(action.name for action in acting), *(_sense(case, name)))
        if key not in worst or size > worst[key][0]:
            worst[key] = size, case
    return tuple(_picture(case, name, body, held) for _, case in worst.values())


def _sense(case: LoadCase, name: str) -> tuple[str, ...]:
    """Driving and holding back are pictures of their own."""
    return ("back",) if case.body == name and float(case.torque @ [1.0, -1.0, 0.0]) < 0.0 else ()


def _acting(case: LoadCase, name: str) -> tuple[Action, ...]:
    drive = case.shafts if case.body == name else ()
    return (*drive, *(case.others[name].actions if name in case.others else ()))


def supports_of(layout: Layout, unit: OnRubber | None, name: str) -> tuple[Support, ...]:
    """Each direction in which each mount or hanger holds a body."""
    if unit is not None:
        return tuple(
            Support(hung.mount.name, hung.mount.place, way, float(stiffness))
            for hung in unit.mounts
            for way, stiffness in zip(hung.mount.axes.T, hung.mount.stiffness, strict=True)
        )
    hangers = (h for h in layout.hangers.values() if h.body == name and h.bolt is not None)
    return tuple(Support(hanger.name, hanger.boss, way) for hanger in hangers for way in np.eye(3))


def _picture(case: LoadCase, name: str, body: Placed, held: Sequence[Support]) -> FreeBodyPicture:
    sizes = reactions(held, case.wrench(name, body.centre), body.centre)
    answers: dict[str, Array] = {}
    for support, size in zip(held, sizes, strict=True):
        answers[support.name] = answers.get(support.name, np.zeros(3)) + size * support.direction
    places = {support.name: support.place for support in held}
    return FreeBodyPicture(case, _acting(case, name), answers, places)


def free_body_data(job: Job, body: Placed, picture: FreeBodyPicture, words: Words) -> list[dict[str, Any]]:
    """A picture as plain data for `drawing` of `sheet.typ`, seen along each axis that it turns about."""
    turns = np.abs(picture.case.wrench(body.name, body.centre)[3:])
    telling = turns >= _TELLING * turns.max()
    return [
        _drawn(job, body, picture, view, words) for view, tells in zip(_VIEWS, telling, strict=True) if tells
    ]


def _drawn(job: Job, body: Placed, picture: FreeBodyPicture, view: View, words: Words) -> dict[str, Any]:
    sheet = _Sheet(
        view, _outlines(job, body, view), [*picture.places.values(), *(a.place for a in picture.actions)]
    )
    for outline in sheet.outlines:
        sheet.lines.append({"points": sheet.paper(outline), "stroke": "grey", "closed": True})
    _draw_actions(sheet, picture, words)
    _draw_answers(sheet, picture, words)
    labels, leaders = apart(
        sheet.spots,
        room=(float(sheet.size[0]), float(sheet.size[1])),
        drawn=[line["points"] for line in sheet.lines],
        size=6.5,
    )
    return {
        "case": picture.case.name,
        "view": view.name.partition(", front")[0],
        "said": _said(job, picture, words),
        "drawing": {
            "width": float(sheet.size[0]),
            "height": float(sheet.size[1]),
            "lines": [*sheet.lines, *leaders],
            "labels": [label | {"size": 6.5} for label in labels],
        },
    }


def _said(job: Job, picture: FreeBodyPicture, words: Words) -> str:
    case, motor = picture.case, job.service.motor
    parts = []
    if motor is not None and np.any(case.torque):
        size = words.show.text(float(np.linalg.norm(case.torque)), Kind.TORQUE)
        inside = motor.layout != "longitudinal"
        line = "about the axle's line" if inside else "about the vehicle's length"
        shafts = "the half-shafts" if inside else "the propeller shaft"
        parts.append(
            f"Layout {motor.layout}: the housing feels what {shafts} take, turned round: {size} {line}"
        )
        if motor.layout == "longitudinal, final drive inside":
            parts.append("The motor's own torque about the vehicle's length stays inside the housing")
    if case.others:
        names = _joined([action.name for found in case.others.values() for action in found.actions])
        parts.append(f"{'Beside it' if parts else 'Acting'}: {names}")
    return ". ".join(parts) + "."


def _outlines(job: Job, body: Placed, view: View) -> list[Array]:
    """Hulls (k, 2) m of the envelope's solids as seen."""
    found = []
    for shape in job.bodies[body.name].envelope:
        solid = solid_of(shape)
        if solid is None:
            continue
        flat = view.flat(solid.moved(body.pose).support(_all_round(view)))
        try:
            found.append(flat[ConvexHull(flat).vertices])
        except QhullError:  # seen edge-on
            continue
    return found


def _all_round(view: View) -> Array:
    """Directions (48, 3) in the plane of the paper."""
    angles = np.linspace(0.0, 2.0 * np.pi, 49)[:-1] + 0.01
    ways: Array = np.outer(np.cos(angles), view.right) + np.outer(np.sin(angles), view.up)
    return ways


class _Sheet:
    """Paper of one picture: scale, and what is drawn on it so far."""

    def __init__(self, view: View, outlines: list[Array], places: Sequence[Array]) -> None:
        self.view, self.outlines = view, outlines
        points = np.vstack([*outlines, view.flat(np.array(places))])
        low, high = points.min(axis=0), points.max(axis=0)
        room = _ROOM - 2.0 * _EDGE
        span = np.maximum(high - low, 1e-3)
        self.scale = float((room / span).min())
        self.low = low
        self.size = np.maximum(self.scale * (high - low) + 2.0 * _EDGE, 2.0 * _EDGE)
        self.lines: list[dict[str, Any]] = []
        self.spots: list[tuple[str, list[float]]] = []

    def paper(self, flat: Array) -> list[Any]:
        at: list[Any] = (self.scale * (flat - self.low) + _EDGE).tolist()
        return at

    def place(self, point: Array) -> Array:
        """(2,) mm of a point (3,) m."""
        return np.array(self.paper(self.view.flat(point)))

    def arrow(self, tip: Array, way: Array, length: float, stroke: str) -> Array:
        """Draw an arrow that ends at `tip` mm, along a unit `way`; where it begins."""
        start: Array = tip - length * way
        across = np.array([-way[1], way[0]])
        head = [tip - _HEAD * way + 0.45 * _HEAD * side * across for side in (1.0, -1.0)]
        self.lines.append({"points": [start.tolist(), tip.tolist()], "stroke": stroke})
        self.lines.append({"points": [head[0].tolist(), tip.tolist(), head[1].tolist()], "stroke": stroke})
        return start

    def arc(self, middle: Array, sense: float, stroke: str) -> Array:
        """Draw a turning arrow; counter-clockwise on paper where `sense` is above zero. Its top."""
        angles = np.radians(np.linspace(-60.0, 210.0, 37))
        ring = middle + _ARC * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        if sense < 0.0:
            ring = ring[::-1]
        self.lines.append({"points": ring.tolist(), "stroke": stroke})
        way = (ring[-1] - ring[-2]) / np.linalg.norm(ring[-1] - ring[-2])
        across = np.array([-way[1], way[0]])
        head = [ring[-1] - _HEAD * way + 0.45 * _HEAD * side * across for side in (1.0, -1.0)]
        self.lines.append(
            {"points": [head[0].tolist(), ring[-1].tolist(), head[1].tolist()], "stroke": stroke}
        )
        top: Array = middle + np.array([0.0, _ARC])
        return top


def _draw_actions(sheet: _Sheet, picture: FreeBodyPicture, words: Words) -> None:
    """Forces as thick arrows, torques that are seen end-on as thick turning arrows."""
    spans = [float(np.linalg.norm(sheet.view.flat(action.force))) for action in picture.actions]
    largest = max(spans, default=0.0)
    for action, span in zip(picture.actions, spans, strict=True):
        if span > _LEAST * largest > 0.0:
            flat = sheet.view.flat(action.force) / span
            start = sheet.arrow(sheet.place(action.place), flat, _LONGEST * span / largest, "thick")
            size = words.force(span)
            sheet.spots.append((f"{size}, {action.name}", start.tolist()))
    seen = [float(action.moment @ sheet.view.near) for action in picture.actions]
    middles = [sheet.place(action.place) for action in picture.actions]
    for group in _near(middles):
        moment = sum(seen[row] for row in group)
        names = _joined([picture.actions[row].name for row in group])
        if abs(moment) > _LEAST * max(map(abs, seen)):
            top = sheet.arc(np.mean([middles[row] for row in group], axis=0), moment, "thick")
            size = words.show.text(abs(moment), Kind.TORQUE)
            sheet.spots.append((f"{size}, {names}", top.tolist()))


def _draw_answers(sheet: _Sheet, picture: FreeBodyPicture, words: Words) -> None:
    """What mounts put on the unit: thin arrows that end at them."""
    names = list(picture.answers)
    middles = [sheet.place(picture.places[name]) for name in names]
    groups = _near(middles)
    flats = [
        sheet.view.flat(np.sum([picture.answers[names[row]] for row in group], axis=0)) for group in groups
    ]
    largest = max((float(np.linalg.norm(flat)) for flat in flats), default=0.0)
    for group, flat in zip(groups, flats, strict=True):
        at, span = np.mean([middles[row] for row in group], axis=0), float(np.linalg.norm(flat))
        said = _joined([names[row] for row in group])
        if span > _LEAST * largest > 0.0:
            start = sheet.arrow(at, flat / span, max(_LONGEST * span / largest, 3.0), "thin")
            sheet.spots.append((f"{words.force(span)}, {said}", start.tolist()))


def _near(places: Sequence[Array]) -> list[list[int]]:
    """Rows of places that fall together on paper."""
    groups: list[list[int]] = []
    for row, place in enumerate(places):
        for group in groups:
            if float(np.linalg.norm(places[group[0]] - place)) < _TOGETHER:
                group.append(row)
                break
        else:
            groups.append([row])
    return groups


def _joined(names: Sequence[str]) -> str:
    """`front mounts`-like: what all names share said once, `hanger_front left and right`."""
    unique = list(dict.fromkeys(names))
    if len(unique) == 1:
        return unique[0]
    stem = unique[0]
    while stem and not all(name.startswith(stem) for name in unique):
        stem = stem[:-1]
    stem = stem[: max(stem.rfind(mark) for mark in "_- ") + 1]
    if not stem:
        return " and ".join(unique)
    return f"{stem.rstrip('_- ')} {' and '.join(name[len(stem) :] for name in unique)}"
