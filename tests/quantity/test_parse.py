"""Single quantities: the field's spellings, the refusals, and their exact lines."""

import math
from fractions import Fraction

import pytest

from soapstone.errors import QuantityError
from soapstone.quantity import UNITS_FOR, Kind, parse

# Every value here is the exact product of the number and the defined unit (inch 25.4 mm, pound 0.45359237 kg,
# standard gravity 9.80665 m/s²), so the double must be the very one Python reads from the decimal text.
LENGTHS = {
    # what a carpenter writes
    "5' 3-1/2\"": "1.6129",
    "4'2-1/4\"": "1.27635",
    "4'2.3\"": "1.27762",
    "6 ft 9 in": "2.0574",
    "60 ft 1 in": "18.3134",
    "5'-3 1/2\"": "1.6129",
    "5' - 3-1/2\"": "1.6129",
    "5’ 3-1/2”": "1.6129",
    "5′ 3½″": "1.6129",
    "5' 3-1/2''": "1.6129",
    "6ft9in": "2.0574",
    "-5' 3-1/2\"": "-1.6129",
    "6'": "1.8288",
    "5' 1⁄2\"": "1.5367",
    # pasted from a page or typed on a phone
    "2½ in": "0.0635",
    "2 ½ in": "0.0635",
    "2-½ in": "0.0635",
    "1¼ in": "0.03175",
    '¾"': "0.01905",
    "1 1⁄4 in": "0.03175",
    "1⁷⁄₁₆ in": "0.0365125",
    "11⁄4 in": "0.06985",
    "23\u20117/16 in": "0.5953125",
    "12\u00a0mm": "0.012",
    "12\u2009mm": "0.012",
    "12\tmm": "0.012",
    "1\u20091/4 in": "0.03175",
    # fractions
    "23-7/16 in": "0.5953125",
    "23 7/16 in": "0.5953125",
    '7/16"': "0.0111125",
    "-3/4 in": "-0.01905",
    "−3/4 in": "-0.01905",
    "17/16 in": "0.0269875",
    # the comma
    "1,5 mm": "0.0015",
    "1,23 mm": "0.00123",
    "1.234,5 mm": "1.2345",
    "1,234.5 mm": "1.2345",
    "0,125 in": "0.003175",
    "1234,567 mm": "1.234567",
    "1\u2009234 mm": "1.234",
    "1\u202f234,5 mm": "1.2345",
    # plain
    "12 mm": "0.012",
    "12mm": "0.012",
    ".120 in": "0.003048",
    "12 in.": "0.3048",
    "1.2 m": "1.2",
    "+3 cm": "0.03",
    "5 µm": "0.000005",
    "5 μm": "0.000005",
    "12 IN": "0.3048",
    "1e3 mm": "1",
    "0 mm": "0",
    # gauges, in their printed inches
    "11 ga steel": "0.00303784",
    "16 ga steel": "0.00151892",
    "16 ga aluminium": "0.00129032",
    "16 ga aluminum": "0.00129032",
    "16 ga stainless": "0.0015875",
    "16 gauge stainless steel": "0.0015875",
    "11 BWG": "0.003048",
    "BWG 16": "0.001651",
}

