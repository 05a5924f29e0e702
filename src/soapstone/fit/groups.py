"""What moves as one: each weldment, the brackets on each support, each body, obstacle and shaft."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.near import Near, rod
from soapstone.fit.patterns import welded_groups
from soapstone.job.schema import Job
from soapstone.parts.assembly import Assembly, Thing
from soapstone.parts.layout import ForkPart, Layout
from soapstone.place.shafting import HalfRun

Array = NDArray[np.float64]


class Role(StrEnum):
    """What a group is to the job."""

    FRAME = "frame"
    BRACKETS = "brackets"
    BODY = "body"
    OBSTACLE = "obstacle"
    SHAFT = "shaft"


@dataclass(frozen=True, eq=False)
class Piece:
    """A solid of a group, and what gap it wants.

    Attributes
    ----------
    name : as in the model
    owner : the tube, bung, fork, hanger, body, obstacle or shaft
    near : what is measured to
    kind : of gap; None where nobody said
    gap : m that the job says instead
    blind : whether a scan has no inside, so that what it has swallowed is not seen
    """

    name: str
    owner: str
    near: Near
    kind: str | None = None
    gap: float | None = None
    blind: bool = False


@dataclass(frozen=True, eq=False)
class Group:
    """Pieces that move as one.

    Attributes
    ----------
    name : what it is called in the matrix
    role : Role
    pieces : all that is known of its shape
    points : names of the surveyed points that it stands at
    missing : what must be known before it has a shape; empty when it has one
    """

    name: str
    role: Role
    pieces: tuple[Piece, ...]
    points: tuple[str, ...] = ()
    missing: str = ""

    @cached_property
    def box(self) -> tuple[Array, Array]:
        """Lowest and highest corner, m."""
        lows = [piece.near.low for piece in self.pieces]
        highs = [piece.near.high for piece in self.pieces]
        return np.min(lows, axis=0), np.max(highs, axis=0)


def groups_of(job: Job, layout: Layout, assembly: Assembly, shafts: Sequence[HalfRun]) -> tuple[Group, ...]:
    """Every group of the job, frame first."""
    by_owner: dict[str, list[Thing]] = {}
    for thing in assembly.things:
        by_owner.setdefault(thing.owner, []).append(thing)
    return (
        *_frames(layout, by_owner),
        *_brackets(layout, by_owner),
        *_given(job, by_owner, assembly),
        *(_shaft(run) for run in shafts),
    )


def _piece(thing: Thing, kind: str | None = None, gap: float | None = None) -> Piece:
    scan, shape = thing.scan, thing.shape
    own = (shape.kind or kind, kind_gap(shape.gap, gap)) if shape is not None else (kind, gap)
    closed = scan is None or scan.closed
    name = f"{thing.owner} {shape.name}" if shape is not None and shape.name else thing.name
    return Piece(name, thing.owner, Near(thing.solid, thing.convex, closed), *own, blind=not closed)


def kind_gap(own: float | None, whole: float | None) -> float | None:
    """The part's own gap where it has one, else that of the whole."""
    return whole if own is None else own


def host_of(fork: ForkPart, weldments: Mapping[str, str]) -> str:
    """The weldment or the support that a fork is welded to."""
    return weldments[fork.host.on] if fork.on_member else fork.spec.on


def _frames(layout: Layout, by_owner: Mapping[str, list[Thing]]) -> Iterator[Group]:
    weldments = welded_groups(layout)
    for first in dict.fromkeys(weldments.values()):
        tubes = [name for name, group in weldments.items() if group == first]
        owners = list(tubes)
        points = []
        for fork in layout.forks.values():
            if fork.holds is not None and fork.holds[0] in tubes:
                owners.append(fork.spec.holds or "")
                points.append(fork.spec.at)
            if fork.on_member and fork.host.on in tubes:
                owners.append(fork.name)
        owners += [hanger.name for hanger in layout.hangers.values() if hanger.host.on in tubes]
        pieces = tuple(_piece(thing) for owner in owners for thing in by_owner.get(owner, []))
        name = first if len(tubes) == 1 else f"frame of {first}"
        yield Group(name, Role.FRAME, pieces, tuple(points))


def _brackets(layout: Layout, by_owner: Mapping[str, list[Thing]]) -> Iterator[Group]:
    for support in dict.fromkeys(f.spec.on for f in layout.forks.values() if not f.on_member):
        forks = [f for f in layout.forks.values() if not f.on_member and f.spec.on == support]
        pieces = tuple(_piece(thing) for fork in forks for thing in by_owner.get(fork.name, []))
        if pieces:
            points = tuple(fork.spec.at for fork in forks)
            yield Group(f"brackets on {support}", Role.BRACKETS, pieces, points)


def _given(job: Job, by_owner: Mapping[str, list[Thing]], assembly: Assembly) -> Iterator[Group]:
    for name in job.place:
        pieces = tuple(_piece(thing) for thing in by_owner.get(name, []))
        yield Group(name, Role.BODY, pieces, tuple(job.place[name].match.values()), _lost(name, assembly))
    for name, obstacle in job.obstacles.items():
        pieces = tuple(_piece(thing, obstacle.kind, obstacle.gap) for thing in by_owner.get(name, []))
        yield Group(name, Role.OBSTACLE, pieces, (), _lost(name, assembly))


def _lost(name: str, assembly: Assembly) -> str:
    lost = [scan.file for owner, scan in assembly.scans if owner == name and scan.solid is None]
    return f"scan {lost[0]} again: nothing could be read of it" if lost else ""


def _shaft(run: HalfRun) -> Group:
    name = f"{run.name} half-shaft"
    if run.moves is None or run.spec.diameter is None:
        missing = run.trouble or f"give the diameter of half shafts.{run.name}"
        return Group(name, Role.SHAFT, (), (), missing)
    pieces = []
    for position, end in zip(run.moves.names, run.moves.at, strict=True):
        near = rod(run.inner, end, run.spec.diameter)
        pieces.append(Piece(f"{name}, {position}", name, near, "rotating"))
    return Group(name, Role.SHAFT, tuple(pieces))
