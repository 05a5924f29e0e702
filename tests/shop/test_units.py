import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.build import Build
from soapstone.formula import Chain
from soapstone.job.service import Show
from soapstone.shop.explain import explained
from soapstone.shop.units import INCH, METRIC, coherent, figures, units_of


def bending() -> Chain:
    chain = Chain()
    chain.given("M", 412.0, "N*m", "moment")
    chain.given("S", 2.727e-6, "m**3", "modulus")
    chain.step("sigma", "M / S", "Pa", "stress")
    return chain


def test_inch_jobs_get_inch_units() -> None:
    assert units_of(Show(length="in 1/32")) is INCH
    assert units_of(Show(length="ft 1/16")) is INCH
    assert units_of(Show(length="mm 0.1")) is METRIC


@pytest.mark.parametrize(
    ("value", "unit", "units", "number", "word"),
    [
        (1.0, "N*m", METRIC, 1000.0, "N·mm"),
        (1e6, "Pa", METRIC, 1.0, "MPa"),
        (0.0254, "m", INCH, 1.0, "in"),
        (4.4482216152605, "N", INCH, 1.0, "lbf"),
        (6894.757293168361, "Pa", INCH, 1.0, "psi"),
        (9.80665, "m/s**2", INCH, 1.0, "g"),
        (1e9, "Pa/m", METRIC, 1.0, "MPa/mm"),
        (6894.757293168361 / 0.0254, "Pa/m", INCH, 1.0, "psi/in"),
        (3.0, "1/s", METRIC, 3.0, "1/s"),
        (3.0, "kg/m**3", METRIC, 3.0, "kg/m³"),
    ],
)
def test_shown(value: float, unit: str, units: object, number: float, word: str) -> None:
    shown, name = units.shown(value, unit)  # type: ignore[attr-defined]
    assert shown == pytest.approx(number, rel=1e-12)
    assert name == word


@pytest.mark.parametrize("units", [METRIC, INCH])
def test_a_chain_can_be_redone_in_the_units_it_is_printed_in(units: object) -> None:
    steps = bending().steps
    assert coherent(steps, units) is units  # type: ignore[arg-type]
    moment, modulus, stress = (units.shown(s.value, s.unit)[0] for s in steps)  # type: ignore[attr-defined]
    assert moment / modulus == pytest.approx(stress, rel=1e-12)


def test_weight_goes_together_in_both_sets() -> None:
    chain = Chain()
    chain.given("m", 92.0, "kg", "mass")
    chain.given("a", 3.0 * 9.80665, "m/s**2", "pull")
    chain.given("r", 0.3, "m", "arm")
    chain.step("T", "m * a * r", "N*m", "torque")
    assert coherent(chain.steps, METRIC) is METRIC
    assert coherent(chain.steps, INCH) is INCH


def test_a_hidden_constant_sends_the_chain_back_to_si() -> None:
    chain = Chain()
    chain.given("t", 0.006, "m", "plate")
    chain.step("w", "2 * t + 0.016", "m", "width")
    assert coherent(chain.steps, METRIC).name == "m, N, Pa"


def test_a_chain_that_cannot_be_redone_at_all_goes_back_to_si() -> None:
    chain = Chain()
    chain.given("x", 0.5, "m", "length")
    chain.step("y", "sqrt(1 - x)", "m", "only for metres")
    assert coherent(chain.steps, METRIC).name == "m, N, Pa"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (151.0821, "151.1"),
        (0.0, "0"),
        (412000.0, "412\u2009000"),
        (9999.6, "10\u2009000"),
        (-0.012345, "−0.01235"),
        (1.0, "1.000"),
        (math.inf, "∞"),
        (-math.inf, "−∞"),
        (math.nan, "not a number"),
        (2.05e11, "2.050·10¹¹"),
        (-1.2e-7, "−1.200·10⁻⁷"),
    ],
)
def test_figures(value: float, text: str) -> None:
    assert figures(value) == text


@settings(deadline=None, max_examples=100)
@given(st.floats(1e-12, 1e12))
def test_figures_keep_four_of_them(value: float) -> None:
    text = figures(value).replace("\u2009", "")
    if "·10" in text:
        mantissa, power = text.split("·10")
        plain = power.translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789"))
        text = f"{mantissa}e{plain}"
    # half a unit in the fourth figure is at most 5e-4 of the number
    assert float(text) == pytest.approx(value, rel=5.0001e-4)


def test_a_plain_number_in_a_chain_has_no_list_of_what_went_into_it(heron: Build) -> None:
    chain = Chain()
    chain.step("D_1", "0", "1", "life that bump uses")
    finding = replace(heron.findings[0], because=chain.steps)
    lines = explained(finding, Show())
    assert "  D_1 = 0    life that bump uses" in lines
    assert not any(line.strip() == "with" for line in lines)


def test_the_weld_s_chain_prints_in_the_job_s_units(heron: Build) -> None:
    finding = heron.finding("weld:drop_right end")
    assert finding is not None
    assert any(step.unit == "Pa/m" for step in finding.because)
    assert coherent(finding.because, INCH) is INCH
    assert coherent(finding.because, METRIC) is METRIC
