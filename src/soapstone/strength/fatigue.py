"""How much of its fatigue life a detail has used: nominal stress ranges, EN 1993-1-9, Palmgren-Miner."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import answered, unanswered
from soapstone.strength.shapes import Array
from soapstone.tables import partial_factor

_CLAIM = "its welds do not crack from the to-and-fro of the stated cycles"
_SOURCE = "EN 1993-1-9 7.1, 8, annex A (Palmgren-Miner), tables 8.4 and 8.6"
_CAUTION = (
    "Nominal stress only: the wall of a chord that breathes under a tube raises it, and so does a rough "
    "bead. Look at the toes when the cycles are up."
)
_THICKEST = 8e-3


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
        (n_cases,) Pa, stress range of each case.
    """

    where: str
    category: float
    clause: str
    ranges: Array


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


def damage(ranges: Array, cycles: Array, category: float) -> float:
    """Palmgren-Miner sum of cycles over life."""
    return float(np.sum(cycles / life(ranges, category)))


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
    *, name: str, details: Sequence[Detail], cycles: Array, cases: Sequence[str], thickest: float
) -> Finding:
    """Judge a tube by the worst of its details.

    Parameters
    ----------
    cycles : Array
        (n_cases,) how often each case comes; 0 leaves it out.
    thickest : float
        Wall, m; the categories of tube ends hold up to 8 mm.

    Returns
    -------
    Finding
        `fatigue:NAME`; demand is the damage sum, and `case` the one that eats most of the life.
    """
    id = f"fatigue:{name}"
    if thickest > _THICKEST:
        gap = "the wall is over 8 mm, where the categories of tube ends stop: have this detail looked at"
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    factor = partial_factor("fatigue")
    sums = [damage(d.ranges * factor.value, cycles, d.category) for d in details]
    worst = details[int(np.argmax(sums))]
    shares = cycles / life(worst.ranges * factor.value, worst.category)
    order = [int(i) for i in np.argsort(-shares) if cycles[i] > 0]
    chain = Chain()
    chain.given("ds_C", worst.category, "Pa", f"category of {worst.where}, {worst.clause}")
    chain.given("g_Mf", factor.value, "1", factor.clause)
    chain.step("ds_D", "(2 / 5)**(1 / 3) * ds_C", "Pa", "limit at 5 million cycles")
    chain.step("ds_L", "(5 / 100)**(1 / 5) * ds_D", "Pa", "cut-off: smaller ranges do nothing")
    parts = [_case_steps(chain, i, cases[i], float(worst.ranges[i]), float(cycles[i])) for i in order]
    demand = chain.step("D", " + ".join(parts), "1", "damage sum: 1 is the end of the life")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        1.0,
        "1",
        case=cases[order[0]],
        source=_SOURCE,
        remedy=lambda ratio: (
            f"bring the stress at {worst.where} down to {100 * ratio ** (-1 / 3):.0f} %: a heavier tube, or "
            f"move the weld to where {cases[order[0]]} pulls less"
        ),
        caution=_CAUTION,
        assumed=(
            "each cycle of a case goes from the frame at rest to the full case and back",
            f"{worst.where} cracks like {worst.clause}",
        ),
    )


def _case_steps(chain: Chain, i: int, case: str, stress_range: float, cycles: float) -> str:
    chain.given(f"n_{i}", cycles, "1", f"cycles of {case}")
    chain.given(f"s_{i}", stress_range, "Pa", f"stress range of {case}")
    chain.step(f"g_{i}", f"g_Mf * s_{i}", "Pa", "with its factor")
    if chain[f"g_{i}"] >= chain["ds_D"]:
        formula = f"n_{i} / (2000000 * (ds_C / g_{i})**3)"
    elif chain[f"g_{i}"] >= chain["ds_L"]:
        formula = f"n_{i} / (5000000 * (ds_D / g_{i})**5)"
    else:
        formula = "0"
    chain.step(f"D_{i}", formula, "1", f"life that {case} uses")
    return f"D_{i}"
