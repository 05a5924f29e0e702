"""What universal joints stand, from the table: working angle by speed, least angle, residual unevenness."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import SoapstoneError
from soapstone.tables.rows import table

_RPM = 2.0 * np.pi / 60.0


@dataclass(frozen=True)
class Allowed:
    """A limit with its source key and whether it was read in a copy or recalled."""

    value: float
    source: str
    from_memory: bool
    note: str


def working_angle(speed: float) -> Allowed:
    """Greatest working angle rad of a universal joint at a speed in rad/s, along straight lines between rows.

    Below the slowest row that row's angle stands.

    Raises
    ------
    SoapstoneError
        Above the fastest row.
    """
    row = table("driveline")["working_angle"]
    speeds = _speeds(row, speed, "working angle", "the joint's own limit from its data sheet")
    angle = float(np.interp(speed, speeds, np.radians(row["angle"])))
    above = int(np.searchsorted(speeds, speed))
    around = row["read"][max(above - 1, 0) : above + 1]
    return Allowed(angle, row["source"], not all(around), row["note"])


def least_angle() -> Allowed:
    """Least working angle rad: with less the needles of the joint do not roll."""
    row = table("driveline")["least_angle"]
    return Allowed(float(np.radians(row["angle"])), row["source"], False, row["note"])


def residual_angle_allowed(speed: float) -> Allowed:
    """Greatest residual angle rad of a whole line of joints at a speed in rad/s."""
    row = table("driveline")["residual"]
    return Allowed(float(np.sqrt(row["acceleration"])) / speed, row["source"], False, row["note"])


def rigid_offset_allowed(speed: float) -> Allowed:
    """Greatest offset m between the halves of a rigid coupling at a speed in rad/s.

    Below the slowest row that row's offset stands.

    Raises
    ------
    SoapstoneError
        Above the fastest row.
    """
    row = table("driveline")["rigid_coupling"]
    speeds = _speeds(row, speed, "offset of a rigid coupling", "the coupling's own limit from its maker")
    offset = float(np.interp(speed, speeds, np.array(row["offset"], float) * 1e-3))
    return Allowed(offset, row["source"], False, row["note"])


def rim_gap_allowed() -> Allowed:
    """Greatest difference of the gap round a rigid coupling's rim, as a part of its diameter."""
    row = table("driveline")["rigid_coupling"]
    return Allowed(float(row["rim_gap"]), row["source"], False, row["note"])


def _speeds(row: Mapping[str, Any], speed: float, what: str, own: str) -> NDArray[np.float64]:
    """A row's speeds rad/s, the last of which `speed` must not pass."""
    speeds = np.array(row["speed"], float) * _RPM
    if speed > speeds[-1] * (1 + 1e-12):
        raise SoapstoneError(f"no {what} is known above {row['speed'][-1]:g} rpm", remedy=f"give {own}")
    return speeds
