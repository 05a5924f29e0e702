"""A unit moves on its mounts, and its shafts with it."""

from pathlib import Path

import numpy as np
import pytest

from soapstone.build import Build, build
from soapstone.finding import Finding, Verdict
from soapstone.job.load import load_text
from soapstone.job.service import Running
from soapstone.place.placed import place_bodies
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.place.stage import driveline, driveline_findings
from soapstone.place.swayed import STILL, farthest, in_each_case, shifted, worst_of
from soapstone.strength.envelope import shaking_speeds
from soapstone.survey import adjust
from soapstone.survey.of_job import network_of

# a unit at the origin of its own, its flange's axis across, a half-shaft of 400 mm straight to the left
JOB = """
soapstone: 1
title: A unit and two shafts (invented)
datum: {origin: the unit, state: on its wheels, measured on: wheels, aboard: nothing}
points: {datum: {at: [0 mm fwd, 0 mm left, 0 mm up]}}
bodies:
  unit:
    mass: 50 kg
    centre: [0 mm, 0 mm, 0 mm]
    points: {left: [0 mm fwd, 100 mm left, 0 mm up], tail: [300 mm aft, 0 mm left, 0 mm up]}
    axes: {across: across, along: along}
place: {unit: {point: left, at: [0 mm fwd, 100 mm left, 0 mm up]}}
half shafts:
  left:
    from: unit.left
    axis: across
    inner: {angle: 20 deg, closes: 10 mm, opens: 10 mm}
    outer: {angle: 20 deg}
    hub: {positions: [{name: ride, travel: 0 mm, at: [0 mm fwd, 500 mm left, 0 mm up], axis: across}]}
propeller shafts:
  main:
    from: unit.tail
    axis: along
    along: [[1300 mm aft, 0 mm left, 0 mm up]]
    pinion: [[1300 mm aft, 0 mm left, 0 mm up], [1600 mm aft, 0 mm left, 0 mm up]]
    speed: 2000 rpm
    tube: 60 x 2 mm
    of: E235+N
  stern:
    from: unit.tail
    axis: along
    coupling: rigid
    along: [[1300 mm aft, 0 mm left, 0 mm up], [1600 mm aft, 0 mm left, 0 mm up]]
    speed: 1400 rpm
    bar: 30 mm
    of: "304"
    flange: 100 mm
service: {cases: {own weight: from table}}
"""

RIGHT = Pose(np.eye(3), np.array([0.0, -0.006, 0.0]))
NOSE_DOWN = Pose(rotation_from_vector(np.array([0.0, 0.02, 0.0])), np.zeros(3))
YAW = Pose(rotation_from_vector(np.array([0.0, 0.0, 0.05])), np.zeros(3))


def found(**poses: Pose) -> dict[str, Finding]:
    job = load_text(JOB, Path())
    survey = adjust(network_of(job))
    placed = place_bodies(job, survey)
    shafts = driveline(job, survey, placed)
    findings = driveline_findings(job, survey, placed, shafts, {"unit": poses} if poses else STILL)
    assert len({one.id for one in findings}) == len(findings)
    return {one.id: one for one in findings}


def test_bolted_down_nothing_moves() -> None:
    still = found()
    assert still["half-shaft-plunge:left.apart"].demand == pytest.approx(0.0, abs=1e-12)
    assert still["half-shaft-plunge:left.apart"].case == "ride"
    assert "or a mount" in still["half-shaft-plunge:left.apart"].caution
    assert "on its mounts" not in still["shaft-alignment:stern.offset"].caution


def test_a_unit_that_shifts_pulls_its_shaft_apart() -> None:
    """6 mm to the right of a shaft on the left: 6 mm apart, counted from where the unit stands at rest."""
    moved = found(braking=RIGHT)
    apart, together = moved["half-shaft-plunge:left.apart"], moved["half-shaft-plunge:left.together"]
    assert apart.demand == pytest.approx(0.006, rel=1e-12)
    assert apart.case == "braking: ride"
    assert together.demand == pytest.approx(0.0, abs=1e-12) and together.case == "ride"
    assert "a mount" not in apart.caution


