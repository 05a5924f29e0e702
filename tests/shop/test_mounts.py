"""The report's section on mounts and shaking says what the build holds."""

from soapstone.build import Build
from soapstone.shop.mounts import mounts_data
from soapstone.shop.words import Words


def test_a_unit_on_rubber(soft_heron: Build) -> None:
    data = mounts_data(soft_heron, Words.of(soft_heron.job.show))
    (unit,) = data["units"]
    assert [row["name"] for row in unit["mounts"]] == list(soft_heron.job.mounts)
    assert sum(float(row["weight"].rstrip(" %")) for row in unit["mounts"]) in (99, 100, 101)  # rounded each
    assert unit["mounts"][2]["stiffness"] == "320 / 80 / 60"
    assert 0.5 < float(unit["mounts"][0]["sag"]) < 1.5
    assert len(unit["modes"]) == 6 and "mostly" in unit["modes"][0]["words"]
    assert {row["name"] for row in unit["sways"]} == set(soft_heron.placed["drive_unit"].points)
    assert [row["held"] for row in unit["broken"]] == ["the others hold it"] * 4
    assert "steering_shaft" in unit["broken"][0]["nearest"] or "pipe" in unit["broken"][0]["nearest"]
    assert "off the motor's shaft" in unit["roll_axis"]
    assert [row["name"] for row in unit["shakes"]] == ["ripple", "idle"]
    assert "±" in data["whole"] and "exact" not in data["whole"]


def test_hangers_alone(heron: Build) -> None:
    data = mounts_data(heron, Words.of(heron.job.show))
    assert data["units"] == [] and len(data["held"]) == 4
    assert "counts as exact" in data["whole"]


def test_without_inertia_and_surroundings(boat: Build) -> None:
    from dataclasses import replace

    unit = boat.rubber["engine"]
    bare = replace(unit, modes=None, shaken=(), broken=tuple(replace(one, watched=()) for one in unit.broken))
    data = mounts_data(replace(boat, rubber={"engine": bare}, unit_modes=None), Words.of(boat.job.show))
    (said,) = data["units"]
    assert said["modes"] == [] and said["broken"][0]["nearest"] == "nothing is watched"
    assert said["roll_axis"] == "" and said["torque_case"] == "full ahead"


def test_the_boat_s_report_is_set(boat: Build) -> None:
    """The whole report of a job without tubes comes out as a page."""
    from soapstone.shop.assembly import things
    from soapstone.shop.cutlist import cut_rows
    from soapstone.shop.marks import marks_of
    from soapstone.shop.packet import _report

    words, marks = Words.of(boat.job.show), marks_of(boat.job)
    found = things(boat.job, boat.layout, boat.parts, boat.placed)
    rows = cut_rows(boat.job, boat.layout, boat.parts, found, marks, words)
    assert _report(boat, found, rows, marks, words).startswith(b"%PDF")
