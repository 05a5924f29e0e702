import math

import numpy as np
import pytest

from soapstone.job.service import Show
from soapstone.parts.sections import FlatBar, RectangularTube, RoundBar, RoundTube
from soapstone.shop.words import Words, direction, millimetres

INCHES = Words.of(Show(length="in 1/32", mass="lb", force="lbf"))
METRIC = Words.of(Show())


@pytest.mark.parametrize(
    ("words", "metres", "text"),
    [
        (INCHES, 0.03175, "1-1/4 in"),
        (INCHES, 0.003048, "0.120 in"),
        (INCHES, 0.04, "40 mm"),
        (INCHES, 0.0381, "1-1/2 in"),
        (METRIC, 0.03175, "31.75 mm"),
        (METRIC, 0.04, "40 mm"),
    ],
)
def test_size(words: Words, metres: float, text: str) -> None:
    assert words.size(metres) == text


def test_sections() -> None:
    assert INCHES.section(RoundTube(0.03175, 0.003048)) == "round 1-1/4 in × 0.120 in"
    assert METRIC.section(RectangularTube(0.04, 0.06, 0.002, 0.004)) == "rectangular 40 mm × 60 mm × 2 mm"
    assert METRIC.section(RoundBar(0.025)) == "round bar 25 mm"
    assert METRIC.section(FlatBar(0.05, 0.006)) == "flat 50 mm × 6 mm"


def test_lengths_in_both_units() -> None:
    assert INCHES.both(0.5952109) == "23-7/16 in −0.004 (595.2 mm)"
    assert METRIC.both(0.5952) == "595.2 mm"
    assert INCHES.names == "in, lbf, lb; mm beside"
    assert METRIC.names == "mm, N, kg"


def test_sides_and_others() -> None:
    assert METRIC.side(-0.1, 0) == "100.0 mm aft"
    assert METRIC.side(0.1, 1) == "100.0 mm left"
    assert METRIC.degrees(math.radians(-12.34)) == "−12.3°"
    assert METRIC.angle(math.radians(1.5)) == "1.50 deg"
    assert METRIC.force(12.0).endswith(" N")
    assert METRIC.mass(2.5) == "2.5 kg"
    assert millimetres(-0.00001) == "0.0"
    assert millimetres(-0.0051) == "−5.1"


@pytest.mark.parametrize(
    ("vector", "text"),
    [((0, 0, 1), "up"), ((0, -2, 0), "right"), ((-1, 0, -0.9), "aft and down"), ((0.1, 1, 0), "left")],
)
def test_direction(vector: tuple[float, float, float], text: str) -> None:
    assert direction(np.array(vector, dtype=float)) == text
