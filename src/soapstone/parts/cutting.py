"""Every tube of the layout cut to what its ends sit on."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from soapstone.errors import GeometryError
from soapstone.finding import Finding, judge
from soapstone.formula import Chain
from soapstone.job.places import Spot
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import Cut, coped, mitred, square
from soapstone.parts.ends import TubePart, cut_tube
from soapstone.parts.layout import ForkPart, Layout, SeatKind, Tube
from soapstone.parts.sections import RoundBar
from soapstone.parts.tabs import Plate, plates_of

_AT_THE_END = 1e-3
"""m; a tube welded this near to another's end may be mitred with it."""


@dataclass(frozen=True)
class CutParts:
    """What the shop makes.

    Attributes
    ----------
    tubes : member name to its cut tube
    plates : every different plate, with the names of what it is for
    """

    tubes: Mapping[str, TubePart]
    plates: tuple[Plate, ...]


def cut_parts(layout: Layout) -> CutParts:
    """Cut every tube and draw every plate; pure.

    Raises
    ------
    GeometryError
        Where a cut cannot be made; names the tubes.
    """
    tubes = {name: _cut(layout, tube) for name, tube in layout.tubes.items()}
    return CutParts(tubes, plates_of(layout))


def overhang_findings(parts: CutParts) -> tuple[Finding, ...]:
    """A finding for each coped end that reaches past the side of what it sits on."""
    return tuple(
        _overhang(name, word, end.onto, end.outline.overhang, part.shape.wall)
        for name, part in parts.tubes.items()
        for word, end in (("start", part.end_a), ("end", part.end_b))
        if end.outline.overhang > 0.0
    )


def _overhang(name: str, word: str, onto: str, overhang: float, wall: float) -> Finding:
    chain = Chain()
    demand = chain.given("o", overhang, "m", f"how far the end reaches past the side of {onto}")
    capacity = chain.given("t", wall, "m", "wall of the tube: the most that its weld can bridge")
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id=f"overhang:{name} {word}",
        about=f"{name} {word}",
        claim=f"the end of {name} sits on {onto} nearly all round",
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source="common practice, no source",
        caution=f"The weld bridges a gap of {1e3 * overhang:.2f} mm at the side of {onto}.",
    )


def _cut(layout: Layout, tube: Tube) -> TubePart:
    return cut_tube(
        tube.name,
        tube.section,
        tube.start,
        tube.end,
        tube.width_way,
        _end(layout, tube, 0),
        _end(layout, tube, 1),
    )


def _end(layout: Layout, tube: Tube, end: int) -> Cut:
    seat, wanted = tube.seats[end], tube.cuts[end]
    if wanted == "mitre":
        return _mitre(layout, tube, end)
    if wanted == "square":
        return square(0.0)
    if seat.kind is SeatKind.WELD:
        return coped(body_of(layout.tubes[seat.on]), overhang_allowed=tube.section.wall)
    fork = layout.fork_of(tube.name, Spot.END if end else Spot.START)
    if fork is not None:
        return coped(bung_body(fork), overhang_allowed=tube.section.wall)
    if wanted == "cope":
        raise GeometryError(
            "is to be coped, but its end lands on nothing",
            where=tube.name,
            remedy="name the member it lands on, like `side_left at 6 in`",
        )
    return square(0.0)


def body_of(tube: Tube) -> Body:
    """A tube as what another is coped onto."""
    return Body(tube.name, tube.section, Axes.between(tube.start, tube.end, tube.width_way))


def bung_body(fork: ForkPart) -> Body:
    """The bung in a fork, as what its tube is coped onto."""
    assert fork.bung is not None and fork.spec.holds is not None
    clocking = np.eye(3)[int(np.argmin(np.abs(fork.axis)))]
    return Body(fork.spec.holds, RoundBar(fork.bung.outside), Axes.along(fork.pin, fork.axis, clocking))


def _mitre(layout: Layout, tube: Tube, end: int) -> Cut:
    """Mitre with the tube at whose end this one stands, or that stands at this one's end."""
    corner = tube.end if end else tube.start
    for other in layout.tubes.values():
        if other is tube:
            continue
        for far, near in ((other.end, other.start), (other.start, other.end)):
            if np.linalg.norm(near - corner) < _AT_THE_END:
                return mitred(other.name, far - near)
    raise GeometryError(
        "is to be mitred, but no other tube ends there",
        where=tube.name,
        remedy="end another tube at the same place, or take another cut",
    )
