"""From what the job says of motor, brakes, belts and propeller to what acts on a unit, place by place."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from soapstone.formula import Chain, Step
from soapstone.job.places import parse_place
from soapstone.job.pulls import Belt, Lift, Propeller, Tow
from soapstone.job.schema import Job
from soapstone.job.service import Grip, Motor
from soapstone.place.placed import Placed
from soapstone.place.reaction import (
    Drive,
    Flange,
    FreeBody,
    Layout,
    belt,
    dragged_reaction,
    housing_reaction,
    inboard_brake,
    propeller_torque,
    thrust,
)

Array = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition (3rd CGPM, 1901)."""


def drive_of(motor: Motor, wheel_limit: float | None) -> Drive:
    """The job's motor as a drive; a ratio of all gears together counts as the gearbox's."""
    return Drive(
        layout=Layout(motor.layout),
        torque=motor.torque,
        gear=motor.gear or motor.ratio or 1.0,
        final=motor.final_drive,
        gear_efficiency=motor.efficiency,
        final_efficiency=motor.final_drive_efficiency,
        shock=motor.shock,
        clockwise=motor.turns == "clockwise",
        crank_forward=motor.crank == "with the wheels",
        holding_back=motor.reverse,
        wheel_limit=wheel_limit,
    )


def flanges_of(motor: Motor, placed: Mapping[str, Placed]) -> tuple[Flange, ...]:
    """Where the shafts leave; the body's centre where no points are named, as torques do not mind."""
    body = placed.get(motor.body)
    count = 2 if Layout(motor.layout).has_half_shafts else 1
    if body is not None and motor.flanges:
        return tuple(Flange(name, body.points[name], 1.0 / count) for name in motor.flanges)
    at = body.centre if body is not None else np.zeros(3)
    names = ("half-shaft left", "half-shaft right") if count == 2 else ("propeller shaft",)
    return tuple(Flange(name, at, 1.0 / count) for name in names)


def wheel_limit(grip: Grip, chain: Chain) -> float:
    """What the tyres of the driven axle hold together, N·m."""
    chain.given("mu", grip.tyre, "1", "friction of tyre on road")
    chain.given("m_a", grip.mass_on_axle, "kg", "mass on the driven axle")
    chain.given("g_n", STANDARD_GRAVITY, "m/s**2", "standard gravity")
    chain.given("r", grip.rolling_radius, "m", "rolling radius")
    return chain.step("T_w", "mu * m_a * g_n * r", "N*m", "torque that the tyres of the axle hold")


def shaft_reaction(motor: Motor, grip: Grip | None, placed: Mapping[str, Placed], torque: str) -> FreeBody:
    """What the shafts give the housing when it drives, holds back (`reverse`) or is `towed back`."""
    chain = Chain()
    limit = wheel_limit(grip, chain) if grip is not None else None
    drive, flanges = drive_of(motor, limit), flanges_of(motor, placed)
    if torque == "towed back":
        found = dragged_reaction(drive, flanges)
    else:
        found = housing_reaction(drive, flanges, reverse=torque == "reverse")
    known = {step.symbol for step in chain.steps}
    steps = (*chain.steps, *(step for step in found.because if step.symbol not in known))
    return FreeBody(found.actions, steps, (*found.assumed, *_assumed(motor, grip, torque)))


def _assumed(motor: Motor, grip: Grip | None, torque: str) -> list[str]:
    """What stands in for keys that the job leaves out."""
    given = motor.model_fields_set
    notes = []
    if motor.layout == "longitudinal" and "turns" not in given:
        notes.append("the output turns clockwise seen from in front (common practice, no source)")
    if torque == "towed back":
        return notes
    if "efficiency" not in given:
        notes.append("no efficiency given: nothing is lost in the gears")
    if torque == "reverse" and "reverse" not in given:
        notes.append("no share given for holding back: as much as driving")
    if "shock" not in given:
        notes.append("no shock factor given: the torque comes on gently")
    elif grip is not None and motor.shock > 1.0:
        notes.append("slipping tyres are taken to cap a shock too; the wheels' own inertia is left out")
    return notes


def other_actions(
    job: Job, names: tuple[str, ...], placed: Mapping[str, Placed], points: Mapping[str, Array]
) -> dict[str, FreeBody]:
    """What a case's `with` puts on each body, its shafts' drive torque aside.

    Parameters
    ----------
    points : vehicle points (3,) m by name
    """
    service, found = job.service, dict[str, FreeBody]()

    def put(body: str, more: FreeBody) -> None:
        old = found.get(body, FreeBody(()))
        found[body] = FreeBody(
            (*old.actions, *more.actions), (*old.because, *more.because), (*old.assumed, *more.assumed)
        )

    if "belts" in names:
        for name, spec in service.belts.items():
            body, _, point = spec.pulley.partition(".")
            put(body, _belt(name, spec, placed[body].points[point], points))
    if "brakes" in names and service.brakes is not None and service.motor is not None:
        put(service.motor.body, _brakes(job, placed))
    if service.propeller is not None:
        for way in ("thrust ahead", "thrust astern"):
            if way in names:
                put(service.propeller.body, _propeller(service.propeller, points, astern="astern" in way))
    return found


