"""Torque reaction: everything from outside that turns the drivetrain's housing, as one free body.

A shaft that the unit drives turns the unit the other way round; what happens between gears inside one housing
cancels there and appears only in the joint between its parts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from soapstone.errors import GeometryError
from soapstone.formula import Chain, Step
from soapstone.place.half_shafts import joint_moment
from soapstone.place.isolators import Array


class Layout(StrEnum):
    """Where the final drive sits and which way the shafts leave."""

    TRANSVERSE = "transverse, final drive inside"
    LONGITUDINAL = "longitudinal"
    TRANSAXLE = "longitudinal, final drive inside"

    @property
    def has_half_shafts(self) -> bool:
        """Whether half-shafts leave the housing."""
        return self is not Layout.LONGITUDINAL


@dataclass(frozen=True)
class Drive:
    """What drives, and through what.

    Attributes
    ----------
    layout : Layout
    torque : float, N·m, of the motor; above zero
    gear : float, motor turns for one of the gearbox's output
    final : float, turns of the gearbox's output for one of the wheel
    gear_efficiency, final_efficiency : float
    shock : float
        Factor on the torque for the way it comes on.
    clockwise : bool
        Whether a longitudinal motor and its output turn clockwise seen from in front, driving forward.
    crank_forward : bool
        Whether a transverse motor turns the way the wheels do, driving forward.
    holding_back : float
        Motor torque when holding back, as a share of `torque` (engine braking, regeneration).
    wheel_limit : float or None, N·m
        What the tyres of the driven axle hold together; None for no limit.
    """

    layout: Layout
    torque: float
    gear: float
    final: float
    gear_efficiency: float
    final_efficiency: float
    shock: float
    clockwise: bool = True
    crank_forward: bool = True
    holding_back: float = 0.0
    wheel_limit: float | None = None

    def __post_init__(self) -> None:
        if min(self.torque, self.gear, self.final, self.shock) <= 0.0:
            raise GeometryError("a drive needs a torque, ratios and a shock factor above zero")
        if not (0.0 < self.gear_efficiency <= 1.0 and 0.0 < self.final_efficiency <= 1.0):
            raise GeometryError("an efficiency lies above 0 and not above 1")


@dataclass(frozen=True, eq=False)
class Flange:
    """Where a shaft leaves the housing.

    Attributes
    ----------
    name : str
    place : (3,) m
    shaft : (3,) or None
        Direction of the shaft beyond its joint, of like sense as the flange's axis; None for straight on.
    share : float
        Part of the axle's torque.
    """

    name: str
    place: Array
    share: float = 1.0
    shaft: Array | None = None


@dataclass(frozen=True, eq=False)
class Action:
    """One force and moment from outside on the unit, at a place; vehicle axes."""

    name: str
    place: Array
    force: Array
    moment: Array


@dataclass(frozen=True, eq=False)
class FreeBody:
    """All actions on a housing with how they came about.

    Attributes
    ----------
    actions : tuple of Action
    because : tuple of Step
    assumed : tuple of str
    """

    actions: tuple[Action, ...]
    because: tuple[Step, ...] = ()
    assumed: tuple[str, ...] = ()

    def about(self, point: Array) -> Array:
        """All together as (6,) N and N·m at a point (3,) m."""
        total = np.zeros(6)
        for action in self.actions:
            total[:3] += action.force
            total[3:] += action.moment + np.cross(action.place - point, action.force)
        return total

    def plus(self, *actions: Action) -> "FreeBody":
        """With more actions."""
        return FreeBody((*self.actions, *actions), self.because, self.assumed)


FORWARD_ROLL = np.array([0.0, 1.0, 0.0])
"""Turn of a wheel that rolls forward, ISO 8855 axes."""
_CLOCKWISE = np.array([-1.0, 0.0, 0.0])
"""Turn of a shaft that goes clockwise seen from in front."""


def crank_axis(drive: Drive) -> Array:
    """Unit vector (3,) of the motor's turn when driving forward."""
    if drive.layout is Layout.TRANSVERSE:
        return FORWARD_ROLL if drive.crank_forward else -FORWARD_ROLL
    return _CLOCKWISE if drive.clockwise else -_CLOCKWISE


