"""Marking out: where on each tube everything is welded, and how wide each fork stands inside its tabs."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.axes import Axes
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import ForkPart, Layout, SeatKind, Section
from soapstone.parts.sections import RoundTube
from soapstone.parts.tabs import hanger_foot
from soapstone.shop.marks import Marks
from soapstone.shop.ways import Ways, sawn_start
from soapstone.shop.words import Words, direction, millimetres

Array = NDArray[np.float64]

_PLAIN = Ways()
_HALF_A_TENTH = math.radians(0.05)
"""rad; half of the last digit that angles are printed with."""
_ZEROS = {
    SeatKind.PIN: "the middle of the pin of {}",
    SeatKind.WELD: "where it meets the axis of {}",
    SeatKind.FREE: "{}",
}


@dataclass(frozen=True)
class Landing:
    """Something that is welded to a tube.

    Attributes
    ----------
    what : str
        The part, as the sheets call it.
    station : float
        m along the tube's axis from its theoretical start A.
    from_sawn : float
        m from end A as it is sawn, at its long point.
    angle : float
        rad about the tube's axis from its clocking line, clockwise seen from end A, in (−π, π], with as much
        below −π as prints as half a turn.
    round_outside : float or None
        m from the clocking line round the outside, the same way; None on a rectangular tube.
    side : str
        The same side in words.
    lean : float
        rad between the axes of the two, at most a right angle; of a fork that of its plates' way from foot
        to hole, of a hanger that of its plate square to its foot.
    """

    what: str
    station: float
    from_sawn: float
    angle: float
    round_outside: float | None
    side: str
    lean: float


def landings(
    layout: Layout, parts: CutParts, marks: Marks, tube: str, ways: Ways = _PLAIN
) -> tuple[Landing, ...]:
    """Everything welded to one tube, from end A on; pure."""
    found = []
    whole, zero = layout.tubes[tube], _sawn(parts, tube, ways)

    def part(station: float) -> _Host:
        leg = whole.leg(station)
        return _Host(Axes.between(leg.start, leg.end, leg.width_way), leg.section, zero)

    for other in layout.tubes.values():
        for seat, inward, word in ((other.seats[0], 1.0, "A"), (other.seats[1], -1.0, "B")):
            if seat.kind is SeatKind.WELD and seat.on == tube:
                what = f"{marks.tubes[other.name]} {other.name}, end {word}"
                way = inward * other.end_leg(int(word == "B")).axis
                found.append(_landing(part(seat.station), what, seat.station, way))
        for passage in other.passages:
            if passage.host == tube:
                what = f"{marks.tubes[other.name]} {other.name}, passes through"
                station = passage.host_station
                found.append(_landing(part(station), what, station, other.axis))
    for fork in layout.forks.values():
        if fork.on_member and fork.host.on == tube:
            station = fork.host.station
            found.append(_landing(part(station), _tabs(fork), station, layout.foot_to_hole(fork)))
    for hanger in layout.hangers.values():
        if hanger.host.on == tube:
            foot = hanger_foot(layout, hanger)
            middle = hanger.boss - foot.reach * foot.normal - foot.shift * foot.run
            station = whole.station_of(middle)
            what = f"{hanger.name}, middle of its foot"
            found.append(_landing(part(station), what, station, foot.normal))
    return tuple(sorted(found, key=lambda landing: landing.station))


@dataclass(frozen=True)
class _Host:
    """The straight of a tube that something lands on: its axes and shape, and the tube's sawn end A, m."""

    axes: Axes
    shape: Section
    sawn: float


def _sawn(parts: CutParts, tube: str, ways: Ways) -> float:
    """Station m of end A as it is sawn; of a bent tube its long point."""
    if tube in parts.bent:
        return parts.bent[tube].long_a
    return sawn_start(parts.tubes[tube], ways)


def _tabs(fork: ForkPart) -> str:
    return (
        f"{fork.name}, middle between its tabs" if fork.spec.tabs == "2" else f"{fork.name}, its pin's middle"
    )


def _landing(part: _Host, what: str, station: float, way: Array) -> Landing:
    unit = way / np.linalg.norm(way)
    along, y, z = (float(unit @ axis) for axis in (part.axes.x, part.axes.y, part.axes.z))
    angle = math.atan2(z, y)
    if angle < _HALF_A_TENTH - math.pi:
        angle += 2.0 * math.pi
    outside = part.shape.outside_diameter / 2.0 * angle if isinstance(part.shape, RoundTube) else None
    flat = unit - along * part.axes.x
    return Landing(
        what,
        station,
        station - part.sawn,
        angle,
        outside,
        direction(flat),
        math.acos(min(1.0, abs(along))),
    )


def inside_spacing(fork: ForkPart) -> float | None:
    """Between the inner faces of a fork's tabs, m: its bung and a gap each side; None without two tabs."""
    if fork.bung is None or fork.spec.tabs != "2":
        return None
    return fork.bung.length + 2.0 * fork.spec.gap


def marking_data(
    layout: Layout, parts: CutParts, marks: Marks, words: Words, ways: Ways = _PLAIN
) -> dict[str, Any]:
    """Plain data for the marking-out sheet."""
    return {
        "tubes": [_tube(layout, parts, marks, name, words, ways) for name in layout.tubes],
        "forks": [_fork(layout, fork, words) for fork in layout.forks.values()],
    }


def _tube(
    layout: Layout, parts: CutParts, marks: Marks, name: str, words: Words, ways: Ways
) -> dict[str, Any]:
    tube = layout.tubes[name]
    leg = tube.end_leg(0)
    return {
        "mark": marks.tubes[name],
        "name": name,
        "zero": _ZEROS[tube.seats[0].kind].format(tube.seats[0].on),
        "sawn": millimetres(_sawn(parts, name, ways)),
        "clocking": direction(leg.width_way),
        "runs": direction(leg.axis),
        "rows": [_row(landing, words) for landing in landings(layout, parts, marks, name, ways)],
    }


def _row(landing: Landing, words: Words) -> dict[str, str]:
    outside = landing.round_outside
    return {
        "what": landing.what,
        "sawn": words.length(landing.from_sawn),
        "sawn_mm": millimetres(landing.from_sawn),
        "station": words.length(landing.station),
        "station_mm": millimetres(landing.station),
        "side": landing.side,
        "angle": words.degrees(landing.angle),
        "round": "–" if outside is None else millimetres(outside),
        "lean": words.degrees(landing.lean),
    }


def _fork(layout: Layout, fork: ForkPart, words: Words) -> dict[str, str]:
    inside = inside_spacing(fork)
    return {
        "name": fork.name,
        "on": fork.host.on,
        "pin": direction(fork.axis),
        "stands": direction(layout.foot_to_hole(fork)),
        "bung": "–" if fork.bung is None else words.size(fork.bung.length),
        "gap": words.size(fork.spec.gap),
        "inside": "–" if inside is None else words.both(inside),
        "outside": "–" if inside is None else words.both(inside + 2.0 * fork.spec.plate.thickness),
    }
