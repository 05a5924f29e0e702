"""Shafts, rubber and mounts of published formulas and tables, answered by the place room."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.place.bookkeeping import Support, reactions
from soapstone.place.driveline import least_angle, working_angle
from soapstone.place.half_shafts import ShaftTravel, through_travel, tripod_orbit
from soapstone.place.modes import transmissibility, vee_pair
from soapstone.place.propeller_shafts import greatest_lag, unevenness
from soapstone.place.rubber import (
    Rubber,
    block_stiffness,
    dynamic_factors,
    round_block,
    rubber,
    square_block,
    strain_limits,
)
from soapstone.tables import Status

Array = NDArray[np.float64]

_RPM = 2.0 * np.pi / 60.0
_ACROSS = np.array([0.0, 1.0, 0.0])


def hub_positions() -> Mapping[str, float]:
    """A half-shaft to three places of the hub, 420 and 15 mm away in plan; mm and deg."""
    outer = np.array([(420, 15, -60), (420, 15, 0), (420, 15, 80)], float)
    ahead = np.array([1.0, 0.0, 0.0])
    ride = float(np.linalg.norm(outer[1]))
    found = through_travel(np.zeros(3), ahead, outer, ahead, ride_length=ride)
    return {
        "length": float(found.length[2]),
        "drooped": float(found.plunge[0]),
        "bumped": float(found.plunge[2]),
        "angle": float(np.degrees(found.inner_angle[2])),
    }


def _on_arms(heights: Array, shaft: float, above: float) -> ShaftTravel:
    """A shaft beside equal level arms of 300 mm, its inner joint so far above their pivots; mm."""
    inboard = 300.0 - np.sqrt(300.0**2 - heights**2)
    outer = np.stack([0 * heights, shaft - inboard, heights], axis=1)
    inner = np.array([0.0, 0.0, above])
    return through_travel(inner, _ACROSS, outer, _ACROSS, ride_length=float(np.hypot(shaft, above)))


def equal_arms() -> Mapping[str, float]:
    """A wheel carried by equal parallel arms of 300 mm; shafts of 500 and 300 mm, mm and deg."""
    ends = np.array([-100.0, 100.0])
    level, raised = _on_arms(ends, 500.0, 0.0), _on_arms(ends, 500.0, 30.0)
    alike, lowered = _on_arms(ends, 300.0, 0.0), _on_arms(ends, 300.0, -40.0)
    return {
        "level": float(level.plunge[1]),
        "level angle": float(np.degrees(level.inner_angle[1])),
        "raised drooped": float(raised.plunge[0]),
        "raised bumped": float(raised.plunge[1]),
        "alike angle": float(np.degrees(alike.inner_angle[1])),
        "lowered drooped": float(lowered.plunge[0]),
        "lowered bumped": float(lowered.plunge[1]),
    }


def joint_angles() -> Mapping[str, float]:
    """Unevenness and lag deg of one universal joint, what the tables allow, and a tripod's run-out mm."""
    uneven = {f"uneven {b}": unevenness(np.radians(b)) for b in (5, 8, 10, 15, 20, 30)}
    lags = {f"lag {b}": float(np.degrees(greatest_lag(np.radians(b)))) for b in (5, 8, 10, 15, 20, 30)}
    allowed = {
        f"{n} rpm": float(np.degrees(working_angle(n * _RPM).value))
        for n in (1500, 2000, 2500, 3000, 3500, 4000, 4500, 5000)
    }
    return (
        uneven
        | lags
        | allowed
        | {
            "least": float(np.degrees(least_angle().value)),
            "tripod": tripod_orbit(40.0, np.radians(12)),
        }
    )


def leaning_pairs() -> Mapping[str, float]:
    """Two mounts, each leaning towards the other by 0 to 60 deg; m, kN/m and N·m/rad."""
    pairs = {lean: vee_pair(0.25, np.radians(lean), 400e3, 100e3) for lean in (0, 15, 45, 60)}
    heights = {f"height {lean}": pair.height for lean, pair in pairs.items()}
    sideways = {f"sideways {lean}": pair.sideways / 1e3 for lean, pair in pairs.items()}
    return heights | sideways | {f"roll {lean}": pair.roll for lean, pair in pairs.items()}


def more_rubber() -> Mapping[str, float]:
    """Blocks by the formula's variants, N/mm; what the tables say of strain and of shaking."""
    plain = Rubber(50, 2.2e6, 0.64e6, 1e9, 1.0, "", Status.INFERRED, False)
    filled = Rubber(55, 2.2e6, 0.81e6, 1.09e9, rubber(55).shape, "", Status.INFERRED, False)
    block = square_block(0.1, 0.1, 0.025)
    low, high, _ = dynamic_factors()
    cylinder = round_block(0.04, 0.025)
    pressed = block_stiffness(cylinder, rubber(50)).compression
    return {
        "filled": block_stiffness(block, filled).compression / 1e3,
        "bulk": block_stiffness(block, plain, with_bulk=True).compression / 1e3,
        "cylinder": block_stiffness(round_block(0.04, 0.02), plain).compression / 1e3,
        "load": pressed * strain_limits().compression * cylinder.thickness,
        "strain pressed": strain_limits().compression,
        "strain sheared": strain_limits().shear,
        "shaken low": low,
        "shaken high": high,
    }


def passing_on() -> Mapping[str, float]:
    """One mass on one spring, away from its resonance."""
    return {"crossing": transmissibility(np.sqrt(2.0), 0.1), "undamped": transmissibility(3.0, 0.0)}


def geared_couple() -> Mapping[str, float]:
    """400 N·m through a gearbox of 3.5, held by two upright mounts 0.5 m apart."""
    held = [Support(name, np.array([0.0, y, 0.0]), np.eye(3)[2]) for name, y in (("l", 0.25), ("r", -0.25))]
    torque = 400.0 * 3.5
    return {"couple": float(reactions(held, np.array([0, 0, 0, torque, 0, 0]), np.zeros(3))[1])}


PROBLEMS: dict[str, Callable[[], Mapping[str, float]]] = {
    problem.__name__: problem
    for problem in (
        hub_positions,
        equal_arms,
        joint_angles,
        leaning_pairs,
        more_rubber,
        passing_on,
        geared_couple,
    )
}
