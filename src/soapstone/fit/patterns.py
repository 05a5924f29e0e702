"""Which bolts must go in together: rigid parts, their holes, and how far each may stray."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.job.bolting import BoltUp, TakeUp, Way
from soapstone.job.places import Spot
from soapstone.job.schema import Job
from soapstone.parts.layout import ForkPart, HangerPart, Layout, SeatKind
from soapstone.parts.tabs import hole_of
from soapstone.survey.records import Survey
from soapstone.tables.tolerances import welded_tolerance

Array = NDArray[np.float64]
Parts = list[ForkPart] | list[HangerPart]


@dataclass(frozen=True)
class Hole:
    """One hole of a pattern, seen by the part that is shifted.

    Attributes
    ----------
    name : the fork or hanger
    at, axis : (3,) m and unit vector of its bolt
    room : m, how far the two holes may be apart square to the axis
    side : m each way along the axis, or None where nothing bounds it
    made : m, one standard deviation of its place as made, each way
    take_up : how its error is taken up, or None
    adjusts : unit vector along which an adjustable end moves, or None
    """

    name: str
    at: Array
    axis: Array
    room: float
    side: float | None
    made: float
    take_up: TakeUp | None = None
    adjusts: Array | None = None

    def goes_by(self, way: Way) -> bool:
        """Whether its error is taken up that way."""
        return self.take_up is not None and way in self.take_up.ways


@dataclass(frozen=True)
class Pattern:
    """Holes of one rigid part that must all take their bolts.

    Attributes
    ----------
    name : the part in a word or two
    holes : its holes
    measured : (3 n, 3 n) m², covariance of where the vehicle's side is, as surveyed
    assumed : what nobody stated, with its origin
    """

    name: str
    holes: tuple[Hole, ...]
    measured: Array
    assumed: tuple[str, ...]


def patterns_of(job: Job, layout: Layout, survey: Survey) -> tuple[Pattern, ...]:
    """Every pattern of the job: each welded group of tubes on its forks, each body on its hangers."""
    said = job.bolt_up or BoltUp()
    groups = welded_groups(layout)
    found: list[Pattern] = []
    for group in dict.fromkeys(groups.values()):
        forks = [
            fork
            for fork in layout.forks.values()
            if fork.tight and fork.holds and groups[fork.holds[0]] == group and _host(groups, fork) != group
        ]
        if forks:
            found.append(_pattern(group, forks, said, job, survey, layout))
    for body in dict.fromkeys(hanger.body for hanger in layout.hangers.values()):
        hangers = [h for h in layout.hangers.values() if h.body == body and h.bolt is not None]
        if hangers:
            found.append(_pattern(body, hangers, said, job, survey, layout))
    return tuple(found)


def welded_groups(layout: Layout) -> Mapping[str, str]:
    """The first tube of the welded group that each tube belongs to."""
    leader = {name: name for name in (*layout.tubes, *layout.bars)}

    def first(name: str) -> str:
        while leader[name] != name:
            name = leader[name]
        return name

    for tube in layout.members:
        for seat in tube.seats:
            if seat.kind is SeatKind.WELD:
                leader[first(tube.name)] = first(seat.on)
        for passage in tube.passages:  # welded all round where it passes
            leader[first(tube.name)] = first(passage.host)
    order = [*layout.tubes, *layout.bars]
    members: dict[str, list[str]] = {}
    for name in order:
        members.setdefault(first(name), []).append(name)
    return {name: group[0] for group in members.values() for name in group}


def _host(groups: Mapping[str, str], fork: ForkPart) -> str | None:
    return groups.get(fork.host.on) if fork.on_member else None


def _pattern(name: str, parts: Parts, said: BoltUp, job: Job, survey: Survey, layout: Layout) -> Pattern:
    places = np.array([_place(part) for part in parts])
    size = float(np.linalg.norm(places[:, None] - places[None], axis=2).max())
    made = welded_tolerance(said.made_to, size) / 2.0 if said.made is None else said.made
    holes = tuple(_hole(part, said, made, layout) for part in parts)
    return Pattern(name, holes, _surveyed(parts, holes, survey), tuple(_assumed(said, size, holes, job)))


def _place(part: ForkPart | HangerPart) -> Array:
    return part.pin if isinstance(part, ForkPart) else part.boss


def _hole(part: ForkPart | HangerPart, said: BoltUp, made: float, layout: Layout) -> Hole:
    assert part.bolt is not None
    bolt = part.bolt[0].diameter
    hole = hole_of(part)
    assert hole is not None
    room = (hole - bolt) / 2.0
    side, adjusts = None, None
    if isinstance(part, ForkPart):
        assert part.bung is not None and part.holds is not None
        held, spot = part.holds
        adjusts = layout.tubes[held].end_leg(int(spot is Spot.END)).axis
        room += ((part.bung.bore or hole) - bolt) / 2.0
        side = part.spec.gap if part.spec.tabs == "2" else None
    way = said.take_up.get(part.name)
    in_place = way is not None and "made in place" in way.ways
    return Hole(
        part.name, _place(part), part.axis, room, side, said.after_welding if in_place else made, way, adjusts
    )


def _surveyed(parts: Parts, holes: tuple[Hole, ...], survey: Survey) -> Array:
    """Covariance of the vehicle's side; nothing where the hole was made in place or stands on the frame."""
    spread = np.zeros((len(parts), 3, len(parts), 3))
    rows = [row for row in range(len(parts)) if _measured(parts[row], holes[row], survey)]
    if rows:
        at = np.array([survey.index[_point(parts[row])] for row in rows])
        first, second = np.meshgrid(at, at, indexing="ij")
        blocks = survey.spread.blocks(first.ravel(), second.ravel()).reshape(len(rows), len(rows), 3, 3)
        spread[np.ix_(rows, range(3), rows, range(3))] = blocks.transpose(0, 2, 1, 3)
    return spread.reshape(3 * len(parts), -1)


def _measured(part: ForkPart | HangerPart, hole: Hole, survey: Survey) -> bool:
    """Whether the hole stands on the vehicle, at a surveyed point and not made from its mate."""
    return (
        isinstance(part, ForkPart)
        and not part.on_member
        and not hole.goes_by("made in place")
        and _point(part) in survey.index
    )


def _point(part: ForkPart | HangerPart) -> str:
    return part.spec.at if isinstance(part, ForkPart) else ""


def _assumed(said: BoltUp, size: float, holes: tuple[Hole, ...], job: Job) -> Iterator[str]:
    if job.bolt_up is None:
        yield "no hole's error is said to be taken up anywhere (bolt up stands not in the job)"
    if said.made is None:
        tolerance = 1e3 * welded_tolerance(said.made_to, size)
        span = f"class {said.made_to} of ISO 13920 for {1e3 * size:.0f} mm"
        yield f"holes come within {tolerance:.0f} mm, {span}, taken as two standard deviations"
    if any(hole.goes_by("made in place") for hole in holes):
        yield (
            f"finish welding moves a hole that was made in place by {1e3 * said.after_welding:.1f} mm, one "
            "standard deviation (no weld model yet)"
        )
