"""Does everything keep clear of everything? One finding for each two groups, one for each scan."""

from collections.abc import Iterator, Mapping, Sequence

from soapstone.finding import Finding, Verdict
from soapstone.fit.clearances import SPREAD, Pair, Reach
from soapstone.formula import Chain


def clearance_findings(pairs: Sequence[Pair], doubts: Mapping[str, str]) -> Iterator[Finding]:
    """One for each pair that is measured.

    Parameters
    ----------
    pairs : Sequence of Pair
    doubts : by group, what is not known of its scan, so that no gap to it is proven
    """
    for pair in pairs:
        if pair.rest is not None:
            yield _clear(
                pair, next((doubts[name] for name in (pair.first, pair.second) if name in doubts), "")
            )


def _clear(pair: Pair, doubt: str) -> Finding:
    reach = pair.worst
    chain = Chain()
    chain.given("g", reach.apart.size, "m", f"gap from {reach.first} to {reach.second}, {reach.state}")
    chain.given("m", reach.sway, "m", "how far bending brings the two together beside that")
    for symbol, name, unsure in zip(("s_1", "s_2"), (pair.first, pair.second), reach.unsure, strict=True):
        chain.given(symbol, unsure.sigma, "m", f"one standard deviation of where {name} is")
    chain.given("k", SPREAD, "1", "95 in 100 errors are smaller than so many of them")
    chain.given("c", reach.within - SPREAD * reach.sigma, "m", "round things are drawn with straight sides")
    chain.given("w", reach.wanted.size, "m", reach.wanted.words)
    left = chain.step("g_m", "max(g - m, 0)", "m", "gap that is left")
    need = chain.step("g_n", "w + k * sqrt(s_1**2 + s_2**2) + c", "m", "gap that proves it clear")
    verdict = Verdict.OPEN if doubt else reach.verdict
    return Finding(
        id=f"clearance:{pair.first}/{pair.second}",
        about=f"{pair.first} and {pair.second}",
        claim=f"{reach.first} keeps clear of {reach.second}",
        verdict=verdict,
        case="" if reach.state == "at rest" else reach.state,
        demand=need,
        capacity=left,
        unit="m",
        ratio=need / left if left > 0.0 else None,
        because=chain.steps,
        source=reach.wanted.source,
        remedy=doubt or ("" if verdict is Verdict.HOLDS else _remedy(pair, reach, verdict)),
        caution=_caution(reach),
        assumed=tuple(dict.fromkeys(words for unsure in reach.unsure for words in unsure.assumed)),
    )


def _at(reach: Reach) -> str:
    x, y, z = (1e3 * (reach.apart.here + reach.apart.there) / 2.0).round()
    ways = (
        (x, "fwd", "aft"),
        (y, "left", "right"),
        (z, "up", "down"),
    )
    return ", ".join(f"{abs(value):.0f} mm {ahead if value >= 0 else back}" for value, ahead, back in ways)


def _remedy(pair: Pair, reach: Reach, verdict: Verdict) -> str:
    more = f"{1e3 * -reach.slack:.1f} mm more between them at {_at(reach)}"
    if verdict is Verdict.SHORT:
        return f"make {more}"
    room = reach.gap - reach.wanted.size
    unsure = max(reach.unsure, key=lambda one: one.sigma)
    if room <= 0.0:
        return f"{unsure.settle}, to know; {more} would make sure"
    enough = 1e3 * room / SPREAD
    return f"{unsure.settle}: known to {enough:.1f} mm together, it is clear; or {more}"


def _caution(reach: Reach) -> str:
    return "a scan without an inside: what it has swallowed is not seen" if reach.blind else ""
