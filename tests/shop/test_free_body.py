"""Free bodies on paper: what is drawn balances, and turns the way it should."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.shop.free_body import FreeBodyPicture, _joined, free_bodies, free_body_data
from soapstone.shop.mounts import mounts_data
from soapstone.shop.words import Words

MOTOR = (
    'torque: 230 N·m, ratio: 9.3, efficiency: 0.97, layout: "transverse, final drive inside", reverse: 0.6'
)
LAYOUTS = {
    "transverse": MOTOR,
    "transaxle": MOTOR.replace("transverse", "longitudinal"),
    "longitudinal": MOTOR.replace('"transverse, final drive inside"', "longitudinal, final drive: 2.9"),
}


def pictures(answer: Build, name: str) -> dict[str, FreeBodyPicture]:
    found = free_bodies(answer.layout, answer.placed, answer.cases, answer.rubber.get(name), name)
    return {picture.case.name: picture for picture in found}


def left_over(answer: Build, name: str, picture: FreeBodyPicture) -> np.ndarray:
    """Sum of everything drawn, (6,) N and N·m about the centre of mass."""
    centre = answer.placed[name].centre
    total = np.zeros(6)
    for action in picture.actions:
        total[:3] += action.force
        total[3:] += action.moment + np.cross(action.place - centre, action.force)
    for mount, force in picture.answers.items():
        total[:3] += force
        total[3:] += np.cross(picture.places[mount] - centre, force)
    return total


@pytest.fixture(scope="module", params=LAYOUTS)
def drawn(request: pytest.FixtureRequest, changed: Callable[..., Build]) -> tuple[str, Build]:
    layout: str = request.param
    return layout, changed((MOTOR, LAYOUTS[layout]))


def test_three_layouts_drawn(drawn: tuple[str, Build]) -> None:
    """Both ways of each layout; the sums are exact to 1e-9, the torque is the hand's."""
    layout, answer = drawn
    found = pictures(answer, "drive_unit")
    assert set(found) == {"full torque", "holding back"}
    wheels = min(230 * 9.3 * 0.97, 0.9 * 900 * 9.80665 * 0.3 / (2.9 if layout == "longitudinal" else 1.0))
    for picture in found.values():
        assert np.abs(left_over(answer, "drive_unit", picture)).max() < 1e-9 * wheels
    total = np.sum([action.moment for action in found["full torque"].actions], axis=0)
    by_hand = [wheels, 0, 0] if layout == "longitudinal" else [0, -wheels, 0]
    assert total == pytest.approx(by_hand, rel=1e-9)


def test_the_arrows_turn_the_right_way(drawn: tuple[str, Build]) -> None:
    """From the left, front at the left, nose up turns clockwise; from in front, a clockwise shaft turns the
    housing the other way.
    """
    layout, answer = drawn
    words = Words.of(answer.job.show)
    picture = pictures(answer, "drive_unit")["full torque"]
    (data,) = free_body_data(answer.job, answer.placed["drive_unit"], picture, words)
    arc = next(line["points"] for line in data["drawing"]["lines"] if len(line["points"]) == 37)
    turned = signed_turn(np.array(arc))
    if layout == "longitudinal":
        assert data["view"] == "from in front" and turned > 0
    else:
        assert data["view"] == "from the left" and turned < 0
    assert ("stays inside the housing" in data["said"]) == (layout == "transaxle")
    assert answer.job.service.motor is not None and answer.job.service.motor.layout in data["said"]


def signed_turn(points: np.ndarray) -> float:
    """Above zero for counter-clockwise."""
    arms = points - points.mean(axis=0)
    return float(np.sum(arms[:-1, 0] * arms[1:, 1] - arms[:-1, 1] * arms[1:, 0]))


def test_brakes_and_rubber(soft_heron: Build) -> None:
    found = pictures(soft_heron, "drive_unit")
    assert set(found) == {"towed over a kerb", "braking inboard", "holding back"}
    for picture in found.values():
        assert np.abs(left_over(soft_heron, "drive_unit", picture)).max() < 1e-9 * 2400
    stopping = found["braking inboard"]
    assert sum(action.moment[1] for action in stopping.actions) > 0  # nose down


def test_a_propeller_has_a_view_for_each_telling_axis(boat: Build) -> None:
    found = pictures(boat, "engine")
    # ahead and astern act by the same names: the harder of them is drawn
    assert list(found) == ["full ahead"]
    assert np.abs(left_over(boat, "engine", found["full ahead"])).max() < 1e-9 * 3200
    data = free_body_data(boat.job, boat.placed["engine"], found["full ahead"], Words.of(boat.job.show))
    assert [one["view"] for one in data] == ["from in front", "from the left"]
    for one in data:
        inside(one["drawing"])


def inside(drawing: dict[str, Any]) -> None:
    for line in drawing["lines"]:
        points = np.array(line["points"])
        assert points.min() >= 0.0
        assert (points <= [drawing["width"], drawing["height"]]).all()


def test_everything_is_on_the_paper(soft_heron: Build, heron: Build) -> None:
    for answer in (soft_heron, heron):
        data = mounts_data(answer, Words.of(answer.job.show))
        assert data["free_bodies"]
        for one in data["free_bodies"]:
            inside(one["drawing"])


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["a", "a"], "a"),
        (["mount_front left", "mount_front right"], "mount_front left and right"),
        (["hanger_front_left", "hanger_rear_left"], "hanger front_left and rear_left"),
        (["thrust", "shaft"], "thrust and shaft"),
    ],
)
def test_names_together(names: list[str], said: str) -> None:
    assert _joined(names) == said
