"""Wrap templates at 1:1: each tube's two ends unrolled, laid out on sheets, split where they are too long."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from soapstone.parts.bend_findings import inside_from_clocking
from soapstone.parts.bent_part import BentPart
from soapstone.parts.cuts import EndKind
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.openings import Opening
from soapstone.parts.outline import End
from soapstone.shop.sheet import MARGIN, TITLE_BLOCK, Paper
from soapstone.shop.tiling import Mark, Tile, marks, tiles
from soapstone.shop.unroll import GLUE, Unrolled, needs_template, unroll, unroll_passage
from soapstone.shop.ways import Ways, cut_line, last_fitted, saw_length, sawn_start
from soapstone.shop.words import Words

_PLAIN = Ways()
_BARS_RIGHT = 24.0
_BARS_BELOW = 15.0
_INFO = 58.0
_HEADLINE = 16.0
_LABELS = 11.0
"""mm above and below a template for what is written along its edges."""
_GAP = 4.0
_INDENT = 8.0
"""mm left of a template, for what is written under its first line."""


@dataclass(frozen=True, eq=False)
class TubeWords:
    """What the sheets say of one tube beside its geometry.

    Attributes
    ----------
    mark : str
        Big on the sheet and on the tube.
    material : str
    mass : float
        kg.
    where : tuple of str
        What ends A and B meet, in words.
    """

    mark: str
    material: str
    mass: float
    where: tuple[str, str]


def template_pages(
    parts: Sequence[TubePart | BentPart],
    said: Mapping[str, TubeWords],
    words: Words,
    paper: Paper,
    ways: Ways = _PLAIN,
) -> list[dict[str, Any]]:
    """Sheets for all tubes, in order; each is plain data for the `templates` template, lengths in mm."""
    pages: list[dict[str, Any]] = []
    for part in parts:
        own = _pages_of(part, said[part.name], words, paper, ways)
        for number, page in enumerate(own):
            page["of"] = f"sheet {number + 1} of {len(own)} for {said[part.name].mark}"
        pages += own
    return pages


def _ends(part: TubePart | BentPart) -> list[tuple[TubePart, TubeEnd]]:
    """End B, then end A, each with the straight tube it is cut on."""
    if isinstance(part, TubePart):
        return [(part, part.end_b), (part, part.end_a)]
    found = [] if part.leg_b is None else [(part.leg_b, part.leg_b.end_b)]
    return found if part.leg_a is None else [*found, (part.leg_a, part.leg_a.end_a)]


def _pages_of(
    part: TubePart | BentPart, said: TubeWords, words: Words, paper: Paper, ways: Ways
) -> list[dict[str, Any]]:
    area = paper.width - 2 * MARGIN - _BARS_RIGHT
    room = paper.height - 2 * MARGIN - TITLE_BLOCK - 3.0 - _BARS_BELOW
    window = (area - _INDENT, room - _INFO - 2 * _LABELS)
    pages = [_page(part, said, words, ways, first=True)]
    down = _INFO
    for block in _all_blocks(part, said, words, window, ways):
        if down + block["height"] > room:
            pages.append(_page(part, said, words, ways, first=False))
            down = _HEADLINE
        block["down"] = down
        pages[-1]["blocks"].append(block)
        down += block["height"] + _GAP
    return pages


def _all_blocks(
    part: TubePart | BentPart, said: TubeWords, words: Words, window: tuple[float, float], ways: Ways
) -> Iterator[dict[str, Any]]:
    for leg, end in _ends(part):
        if needs_template(leg, end):
            yield from _blocks(leg, end, said, window, ways)
    if isinstance(part, TubePart):
        for opening in part.openings:
            if opening.what == "hole":
                yield from _hole_blocks(part, opening, said, words, window, ways)


def _page(
    part: TubePart | BentPart, said: TubeWords, words: Words, ways: Ways, *, first: bool
) -> dict[str, Any]:
    return {
        "laser": ways.cutter == "tube laser",
        "paper": f"{1e3 * ways.paper:.2g} mm",
        "mark": said.mark,
        "name": part.name,
        "fits": f"{words.section(part.shape)}, {said.material}",
        "facts": _all_facts(part, said, words, ways) if first else [],
        "blocks": [],
    }


def _all_facts(part: TubePart | BentPart, said: TubeWords, words: Words, ways: Ways) -> list[list[str]]:
    if isinstance(part, TubePart):
        return _facts(part, said, words, ways)
    return [
        ["bend first", "to bends.pdf; this sheet is for its ends, cut after bending"],
        ["finished along the axis", words.both(part.finished_length)],
        *([f"end {'B' if end else 'A'}", _bent_end(part, end, said, words)] for end in (0, 1)),
        ["finished mass", words.mass(said.mass)],
    ]


def _bent_end(part: BentPart, end: int, said: TubeWords, words: Words) -> str:
    leg = part.leg_b if end else part.leg_a
    if leg is None:
        return "square, in the bend"
    inside = inside_from_clocking(part, end)
    told = end_words(leg.end_b if end else leg.end_a, said.where[end], words)
    way = "clockwise" if inside > 0.0 else "anticlockwise"
    return f"{told}; inside of its bend {words.degrees(abs(inside))} {way} of the clocking line, from end A"


def _facts(part: TubePart, said: TubeWords, words: Words, ways: Ways) -> list[list[str]]:
    sawn, last = saw_length(part, ways), last_fitted(part)
    more = f", end {last.value} {words.size(ways.trim)} over" if last is not None and ways.trim > 0.0 else ""
    return [
        ["saw square to", words.both(sawn) + more],
        ["cut to cut on the centre line", words.both(part.centre_length)],
        ["short point to short point", words.both(part.short_length)],
        ["end A", end_words(part.end_a, said.where[0], words)],
        ["end B", end_words(part.end_b, said.where[1], words)],
        ["clocking", clocking_words(part, words)],
        ["finished mass", words.mass(said.mass)],
    ]


def end_words(end: TubeEnd, where: str, words: Words) -> str:
    """How an end is cut, in words."""
    match end.kind:
        case EndKind.COPE:
            beside = f", trimmed to {' and '.join(end.also)}" if end.also else ""
            return f"cope onto {end.onto} at {words.degrees(end.angle)}{beside}"
        case EndKind.MITRE:
            return f"mitre with {end.onto}, saw {words.degrees(end.angle)} off square"
        case EndKind.FLAT:
            return f"flat onto {end.onto}, saw {words.degrees(end.angle)} off square"
    return f"square, at {where}" if where else "square"


def clocking_words(part: TubePart, words: Words) -> str:
    """How end B stands turned against end A, in words."""
    if part.clocking is None:
        return "none to keep: an end is square"
    if part.in_one_plane:
        side = "the same side" if abs(part.clocking) < math.pi / 2 else "opposite sides"
        return f"both ends in one plane, their acute sides on {side}"
    way = "clockwise" if part.clocking > 0.0 else "anticlockwise"
    return f"end B turned {words.degrees(abs(part.clocking))} {way} from end A, seen from end A"


def _blocks(
    part: TubePart, end: TubeEnd, said: TubeWords, window: tuple[float, float], ways: Ways
) -> list[dict[str, Any]]:
    flat = unroll(part, end, paper=ways.paper, clear=cut_line(end, ways) == "clear")
    letter = flat.end.value
    onto = end.onto or said.where[0 if flat.end is End.A else 1]
    told = {
        "end": letter,
        "name": f"{said.mark} end {letter}",
        "edge": "sawn",
        "toward": f"toward {onto}" if onto else "",
    }
    return _tiled(flat, told, window)


def _hole_blocks(
    part: TubePart,
    opening: Opening,
    said: TubeWords,
    words: Words,
    window: tuple[float, float],
    ways: Ways,
) -> list[dict[str, Any]]:
    flat, station = unroll_passage(part, opening, paper=ways.paper)
    lower = station - sawn_start(part, ways)
    told = {
        "end": "",
        "name": f"{said.mark} for {opening.of}",
        "edge": f"This edge {words.both(lower)} from the sawn end A. Hatched is cut out.",
        "toward": "toward end A",
    }
    return _tiled(flat, told, window)


def _tiled(flat: Unrolled, told: dict[str, Any], window: tuple[float, float]) -> list[dict[str, Any]]:
    width = flat.perimeter + GLUE
    joins = marks(width, flat.height, window)
    cut = tiles(width, flat.height, window)
    return [_block(flat, told, tile, joins, len(cut)) for tile in cut]


def _block(
    flat: Unrolled, told: dict[str, Any], tile: Tile, joins: Sequence[Mark], count: int
) -> dict[str, Any]:
    inside = [
        mark
        for mark in joins
        if tile.left <= mark.x <= tile.left + tile.width
        and tile.bottom <= mark.y <= tile.bottom + tile.height
    ]
    piece = f" · piece {tile.row + 1}.{tile.column + 1} of {count}" if count > 1 else ""
    return told | {
        "left": tile.left,
        "bottom": tile.bottom,
        "width": tile.width,
        "tall": tile.height,
        "height": tile.height + 2 * _LABELS,
        "labels": _LABELS,
        "indent": _INDENT,
        "title": told["name"] + piece,
        "up": flat.end is End.B,
        "perimeter": flat.perimeter,
        "glue": GLUE,
        "whole": flat.height,
        "sawn": flat.sawn,
        "outer": flat.cut.tolist(),
        "inner": flat.inner.tolist(),
        "loops": [loop.tolist() for loop in flat.loops],
        "bores": [loop.tolist() for loop in flat.bores],
        "lines": [{"x": x, "degrees": degrees, "way": way} for x, degrees, way in flat.lines],
        "folds": list(flat.folds),
        "corners": list(zip(flat.folds[::2], flat.folds[1::2], strict=True)),
        "hatch": [line.tolist() for line in flat.hatch],
        "heel": flat.heel,
        "marks": [{"letter": mark.letter, "x": mark.x, "y": mark.y} for mark in inside],
    }
