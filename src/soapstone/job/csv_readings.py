"""Readings from a spreadsheet: bytes of a CSV file to the readings a job file would hold, fault by fault.

Decoding, separator and header are looked at first; then every row is read for itself, so that one bad
cell hides no other.
"""

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from soapstone.job.faults import quote, remedy
from soapstone.job.measured import KINDS

COLUMNS = (
    *("kind", "from", "to", "point", "of", "reading", "unit", "x", "y", "z"),
    *("from edge", "to edge", "accuracy", "with", "in", "plane", "note"),
)
_OTHER_WORDS = {"read": "reading", "value": "reading", "point 1": "from", "point 2": "to"}
_LONG = ("accuracy", "with", "in", "plane", "note")
_LARGEST = 1_000_000
_MONTH = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_DATE = re.compile(
    rf"(\d{{1,2}}[-. /]+({_MONTH})[a-z]*\.?|({_MONTH})[a-z]*\.?[-. /]+\d{{1,4}})([-. /,]+\d{{2,4}})?"
    r"|\d{1,2}[/.-]\d{1,2}[/.-]\d{2,4}|\d{4}[-/.]\d{1,2}[-/.]\d{1,2}([ T]\d{1,2}:\d{2}(:\d{2})?)?",
    re.IGNORECASE,
)
_DATE_WORDS = "a spreadsheet turned a fraction into a date; make the column text and type it again"
_WAYS = ("up", "down", "left", "right", "forward", "fwd", "aft", "back")
_UNIT = re.compile(r"[^\W\d_]|[\"'°′″]")
_TWICE_DECODED = re.compile("[\u00c2\u00c3][\u00a0-\u00bf]|\ufffd")


@dataclass(frozen=True)
class Row:
    """One row: its number as a spreadsheet counts (the header is 1), and the reading as a job has it."""

    number: int
    item: dict[str, Any]


@dataclass(frozen=True)
class Refused:
    """What cannot be read: row (0: the file as a whole), column (may be empty) and why."""

    row: int
    column: str
    what: str

    @property
    def text(self) -> str:
        """`row 3, reading: …`."""
        where = f"row {self.row}" if self.row else ""
        where += f", {self.column}" if where and self.column else self.column
        return f"{where}: {self.what}" if where else self.what


def csv_readings(data: bytes) -> tuple[list[Row], list[Refused]]:
    """Rows and refusals of a CSV file.

    UTF-8 with or without a byte order mark, UTF-16 with one, and Windows-1252; commas, semicolons or tabs;
    a decimal comma where the separator is no comma. Columns by their names in any order: `COLUMNS`.

    Parameters
    ----------
    data : bytes
    """
    try:
        text = decoded(data)
    except ValueError as error:
        return [], [Refused(0, "", str(error))]
    lines = text.splitlines()
    if not lines or not lines[0].strip():
        return [], [Refused(0, "", "a header belongs in row 1, like from,to,reading,unit")]
    separator = separator_of(lines[0])
    table = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        cells = list(table)
    except csv.Error as error:
        return [], [
            Refused(table.line_num, "", f"cannot be taken apart ({error}); look for a lone quote mark")
        ]
    return _rows(cells, separator)


def read_beside(folder: Path, name: str, most: int = _LARGEST) -> bytes:
    """The bytes of a file in the job's folder.

    Raises
    ------
    ValueError
        The name leads out of the folder, or there is nothing to read.
    """
    windows = PureWindowsPath(name)
    if PurePosixPath(name).is_absolute() or windows.drive or windows.root or ".." in windows.parts:
        raise ValueError(f"{quote(name)} leaves the job's folder; copy the file there and give its name")
    file = folder / name
    try:
        if not file.is_file():
            raise ValueError(f"there is no file {quote(name)} in the job's folder")
        with file.open("rb") as stream:
            return stream.read(most + 1)
    except OSError as error:
        raise ValueError(f"{quote(name)} cannot be read: {error.strerror}") from None


