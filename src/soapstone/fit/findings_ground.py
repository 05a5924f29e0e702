"""Does everything keep clear of the ground, of ramps and of crests?"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding, Verdict
from soapstone.fit.floor import Bump
from soapstone.fit.ground import Low, crest_angle, ramp_angle
from soapstone.formula import Chain
from soapstone.job.room import Axle, Ground

Array = NDArray[np.float64]
Angles = Callable[[Array], Array]
_RIDE = "at ride height: the job gives no travel of the wheels"

_SOURCE = "geometry; what is wanted by the job"


def ground_findings(
    ground: Ground, lows: Sequence[Low], plane: str, bump: Bump | None = None
) -> Iterator[Finding]:
    """All that the job wants of the ground, and what it does not say.

    Parameters
    ----------
    ground : Ground
    lows : lowest first; empty where nothing is hung
    plane : name of the floor's plane; empty where the job has none
    bump : the vehicle with its wheels at their stops; None where the job gives no travel
    """
    if not plane:
        yield _unknown(
            "ground-clearance", "the ground", "give a plane that is of: floor, or name it under ground"
        )
        return
    if lows:
        yield _height(ground, lows, plane, bump)
        if bump is not None:
            yield _bumped(ground, lows, plane, bump)
    for key, wanted, axles in (
        ("approach", ground.approach, (ground.front,)),
        ("departure", ground.departure, (ground.rear,)),
        ("crest", ground.ramp, (ground.front, ground.rear)),
    ):
        if wanted is not None:
            yield _ramp(key, wanted, axles, lows)


def _unknown(kind: str, about: str, remedy: str) -> Finding:
    return Finding(
        id=f"{kind}:{about.replace(' ', '_')}",
        about=about,
        claim=f"{about} is far enough away",
        verdict=Verdict.OPEN,
        source=_SOURCE,
        remedy=remedy,
    )


def _height(ground: Ground, lows: Sequence[Low], plane: str, bump: Bump | None) -> Finding:
    """The lowest place of all, against what is wanted."""
    low = lows[0]
    chain = Chain()
    chain.given("z", low.height, "m", f"lowest place of {low.name} over {plane}, at rest")
    chain.given("m", low.sway, "m", "how far it goes under load")
    chain.given("u", low.within, "m", "how far that can be off, 95 in 100")
    left = chain.step("z_l", "z - m", "m", "what is left")
    opened = Finding(
        verdict=Verdict.OPEN,
        because=chain.steps,
        id=f"ground-clearance:{plane}",
        about=low.name,
        claim=f"{low.name} hangs high enough over {plane}",
        unit="m",
        source=_SOURCE,
        caution="; ".join(filter(None, (_flush(lows), "" if bump else _RIDE))),
        assumed=low.assumed,
    )
    if ground.at_least is None:
        return replace(
            opened,
            remedy="say under ground how much is wanted: at least",
        )
    chain.given("w", ground.at_least, "m", "ground clearance that is wanted")
    need = chain.step("z_n", "w + u", "m", "height that proves it")
    verdict = _judged(left, low.within, ground.at_least)
    short = 1e3 * (need - left)
    return replace(
        opened,
        verdict=verdict,
        demand=need,
        capacity=left,
        ratio=need / left if left > 0.0 else None,
        because=chain.steps,
        remedy="" if verdict is Verdict.HOLDS else f"raise it by {short:.1f} mm, or measure its height again",
    )


def _bumped(ground: Ground, lows: Sequence[Low], plane: str, bump: Bump) -> Finding:
    """The lowest place once the wheels are at their upper stops."""
    low = min(lows, key=lambda one: one.at(bump))
    wanted = ground.at_full_bump or 0.0
    chain = Chain()
    chain.given("z", low.at(bump) + low.sway, "m", f"lowest place of {low.name} over {plane} at full bump")
    chain.given("m", low.sway, "m", "how far it goes under load")
    chain.given("u", low.within, "m", "how far that can be off, 95 in 100")
    words = "it must not strike" if ground.at_full_bump is None else "ground clearance that is wanted there"
    chain.given("w", wanted, "m", words)
    left = chain.step("z_l", "z - m", "m", "what is left")
    need = chain.step("z_n", "w + u", "m", "height that proves it")
    verdict = _judged(left, low.within, wanted)
    short = 1e3 * (need - left)
    return Finding(
        id=f"ground-clearance:{plane}_at_full_bump",
        about=low.name,
        claim=f"{low.name} clears {plane} with the wheels at their upper stops",
        verdict=verdict,
        demand=need,
        capacity=left,
        unit="m",
        ratio=need / left if left > 0.0 else None,
        because=chain.steps,
        source=_SOURCE,
        remedy=""
        if verdict is Verdict.HOLDS
        else f"raise it by {short:.1f} mm, or let the wheels travel less",
        caution="tyres as at ride height",
        assumed=(*low.assumed, *bump.assumed),
    )


def _judged(has: float, within: float, wanted: float) -> Verdict:
    if has - within >= wanted:
        return Verdict.HOLDS
    return Verdict.SHORT if has + within < wanted else Verdict.OPEN


def _flush(lows: Sequence[Low]) -> str:
    """What hangs lowest beside it, and what a fastener that does not stand out would gain."""
    low, rest = lows[0], [other for other in lows[1:] if not other.fastener]
    if not rest:
        return ""
    gain = 1e3 * (rest[0].left - low.left)
    if low.fastener:
        return f"a flush fastener there would gain {gain:.1f} mm; then {rest[0].name} hangs lowest"
    return f"next is {rest[0].name}, {gain:.1f} mm higher"


def _ramp(key: str, wanted: float, axles: tuple[Axle | None, ...], lows: Sequence[Low]) -> Finding:
    words = {"approach": "ramp ahead", "departure": "ramp behind", "crest": "crest"}[key]
    known = [axle for axle in axles if axle is not None]
    if len(known) < len(axles):
        names = {"approach": "front", "departure": "rear", "crest": "front and rear"}[key]
        return _unknown(
            "ramp", key, f"give the wheels under ground: {names}, each with at and rolling radius"
        )
    angles, kept = _angles(key, known)
    found = [
        (float(angles(places - [0.0, low.sway + low.within]).min()), low)
        for low in lows
        if len(places := low.places[kept(low.places)])
    ]
    if not found:
        return Finding(
            id=f"ramp:{key}",
            about=key,
            claim=f"nothing of this job hangs over a {words}",
            verdict=Verdict.HOLDS,
            source=_SOURCE,
        )
    sure, low = min(found, key=lambda row: row[0])
    places = low.places[kept(low.places)]
    best = float(angles(places - [0.0, low.sway - low.within]).min())
    chain = Chain()
    has = chain.given(
        "a", sure, "rad", f"{words} that still goes under {low.name}, however its height turns out"
    )
    needs = chain.given("a_w", wanted, "rad", "what is wanted")
    verdict = Verdict.HOLDS if sure >= wanted else Verdict.SHORT if best < wanted else Verdict.OPEN
    return Finding(
        id=f"ramp:{key}",
        about=low.name,
        claim=f"a {words} of {np.degrees(wanted):.0f}° goes through under {low.name}",
        verdict=verdict,
        demand=needs,
        capacity=has,
        unit="rad",
        ratio=needs / has if has > 0.0 else None,
        because=chain.steps,
        source=_SOURCE,
        remedy="" if verdict is Verdict.HOLDS else f"raise {low.name}, or measure its height again",
        assumed=low.assumed,
    )


def _angles(key: str, axles: Sequence[Axle]) -> tuple[Angles, Callable[[Array], Array]]:
    """The angle at each place, and which places count."""
    if key == "crest":
        front, rear = axles
        ends = rear.at[0], rear.rolling_radius, front.at[0], front.rolling_radius
        return (
            lambda places: crest_angle(places, *ends),
            lambda places: np.asarray((places[:, 0] > rear.at[0]) & (places[:, 0] < front.at[0])),
        )
    axle, ahead = axles[0], 1.0 if key == "approach" else -1.0
    turned = np.array([ahead, 1.0])
    return (
        lambda places: ramp_angle(places * turned, ahead * axle.at[0], axle.rolling_radius),
        lambda places: np.asarray(ahead * (places[:, 0] - axle.at[0]) > 0.0),
    )
