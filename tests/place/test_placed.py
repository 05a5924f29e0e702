"""Bodies in their place, and what is said of it."""

from collections.abc import Callable

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.survey.of_job import network_of
from soapstone.survey.records import ReadingKind

Changed = Callable[..., Build]


def test_matched_points_sit_where_they_were_measured(heron: Build) -> None:
    body = heron.placed["drive_unit"]
    assert body.fit is not None and body.fit.rms < 0.003
    for own, point in (("boss_1", "U1"), ("boss_4", "U4")):
        assert np.linalg.norm(body.points[own] - heron.survey.point(point)) < 0.003
    assert np.linalg.det(body.pose.rotation) == pytest.approx(1.0, abs=1e-12)
    down = np.degrees(np.arcsin(-(body.pose.rotation @ [1.0, 0.0, 0.0])[2]))
    assert down == pytest.approx(1.0, abs=0.5)  # made with 1°; 0.4 m between bosses known to 1 mm or so


def test_left_taken_for_right_is_told(changed: Changed) -> None:
    """With a point off the plane of the bosses the mirror image fits better, and that is said."""
    build = changed(
        (
            "boss_1: U1, boss_2: U2, boss_3: U3, boss_4: U4",
            "boss_1: U2, boss_2: U1, boss_3: U4, boss_4: U3, top: UT",
        ),
        (
            "  # laid out from the tubes",
            "  UT: {at: [560 mm aft, 60 mm left, 520 mm up]}\n  # laid out from the tubes",
        ),
        ("      flange_left:", "      top: [3 mm aft, 68 mm left, 180 mm up]\n      flange_left:"),
    )
    told = build.finding("placed-sides:drive_unit")
    assert told and told.verdict is Verdict.SHORT and "exchanged" in told.remedy
    assert build.verdict is Verdict.SHORT


def test_a_body_goes_where_it_is_put(changed: Changed) -> None:
    build = changed(
        (
            "drive_unit: {match: {boss_1: U1, boss_2: U2, boss_3: U3, boss_4: U4}}",
            "drive_unit: {point: boss_1, at: U1, nose down: 1 deg, left up: 0.5 deg, turned left: 0 deg}",
        )
    )
    body = build.placed["drive_unit"]
    assert body.fit is None
    assert np.allclose(body.points["boss_1"], build.survey.point("U1"), atol=1e-12)
    across = body.points["boss_1"] - body.points["boss_2"]
    assert across[2] / np.linalg.norm(across) == pytest.approx(np.sin(np.radians(0.5)), abs=1e-4)


def test_a_body_goes_to_coordinates(changed: Changed) -> None:
    build = changed(
        (
            "drive_unit: {match: {boss_1: U1, boss_2: U2, boss_3: U3, boss_4: U4}}",
            "drive_unit: {point: boss_1, at: [355 mm aft, 144 mm left, 349 mm up]}",
        )
    )
    assert np.allclose(build.placed["drive_unit"].points["boss_1"], [-0.355, 0.144, 0.349], atol=1e-12)


def test_coordinates_become_three_readings(changed: Changed) -> None:
    build = changed(
        ("  - tape A FL:", "  - coordinates FL: [120 mm aft, 331 mm left, 372 mm up]\n  - tape A FL:"),
        ("  level:  {accuracy", "  coordinates: {accuracy: 1 mm}\n  level:  {accuracy"),
    )
    three = [r for r in network_of(build.job).readings if r.kind is ReadingKind.COORDINATE]
    assert [r.label for r in three] == [f"coordinates FL {axis}" for axis in "xyz"]
    assert [r.value for r in three] == pytest.approx([-0.120, 0.331, 0.372])
    assert all(r.sigma == pytest.approx(0.001) for r in three)


def test_flat_bosses_named_for_the_wrong_side_turn_the_unit_over(changed: Changed) -> None:
    """Four bosses in one plane fit as well with left and right exchanged: upside down, and that is said."""
    build = changed(
        (
            "boss_1: U1, boss_2: U2, boss_3: U3, boss_4: U4",
            "boss_1: U2, boss_2: U1, boss_3: U4, boss_4: U3",
        )
    )
    told = build.finding("placed-sides:drive_unit")
    assert np.linalg.det(build.placed["drive_unit"].pose.rotation) == pytest.approx(1.0, abs=1e-12)
    assert told and told.verdict is Verdict.SHORT and "upside down" in told.remedy
