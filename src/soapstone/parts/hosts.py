"""What a tube's end is cut to fit: another tube, a bend of one, or a bung."""

import numpy as np

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.bent import BentTube, coped_onto_bent
from soapstone.parts.centreline import Bend
from soapstone.parts.cope import Body
from soapstone.parts.cuts import Cut, coped
from soapstone.parts.layout import ForkPart, Layout, Seat, Tube
from soapstone.parts.sections import RoundBar, RoundTube

Host = Body | BentTube


def body_of(tube: Tube) -> Body:
    """A straight tube as what another is coped onto."""
    return Body(tube.name, tube.section, Axes.between(tube.start, tube.end, tube.width_way))


def bung_body(fork: ForkPart) -> Body:
    """The bung in a fork, as what its tube is coped onto."""
    assert fork.bung is not None and fork.spec.holds is not None
    clocking = np.eye(3)[int(np.argmin(np.abs(fork.axis)))]
    return Body(fork.spec.holds, RoundBar(fork.bung.outside), Axes.along(fork.pin, fork.axis, clocking))


def host_of(layout: Layout, tube: Tube, seat: Seat) -> Host:
    """What a tube's end lands on: the host, the straight of a bent one, or a bend with its two straights.

    Raises
    ------
    GeometryError
        Its foot reaches over two bends.
    """
    host = layout.tubes[seat.on]
    if host.path is None:
        return body_of(host)
    leg = host.leg(seat.station)
    half = _foot(tube.end_leg(int(tube.seats[1] is seat)), leg)
    under = [
        bend for start, bend in host.path.bends if start - half < seat.station < start + bend.length + half
    ]
    if len(under) > 1:
        raise GeometryError(
            f"lands over two bends of {host.name} at once, at {1e3 * seat.station:.0f} mm",
            where=tube.name,
            remedy=f"move it along {host.name}, or bend {host.name} to a tighter radius",
        )
    return _bent(host, under[0], half) if under else body_of(leg)


def onto(host: Host, *, overhang_allowed: float, gap: float) -> Cut:
    """The cope that sits on a host; see `coped` and `coped_onto_bent`."""
    if isinstance(host, BentTube):
        return coped_onto_bent(host, overhang_allowed=overhang_allowed, gap=gap)
    return coped(host, overhang_allowed=overhang_allowed, gap=gap)


def _bent(host: Tube, bend: Bend, foot: float) -> BentTube:
    """A bend and its two straights, which count for as far as they run, and for a foot that hangs over."""
    assert isinstance(host.section, RoundTube) and host.path is not None
    bends = host.path.bends
    at = next(number for number, (_, other) in enumerate(bends) if other is bend)
    start, end = bends[at][0], bends[at][0] + bend.length
    before = start - (bends[at - 1][0] + bends[at - 1][1].length if at else 0.0)
    after = (bends[at + 1][0] if at + 1 < len(bends) else host.path.length) - end
    centre = bend.origin + bend.radius * bend.side
    legs = (before + foot, after + foot)
    return BentTube(host.name, host.section, centre, bend.origin, bend.normal, bend.angle, legs)


def _foot(tube: Tube, host: Tube) -> float:
    """How far a tube's foot reaches along its host from where the axes meet, at most, m."""
    sine = max(0.05, float(np.linalg.norm(np.cross(tube.axis, host.axis))))
    outline, over = tube.section.outline, host.section.outline
    cosine = abs(float(tube.axis @ host.axis))
    return (max(outline.half_y, outline.half_z) + cosine * max(over.half_y, over.half_z)) / sine
