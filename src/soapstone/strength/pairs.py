"""Two tubes that land beside each other on the same side of a third: one pushes while the other pulls."""

import math

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.layout import SeatKind, Tube
from soapstone.parts.sections import RoundTube
from soapstone.strength.landings import face_station, footprint, from_host, landing_of
from soapstone.strength.tube_joints import Pair
from soapstone.strength.work import Array, Work

_IN_PLANE = math.cos(math.radians(10.0))
"""Both braces lie in one plane with the chord to within the eye's own 10 degrees."""
_BALANCED = 0.2
"""AISC 360-22 K3.1: what one brace presses on the chord the other takes off, to within a fifth."""


def pair_of(work: Work, tube: Tube, end: int) -> Pair | None:
    """The nearest neighbour that is within the range of gap joints (AISC 360-22 K3, EN 1993-1-8 tables 7.1,
    7.8)."""
    seat = tube.seats[end]
    whole = work.layout.tubes[seat.on]
    host, leg = whole.leg(seat.station), tube.end_leg(end)
    mine, own = from_host(host, leg, end), landing_of(work, tube, end)
    found = []
    for other in work.layout.tubes.values():
        for far, theirs in enumerate(other.seats):
            if theirs.kind is not SeatKind.WELD or theirs.on != seat.on or other.name == tube.name:
                continue
            if not whole.same_straight(seat.station, theirs.station):
                continue
            beside = other.end_leg(far)
            if float(mine @ from_host(host, beside, far)) < _IN_PLANE:
                continue
            apart = abs(face_station(host, beside, far) - face_station(host, leg, end))
            gap = apart - (footprint(leg, host) + footprint(beside, host)) / 2.0
            its = landing_of(work, other, far)
            if gap < tube.section.wall + other.section.wall or _beside(work, (tube, end), (other, far)):
                continue
            widths = own.brace_across, its.brace_across
            pair = Pair(other.name, far, gap, sum(widths) / 2.0)
            if _in_range(host, pair, widths):
                found.append(pair)
    return min(found, key=lambda pair: pair.gap, default=None)


def _beside(work: Work, one: tuple[Tube, int], other: tuple[Tube, int]) -> bool:
    """Whether the two axes miss each other on the chord by more than the formulas hold for: -0.55 to 0.25."""
    seats = [tube.seats[end] for tube, end in (one, other)]
    host = work.layout.tubes[seats[0].on].leg(seats[0].station)
    leans = []
    for tube, end in (one, other):
        leg = tube.end_leg(end)
        away = -leg.axis if end else leg.axis
        along = float(away @ host.axis)
        leans.append(along / math.sqrt(max(1e-12, 1.0 - along * along)))
    spread = (leans[1] - leans[0]) * math.copysign(1.0, seats[1].station - seats[0].station)
    if spread <= 1e-6:  # they lean together, or stand alike: their axes meet outside the chord or nowhere
        return True
    eccentric = abs(seats[1].station - seats[0].station) / spread
    section = host.section
    depth = section.outside_diameter if isinstance(section, RoundTube) else min(section.width, section.height)
    return not eccentric <= 0.25 * depth


def _in_range(host: Tube, pair: Pair, widths: tuple[float, float]) -> bool:
    """Whether the gap formula holds; of two unlike braces only the narrower is helped by it."""
    section = host.section
    if isinstance(section, RoundTube):
        return widths[0] <= widths[1] * (1.0 + 1e-6)
    face = section.width
    beta, stocky = pair.mean_across / face, face / section.wall
    least = max(0.35, 0.1 + 0.01 * stocky)
    return (
        abs(section.height - face) < 1e-9
        and stocky >= 15.0
        and least <= min(widths) / face
        and max(widths) / face <= 0.85
        and pair.mean_across / max(widths) >= 0.6
        and pair.mean_across / min(widths) <= 1.3
        and 0.5 * (1.0 - beta) <= pair.gap / face <= 1.5 * (1.0 - beta)
    )


def balanced(work: Work, tube: Tube, end: int, pair: Pair) -> NDArray[np.bool_]:
    """(c,) whether one pushes what the other pulls, square to the chord, to within a fifth."""
    mine = _pressed(work, tube, end)
    theirs = _pressed(work, work.layout.tubes[pair.name], pair.end)
    larger = np.maximum(np.abs(mine), np.abs(theirs))
    found: NDArray[np.bool_] = (np.abs(mine + theirs) <= _BALANCED * larger) & (larger > 0.0)
    return found


def _pressed(work: Work, tube: Tube, end: int) -> Array:
    forces, _ = work.at_end(tube, end)
    pressed: Array = forces[:, 0] * math.sin(landing_of(work, tube, end).angle)
    return pressed
