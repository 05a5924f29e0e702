"""Positions of a hub from a spreadsheet: bytes of a CSV file to the list a job file would hold."""

import csv
import io
from collections.abc import Mapping
from typing import Any

from soapstone.errors import QuantityError
from soapstone.job.csv_readings import Refused, decoded, separator_of
from soapstone.job.faults import quote, remedy
from soapstone.job.shafts import travel_of
from soapstone.quantity import Kind, parse, parse_position

COLUMNS = ("name", "travel", "x", "y", "z", "unit", "axis x", "axis y", "axis z")
_NEEDED = ("travel", "x", "y", "z")


def travel_rows(data: bytes) -> tuple[list[dict[str, Any]], list[Refused]]:
    """Rows as `positions` has them, and what cannot be read, by row.

    Columns by their names in any order: `COLUMNS`; the axis, the name and the unit may be left out, and then
    every cell carries its unit. Up, forward and left are positive.

    Parameters
    ----------
    data : bytes
        Decoded and taken apart like readings from a spreadsheet.
    """
    try:
        text = decoded(data)
        mark = separator_of(text.split("\n", 1)[0])
        cells = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
    except (ValueError, csv.Error) as error:
        return [], [Refused(0, "", str(error))]
    header = [" ".join(cell.replace("_", " ").lower().split()) for cell in cells[0]] if cells else []
    strange = [name for name in header if name not in COLUMNS]
    lacking = [name for name in _NEEDED if name not in header]
    if strange:
        told = f"{quote(strange[0])} is no column here; {remedy(strange[0], COLUMNS)}"
        return [], [Refused(1, "", told)]
    if lacking or len(set(header)) < len(header):
        return [], [Refused(1, "", f"a header belongs in row 1, once each: {', '.join(_NEEDED)}, unit")]
    rows: list[dict[str, Any]] = []
    refused: list[Refused] = []
    for number, values in enumerate(cells[1:], start=2):
        row = {name: cell.strip() for name, cell in zip(header, values, strict=False) if cell.strip()}
        if not row:
            continue
        try:
            rows.append(_standing(row))
        except ValueError as error:
            refused.append(Refused(number, "", str(error)))
    if not rows and not refused:
        refused.append(Refused(2, "", "no position stands below the header"))
    return rows, refused


def _standing(row: Mapping[str, str]) -> dict[str, Any]:
    """One row as a position of the job file; each cell is read once here, so that faults name the row."""
    lacking = [name for name in _NEEDED if name not in row]
    if lacking:
        raise ValueError(f"{', '.join(lacking)} is missing")
    texts = {name: _with_unit(row[name], row.get("unit", "")) for name in _NEEDED}
    travel_of(texts["travel"])
    at = [texts[axis] for axis in "xyz"]
    parse_position(at)
    standing: dict[str, Any] = {"travel": texts["travel"], "at": at}
    axis = [row.get(f"axis {one}", "") for one in "xyz"]
    if any(axis):
        standing["axis"] = [_number(one) for one in axis]
        if all(float(parse(one, Kind.NUMBER)) == 0.0 for one in standing["axis"]):
            raise ValueError("an axis of no length")
    if "name" in row:
        standing["name"] = row["name"]
    return standing


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell} {unit}" if unit and cell[-1:].isnumeric() else cell


def _number(cell: str) -> str:
    try:
        parse(cell, Kind.NUMBER)
    except QuantityError:
        raise ValueError(
            f"{quote(cell)} is no part of an axis; three plain numbers, like 0, 1, 0.02"
        ) from None
    return cell
