"""A chain's formulas as formula typesetting: once with symbols, once with the numbers put in."""

import ast
import math
from collections.abc import Callable

from soapstone.formula import Chain, Step
from soapstone.shop.units import FIGURES, UnitSet, coherent, figures

_GREEK = frozenset(
    "alpha beta gamma delta epsilon zeta eta theta kappa lambda mu nu xi rho sigma tau phi chi psi omega pi "  # noqa: SIM905
    "Gamma Delta Theta Lambda Sigma Phi Psi Omega".split()
)
_MOST = 12
_ROUNDING = 1e-10
"""Of the largest number put in: a difference below it is what float64 leaves of nothing."""
_LOOSE = (ast.Add, ast.Sub)


def symbol(name: str) -> str:
    """`sigma_b` as typst formula text: Greek where it is Greek, what follows the first underscore set low."""
    base, _, below = name.partition("_")
    head = base if base in _GREEK or len(base) == 1 else f'"{base}"'
    low = below.replace("_", ",")
    return f'{head}_("{low}")' if low else head


def typeset(formula: str, name: Callable[[str], str]) -> str:
    """A chain's formula as typst formula text, every symbol written by `name`."""
    return _set(ast.parse(formula, mode="eval").body, name)


def chain_rows(steps: tuple[Step, ...], wanted: UnitSet) -> dict[str, object]:
    """Plain data for a chain: the unit set it is printed in, and a row per step."""
    units = coherent(steps, wanted)
    return {"units": units.name, "rows": [_row(step, units) for step in steps]}


def _row(step: Step, units: UnitSet) -> dict[str, str]:
    value, unit = units.shown(step.value, step.unit)
    count = figures_needed(step, units)
    numbers = {name: figures(units.shown(number, of)[0], count) for name, number, of in step.numbers}

    def put_in(name: str) -> str:
        return _number(numbers[name]) if name in numbers else symbol(name)

    return {
        "words": step.words,
        "symbol": symbol(step.symbol),
        "formula": typeset(step.formula, symbol) if step.formula else "",
        "numbers": typeset(step.formula, put_in) if step.numbers else "",
        "value": figures(value),
        "unit": unit,
    }


def figures_needed(step: Step, units: UnitSet) -> int:
    """How many figures the numbers put into a formula need so that its printed result follows from them.

    Four do, but for a difference: what nearly equal numbers leave hangs on their last figures. A result that
    is rounding alone, no figure of which means anything, is left at four.
    """
    shown = [(name, units.shown(number, of)[0], of) for name, number, of in step.numbers]
    value = units.shown(step.value, step.unit)[0]
    largest = max((abs(number) for _, number, _ in shown), default=0.0)
    if not _differs(step) or not math.isfinite(value) or abs(value) <= _ROUNDING * largest:
        return FIGURES
    return next((count for count in range(FIGURES, _MOST) if _follows(step, shown, value, count)), _MOST)


def _differs(step: Step) -> bool:
    """Whether a formula takes a difference, or a sum of a negative number."""
    if not step.formula:
        return False
    nodes = list(ast.walk(ast.parse(step.formula, mode="eval")))
    sums = any(isinstance(node, ast.Add) for node in nodes)
    return any(isinstance(node, ast.Sub) for node in nodes) or (
        sums and any(number < 0.0 for _, number, _ in step.numbers)
    )


def _follows(step: Step, shown: list[tuple[str, float, str]], value: float, count: int) -> bool:
    chain = Chain()
    for name, number, of in shown:
        chain.given(name, float(f"{number:.{count - 1}e}"), of, "")
    try:
        again = chain.step("result" if step.symbol != "result" else "result_", step.formula, step.unit, "")
    except (ArithmeticError, ValueError):
        return False
    return figures(again) == figures(value)


def _number(text: str) -> str:
    return f'("{text}")' if text.startswith("−") else f'"{text}"'


def _set(node: ast.AST, name: Callable[[str], str]) -> str:
    match node:
        case ast.Constant(value=int() | float() as value):
            return f'"{value}"'
        case ast.Name(id=word):
            return name(word)
        case ast.BinOp(op=ast.Div()):
            above, below = _fraction(node)
            return f"frac({_set(above, name)}, {_product(below, name)})"
        case ast.BinOp(left=left, op=ast.Mult(), right=right):
            return f"{_held(left, name)} dot {_held(right, name)}"
        case ast.BinOp(left=left, op=ast.Pow(), right=right):
            return f"{_base(left, name)}^({_set(right, name)})"
        case ast.BinOp(left=left, op=op, right=right):
            sign = "+" if isinstance(op, ast.Add) else "-"
            behind = _held(right, name) if isinstance(op, ast.Sub) else _set(right, name)
            return f"{_set(left, name)} {sign} {behind}"
        case ast.UnaryOp(op=op, operand=operand):
            return f"{'-' if isinstance(op, ast.USub) else '+'} {_held(operand, name)}"
        case ast.Call(func=ast.Name(id=word), args=args):
            return _call(word, [_set(argument, name) for argument in args])
    raise ValueError(f"a formula cannot be set: {ast.dump(node)}")


def _fraction(node: ast.BinOp) -> tuple[ast.AST, list[ast.AST]]:
    """`a / b / c` is one fraction, a over b c."""
    below: list[ast.AST] = [node.right]
    above: ast.AST = node.left
    while isinstance(above, ast.BinOp) and isinstance(above.op, ast.Div):
        below.insert(0, above.right)
        above = above.left
    return above, below


def _product(factors: list[ast.AST], name: Callable[[str], str]) -> str:
    if len(factors) == 1:
        return _set(factors[0], name)
    return " dot ".join(_held(factor, name) for factor in factors)


def _held(node: ast.AST, name: Callable[[str], str]) -> str:
    """In brackets where a sum stands inside a product."""
    text = _set(node, name)
    loose = isinstance(node, ast.BinOp) and isinstance(node.op, _LOOSE)
    return f"lr(({text}))" if loose or isinstance(node, ast.UnaryOp) else text


def _base(node: ast.AST, name: Callable[[str], str]) -> str:
    text = _set(node, name)
    return text if isinstance(node, ast.Name | ast.Constant | ast.Call) else f"lr(({text}))"


def _call(word: str, arguments: list[str]) -> str:
    if word in ("sqrt", "abs"):
        return f"{word}({arguments[0]})"
    listed = ' "," thick '.join(arguments)
    return f'op("{word}") lr(({listed}))'