def housing_reaction(drive: Drive, flanges: Sequence[Flange], *, reverse: bool = False) -> FreeBody:
    """The torque reaction on the whole unit, motor and gearbox in one.

    Transverse or in-unit final drive: minus what its half-shafts get, about the axle line, nose up when
    driving forward; nothing about the vehicle's length, whichever way the motor lies. Longitudinal gearbox:
    minus what its propeller shaft gets, about the vehicle's length; the axle's torque stays with the axle.

    Parameters
    ----------
    flanges : where shafts leave; two for half-shafts, one for a propeller shaft
    reverse : bool
        Holding back instead of driving; losses then add to what the shafts must bring.
    """
    chain, assumed = Chain(), []
    total = _shaft_torque(drive, chain, reverse=reverse)
    if drive.wheel_limit is None:
        assumed.append("no grip given: the tyres are taken to hold any torque")
    if abs(sum(flange.share for flange in flanges) - 1.0) > 1e-12:
        raise GeometryError("the shares of the shafts do not add up to the whole torque")
    axis = FORWARD_ROLL if drive.layout.has_half_shafts else crank_axis(drive)
    return FreeBody(
        tuple(_given_to(flange, axis, flange.share * total) for flange in flanges),
        chain.steps,
        tuple(assumed),
    )


def _shaft_torque(drive: Drive, chain: Chain, *, reverse: bool) -> float:
    """All that the unit gives its shafts, N·m; below zero when holding back."""
    inside = drive.layout.has_half_shafts
    chain.given("T_m", drive.torque, "N*m", "motor torque")
    chain.given("i_g", drive.gear, "1", "motor turns for one of the gearbox's output")
    chain.given("eta_g", drive.gear_efficiency, "1", "efficiency of the gearbox")
    chain.given("i_f", drive.final, "1", "final drive")
    chain.given("eta_f", drive.final_efficiency, "1", "efficiency of the final drive")
    chain.given("n_s", drive.shock, "1", "shock factor")
    if reverse:
        chain.given("k_r", drive.holding_back, "1", "share of the torque when holding back")
    torque = "T_m * k_r" if reverse else "T_m"
    losses = " / eta_g" if reverse else " * eta_g"
    ratio = "i_g"
    if inside:
        losses += " / eta_f" if reverse else " * eta_f"
        ratio += " * i_f"
    words = "torque of all half-shafts" if inside else "torque of the propeller shaft"
    size = chain.step("T_s", f"{torque} * {ratio}{losses} * n_s", "N*m", words)
    if drive.wheel_limit is not None:
        size = _gripped(drive, chain, inside=inside, reverse=reverse)
    return -size if reverse else size


def _gripped(drive: Drive, chain: Chain, *, inside: bool, reverse: bool) -> float:
    chain.given("T_w", drive.wheel_limit or 0.0, "N*m", "torque that the tyres of the axle hold")
    if inside:
        return chain.step("T", "min(T_s, T_w)", "N*m", "torque that the half-shafts really get")
    back = "T_w / i_f * eta_f" if reverse else "T_w / (i_f * eta_f)"
    chain.step("T_wp", back, "N*m", "the tyres' torque at the propeller shaft")
    return chain.step("T", "min(T_s, T_wp)", "N*m", "torque that the propeller shaft really gets")


def _given_to(flange: Flange, axis: Array, torque: float) -> Action:
    """The action on the unit of a shaft that gets `torque` about `axis`."""
    shaft = axis if flange.shaft is None else flange.shaft / np.linalg.norm(flange.shaft)
    if float(shaft @ axis) <= 0.0:
        raise GeometryError("a shaft's direction must run with its flange's turn", where=flange.name)
    return Action(flange.name, flange.place, np.zeros(3), -joint_moment(torque, axis, shaft))


def dragged_reaction(drive: Drive, flanges: Sequence[Flange]) -> FreeBody:
    """Towed backwards with the wheels locked through the drive: all that the tyres hold comes back in.

    The road pushes forward on tyres that do not turn, which is the sense of driving forward.

    Raises
    ------
    GeometryError
        Without a limit of the tyres: nothing else bounds the torque.
    """
    if drive.wheel_limit is None:
        raise GeometryError("what the tyres hold is not given, and nothing else bounds a locked wheel")
    chain = Chain()
    size = chain.given("T_w", drive.wheel_limit, "N*m", "torque that the tyres of the axle hold")
    if not drive.layout.has_half_shafts:
        chain.given("i_f", drive.final, "1", "final drive")
        chain.given("eta_f", drive.final_efficiency, "1", "efficiency of the final drive")
        size = chain.step("T", "T_w / i_f * eta_f", "N*m", "torque that comes in by the propeller shaft")
    axis = FORWARD_ROLL if drive.layout.has_half_shafts else crank_axis(drive)
    return FreeBody(tuple(_given_to(flange, axis, flange.share * size) for flange in flanges), chain.steps)


