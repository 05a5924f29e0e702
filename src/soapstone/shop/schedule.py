"""What is bolted and what is welded: every bolt with its holes, every welded end with its fillet."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from soapstone.job.hardware import Weld
from soapstone.job.places import Spot
from soapstone.job.schema import Job
from soapstone.parts.layout import ForkPart, HangerPart, Layout, SeatKind, Tube
from soapstone.parts.tabs import hole_of
from soapstone.shop.marks import Marks
from soapstone.shop.words import Words
from soapstone.tables import BoltSize

SHARPEST = math.radians(60.0)
"""rad; a fillet opens at least that far (AWS D1.1, from memory), a sharper heel wants a groove weld."""
_THREADS = 2.0
"""Pitches that the bolt stands out of its nut (common practice, no source)."""
_METRIC_STEP = 0.005
_INCH_STEP = 0.0254 / 4.0
_EXACT = 1e-9


@dataclass(frozen=True)
class BoltLine:
    """One bolt.

    Attributes
    ----------
    name : str
        The fork or hanger.
    size, grade : str
    grip : float
        m of plates, bung and gaps between head and nut; of the plate alone under a boss.
    length : float or None
        Least length under the head, m, rounded up to what is sold; None where a boss takes the thread.
    hole : float
        m, in each plate.
    bore : float or None
        m, of the bung; None without one.
    """

    name: str
    size: str
    grade: str
    grip: float
    length: float | None
    hole: float
    bore: float | None


@dataclass(frozen=True)
class WeldLine:
    """One welded end; None for what the job leaves open, `angle` rad between the axes, at most square."""

    name: str
    onto: str
    leg: float | None
    filler: str | None
    process: str | None
    angle: float

    @property
    def sharp(self) -> bool:
        """Whether its heel is too sharp for a fillet."""
        return self.angle < SHARPEST - _EXACT


def least_length(size: BoltSize, grip: float) -> float:
    """Grip, nut and two threads, rounded up to 5 mm, or to a quarter inch for an inch size, m."""
    step = _METRIC_STEP if size.metric else _INCH_STEP
    return step * math.ceil((grip + size.nut_height + _THREADS * size.pitch) / step - _EXACT)


def bolts_of(layout: Layout) -> tuple[BoltLine, ...]:
    """Every bolt of forks and hangers; pure."""
    forks = [_fork(fork) for fork in layout.forks.values()]
    hangers = [_hanger(hanger) for hanger in layout.hangers.values()]
    return tuple(line for line in (*forks, *hangers) if line is not None)


def _fork(fork: ForkPart) -> BoltLine | None:
    hole = hole_of(fork)
    if fork.bolt is None or hole is None:
        return None
    size, grade = fork.bolt
    tabs = int(fork.spec.tabs)
    grip = tabs * (fork.spec.plate.thickness + fork.spec.gap) + (fork.bung.length if fork.bung else 0.0)
    bore = (fork.bung.bore or hole) if fork.bung else None
    return BoltLine(fork.name, size.name, grade.name, grip, least_length(size, grip), hole, bore)


def _hanger(hanger: HangerPart) -> BoltLine | None:
    hole = hole_of(hanger)
    if hanger.bolt is None or hole is None:
        return None
    size, grade = hanger.bolt
    return BoltLine(hanger.name, size.name, grade.name, hanger.spec.plate.thickness, None, hole, None)


def welds_of(job: Job, layout: Layout) -> tuple[WeldLine, ...]:
    """Every end that is welded to a tube or to a bung; pure."""
    found = []
    for tube in layout.tubes.values():
        for end, word in ((0, "start"), (1, "end")):
            seat = _seat(layout, tube, end)
            if seat is not None:
                onto, axis = seat
                weld = _weld(job, f"{tube.name} {word}")
                angle = math.acos(min(1.0, abs(float(tube.axis @ axis))))
                found.append(
                    WeldLine(f"{tube.name} {word}", onto, weld.fillet, weld.filler, weld.process, angle)
                )
    return tuple(found)


def _seat(layout: Layout, tube: Tube, end: int) -> tuple[str, np.ndarray] | None:
    """Name and axis of what an end is welded to."""
    seat = tube.seats[end]
    if seat.kind is SeatKind.WELD:
        return seat.on, layout.tubes[seat.on].axis
    fork = layout.fork_of(tube.name, Spot.END if end else Spot.START)
    if fork is None or fork.spec.holds is None:
        return None
    return fork.spec.holds, fork.axis


def _weld(job: Job, name: str) -> Weld:
    """The end's own weld over the job's default."""
    default, own = job.welds.get("default", Weld()), job.welds.get(name, Weld())
    return default.model_copy(update=own.model_dump(exclude_none=True))


def schedule_data(job: Job, layout: Layout, marks: Marks, words: Words) -> dict[str, Any]:
    """Plain data for the schedule."""
    return {
        "bolts": [_bolt_row(line, words) for line in bolts_of(layout)],
        "welds": [_weld_row(line, marks, words) for line in welds_of(job, layout)],
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


def _weld_row(line: WeldLine, marks: Marks, words: Words) -> dict[str, str]:
    tube, _, word = line.name.rpartition(" ")
    if line.sharp:
        leg = "groove weld: prepare and give its throat"
    else:
        leg = "give its leg" if line.leg is None else f"fillet {words.size(line.leg)}"
    return {
        "mark": f"{marks.tubes[tube]} {'A' if word == 'start' else 'B'}",
        "name": line.name,
        "onto": marks.tubes.get(line.onto) or marks.bungs.get(line.onto, ""),
        "onto_name": line.onto,
        "leg": leg,
        "filler": line.filler or "not given",
        "process": line.process or "not given",
        "angle": words.degrees(line.angle),
    }
