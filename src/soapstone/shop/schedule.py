"""What is bolted and what is welded: every bolt with its holes, every weld with its symbol."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.job.hardware import Weld
from soapstone.job.places import Spot
from soapstone.job.schema import Job
from soapstone.parts.bolts import BoltLine, bolts_of
from soapstone.parts.layout import ForkPart, HangerPart, Layout, SeatKind, SolidBar, Tube
from soapstone.parts.tabs import hanger_foot
from soapstone.shop.marks import Marks
from soapstone.shop.words import Words, millimetres

Array = NDArray[np.float64]
Picture = Callable[[Mapping[str, Array]], list[dict[str, Any]]]
"""Views of the mount with names at places, as data for the sheets."""
SHARPEST = math.radians(60.0)
"""rad; a fillet opens at least that far (AWS D1.1, from memory), a sharper heel wants a groove weld."""
_EXACT = 1e-9


@dataclass(frozen=True, eq=False)
class WeldLine:
    """One weld; None for what the job leaves open.

    Attributes
    ----------
    name : str
        A tube's end, or the fork or hanger whose foot it is.
    onto : str
    leg, filler, process
        m and words.
    angle : float
        rad between the axes of the two, at most square.
    at : (3,) m
        Where it is.
    around : bool
        Whether it goes all round, as at a tube's end; else along both sides of a plate.
    count : int
        How many alike: the tabs of a fork.
    """

    name: str
    onto: str
    leg: float | None
    filler: str | None
    process: str | None
    angle: float
    at: Array
    around: bool = True
    count: int = 1

    @property
    def sharp(self) -> bool:
        """Whether its heel is too sharp for a fillet."""
        return self.angle < SHARPEST - _EXACT


def welds_of(job: Job, layout: Layout) -> tuple[WeldLine, ...]:
    """Every end that is welded to a tube or to a bung, then the feet of tabs and hangers; pure."""
    return (*_ends(job, layout), *_feet(job, layout))


def _ends(job: Job, layout: Layout) -> Iterator[WeldLine]:
    for tube in layout.members:
        for end, word in ((0, "start"), (1, "end")):
            seat = _seat(layout, tube, end)
            if seat is not None:
                onto, axis = seat
                name = f"{tube.name} {word}"
                weld = _weld(job, name)
                angle = math.acos(min(1.0, abs(float(tube.end_leg(end).axis @ axis))))
                at = tube.end if end else tube.start
                yield WeldLine(name, onto, weld.fillet, weld.filler, weld.process, angle, at)


def _feet(job: Job, layout: Layout) -> Iterator[WeldLine]:
    for fork in layout.forks.values():
        support = job.supports.get(fork.spec.on)
        if support is None or support.bolted is None:
            at = fork.pin - fork.spec.reach * layout.foot_to_hole(fork)
            yield _foot(job, fork, at, int(fork.spec.tabs))
    for hanger in layout.hangers.values():
        foot = hanger_foot(layout, hanger)
        yield _foot(job, hanger, hanger.boss - foot.reach * foot.normal - foot.shift * foot.run, 1)


def _foot(job: Job, part: ForkPart | HangerPart, at: Array, count: int) -> WeldLine:
    weld = _weld(job, part.name)
    return WeldLine(
        part.name, part.host.on, weld.fillet, weld.filler, weld.process, math.pi / 2, at, False, count
    )


def _seat(layout: Layout, tube: Tube | SolidBar, end: int) -> tuple[str, Array] | None:
    """Name and axis of what an end is welded to."""
    seat = tube.seats[end]
    if seat.kind is SeatKind.WELD:
        return seat.on, layout.tubes[seat.on].leg(seat.station).axis
    fork = layout.fork_of(tube.name, Spot.END if end else Spot.START)
    if fork is None or fork.spec.holds is None:
        return None
    return fork.spec.holds, fork.axis


def _weld(job: Job, name: str) -> Weld:
    """The end's own weld over the job's default."""
    default, own = job.welds.get("default", Weld()), job.welds.get(name, Weld())
    return default.model_copy(update=own.model_dump(exclude_none=True))


def schedule_data(
    job: Job, layout: Layout, marks: Marks, words: Words, picture: Picture | None = None
) -> dict[str, Any]:
    """Plain data for the schedule; `picture` draws the mount with a name at each place."""
    welds = welds_of(job, layout)
    spots = {f"W{number}": line.at for number, line in enumerate(welds, 1)}
    return {
        "bolts": [_bolt_row(line, words) for line in bolts_of(job, layout)],
        "welds": [_weld_row(f"W{number}", line, marks, words) for number, line in enumerate(welds, 1)],
        "where": [] if picture is None or not welds else picture(spots),
    }


def _bolt_row(line: BoltLine, words: Words) -> dict[str, str]:
    length = (
        f"{words.size(line.grip)} + what the boss takes" if line.length is None else words.size(line.length)
    )
    return {
        "name": line.name,
        "bolt": f"{line.size} {line.grade}",
        "grip": words.size(line.grip),
        "length": length,
        "hole": words.size(line.hole),
        "bore": "–" if line.bore is None else words.size(line.bore),
    }


def _weld_row(number: str, line: WeldLine, marks: Marks, words: Words) -> dict[str, Any]:
    leg = "give its leg" if line.leg is None else f"fillet {words.size(line.leg)}"
    if line.sharp:
        leg = "groove weld: give its throat"
    return {
        "number": number,
        "mark": _mark(line, marks),
        "name": line.name if line.count == 1 else f"{line.name}, {line.count} tabs",
        "onto": marks.tubes.get(line.onto) or marks.bungs.get(line.onto, ""),
        "onto_name": line.onto,
        "leg": leg,
        "symbol": {
            "size": "" if line.leg is None or line.sharp else f"z{millimetres(line.leg)}",
            "groove": line.sharp,
            "around": line.around,
        },
        "filler": line.filler or "not given",
        "process": line.process or "not given",
        "angle": words.degrees(line.angle),
    }


def _mark(line: WeldLine, marks: Marks) -> str:
    tube, _, word = line.name.rpartition(" ")
    return f"{marks.tubes[tube]} {'A' if word == 'start' else 'B'}" if line.around else ""
