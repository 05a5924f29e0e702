"""A card for each tube: lengths, clocking, how each end is cut on the shop's machine, centre-punch marks."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from soapstone.parts.cope import Body
from soapstone.parts.cuts import EndKind
from soapstone.parts.cutting import CutParts, seat_body
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.layout import Layout
from soapstone.parts.openings import Opening
from soapstone.parts.outline import End
from soapstone.shop.marks import Marks
from soapstone.shop.setups import RoundCut, SawCut, bevels, punch_rows, round_cut, saw_cut
from soapstone.shop.templates import clocking_words, end_words
from soapstone.shop.unroll import is_square
from soapstone.shop.ways import Ways, cut_line, is_closed, last_fitted, saw_length, sawn_start
from soapstone.shop.words import Words, millimetres

_VENT_IN = 25e-3
"""m from the deepest cut to the vent hole: out of the weld's way (common practice, no source)."""
_CUTTERS = {
    "grinder": "a grinder to the printed line",
    "hole saw": "a hole saw",
    "mill": "a milling cutter",
    "belt": "a belt over a roller",
    "tube laser": "a tube laser, square to the wall",
}


def tube_cards(
    layout: Layout, parts: CutParts, marks: Marks, words: Words, ways: Ways
) -> list[dict[str, Any]]:
    """Plain data for the `tubes` template, one card a tube; pure."""
    return [_card(layout, part, marks.tubes[name], words, ways) for name, part in parts.tubes.items()]


def _card(layout: Layout, part: TubePart, mark: str, words: Words, ways: Ways) -> dict[str, Any]:
    tube = layout.tubes[part.name]
    return {
        "mark": mark,
        "name": part.name,
        "fits": f"{words.section(part.shape)}, {tube.material.name}",
        "plane": plane_words(part, words),
        "facts": [list(pair) for pair in _facts(part, words, ways)],
        "ends": [_end(layout, part, index, words, ways) for index in (0, 1)],
        "holes": [_hole(opening, part, words, ways) for opening in part.openings if opening.what == "hole"],
        "assumed": list(ways.assumed),
    }


def plane_words(part: TubePart, words: Words) -> str:
    """What is said first: whether both ends lie in one plane."""
    if part.clocking is None:
        return "Both ends lie in one plane: at least one looks the same all round."
    if part.in_one_plane:
        return f"{clocking_words(part, words).capitalize()}."
    return (
        f"The ends do not lie in one plane: {clocking_words(part, words)}. Keep to the scribe line, or notch "
        "end A home, clamp it in place and mark end B on the job."
    )


def _facts(part: TubePart, words: Words, ways: Ways) -> Iterator[tuple[str, str]]:
    yield "saw square to", words.both(saw_length(part, ways))
    yield "finished, long point to long point", words.both(part.saw_length)
    yield "cut to cut on the centre line", words.both(part.centre_length)
    yield "short point to short point", words.both(part.short_length)
    yield "cut with", _CUTTERS[ways.cutter]
    if ways.gap > 0.0:
        yield "gap for the weld", f"{words.size(ways.gap)} all round, in every line of this card"
    last = last_fitted(part)
    if last is not None:
        home = End.A if last is End.B else End.B
        left = f"{words.size(ways.trim)} left on for fitting" if ways.trim > 0.0 else "nothing left on"
        yield "order", f"end {home.value} home first; end {last.value} is fitted last, {left}"
    if is_closed(part):
        yield "vent", vent_words(part, words, ways)


def vent_words(part: TubePart, words: Words, ways: Ways) -> str:
    """Where a closed tube is vented, before the last end is welded shut."""
    size = "a vent hole (the job says no size)" if ways.vent is None else f"a {words.size(ways.vent)} hole"
    outline = part.end_a.outline
    down = np.array([0.0, 0.0, -1.0])
    angle = math.atan2(float(down @ part.axes.z), float(down @ part.axes.y)) % (2 * math.pi)
    at = outline.outer.max() - sawn_start(part, ways) + _VENT_IN
    return (
        f"closed at both ends: drill {size} {words.both(at)} from the sawn end A on the {_degrees(angle)} "
        "line before the last weld, or vent it into what it sits on"
    )


def _degrees(angle: float) -> str:
    return f"{round(math.degrees(angle)) % 360}°"


def _hole(opening: Opening, part: TubePart, words: Words, ways: Ways) -> str:
    from_sawn = opening.station - sawn_start(part, ways)
    return (
        f"{opening.of} passes right through, its middle {words.both(from_sawn)} from the sawn end A: two "
        f"holes with {words.size(opening.clearance)} clearance all round, see the template"
    )


