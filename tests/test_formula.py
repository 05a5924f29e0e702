"""The chain computes what it shows."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.formula import Chain


def test_a_step_keeps_formula_numbers_and_value() -> None:
    chain = Chain()
    chain.given("M", 412.0, "N*m", "moment")
    chain.given("S", 2.727e-6, "m**3", "modulus")
    value = chain.step("sigma", "M / S", "Pa", "bending stress")
    step = chain.steps[-1]
    assert value == chain["sigma"] == 412.0 / 2.727e-6
    assert (step.symbol, step.formula, step.unit) == ("sigma", "M / S", "Pa")
    assert step.numbers == (("M", 412.0, "N*m"), ("S", 2.727e-6, "m**3"))


numbers = st.floats(0.1, 1e3)


@settings(deadline=None, max_examples=50)
@given(numbers, numbers, numbers)
def test_the_text_is_what_is_computed(a: float, b: float, c: float) -> None:
    chain = Chain()
    for symbol, value in (("a", a), ("b", b), ("c", c)):
        chain.given(symbol, value, "1", "")
    got = chain.step("d", "-a + sqrt(b**2 + 4 * a * c) / max(a, b, 2) - min(b, +c) * sin(a) / pi", "1", "")
    assert got == -a + math.sqrt(b**2 + 4 * a * c) / max(a, b, 2) - min(b, +c) * math.sin(a) / math.pi


@pytest.mark.parametrize(
    "formula", ["x", "open('f')", "a.real", "a if a else a", "'a'", "a < 2", "max(a, key=a)"]
)
def test_anything_but_arithmetic_is_refused(formula: str) -> None:
    chain = Chain()
    chain.given("a", 1.0, "1", "")
    with pytest.raises((ValueError, KeyError)):
        chain.step("b", formula, "1", "")


def test_a_symbol_stands_once() -> None:
    chain = Chain()
    chain.given("a", 1.0, "1", "")
    with pytest.raises(ValueError, match="'a' stands in this chain already"):
        chain.given("a", 2.0, "1", "")
