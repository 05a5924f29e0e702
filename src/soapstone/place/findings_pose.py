"""What there is to say of a solved pose: every target, every limit, and which limits fight."""

from collections.abc import Sequence

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.place.answers import GEOMETRY, answered, size_words
from soapstone.place.solve import SETTLED, Answer, Limit, Miss, Room


def pose_findings(body: str, answer: Answer, fighting: Sequence[Limit] = ()) -> tuple[Finding, ...]:
    """One finding for each target and each limit.

    Parameters
    ----------
    body : str
    answer : Answer
    fighting : limits that cannot all be kept, from `soapstone.place.freedom.fighting`
    """
    pressing = [room.limit.measure.name for room in answer.rooms if room.pressure > 0.0]
    targets = [_target(body, miss, pressing) for miss in answer.misses]
    limits = [_limit(body, room, fighting) for room in answer.rooms]
    return (*targets, *limits)


def _target(body: str, miss: Miss, pressing: Sequence[str]) -> Finding:
    measure = miss.target.measure
    chain = Chain()
    parts = []
    for i, (off, wanted) in enumerate(zip(miss.off, miss.target.wanted, strict=True), start=1):
        chain.given(f"r_{i}", off + wanted, measure.unit, f"{measure.name}, as it sits")
        chain.given(f"w_{i}", float(wanted), measure.unit, f"{measure.name}, as asked")
        chain.step(f"d_{i}", f"abs(r_{i} - w_{i})", measure.unit, "how far it is off")
        parts.append(f"d_{i}")
    worst = parts[0] if len(parts) == 1 else f"max({', '.join(parts)})"
    demand = chain.step(
        "d", worst, measure.unit, "the larger of them" if len(parts) > 1 else "how far it is off"
    )
    within = chain.given("a", miss.target.within, measure.unit, "tolerance asked for")
    held = (
        f"what holds it back: {', '.join(pressing)}; move that, or" if pressing else "the targets pull apart;"
    )
    return answered(
        "pose-target",
        f"{body}.{measure.name}",
        f"{measure.name} is as asked",
        chain,
        demand,
        within,
        measure.unit,
        source=GEOMETRY,
        remedy=f"{held} allow {size_words(demand, measure.unit)} here",
    )


def _limit(body: str, room: Room, fighting: Sequence[Limit]) -> Finding:
    limit, measure = room.limit, room.limit.measure
    chain = Chain()
    demand, capacity = _sizes(chain, room)
    others = [other.measure.name for other in fighting if other is not limit]
    mine = any(other is limit for other in fighting) and bool(others)
    missing = size_words(-room.room, measure.unit)
    remedy = f"{measure.name} lacks {missing}"
    if mine:
        remedy = (
            f"{measure.name} cannot be kept together with {' and '.join(others)}; give way in one of them"
        )
    return answered(
        "pose-limit",
        f"{body}.{measure.name}",
        f"{measure.name} keeps its limit",
        chain,
        demand,
        capacity,
        measure.unit,
        source=GEOMETRY,
        remedy=remedy,
        caution="nothing is left to it" if room.touched and room.room >= -1e-6 else "",
    )


def _sizes(chain: Chain, room: Room) -> tuple[float, float]:
    """Demand and capacity: a gap against what must be left, or a value against the half width it may use."""
    limit, unit = room.limit, room.limit.measure.unit
    left = 0.0 if room.touched and room.room > -10 * SETTLED else room.room
    chain.given("s", left, unit, "room left to the limit; below zero it is broken")
    if np.isfinite(limit.least) and np.isfinite(limit.most):
        chain.given("l", limit.least, unit, "not below")
        chain.given("u", limit.most, unit, "not above")
        capacity = chain.step("h", "(u - l) / 2", unit, "half of what is allowed")
        return chain.step("d", "h - s", unit, "how far it is from the middle of that"), capacity
    if np.isfinite(limit.least):
        least = chain.given("l", limit.least, unit, "not below")
        found = chain.step("v", "l + s", unit, "as it sits")
        return (least, found) if least > 0.0 else _used(chain, unit)
    most = chain.given("u", limit.most, unit, "not above")
    found = chain.step("v", "u - s", unit, "as it sits")
    return (found, most) if most > 0.0 and found >= 0.0 else _used(chain, unit)


def _used(chain: Chain, unit: str) -> tuple[float, float]:
    """For a limit at or below zero: what it is exceeded by, against a tenth of a millimetre or of a mrad."""
    allowed = chain.given("a", 1e-4, unit, "what no gauge shows")
    return chain.step("x", "max(-s, 0)", unit, "how far it is exceeded"), allowed
