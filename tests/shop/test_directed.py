from pathlib import Path

import pymupdf
import pytest

from soapstone.build import Build
from soapstone.shop.directed import with_way
from soapstone.shop.report import given_data, not_run, survey_data
from soapstone.shop.words import Words
from soapstone.survey.records import Plane, Reading, ReadingKind, coordinate_readings


def said(reading: Reading) -> str:
    return with_way(reading, reading.value, lambda value: f"{1000 * value:g} mm")


@pytest.mark.parametrize(
    ("kind", "value", "words"),
    [
        (ReadingKind.OFFSET, -0.332, "332 mm right"),
        (ReadingKind.OFFSET, 0.332, "332 mm left"),
        (ReadingKind.HEIGHT, 0.4, "400 mm"),
        (ReadingKind.HEIGHT, -0.4, "400 mm down"),
        (ReadingKind.LEVEL, -0.01, "10 mm down"),
        (ReadingKind.TAPE, 0.7, "700 mm"),
    ],
)
def test_the_sign_is_in_the_word(kind: ReadingKind, value: float, words: str) -> None:
    assert said(Reading(kind, ("A",), value, 0.001, "reading")) == words


def test_coordinates_go_by_their_axis() -> None:
    x, y, z = coordinate_readings("P", (-0.1, -0.2, 0.3), 0.001, "coordinates P")
    assert [said(reading) for reading in (x, y, z)] == ["100 mm aft", "200 mm right", "300 mm up"]


def test_a_plane_of_its_own_keeps_the_sign() -> None:
    tilted = Plane((0.0, 0.6, 0.8))
    assert said(Reading(ReadingKind.OFFSET, ("A",), -0.1, 0.001, "offset A", plane=tilted)) == "-100 mm"


def test_readings_of_the_example_stand_as_the_job_writes_them(heron: Build) -> None:
    rows = survey_data(heron.job, heron.survey, heron.layout, heron.placed, Words.of(heron.job.show))[
        "readings"
    ]
    read = {row["label"]: row["read"] for row in rows}
    assert read["offset FR"] == "13 in right"
    assert read["offset RR"].startswith("13-1/16 in")
    assert read["offset RR"].endswith("right")
    assert read["level U4 U2"].endswith("down")
    assert all(
        row["adjusted"].endswith(("left", "right")) for row in rows if row["label"].startswith("offset")
    )
    assert not any(row["read"].startswith(("-", "−")) for row in rows)


def test_what_the_job_does_not_run(heron: Build, packet: Path) -> None:
    wanted = ["one-wheel bump", "rebound", "longitudinal bump", "towing"]
    assert not_run(heron.job) == wanted
    text = " ".join("\n".join(page.get_text() for page in pymupdf.open(packet / "report.pdf")).split())
    assert "Not run, though the table has them: one-wheel bump, rebound, longitudinal bump, towing." in text
    assert "A, B, G, H: taken to be exactly where the job says" in text


def test_materials_tell_what_is_left_beside_a_weld(heron: Build) -> None:
    given = given_data(heron.job, heron.layout, heron.placed, heron.cases, Words.of(heron.job.show))
    rows = {row["name"]: row for row in given["materials"]}
    assert (rows["DOM 1020"]["weld_yield"], rows["DOM 1020"]["weld_ultimate"]) == ("35 ksi", "50 ksi")
    assert "mechanical test" in rows["DOM 1020"]["note"]
    assert rows["S355"]["weld_yield"] == "–"


def test_a_job_without_given_points_assumes_none(heron: Build) -> None:
    points = {name: point for name, point in heron.job.points.items() if point.at is None}
    job = heron.job.model_copy(update={"points": points})
    assert given_data(job, heron.layout, heron.placed, heron.cases, Words.of(job.show))["exact"] == []
