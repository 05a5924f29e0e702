"""Published modes, isolation, rubber and shafts, answered by the place room."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.place.driveline import residual_angle_allowed
from soapstone.place.isolators import Hung, Mount
from soapstone.place.modes import rigid_modes, sag_frequency, transmissibility, vee_pair
from soapstone.place.propeller_shafts import (
    Line,
    compound_angle,
    critical_speed,
    equal_speed_turn,
    greatest_lag,
    peak_acceleration,
    residual_angle,
    residual_for,
    speed_ratio,
)
from soapstone.place.rubber import Rubber, block_stiffness, round_block, rubber, square_block
from soapstone.tables import Status

Array = NDArray[np.float64]

_RPM = 2.0 * np.pi / 60.0


def _mount(place: ArrayLike, stiffness: ArrayLike) -> Mount:
    return Mount("mount", np.asarray(place, float), np.eye(3), np.asarray(stiffness, float), 1.0)


def _modes(mass: float, inertia: ArrayLike, mounts: list[Mount]) -> Array:
    body = Hung(mass, np.zeros(3), np.diag(np.asarray(inertia, float)))
    return rigid_modes(body, mounts).frequencies


def avionics_box() -> Mapping[str, float]:
    """A box on four equal isolators, its centre off the middle two ways; in, lbf, g taken as 386 in/s²."""
    mounts = [_mount((x, -3.85, z), (80, 80, 80)) for z in (3.0, -3.0) for x in (6.18, 2.68)]
    found = _modes(4.28 / 386, np.array([44.9, 39.9, 18.8]) / 386, mounts)
    return {str(number): float(value) for number, value in enumerate(found, 1)}


def bounce_and_pitch() -> Mapping[str, float]:
    """A body on two springs, which leave four directions free; ft, lbf, slug."""
    mounts = [_mount((4.5, 0, 0), (0, 0, 2400)), _mount((-5.5, 0, 0), (0, 0, 2600))]
    found = _modes(100.0, [1600.0] * 3, mounts)
    return {"lower": float(found[4]), "higher": float(found[5])}


def four_equal_mounts() -> Mapping[str, float]:
    """A body with two planes of symmetry on four equal mounts below its centre."""
    mounts = [_mount((x, y, -0.15), (120e3, 90e3, 250e3)) for x in (0.3, -0.3) for y in (0.25, -0.25)]
    found = _modes(180.0, (9.0, 16.0, 14.0), mounts)
    return {
        "sway": float(found[0]),
        "surge": float(found[1]),
        "yaw": float(found[2]),
        "bounce": float(found[3]),
    }


def leaning_pair() -> Mapping[str, float]:
    """Two mounts leaning 30 deg towards each other."""
    pair = vee_pair(0.25, np.radians(30), 400e3, 100e3)
    return {"height": pair.height, "upright": pair.upright / 1e3, "roll": pair.roll}


def one_mass() -> Mapping[str, float]:
    """Sag, natural frequency and share passed on of one mass on one spring."""
    soft = sag_frequency(0.025, 9.80665)
    return {
        "5 mm": sag_frequency(0.005, 9.81),
        "25 mm": soft,
        "25 mm passed on": transmissibility(25.0 / soft, 0.05),
        "resonance": transmissibility(1.0, 0.1),
        "twice": transmissibility(2.0, 0.1),
        "thrice": transmissibility(3.0, 0.1),
    }


def cardan_joint() -> Mapping[str, float]:
    """One universal joint: 25 deg at 100 rad/s, and 20 deg at 1500 rpm with 0.12 kg·m² behind it."""
    bend = np.radians(25)
    peak = peak_acceleration(np.radians(20), 1500 * _RPM)[1]
    return {
        "fast": 100.0 * float(speed_ratio(bend, 0.0)),
        "slow": 100.0 * float(speed_ratio(bend, np.pi / 2)),
        "equal": float(np.degrees(equal_speed_turn(bend))),
        "lag": float(np.degrees(greatest_lag(bend))),
        "acceleration": peak,
        "torque": 0.12 * peak,
    }


def _flat(*bends: float) -> Line:
    """Shafts in one plane, with the bends deg between them."""
    slope = np.radians(np.cumsum([0.0, *bends]))
    axes = np.stack([np.cos(slope), 0 * slope, np.sin(slope)], axis=1)
    return Line(axes, (0.0,) * (len(bends) - 1))


def joint_rules() -> Mapping[str, float]:
    """Angles that the trade's rules and charts allow; deg, and the shaft makers' constant of whipping."""
    whip = critical_speed(length=1.4, outer=0.0762, inner=0.072, modulus=207e9, density=7850) / _RPM
    found = {
        f"beside {a:g}": residual_angle(_flat(a, b)) for a, b in ((3.0, -7.9), (6.0, -9.5), (9.0, -11.6))
    }
    found |= {
        "alone": residual_angle_allowed(1500 * _RPM).value,
        "two": residual_angle(_flat(8.0, -5.0)),
        "unevenness": residual_for(0.0027),
        "compound": compound_angle(np.radians(2.15), np.radians(2.5)),
    }
    degrees = {name: float(np.degrees(value)) for name, value in found.items()}
    return degrees | {"whip": whip / (np.hypot(76.2, 72.0) / 1400**2 * 1e8)}


def rubber_blocks() -> Mapping[str, float]:
    """Bonded blocks of natural rubber; N/mm."""
    alike = Rubber(50, 2.2e6, 0.64e6, 1e9, 1.0, "", Status.INFERRED, False)
    cylinder = block_stiffness(round_block(0.04, 0.025), rubber(50))
    return {
        "square": block_stiffness(square_block(0.1, 0.1, 0.025), alike).compression / 1e3,
        "round": cylinder.compression / 1e3,
        "sheared": cylinder.shear / 1e3,
    }


PROBLEMS: dict[str, Callable[[], Mapping[str, float]]] = {
    problem.__name__: problem
    for problem in (
        avionics_box,
        bounce_and_pitch,
        four_equal_mounts,
        leaning_pair,
        one_mass,
        cardan_joint,
        joint_rules,
        rubber_blocks,
    )
}
