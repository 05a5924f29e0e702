"""The cut list: every tube, bung and plate to make, as rows for a spreadsheet and for a page."""

import csv
import io
import math
from collections.abc import Iterable
from dataclasses import dataclass

from soapstone.job.schema import Job
from soapstone.parts.assembly import Sort, Thing
from soapstone.parts.bar_cuts import BarPart
from soapstone.parts.bent_part import BentPart
from soapstone.parts.cutting import CutParts
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.layout import Layout, material_of
from soapstone.parts.shop_parts import ShopParts
from soapstone.parts.tabs import Plate
from soapstone.parts.turned import mass_of
from soapstone.shop.bends import bender_of, bent_saw_length
from soapstone.shop.marks import Marks
from soapstone.shop.templates import end_words
from soapstone.shop.ways import Ways, saw_length
from soapstone.shop.words import Words, millimetres

HEADER = (
    "item",
    "mark",
    "name",
    "stock",
    "section",
    "material",
    "quantity",
    "saw length",
    "saw length mm",
    "finished centre length",
    "finished centre length mm",
    "short to short mm",
    "end A",
    "end A degrees",
    "end B",
    "end B degrees",
    "clocking degrees, clockwise seen from end A",
    "mass each kg",
    "mass together kg",
)
_SQUARE = math.radians(0.05)
"""Half of the last digit of a saw's scale."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the start of a formula."""


@dataclass(frozen=True)
class Row:
    """One line of the list; lengths m, angles rad, mass kg of one piece, None where it does not apply."""

    mark: str
    name: str
    stock: str
    section: str
    material: str
    quantity: int
    mass: float
    saw_length: float | None = None
    centre_length: float | None = None
    short_length: float | None = None
    ends: tuple[str, str] = ("", "")
    angles: tuple[float | None, float | None] = (None, None)
    clocking: float | None = None
    is_tube: bool = False


def cut_rows(
    job: Job, layout: Layout, parts: CutParts, found: tuple[Thing, ...], marks: Marks, words: Words
) -> tuple[Row, ...]:
    """Tubes first, then bars, bungs and plates; pure."""
    ways = Ways.of(job.shop)
    tubes = [
        _bent_row(job, layout, parts.bent[name], marks, words)
        if name in parts.bent
        else _tube_row(layout, parts.tubes[name], marks, words, ways)
        for name in layout.tubes
    ]
    solids = {thing.name: thing for thing in found if thing.sort is Sort.BUNG}
    bungs = [_bung_row(job, name, solids[name], marks, words) for name in job.bungs if name in solids]
    bars = [_bar_row(layout, part, marks, words) for part in parts.bars.values()]
    return (*tubes, *bars, *bungs, *_plate_rows(job, parts, words))


def _tube_row(layout: Layout, part: TubePart, marks: Marks, words: Words, ways: Ways) -> Row:
    tube = layout.tubes[part.name]
    seats = [seat.on for seat in tube.seats]
    return Row(
        marks.tubes[part.name],
        part.name,
        tube.stock,
        words.section(part.shape),
        tube.material.name,
        1,
        part.mass(tube.material.density),
        saw_length(part, ways),
        part.centre_length,
        part.short_length,
        (end_words(part.end_a, seats[0], words), end_words(part.end_b, seats[1], words)),
        (_angle(part.end_a), _angle(part.end_b)),
        part.clocking,
        is_tube=True,
    )


def _bent_row(job: Job, layout: Layout, part: BentPart, marks: Marks, words: Words) -> Row:
    """A bent tube: sawn square to its length along the axis, ends cut after bending."""
    tube = layout.tubes[part.name]
    ends = part.ends
    told = [
        "square" if end is None else end_words(end, seat.on, words)
        for end, seat in zip(ends, tube.seats, strict=True)
    ]
    bends = len(part.path.bends)
    told[0] += f"; {bends} bend{'s' if bends > 1 else ''} first, see bends.pdf"
    short = [0.0 if part.leg_a is None else part.leg_a.end_a.outline.short_point.station, part.path.length]
    if part.leg_b is not None:
        short[1] += part.leg_b.end_b.outline.short_point.station - part.leg_b.length
    return Row(
        marks.tubes[part.name],
        part.name,
        tube.stock,
        words.section(part.shape),
        tube.material.name,
        1,
        part.mass(tube.material.density),
        bent_saw_length(part, bender_of(job, part.name))[0],
        part.path.length,
        short[1] - short[0],
        (told[0], told[1]),
        (None if ends[0] is None else _angle(ends[0]), None if ends[1] is None else _angle(ends[1])),
        is_tube=True,
    )


def _bar_row(layout: Layout, part: BarPart, marks: Marks, words: Words) -> Row:
    bar = layout.bars[part.name]
    told = [
        f"flat to {end.onto}, {words.degrees(end.angle)} from square"
        if end.angle > _SQUARE
        else f"square, to {end.onto}"
        if end.onto
        else "square"
        for end in part.ends
    ]
    return Row(
        marks.tubes[part.name],
        part.name,
        bar.stock,
        words.bar(bar.section),
        bar.material.name,
        1,
        part.mass(bar.material.density),
        part.saw_length,
        (part.saw_length + part.short_length) / 2.0,
        part.short_length,
        (told[0], told[1]),
        (part.ends[0].angle, part.ends[1].angle),
    )


def _angle(end: TubeEnd) -> float | None:
    return end.angle if end.onto else None


def _bung_row(job: Job, name: str, thing: Thing, marks: Marks, words: Words) -> Row:
    bung = job.bungs[name]
    density = material_of(job, bung.of).density
    return Row(
        marks.bungs[name],
        name,
        "bar",
        f"round bar {words.size(bung.outside)}, bored for its bolt",
        bung.of,
        1,
        thing.solid.volume * density,
        bung.length,
        bung.length,
        bung.length,
        ("square, faced", "square, faced"),
    )


