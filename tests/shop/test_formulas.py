import ast
import re

import pytest

from soapstone.formula import Chain, Step
from soapstone.shop.formulas import chain_rows, figures_needed, symbol, typeset
from soapstone.shop.units import METRIC


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("M", "M"),
        ("sigma_b", 'sigma_("b")'),
        ("P_allow", 'P_("allow")'),
        ("dx", '"dx"'),
        ("F_u_red", 'F_("u,red")'),
        ("pi", "pi"),
    ],
)
def test_symbol(name: str, text: str) -> None:
    assert symbol(name) == text


@pytest.mark.parametrize(
    ("formula", "text"),
    [
        ("a / b / c", "frac(a, b dot c)"),
        ("a * b / (c + d)", "frac(a dot b, c + d)"),
        ("(a + b) * c", "lr((a + b)) dot c"),
        ("a - (b - c)", "a - lr((b - c))"),
        ("(a + b)**2", 'lr((a + b))^("2")'),
        ("a**2", 'a^("2")'),
        ("-a * b", "lr((- a)) dot b"),
        ("+a", "+ a"),
        ("sqrt(a**2 + b**2)", 'sqrt(a^("2") + b^("2"))'),
        ("abs(a)", "abs(a)"),
        ("min(a, b)", 'op("min") lr((a "," thick b))'),
        ("cos(a)", 'op("cos") lr((a))'),
    ],
)
def test_typeset(formula: str, text: str) -> None:
    assert typeset(formula, symbol) == text


def test_a_formula_no_chain_could_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be set"):
        typeset("[a]", symbol)


def test_numbers_go_in_where_the_symbols_stood() -> None:
    chain = Chain()
    chain.given("M", -412.0, "N*m", "moment")
    chain.given("d", 0.03, "m", "diameter")
    chain.step("sigma_b", "32 * M / (pi * d**3)", "Pa", "stress")
    data = chain_rows(chain.steps, METRIC)
    assert data["units"] == "N, mm, MPa"
    moment, _, stress = data["rows"]  # type: ignore[misc]
    assert (moment["value"], moment["unit"], moment["formula"]) == ("−412\u2009000", "N·mm", "")
    assert stress["numbers"] == 'frac("32" dot ("−412\u2009000"), pi dot "30.00"^("3"))'
    assert (stress["value"], stress["unit"]) == ("−155.4", "MPa")


def test_every_formula_of_the_example_can_be_set(heron: object) -> None:
    formulas = {step.formula for f in heron.findings for step in f.because if step.formula}  # type: ignore[attr-defined]
    assert len(formulas) > 20
    for formula in formulas:
        names = {node.id for node in ast.walk(ast.parse(formula)) if isinstance(node, ast.Name)}
        text = typeset(formula, lambda name: f"<{name}>")
        functions = {"sqrt", "abs", "min", "max", "sin", "cos", "tan"}
        assert all(f"<{name}>" in text for name in names - functions)


@pytest.mark.parametrize(
    ("a", "b", "formula"),
    [
        (0.123456789, 0.123451111, "a - b"),
        (0.123456789, -0.123451111, "a + b"),
        (1234.5678, 1.2345, "a - 1000.1 * b"),
    ],
)
def test_a_difference_can_be_redone_from_what_is_printed(a: float, b: float, formula: str) -> None:
    chain = Chain()
    chain.given("a", a, "m", "one")
    chain.given("b", b, "m", "other")
    chain.step("d", formula, "m", "left over")
    row = chain_rows(chain.steps, METRIC)["rows"][-1]
    printed = [
        float(text.replace("\u2009", "").replace("−", "-"))
        for text in re.findall(r'"([^"]+)"', row["numbers"])
    ]
    if formula == "a - 1000.1 * b":
        left = printed[0] - printed[1] * printed[2]
    else:
        left = printed[0] - printed[1] if formula == "a - b" else printed[0] + printed[1]
    assert left == pytest.approx(float(row["value"].replace("\u2009", "").replace("−", "-")), rel=0.5e-3)
    assert figures_needed(chain.steps[-1], METRIC) > 4


def test_products_and_what_is_rounding_alone_keep_four_figures() -> None:
    chain = Chain()
    chain.given("a", 0.1 + 0.2, "m", "one")
    chain.given("b", 0.3, "m", "other")
    chain.step("d", "a - b", "m", "nothing but rounding")
    chain.step("p", "a * b", "m**2", "a product")
    chain.step("s", "a + b", "m", "a sum")
    assert [figures_needed(step, METRIC) for step in chain.steps] == [4, 4, 4, 4, 4]
    wild = Step("q", "a - b / c", (("a", 1.0, "1"), ("b", 1.0, "1"), ("c", 1e-320, "1")), 1.0, "1", "")
    assert figures_needed(wild, METRIC) > 4
