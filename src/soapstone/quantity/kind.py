"""What a quantity can be, and the units a fabricator would write it in."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


class Kind(StrEnum):
    """What a text is to be read as; the SI unit of the number stands beside it."""

    LENGTH = "length"  # m
    MASS = "mass"  # kg
    FORCE = "force"  # N
    TORQUE = "torque"  # N·m
    ANGLE = "angle"  # rad
    STRESS = "stress"  # Pa
    SPEED = "speed"  # m/s
    ROTATION = "rotation"  # rad/s
    ACCELERATION = "acceleration"  # m/s²
    STIFFNESS = "stiffness"  # N/m
    TURN_STIFFNESS = "turn stiffness"  # N·m/rad
    DENSITY = "density"  # kg/m³
    INERTIA = "inertia"  # kg·m²
    POWER = "power"  # W
    TIME = "time"  # s
    NUMBER = "number"  # 1
    EXPANSION = "expansion"  # 1/K


UNITS_FOR: Mapping[Kind, tuple[str, ...]] = MappingProxyType(
    {
        Kind.LENGTH: ("mm", "cm", "m", "in", "ft"),
        Kind.MASS: ("kg", "g", "lb"),
        Kind.FORCE: ("N", "kN", "lbf", "kgf"),
        Kind.TORQUE: ("N·m", "lbf·ft", "lbf·in"),
        Kind.ANGLE: ("deg", "rad", "mm/m", "in/ft"),
        Kind.STRESS: ("MPa", "N/mm²", "psi", "ksi"),
        Kind.SPEED: ("km/h", "mph", "m/s"),
        Kind.ROTATION: ("rpm", "rad/s"),
        Kind.ACCELERATION: ("g", "m/s²", "ft/s²"),
        Kind.STIFFNESS: ("N/mm", "kN/m", "lbf/in"),
        Kind.TURN_STIFFNESS: ("N·m/deg", "N·m/rad", "lbf·ft/deg"),
        Kind.DENSITY: ("kg/m³", "g/cm³", "lb/in³"),
        Kind.INERTIA: ("kg·m²", "kg·cm²", "lb·in²"),
        Kind.POWER: ("kW", "W", "hp"),
        Kind.TIME: ("s", "ms", "min", "h"),
        Kind.NUMBER: ("%",),
        Kind.EXPANSION: ("µm/(m·K)", "1/K", "in/(in·°F)"),
    }
)
"""Units to offer in a message, the commonest first; every one can be read."""


def article(kind: Kind) -> str:
    """`a mass`, `an angle`."""
    return f"{'an' if kind[0] in 'aei' else 'a'} {kind}"


def offer(kind: Kind, number: str = "") -> str:
    """`12 mm, 12 cm or 12 in` with a number, `mm, cm or in` without."""
    units = [f"{number} {unit}".strip() for unit in UNITS_FOR[kind]]
    return units[0] if len(units) == 1 else f"{', '.join(units[:-1])} or {units[-1]}"
