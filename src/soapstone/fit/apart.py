"""Which pieces of two groups need no gap because they are joined, and why."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.groups import Group, Piece, Role
from soapstone.fit.near import Near, nearest
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.parts.axes import Axes
from soapstone.parts.layout import Layout
from soapstone.parts.solids import box

Array = NDArray[np.float64]

_FOOT = 0.003
"""m; a foot that comes as near as this to an obstacle is taken to stand on it: what frame readings hold."""


class Joined:
    """Answers for two pieces whether they are joined, and how."""

    def __init__(self, job: Job, layout: Layout, obstacles: tuple[Group, ...]) -> None:
        self._held: dict[str, frozenset[str]] = {}
        for fork in layout.forks.values():
            if fork.holds is not None and fork.bolt is not None:
                self._held[fork.name] = frozenset({fork.holds[0], fork.spec.holds or ""})
        self._carried = {hanger.name: hanger.body for hanger in layout.hangers.values()}
        self._feet = _feet(job, layout, obstacles)
        self._shafts = {
            f"{name} half-shaft": parse_place(shaft.from_).name for name, shaft in job.half_shafts.items()
        }

    def why(self, first: Piece, second: Piece) -> str:
        """How the two are joined; empty when they are not."""
        for one, other in ((first.owner, second.owner), (second.owner, first.owner)):
            if other in self._held.get(one, ()):
                return f"{other} is bolted into {one}"
            if self._carried.get(one) == other:
                return f"{one} is bolted to {other}"
            if other in self._feet.get(one, ()):
                return f"{one} stands on {other}"
            if self._shafts.get(one) == other:
                return f"{one} is plugged into {other}"
        return ""


def _feet(job: Job, layout: Layout, obstacles: tuple[Group, ...]) -> Mapping[str, frozenset[str]]:
    """The obstacles that each fork's foot stands on: what the job says, else what it comes near."""
    found = {}
    for fork in layout.forks.values():
        if fork.on_member:
            continue
        said = job.supports[fork.spec.on].is_
        foot = fork.pin - fork.spec.reach * layout.foot_to_hole(fork)
        names = {said} if said else _near_foot(foot, obstacles)
        found[fork.name] = frozenset(names)
    return found


def _near_foot(foot: Array, obstacles: tuple[Group, ...]) -> set[str]:
    spot = Near(box(np.full(3, 1e-4), Axes(foot, *np.eye(3))))
    return {
        group.name for group in obstacles for piece in group.pieces if nearest(spot, piece.near).size <= _FOOT
    }


def looked_at(first: Group, second: Group) -> str:
    """Why two groups need not be looked at; empty when they must be."""
    roles = {first.role, second.role}
    if roles == {Role.OBSTACLE}:
        return "both belong to the vehicle as it is"
    if roles == {Role.BRACKETS, Role.OBSTACLE} and not first.pieces:
        return "no shape"
    if roles == {Role.BRACKETS}:
        return "both are welded to the vehicle"
    return ""


def hung_on(layout: Layout, body: str, frame: Group) -> bool:
    """Whether a body is bolted to a frame's hangers and so goes where it goes."""
    own = {piece.owner for piece in frame.pieces}
    return any(hanger.body == body and hanger.host.on in own for hanger in layout.hangers.values())
