"""Running dimensions on a drawing: all from one datum, each place once (ISO 129-1, from memory).

A hair line stands out from each place; its distance from the datum is written along the end of that line, and
where two come close the words step apart while their lines keep to the places.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

WORD = 3.6
"""mm that a word of 8 pt needs beside the next."""
_LETTER = 1.7
"""mm that a letter of 8 pt takes at most, on the average of a word."""
_SAME = 0.02
"""mm on paper: places nearer than this have one dimension."""
_GAP, _OUT, _SLANT = 1.0, 5.0, 4.0


@dataclass(frozen=True)
class Mark:
    """A place to dimension: where it lies on paper, mm, where its line begins across, and its words."""

    at: float
    begins: float
    text: str


def below(
    marks: Sequence[Mark], edge: float, datum: float
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Lines and labels of dimensions along x, hanging below `edge` mm; words read from the right.

    Parameters
    ----------
    marks : sequence of Mark
        `at` is x, `begins` y of the place.
    edge, datum : float
        mm; lower edge of the drawing, and x of the datum, marked with a ring.
    """
    lines, labels = _run(marks, edge, datum)
    return lines, [{**label, "turn": 90, "anchor": "center-top"} for label in labels]


def beside(
    marks: Sequence[Mark], edge: float, datum: float
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The same along y, standing out to the left of `edge` mm; `at` is y, `begins` x."""
    lines, labels = _run(marks, edge, datum)
    turned = [{**line, "points": [[y, x] for x, y in line["points"]]} for line in lines]
    return turned, [
        {**label, "x": label["y"], "y": label["x"], "anchor": "right-horizon"} for label in labels
    ]


def room_for(words: Sequence[str]) -> float:
    """mm that dimensions take beside or below a drawing."""
    return _OUT + _SLANT + 2.0 + _LETTER * max(len(word) for word in words)


def _run(
    marks: Sequence[Mark], edge: float, datum: float
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    kept = _once(marks)
    places = spread([mark.at for mark in kept], WORD)
    knee = edge - _OUT
    lines: list[dict[str, Any]] = []
    labels: list[dict[str, Any]] = []
    for mark, place in zip(kept, places, strict=True):
        tip = knee - _SLANT
        points = [[mark.at, mark.begins - _GAP], [mark.at, knee], [place, tip]]
        lines.append({"points": points, "stroke": "hair"})
        labels.append({"x": place, "y": tip - 0.6, "text": mark.text.replace(" ", "\u00a0"), "size": 8})
        if abs(mark.at - datum) < _SAME:
            lines.append({"points": _ring(datum, knee), "stroke": "thin"})
        else:
            back = 1.8 if mark.at > datum else -1.8
            head = [[mark.at - back, knee + 0.5], [mark.at, knee], [mark.at - back, knee - 0.5]]
            lines.append({"points": head, "stroke": "thin"})
    if len(kept) > 1:
        ends = [min(mark.at for mark in kept), max(mark.at for mark in kept)]
        lines.append({"points": [[ends[0], knee], [ends[1], knee]], "stroke": "hair"})
    return lines, labels


def _once(marks: Sequence[Mark]) -> list[Mark]:
    """Sorted, one for each place: of several, the one whose line begins nearest to the words."""
    kept: list[Mark] = []
    for mark in sorted(marks, key=lambda mark: (mark.at, mark.begins)):
        if kept and mark.at - kept[-1].at < _SAME:
            continue
        kept.append(mark)
    return kept


def _ring(x: float, y: float) -> list[list[float]]:
    turn = ((1, 0), (0.7, 0.7), (0, 1), (-0.7, 0.7), (-1, 0), (-0.7, -0.7), (0, -1), (0.7, -0.7), (1, 0))
    return [[x + 0.8 * c, y + 0.8 * s] for c, s in turn]


def spread(places: Sequence[float], least: float) -> list[float]:
    """Sorted places moved apart to `least` between neighbours, each group about its own middle.

    Neighbours that come too near are one block, centred where its members would lie best; blocks that then
    touch are joined (pool adjacent violators): the least sum of squared moves.
    """
    blocks: list[list[float]] = []  # sum of (place - offset), how many
    for place in places:
        blocks.append([place, 1.0])
        while len(blocks) > 1 and _end(blocks[-2], least) > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            before = blocks[-1]
            blocks[-1] = [before[0] + total - count * before[1] * least, before[1] + count]
    found: list[float] = []
    for total, count in blocks:
        found += [total / count + row * least for row in range(int(count))]
    return found


def _end(block: list[float], least: float) -> float:
    return block[0] / block[1] + block[1] * least
