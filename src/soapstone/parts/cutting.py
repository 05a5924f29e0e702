"""Every tube of the layout cut to what its ends sit on."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from soapstone.errors import GeometryError
from soapstone.finding import Finding, judge
from soapstone.formula import Chain
from soapstone.job.places import Spot
from soapstone.parts.bar_cuts import BarPart, cut_bar
from soapstone.parts.bent_part import BentPart, bent_part
from soapstone.parts.cuts import Cut, flat, mitred, square
from soapstone.parts.ends import TubePart, cut_tube
from soapstone.parts.hosts import Host, body_of, bung_body, host_of, onto
from soapstone.parts.layout import Layout, SeatKind, Tube
from soapstone.parts.openings import Opening, opened, passage, slot
from soapstone.parts.outline import End
from soapstone.parts.tabs import Plate, plates_of
from soapstone.parts.trims import Trimmer, trimmed

_AT_THE_END = 1e-3
"""m; a tube welded this near to another's end may be mitred with it."""


@dataclass(frozen=True)
class CutParts:
    """What the shop makes.

    Attributes
    ----------
    tubes : member name to its cut tube
    plates : every different plate, with the names of what it is for
    bent : member name to its bent tube; these are not among `tubes`
    bars : member name to its cut bar
    """

    tubes: Mapping[str, TubePart]
    plates: tuple[Plate, ...]
    bent: Mapping[str, BentPart] = field(default_factory=dict)
    bars: Mapping[str, BarPart] = field(default_factory=dict)

    @property
    def both(self) -> Mapping[str, TubePart | BentPart]:
        """Straight and bent tubes by name."""
        return {**self.tubes, **self.bent}

    def at_end(self, tube: str, end: int) -> tuple[TubePart, float]:
        """The cut tube that has an end, and the station m on the member at which it begins.

        Raises
        ------
        GeometryError
            A bent tube ends in its bend.
        """
        if tube in self.tubes:
            return self.tubes[tube], 0.0
        bent = self.bent[tube]
        leg = bent.leg_b if end else bent.leg_a
        if leg is None:
            raise GeometryError(
                f"its {'end' if end else 'start'} lies in a bend and cannot be welded on",
                where=tube,
                remedy="give it a straight end",
            )
        return leg, bent.path.length - leg.length if end else 0.0


def cut_parts(layout: Layout, gap: float = 0.0) -> CutParts:
    """Cut every tube and draw every plate; pure.

    A `gap`, m, is left all round between an end and what it sits on.

    Raises
    ------
    GeometryError
        Where a cut cannot be made; names the tubes.
    """
    straight = {name: tube for name, tube in layout.tubes.items() if tube.path is None}
    tubes = {name: _cut(layout, tube, gap) for name, tube in straight.items()}
    for name, part in tubes.items():
        tubes[name] = opened(part, *_openings(layout, part))
    bent = {name: _bent(layout, tube, gap) for name, tube in layout.tubes.items() if tube.path is not None}
    bars = {name: cut_bar(layout, bar, gap) for name, bar in layout.bars.items()}
    return CutParts(tubes, plates_of(layout), bent, bars)


