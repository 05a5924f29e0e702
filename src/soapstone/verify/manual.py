"""The verification manual: the table of checks as a page, `python -m soapstone.verify.manual [FILE]`."""

import sys
from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path

from soapstone.tables import Source
from soapstone.verify.compare import Result, last_digit
from soapstone.verify.run import run_checks
from soapstone.verify.table import AREAS, sources

PAGE = Path("docs") / "verification.md"
_HEAD = """\
# Verification manual

This page is written by `python -m soapstone.verify.manual` from the table of checks that `soapstone verify`
runs; do not edit it by hand. {count} values from {sources} sources are compared with what the rooms of the
house compute through their public functions. None is compared with an earlier answer of our own.

How to read it:

- **published** is the value as printed in its source. Its last digit sets what is allowed: half a unit of it.
  Where more is allowed, or the value is a zero, a note below the table says why.
- **computed** is what this machine makes of the same problem, shown with two digits more than are printed.
- **closed form** in the last column: the source gives a formula; it was put into numbers by other means than
  the code that is checked.
- **†** marks a value, or the place of a formula, that was recalled and not looked up: {memory} rows. Such a
  row proves the arithmetic; its citation still waits for the book.

Run it yourself: `soapstone verify` prints the table, `soapstone verify --json` gives it to other programs,
and `make red` shifts every published value by three tolerances and demands that each check fails.
"""
_TITLES = {
    "quantity": "Quantities: units and gauges",
    "tables": "Catalogues: threads and bolts",
    "survey": "Survey: points from readings",
    "place": "Placement and loads",
    "parts": "Parts: tube ends, sections, solids",
    "frame": "Frame: movements and forces",
    "movements": "Frame: warmth, settlement, pulling into line",
    "curved": "Frame: curved bars and bends",
    "modes": "Frame: natural frequencies",
    "buckling": "Frame: buckling and bent columns",
    "strength": "Strength: plates, welds, bolts, tubes",
    "members": "Strength: columns, beams, shafts",
    "tube_joints": "Strength: joints of tubes",
    "welds": "Strength: weld lines",
    "bolted": "Strength: preload, bearing, threads",
    "plates": "Strength: lifting lugs and sheets",
    "fatigue": "Strength: fatigue",
}
_COLUMNS = "| check | what | published | computed | unit | source |\n|---|---|--:|--:|---|---|"


def manual_text(results: Iterable[Result] | None = None) -> str:
    """The page; runs the table unless its results are given."""
    rows = tuple(run_checks() if results is None else results)
    used = list(dict.fromkeys(row.check.source for row in rows))
    numbers = {key: number for number, key in enumerate(used, start=1)}
    memory = sum(row.check.from_memory for row in rows)
    parts = [_HEAD.format(count=len(rows), sources=len(used), memory=memory)]
    for area in AREAS:
        parts.append("\n".join(_area(area, [row for row in rows if row.check.area == area], numbers)))
    parts.append("\n".join(_source_list(numbers)))
    return "\n".join(parts)


def _area(area: str, rows: list[Result], numbers: dict[str, int]) -> Iterator[str]:
    yield f"## {_TITLES[area]}\n"
    yield _COLUMNS
    yield from (_row(row, numbers[row.check.source]) for row in rows)
    noted = [row.check for row in rows if row.check.because]
    if noted:
        yield "\nWhere more than half a unit of the last digit is allowed:\n"
        reasons = dict.fromkeys(check.because for check in noted)
        for reason in reasons:
            names = ", ".join(f"`{check.id}`" for check in noted if check.because == reason)
            yield f"- {names}: {reason}."
    yield ""


def _row(row: Result, number: int) -> str:
    check = row.check
    mark = " †" if check.from_memory else ""
    verdict = "" if row.holds else " **fails**"
    shown = computed_text(check.published, row.computed)
    return (
        f"| `{check.id}` | {check.what} | {check.published}{mark} | {shown}{verdict} | {check.unit} "
        f"| [{number}] {check.place} |"
    )


def computed_text(published: str, computed: float) -> str:
    """A computed value in the manner of the published one, with two digits more."""
    printed = Decimal(published)
    digits = printed.as_tuple()
    unit = last_digit(printed).scaleb(-2)
    value = Decimal(computed).quantize(unit)
    if "e" not in published.lower():
        return f"{value + 0:f}"  # adding zero takes the sign from a negative zero
    size = len(digits.digits) + 1  # one before the point, the printed ones behind it, two more
    return f"{value:.{size}e}".replace("e+", "e")


def _source_list(numbers: dict[str, int]) -> Iterator[str]:
    yield "## Sources\n"
    yield from (f"{number}. {_cited(sources()[key])}" for key, number in numbers.items())
    yield ""


def _cited(source: Source) -> str:
    author = "" if source.author == "-" else f"{source.author}, "
    edition = f", {source.edition}" if source.edition else ""
    publisher = "" if source.publisher == "-" else f"; {source.publisher}"
    read = "figures read in a copy or restatement" if source.read == "copy" else "from memory"
    return f"{author}*{source.title}*{edition}{publisher} ({read})."


def main(arguments: list[str]) -> None:
    """Write the page to the file named, or to its place under docs/."""
    file = Path(arguments[0]) if arguments else PAGE
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(manual_text(), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
