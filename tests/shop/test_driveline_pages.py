"""The report's pages on where the drivetrain sits and on its shafts: what they say, and that they print."""

from pathlib import Path
from typing import Any

import numpy as np
import pymupdf
import pytest

from soapstone.build import Build, build
from soapstone.job.load import load_text
from soapstone.shop.curves import Curve, curves, ticks
from soapstone.shop.packet import write_packet
from soapstone.shop.seat_page import seat_data
from soapstone.shop.shaft_page import shaft_data
from soapstone.shop.words import Words

UNIT = (Path(__file__).parents[1] / "place" / "unit.yaml").read_text(encoding="utf-8")
RIGID = """propeller shafts:
  main: {from: unit.output, axis: crank, coupling: rigid, along: [C1, C2], flange: 100 mm, speed: 900 rpm,
    bar: 30 mm, of: S355, read: {offset: 0.04 mm, rim gap: 0.05 mm}}
"""


def made(*edits: tuple[str, str]) -> Build:
    text = UNIT
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return build(load_text(text, Path()))


@pytest.fixture(scope="module")
def unit() -> Build:
    return made()


def seat(found: Build) -> dict[str, Any]:
    words = Words.of(found.job.show)
    (one,) = seat_data(found.job, tuple(found.placed.values()), found.driveline.jacked, words)
    return one


def shafts(found: Build) -> dict[str, Any]:
    return shaft_data(found.job, found.survey, found.placed, found.driveline)


def test_the_page_says_where_it_sits(unit: Build) -> None:
    page = seat(unit)
    assert page["possible"] and page["free"] == [] and page["missing"] == []
    targets = {row["name"]: row for row in page["targets"]}
    assert targets["crank level"]["wanted"] == targets["crank level"]["sits"] == "level"
    assert targets["heading of crank"]["sits"] == "0.00°"
    assert targets["output up and down"]["wanted"] == "300.0 mm"
    assert [row["verdict"] for row in page["targets"]] == ["holds"] * 6
    limits = {row["name"]: row for row in page["limits"]}
    assert limits["gap of sump to ground"] == {
        "name": "gap of sump to ground",
        "limit": "at least 110.0 mm",
        "room": "10.0 mm",
        "verdict": "holds",
    }
    (face,) = page["faces"]  # the pad has no angle
    assert face == {"name": "lid", "reads": "1.50° nose down", "axis": "crank", "runs": "level"}
    moved = next(row for row in page["points"] if row["name"] == "output")
    assert moved["moves"] == "+20.0, −10.0, +10.0" and moved["along"] == "300.0 mm aft"


def test_the_play_table_goes_both_ways(unit: Build) -> None:
    ways = {row["way"]: row for row in seat(unit)["plays"]}
    assert list(ways)[:2] == ["forward", "aft"] and "left side down" in ways and "turned right" in ways
    assert ways["down"]["far"] == "10.0 mm" and ways["down"]["by"] == "gap of sump to ground"
    assert ways["up"]["far"] == "more than 50.0 mm" and ways["up"]["by"] == "nothing"
    assert ways["up"]["near"] == "3.0 mm" and ways["nose up"]["near"] == "0.10°"


def test_the_screws_are_told(unit: Build) -> None:
    jacks = seat(unit)["jacks"]
    assert [row["name"] for row in jacks["rows"]] == ["front left", "front right", "rear"]
    assert jacks["rows"][0]["way"] == "clockwise" and jacks["rows"][2]["way"] == "counter-clockwise"
    assert jacks["hand"] == ["shift it 20.0 mm forward by hand", "shift it 10.0 mm right by hand"]
    bare = seat(made(("rear: {point: c, pitch: 1.75 mm, raises: counter-clockwise}", "rear: {point: c}")))
    assert bare["jacks"]["rows"][2]["turns"] == "–"
    two = seat(made(("    rear: {point: c, pitch: 1.75 mm, raises: counter-clockwise}\n", "")))
    assert "tips over" in two["jacks"]["trouble"] and two["jacks"]["rows"] == []


def test_the_half_shaft_table(unit: Build) -> None:
    (half,) = shafts(unit)["halves"]
    assert [row["name"] for row in half["rows"]] == ["droop", "ride height", "bump"]
    assert half["rows"][1]["plunge"] == "0.0" and half["rows"][0]["inner"] == "10.2"
    assert "what to make it" in half["length"] and "outer joint: 45.0°" in half["limits"]