def test_a_unit_that_turns_bends_its_joints() -> None:
    """Turned 0.05 rad, the inner joint at 100 mm goes 100 sin aft, and the shaft leans over from there."""
    inner = found(torque=YAW)["half-shaft-angle:left.inner"]
    lean = np.arctan2(0.1 * np.sin(0.05), 0.5 - 0.1 * np.cos(0.05))
    assert inner.demand == pytest.approx(0.05 + lean, rel=1e-12)
    assert inner.case == "torque: ride"


def test_the_worst_of_all_cases_is_told() -> None:
    both = found(small=Pose(np.eye(3), np.array([0.0, -0.002, 0.0])), large=RIGHT, other=NOSE_DOWN)
    assert both["half-shaft-plunge:left.apart"].case == "large: ride"


def test_a_propeller_shaft_follows() -> None:
    """Nose down by 0.02 rad lifts the tail 300 mm behind by 300 sin: the joint there stands both angles."""
    joint = found(torque=NOSE_DOWN)["joint-angle:main.joint 1"]
    lean = np.arctan2(0.3 * np.sin(0.02), 1.3 - 0.3 * np.cos(0.02))
    assert joint.demand == pytest.approx(0.02 + lean, rel=1e-12)
    assert joint.case == "torque"


def test_a_rigid_coupling_is_judged_at_rest_and_told_how_far_its_flange_moves() -> None:
    offset = found(braking=RIGHT)["shaft-alignment:stern.offset"]
    assert offset.verdict is Verdict.HOLDS and offset.demand == pytest.approx(0.0, abs=1e-12)
    assert "6.0 mm on its mounts (braking)" in offset.caution


def test_a_body_that_is_nowhere_does_not_move() -> None:
    assert in_each_case("unit.left", {}, {"unit": {"braking": RIGHT}}) == {}
    assert farthest("unit.left", {}, STILL) is None


def test_shifted_points_go_with_the_pose() -> None:
    job = load_text(JOB, Path())
    body = place_bodies(job, adjust(network_of(job)))["unit"]
    there = shifted(body, YAW)
    own = np.array(job.bodies["unit"].points["tail"])
    assert there.pose.apply(own) == pytest.approx(there.points["tail"], abs=1e-15)
    assert there.centre == pytest.approx(there.pose.apply(np.zeros(3)), abs=1e-15)


def test_what_is_asked_for_stays_asked_for() -> None:
    asked = Finding("half-shaft-angle:a", "a", "c", Verdict.OPEN, remedy="give it")
    assert worst_of((asked,), {"case": (asked,)}) == (asked,)


@pytest.fixture(scope="module")
def boat() -> Build:
    return build(load_text((Path(__file__).parents[1] / "boat.yaml").read_text(encoding="utf-8"), Path()))


def test_speeds_that_shake_a_unit_are_kept_clear_of(boat: Build) -> None:
    """Three cylinders of four strokes shake one and a half times a turn; a name used twice stays two."""
    assert {name: spec.shakes for name, spec in shaking_speeds(boat.job.service).items()} == {"idle": 1.5}
    both = boat.job.service.model_copy(update={"running": {"idle": Running.model_construct(shakes=1.0)}})
    assert {name: spec.shakes for name, spec in shaking_speeds(both).items()} == {
        "idle": 1.0,
        "idle shaking": 1.5,
    }


def test_rubber_shakes_as_stiff_as_it_then_is(boat: Build) -> None:
    """Mounts on a support without give: 1.3 times as stiff throughout but for the one side's supports."""
    stiff = {row: spring.stiffness for row, spring in enumerate(boat.idealised.frame.springs)}
    shaken = {row: spring.stiffness for row, spring in enumerate(boat.idealised.shaken_frame.springs)}
    row = boat.idealised.springs["front_left"]
    assert shaken[row] == pytest.approx(1.3 * stiff[row])