def decoded(data: bytes) -> str:
    """The text of a spreadsheet's file; raises ValueError in the trade's words."""
    if len(data) > _LARGEST:
        raise ValueError(f"{len(data) / 1e6:.0f} MB is too large for readings, the most is 1 MB")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise ValueError("begins like UTF-16 but is cut short; save it as UTF-8") from None
    row = data.count(b"\n", 0, data.find(b"\0")) + 1
    if b"\0" in data:
        raise ValueError(f"row {row} holds a zero byte, so this is no text; save it as CSV in UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        raise ValueError(f"row {row} is neither UTF-8 nor Windows-1252; save the file as UTF-8") from None


def separator_of(header: str) -> str:
    """What stands between the columns of a header: semicolon, tab or comma."""
    return max(";\t,", key=lambda mark: (header.count(mark), mark == ","))


def _rows(cells: list[list[str]], separator: str) -> tuple[list[Row], list[Refused]]:
    names = [_plain_name(cell) for cell in cells[0]]
    refused = [*_header_faults(names)]
    rows: list[Row] = []
    if refused:
        return rows, refused
    for number, values in enumerate(cells[1:], start=2):
        if not any(value.strip() for value in values):
            continue
        faults = [*_row_faults(number, names, values, separator)]
        if not faults:
            row = {name: value.strip() for name, value in zip(names, values, strict=False) if value.strip()}
            try:
                rows.append(Row(number, _item(row)))
            except ValueError as error:
                faults = [Refused(number, "", str(error))]
        refused += faults
    return rows, refused


def _plain_name(cell: str) -> str:
    name = " ".join(cell.replace("_", " ").lower().split())
    return _OTHER_WORDS.get(name, name)


def _header_faults(names: list[str]) -> Iterator[Refused]:
    for name in dict.fromkeys(names):
        if name not in COLUMNS:
            yield Refused(1, "", f"{quote(name)} is no column here; {remedy(name, COLUMNS)}")
        elif names.count(name) > 1:
            yield Refused(1, "", f"column {name} stands there more than once")
    if {*names} <= {*COLUMNS} and "reading" not in names and not {"x", "y", "z"} <= {*names}:
        yield Refused(1, "", "a column reading is missing, or x, y and z")


def _row_faults(number: int, names: list[str], values: list[str], separator: str) -> Iterator[Refused]:
    if len(values) > len(names) and any(value.strip() for value in values[len(names) :]):
        comma = "; a decimal comma needs semicolons between the columns" if separator == "," else ""
        yield Refused(number, "", f"{len(values)} cells under {len(names)} columns{comma}")
        return
    for name, value in zip(names, values, strict=False):
        cell = value.strip()
        if name in ("reading", "x", "y", "z", "accuracy") and _DATE.fullmatch(cell):
            yield Refused(number, name, f"{quote(cell)}: {_DATE_WORDS}")
        elif _TWICE_DECODED.search(cell):
            yield Refused(
                number, name, f"{quote(cell)}: saved in one encoding and read in another; type it again"
            )


def _item(row: Mapping[str, str]) -> dict[str, Any]:
    """The row as one reading of the job file: `{"tape A C": {"read": "41-7/8 in", …}}`."""
    points = [row[name] for name in ("from", "to") if name in row]
    points += row.get("point", "").split() + row.get("of", "").split()
    kind = row.get("kind", "").lower()
    if not kind:
        if not ("from" in row and "to" in row):
            raise ValueError("a kind is missing: " + ", ".join(KINDS))
        kind = "tape"  # from a point to a point, and nothing else said
    read = [_with_unit(row.get(axis, ""), row) for axis in "xyz"] if "x" in row else _read(row)
    rest = {name: row[name] for name in _LONG if name in row}
    return {" ".join([kind, *points]): {"read": read, **rest}}


def _read(row: Mapping[str, str]) -> str:
    if "reading" not in row:
        raise ValueError("the reading is missing")
    edges = [row.get(name, "").lower().removesuffix(" edge") for name in ("from edge", "to edge")]
    text = _with_unit(row["reading"], row)
    if edges == ["", ""]:
        return text
    return f"{text}, {edges[0] or 'centre'} edge to {edges[1] or 'centre'} edge"


def _with_unit(cell: str, row: Mapping[str, str]) -> str:
    """The cell with the unit of its own column, before a word of direction."""
    unit = row.get("unit", "")
    number, word = cell, ""
    if cell.rpartition(" ")[2].lower() in _WAYS:
        number, _, word = cell.rpartition(" ")
    if not unit or _UNIT.search(number):
        return cell
    return f"{number} {unit} {word}".rstrip()
