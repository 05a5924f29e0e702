"""Does every bolt go in? One finding for each pattern."""

from collections.abc import Iterator, Sequence

from soapstone.finding import Finding, Verdict, judge
from soapstone.fit.bolt_up import BoltedUp
from soapstone.formula import Chain

_SOURCE = (
    "sampled: rigid parts shifted to suit (a cone program for each try); tolerances ISO 13920; "
    "take-up by common practice, no source"
)


def bolt_up_findings(found: Sequence[BoltedUp]) -> Iterator[Finding]:
    """One for each pattern, and one for each that says nowhere how its error is taken up."""
    for one in found:
        yield _goes_in(one)


def _goes_in(one: BoltedUp) -> Finding:
    pattern = one.pattern
    least = min((hole.room for hole in pattern.holes), default=0.0)
    chain = Chain()
    chain.given("n", one.tries, "1", "tries, errors drawn anew for each")
    chain.given("p", one.chance, "1", "share of them in which every bolt goes in")
    chain.given("p_w", one.wanted, "1", "share that is wanted")
    room = chain.given("r", least, "m", "room of the tightest hole, round its bolt")
    chain.given("w", max(one.wider, 0.0), "m", "how much wider every hole would have to be for that share")
    needed = chain.step("r_n", "r + w / 2", "m", "room that is needed")
    ratio, verdict = judge(needed, room)
    silent = [hole.name for hole in pattern.holes if hole.take_up is None]
    if verdict is Verdict.SHORT and len(silent) == len(pattern.holes):
        verdict = Verdict.OPEN
    return Finding(
        id=f"bolt-up:{pattern.name}",
        about=pattern.name,
        claim=f"all {len(pattern.holes)} bolts of {pattern.name} go in, {100 * one.wanted:.0f} times in 100",
        verdict=verdict,
        demand=needed,
        capacity=room,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source=_SOURCE,
        remedy="" if verdict is Verdict.HOLDS else _remedy(one, silent),
        caution="" if verdict is not Verdict.HOLDS else _beside(one),
        assumed=pattern.assumed,
    )


def _remedy(one: BoltedUp, silent: Sequence[str]) -> str:
    ways = []
    good = [name for name, chance in one.after.items() if chance >= one.wanted]
    if good:
        ways.append(f"drill {good[0]} on assembly")
    ways.append(f"make every hole {1e3 * one.wider:.1f} mm wider")
    if silent:
        ways.append(
            f"say under bolt up how the error of {', '.join(silent)} is taken up (made in place, shim, ...)"
        )
    hint = f"; {one.tightest} is most often in the way" if one.tightest else ""
    return ", or ".join(ways) + hint


def _beside(one: BoltedUp) -> str:
    shimmed = [hole.name for hole in one.pattern.holes if hole.side is None or hole.goes_by("shim")]
    if not shimmed:
        return ""
    most = max(2.0 * one.side[name] for name in shimmed)
    return f"before a bolt is tightened, shim gaps of up to {1e3 * most:.1f} mm beside {', '.join(shimmed)}"
