"""Every bolt of a job: its size, its holes and how long it is."""

import math
from dataclasses import dataclass

from soapstone.job.schema import Job
from soapstone.parts.layout import ForkPart, HangerPart, Layout
from soapstone.parts.tabs import boss_of, hole_of
from soapstone.tables import BoltSize

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
        Least length under the head, m, rounded up to what is sold: under a boss the plate and the thread
        engaged; None where the job does not say what the boss takes.
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


def least_length(size: BoltSize, grip: float) -> float:
    """Grip, nut and two threads, rounded up to 5 mm, or to a quarter inch for an inch size, m."""
    return _sold(size, grip + size.nut_height + _THREADS * size.pitch)


def _sold(size: BoltSize, length: float) -> float:
    step = _METRIC_STEP if size.metric else _INCH_STEP
    return step * math.ceil(length / step - _EXACT)


def bolts_of(job: Job, layout: Layout) -> tuple[BoltLine, ...]:
    """Every bolt of forks and hangers; pure."""
    forks = [_fork(fork) for fork in layout.forks.values()]
    hangers = [_hanger(job, hanger) for hanger in layout.hangers.values()]
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


def _hanger(job: Job, hanger: HangerPart) -> BoltLine | None:
    hole = hole_of(hanger)
    if hanger.bolt is None or hole is None:
        return None
    size, grade = hanger.bolt
    grip, boss = hanger.spec.plate.thickness, boss_of(job, hanger)
    length = None if boss is None else _sold(size, grip + boss.engaged)
    return BoltLine(hanger.name, size.name, grade.name, grip, length, hole, None)