def overhang_findings(parts: CutParts) -> tuple[Finding, ...]:
    """A finding for each coped end that reaches past the side of what it sits on."""
    return tuple(
        _overhang(name, word, end.onto, end.outline.overhang, part.shape.wall)
        for name, part in parts.tubes.items()
        for word, end in (("start", part.end_a), ("end", part.end_b))
        if end.outline.overhang > 0.0
    ) + tuple(
        _overhang(name, word, cut.onto, cut.outline.overhang, part.shape.wall)
        for name, part in parts.bent.items()
        for word, cut in zip(("start", "end"), part.ends, strict=True)
        if cut is not None and cut.outline.overhang > 0.0
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


def _openings(layout: Layout, part: TubePart) -> Iterator[Opening]:
    """The holes for what passes through a tube, and its own slots."""
    for other in layout.tubes.values():
        for through in other.passages:
            if through.host == part.name:
                yield passage(part, body_of(other), through.clearance)
    for end, cut in zip((End.A, End.B), layout.tubes[part.name].slots, strict=True):
        if cut is not None:
            yield slot(part, end, "a plate", cut.plate + cut.clearance, cut.deep, cut.faces)


def _cut(layout: Layout, tube: Tube, gap: float) -> TubePart:
    return cut_tube(
        tube.name,
        tube.section,
        tube.start,
        tube.end,
        tube.width_way,
        _end(layout, tube, 0, gap),
        _end(layout, tube, 1, gap),
    )


def _end(layout: Layout, tube: Tube, end: int, gap: float) -> Cut:
    seat, wanted = tube.seats[end], tube.cuts[end]
    if wanted in ("capped", "crushed"):
        raise _closed(tube, end, wanted)
    if tube.in_bend(tube.length if end else 0.0):
        return _in_a_bend(layout, tube, end)
    if wanted == "mitre":
        return trimmed(_mitre(layout, tube, end, gap), _beside(layout, tube, end), gap=gap)
    if wanted == "square":
        return square(0.0)
    face = tube.faces[end]
    if wanted == "flat" and face is not None:
        return flat(face, seat.on, gap=gap)
    body = seat_body(layout, tube, end)
    if body is not None:
        cope = onto(body, overhang_allowed=tube.section.wall, gap=gap)
        return trimmed(cope, _beside(layout, tube, end), gap=gap) if seat.kind is SeatKind.WELD else cope
    if wanted == "cope":
        raise GeometryError(
            "is to be coped, but its end lands on nothing",
            where=tube.name,
            remedy="name the member it lands on, like `side_left at 6 in`",
        )
    return square(0.0)


def _bent(layout: Layout, tube: Tube, gap: float) -> BentPart:
    if any(tube.slots):
        raise GeometryError(
            "is bent, and a slot over a plate is cut in straight tubes only",
            where=tube.name,
            remedy="let its end be square, coped or flat",
        )
    return bent_part(tube, _end(layout, tube, 0, gap), _end(layout, tube, 1, gap))


def _closed(tube: Tube, end: int, wanted: str) -> GeometryError:
    word = "end" if end else "start"
    if wanted == "capped":
        what, remedy = "a cap is a plate of its own", f"let the {word} be square, and make the cap as a plate"
    else:
        what = "how a crushed tube folds is not worked out, nor what it then carries"
        remedy = f"let the {word} be square with a slot over a plate, or coped onto a bung"
    return GeometryError(f"its {word} is to be {wanted}: {what}", where=tube.name, remedy=remedy)


def _in_a_bend(layout: Layout, tube: Tube, end: int) -> Cut:
    """A tube that ends in its bend is cut square, or not at all."""
    held = layout.fork_of(tube.name, Spot.END if end else Spot.START)
    asked = tube.cuts[end] not in (None, "square")
    if tube.seats[end].kind is SeatKind.WELD or held is not None or asked:
        raise GeometryError(
            f"its {'end' if end else 'start'} lies in a bend, and only a straight end is cut to another part",
            where=tube.name,
            remedy="give it a straight end, or let it end at a point, cut square",
        )
    return square(0.0)


def _beside(layout: Layout, tube: Tube, end: int) -> list[Trimmer]:
    """Tubes that come before this one in the job and stand at the same node."""
    found: list[Trimmer] = []
    for other in layout.tubes.values():
        if other is tube:
            break
        crosses = {passage.host for passage in (*tube.passages, *other.passages)}
        lands = any(s.kind is SeatKind.WELD and s.on == tube.name for s in other.seats)
        if other.name == tube.seats[end].on or lands or crosses & {tube.name, other.name}:
            continue
        near = [far for far in (0, 1) if _stand_together(tube, end, other, far)]
        legs = [other.end_leg(far) for far in (near[:1] if other.path is None else near)]
        found += [Trimmer(body_of(leg), 0.0, leg.length) for leg in legs]
    return found


def _stand_together(tube: Tube, end: int, other: Tube, far: int) -> bool:
    """Whether two ends land on one tube or lie at one place."""
    mine, theirs = tube.seats[end], other.seats[far]
    if mine.kind is theirs.kind is SeatKind.WELD and mine.on == theirs.on:
        return True
    corner, at = (tube.start, tube.end)[end], (other.start, other.end)[far]
    return float(np.linalg.norm(at - corner)) < _AT_THE_END


def seat_body(layout: Layout, tube: Tube, end: int) -> Host | None:
    """What an end sits on: the tube it is welded to, or its bung."""
    if tube.seats[end].kind is SeatKind.WELD:
        return host_of(layout, tube, tube.seats[end])
    fork = layout.fork_of(tube.name, Spot.END if end else Spot.START)
    return None if fork is None else bung_body(fork)


def _mitre(layout: Layout, tube: Tube, end: int, gap: float) -> Cut:
    """Mitre with the tube at whose end this one stands, or that stands at this one's end."""
    corner = tube.end if end else tube.start
    for other in layout.tubes.values():
        if other is tube:
            continue
        first, last = other.end_leg(0), other.end_leg(1)
        for far, near in ((last.start, other.end), (first.end, other.start)):
            if np.linalg.norm(near - corner) < _AT_THE_END:
                return mitred(other.name, far - near, gap=gap)
    raise GeometryError(
        "is to be mitred, but no other tube ends there",
        where=tube.name,
        remedy="end another tube at the same place, or take another cut",
    )