OTHERS = [
    ("92 kg", Kind.MASS, 92.0),
    ("12 lb", Kind.MASS, 5.44310844),
    ("12 g", Kind.MASS, 0.012),
    ("1.5 kN", Kind.FORCE, 1500.0),
    ("1e3 N", Kind.FORCE, 1000.0),
    ("12 lbf", Kind.FORCE, 53.378659383126),
    ("100 kgf", Kind.FORCE, 980.665),
    ("310 N·m", Kind.TORQUE, 310.0),
    ("310 N*m", Kind.TORQUE, 310.0),
    ("310 Nm", Kind.TORQUE, 310.0),
    ("310 N m", Kind.TORQUE, 310.0),
    ("310 N⋅m", Kind.TORQUE, 310.0),
    ("250 lbf·ft", Kind.TORQUE, 338.9544870828501),
    ("250 ft-lb", Kind.TORQUE, 338.9544870828501),
    ("120 lbf·in", Kind.TORQUE, 13.558179483314003),
    ("2 kNm", Kind.TORQUE, 2000.0),
    ("355 MPa", Kind.STRESS, 355e6),
    ("355 N/mm²", Kind.STRESS, 355e6),
    ("355 N/mm2", Kind.STRESS, 355e6),
    ("355 N/mm^2", Kind.STRESS, 355e6),
    ("210 GPa", Kind.STRESS, 210e9),
    ("50 ksi", Kind.STRESS, 344737864.6584181),
    ("50 lbf/in²", Kind.STRESS, 344737.8646584181),
    ("50 psi", Kind.STRESS, 344737.8646584181),
    ("90 km/h", Kind.SPEED, 25.0),
    ("10 mph", Kind.SPEED, 4.4704),
    ("3 m/s", Kind.SPEED, 3.0),
    ("3000 rpm", Kind.ROTATION, 100 * math.pi),
    ("3 rad/s", Kind.ROTATION, 3.0),
    ("0.8 g", Kind.ACCELERATION, 7.84532),
    ("9.8 m/s²", Kind.ACCELERATION, 9.8),
    ("9.8 m/s**2", Kind.ACCELERATION, 9.8),
    ("9.8 m s⁻²", Kind.ACCELERATION, 9.8),
    ("9.8 m s^-2", Kind.ACCELERATION, 9.8),
    ("450 N/mm", Kind.STIFFNESS, 450e3),
    ("1.2 kN/m", Kind.STIFFNESS, 1200.0),
    ("100 lbf/in", Kind.STIFFNESS, 17512.683524647637),
    ("100 lbf per in", Kind.STIFFNESS, 17512.683524647637),
    ("5 N·m/rad", Kind.TURN_STIFFNESS, 5.0),
    ("180 N·m/deg", Kind.TURN_STIFFNESS, 180 * 180 / math.pi),
    ("7850 kg/m³", Kind.DENSITY, 7850.0),
    ("7.85e3 kg/m3", Kind.DENSITY, 7850.0),
    ("7.85 g/cm³", Kind.DENSITY, 7850.0),
    ("0.5 kg·m²", Kind.INERTIA, 0.5),
    ("5000 kg·cm²", Kind.INERTIA, 0.5),
    ("75 kW", Kind.POWER, 75000.0),
    ("100 hp", Kind.POWER, 74569.98715822702),
    ("200 ms", Kind.TIME, 0.2),
    ("2 min", Kind.TIME, 120.0),
    ("0.9", Kind.NUMBER, 0.9),
    ("9,3", Kind.NUMBER, 9.3),
    ("3/4", Kind.NUMBER, 0.75),
    ("1-3/4", Kind.NUMBER, 1.75),
    ("85 %", Kind.NUMBER, 0.85),
    ("-2", Kind.NUMBER, -2.0),
    ("0123", Kind.NUMBER, 123.0),
    ("11.7 µm/(m·K)", Kind.EXPANSION, 11.7e-6),
    ("11.7e-6 1/K", Kind.EXPANSION, 11.7e-6),
    ("11.7e-6 /°C", Kind.EXPANSION, 11.7e-6),
    ("6.5e-6 in/(in·°F)", Kind.EXPANSION, 11.7e-6),
    ("180 deg", Kind.ANGLE, math.pi),
    ("90°", Kind.ANGLE, math.pi / 2),
    ("0.5 rad", Kind.ANGLE, 0.5),
    ("4°30'", Kind.ANGLE, math.radians(4.5)),
    ("4° 30′", Kind.ANGLE, math.radians(4.5)),
    ("4 deg 30 min", Kind.ANGLE, math.radians(4.5)),
    ("-4°30'36\"", Kind.ANGLE, -math.radians(4.51)),
    ("12 mm/m", Kind.ANGLE, math.atan(0.012)),
    ("1/8 in/ft", Kind.ANGLE, math.atan(1 / 96)),
    ('1/8" per ft', Kind.ANGLE, math.atan(1 / 96)),
    ("1:12", Kind.ANGLE, math.atan(1 / 12)),
    ("-1:12", Kind.ANGLE, -math.atan(1 / 12)),
]