def _at(spot: str | tuple[float, float, float], points: Mapping[str, Array]) -> Array:
    return points[spot] if isinstance(spot, str) else np.array(spot)


def _belt(name: str, spec: Belt, pulley: Array, points: Mapping[str, Array]) -> FreeBody:
    pulled = belt(
        f"belt {name}",
        pulley,
        spec.radius,
        _at(spec.other, points),
        spec.other_radius,
        tight=spec.tight,
        slack=spec.slack,
        axis=np.array(spec.turns),
    )
    return FreeBody(pulled)


def _brakes(job: Job, placed: Mapping[str, Placed]) -> FreeBody:
    motor, grip, brakes = job.service.motor, job.service.grip, job.service.brakes
    assert motor is not None and brakes is not None
    chain, assumed = Chain(), tuple[str, ...]()
    chain.given("T_b", brakes.torque, "N*m", "torque of each brake on the housing")
    formula = "T_b"
    if grip is None:
        assumed = ("no grip given: the tyres are taken to hold any brake",)
    else:
        wheel_limit(grip, chain)
        formula = "min(T_b, T_w / 2)"
    each = chain.step("T_d", formula, "N*m", "of each that the road answers")
    discs = (replace(flange, name=f"brake at {flange.name}") for flange in flanges_of(motor, placed))
    return FreeBody(tuple(inboard_brake(disc, each) for disc in discs), chain.steps, assumed)


def _propeller(spec: Propeller, points: Mapping[str, Array], *, astern: bool) -> FreeBody:
    """Thrust along the shaft's line at its forward place; minus the torque that the shaft gets."""
    aft, ahead = _at(spec.aft, points), _at(spec.ahead, points)
    line = ahead - aft
    chain = Chain()
    chain.given("F_p", spec.thrust, "N", "thrust going ahead")
    chain.given("T_p", spec.torque, "N*m", "torque of the propeller shaft")
    share = ""
    if astern:
        chain.given("k_a", spec.astern, "1", "share of it going astern")
        share = " * k_a"
    force = chain.step("F_t", f"F_p{share}", "N", "thrust on the unit")
    torque = chain.step("T_t", f"T_p{share}", "N*m", "torque of the shaft, which the unit feels turned round")
    sense = -1.0 if astern else 1.0
    turn = line if spec.turns == "clockwise" else -line
    return FreeBody(
        (
            thrust("thrust", ahead, line, sense * force),
            propeller_torque("propeller shaft", ahead, sense * turn, torque),
        ),
        chain.steps,
    )


def lifted(spec: Lift) -> tuple[str, Array, tuple[Step, ...]]:
    """Place on the frame, force (3,) N up, and its steps."""
    chain = Chain()
    chain.given("m_l", spec.mass, "kg", "mass that this place lifts")
    chain.given("g_n", STANDARD_GRAVITY, "m/s**2", "standard gravity")
    chain.given("n_l", spec.times, "1", "for the way it is taken up")
    force = chain.step("F_l", "m_l * g_n * n_l", "N", f"lift at {spec.at}")
    return spec.at, np.array([0.0, 0.0, force]), chain.steps


def towed(spec: Tow) -> tuple[str, Array, tuple[Step, ...]]:
    """Place on the frame, force (3,) N aft, and its steps.

    Level pull at the axle that just takes a wheel over an edge: moments about the edge,
    `F (r - h) = W sqrt(2 r h - h²)` (plain statics).
    """
    chain = Chain()
    chain.given("m_t", spec.mass, "kg", "mass on the wheels that climb the kerb")
    chain.given("g_n", STANDARD_GRAVITY, "m/s**2", "standard gravity")
    chain.given("r_w", spec.wheel_radius, "m", "radius of the wheel")
    chain.given("h_k", spec.kerb, "m", "height of the kerb")
    chain.given("n_t", spec.times, "1", "for the jerk")
    formula = "n_t * m_t * g_n * sqrt(2 * r_w * h_k - h_k**2) / (r_w - h_k)"
    force = chain.step("F_k", formula, "N", f"pull aft at {spec.at} that takes the wheels over the kerb")
    return spec.at, np.array([-force, 0.0, 0.0]), chain.steps


def member_of(place: str) -> str:
    """The member that a place of the frame is on."""
    return parse_place(place).name
