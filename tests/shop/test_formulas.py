import ast

import pytest

from soapstone.formula import Chain
from soapstone.shop.formulas import chain_rows, symbol, typeset
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
