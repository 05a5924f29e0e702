"""Load cases against hand calculations of the housing's free body."""

import numpy as np
import pytest

from soapstone.job.schema import Job
from soapstone.job.service import Case, Grip, Motor, Service
from soapstone.place.loads import STANDARD_GRAVITY, from_table, load_cases

MOTOR = {
    "body": "unit",
    "torque": "400 N·m",
    "ratio": "3.5",
    "layout": "transverse, final drive inside",
    "efficiency": "1",
    "shock": "1",
}
GRIP = {"mass on axle": "900 kg", "tyre": "0.9", "rolling radius": "300 mm"}
CASES = {
    "pull": {"torque": "drive", "source": "test"},
    "hold back": {"torque": "reverse", "source": "test"},
    "swerve": {"down": "2", "aft": "0.5", "sideways": "1", "source": "test"},
}


def cases(heron_job: Job, motor: dict[str, str], grip: dict[str, str] | None):  # type: ignore[no-untyped-def]
    service = Service(
        motor=Motor.model_validate(motor),
        grip=None if grip is None else Grip.model_validate(grip),
        cases={name: Case.model_validate(case) for name, case in CASES.items()},
    )
    return {case.name: case for case in load_cases(heron_job.model_copy(update={"service": service}))}


def test_the_motor_alone(heron_job: Job) -> None:
    """400 N·m through 3.5: 1400 N·m on the housing, nose up."""
    found = cases(heron_job, MOTOR, None)["pull"]
    assert np.allclose(found.torque, [0.0, -1400.0, 0.0], rtol=1e-12)
    assert found.body == "unit" and any("grip" in note for note in found.assumed)


def test_the_tyres_let_through_less(heron_job: Job) -> None:
    slipping = MOTOR | {"ratio": "30"}
    found = cases(heron_job, slipping, GRIP)["pull"]
    assert found.torque[1] == pytest.approx(-0.9 * 900 * STANDARD_GRAVITY * 0.3, rel=1e-12)
    assert not found.assumed


def test_holding_back_turns_it_round(heron_job: Job) -> None:
    found = cases(heron_job, MOTOR | {"reverse": "0.6", "efficiency": "0.9"}, GRIP)["hold back"]
    # the wheels drive the unit, so its losses add to what the motor holds
    assert found.torque[1] == pytest.approx(0.6 * 1400.0 / 0.9, rel=1e-12)


def test_a_longitudinal_unit_rolls(heron_job: Job) -> None:
    """Turning clockwise seen from in front, the shaft's turn points aft; the housing rolls left side up."""
    along = MOTOR | {"layout": "longitudinal", "final drive": "4", "turns": "clockwise"}
    found = cases(heron_job, along, GRIP)["pull"]
    assert found.torque[0] == pytest.approx(0.9 * 900 * STANDARD_GRAVITY * 0.3 / 4, rel=1e-12)
    assert not found.assumed
    silent = {key: value for key, value in along.items() if key != "turns"}
    assert any("clockwise" in note for note in cases(heron_job, silent, GRIP)["pull"].assumed)
    other = cases(heron_job, along | {"turns": "counter-clockwise"}, GRIP)["pull"]
    assert other.torque[0] == -found.torque[0] and not other.assumed


def test_a_sideways_case_acts_to_both_sides(heron_job: Job) -> None:
    found = cases(heron_job, MOTOR, GRIP)
    g = STANDARD_GRAVITY
    assert np.allclose(found["swerve, pulled to the left"].pull, [-0.5 * g, g, -2 * g], rtol=1e-12)
    assert np.allclose(found["swerve, pulled to the right"].pull, [-0.5 * g, -g, -2 * g], rtol=1e-12)


def test_a_case_from_the_table_keeps_its_source() -> None:
    bump = from_table("bump")
    assert bump.down == 3.0 and bump.source


def test_the_example_has_every_case_once(heron_job: Job) -> None:
    names = [case.name for case in load_cases(heron_job)]
    assert len(set(names)) == len(names) == 10  # eight, two of them to both sides
