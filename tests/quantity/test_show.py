"""SI to text: nothing is rounded away in silence."""

import math

import pytest

from soapstone.errors import QuantityError
from soapstone.quantity import Kind, Show, parse

INCH = Show.of(
    {
        "length": "in 1/32",
        "force": "lbf",
        "torque": "lbf·ft",
        "mass": "lb",
        "stress": "ksi",
        "angle": "deg",
        "turn_stiffness": "lbf·ft/deg",
    }
)
METRIC = Show.of({})


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (23.4375, "23-7/16 in"),
        (23.4335, "23-7/16 in −0.004"),
        (23.4415, "23-7/16 in +0.004"),
        (23.43795, "23-7/16 in"),  # 0.00045 in left: below half a thousandth
        (23.43805, "23-7/16 in +0.001"),
        (-23.4335, "−23-7/16 in +0.004"),  # what is left is always to be added
        (0.4375, "7/16 in"),
        (12.0, "12 in"),
        (0.0, "0 in"),
        (-0.0, "0 in"),
        (0.004, "0 in +0.004"),
        (-0.004, "0 in −0.004"),
    ],
)
def test_inches_show_what_is_left(inches: float, text: str) -> None:
    value = inches * 0.0254
    assert INCH.text(value, Kind.LENGTH) == text
    assert INCH.plain(value, Kind.LENGTH) == text.replace(" in", "")


@pytest.mark.parametrize(
    ("style", "metres", "text"),
    [
        ("mm", 0.5953125, "595.3 mm"),
        ("mm", 0.0034, "3.4 mm"),
        ("mm", 0.00034, "0.34 mm"),
        ("mm", 0.0000034, "0.0034 mm"),
        ("mm", 1e-12, "0.0 mm"),
        ("mm", -1e-12, "0.0 mm"),
        ("mm", -0.5953125, "−595.3 mm"),
        ("mm 0.01", 0.5953125, "595.31 mm"),
        ("mm 0.01", 0.000001, "0.00 mm"),
        ("mm 0.5", 0.5953125, "595.5 mm"),
        ("mm 1", 0.5953125, "595 mm"),
        ("in 0.001", 0.5953125, "23.438 in"),
        ("in", 0.0254, "1.000 in"),
        ("m", 1.25, "1.250 m"),
        ("ft 1/16", 1.6129, "5 ft 3-1/2 in"),
        ("ft 1/16", 1.61295, "5 ft 3-1/2 in +0.002"),
        ("ft 1/16", -0.3048, "−1 ft 0 in"),
    ],
)
def test_length_styles(style: str, metres: float, text: str) -> None:
    assert Show.of({"length": style}).text(metres, Kind.LENGTH) == text


@pytest.mark.parametrize(
    ("show", "value", "kind", "text"),
    [
        (METRIC, 1234.4, Kind.FORCE, "1234 N"),
        (METRIC, 123456.0, Kind.FORCE, "123456 N"),
        (METRIC, 0.5, Kind.FORCE, "0.5 N"),
        (METRIC, -0.012344, Kind.FORCE, "−0.01234 N"),
        (METRIC, 1.2344e-9, Kind.FORCE, "1.234×10⁻⁹ N"),
        (METRIC, 0.0, Kind.FORCE, "0 N"),
        (METRIC, 92.0, Kind.MASS, "92 kg"),
        (METRIC, 2.5e8, Kind.STRESS, "250 MPa"),
        (METRIC, 0.0123, Kind.ANGLE, "0.70 deg"),
        (METRIC, 9.80665, Kind.ACCELERATION, "1 g"),
        (METRIC, 9.3, Kind.NUMBER, "9.3"),
        (METRIC, 11.7e-6, Kind.EXPANSION, "11.7 µm/(m·K)"),
        (METRIC, math.inf, Kind.LENGTH, "∞ mm"),
        (INCH, -math.inf, Kind.LENGTH, "−∞ in"),
        (METRIC, math.nan, Kind.FORCE, "not a number N"),
        (INCH, 4.4482216152605, Kind.FORCE, "1 lbf"),
        (INCH, 310.0, Kind.TORQUE, "228.6 lbf·ft"),
        (INCH, 2.5e8, Kind.STRESS, "36.26 ksi"),
        (Show.of({"number": "%"}), 0.85, Kind.NUMBER, "85 %"),
        (Show.of({"angle": "mm/m"}), math.atan(0.012), Kind.ANGLE, "12.0 mm/m"),
        (Show.of({"angle": "in/ft 0.001"}), math.atan(1 / 96), Kind.ANGLE, "0.125 in/ft"),
    ],
)
def test_other_kinds(show: Show, value: float, kind: Kind, text: str) -> None:
    assert show.text(value, kind) == text


def test_the_label_of_a_column() -> None:
    assert INCH.unit(Kind.LENGTH) == "in"
    assert INCH.unit(Kind.TURN_STIFFNESS) == "lbf·ft/deg"
    assert METRIC.unit(Kind.TORQUE) == "N·m"
    assert METRIC.plain(0.5953125, Kind.LENGTH) == "595.3"


@pytest.mark.parametrize(
    ("style", "metres", "text"),
    [
        ("in 1/32", 0.5953125, "23-7/16 in"),
        ("in 1/32", -0.5953125, "-23-7/16 in"),
        ("in 1/32", 0.5952109, "23.4335 in"),
        ("ft 1/16", 1.6129, "5 ft 3-1/2 in"),
        ("ft 1/16", 0.00001, "0.000032808398950131236 ft"),
        ("mm", 0.0015, "1.5 mm"),
        ("mm", 1e-30, "1e-27 mm"),
        ("mm", 0.0, "0 mm"),
    ],
)
def test_exact_text_is_the_plainest_that_comes_back(style: str, metres: float, text: str) -> None:
    assert Show.of({"length": style}).exact(metres, Kind.LENGTH) == text
    assert parse(text, Kind.LENGTH) == metres


def test_a_slope_goes_back_by_degrees() -> None:
    angle = parse("12 mm/m", Kind.ANGLE)
    text = Show.of({"angle": "mm/m"}).exact(angle, Kind.ANGLE)
    assert text.endswith(" deg")
    assert parse(text, Kind.ANGLE) == angle


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_there_is_no_exact_text_for_what_is_not_finite(value: float) -> None:
    with pytest.raises(QuantityError, match="not a finite number"):
        METRIC.exact(value, Kind.LENGTH)


@pytest.mark.parametrize(
    ("styles", "line"),
    [
        ({"lenght": "mm"}, "“lenght” is nothing that can be shown; one of length, mass, force"),
        ({"length": "kg"}, "“kg” is a mass, not a length; write it in mm, cm, m, in or ft"),
        ({"length": "1/32"}, "“1/32” has more behind its number than a unit"),
        ({"length": ""}, "“” names no unit of length; write one of mm, cm, m, in or ft"),
        ({"length": "mm 1/2"}, "“mm 1/2” asks for a fraction of a unit that is not divided that way"),
        ({"length": "mm 0.0"}, "“mm 0.0” asks for a step of zero; write in 1/32 or mm 0.1"),
        ({"length": "in 1/0"}, "“in 1/0” has no unit of length that is known here ('in 1/0')"),
        ({"number": "mm"}, "“mm” is no way to show a plain number; leave it empty or write %"),
        ({"force": "lb"}, "“lb” is a mass, not a force"),
    ],
)
def test_styles_that_cannot_be_shown(styles: dict[str, str], line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        Show.of(styles)
    assert str(caught.value).startswith(line)
