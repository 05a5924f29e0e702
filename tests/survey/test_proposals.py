"""What a job should measure next, with the unit and the obstacles in a tape's way."""

from collections.abc import Callable

import numpy as np

from soapstone.build import Build
from soapstone.survey.proposals import WANTED

Changed = Callable[..., Build]


def test_nothing_is_asked_for_where_all_is_known(heron: Build) -> None:
    half = [
        2.795 * np.sqrt(np.linalg.eigvalsh(heron.survey.covariance_of(n))[-1]) for n in heron.survey.names
    ]
    assert max(half) < WANTED and heron.next_readings == ()


def test_a_point_short_of_readings_is_helped(changed: Changed) -> None:
    build = changed(("  - tape A FL: 6-11/16 in\n", ""), ("  - offset FL: 13-1/16 in left\n", ""))
    assert build.finding("point:FL").verdict.value == "short"
    assert build.next_readings and "FL" in build.next_readings[0].reading.points
    assert build.next_readings[-1].brings["FL"] <= WANTED
