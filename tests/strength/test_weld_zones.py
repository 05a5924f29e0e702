"""Softened metal: from where a weld really runs, and what happens when nobody says what a weld leaves."""

from collections.abc import Callable

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.strength.weld_zones import WELD_ZONE, forces_along, weld_zones
from soapstone.strength.work import Work

Changed = Callable[..., Build]


def work_of(built: Build) -> Work:
    return Work(built.job, built.layout, built.parts, built.idealised, built.solution)


def test_beside_a_bung_it_runs_25_mm_beyond_the_bungs_radius(heron: Build) -> None:
    zones = weld_zones(work_of(heron), heron.layout.tubes["side_left"])
    bung = heron.layout.forks["fork_front_left"].bung
    assert bung is not None
    # the tube meets its bung nearly square: the crown of the cope lies a bung's radius from the pin
    assert zones[0][1] == pytest.approx(bung.outside / 2 + WELD_ZONE, abs=1e-4)
    length = heron.layout.tubes["side_left"].length
    assert zones[1][0] == pytest.approx(length - bung.outside / 2 - WELD_ZONE, abs=1e-4)


def test_under_a_square_branch_it_is_the_branchs_width_and_25_mm_each_side(heron: Build) -> None:
    """cross_1 is a 40 mm tube that lands on side_left nearly square."""
    tube = heron.layout.tubes["side_left"]
    station = heron.layout.tubes["cross_1"].seats[0].station
    (zone,) = [z for z in weld_zones(work_of(heron), tube) if z[0] < station < z[1] and z[1] - z[0] < 0.0905]
    assert zone[0] == pytest.approx(station - 0.020 - WELD_ZONE, abs=3e-4)
    assert zone[1] == pytest.approx(station + 0.020 + WELD_ZONE, abs=3e-4)


def test_a_slanted_branch_has_a_longer_foot(heron: Build) -> None:
    """brace_left meets side_left at an angle: its foot is its diameter over the sine, shifted along."""
    tube, brace = heron.layout.tubes["side_left"], heron.layout.tubes["brace_left"]
    across = brace.section.outside_diameter
    sine = float(np.linalg.norm(np.cross(tube.axis, brace.axis)))
    zones = weld_zones(work_of(heron), tube)
    station = brace.seats[0].station
    feet = [z[1] - z[0] - 2 * WELD_ZONE for z in zones if z[0] < station < z[1]]
    # traced by rows round the tube, which miss the very tips by some micrometres
    assert any(foot == pytest.approx(across / sine, rel=1e-4) for foot in feet)


def test_a_hangers_foot_softens_its_tube(heron: Build) -> None:
    hanger = heron.layout.hangers["hanger_front_left"]
    zones = weld_zones(work_of(heron), heron.layout.tubes["cross_1"])
    assert any(z[0] < hanger.host.station < z[1] for z in zones)


def test_stations_stand_at_the_edges_of_every_zone(heron: Build) -> None:
    work, tube = work_of(heron), heron.layout.tubes["side_left"]
    zones = weld_zones(work, tube)
    stations, forces = forces_along(work, tube, zones)
    segments = work.segments("side_left")
    for edge in (edge for zone in zones for edge in zone):
        if segments[0].start < edge < segments[-1].end:
            assert np.abs(stations - edge).min() < 1e-12
    assert forces.shape[:2] == (len(work.cases), len(stations))
    assert (np.diff(stations) >= -1e-12).all()


OWN = (
    "stock:\n",
    "materials:\n  bought:\n    elastic modulus: 205 GPa\n    shear modulus: 79 GPa\n"
    "    density: 7850 kg/m3\n"
    "    yield: 480 MPa\n    ultimate: 550 MPa\n    source: certificateMORE\nstock:\n",
)
MAIN = ("main:  {tube: 1-3/4 in x 0.120 in, of: DOM 1020}", "main:  {tube: 1-3/4 in x 0.120 in, of: bought}")
TOLD = "\n    weld zone yield: 300 MPa\n    weld zone ultimate: 400 MPa"


def test_a_jobs_own_metal_is_open_beside_welds_until_it_says_what_they_leave(changed: Changed) -> None:
    built = changed((OWN[0], OWN[1].replace("MORE", "")), MAIN)
    for id, word in (
        ("member-stress:side_left", "yield"),
        ("member-buckling:side_left", "yield"),
        ("weld-wall:side_left start", "ultimate"),
    ):
        finding = built.finding(id)
        assert finding is not None
        assert finding.verdict is Verdict.OPEN
        assert f"give it weld zone {word}" in finding.remedy


def test_told_what_welds_leave_it_is_judged_by_that(changed: Changed) -> None:
    built = changed((OWN[0], OWN[1].replace("MORE", TOLD)), MAIN)
    stress, wall = built.finding("member-stress:side_left"), built.finding("weld-wall:side_left start")
    assert stress is not None
    assert wall is not None
    assert {step.value for step in stress.because if step.symbol == "f_y"} <= {300e6, 480e6}
    assert [step.value for step in wall.because if step.symbol == "F_u"] == [400e6]
