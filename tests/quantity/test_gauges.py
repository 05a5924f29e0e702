"""The gauge tables against what is printed elsewhere, and against the rules behind them."""

from fractions import Fraction
from itertools import pairwise

import pytest

from soapstone.quantity import gauges

# Manufacturers' Standard Gauge for steel sheet, thickness in mm as printed in sheet-metal handbooks
STEEL_MM = {
    3: 6.073,
    7: 4.554,
    8: 4.176,
    10: 3.416,
    11: 3.038,
    12: 2.657,
    13: 2.278,
    14: 1.897,
    16: 1.519,
    18: 1.214,
    20: 0.912,
    22: 0.759,
    24: 0.607,
    26: 0.454,
    28: 0.378,
}
# the same, in inches
STEEL_IN = {
    7: "0.1793",
    10: "0.1345",
    11: "0.1196",
    12: "0.1046",
    14: "0.0747",
    16: "0.0598",
    18: "0.0478",
    20: "0.0359",
}
# BWG tube walls in inches: wall table of ASTM A513 as reproduced by tube suppliers
WALL_IN = dict(
    zip(
        (20, 19, 18, 16, 15, 14, 13, 12, 11, 10, 9),
        ["0.035", "0.042", "0.049", "0.065", "0.072", "0.083", "0.095", "0.109", "0.120", "0.134", "0.148"],
        strict=True,
    )
)


@pytest.mark.parametrize(("number", "millimetres"), STEEL_MM.items())
def test_steel_sheet_in_millimetres(number: int, millimetres: float) -> None:
    # printed to 0.001 mm from an inch value of four places: half a unit of both, 0.0005 + 0.0013 mm
    assert float(gauges()["steel", number].inch * Fraction("25.4")) == pytest.approx(millimetres, abs=0.0018)


@pytest.mark.parametrize(("number", "inches"), STEEL_IN.items())
def test_steel_sheet_in_inches(number: int, inches: str) -> None:
    assert gauges()["steel", number].inch == Fraction(inches)


@pytest.mark.parametrize(("number", "inches"), WALL_IN.items())
def test_tube_wall(number: int, inches: str) -> None:
    assert gauges()["BWG", number].inch == Fraction(inches)


def test_sixteen_gauge_is_three_thicknesses() -> None:
    # sheet-metal handbooks: steel 0.0598, aluminium (Brown & Sharpe) 0.0508, stainless 0.0625 in
    sixteen = {scale: float(gauges()[scale, 16].inch) for scale in ("steel", "aluminium", "stainless")}
    assert sixteen == {"steel": 0.0598, "aluminium": 0.0508, "stainless": 0.0625}


# ounces per square foot from gauge 3 on, 15 U.S.C. 206
OUNCES = (160, 150, 140, 130, 120, 110, 100, 90, 80, 70, 60, 50, 45, 40, 36, 32, 28)
OUNCES += (24, 22, 20, 18, 16, 14, 12, 11, 10, 9, 8)


def test_the_rules_behind_the_sheet_tables() -> None:
    for number, ounces in enumerate(OUNCES, start=3):
        # 640 oz/ft² to the inch in the statute; 41.82 lb/ft² to the inch in the Manufacturers' Standard
        assert gauges()["stainless", number].inch == Fraction(ounces, 640)
        steel = float(gauges()["steel", number].inch)
        assert steel == pytest.approx(ounces / 16 / 41.82, abs=5.1e-5)  # half of the last printed place
        brown_sharpe = 0.005 * 92 ** ((36 - number) / 39)
        assert float(gauges()["aluminium", number].inch) == pytest.approx(brown_sharpe, abs=5.1e-5)


def test_every_row_has_a_source_and_a_standing_and_thins_with_its_number() -> None:
    rows = sorted(gauges().values(), key=lambda row: (row.scale, row.number))
    for thick, thin in pairwise(rows):
        assert thick.source
        assert thick.standing in {"verified", "inferred", "unknown"}
        assert thick.scale != thin.scale or thick.inch > thin.inch