@pytest.mark.parametrize(("text", "metres"), LENGTHS.items())
def test_a_length_is_the_nearest_double_to_its_exact_value(text: str, metres: str) -> None:
    assert parse(text, Kind.LENGTH) == float(metres)


@pytest.mark.parametrize(("text", "kind", "expected"), OTHERS)
def test_other_kinds(text: str, kind: Kind, expected: float) -> None:
    # exact on our side; the expected values themselves went through one or two roundings in Python
    assert parse(text, kind) == pytest.approx(expected, rel=4e-16, abs=0)


def test_a_slope_of_one_in_twelve_in_degrees() -> None:
    assert round(math.degrees(parse("1:12", Kind.ANGLE)), 4) == 4.7636


def test_every_unit_that_is_offered_can_be_read() -> None:
    for kind, units in UNITS_FOR.items():
        for unit in units:
            assert parse(f"3 {unit}", kind) > 0, (kind, unit)


BARE_LENGTH = "is a bare number; write {0} mm, {0} cm, {0} m, {0} in or {0} ft"
LENGTH_UNITS = "write it in mm, cm, m, in or ft"
REFUSED = [
    ("12", Kind.LENGTH, BARE_LENGTH.format("12")),
    ("0", Kind.LENGTH, BARE_LENGTH.format("0")),
    ("7/16", Kind.LENGTH, BARE_LENGTH.format("7/16")),
    ("", Kind.LENGTH, "is empty; write a length, in mm, cm, m, in or ft"),
    ("1e3", Kind.FORCE, "is a bare number; write 1e3 N, 1e3 kN, 1e3 lbf or 1e3 kgf"),
    ("1e3", Kind.NUMBER, "has an exponent; write the number in full"),
    (
        "12:30",
        Kind.NUMBER,
        "is not a plain number; write a number without a unit, such as 0.9, 3/4 or 90 %",
    ),
    ("12:30", Kind.LENGTH, f"has more behind its number than a unit (':30'); {LENGTH_UNITS}"),
    ("1:0", Kind.ANGLE, "divides by zero"),
    (
        "1,234 mm",
        Kind.LENGTH,
        "has a comma that can be read two ways; write 1.234 or 1234, whichever is meant",
    ),
    (
        "1,234,567 mm",
        Kind.LENGTH,
        "has a comma that can be read two ways; write 1234567, whichever is meant",
    ),
    ("1.2.3 mm", Kind.LENGTH, "has dots or commas that make no number; write it like 1234.5"),
    ("12. mm", Kind.LENGTH, "has dots or commas that make no number; write it like 1234.5"),
    ("1--2", Kind.LENGTH, f"has more behind its number than a unit ('--2'); {LENGTH_UNITS}"),
    ("1 234 mm", Kind.LENGTH, f"has more behind its number than a unit ('234 mm'); {LENGTH_UNITS}"),
    ("23−7/16 in", Kind.LENGTH, f"has more behind its number than a unit ('−7/16 in'); {LENGTH_UNITS}"),
    ("½2 in", Kind.LENGTH, f"has more behind its number than a unit ('2 in'); {LENGTH_UNITS}"),
    ("1/0 in", Kind.LENGTH, "divides by zero"),
    (
        "2-5/4 in",
        Kind.LENGTH,
        "has a whole number in front of a fraction that is not less than one",
    ),
    ("nan mm", Kind.LENGTH, "does not begin with a number"),
    ("inf", Kind.LENGTH, "does not begin with a number"),
    ("- 5 mm", Kind.LENGTH, "does not begin with a number"),
    ("٣ mm", Kind.LENGTH, "does not begin with a number"),
    ("1e400 N", Kind.FORCE, "is too large a number"),
    ("1e-400 N", Kind.FORCE, "is too small a number"),
    ("12 kg", Kind.LENGTH, f"is a mass, not a length; {LENGTH_UNITS}"),
    ("12 mm", Kind.ANGLE, "is a length, not an angle; write it in deg, rad, mm/m or in/ft"),
    ("12 furlong", Kind.LENGTH, f"has no unit of length that is known here ('furlong'); {LENGTH_UNITS}"),
    ("12 barn", Kind.LENGTH, f"has no unit of length that is known here ('barn'); {LENGTH_UNITS}"),
    ("12 mm~1", Kind.LENGTH, f"has no unit of length that is known here ('mm~1'); {LENGTH_UNITS}"),
    (
        "12 lb",
        Kind.FORCE,
        "is a mass, not a force; a force is written lbf or kgf; write it in N, kN, lbf or kgf",
    ),
    ("12 lbf", Kind.MASS, "is a force, not a mass; write it in kg, g or lb"),
    (
        "450 lb/in",
        Kind.STIFFNESS,
        "has a unit (lb/in) that is not a stiffness; a force is written lbf or kgf;"
        " write it in N/mm, kN/m or lbf/in",
    ),
    (
        "12 kg·m",
        Kind.TORQUE,
        "has a unit (kg·m) that is not a torque; a force is written lbf or kgf;"
        " write it in N·m, lbf·ft or lbf·in",
    ),
    (
        "12 N·m",
        Kind.TURN_STIFFNESS,
        "is a torque, not a turn stiffness; write it in N·m/deg, N·m/rad or lbf·ft/deg",
    ),
    (
        "12 g",
        Kind.FORCE,
        "is a mass, not a force; a force is written lbf or kgf; write it in N, kN, lbf or kgf",
    ),
    ("5' 3", Kind.LENGTH, "leaves open what follows the feet; write 5 ft 3 in"),
    (
        "5' 14\"",
        Kind.LENGTH,
        "has 12 in or more behind the feet; write it all in inches or in ft and in",
    ),
    ("4°75'", Kind.ANGLE, "has 60 or more minutes or seconds; write the angle as decimal degrees"),
    ("12 mm/kg", Kind.ANGLE, "has a unit (mm/kg) that is not an angle; write it in deg, rad, mm/m or in/ft"),
    (
        "11 ga",
        Kind.LENGTH,
        "is a gauge without its metal; which metal is it? write 11 ga steel, 11 ga stainless or"
        " 11 ga aluminium for sheet, 11 BWG for a tube wall",
    ),
    (
        "11 ga copper",
        Kind.LENGTH,
        "is a gauge of 'copper', for which there is no table; write 11 ga steel, 11 ga stainless or"
        " 11 ga aluminium for sheet, 11 BWG for a tube wall, or the thickness",
    ),
    ("45 ga steel", Kind.LENGTH, "is outside the gauge table of steel (3 to 30); write the thickness"),
    ("11 swg", Kind.LENGTH, f"has no unit of length that is known here ('swg'); {LENGTH_UNITS}"),
]


@pytest.mark.parametrize(("text", "kind", "line"), REFUSED)
def test_what_is_refused_is_quoted_with_the_way_out(text: str, kind: Kind, line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    assert str(caught.value) == f"“{text}” {line}"


def test_a_message_stays_on_one_line_and_short() -> None:
    with pytest.raises(QuantityError) as caught:
        parse("12\nmm", Kind.LENGTH)
    assert "\n" not in str(caught.value)
    assert "“12\\nmm”" in str(caught.value)
    with pytest.raises(QuantityError, match="too long"):
        parse("9" * 100_000 + " mm", Kind.LENGTH)
    with pytest.raises(QuantityError, match="…” is too long") as caught:
        parse("1" * 501, Kind.LENGTH)
    assert len(str(caught.value)) < 150


def test_a_long_number_is_still_rounded_once() -> None:
    digits = "0." + "1234567890" * 20
    assert parse(f"{digits} mm", Kind.LENGTH) == float(Fraction(digits) / 1000)
