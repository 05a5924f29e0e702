"""How far groups move from where they stand at rest: bodies as poses, everything else as a length."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.groups import Group, Role
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.place.sharing import displaced

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Moved:
    """A body in one state: how it was moved from where it was placed.

    Attributes
    ----------
    state : what it is called: a load case, or a broken mount with its case
    pose : Pose, applied to vehicle axes
    broken : whether a mount is broken in it
    """

    state: str
    pose: Pose
    broken: bool = False


@dataclass(frozen=True, eq=False)
class Moves:
    """All that is known of movement.

    Attributes
    ----------
    bodies : states of each body
    sway : m, by group: the farthest that any place of it goes under load, with the case
    soft : bodies that stand on rubber
    """

    bodies: Mapping[str, tuple[Moved, ...]] = field(default_factory=dict)
    sway: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    soft: frozenset[str] = frozenset()

    def farthest(self, group: Group) -> tuple[float, str]:
        """m and the case: how far the group goes at most."""
        if group.role is not Role.BODY:
            return self.sway.get(group.name, (0.0, ""))
        reaches = [
            (shift_of(state.pose, group), state.state)
            for state in self.bodies.get(group.name, ())
            if not state.broken
        ]
        return max(reaches, default=(0.0, ""))


def shift_of(pose: Pose, group: Group) -> float:
    """m: the farthest that any place of a group goes; a corner of the box round it goes farthest."""
    low, high = group.box
    picks = np.array(np.meshgrid([0, 1], [0, 1], [0, 1])).reshape(3, -1).T
    corners = np.where(picks == 1, high, low)
    return float(np.linalg.norm(pose.apply(corners) - corners, axis=1).max())


def moves_of(
    job: Job,
    placed: Mapping[str, Placed],
    groups: Sequence[Group],
    movements: Mapping[str, Array],
    cases: Sequence[str],
    rubber: Mapping[str, tuple[Moved, ...]],
) -> Moves:
    """From the bending of the frame, and from the rubber where there is any.

    Parameters
    ----------
    movements : name of a place to (c, 3) m, of every load case
    cases : the c names
    rubber : states of the bodies on rubber, from rest
    """
    bodies = {
        name: (*rubber.get(name, ()), *_bent(name, body, movements, cases)) for name, body in placed.items()
    }
    sway = {
        group.name: _sway(job, group, movements, cases) for group in groups if group.role is not Role.BODY
    }
    return Moves(bodies, sway, frozenset(name for name, states in rubber.items() if states))


def on_rubber(rubber: Mapping[str, OnRubber]) -> dict[str, tuple[Moved, ...]]:
    """How every body on rubber moves from rest, in each case and with each mount broken."""
    return {
        name: (
            *(Moved(moved.case, displaced(one.body, moved.displacement)) for moved in one.moves),
            *(
                Moved(f"{gone.mount} broken, {gone.case}", displaced(one.body, gone.displacement), True)
                for gone in one.broken
            ),
        )
        for name, one in rubber.items()
    }


def _bent(name: str, body: Placed, movements: Mapping[str, Array], cases: Sequence[str]) -> tuple[Moved, ...]:
    """A body goes as its points do: the rigid movement that fits them best."""
    known = [point for point in body.points if f"{name}.{point}" in movements]
    if len(known) < 3:
        return ()
    at = np.array([body.points[point] for point in known])
    middle = at.mean(axis=0)
    x, y, z = (at - middle).T
    none = np.zeros(len(at))
    turns = np.stack([none, z, -y, -z, none, x, y, -x, none], axis=1).reshape(-1, 3)
    rows = np.hstack([np.tile(np.eye(3), (len(at), 1)), turns])
    seen = np.stack([movements[f"{name}.{point}"] for point in known], axis=1)  # (c, n, 3)
    found = np.linalg.lstsq(rows, seen.reshape(len(seen), -1).T, rcond=None)[0].T
    states = []
    for case, row in zip(cases, found, strict=True):
        rotation = rotation_from_vector(row[3:])
        states.append(Moved(case, Pose(rotation, middle + row[:3] - rotation @ middle)))
    return tuple(states)


def _sway(job: Job, group: Group, movements: Mapping[str, Array], cases: Sequence[str]) -> tuple[float, str]:
    """The farthest that an end of its tubes goes; of a shaft, its inner joint."""
    owners = {piece.owner for piece in group.pieces}
    names = [f"{owner} {end}" for owner in owners for end in ("start", "end")]
    if group.role is Role.SHAFT:
        shaft = job.half_shafts[group.name.removesuffix(" half-shaft")]
        names = [parse_place(shaft.from_).text]
    found = [
        (float(size), case)
        for name in names
        if name in movements
        for size, case in zip(np.linalg.norm(movements[name], axis=1), cases, strict=True)
    ]
    return max(found, default=(0.0, ""))