def _plate_rows(job: Job, parts: CutParts, words: Words) -> list[Row]:
    return _rows_of(job, parts.plates, words)


def _rows_of(job: Job, plates: Iterable[Plate], words: Words) -> list[Row]:
    rows = []
    for plate in plates:
        left, bottom, right, top = plate.outline.bounds
        size = (
            f"{words.size(right - left)} × {words.size(top - bottom)} × {words.size(plate.outline.thickness)}"
        )
        density = material_of(job, plate.material).density
        rows.append(
            Row(
                plate.name,
                ", ".join(plate.used_by),
                "plate",
                size,
                plate.material,
                plate.quantity,
                plate.outline.mass(density),
            )
        )
    return rows


def made_rows(job: Job, made: ShopParts, words: Words) -> tuple[Row, ...]:
    """The job's own plates, folded tubes and turned parts; pure."""
    rows = _rows_of(job, [plate.plate for plate in made.plates], words)
    for part in made.folded:
        spec = job.folded[part.name]
        stock = job.stock[spec.stock]
        mass = part.volume * material_of(job, stock.of).density
        section = f"{words.section(part.shape)}, folded"
        rows.append(
            Row("", part.name, spec.stock, section, stock.of, spec.quantity, mass, saw_length=part.length)
        )
    for turned in made.turned:
        own = turned.spec
        bar = f"round bar {words.size(own.outside)}, {own.kind}"
        mass = mass_of(job, turned)
        rows.append(Row("", turned.name, "bar", bar, own.of, own.quantity, mass, saw_length=own.length))
    return tuple(rows)


def cut_csv(rows: tuple[Row, ...], words: Words) -> str:
    """RFC 4180: comma, CRLF, quotes where needed; no cell can be taken for a formula.

    Numbers are in millimetres, degrees and kilograms; the two text lengths are in the job's units.
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(HEADER)
    for item, row in enumerate(rows, 1):
        writer.writerow([_safe(cell) for cell in _cells(item, row, words)])
    return stream.getvalue()


def _cells(item: int, row: Row, words: Words) -> list[str]:
    def text(metres: float | None) -> str:
        return "" if metres is None else words.length(metres)

    def plain(metres: float | None) -> str:
        return "" if metres is None else f"{1000.0 * metres:.2f}"

    def degrees(radians: float | None) -> str:
        return "" if radians is None else f"{math.degrees(radians):.2f}"

    return [
        str(item),
        row.mark,
        row.name,
        row.stock,
        row.section,
        row.material,
        str(row.quantity),
        text(row.saw_length),
        plain(row.saw_length),
        text(row.centre_length),
        plain(row.centre_length),
        plain(row.short_length),
        row.ends[0],
        degrees(row.angles[0]),
        row.ends[1],
        degrees(row.angles[1]),
        degrees(row.clocking),
        f"{row.mass:.3f}",
        f"{row.quantity * row.mass:.3f}",
    ]


def _safe(cell: str) -> str:
    """Text that would start a formula gets an apostrophe in front; a plain number stays one."""
    if not cell.startswith(_FORMULA):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell


def page_data(rows: tuple[Row, ...], words: Words) -> dict[str, object]:
    """Plain data for the `cutlist` template."""
    tubes = [row for row in rows if row.is_tube]
    others = [row for row in rows if not row.is_tube]
    return {
        "tubes": [_tube_cells(row, words) for row in tubes],
        "others": [_other_cells(row, words) for row in others],
        "stock": _stock(tubes, words),
        "together": words.mass(sum(row.quantity * row.mass for row in rows)),
        "tubes_mass": words.mass(sum(row.quantity * row.mass for row in tubes)),
        "others_mass": words.mass(sum(row.quantity * row.mass for row in others)),
    }


def _tube_cells(row: Row, words: Words) -> dict[str, str]:
    assert row.saw_length is not None and row.centre_length is not None and row.short_length is not None
    return {
        "mark": row.mark,
        "name": row.name,
        "stock": row.stock,
        "section": f"{row.section}, {row.material}",
        "saw": words.length(row.saw_length),
        "saw_mm": millimetres(row.saw_length),
        "centre": words.length(row.centre_length),
        "centre_mm": millimetres(row.centre_length),
        "short_mm": millimetres(row.short_length),
        "end_a": row.ends[0],
        "end_b": row.ends[1],
        "clocking": "–" if row.clocking is None else words.degrees(row.clocking),
        "mass": words.mass(row.mass),
    }


def _other_cells(row: Row, words: Words) -> dict[str, str]:
    length = "" if row.saw_length is None else f", {words.size(row.saw_length)} long"
    if row.short_length != row.saw_length:  # a bar cut at an angle
        length += f" ({'; '.join(row.ends)})"
    return {
        "mark": row.mark,
        "name": row.name,
        "what": row.stock,
        "size": row.section + length,
        "material": row.material,
        "quantity": str(row.quantity),
        "mass": words.mass(row.mass),
    }


def _stock(tubes: list[Row], words: Words) -> list[dict[str, str]]:
    """How much of each tube stock the parts take, before kerf and trim."""
    totals: dict[tuple[str, str, str], tuple[int, float]] = {}
    for row in tubes:
        key = (row.stock, row.section, row.material)
        count, length = totals.get(key, (0, 0.0))
        totals[key] = (count + row.quantity, length + row.quantity * (row.saw_length or 0.0))
    return [
        {
            "stock": stock,
            "section": f"{section}, {material}",
            "pieces": str(count),
            "length": words.both(length),
        }
        for (stock, section, material), (count, length) in totals.items()
    ]
