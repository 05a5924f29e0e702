"""Direction words, positions, levels, accuracies and stock sizes."""

import math

import pytest

from soapstone.errors import QuantityError
from soapstone.quantity import (
    parse_accuracy,
    parse_directed,
    parse_directed_angle,
    parse_position,
    parse_sizes,
)


@pytest.mark.parametrize(
    ("text", "axis", "metres"),
    [
        ("14-1/8 in up", 2, 0.358775),
        ("14-1/8 in down", 2, -0.358775),
        ("100 mm forward", 0, 0.1),
        ("100 mm fwd", 0, 0.1),
        ("100 mm aft", 0, -0.1),
        ("100 mm back", 0, -0.1),
        ("16-1/2 in left", 1, 0.4191),
        ("16-1/2 in Right", 1, -0.4191),
        ('14"up', 2, 0.3556),
        ("11 ga steel up", 2, 0.00303784),
    ],
)
def test_a_word_carries_the_sign(text: str, axis: int, metres: float) -> None:
    assert parse_directed(text) == (axis, metres)


def test_zero_aft_has_no_minus() -> None:
    assert math.copysign(1, parse_directed("0 in aft")[1]) == 1


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("14 in", "has no direction word; add forward or aft, left or right, up or down"),
        ("14 in inboard", "has no direction word; add forward or aft, left or right, up or down"),
        ("-14 in up", "has a sign as well as a direction word; leave one of them out"),
        ("14 up", "is a bare number; write 14 mm, 14 cm, 14 m, 14 in or 14 ft"),
        ("up", "is empty; write a length, in mm, cm, m, in or ft"),
    ],
)
def test_a_directed_length_that_is_none(text: str, line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_directed(text)
    assert str(caught.value) == f"“{text}” {line}"


def test_positions() -> None:
    expected = (0.0, 0.4191, 0.3048)
    assert parse_position(["0 in aft", "16-1/2 in left", "12 in up"]) == expected
    assert parse_position(["12 in up", "0 in fwd", "16-1/2 in left"]) == expected
    assert parse_position(["0 mm", "16-1/2 in", "1 ft"]) == expected
    assert parse_position(["-1 m", "2 m", "-3 in"]) == (-1.0, 2.0, -0.0762)


@pytest.mark.parametrize(
    ("parts", "line"),
    [
        (
            ["0 in", "16-1/2 in left", "12 in up"],
            "“0 in” has no direction word, though the other parts have one;"
            " add forward or aft, left or right, up or down",
        ),
        (["0 in aft"], "“0 in aft” does not say how far left or right and up or down"),
        (["0 in aft", "12 in up"], "“0 in aft, 12 in up” does not say how far left or right"),
        (
            ["0 in aft", "1 in fwd", "12 in up"],
            "“0 in aft, 1 in fwd, 12 in up” gives forward or aft twice",
        ),
        (
            ["1 mm", "2 mm"],
            "“1 mm, 2 mm” is not a position; three lengths are needed: x forward, y left, z up",
        ),
        (
            ["1 mm", "2 mm", "3"],
            "“3” is a bare number; write 3 mm, 3 cm, 3 m, 3 in or 3 ft",
        ),
        ([], "“” is not a position; three lengths are needed: x forward, y left, z up"),
    ],
)
def test_a_position_that_is_none(parts: list[str], line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_position(parts)
    assert str(caught.value) == line


@pytest.mark.parametrize(
    ("text", "radians"),
    [
        ("0.2 deg up", math.radians(0.2)),
        ("0.2 deg down", -math.radians(0.2)),
        ("12 mm/m down", -math.atan(0.012)),
        ("1/8 in/ft up", math.atan(1 / 96)),
        ("0.2°", math.radians(0.2)),
        ("-0.2°", -math.radians(0.2)),
    ],
)
def test_levels(text: str, radians: float) -> None:
    assert parse_directed_angle(text) == pytest.approx(radians, rel=4e-16)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("0.2 deg left", "is no level reading; say up or down, from the first point to the second"),
        ("-0.2 deg up", "has a sign as well as a direction word; leave one of them out"),
        ("0.2 up", "is a bare number; write 0.2 deg, 0.2 rad, 0.2 mm/m or 0.2 in/ft"),
    ],
)
def test_a_level_that_is_none(text: str, line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_directed_angle(text)
    assert str(caught.value) == f"“{text}” {line}"


@pytest.mark.parametrize(
    ("text", "fixed", "growing"),
    [
        ("1 mm + 0.3 mm/m", 0.001, 0.0003),
        ("0.3 mm/m + 1 mm", 0.001, 0.0003),
        ("0.4 mm", 0.0004, 0.0),
        ("± 0.4 mm", 0.0004, 0.0),
        ("+/- 1/32 in", 0.00079375, 0.0),
        ("0.3 mm/m", 0.0, 0.0003),
        ("2 mm + 2 ppm", 0.002, 2e-6),
        ("2 mm + 0.05 %", 0.002, 0.0005),
        ("1e+0 mm+1 mm/m", 0.001, 0.001),
    ],
)
def test_accuracies(text: str, fixed: float, growing: float) -> None:
    assert parse_accuracy(text) == (fixed, growing)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("1 mm + 2 mm", "gives the same part of the accuracy twice; write it like 1 mm + 0.3 mm/m"),
        ("1 mm +", "leaves a part of the accuracy empty; write it like 1 mm + 0.3 mm/m"),
        ("-1 mm", "has a minus where an accuracy cannot"),
        ("0.1 deg", "is an angle, not a length; write it in mm, cm, m, in or ft"),
        ("1", "is a bare number; write 1 mm, 1 cm, 1 m, 1 in or 1 ft"),
    ],
)
def test_an_accuracy_that_is_none(text: str, line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_accuracy(text)
    assert str(caught.value) == f"“{text}” {line}"


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("1-1/4 in x 0.120 in", (0.03175, 0.003048)),
        ("1-1/2 in x 0.095 in", (0.0381, 0.002413)),
        ('1-1/2" × 0.095"', (0.0381, 0.002413)),
        ("1.25 x .120 in", (0.03175, 0.003048)),
        ("40 x 20 x 2 mm", (0.04, 0.02, 0.002)),
        ("40x20x2mm", (0.04, 0.02, 0.002)),
        ("40 mm x 20 mm x 2 mm", (0.04, 0.02, 0.002)),
        ("1-1/2 in x 11 BWG", (0.0381, 0.003048)),
        ("1-1/2 in x BWG 11", (0.0381, 0.003048)),
        ("1' 2\" x 11 ga steel", (0.3556, 0.00303784)),
        ("12 mm", (0.012,)),
    ],
)
def test_stock_sizes(text: str, metres: tuple[float, ...]) -> None:
    assert parse_sizes(text) == metres


