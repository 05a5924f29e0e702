"""Does a tool reach every bolt, does it lie flat, can it be drawn out? Is there room for service?"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from soapstone.finding import Finding, Verdict, judge
from soapstone.fit.fasteners import Fastener
from soapstone.fit.reach import From, Reached, Turned
from soapstone.fit.service import Served
from soapstone.formula import Chain
from soapstone.tables.tools import washer_outside

_PRACTICE = "common practice, no source"


def reach_findings(found: Sequence[Reached]) -> Iterator[Finding]:
    """Three for each bolt: turned, drawn out, lying flat."""
    for one in found:
        yield _reach(one)
        yield _drawn(one)
        yield _seat(one.bolt)


def _reach(one: Reached) -> Finding:
    way, bolt = one.best, one.bolt
    turning = way.turned
    best = turning or max((*way.head, *way.nut), key=lambda tried: tried.swing - tried.tool.swing)
    chain = Chain()
    has = chain.given("a", best.swing, "rad", f"angle that the {best.tool.name} has to swing")
    needs = chain.given("a_n", best.tool.swing, "rad", "angle that it needs, to be put on anew")
    verdict = Verdict.HOLDS if turning else Verdict.SHORT
    remedy = "" if turning else _remedy(one, best)
    if turning and way.torque is not None and not way.torque.turns:
        verdict = Verdict.OPEN
        reach = 1e3 * way.torque.tool.handle
        remedy = f"find a torque wrench of less than {reach:.0f} mm that goes in"
    nut = "" if not way.nut else "; the nut is held from the other side"
    what = f"the {bolt.size.name} of {bolt.name}"
    return Finding(
        id=f"reach:{bolt.name}",
        about=bolt.name,
        claim=f"{_a(best.tool.name)} turns {what} from the {way.side.words}{nut}",
        verdict=verdict,
        demand=needs,
        capacity=has,
        unit="rad",
        ratio=needs / has if has > 0.0 else None,
        because=chain.steps,
        source=best.tool.source,
        remedy=remedy,
        caution="everything stands where it is when all is fitted" if turning else "",
    )


def _a(name: str) -> str:
    return f"an {name}" if name.startswith("open") else f"a {name}"


def _remedy(one: Reached, best: Turned) -> str:
    stops = ", ".join(best.stopped_by[:2]) or "what stands round it"
    return f"make room at {stops}, or turn the bolt's axis, or tighten it before {stops} is there"


def _drawn(one: Reached) -> Finding:
    way, bolt = one.best, one.bolt
    chain = Chain()
    free = chain.given("l_f", way.free, "m", f"free along its axis to the {way.side.words}")
    opened = Finding(
        verdict=Verdict.OPEN,
        because=chain.steps,
        id=f"draw-out:{bolt.name}",
        about=bolt.name,
        claim=f"the {bolt.size.name} of {bolt.name} goes in and out from the {way.side.words}",
        source="its length is the least that is sold; " + _PRACTICE,
    )
    if bolt.length is None:
        return replace(
            opened,
            remedy=f"give the boss that {bolt.name} screws into",
        )
    length = chain.given("l", bolt.length, "m", "its length under the head")
    chain.given("h", bolt.head.height, "m", "height of its head")
    needed = chain.step("l_n", "l + h", "m", "room to draw it out")
    ratio = needed / free if free > 0.0 else None
    verdict = Verdict.HOLDS if way.drawn else Verdict.SHORT
    return replace(
        opened,
        verdict=verdict,
        demand=needed,
        capacity=free,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        remedy="" if way.drawn else _draw_remedy(one, way, length),
        caution="put in the other way round it stays in" if way.drawn and len(one.ways) > 1 else "",
    )


def _draw_remedy(one: Reached, way: From, length: float) -> str:
    short = 1e3 * ((way.needed or length) - way.free)
    ways = [f"{short:.0f} mm more room at {way.stopped_by}", "turn its axis"]
    if one.bolt.sides[0].far is None:
        ways.insert(1, f"a bolt {short:.0f} mm shorter, if its thread still holds")
    else:
        ways.insert(1, f"put it in before {way.stopped_by} is there")
    return ", or ".join(ways)


def _seat(bolt: Fastener) -> Finding:
    outside, source = washer_outside(bolt.size)
    chain = Chain()
    room = chain.given("r", bolt.to_weld, "m", "from the hole's middle to the foot of its plate")
    chain.given("d", outside, "m", f"outside of a washer for {bolt.size.name}")
    opened = Finding(
        verdict=Verdict.OPEN,
        because=chain.steps,
        id=f"bolt-seat:{bolt.name}",
        about=bolt.name,
        claim=f"the washer of {bolt.name} lies flat, clear of the weld",
        source=source,
    )
    if bolt.leg is None:
        return replace(
            opened,
            remedy=f"give the fillet of {bolt.name} under welds",
        )
    chain.given("z", bolt.leg, "m", "leg of the fillet at that foot")
    needed = chain.step("r_n", "d / 2 + z", "m", "room that washer and bead take")
    ratio, verdict = judge(needed, room)
    return replace(
        opened,
        verdict=verdict,
        demand=needed,
        capacity=room,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        remedy="" if verdict is Verdict.HOLDS else f"make its plate {1e3 * (needed - room):.1f} mm longer",
    )


def service_findings(found: Sequence[Served]) -> Iterator[Finding]:
    """One for each service point."""
    for one in found:
        chain = Chain()
        chain.given("n", len(one.stands_in), "1", "things that stand in the room that is needed")
        yield Finding(
            id=f"service-point:{one.name}",
            about=one.name,
            claim=f"the room that {one.name} needs is free",
            verdict=Verdict.SHORT if one.stands_in else Verdict.HOLDS,
            because=chain.steps,
            source="the job",
            remedy=(
                f"move {', '.join(one.stands_in)} out of it, or say under past that it comes off first"
                if one.stands_in
                else ""
            ),
            caution=f"{', '.join(one.past)} comes off first" if one.past else "",
        )
