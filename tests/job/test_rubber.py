"""Faults of mounts and of what acts on a unit: each one line that says what would be right."""

from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job.load import load_text


def told(text: str, *edits: tuple[str, str]) -> str:
    for old, new in edits:
        assert text.count(old) == 1, (old, text.count(old))
        text = text.replace(old, new)
    with pytest.raises(JobError) as refused:
        load_text(text, Path())
    return str(refused.value)


STIFF = "stiffness: {along: 400 N/mm, across: [250 N/mm, 120 N/mm], source: data sheet}"
FRONT = "front_left: {carries: engine.foot_3, on: stringer_left, " + STIFF


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (STIFF, f"{STIFF}, rubber: {{hardness: 50, round: 40 x 25 mm}}", "one of rubber or stiffness"),
        (STIFF, "rubber: {hardness: 20, round: 40 x 25 mm}", "hardness 20 is known; the table runs from 30"),
        (STIFF, "rubber: {hardness: 50}", "one of round or block"),
        (STIFF, "rubber: {hardness: 50, round: 40 x 30 x 25 mm}", "round has a diameter and a thickness"),
        ("across: [250 N/mm, 120 N/mm]", "across: [250 N/mm]", "one stiffness belongs here or a list of two"),
        ("across: [250 N/mm, 120 N/mm]", "across: 0 N/mm", "must be more than nothing"),
        (
            "front_left: {carries: engine.foot_3, on:",
            "front_left: {at: x, on:",
            "either at with a hanger, or carries",
        ),
        ("carries: engine.foot_3, on:", "carries: engine.foot_9, on:", "'foot_9' is no point of engine"),
        ("on: stringer_left, stiff", "on: stringer, stiff", "'stringer' is not in supports"),
        (
            "source: like boxes of its parts}",
            "box: 1 x 1 x 1 m, source: x}",
            "either box, or roll, pitch and yaw",
        ),
        ("roll: 9 kg·m², pitch: 22 kg·m²", "roll: 9 kg·m², pitch: 99 kg·m²", "no body has such an inertia"),
        ("body: engine, aft: tube", "body: motor, aft: tube", "'motor' is not in bodies"),
        ("aft: tube", "aft: stern", "'stern' is not in points"),
        ("torque: 60 N·m, about", "about", "one of torque or force belongs here"),
        (
            "with: [thrust ahead], source: bollard pull}",
            "with: [belts], source: x}",
            "service.belts is missing, so there is no belts",
        ),
        (
            "with: [thrust astern]",
            "with: [thrust ahead, thrust astern]",
            "does not push ahead and astern at once",
        ),
        ("with: [thrust astern]", "with: [brakes]", "there are none"),
        ("with: [thrust astern]", "with: [lift]", "service.lift is missing"),
        ("with: [thrust astern]", "with: [reverse]", "'reverse' is no choice here"),
    ],
)
def test_one_line_each(boat_text: str, old: str, new: str, said: str) -> None:
    assert said in told(boat_text, (old, new))


def test_a_propeller_and_a_motor_do_not_count_twice(boat_text: str) -> None:
    motor = "  motor: {body: engine, torque: 100 N·m, ratio: 2, layout: longitudinal}\n  propeller:"
    twice = "full ahead: {torque: drive, with"
    said = told(boat_text, ("  propeller:", motor), ("full ahead: {with", twice))
    assert "it counts twice" in said


@pytest.mark.parametrize(
    ("motor", "said"),
    [
        ("ratio: 2, gear: 3, layout: longitudinal", "one of ratio or gear"),
        (
            'ratio: 2, final drive: 3, layout: "transverse, final drive inside"',
            "ratio holds the final drive inside already",
        ),
        ("ratio: 2, efficiency: 1.2, layout: longitudinal", "an efficiency is not above 1"),
        ("ratio: 2, flanges: [output, output], layout: longitudinal", "one for a propeller shaft"),
        ("ratio: 2, flanges: [nose], layout: longitudinal", "'nose' is no point of engine"),
    ],
)
def test_motors(boat_text: str, motor: str, said: str) -> None:
    spec = f"  motor: {{body: engine, torque: 100 N·m, {motor}}}\n  propeller:"
    assert said in told(boat_text, ("  propeller:", spec))


HANGER = "carries: drive_unit.boss_1, plate: 10 mm S355, width: 70 mm, bolt: M12 8.8}"
BELT = "belts: {a: {radius: 1 mm, other: A, other radius: 1 mm, tight: 1 N, turns: up, "
MOUNT = "{stiffness: {along: 1 N/mm, across: 1 N/mm, source: x}, at: "


@pytest.mark.parametrize(
    ("mounts", "said"),
    [
        (f"  a: {MOUNT}hanger_front_left}}", "hanger_front_right holds it without"),
        (f"  a: {MOUNT}hanger_front_left}}\n  b: {MOUNT}hanger_front_left}}", "has the mount a already"),
        (f"  a: {MOUNT}hanger_front}}", "'hanger_front' is not in hangers"),
        (f"  FL: {MOUNT}hanger_front_left}}", "stands in points too"),
    ],
)
def test_mounts_in_hangers(heron_text: str, mounts: str, said: str) -> None:
    assert said in told(heron_text, ("\nwelds:\n", f"\nmounts:\n{mounts}\n\nwelds:\n"))


def test_a_hanger_without_a_bolt_carries_no_mount(heron_text: str) -> None:
    mounts = f"\nmounts:\n  a: {MOUNT}hanger_front_left}}\n\nwelds:\n"
    said = told(heron_text, ("\nwelds:\n", mounts), (HANGER, HANGER.replace(", bolt: M12 8.8", "")))
    assert "has no bolt" in said


@pytest.mark.parametrize(
    ("joint", "said"),
    [
        ("at: middle, axis: across, mass: 50 kg", "'middle' is no point of drive_unit"),
        ("at: flange_left, axis: across, mass: 92 kg", "no heavier than the whole"),
        ("at: flange_left, axis: across, mass: 50 kg, mounts: [m]", "'m' is not in mounts"),
    ],
)
def test_joints(heron_text: str, joint: str, said: str) -> None:
    accuracy = "    point accuracy: 0.3 mm\n"
    spec = f"{accuracy}    joint: {{{joint}, centre: [0 mm fwd, 0 mm left, 0 mm up]}}\n"
    assert said in told(heron_text, (accuracy, spec))


@pytest.mark.parametrize(
    ("service", "said"),
    [
        ("lift: {at: cross_2 start, mass: 1 kg, times: 1}", "a hook sits along a tube"),
        ("lift: {at: cross_9 middle, mass: 1 kg, times: 1}", "'cross_9'"),
        (
            "tow: {at: cross_2 middle, mass: 1 kg, times: 1, wheel radius: 100 mm, kerb: 100 mm}",
            "as high as its axle",
        ),
        (
            f"{BELT}pulley: drive_unit.nose, slack: 1 N}}}}",
            "'nose' is no point of drive_unit",
        ),
        (
            f"{BELT}pulley: drive_unit.boss_1, slack: 2 N}}}}",
            "the slack strand pulls harder",
        ),
        ("shaking: {a: {body: unit, speed: 900 rpm, force: 1 N, about: up}}", "'unit' is not in bodies"),
    ],
)
def test_what_acts(heron_text: str, service: str, said: str) -> None:
    assert said in told(heron_text, ("\n  cases:\n", f"\n  {service}\n  cases:\n"))
