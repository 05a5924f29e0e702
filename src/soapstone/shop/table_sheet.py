"""The fixture table's sheet: its plan with the hole grid, and where everything stands."""

from typing import Any

import numpy as np

from soapstone.shop.labels import apart
from soapstone.shop.table_places import RISER
from soapstone.shop.table_setup import Station, TableSetup
from soapstone.shop.words import Words, direction, millimetres

_ROOM = (180.0, 108.0)
_SCALES = (5, 10, 20, 50)


def table_data(setup: TableSetup, words: Words) -> dict[str, Any]:
    """Plain data for the `table` template."""
    forward, left = setup.pose.turn(np.array([1.0, 0.0, 0.0])), setup.pose.turn(np.array([0.0, 1.0, 0.0]))
    return {
        "plan": _plan(setup),
        "facts": [
            ["table", f"{words.size(setup.size[0])} long, {words.size(setup.size[1])} wide"],
            [
                "holes",
                f"{words.size(setup.hole)} every {words.size(setup.pitch)}: "
                f"{setup.columns} columns, {setup.rows} rows",
            ],
            [
                "hole column 1, row 1",
                f"{words.size(setup.first_hole[0])} in and {words.size(setup.first_hole[1])} up"
                " from the lower left corner",
            ],
            ["front of the vehicle", _side(forward)],
            ["left of the vehicle", _side(left)],
            [
                "vehicle datum height",
                f"{words.both(-setup.pose.origin[2])} below the table's face"
                if setup.pose.origin[2] < 0
                else f"{words.both(setup.pose.origin[2])} above the table's face",
            ],
        ],
        "stations": [_row(number, station, words) for number, station in enumerate(setup.stations, 1)],
        "checks": [[check.first, check.second, words.both(check.length)] for check in setup.checks],
        "risers": [
            [words.size(riser), str(count), str(dict(setup.at_hand).get(riser, 0))]
            for riser, count in setup.needed
        ],
        "left_out": list(setup.left_out),
        "assumed": list(setup.assumed),
    }


def _side(vector: Any) -> str:
    sides = {"forward": "right", "aft": "left", "left": "top", "right": "bottom"}
    return f"to the {sides[direction(vector)]} of the plan"


def _row(number: int, station: Station, words: Words) -> dict[str, str]:
    across, up = station.offset
    return {
        "number": str(number),
        "name": station.name,
        "column": str(station.column),
        "row": str(station.row),
        "across": _signed(across),
        "up": _signed(up),
        "what": station.what,
        "height": words.length(station.height),
        "height_mm": millimetres(station.height),
        "stack": " + ".join(f"{1000.0 * riser:g}" for riser in station.risers) or "–",
        "shim": millimetres(station.shim, 2) if station.stacked else "–",
        "note": station.note,
    }


def _signed(metres: float) -> str:
    text = millimetres(metres)
    return text if text.startswith("−") or not float(text) else f"+{text}"


def _plan(setup: TableSetup) -> dict[str, Any]:
    length, width = (1000.0 * side for side in setup.size)
    number = next((s for s in _SCALES if length / s <= _ROOM[0] and width / s <= _ROOM[1]), _SCALES[-1])
    border = 6.0
    edge = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]

    def at(x: float, y: float) -> list[float]:
        return [round(x / number + border, 3), round(y / number + border, 3)]

    holes, heads = [], []
    for column in range(1, setup.columns + 1):
        for row in range(1, setup.rows + 1):
            x, y = at(*(1000.0 * setup.hole_at(column, row)))
            holes.append({"x": x, "y": y, "r": max(500.0 * setup.hole / number, 0.35), "stroke": "grey"})
    for column in range(1, setup.columns + 1, 2 if setup.columns > 12 else 1):
        x, _ = at(*(1000.0 * setup.hole_at(column, 1)))
        heads.append({"x": x, "y": 2.6, "text": str(column), "anchor": "center-horizon", "size": 6})
    for row in range(1, setup.rows + 1):
        _, y = at(*(1000.0 * setup.hole_at(1, row)))
        heads.append({"x": 2.6, "y": y, "text": str(row), "anchor": "center-horizon", "size": 6})
    lines: list[dict[str, Any]] = [
        {"points": [at(*corner) for corner in edge], "stroke": "thick", "closed": True}
    ]
    marks = []
    for index, station in enumerate(setup.stations, 1):
        x, y = at(1000.0 * station.at[0], 1000.0 * station.at[1])
        lines += [
            {"points": [[x - 2, y], [x + 2, y]], "stroke": "thin"},
            {"points": [[x, y - 2], [x, y + 2]], "stroke": "thin"},
        ]
        if station.what != "tube underside":
            holes.append({"x": x, "y": y, "r": 1.4, "stroke": "thin"})
        if station.stacked:
            holes.append({"x": x, "y": y, "r": 500.0 * RISER / number, "stroke": "hair"})
        marks.append((str(index), (x, y)))
    for station, other in _pairs(setup):
        lines.append(
            {
                "points": [at(*(1000.0 * station.centre[:2])), at(*(1000.0 * other.centre[:2]))],
                "stroke": "hair",
            }
        )
    room = (length / number + 2 * border, width / number + 2 * border)
    labels, leaders = apart(marks, room=room, size=8, clear=3.4)
    lines += leaders
    return {
        "width": length / number + 2 * border,
        "height": width / number + 2 * border,
        "lines": lines,
        "circles": holes,
        "labels": [*heads, *labels],
        "scale": f"1 : {number}",
    }


def _pairs(setup: TableSetup) -> list[tuple[Station, Station]]:
    """The two longest checks, as diagonals on the plan."""
    named = {station.name: station for station in setup.stations}
    return [(named[check.first], named[check.second]) for check in setup.checks[:2]]
