"""What a bender can make of a bent tube: radius, straights, wall, and which end goes first."""

import math
from collections.abc import Iterator
from dataclasses import replace

from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.job.hardware import Bender
from soapstone.job.schema import Job
from soapstone.parts.bent_part import BentPart
from soapstone.parts.bent_tube import bent_wall, swings
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout

_TIGHTEST = 3.0
"""Radius over outside diameter: FIA Appendix J 253-8.3.2.1.1 for cages, cold bending (from memory)."""
_TIGHTEST_MANDREL = 1.5
"""The same with a mandrel in the tube: common practice, no source."""


def bend_findings(job: Job, layout: Layout, parts: CutParts) -> tuple[Finding, ...]:
    """Every finding about the bent tubes; pure."""
    found: list[Finding] = []
    for name, part in parts.bent.items():
        member = job.members[name]
        bender = job.benders.get(member.bender or "")
        found.append(_radius(part, bender, _springback_words(job, name, part)))
        found += _straights(part, bender)
        least = job.stock[member.stock].least_wall
        if least is not None:
            found.append(_wall(part, least))
        found += _order(part, bender)
    return tuple(found)


def _springback_words(job: Job, name: str, part: BentPart) -> str:
    degrees = 90.0 * part.springback
    bender = job.benders.get(job.members[name].bender or "")
    if bender is not None and bender.springback is not None:
        return f"springback {degrees:.1f}° of 90°: measured, from the job"
    if not part.springback:
        return "springback: none taken, the metal's strength is unknown; bend a trial piece"
    return (
        f"springback {degrees:.1f}° of 90°: computed from the metal's strength, without the give of the"
        " bender; bend a trial piece"
    )


def _tightest(part: BentPart) -> float:
    return min(bend.radius for _, bend in part.path.bends)


def _radius(part: BentPart, bender: Bender | None, springback: str) -> Finding:
    chain = Chain()
    mandrel = bender is not None and bender.mandrel == "yes"
    factor = _TIGHTEST_MANDREL if mandrel else _TIGHTEST
    chain.given("D", part.shape.outside_diameter, "m", "outside diameter")
    chain.given("k", factor, "1", "tightest bend, in diameters" + (" with a mandrel" if mandrel else ""))
    capacity = chain.given("R", _tightest(part), "m", "radius of the axis in the tightest bend")
    demand = chain.step("R_min", "k * D", "m", "tightest radius that keeps the tube round")
    chain.step("e", "D / (2 * R)", "1", "stretch outside the bend")
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id=f"bend-radius:{part.name}",
        about=part.name,
        claim=f"no bend of {part.name} is so tight that the tube flattens or wrinkles",
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source="common practice, no source"
        if mandrel
        else "FIA Appendix J article 253-8.3 for safety cages (from memory)",
        remedy=""
        if verdict is Verdict.HOLDS
        else f"take a radius of {1e3 * demand:.0f} mm or more, or a bender with a mandrel",
        caution="Measure the first bend: its smaller outside diameter is at least 0.9 of the larger.",
        assumed=(springback,),
    )


def _straights(part: BentPart, bender: Bender | None) -> Iterator[Finding]:
    """The clamp needs straight tube between two bends; at the ends spare length does."""
    rows = part.table().rows
    if len(rows) < 2:
        return
    finding = Finding(
        id=f"bend-straight:{part.name}",
        about=part.name,
        claim=f"the clamp finds enough straight tube between the bends of {part.name}",
        verdict=Verdict.OPEN,
        remedy="name the bender under benders, with its clamp",
    )
    if bender is None:
        yield finding
        return
    chain = Chain()
    number = min(range(1, len(rows)), key=lambda row: rows[row].straight)
    capacity = chain.given(
        "l", max(rows[number].straight, 1e-9), "m", f"straight between bends {number} and {number + 1}"
    )
    demand = chain.given("c", bender.clamp, "m", "straight that the clamp needs, from the job")
    ratio, verdict = judge(demand, capacity)
    yield replace(
        finding,
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        remedy=""
        if verdict is Verdict.HOLDS
        else f"move the two corners {1e3 * (demand - capacity):.0f} mm apart, or take another clamp",
    )


