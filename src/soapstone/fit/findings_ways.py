"""Does each body go in, and can all of it be put together: one finding for each stage, one for each knot."""

from collections.abc import Iterator, Sequence
from typing import Any

from soapstone.finding import Finding, Verdict
from soapstone.fit.going_in import Brought
from soapstone.fit.order import Order
from soapstone.formula import Chain
from soapstone.job.ways import WayIn

_SOURCE = (
    "every step proven clear between convex pieces; held proven by a linear program of points near faces; "
    "what a jack or hoist can do is the job's own"
)


def way_findings(found: Sequence[Brought]) -> Iterator[Finding]:
    """One for each stage."""
    for one in found:
        yield _goes_in(one)


def order_findings(order: Order | None, brought: Sequence[Brought]) -> Iterator[Finding]:
    """One, open, for each knot of bodies that no straight line takes apart and no stage moves as one."""
    found = [{*one.spec.move.split(" with ")} for one in brought if one.way is not None]
    for knot in order.knots if order else ():
        if any({*knot.names} <= names for names in found):
            continue
        yield Finding(
            id=f"order:{knot.names[0]}",
            about=", ".join(knot.names),
            claim=f"{_listed(knot.names)} can be taken out one after another, each in a straight line",
            verdict=Verdict.OPEN,
            source="each body moved past each other along the vehicle's axes",
            remedy="in each other's way: "
            + "; ".join(f"{name} is held by {_listed(by)}" for name, by in knot.held_by.items())
            + "; say under way in how they go in",
        )


def _goes_in(one: Brought) -> Finding:
    spec = one.spec
    if one.way is None:
        return _does_not(one)
    assert one.tight is not None
    chain = Chain()
    needed = chain.given("g_w", spec.gap, "m", "gap to be kept on the way")
    least = chain.given("g", min(one.tight.gap, 1.0), "m", "gap at the tightest place")
    ratio = chain.step("u", "g_w / g", "1", "wanted over found")
    how = "in a straight line" if one.straight else f"in {len(one.way.middles) - 1} moves"
    tight = (
        f"tightest {1e3 * one.tight.from_seat:.0f} mm before it sits, "
        f"{one.tight.part} beside {one.tight.other}"
        if one.tight.part
        else "nothing is near the way"
    )
    return Finding(
        id=f"way-in:{spec.move}",
        about=spec.move,
        claim=f"{spec.move} goes in from {spec.from_}",
        verdict=Verdict.HOLDS,
        demand=needed,
        capacity=least,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        source=_SOURCE,
        caution=f"{how}; {tight}",
        assumed=_assumed(spec),
    )


def _does_not(one: Brought) -> Finding:
    spec = one.spec
    beside = f", between {_listed(one.near)}" if one.near else ""
    if one.locked:
        why = f"{_held(spec)}{beside}"
    elif one.seat_gap < spec.gap:
        why = (
            f"in its place it is {1e3 * one.seat_gap:.2f} mm from {one.near[0]}, less than the gap of "
            f"{1e3 * spec.gap:.2f} mm to be kept"
        )
    else:
        why = f"no way was found in {spec.steps} steps{beside}; that proves nothing, more steps may find one"
    frees = "; it goes in if you " + ", or ".join(one.frees) if one.frees else _nothing_frees(one)
    return Finding(
        id=f"way-in:{spec.move}",
        about=spec.move,
        claim=f"{spec.move} goes in from {spec.from_}",
        verdict=Verdict.SHORT if one.locked else Verdict.OPEN,
        **_locked(one),
        source=_SOURCE,
        remedy=why + frees,
        assumed=_assumed(spec),
    )


def _locked(one: Brought) -> dict[str, Any]:
    """How far it gets against how far it would have to."""
    if one.held_within is None:
        return {}
    chain = Chain()
    wanted = chain.given("s_w", one.wanted, "m", "way from its place to outside")
    most = chain.given("s", one.held_within, "m", "farthest its middle can get")
    ratio = chain.step("u", "s_w / s", "1", "wanted over found")
    return {"demand": wanted, "capacity": most, "unit": "m", "ratio": ratio, "because": chain.steps}


def _held(spec: WayIn) -> str:
    return (
        "it is held fast in its place" if spec.tilt else "not turned or leant, it is held fast in its place"
    )


def _nothing_frees(one: Brought) -> str:
    if one.seat_gap < one.spec.gap:
        return "; ask for less, or give it more room there"
    return "; no single change that was tried lets it in"


def _assumed(spec: WayIn) -> tuple[str, ...]:
    told = []
    if "shift" not in spec.model_fields_set:
        told.append(f"it can be moved {1e3 * spec.shift:.0f} mm to either side on the way: own choice")
    if "tilt" not in spec.model_fields_set:
        told.append("it is neither turned nor leant on the way: own choice")
    if spec.travel is None:
        told.append("the jack or hoist reaches past everything that stands: own choice")
    return tuple(told)


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
