"""A chain of formulas that is computed from the very text it shows.

Each step keeps its formula as text; the number comes from evaluating that text over the earlier
steps, so what is printed and what is computed cannot differ.
"""

import ast
import math
import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

_OPERATORS: dict[type[ast.AST], Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}
_FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "sin": math.sin,
    "cos": math.cos,
    "tan": math.tan,
    "abs": abs,
    "min": min,
    "max": max,
}
_CONSTANTS = {"pi": math.pi}


Known = Mapping[str, "Step"]


@lru_cache(maxsize=4096)
def _parsed(formula: str) -> tuple[tuple[str, ...], Callable[[Known], float]]:
    """Names in order of appearance and the formula made ready to evaluate; the same few hundred texts come
    again for every part and case."""
    names: list[str] = []
    ready = _ready(ast.parse(formula, mode="eval").body, names)
    return tuple(dict.fromkeys(names)), ready


def _ready(node: ast.AST, names: list[str]) -> Callable[[Known], float]:
    match node:
        case ast.Constant(value=int() | float() as number):
            value = float(number)
            return lambda known: value
        case ast.Name(id=name):
            names.append(name)
            return lambda known: known[name].value if name in known else _constant(name)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            both, first, second = _OPERATORS[type(op)], _ready(left, names), _ready(right, names)
            return lambda known: both(first(known), second(known))
        case ast.UnaryOp(op=op, operand=operand) if type(op) in _OPERATORS:
            one, inner = _OPERATORS[type(op)], _ready(operand, names)
            return lambda known: one(inner(known))
        case ast.Call(func=ast.Name(id=name), args=args, keywords=[]) if name in _FUNCTIONS:
            function, each = _FUNCTIONS[name], [_ready(a, names) for a in args]
            return lambda known: function(*[a(known) for a in each])
    raise ValueError(f"a chain cannot compute {ast.unparse(node)!r}")


def _constant(name: str) -> float:
    if name not in _CONSTANTS:
        raise ValueError(f"a chain cannot compute {name!r}")
    return _CONSTANTS[name]


@dataclass(frozen=True)
class Step:
    """One line of a chain: `symbol = formula = value unit`.

    Attributes
    ----------
    symbol : str
        A plain name (`sigma_b`); faces may set it in Greek.
    formula : str
        The text that was evaluated (`M / S`); empty for a given value.
    numbers : tuple of (str, float, str)
        The symbols used with their SI value and SI unit, in order of appearance.
    value : float
        SI.
    unit : str
        SI unit (`Pa`, `N`, `N*m`, `m`, `m**2`, `m**3`, `m**4`, `rad`, `1`).
    words : str
        What it is, and for a given value where it comes from.
    """

    symbol: str
    formula: str
    numbers: tuple[tuple[str, float, str], ...]
    value: float
    unit: str
    words: str


class Chain:
    """Builds the `because` of a finding, step by step.

    Examples
    --------
    >>> chain = Chain()
    >>> _ = chain.given("M", 412.0, "N*m", "bending moment at the start")
    >>> _ = chain.given("S", 2.727e-6, "m**3", "elastic section modulus")
    >>> round(chain.step("sigma_b", "M / S", "Pa", "bending stress") / 1e6, 1)
    151.1
    """

    def __init__(self) -> None:
        self._steps: list[Step] = []
        self._known: dict[str, Step] = {}

    def given(self, symbol: str, value: float, unit: str, words: str) -> float:
        """Put in a number that comes from elsewhere; `words` says what and from where."""
        return self._add(Step(symbol, "", (), float(value), unit, words))

    def step(self, symbol: str, formula: str, unit: str, words: str) -> float:
        """Evaluate `formula` over the symbols known so far and keep it; returns the SI value."""
        names, ready = _parsed(formula)
        value = ready(self._known)
        used = tuple((n, self._known[n].value, self._known[n].unit) for n in names if n in self._known)
        return self._add(Step(symbol, formula, used, value, unit, words))

    @property
    def steps(self) -> tuple[Step, ...]:
        """The chain so far, in order."""
        return tuple(self._steps)

    def __getitem__(self, symbol: str) -> float:
        return self._known[symbol].value

    def _add(self, step: Step) -> float:
        if step.symbol in self._known:
            raise ValueError(f"the symbol {step.symbol!r} stands in this chain already")
        self._steps.append(step)
        self._known[step.symbol] = step
        return step.value
