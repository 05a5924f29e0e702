"""How much of its fatigue life a detail has used: nominal and hot-spot stress ranges, EN 1993-1-9, summed
by Palmgren and Miner."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.strength.answers import answered, unanswered
from soapstone.strength.shapes import Array
from soapstone.tables import partial_factor

_CLAIM = "its welds do not crack from the to-and-fro of the stated cycles"
_SOURCE = (
    "EN 1993-1-9 7.1, 8, annex A (Palmgren-Miner), tables 8.4 and 8.6, hot spots table B.1; their factors "
    "Efthymiou, OTH'88 (1988), as DNV-RP-C203 appendix B restates them"
)
_CAUTION = (
    "Cracks from the root, torsion and a rough bead are not part of it, and walls under 4 mm lie below the "
    "tests behind hot spots. Look at the toes when the cycles are up."
)
THICKEST = 8e-3
"""m, wall at which the categories of tube ends (table 8.6) stop."""
_REFERENCE = 25e-3
_REST = "at rest"


@dataclass(frozen=True)
class Part:
    """A nominal stress that a hot spot is made of.

    Attributes
    ----------
    symbol, factor, words : str
        The stress, the factor's symbol in the chain, and what the stress is.
    ranges : Array
        (n_cases + 1, n_cases + 1) Pa, as in `Detail`.
    """

    symbol: str
    factor: str
    words: str
    ranges: Array


@dataclass(frozen=True)
class Detail:
    """A place that can crack.

    Attributes
    ----------
    where : str
    category : float
        Pa, strength at two million cycles.
    clause : str
    ranges : Array
        (n_cases + 1, n_cases + 1) Pa, stress range between every two cases; the last is the frame at rest.
    wall : float
        Thickness, m; over 25 mm it weakens (EN 1993-1-9 tables 8.3 and 8.5).
    put : callable or None
        Puts the factors of a hot spot into a chain.
    parts : tuple of Part
        What its ranges are summed from, each times its factor; empty for a nominal stress.
    """

    where: str
    category: float
    clause: str
    ranges: Array
    wall: float = 0.0
    put: Callable[[Chain], None] | None = None
    parts: tuple[Part, ...] = ()

    @property
    def strength(self) -> float:
        """The category, less for a thick wall, Pa."""
        return thickness_factor(self.wall) * self.category


def thickness_factor(thickness: float) -> float:
    """What a wall of so many m leaves of a category: (25 mm / t)^0.2 over 25 mm."""
    return float(min(1.0, (_REFERENCE / thickness) ** 0.2)) if thickness > 0.0 else 1.0


def endurance_limits(category: Array | float) -> tuple[Array | float, Array | float]:
    """Constant-amplitude limit at 5e6 cycles and cut-off at 1e8, same unit as the category."""
    constant = (2 / 5) ** (1 / 3) * category
    return constant, (5 / 100) ** (1 / 5) * constant


def life(stress_range: Array, category: float) -> Array:
    """Cycles to failure (…) at a stress range: m 3 to 5e6, m 5 to 1e8, then no end (EN 1993-1-9 7.1)."""
    constant, cut_off = endurance_limits(category)
    safe = np.maximum(stress_range, 0.5 * cut_off)
    steep, flat = 2e6 * (category / safe) ** 3, 5e6 * (constant / safe) ** 5
    cycles: Array = np.where(stress_range >= constant, steep, np.where(stress_range >= cut_off, flat, np.inf))
    return cycles


def shares(ranges: Array, cycles: Array, category: float) -> Array:
    """Share of the life that each range uses, cycles over life."""
    used: Array = cycles / life(ranges, category)
    return used


def damage(ranges: Array, cycles: Array, category: float) -> float:
    """Palmgren-Miner sum of those shares."""
    return float(np.sum(shares(ranges, cycles, category)))


@dataclass(frozen=True)
class Swing:
    """To-and-fro between two states, indices of cases and last of rest: how often, and its range Pa."""

    one: int
    other: int
    cycles: float
    range: float


def swings(ranges: Array, cycles: Array) -> tuple[Swing, ...]:
    """Pair what comes in any order so that the widest swings come first.

    Each time a case comes it may follow the case it differs most from; each is used up once, and what is left
    over goes from rest and back (superposition of cycles of different origin, ASME BPVC III NB-3222.4(e)(5),
    from memory).

    Parameters
    ----------
    ranges : Array
        (n + 1, n + 1) Pa, as in `Detail`.
    cycles : Array
        (n,) how often each case comes.
    """
    rest = len(cycles)
    left = np.append(np.asarray(cycles, dtype=np.float64), np.inf)
    pairs = [(i, j) for i in range(rest) for j in range(i + 1, rest + 1)]
    found = []
    for i, j in sorted(pairs, key=lambda pair: -ranges[pair]):
        count = min(left[i], left[j])
        if count > 0.0:
            found.append(Swing(i, j, float(count), float(ranges[i, j])))
            left[[i, j]] -= count
    return tuple(found)


def attachment_category(length: float) -> float:
    """Category, Pa, of a tube's wall beside what is welded along it for `length` m (table 8.4)."""
    for limit, category in ((0.050, 80e6), (0.080, 71e6), (0.100, 63e6)):
        if length <= limit + 1e-12:
            return category
    return 56e6


