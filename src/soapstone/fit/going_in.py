"""Can each body be brought in, stage after stage: straight, else turning, else what is in the way."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.caged import caged
from soapstone.fit.nearby import UPRIGHT, Nearby, Piece, Pose
from soapstone.fit.pieces import Bodies
from soapstone.fit.way import SLACK, Room, Way, find_way, way_of
from soapstone.job.ways import WayIn

Array = NDArray[np.float64]
Progress = Callable[[float], None]

_OUT = {
    "below": np.array([0.0, 0.0, -1.0]),
    "above": np.array([0.0, 0.0, 1.0]),
    "front": np.array([1.0, 0.0, 0.0]),
    "behind": np.array([-1.0, 0.0, 0.0]),
    "left": np.array([0.0, 1.0, 0.0]),
    "right": np.array([0.0, -1.0, 0.0]),
}
_PAST = 0.02
"""m; how far beyond everything a part is taken, where the job does not say how far the jack goes."""
_ASIDE = (0.125, 0.25, 0.5, 1.0)
"""Shares of the way to either side that are tried before a longer search."""
_STEP = 1e-3
"""m; poses between which the tightest place of a way is looked for."""


@dataclass(frozen=True)
class Tight:
    """The tightest place of a way: its gap m, how far the middle is from its seat m, and the two parts."""

    gap: float
    from_seat: float
    part: str
    other: str


@dataclass(frozen=True)
class Brought:
    """How one stage goes.

    Attributes
    ----------
    spec : WayIn
    way : from the seat out; to bring the part in, read it backwards. None where none was found.
    straight : whether that is one straight line
    tight : its tightest place
    held_within : m, how far its middle gets at the most, where it is proven that it cannot leave
    near : what it all but touches where it sits, nearest first
    seat_gap : m, where it sits
    wanted : m, from its seat to outside
    frees : single changes, each of which lets it in in a straight line
    """

    spec: WayIn
    way: Way | None = None
    straight: bool = False
    tight: Tight | None = None
    held_within: float | None = None
    near: tuple[str, ...] = ()
    seat_gap: float = 0.0
    wanted: float = 0.0
    frees: tuple[str, ...] = ()

    @property
    def locked(self) -> bool:
        """Whether it is proven that the part cannot leave its place."""
        return self.held_within is not None


Change = tuple[str, Bodies]
"""What is changed, in words, and the bodies then."""


def bring_all_in(
    stages: Sequence[WayIn], bodies: Bodies, changes: Callable[[WayIn], Iterator[Change]], progress: Progress
) -> tuple[Brought, ...]:
    """Every stage in the job's order; each part stays where it is brought.

    Parameters
    ----------
    stages : of the job
    bodies : as drawn
    changes : single changes that might free a stage, the smallest first
    progress : called with the share that is done
    """
    found = []
    for count, stage in enumerate(stages):
        earlier = names_of(stages[:count])

        def part_done(share: float, count: int = count) -> None:
            progress((count + share) / len(stages))

        one = bring_in(stage, bodies, earlier, part_done)
        if one.way is None:
            frees = tuple(
                words
                for words, changed in changes(stage)
                if bring_in(stage, changed, earlier, straight=True).way is not None
            )
            one = replace(one, frees=frees)
        found.append(one)
    return tuple(found)


def names_of(stages: Sequence[WayIn]) -> tuple[str, ...]:
    """Every body that the stages move."""
    return tuple(name for stage in stages for name in stage.move.split(" with "))


def standing_at(
    bodies: Bodies, stages: Sequence[WayIn], number: int
) -> tuple[tuple[Piece, ...], tuple[Piece, ...]]:
    """The pieces that a stage moves, and those that stand then."""
    return _pieces(stages[number], bodies, names_of(stages[:number]))


def _pieces(
    spec: WayIn, bodies: Bodies, earlier: Sequence[str]
) -> tuple[tuple[Piece, ...], tuple[Piece, ...]]:
    moving = tuple(piece for name in spec.move.split(" with ") for piece in bodies.moved[name])
    vehicle = tuple(piece for some in bodies.vehicle.values() for piece in some)
    return moving, vehicle + tuple(piece for name in earlier for piece in bodies.moved[name])


def bring_in(
    spec: WayIn,
    bodies: Bodies,
    earlier: Sequence[str],
    progress: Progress = lambda share: None,
    straight: bool = False,
) -> Brought:
    """One stage, the vehicle and what came earlier standing; on request only straight ways."""
    near = Nearby(*_pieces(spec, bodies, earlier))
    touching = near.contacts(near.seat, max(4.0 * spec.gap, 2e-3))
    names = tuple(dict.fromkeys(near.standing[contact.stander].name for contact in touching))
    seat_gap = touching[0].gap if touching else max(4.0 * spec.gap, 2e-3)
    outside = _outside(near, spec)
    wanted = float(np.linalg.norm(outside[0] - near.middle))
    found = Brought(spec, near=names, seat_gap=seat_gap, wanted=wanted)
    if seat_gap < spec.gap:
        return found
    if near.clear(near.seat, outside, spec.gap * (1.0 - SLACK)):
        way = way_of([near.seat, outside], spec.gap * (1.0 - SLACK))
        return replace(found, way=way, straight=True, tight=_tightest(near, way))
    if straight:
        return found
    aside = _aside(near, spec, outside)
    if aside is not None:
        return replace(found, way=aside, tight=_tightest(near, aside))
    held_within = caged(near, spec.tilt > 0.0)
    if held_within is not None:
        return replace(found, held_within=held_within)
    room = _room(near, spec, outside)
    searched = find_way(
        near, [near.seat], [outside], room, keep=spec.gap, steps=spec.steps, progress=progress
    )
    return replace(found, way=searched, tight=_tightest(near, searched) if searched else None)


def _aside(near: Nearby, spec: WayIn, outside: Pose) -> Way | None:
    """Three straight moves: aside, out, and back in line, as short as they get; None where none goes."""
    keep = spec.gap * (1.0 - SLACK)
    out = outside[0] - near.middle
    for share in _ASIDE:
        for direction in (*np.eye(3), *-np.eye(3)):
            if abs(direction @ out) > 0.5 * np.linalg.norm(out):
                continue
            first = (near.middle + share * spec.shift * direction, UPRIGHT)
            poses = [near.seat, first, (first[0] + out, UPRIGHT), outside]
            if all(near.clear(a, b, keep) for a, b in pairwise(poses)):
                return way_of(poses, keep)
    return None


def _outside(near: Nearby, spec: WayIn) -> Pose:
    out = _OUT[spec.from_]
    if spec.travel is not None:
        return near.middle + spec.travel * out, UPRIGHT
    past = max((float((piece.points @ out).max()) for piece in near.standing), default=0.0)
    far = past - float(((near.points + near.middle) @ out).min()) + _PAST
    return near.middle + max(far, _PAST) * out, UPRIGHT


def _room(near: Nearby, spec: WayIn, outside: Pose) -> Room:
    ends = np.array([near.middle, outside[0]])
    return Room(ends.min(axis=0) - spec.shift, ends.max(axis=0) + spec.shift, spec.tilt, spec.tilt)


def _tightest(near: Nearby, way: Way) -> Tight:
    """The tightest place of a way, looked for every millimetre within what it could be."""
    best = Tight(np.inf, 0.0, "", "")
    for pose in way.walked(_STEP, near.reach).poses:
        touching = near.contacts(pose, min(best.gap, 0.05))
        if touching:
            nearest = touching[0]
            from_seat = float(np.linalg.norm(pose[0] - near.middle))
            part, other = near.moving[nearest.mover].name, near.standing[nearest.stander].name
            best = Tight(nearest.gap, from_seat, part, other)
    return best
