"""Shafts of a unit on rubber: looked at as it stands, and wherever a load case moves it on its mounts."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from soapstone.finding import Finding
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.place.half_shafts import through_travel
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose
from soapstone.place.shafting import HalfRun, output_of

Poses = Mapping[str, Mapping[str, Pose]]
"""By body, then by load case: what is at rest goes in, where it then is comes out."""

STILL: Poses = MappingProxyType({})
"""Nothing moves: every unit is bolted down."""


def shifted(body: Placed, by: Pose) -> Placed:
    """The body where a load case has moved it to."""
    pose = Pose(by.rotation @ body.pose.rotation, by.apply(body.pose.origin))
    points = {name: by.apply(at) for name, at in body.points.items()}
    return replace(body, pose=pose, centre=by.apply(body.centre), points=points)


def in_each_case(place: str, placed: Mapping[str, Placed], poses: Poses) -> dict[str, dict[str, Placed]]:
    """Case to all bodies, the one that `place` is on moved; empty where that body does not move."""
    name = parse_place(place).name
    if name not in placed:
        return {}
    return {case: {**placed, name: shifted(placed[name], by)} for case, by in poses.get(name, {}).items()}


def swayed_half(run: HalfRun, job: Job, placed: Mapping[str, Placed]) -> HalfRun:
    """A half-shaft with the length that it has at rest, its inner joint gone along with the unit.

    Raises
    ------
    GeometryError
        When both joints fall together.
    """
    found = output_of(run.spec.from_, run.spec.axis, job, placed)
    if run.moves is None or found is None:
        return run
    inner, axis = found
    shaft = through_travel(inner, axis, run.moves.at, run.moves.axis, ride_length=run.ride_length)
    return replace(run, inner=inner, shaft=shaft)


def worst_of(at_rest: Sequence[Finding], in_cases: Mapping[str, Sequence[Finding]]) -> tuple[Finding, ...]:
    """Each finding at rest, or in the load case that uses more of what is allowed.

    Answers without a share (something is missing) are left as they are at rest.
    """
    worst = {finding.id: finding for finding in at_rest}
    for case, findings in in_cases.items():
        for finding in findings:
            if (finding.ratio or 0.0) > (worst[finding.id].ratio or 0.0):
                words = f"{case}: {finding.case}" if finding.case else case
                worst[finding.id] = replace(finding, case=words)
    return tuple(worst.values())


def farthest(point: str, placed: Mapping[str, Placed], poses: Poses) -> tuple[str, float] | None:
    """The load case in which a body's point moves farthest, and how far, m; None where it does not move."""
    where = parse_place(point)
    moved = {
        case: float(
            np.linalg.norm(bodies[where.name].points[where.point] - placed[where.name].points[where.point])
        )
        for case, bodies in in_each_case(point, placed, poses).items()
    }
    case = max(moved, key=moved.__getitem__, default=None)
    return None if case is None else (case, moved[case])
