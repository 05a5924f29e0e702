"""What the job says of motor, brakes, belts, propeller and hooks, against free bodies made by hand."""

from pathlib import Path

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import GeometryError, JobError
from soapstone.job.load import load_text
from soapstone.job.places import parse_place
from soapstone.place.actions import lifted, other_actions, shaft_reaction, towed
from soapstone.place.loads import STANDARD_GRAVITY, LoadCase, load_cases
from soapstone.place.placed import Placed, place_bodies
from soapstone.place.reaction import Drive, Flange, Layout, dragged_reaction
from soapstone.survey import adjust
from soapstone.survey.of_job import network_of

JOB = """
soapstone: 1
title: A unit for its loads alone (invented)
datum: {{origin: anywhere, state: standing}}
points:
  A: {{at: [0 mm fwd, 0 mm left, 0 mm up]}}
  P: {{at: [0 mm fwd, 0 mm left, 500 mm up]}}
bodies:
  unit:
    mass: 90 kg
    centre: [0 mm fwd, 0 mm left, 0 mm up]
    points: {{O: [0 mm fwd, 0 mm left, 0 mm up], left: [100 mm aft, 200 mm left, 0 mm up],
      right: [100 mm aft, 200 mm right, 0 mm up], pulley: [0 mm fwd, 0 mm left, 200 mm up]}}
place:
  unit: {{point: O, at: A}}
service:
  motor: {{body: unit, torque: 200 N·m, gear: 3.5, final drive: 4, efficiency: 0.95,
    final drive efficiency: 0.9, shock: 1.5, reverse: 0.6, layout: "{layout}", {more}}}
{rest}
  cases:
    pull: {{torque: drive, source: test}}
    hold: {{torque: reverse, source: test}}
{cases}
"""
HALVES = "flanges: [left, right]"


def case_of(
    name: str, layout: str = Layout.TRANSVERSE, more: str = HALVES, rest: str = "", cases: str = ""
) -> tuple[LoadCase, dict[str, Placed]]:
    job = load_text(JOB.format(layout=layout, more=more, rest=rest, cases=cases), Path())
    survey = adjust(network_of(job))
    placed = place_bodies(job, survey)
    points = {point: survey.point(point) for point in job.points}
    return next(case for case in load_cases(job, placed, points) if case.name == name), placed


WHEELS = 200 * 1.5 * 3.5 * 4
SHAFT = 200 * 1.5 * 3.5


@pytest.mark.parametrize(
    ("layout", "more", "pull", "hold"),
    [
        (
            Layout.TRANSVERSE,
            HALVES,
            (0.0, -WHEELS * 0.95 * 0.9, 0.0),
            (0.0, 0.6 * WHEELS / 0.95 / 0.9, 0.0),
        ),
        (
            Layout.TRANSAXLE,
            HALVES,
            (0.0, -WHEELS * 0.95 * 0.9, 0.0),
            (0.0, 0.6 * WHEELS / 0.95 / 0.9, 0.0),
        ),
        (
            Layout.LONGITUDINAL,
            "turns: clockwise",
            (SHAFT * 0.95, 0.0, 0.0),
            (-0.6 * SHAFT / 0.95, 0.0, 0.0),
        ),
        (
            Layout.LONGITUDINAL,
            "turns: counter-clockwise",
            (-SHAFT * 0.95, 0.0, 0.0),
            (0.6 * SHAFT / 0.95, 0.0, 0.0),
        ),
    ],
)
def test_three_layouts_by_the_job_s_keys(
    layout: str, more: str, pull: tuple[float, ...], hold: tuple[float, ...]
) -> None:
    """Driving multiplies by the efficiencies, holding back divides: losses add to what the wheels bring."""
    driving, placed = case_of("pull", layout, more)
    assert driving.wrench("unit", placed["unit"].centre) == pytest.approx([0, 0, 0, *pull], rel=1e-9)
    assert len(driving.shafts) == (1 if layout == Layout.LONGITUDINAL else 2)
    holding, _ = case_of("hold", layout, more)
    assert holding.torque == pytest.approx(hold, rel=1e-9)


GRIP = "  grip: {mass on axle: 400 kg, tyre: 0.8, rolling radius: 300 mm}"
HELD = 0.8 * 400 * STANDARD_GRAVITY * 0.3


def test_the_tyres_limit_at_the_right_shaft() -> None:
    """A final drive elsewhere passes its loss to the propeller shaft when driving, and takes it when held."""
    inside, _ = case_of("pull", rest=GRIP)
    assert inside.torque[1] == pytest.approx(-HELD, rel=1e-9)
    assert any("slipping tyres" in note for note in inside.assumed)
    along, _ = case_of("pull", Layout.LONGITUDINAL, "turns: clockwise", GRIP)
    assert along.torque[0] == pytest.approx(HELD / (4 * 0.9), rel=1e-9)
    back, _ = case_of("hold", Layout.LONGITUDINAL, "turns: clockwise", GRIP)
    assert back.torque[0] == pytest.approx(-HELD / 4 * 0.9, rel=1e-9)


