"""Load cases: what pulls on every kilogram, and what torque the unit's housing feels."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from soapstone.formula import Chain, Step
from soapstone.job.schema import Job
from soapstone.job.service import Case, Grip, Motor
from soapstone.tables import load_factor

Array = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition (3rd CGPM, 1901)."""


@dataclass(frozen=True)
class LoadCase:
    """One load case.

    Attributes
    ----------
    name : str
    pull : (3,) m/s², force on every kilogram, vehicle axes
    torque : (3,) N·m on the housing of `body`, vehicle axes
    body : str, empty where no torque acts
    because : how torque and pull come about
    source : of the factors
    assumed : every assumed value with its origin
    warmer : K by tube or hanger, or `all`, above the warmth at which it was bolted up
    moves : (3,) m by fork, what the vehicle does to it
    """

    name: str
    pull: Array
    torque: Array
    body: str
    because: tuple[Step, ...]
    source: str
    assumed: tuple[str, ...] = ()
    warmer: Mapping[str, float] = field(default_factory=dict)
    moves: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)


def load_cases(job: Job) -> tuple[LoadCase, ...]:
    """All cases of the job, in its order, a sideways one to both sides; pure."""
    cases: list[LoadCase] = []
    for name, spec in job.service.cases.items():
        case = from_table(name) if isinstance(spec, str) else spec
        if case.sideways == 0.0:
            cases.append(_case(job, name, case, 0.0))
        else:
            cases.append(_case(job, f"{name}, pulled to the left", case, -case.sideways))
            cases.append(_case(job, f"{name}, pulled to the right", case, case.sideways))
    return tuple(cases)


def _case(job: Job, name: str, case: Case, right: float) -> LoadCase:
    chain = Chain()
    g = chain.given("g", STANDARD_GRAVITY, "m/s**2", "standard gravity")
    chain.given("n_down", case.down, "1", "times weight, down")
    chain.given("n_forward", case.forward - case.aft, "1", "times weight, forward")
    chain.given("n_right", right, "1", "times weight, to the right")
    pull = g * np.array([case.forward - case.aft, -right, -case.down])
    torque, body, assumed = np.zeros(3), "", tuple[str, ...]()
    motor = job.service.motor
    if case.torque != "none" and motor is not None:
        torque, assumed = _housing_torque(chain, motor, job.service.grip, reverse=case.torque == "reverse")
        body = motor.body
    if case.warmer:
        assumed += ("what is hung, and the vehicle, keep their size while the frame grows warmer",)
    return LoadCase(
        name, pull, torque, body, chain.steps, case.source, assumed, dict(case.warmer), dict(case.moves)
    )


def from_table(name: str) -> Case:
    """The table's factors of that name, as a case."""
    row = load_factor(name)
    return Case.model_construct(
        down=row.vertical,
        aft=0.0,
        forward=row.fore_aft,
        sideways=row.lateral,
        torque="none",
        warmer={},
        moves={},
        source=row.source,
        note=None,
    )


def _housing_torque(
    chain: Chain, motor: Motor, grip: Grip | None, *, reverse: bool
) -> tuple[Array, tuple[str, ...]]:
    """Torque (3,) N·m on the housing.

    With the final drive inside, half-shafts leave the housing and it feels the wheels' torque turned
    round: nose up when driving forward. A longitudinal unit feels its output shaft's torque about the
    vehicle's length. Free body of the housing; no source needed beyond statics.
    """
    inside = motor.layout == "transverse, final drive inside"
    chain.given("T_m", motor.torque, "N*m", "motor torque")
    chain.given("i", motor.ratio, "1", "motor turns for one of the output")
    chain.given("eta", motor.efficiency, "1", "efficiency")
    formula, words = "T_m * i * eta", "torque that leaves the housing"
    if reverse:
        chain.given("k_r", motor.reverse, "1", "share of the motor's torque when it holds back")
        formula, words = "k_r * T_m * i / eta", "torque that comes in: the losses help the motor hold back"
    assumed: list[str] = []
    if grip is None:
        assumed.append("no grip given: the tyres are taken to hold any torque")
    else:
        chain.given("mu", grip.tyre, "1", "friction of tyre on road")
        chain.given("m_a", grip.mass_on_axle, "kg", "mass on the driven axle")
        chain.given("r", grip.rolling_radius, "m", "rolling radius")
        chain.given("i_f", 1.0 if inside else motor.final_drive, "1", "final drive outside the housing")
        chain.step("T_grip", "mu * m_a * g * r / i_f", "N*m", "what the tyres let through")
        formula = f"min({formula}, T_grip)"
    torque = chain.step("T", formula, "N*m", words)
    if reverse:
        torque = -torque
    if inside:
        return np.array([0.0, -torque, 0.0]), tuple(assumed)
    clockwise = motor.turns == "clockwise"
    if "turns" not in motor.model_fields_set:
        assumed.append("the output turns clockwise seen from in front (common practice, no source)")
    return np.array([torque if clockwise else -torque, 0.0, 0.0]), tuple(assumed)