def end_category(is_round: bool) -> float:
    """Category, Pa, of a tube's end welded on with fillets, wall up to 8 mm (table 8.6)."""
    return 40e6 if is_round else 36e6


def fatigue(
    *, name: str, details: Sequence[Detail], cycles: Array, cases: Sequence[str], gap: str = ""
) -> Finding:
    """Judge a tube by the worst of its details.

    Parameters
    ----------
    cycles : Array
        (n_cases,) how often each case comes; 0 leaves it out.
    gap : str
        Why another place of the tube cannot be judged; then a tube whose details hold is `open`.

    Returns
    -------
    Finding
        `fatigue:NAME`; demand is the damage sum, and `case` the swing that eats most of the life.
    """
    found = _judged(name, details, cycles, cases) if details else None
    if gap and (found is None or found.verdict is Verdict.HOLDS):
        return unanswered(f"fatigue:{name}", _CLAIM, gap, source=_SOURCE)
    assert found is not None
    return found


def _judged(name: str, details: Sequence[Detail], cycles: Array, cases: Sequence[str]) -> Finding:
    id = f"fatigue:{name}"
    factor = partial_factor("fatigue")
    counted = [swings(d.ranges, cycles) for d in details]
    used = [_used(found, d, factor.value) for found, d in zip(counted, details, strict=True)]
    index = int(np.argmax([share.sum() for share in used]))
    worst, found = details[index], counted[index]
    order = np.argsort(-used[index], kind="stable")
    names = [*cases, _REST]
    chain = Chain()
    if worst.put is not None:
        worst.put(chain)
    _put_category(chain, worst)
    chain.given("g_Mf", factor.value, "1", factor.clause)
    chain.step("ds_D", "(2 / 5)**(1 / 3) * ds_C", "Pa", "limit at 5 million cycles")
    chain.step("ds_L", "(5 / 100)**(1 / 5) * ds_D", "Pa", "cut-off: smaller ranges do nothing")
    parts = [
        _swing_steps(chain, n, _words(found[i], names), found[i], worst.parts) for n, i in enumerate(order, 1)
    ]
    demand = chain.step("D", " + ".join(parts), "1", "damage sum: 1 is the end of the life")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        1.0,
        "1",
        case=_words(found[order[0]], names),
        source=_SOURCE,
        remedy=lambda ratio: (
            f"bring the stress at {worst.where} down to {100 * ratio ** (-1 / 3):.0f} %: a heavier tube, or "
            f"move the weld to where {_words(found[order[0]], names)} pulls less"
        ),
        caution=_CAUTION,
        assumed=(
            "cases follow each other so that the stress swings most; what is left over goes from rest",
            f"{worst.where} cracks like {worst.clause}, which is IIW's FAT {worst.category / 1e6:.0f} (IIW "
            "bends its line at 10 million cycles, not at 5; from memory)",
        ),
    )


def _used(found: Sequence[Swing], detail: Detail, factor: float) -> Array:
    """(len(found),) share of the life that each swing uses."""
    ranges = np.array([swing.range for swing in found]) * factor
    return shares(ranges, np.array([swing.cycles for swing in found]), detail.strength)


def _words(swing: Swing, names: Sequence[str]) -> str:
    one, other = names[swing.one], names[swing.other]
    return one if other == _REST else f"{one} to {other}"


def _put_category(chain: Chain, detail: Detail) -> None:
    words = f"category of {detail.where}, {detail.clause}"
    if detail.wall <= _REFERENCE:
        chain.given("ds_C", detail.category, "Pa", words)
        return
    chain.given("ds_0", detail.category, "Pa", words)
    chain.given("t_w", detail.wall, "m", "thickness there")
    chain.given("t_r", _REFERENCE, "m", "from which a thicker wall is weaker, EN 1993-1-9 tables 8.3, 8.5")
    chain.step("ds_C", "(t_r / t_w)**0.2 * ds_0", "Pa", "less for the thick wall")


def _swing_steps(chain: Chain, n: int, words: str, swing: Swing, parts: Sequence[Part]) -> str:
    chain.given(f"n_{n}", swing.cycles, "1", f"cycles of {words}")
    for part in parts:
        value = float(part.ranges[swing.one, swing.other])
        chain.given(f"{part.symbol}_{n}", value, "Pa", f"{part.words}, range of {words}")
    if parts:
        formula = " + ".join(f"{part.factor} * {part.symbol}_{n}" for part in parts)
        chain.step(f"s_{n}", formula, "Pa", f"hot-spot stress range of {words}")
    else:
        chain.given(f"s_{n}", swing.range, "Pa", f"stress range of {words}")
    chain.step(f"g_{n}", f"g_Mf * s_{n}", "Pa", "with its factor")
    if chain[f"g_{n}"] >= chain["ds_D"]:
        formula = f"n_{n} / (2000000 * (ds_C / g_{n})**3)"
    elif chain[f"g_{n}"] >= chain["ds_L"]:
        formula = f"n_{n} / (5000000 * (ds_D / g_{n})**5)"
    else:
        formula = "0"
    chain.step(f"D_{n}", formula, "1", f"life that {words} uses")
    return f"D_{n}"