def _end(layout: Layout, part: TubePart, index: int, words: Words, ways: Ways) -> dict[str, Any]:
    tube, end = layout.tubes[part.name], (part.end_a, part.end_b)[index]
    line = cut_line(end, ways)
    plain = is_square(end)
    punched = [] if plain else punch_rows(part, end, line)
    return {
        "letter": end.outline.end.value,
        "title": end_words(end, tube.seats[index].on, words),
        "lines": [f"{line}." for line in _lines(layout, part, index, words, ways)],
        "round": part.shape.outline.is_round,
        "column": "clear line" if line == "clear" else "outer line",
        "rows": [
            [_degrees(angle), millimetres(place), millimetres(outer), millimetres(bore)]
            for angle, place, outer, bore in punched
        ],
    }


def _lines(layout: Layout, part: TubePart, index: int, words: Words, ways: Ways) -> Iterator[str]:
    end = (part.end_a, part.end_b)[index]
    letter = end.outline.end.value
    for opening in part.openings:
        if opening.what == "slot" and _is_near(part, opening.station, end.outline.end):
            yield f"Slot over {opening.of}, {words.size(2 * opening.bar.core_z)} wide, see the template"
    if is_square(end):
        yield "The saw makes this end"
        return
    body = seat_body(layout, layout.tubes[part.name], index)
    depth = abs(end.outline.long_point.station - end.outline.short_point.station)
    yield f"Deepest {words.both(depth)} in from the sawn end {letter}, at the {_degrees(_deep_at(end))} line"
    sawn = saw_cut(part, end)
    if sawn is not None:
        yield saw_words(sawn, words, round_tube=part.shape.outline.is_round)
    elif ways.round_cutter:
        found = None
        if isinstance(body, Body) and end.kind is EndKind.COPE:
            found = round_cut(part, end, body, ways)
        if found is None:
            yield f"A {ways.cutter} cannot make this end in one cut: use the template"
            ways = replace(ways, cutter="grinder")
        else:
            yield from round_words(found, words, ways)
    if sawn is None:
        yield from cut_words(end, words, ways)


def _is_near(part: TubePart, station: float, end: End) -> bool:
    return (station > part.length / 2) == (end is End.B)


def _deep_at(end: TubeEnd) -> float:
    return end.outline.short_point.angle


def saw_words(cut: SawCut, words: Words, *, round_tube: bool) -> str:
    """A flat cut in words."""
    if cut.up is None:
        return "A square cut all round"
    told = f"Flat: saw {words.degrees(cut.off_square)} off square, shortest at the {_degrees(cut.up)} line"
    if round_tube or min(abs(cut.swing), abs(cut.tilt)) < math.radians(0.05):
        return told
    long_side = "0°" if cut.swing > 0.0 else "180°"
    high_side = "90°" if cut.tilt > 0.0 else "270°"
    return (
        f"{told}. Lying with its 90° line up: swing the blade {words.degrees(abs(cut.swing))}, the "
        f"{long_side} side longer, and tilt it {words.degrees(abs(cut.tilt))}, the {high_side} side longer"
    )


def round_words(cut: RoundCut, words: Words, ways: Ways) -> Iterator[str]:
    """Settings of a round cutter in words."""
    size = f"{ways.cutter.capitalize()} {words.both(cut.diameter)}"
    if cut.taken is not None and abs(cut.taken - cut.diameter) > 0.05e-3:
        size += f"; best at hand {words.size(cut.taken)}, which leaves up to {millimetres(cut.misfit)} mm"
    yield size
    aside = (
        "no offset"
        if cut.towards is None
        else f"offset {words.both(cut.offset)} towards the {_degrees(cut.towards)} line"
    )
    yield f"Head {words.degrees(cut.head)} off square, {_degrees(cut.up)} line on the acute side, {aside}"
    where = "beyond" if cut.beyond >= 0.0 else "inside"
    travel = f"goes through {words.both(cut.travel)}"
    if cut.clears is None:
        travel += ", check that it is deep enough"
    yield f"Its axis stands {words.both(abs(cut.beyond))} {where} the sawn end; it {travel}"
    if cut.advice:
        yield cut.advice[0].upper() + cut.advice[1:]


def cut_words(end: TubeEnd, words: Words, ways: Ways) -> Iterator[str]:
    """Which line to cut to, and what to bevel."""
    if ways.round_cutter:
        yield f"A {ways.cutter} makes the outer and the inner line at once; nothing to bevel"
        return
    deepest = float(end.bevel.max())
    if ways.cutter == "tube laser":
        yield (
            "Cut square to the wall to the clear line, which is the outer or the inner, whichever lies "
            f"deeper: it goes on without a bevel and leaves up to {millimetres(deepest)} mm open outside"
        )
        return
    told = "Cut to the solid line, the outer one"
    places = [
        f"from {_degrees(b.start)} to {_degrees(b.end)} "
        f"(most at {_degrees(b.at)}, {millimetres(b.deepest)} mm)"
        for b in bevels(end)
    ]
    yield told + (
        f", then bevel the bore back to the dashed one {' and '.join(places)}"
        if places
        else "; no bevel needed"
    )