NO_UNIT = (
    "has a size without a unit; write one behind each size, or one behind the last for all:"
    " mm, cm, m, in or ft"
)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("1.25 DOM x .120", NO_UNIT),
        ("40 x 20 x 2", NO_UNIT),
        ("1-1/4 in x .120", NO_UNIT),
        ("40 mm x 20 x 2 mm", NO_UNIT),
        ("1-1/2 x 11 BWG", NO_UNIT),
        ("40", NO_UNIT),
        (
            "1.25 DOM x .120 in",
            "has no unit of length that is known here ('DOM'); write it in mm, cm, m, in or ft",
        ),
        (
            "1-1/2 in sch 40 pipe",
            "is a pipe name, and pipe names are not outside sizes; write the outside diameter and the wall,"
            " such as 1.900 in x 0.145 in",
        ),
        ("40 x x 2 mm", "has an x with no size beside it"),
        ("40 x 0 mm", "has a size that is not greater than zero"),
        ("-40 x 2 mm", "has a size that is not greater than zero"),
        (
            "1-1/2 in x 11 ga",
            "is a gauge without its metal; which metal is it? write 11 ga steel, 11 ga stainless or"
            " 11 ga aluminium for sheet, 11 BWG for a tube wall",
        ),
    ],
)
def test_stock_sizes_that_are_none(text: str, line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_sizes(text)
    assert str(caught.value) == f"“{text}” {line}"