def _wall(part: BentPart, least: float) -> Finding:
    chain = Chain()
    wall = bent_wall(part.shape, _tightest(part))
    demand = chain.given("t_min", least, "m", "wall that the job's rule asks for")
    chain.given("t", part.shape.wall, "m", "wall before bending")
    chain.given("R", _tightest(part), "m", "radius of the axis in the tightest bend")
    chain.given("D", part.shape.outside_diameter, "m", "outside diameter")
    capacity = chain.step("t_o", "t * R / (R + D / 2)", "m", "wall outside the bend")
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id=f"bend-wall:{part.name}",
        about=part.name,
        claim=f"the wall outside the bends of {part.name} is not thinner than the rule",
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source="volume kept, all of the stretch out of the wall: common practice, no source",
        remedy=""
        if verdict is Verdict.HOLDS
        else f"take a wall of {1e3 * least * part.shape.wall / capacity:.2f} mm or more, or a wider bend",
        caution=f"Inside the bend it thickens to {1e3 * wall.inside:.2f} mm.",
    )


def order_of(part: BentPart, bender: Bender) -> tuple[bool, float, float]:
    """Whether to bend from B first, the most that the tube then hangs down, and its least gap; m."""
    assert bender.turns is not None and bender.room_below is not None
    found = []
    for from_b in (False, True):
        line = part.path.reverse if from_b else part.path
        made = swings(line, turns_right=bender.turns == "right", springback=part.springback)
        below, gap = max(swing.below for swing in made), min(swing.gap for swing in made)
        misses = max(0.0, below - _room(part, bender)) + max(0.0, part.shape.outside_diameter - gap)
        found.append((misses, from_b, below, gap))
    _, from_b, below, gap = min(found)
    return from_b, below, gap


def _room(part: BentPart, bender: Bender) -> float:
    assert bender.room_below is not None
    return bender.room_below - part.shape.outside_diameter / 2.0


def _order(part: BentPart, bender: Bender | None) -> Iterator[Finding]:
    if bender is None or bender.turns is None:
        return
    from_b, below, gap = order_of(part, bender)
    room, outside = _room(part, bender), part.shape.outside_diameter
    chain = Chain()
    chain.given("h", below, "m", "most that the middle of the formed tube hangs below the die")
    chain.given("r", room, "m", "room below the die, less half the tube")
    chain.given("g", min(gap, 1e3), "m", "least distance of formed and raw tube, middle to middle")
    chain.given("D", outside, "m", "outside diameter")
    demand = chain.step("u", "max(h / r, D / g)", "1", "share of the room that is used")
    ratio, verdict = judge(demand, 1.0)
    first = "B" if from_b else "A"
    yield Finding(
        id=f"bend-order:{part.name}",
        about=part.name,
        claim=f"bent from end {first} on, {part.name} hits neither the floor nor itself",
        verdict=verdict,
        demand=demand,
        capacity=1.0,
        unit="1",
        ratio=ratio,
        because=chain.steps,
        source="geometry of a draw bender whose die lies level",
        remedy=""
        if verdict is Verdict.HOLDS
        else "raise the bender, or make the tube of two pieces: neither end first clears",
        caution="The bender's own frame, beside and behind its die, is not looked at.",
    )


def inside_from_clocking(part: BentPart, end: int) -> float:
    """rad from the clocking line to the inside of the bend next to an end, clockwise seen from end A."""
    leg = part.leg_b if end else part.leg_a
    assert leg is not None
    start, bend = part.path.bends[-1 if end else 0]
    inside = bend.side
    if end:
        inside = (bend.origin + bend.radius * bend.side - part.path.point(start + bend.length)) / bend.radius
    return math.atan2(float(inside @ leg.axes.z), float(inside @ leg.axes.y))


def heel_from_bend(part: BentPart, end: int) -> float | None:
    """rad from the inside of the bend next to an end to the heel of its cut, clockwise seen from that end.

    None where the end is square, or looks the same all round.
    """
    leg = part.leg_b if end else part.leg_a
    if leg is None:
        return None
    cut = leg.end_b if end else leg.end_a
    if cut.heel is None:
        return None
    turn = cut.heel - inside_from_clocking(part, end)
    if end:  # seen from end B the tube runs away from its own direction
        turn = -turn
    return (turn + math.pi) % (2 * math.pi) - math.pi
