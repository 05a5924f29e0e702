"""Any one mount broken: does the rest hold the unit, and what does it touch?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from soapstone.place.freedom import reach_until, twist_words
from soapstone.place.isolators import Array, Hung, Mount, come_to_rest, loose_ways
from soapstone.place.measures import Clearance
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.place.sharing import displaced
from soapstone.place.solve import Limit, Problem

_IDENTITY = Pose(np.eye(3), np.zeros(3))
_FARTHEST = np.radians(60.0)
"""How far a unit that swings is followed; by then it has left its bay."""


@dataclass(frozen=True)
class Touch:
    """Something that the unit reaches.

    Attributes
    ----------
    name : str
    gap : float, m; below zero it is pressed in by so much where nothing yields
    """

    name: str
    gap: float


@dataclass(frozen=True, eq=False)
class Broken:
    """One case with one mount broken.

    Attributes
    ----------
    mount, case : str
    held : bool
        Whether the other mounts, and what stops the broken one keeps, hold the unit.
    displacement : (6,) of the centre from rest, m and rad; where it is not held, up to the first touch
    watched : tuple of Touch
        Every watched gap, in the order given (steering first).
    words : str
        What it does, `swings 12.3 deg ... until it meets ...` or empty where it is held and clear.
    """

    mount: str
    case: str
    held: bool
    displacement: Array
    watched: tuple[Touch, ...]
    words: str

    @property
    def touched(self) -> tuple[str, ...]:
        """Names of what it reaches, in the order watched."""
        return tuple(touch.name for touch in self.watched if touch.gap <= 1e-6)


def one_broken(
    body: Hung,
    mounts: Sequence[Mount],
    standing: Array,
    cases: Mapping[str, Array],
    watched: Sequence[Clearance],
    *,
    size: float,
) -> tuple[Broken, ...]:
    """Break each mount in turn under each case.

    A broken mount has lost its rubber and keeps its stops: a captive mount still catches the unit.

    Parameters
    ----------
    standing : (6,) N and N·m, the unit at rest on all mounts; movements are counted from there
    cases : name to (6,) N and N·m at the centre, weight included
    watched : gaps of the unit, as it stands at rest, to its surroundings; the most dangerous first
    size : float, m, how far the unit reaches from its centre
    """
    rest = come_to_rest(mounts, body.centre, standing).displacement
    found = []
    for mount in mounts:
        left = tuple(replace(m, stiffness=np.zeros(3)) if m is mount else m for m in mounts)
        for case, load in cases.items():
            found.append(_broken(body, mount.name, left, case, load, rest, watched, size))
    return tuple(found)


def _broken(
    body: Hung,
    name: str,
    left: tuple[Mount, ...],
    case: str,
    load: Array,
    rest: Array,
    watched: Sequence[Clearance],
    size: float,
) -> Broken:
    free = loose_ways(left, body.centre)
    if len(free) and not any(mount.stops for mount in left):
        return _swinging(body, name, case, load, free, watched, size)
    moved = come_to_rest(left, body.centre, load).displacement - rest
    touches = _touches(displaced(body, moved), body, watched)
    met = [touch.name for touch in touches if touch.gap <= 1e-6]
    words = f"with {name} broken it meets {', '.join(met)}" if met else ""
    return Broken(name, case, True, moved, touches, words)


def _touches(pose: Pose, body: Hung, watched: Sequence[Clearance]) -> tuple[Touch, ...]:
    pivot = pose.apply(body.centre)
    return tuple(Touch(w.name, float(w.of(pose, pivot).value.min())) for w in watched)


def _swinging(
    body: Hung,
    name: str,
    case: str,
    load: Array,
    free: Array,
    watched: Sequence[Clearance],
    size: float,
) -> Broken:
    """Follow the unit the way its load drives it, along what is free, until it meets something."""
    drive = free.T @ (free @ load)
    turn = float(np.linalg.norm(drive[3:]))
    if len(free) > 1 or turn * size < 1e-9 * float(np.linalg.norm(load)):
        ways = "; ".join(twist_words(way, body.centre) for way in free)
        return Broken(
            name, case, False, np.zeros(6), _touches(_IDENTITY, body, watched), f"nothing holds it: {ways}"
        )
    rate = drive / turn
    axis = rate[3:]
    through = body.centre + np.cross(axis, rate[:3])
    reach = size + float(np.linalg.norm(through - body.centre))
    problem = Problem(_IDENTITY, through, reach, (), tuple(Limit(w, least=0.0) for w in watched))
    angle, met = reach_until(problem, _IDENTITY, np.concatenate([np.zeros(3), axis]), _FARTHEST)
    shift = np.cross(axis * angle, body.centre - through)
    moved = np.concatenate([shift, axis * angle])
    words = f"with {name} broken it swings about the line of the others, "
    words += (
        f"{np.degrees(angle):.1f} deg until it meets {met}" if met else "and meets nothing that is watched"
    )
    pose = _turned(axis * angle, through)
    touches = tuple(
        replace(t, gap=min(t.gap, 0.0)) if t.name == met else t for t in _touches(pose, body, watched)
    )
    return Broken(name, case, False, moved, touches, words)


def _turned(turn: Array, through: Array) -> Pose:
    rotation = rotation_from_vector(turn)
    return Pose(rotation, through - rotation @ through)
