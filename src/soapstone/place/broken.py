"""Any one mount broken: does the rest hold the unit, and what does it touch?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from soapstone.errors import LooseError
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
        Watched gaps in the order given (steering first); what cannot be the nearest is left out.
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
        return tuple(dict.fromkeys(touch.name for touch in self.watched if touch.gap <= 1e-6))


@dataclass(frozen=True, eq=False)
class Watched:
    """Gaps with what they are at rest, so that far ones need not be measured again.

    Attributes
    ----------
    clearances : tuple of Clearance
    at_rest : (n,) m
    size : float, m, how far the unit reaches from its centre
    """

    clearances: tuple[Clearance, ...]
    at_rest: Array
    size: float

    @classmethod
    def of(cls, body: Hung, clearances: Sequence[Clearance], size: float) -> "Watched":
        """Measure all once, at rest."""
        gaps = [float(c.of(_IDENTITY, body.centre).value.min()) for c in clearances]
        return cls(tuple(clearances), np.array(gaps), size)

    def touches(self, pose: Pose, body: Hung) -> tuple[Touch, ...]:
        """Gaps in a pose, in the order given."""
        gaps = self.gaps(pose, body)
        return tuple(Touch(self.clearances[row].name, gaps[row]) for row in sorted(gaps))

    def gaps(self, pose: Pose, body: Hung) -> dict[int, float]:
        """Gap m by row, but of none that is farther than the nearest whatever way its points move."""
        pivot = pose.apply(body.centre)
        turn = float(np.arccos(np.clip((np.trace(pose.rotation) - 1.0) / 2.0, -1.0, 1.0)))
        moved = float(np.linalg.norm(pivot - body.centre)) + 2.0 * np.sin(turn / 2.0) * self.size
        found: dict[int, float] = {}
        nearest = np.inf
        for row in np.argsort(self.at_rest, kind="stable"):
            if self.at_rest[row] - moved > max(nearest, 0.0):
                break
            found[int(row)] = float(self.clearances[row].of(pose, pivot).value.min())
            nearest = min(nearest, found[int(row)])
        return found


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
    near = Watched.of(body, watched, size)
    found = []
    for mount in mounts:
        left = tuple(replace(m, stiffness=np.zeros(3)) if m is mount else m for m in mounts)
        for case, load in cases.items():
            found.append(_broken(body, mount.name, left, case, load, rest, near))
    return tuple(found)


def _broken(
    body: Hung,
    name: str,
    left: tuple[Mount, ...],
    case: str,
    load: Array,
    rest: Array,
    near: Watched,
) -> Broken:
    free = loose_ways(left, body.centre)
    if len(free) and not any(mount.stops for mount in left):
        return _swinging(body, name, case, load, free, near)
    try:
        moved = come_to_rest(left, body.centre, load).displacement - rest
    except LooseError:  # the stops that are left catch it, but not the way this case drives it
        return _swinging(body, name, case, load, free, near)
    touches = near.touches(displaced(body, moved), body)
    met = dict.fromkeys(touch.name for touch in touches if touch.gap <= 1e-6)
    words = f"with {name} broken it meets {', '.join(met)}" if met else ""
    return Broken(name, case, True, moved, touches, words)


def _swinging(
    body: Hung,
    name: str,
    case: str,
    load: Array,
    free: Array,
    near: Watched,
) -> Broken:
    """Follow the unit the way its load drives it, along what is free, until it meets something."""
    drive = free.T @ (free @ load)
    turn = float(np.linalg.norm(drive[3:]))
    if len(free) > 1 or turn * near.size < 1e-9 * float(np.linalg.norm(load)):
        ways = "; ".join(twist_words(way, body.centre) for way in free)
        return Broken(
            name, case, False, np.zeros(6), near.touches(_IDENTITY, body), f"nothing holds it: {ways}"
        )
    rate = drive / turn
    axis = rate[3:]
    through = body.centre + np.cross(axis, rate[:3])
    reach = near.size + float(np.linalg.norm(through - body.centre))
    problem = Problem(_IDENTITY, through, reach, (), tuple(Limit(w, least=0.0) for w in near.clearances))
    angle, met = reach_until(problem, _IDENTITY, np.concatenate([np.zeros(3), axis]), _FARTHEST)
    shift = np.cross(axis * angle, body.centre - through)
    moved = np.concatenate([shift, axis * angle])
    words = f"with {name} broken it swings about the line of the others, "
    words += (
        f"{np.degrees(angle):.1f} deg until it meets {met}" if met else "and meets nothing that is watched"
    )
    pose = _turned(axis * angle, through)
    touches = tuple(replace(t, gap=min(t.gap, 0.0)) if t.name == met else t for t in near.touches(pose, body))
    return Broken(name, case, False, moved, touches, words)


def _turned(turn: Array, through: Array) -> Pose:
    rotation = rotation_from_vector(turn)
    return Pose(rotation, through - rotation @ through)
