"""Limits of size of threads, and the ring that a bolt's head sits on."""

from dataclasses import dataclass

from soapstone.tables.bolts import BoltSize
from soapstone.tables.rows import table

_MILLIMETRE, _INCH = 1e-3, 0.0254


@dataclass(frozen=True)
class ThreadLimits:
    """The worst pair of threads that still passes its gauges (6g in 6H, 2A in 2B); m.

    Attributes
    ----------
    major, pitch : float
        Least of the bolt.
    internal_minor, internal_pitch : float
        Most of the tapped hole.
    """

    major: float
    pitch: float
    internal_minor: float
    internal_pitch: float
    source: str


def thread_limits(size: BoltSize) -> ThreadLimits | None:
    """The limits for a size; None where the table has none."""
    system, unit = ("metric", _MILLIMETRE) if size.metric else ("inch", _INCH)
    rows = table("threads")
    row = rows[system].get(size.name)
    if row is None:
        return None
    major, pitch, internal_minor, internal_pitch = (unit * number for number in row)
    return ThreadLimits(major, pitch, internal_minor, internal_pitch, rows["limits"][f"source_{system}"])


def head_ring(size: BoltSize) -> tuple[float, float]:
    """Outside and inside diameter of the ring under a hexagon head, m.

    By the table for ISO metric sizes; else 0.95 of the width across flats, and 1.1 of the bolt.
    """
    rows, key = table("threads"), f"{size.diameter / _MILLIMETRE:g}"
    if size.metric and key in rows["under_head"]:
        return _MILLIMETRE * rows["under_head"][key], _MILLIMETRE * rows["under_head_hole"][key]
    return 0.95 * size.head_width_across_flats, 1.1 * size.diameter