def axle_reaction(drive: Drive, place: Array, *, reverse: bool = False) -> FreeBody:
    """What a separate axle's housing feels: the propeller shaft's torque, and minus that of its half-shafts.

    Only for a longitudinal gearbox; nothing of it reaches the unit's mounts.
    """
    if drive.layout.has_half_shafts:
        raise GeometryError("a final drive inside the unit has no axle of its own")
    chain = Chain()
    size = _shaft_torque(drive, chain, reverse=reverse)
    chain.given("T_p", size, "N*m", "torque of the propeller shaft, minus when holding back")
    formula = "T_p * i_f / eta_f" if reverse else "T_p * i_f * eta_f"
    wheels = chain.step("T_h", formula, "N*m", "torque of both half-shafts")
    return FreeBody(
        (
            Action("propeller shaft", place, np.zeros(3), size * crank_axis(drive)),
            Action("half-shafts", place, np.zeros(3), -wheels * FORWARD_ROLL),
        ),
        chain.steps,
    )


def motor_on_gearbox(drive: Drive, *, reverse: bool = False) -> Array:
    """Moment (3,) N·m that the motor's housing gives the gearbox's through their joint, mounts aside.

    The motor turns its shaft one way and its own housing the other; the joint takes it. In an in-unit final
    drive this is where the motor's torque about the vehicle's length has gone.
    """
    torque = drive.torque * drive.shock * (-drive.holding_back if reverse else 1.0)
    moment: Array = -torque * crank_axis(drive)
    return moment


def inboard_brake(flange: Flange, torque: float) -> Action:
    """A brake on the housing that holds a half-shaft back, rolling forward: nose down."""
    return _given_to(flange, FORWARD_ROLL, -torque)


def belt(
    name: str,
    pulley: Array,
    radius: float,
    other: Array,
    other_radius: float,
    *,
    tight: float,
    slack: float,
    axis: Array,
) -> tuple[Action, Action]:
    """The two strands of an open belt from a pulley on the unit to one that is not.

    Parameters
    ----------
    pulley, other : (3,) m, middles
    radius, other_radius : m
    tight, slack : float, N, tension of each strand
    axis : (3,) unit vector
        Turn of a driving pulley, minus that of a driven one; the tight strand is then the one it draws in.
    """
    run = other - pulley
    run = run - float(run @ axis) * axis
    length = float(np.linalg.norm(run))
    if length <= abs(radius - other_radius):
        raise GeometryError("the two pulleys overlap", where=name)
    along, up = run / length, np.cross(axis, run / length)
    lean = float(np.arcsin((radius - other_radius) / length))
    strands = []
    for word, side, tension in (("tight", 1.0, tight), ("slack", -1.0, slack)):
        out = np.sin(lean) * along + side * np.cos(lean) * up
        pulls = np.cos(lean) * along - side * np.sin(lean) * up
        strands.append(Action(f"{name}, {word} strand", pulley + radius * out, tension * pulls, np.zeros(3)))
    return strands[0], strands[1]


def thrust(name: str, place: Array, shaft: Array, force: float) -> Action:
    """Thrust of a propeller, N, ahead positive, at its thrust bearing; `shaft` (3,) points ahead."""
    return Action(name, place, force * shaft / np.linalg.norm(shaft), np.zeros(3))


def propeller_torque(name: str, place: Array, turn: Array, torque: float) -> Action:
    """Minus what the propeller's shaft gets: `torque` N·m about its turn (3,)."""
    return Action(name, place, np.zeros(3), -torque * turn / np.linalg.norm(turn))


def rotor(
    name: str, place: Array, inertia: float, turn: Array, acceleration: float, speed: float, body: Array
) -> Action:
    """What a spinning rotor (kg·m², about its own axis) gives the housing: run-up and gyroscopic moment.

    `-J α a - Ω x (J ω a)` with the vehicle turning at `body` (3,) rad/s.
    """
    axis = turn / np.linalg.norm(turn)
    moment = -inertia * acceleration * axis - np.cross(body, inertia * speed * axis)
    return Action(name, place, np.zeros(3), moment)