def test_the_propeller_shaft_table(unit: Build) -> None:
    (line,) = shafts(unit)["jointed"]
    assert line["rows"][0]["angles"] == ["1.83", "1.83"] and line["rows"][0]["left"] == "0.00"
    assert line["speed"] == "4000 rpm" and line["phases"] == "in phase (assumed)"
    wave = next(stroke for stroke in line["wave"]["lines"] if len(stroke["points"]) > 100)
    assert len(wave["points"]) == 721


def pages(found: Build, folder: Path) -> list[str]:
    write_packet(found, folder / "packet")
    with pymupdf.open(folder / "packet" / "report.pdf") as report:
        return [page.get_text() for page in report]


def test_the_pages_print(unit: Build, tmp_path: Path) -> None:
    text = pages(unit, tmp_path)
    sits = next(page for page in text if page.startswith("Where the drivetrain sits"))
    for words in ("flange axis level", "Free play", "gap of sump to ground", "Screws", "counter-clockwise"):
        assert words in sits
    shaft = next(page for page in text if page.startswith("Shafts"))
    for words in ("Half-shaft left", "droop", "plunge", "Propeller shaft main", "behind the last"):
        assert words in shaft


def test_what_does_not_go_prints_too(tmp_path: Path) -> None:
    """Limits that fight, a face of unknown angle, two jacks, and a coupling read by gauge."""
    main = UNIT[UNIT.index("propeller shafts:\n") : UNIT.index("stock:\n")]
    found = made(
        (
            "{clear: ground, at least: 110 mm}",
            "{clear: ground, at least: 210 mm}\n      - {clear: bonnet, at least: 70 mm}",
        ),
        (
            "{level: crank, within: 0.1 deg}",
            "{level: pad}\n      - {level: crank, between: [1 deg nose up, 1 deg nose down]}",
        ),
        ("    rear: {point: c, pitch: 1.75 mm, raises: counter-clockwise}\n", ""),
        (main, RIGID),
    )
    page = seat(found)
    assert not page["possible"] and sorted(page["fights"]) == [
        "gap of casing to bonnet",
        "gap of sump to ground",
    ]
    assert page["plays"] == [] and page["missing"] == [
        "pad level: " + "measure how pad lies to crank, and give it as the face's angle"
    ]
    assert any(row["limit"] == "1.00° nose down to 1.00° nose up" for row in page["limits"])
    (coupling,) = shafts(found)["rigid"]
    assert "offset 0.04 mm" in coupling["read"] and coupling["rows"][0][2] == "0.00 mm"
    text = "\n".join(pages(found, tmp_path))
    for words in (
        "No place keeps all the limits",
        "tips over",
        "Rigid coupling of main",
        "measure how pad lies",
    ):
        assert words in text


def test_a_job_without_them_has_no_such_pages(heron: Build) -> None:
    assert (
        seat_data(heron.job, tuple(heron.placed.values()), heron.driveline.jacked, Words.of(heron.job.show))
        == []
    )
    assert shafts(heron) == {"halves": [], "jointed": [], "rigid": []}


def test_a_curve_lies_where_its_numbers_say() -> None:
    x = np.array([0.0, 10.0])
    picture = curves([Curve("up", x, 2.0 * x)], "x", "y", (100.0, 60.0), limits=[15.0, 1000.0])
    dashed = [stroke for stroke in picture["lines"] if stroke["stroke"] == "dashed"]
    (line,) = [stroke for stroke in picture["lines"] if stroke["stroke"] == "thick"]
    assert len(dashed) == 1  # the far limit is left out
    (start, end), level = line["points"], dashed[0]["points"][0][1]
    assert (level - start[1]) / (end[1] - start[1]) == pytest.approx(0.75)
    inside = [
        0 <= value <= size
        for stroke in picture["lines"]
        for p in stroke["points"]
        for value, size in zip(p, (100, 60), strict=True)
    ]
    assert all(inside)


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.0, 1.0, [0.0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        (-80.0, 80.0, [-50.0, 0.0, 50.0]),
        (9.75, 10.25, [9.8, 9.9, 10.0, 10.1, 10.2]),
    ],
)
def test_ticks_are_round(low: float, high: float, expected: list[float]) -> None:
    assert ticks(low, high) == pytest.approx(expected)


def test_a_level_line_still_has_an_axis() -> None:
    flat = curves([Curve("", np.array([0.0, 1.0]), np.zeros(2))], "x", "y", (90.0, 50.0))
    assert any(label["text"] == "0" for label in flat["labels"])