def test_towed_backwards_with_the_wheels_locked() -> None:
    """The road pushes tyres that do not turn forward: nose up, as when driving, as hard as they hold."""
    cases = "    towed: {aft: 0.5, torque: towed back, source: test}"
    inside, _ = case_of("towed", rest=GRIP, cases=cases)
    assert inside.torque == pytest.approx([0, -HELD, 0], rel=1e-9) and inside.assumed == ()
    along, _ = case_of("towed", Layout.LONGITUDINAL, "turns: clockwise", GRIP, cases)
    assert along.torque == pytest.approx([HELD / 4 * 0.9, 0, 0], rel=1e-9)
    with pytest.raises(JobError, match="nothing else bounds a locked wheel"):
        case_of("towed", cases=cases)
    with pytest.raises(GeometryError, match="locked wheel"):
        dragged_reaction(Drive(Layout.TRANSVERSE, 1, 1, 1, 1, 1, 1), (Flange("f", np.zeros(3)),))


def test_brakes_on_the_housing() -> None:
    """Nose down, and no more than the road answers: each side half of the tyres' torque."""
    cases = "    stopping: {forward: 0.8, with: [brakes], source: test}"
    free, placed = case_of("stopping", rest="  brakes: {torque: 700 N·m}", cases=cases)
    assert free.wrench("unit", placed["unit"].centre) == pytest.approx([0, 0, 0, 0, 1400, 0], rel=1e-9)
    assert not free.torque.any() and any("any brake" in note for note in free.assumed)
    slipping, _ = case_of("stopping", rest=f"  brakes: {{torque: 700 N·m}}\n{GRIP}", cases=cases)
    assert slipping.wrench("unit", np.zeros(3))[4] == pytest.approx(HELD, rel=1e-9)
    assert [action.name for action in free.others["unit"].actions] == ["brake at left", "brake at right"]


def test_a_belt_pulls_at_its_pulley() -> None:
    """Equal pulleys 300 mm apart straight up: both strands pull up; the tight one is r aside."""
    belts = """  belts: {pump: {pulley: unit.pulley, radius: 50 mm, other: P, other radius: 50 mm,
    tight: 900 N, slack: 300 N, turns: along}}"""
    found, placed = case_of("belted", rest=belts, cases="    belted: {with: [belts], source: test}")
    wrench = found.wrench("unit", placed["unit"].centre)
    assert wrench[:3] == pytest.approx([0, 0, 1200.0], abs=1e-9)
    # the belt drags the pulley that drives it: against its turn about +x
    assert wrench[3] == pytest.approx(-(900 - 300) * 0.05, rel=1e-9)
    both, _ = case_of("both", rest=belts, cases="    both: {torque: drive, with: [belts], source: test}")
    assert both.wrench("unit", np.zeros(3))[4] == pytest.approx(-WHEELS * 0.95 * 0.9, rel=1e-9)


def test_thrust_and_torque_of_a_propeller(boat: Build) -> None:
    """Right-handed, going ahead: the engine is pushed ahead and turned left side down."""
    ahead = next(case for case in boat.cases if case.name == "full ahead")
    line = np.array([1.4, 0.0, 0.18]) / np.hypot(1.4, 0.18)
    coupling = boat.layout.points["coupling"]
    assert ahead.wrench("engine", coupling) == pytest.approx([*(3200 * line), *(-310 * line)], rel=1e-9)
    astern = next(case for case in boat.cases if case.name == "full astern")
    assert astern.wrench("engine", coupling) == pytest.approx(
        -0.7 * ahead.wrench("engine", coupling), rel=1e-9
    )
    assert astern.bodies == ("engine",) and astern.body == ""


def test_a_hoist_and_a_hook(soft_heron: Build) -> None:
    """A wheel of 300 mm over 100 mm: W sqrt(2 r h - h²) / (r - h)."""
    service = soft_heron.job.service
    assert service.lift is not None and service.tow is not None
    at, force, _ = lifted(service.lift)
    assert (at, force.tolist()) == ("cross_2 middle", pytest.approx([0, 0, 400 * STANDARD_GRAVITY * 1.2]))
    pull = 1.2 * 600 * STANDARD_GRAVITY * np.sqrt(0.3**2 - 0.2**2) / 0.2
    assert towed(service.tow)[1] == pytest.approx([-pull, 0, 0], rel=1e-12)
    assert parse_place(towed(service.tow)[0]).name == "cross_2"


def test_what_is_left_out_is_said() -> None:
    job = load_text(
        JOB.format(layout=Layout.LONGITUDINAL, more="", rest="", cases="")
        .replace("efficiency: 0.95,", "")
        .replace("final drive efficiency: 0.9, shock: 1.5, reverse: 0.6,", ""),
        Path(),
    )
    motor = job.service.motor
    assert motor is not None
    notes = " ".join(shaft_reaction(motor, None, {}, "reverse").assumed)
    for word in ("clockwise", "efficiency", "as much as driving", "shock", "grip"):
        assert word in notes
    assert other_actions(job, (), {}, {}) == {}
