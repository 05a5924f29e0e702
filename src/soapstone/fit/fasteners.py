"""Every bolt where it sits: its two seats, its length, and what is bolted by it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.job.schema import Job
from soapstone.parts.bolts import BoltLine, bolts_of
from soapstone.parts.layout import ForkPart, HangerPart, Layout
from soapstone.parts.tabs import hanger_foot
from soapstone.place.placed import Placed
from soapstone.tables import BoltSize
from soapstone.tables.heads import Head, head_of

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Side:
    """One end of a bolt's hole, seen as the place of its head.

    Attributes
    ----------
    seat : (3,) m, middle of the face it lies on
    out : unit vector away from that face
    words : which side it is
    far : (3,) m, the face at the other end, where its nut lies; None when it is screwed into a boss
    """

    seat: Array
    out: Array
    words: str
    far: Array | None


@dataclass(frozen=True, eq=False)
class Fastener:
    """A bolt in its hole.

    Attributes
    ----------
    name : the fork or hanger
    size : BoltSize
    head : Head
    length : m, under the head; None where the job does not say
    sides : where its head can lie
    own : owners of what it holds together
    to_weld : m, from its hole to the foot that its plate is welded at
    leg : m, of the fillet there; None where the job does not say
    torqued : whether the job says a torque
    """

    name: str
    size: BoltSize
    head: Head
    length: float | None
    sides: tuple[Side, ...]
    own: frozenset[str]
    to_weld: float
    leg: float | None
    torqued: bool


def fasteners_of(job: Job, layout: Layout, placed: Mapping[str, Placed]) -> tuple[Fastener, ...]:
    """Every bolt of forks and hangers; pure."""
    lines = {line.name: line for line in bolts_of(job, layout)}
    forks = [_fork(job, fork, lines[name]) for name, fork in layout.forks.items() if name in lines]
    hangers = [
        _hanger(job, hanger, lines[name], placed, layout)
        for name, hanger in layout.hangers.items()
        if name in lines
    ]
    return (*forks, *hangers)


def _leg(job: Job, name: str) -> float | None:
    weld = job.welds.get(name)
    if weld is not None and weld.fillet is not None:
        return weld.fillet
    return job.welds["default"].fillet if "default" in job.welds else None


def _fork(job: Job, fork: ForkPart, line: BoltLine) -> Fastener:
    assert fork.bolt is not None
    half = fork.bung.length / 2.0 if fork.bung else 0.0
    plus = half + fork.spec.gap + fork.spec.plate.thickness
    minus = plus if fork.spec.tabs == "2" else half
    seats = fork.pin + plus * fork.axis, fork.pin - minus * fork.axis
    sides = (
        Side(seats[0], fork.axis, words_of(fork.axis), seats[1]),
        Side(seats[1], -fork.axis, words_of(-fork.axis), seats[0]),
    )
    own = {fork.name, fork.spec.holds or fork.name}
    leg = _leg(job, fork.name)
    torqued = fork.spec.torque is not None
    head = head_of(fork.bolt[0], fork.spec.head)
    return Fastener(
        fork.name, fork.bolt[0], head, line.length, sides, frozenset(own), fork.spec.reach, leg, torqued
    )


def _hanger(
    job: Job, hanger: HangerPart, line: BoltLine, placed: Mapping[str, Placed], layout: Layout
) -> Fastener:
    """Screwed into the body, so its head lies on the side away from the body's middle."""
    assert hanger.bolt is not None
    inward = float((hanger.boss - placed[hanger.body].centre) @ hanger.axis)
    away = hanger.axis if inward >= 0.0 else -hanger.axis
    seat = hanger.boss + hanger.spec.plate.thickness / 2.0 * away
    to_weld = hanger_foot(layout, hanger).reach
    return Fastener(
        hanger.name,
        hanger.bolt[0],
        head_of(hanger.bolt[0], hanger.spec.head),
        line.length,
        (Side(seat, away, words_of(away), None),),
        frozenset({hanger.name}),
        to_weld,
        _leg(job, hanger.name),
        hanger.spec.torque is not None,
    )


def words_of(way: Array) -> str:
    """The way in a word: left, aft, up."""
    axis = int(np.abs(way).argmax())
    return (("aft", "front"), ("right", "left"), ("bottom", "top"))[axis][int(way[axis] > 0.0)]


def shanks(fasteners: tuple[Fastener, ...]) -> Iterator[tuple[str, Array, Array, float]]:
    """Head and nut of each as round bars: name, start, end (3,) m and diameter, m (corners sharp)."""
    for bolt in fasteners:
        side, head = bolt.sides[0], bolt.head
        yield f"head of {bolt.name}", side.seat, side.seat + head.height * side.out, head.across
        if side.far is not None:
            nut = head_of(bolt.size).across
            yield f"nut of {bolt.name}", side.far - bolt.size.nut_height * side.out, side.far, nut
