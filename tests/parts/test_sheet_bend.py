"""Bent sheet against handbook rows, and flat strips against their own folded shape."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.parts.sheet_bend import (
    HANDBOOK_K,
    Fold,
    bend_allowance,
    bend_deduction,
    din_deduction,
    din_factor,
    flat_strip,
    fold_order,
    folded_points,
    relief,
    shop_rule_allowance,
)

SQUARE = math.pi / 2


def test_din_6935_in_its_worked_example() -> None:
    """Opening 60°, r 6, s 5 mm: k 0.689, v 5.82 by formula; the chart's 0.7 gives the printed 5.77.

    DIN 6935 in a worked example of Tabellenbuch Metall (Europa-Lehrmittel); further digits by arithmetic.
    """
    turned = math.radians(120)
    assert din_factor(6, 5) == pytest.approx(0.68959062, abs=5e-9)
    assert din_deduction(6, 5, turned) == pytest.approx(5.8229413, abs=5e-8)
    assert din_deduction(6, 5, turned, k=0.7) == pytest.approx(5.7684380, abs=5e-8)
    assert round(din_deduction(6, 5, turned, k=0.7), 2) == 5.77


def test_din_6935_at_its_borders() -> None:
    assert din_factor(26, 5) == 1.0 and din_factor(5, 5) == 0.65
    assert din_deduction(6, 5, math.radians(14.9)) == 0.0  # opening over 165°
    below, above = (din_deduction(6, 5, math.radians(a)) for a in (89.999, 90.001))
    assert below == pytest.approx(above, abs=1e-3)  # tan 45° is 1: both rules meet there
    with pytest.raises(GeometryError):
        din_factor(0, 5)


@pytest.mark.parametrize(("temper", "length"), [("soft", 0.46125), ("half-hard", 0.47250), ("hard", 0.48125)])
def test_handbook_lengths_by_temper(temper: str, length: float) -> None:
    """T 0.125, R 0.25 in, 90°: Machinery's Handbook (from memory), whose 1.57 stands for π/2."""
    # 1.57 against 1.5708 on R = 0.25 is 2e-4
    assert bend_allowance(0.25, 0.125, SQUARE, HANDBOOK_K[temper]) == pytest.approx(length, abs=2.1e-4)


def test_handbook_factors() -> None:
    """K = c / (π/2), by arithmetic from the same rows."""
    assert [round(HANDBOOK_K[t], 5) for t in ("soft", "half-hard", "hard")] == [0.35014, 0.40744, 0.45200]


def test_closed_form_and_shop_rule() -> None:
    """R 0.125, t 0.1196 in, K 0.33 and 0.44; and a sheet-metal workbook's rule at T .125, R .25, 90°."""
    assert bend_allowance(0.125, 0.1196, SQUARE, 0.33) == pytest.approx(0.258346, abs=5e-7)
    assert bend_allowance(0.125, 0.1196, SQUARE, 0.44) == pytest.approx(0.279011, abs=5e-7)
    assert shop_rule_allowance(0.25, 0.125, SQUARE) == pytest.approx(0.4804425, abs=5e-8)


@settings(max_examples=80, deadline=None)
@given(st.floats(0.5, 20), st.floats(0.5, 6), st.floats(0.3, 3.1), st.floats(0.0, 0.5))
def test_deduction_and_allowance_add_up(radius: float, t: float, angle: float, k: float) -> None:
    outside = 2 * (radius + t) * (math.tan(angle / 2) if angle <= SQUARE else 1.0)
    both = bend_deduction(radius, t, angle, k) + bend_allowance(radius, t, angle, k)
    assert both == pytest.approx(outside, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.3, 1.57), st.booleans()), min_size=1, max_size=4),
    st.floats(1e-3, 6e-3),
    st.floats(1e-3, 4e-3),
    st.data(),
)
def test_a_flat_strip_folds_up_to_its_outside_legs(folds, radius, t, data) -> None:  # type: ignore[no-untyped-def]
    """Flats and setbacks add up to the legs, and the folded face ends up turned by all folds together."""
    made = [Fold(angle if up else -angle, radius) for angle, up in folds]
    legs = [data.draw(st.floats(0.03, 0.2)) for _ in range(len(made) + 1)]
    flat = flat_strip("strip", legs, made, t, 0.5)
    total = sum(flat.flanges) + sum(high - low for low, high in flat.zones)
    assert flat.length == pytest.approx(total, rel=1e-12)
    for leg, row in zip(legs, range(len(legs)), strict=True):
        before = (radius + t) * math.tan(abs(made[row - 1].angle) / 2) if row else 0.0
        after = (radius + t) * math.tan(abs(made[row].angle) / 2) if row < len(made) else 0.0
        assert flat.flanges[row] + before + after == pytest.approx(leg, rel=1e-9)
    points = folded_points(flat, made, t)
    last = points[-1] - points[-2]
    assert (
        math.atan2(last[1], last[0]) % (2 * math.pi)
        == pytest.approx(sum(fold.angle for fold in made) % (2 * math.pi), abs=1e-9)
        or np.hypot(*last) < 1e-9
    )


def test_a_channel_by_hand() -> None:
    """40-90-40 outside, 3 mm, R 4, K 0.5: flat = 170 − 2 (2·7 − (π/2)·5.5) mm."""
    flat = flat_strip("u", (0.04, 0.09, 0.04), [Fold(SQUARE, 0.004)] * 2, 0.003, 0.5)
    assert flat.length == pytest.approx(0.170 - 2 * (0.014 - SQUARE * 0.0055), rel=1e-12)
    assert flat.flanges == pytest.approx((0.033, 0.076, 0.033))
    assert flat.lines[0] == pytest.approx(0.033 + SQUARE * 0.0055 / 2)


def test_din_is_taken_without_a_factor() -> None:
    flat = flat_strip("l", (0.016, 0.021), [Fold(math.radians(120), 0.006)], 0.005, None)
    assert flat.length == pytest.approx(0.037 - 0.0058229413, abs=1e-10)


def test_outer_folds_come_first() -> None:
    flat = flat_strip("hat", (0.02, 0.04, 0.1, 0.04, 0.025), [Fold(SQUARE, 0.002)] * 4, 0.002, 0.4)
    order = fold_order(flat)
    assert order[:2] == (0, 3) and set(order) == {0, 1, 2, 3}


@pytest.mark.parametrize(
    ("legs", "told"), [((0.005, 0.05), "leg 1"), ((0.05,), "one leg more"), ((0.05, 0.004), "leg 2")]
)
def test_legs_that_are_too_short_are_named(legs: tuple[float, ...], told: str) -> None:
    with pytest.raises(GeometryError, match=told):
        flat_strip("strip", legs, [Fold(SQUARE, 0.004)], 0.003, 0.4)


def test_impossible_bends_are_refused() -> None:
    for radius, t, angle, k in ((-1, 1, 1, 0.4), (1, 0, 1, 0.4), (1, 1, 4, 0.4), (1, 1, 1, 0.7)):
        with pytest.raises(GeometryError):
            bend_allowance(radius, t, angle, k)
    assert relief(0.004, 0.003).depth == pytest.approx(0.010)
