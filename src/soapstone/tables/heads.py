"""The head of a bolt, and the tools that turn it: hexagons from outside, sockets with a key."""

import math
from dataclasses import dataclass
from typing import Any, Literal

from soapstone.errors import SoapstoneError
from soapstone.tables.bolts import BoltSize
from soapstone.tables.rows import sources, table, to_si
from soapstone.tables.tools import Tool, row_for, tools_for, torque_wrench_for

Form = Literal["hexagon", "socket"]
_SHARP = 2.0 / math.sqrt(3.0)
"""Across the corners of a hexagon, of its flats: the bound that no rounded corner passes."""


@dataclass(frozen=True)
class Head:
    """A head, m.

    Attributes
    ----------
    across : of a circle round it
    height : over its seat
    tools : in the order they are taken up
    torque_wrench : Tool
    """

    across: float
    height: float
    tools: tuple[Tool, ...]
    torque_wrench: Tool


def head_of(size: BoltSize, form: Form = "hexagon") -> Head:
    """The head of a bolt.

    Raises
    ------
    SoapstoneError
        For a size that the tables have no such head of, or no tool for.
    """
    if form == "hexagon":
        across = _SHARP * size.head_width_across_flats
        return Head(across, size.head_height, tools_for(size), torque_wrench_for(size))
    rows = table("tools")["socket_head"]
    for place, bolt in enumerate(rows["bolt"]):
        if math.isclose(to_si(bolt), size.diameter, rel_tol=1e-9):
            outside, key, depth = (to_si(rows[name][place]) for name in ("outside", "key", "depth"))
            return Head(outside, size.diameter, _keys(size, key, depth), _bit("torque", size, depth))
    raise SoapstoneError(
        f"no socket head for {size.name} in the table", remedy="take a hexagon head or another size"
    )


def _keys(size: BoltSize, flats: float, depth: float) -> tuple[Tool, ...]:
    """A bit on a ratchet; a key with its short arm in the head, then with its long one."""
    return (
        _bit("ratchet", size, depth),
        _key("hexagon key", "short", "long", size, flats, depth),
        _key("hexagon key, long arm in", "long", "short", size, flats, depth),
    )


def _key(name: str, arm_in: str, handle: str, size: BoltSize, flats: float, depth: float) -> Tool:
    rows, place = row_for("hexagon_key", flats)
    across = _SHARP * to_si(rows["flats"][place])
    out = to_si(rows[arm_in][place]) - depth  # over the head's top, to the far side of the handle
    return Tool(
        name,
        (across, size.diameter + out - across),
        (across, across),
        to_si(rows[handle][place]),
        across,
        math.radians(rows["swing_deg"]),
        True,
        _sources(rows),
        depth,
    )


def _bit(drive: str, size: BoltSize, depth: float) -> Tool:
    """Over the screw's head a bit is taken to be as wide as the socket that holds it."""
    rows, handle = table("tools")["bit"], table("tools")[drive]
    return Tool(
        f"hexagon bit on a {'ratchet' if drive == 'ratchet' else 'torque wrench'}",
        (to_si(rows["outside"]), size.diameter + to_si(rows["length"]) - depth),
        (to_si(handle["wide"]), to_si(handle["thick"])),
        to_si(handle["handle"]),
        to_si(handle["handle_wide"]),
        math.radians(handle["swing_deg"]),
        True,
        "tools by common practice, no source",
        depth,
    )


def _sources(rows: dict[str, Any]) -> str:
    source = sources()[rows["source"]]
    return f"{source.title}{', from memory' if source.read == 'memory' else ''}"
