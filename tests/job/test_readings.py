"""Readings to values and standard deviations, edges of holes to centres."""

import math
from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job import load, load_text, sigma_of, value_of

INCH = 0.0254


def test_values_in_si(folder: Path) -> None:
    values = [value_of(reading) for reading in load(folder).readings]
    exact = [
        41.875 * INCH,
        (52 + 13 / 32) * INCH,
        (9 + 13 / 32) * INCH,
        14.25 * INCH,
        math.radians(0.2),
        0.700,  # 715 less half of 13 and half of 17
        (-0.9, 0.36, 0.24),
    ]
    for value, wanted in zip(values, exact, strict=True):
        assert value == pytest.approx(wanted, rel=1e-14)


@pytest.mark.parametrize(
    ("kind", "text", "wanted"),
    [
        ("offset", "offset C: 2 in right", -2 * INCH),
        ("height", "height C: 2 in down", -2 * INCH),
        ("height", "height C: 2 in up", 2 * INCH),
        ("level", "level C D: 1 deg down", math.radians(-1)),
        ("level", "level C D: 1:12", math.atan(1 / 12)),
        ("plan", "plan C D: 1 m", 1.0),
    ],
)
def test_signs_and_words(kind: str, text: str, wanted: float, small: str, folder: Path) -> None:
    reading = load_text(small.replace("tape A C: 41-7/8 in", text), folder).readings[0]
    assert reading.kind == kind
    assert value_of(reading) == pytest.approx(wanted, rel=1e-14)


@pytest.mark.parametrize(
    "text",
    [
        "715 mm, far edge to far edge",
        "685 mm, near edge to near edge",
        "702 mm, near edge to far edge",  # 700 - 13/2 + 17/2
        "698 mm, far edge to near edge",  # both left edges, with C on the left
        "700 mm",
    ],
)
def test_holes_13_and_17_whose_centres_are_700_apart(text: str, small: str, folder: Path) -> None:
    reading = load_text(small.replace("715 mm, far edge to far edge", text), folder).readings[5]
    assert value_of(reading) == pytest.approx(0.7, rel=1e-14)


def test_sigma_of_a_tape_adds_the_step_in_quadrature(folder: Path) -> None:
    job = load(folder)
    step = INCH / 32 / math.sqrt(12)
    assert sigma_of(job.readings[0], job, 2.0) == pytest.approx(math.hypot(0.0016, step), rel=1e-14)
    assert sigma_of(job.readings[1], job, 2.0) == pytest.approx(math.hypot(0.002, step), rel=1e-14)


def test_sigma_of_a_level_is_an_angle(folder: Path) -> None:
    job = load(folder)
    wanted = math.radians(0.1) * math.hypot(1.0, 1 / math.sqrt(12))
    assert sigma_of(job.readings[4], job, 1.0) == pytest.approx(wanted, rel=1e-14)


def test_a_level_may_be_good_to_so_much_per_metre(small: str, folder: Path) -> None:
    text = small.replace("{accuracy: 0.1 deg, reads to: 0.1 deg}", "{accuracy: 0.5 mm/m}")
    job = load_text(text, folder)
    assert sigma_of(job.readings[4], job, 1.0) == pytest.approx(0.0005, rel=1e-12)


def test_own_instruments_come_before_the_tape(small: str, folder: Path) -> None:
    text = small.replace("  level: {", "  offset: {accuracy: 3 mm}\n  long: {accuracy: 5 mm}\n  level: {")
    text = text.replace("tape A C: 41-7/8 in", "tape A C: {read: 41-7/8 in, with: long}")
    job = load_text(text, folder)
    assert sigma_of(job.readings[0], job, 2.0) == 0.005
    assert sigma_of(job.readings[3], job, 2.0) == 0.003


def test_a_reading_with_its_own_accuracy_needs_no_instrument(small: str, folder: Path) -> None:
    text = small.replace("  height: {accuracy: 0.4 mm, reads to: 0.5 mm}\n", "")
    text = text.replace("height C: 9-13/32 in", "height C: {read: 9-13/32 in, accuracy: 0.7 mm}")
    job = load_text(text, folder)
    assert sigma_of(job.readings[2], job, 1.0) == 0.0007


@pytest.mark.parametrize(
    ("item", "says"),
    [
        ("{}", "readings.1: write a reading like tape A C: 41-7/8 in; keys stand there"),
        ("[a, b]", "readings.1: write a reading like tape A C: 41-7/8 in; a list stands there"),
        (
            "' ': 1 m",
            "readings. : '' is no kind of reading; there are: tape, plan, height, offset, level, "
            "coordinates, straight, flush",
        ),
        ("tape A C: [1 m, 2 m]", "readings.tape A C: one value belongs here, a list stands here"),
    ],
)
def test_odd_readings(item: str, says: str, small: str, folder: Path) -> None:
    with pytest.raises(JobError) as told:
        load_text(small.replace("- tape A C: 41-7/8 in", f"- {item}"), folder)
    assert told.value.faults == [f"job.yaml:19 {says}"]
