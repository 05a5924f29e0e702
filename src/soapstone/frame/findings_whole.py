"""What is to be said of the frame as a whole: buckling, bending that feeds on itself, speeds that shake."""

import re
from collections.abc import Iterator, Mapping
from math import pi

import numpy as np

from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.frame.modes import Modes
from soapstone.frame.whole import BENT, DESIGN, STRAIGHT, Whole
from soapstone.job.service import Running
from soapstone.tables import safety_factor

_BUCKLING = "AISC 360-22 E3 (0.877 of the elastic load, ASD 1.67); linear buckling of the whole frame"
_SECOND = "EN 1993-1-1 5.2.1(3) and 5.2.2(5)"
_CLEAR = "DIN 4024-1 (from memory): a fifth below or a quarter above"
_BEAM = re.compile(r"(?<=\w)/\d+")
_HELD = "a case grows as a whole, with the warmth and the forced holes in it"


def whole_findings(
    whole: Whole, code: str, running: Mapping[str, Running], assumed: tuple[str, ...] = ()
) -> Iterator[Finding]:
    """`frame-buckling`, `second-order`, and a `resonance` for every running speed."""
    if np.isfinite(whole.factors).any():
        yield frame_buckling(whole)
        yield bent_frame(whole, code)
    for name, spec in running.items() if whole.swing.frequencies.any() else ():
        yield resonance(name, spec, whole, assumed)


def plain(words: str) -> str:
    """The words for a shape with tubes for their beams: `cross_1` for `cross_1/6`."""
    return _BEAM.sub("", words)


def _worst(whole: Whole) -> tuple[int, str]:
    case = int(whole.factors.argmin())
    return case, plain(whole.buckling[case].words[0])


def frame_buckling(whole: Whole) -> Finding:
    """Does every case stay far enough below what buckles the frame."""
    case, words = _worst(whole)
    chain = Chain()
    capacity = chain.given("alpha_cr", whole.factors[case], "1", f"times this case: {words}")
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22 E1")
    demand = chain.step("alpha_min", "omega / 0.877", "1", "least; 0.877 for tubes that are not straight")
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id="frame-buckling:frame",
        about="frame",
        claim="the frame stands far below the load that would buckle it as a whole",
        verdict=verdict,
        case=whole.buckling[case].case,
        demand=demand,
        capacity=capacity,
        ratio=ratio,
        because=chain.steps,
        source=_BUCKLING,
        remedy=f"stiffen what goes first ({words}): a larger tube there, or a brace across"
        if verdict is Verdict.SHORT
        else "",
        caution="The metal yielding before it buckles is left to the findings of the tubes.",
        assumed=(_HELD,),
    )


def bent_frame(whole: Whole, code: str) -> Finding:
    """Do the forces count what the loads add by acting on the bent frame."""
    case, words = _worst(whole)
    times, clause = DESIGN[code]
    chain = Chain()
    chain.given("alpha_cr", whole.factors[case], "1", f"times this case buckles the frame: {words}")
    chain.given("gamma", times, "1", clause)
    capacity = chain.step("alpha", "alpha_cr / gamma", "1", "times the design loads")
    straight = capacity >= STRAIGHT
    limit = STRAIGHT if straight else BENT
    why = "forces of the straight frame will do" if straight else "forces of the bent frame will do"
    demand = chain.given("alpha_min", limit, "1", f"least for which {why}")
    ratio, verdict = judge(demand, capacity)
    if verdict is Verdict.SHORT:
        verdict = Verdict.OPEN
    bent = [b.case for b, second in zip(whole.buckling, whole.second, strict=True) if second]
    return Finding(
        id="second-order:frame",
        about="frame",
        claim="the forces that the checks use count what the loads add by acting on the bent frame",
        verdict=verdict,
        case=whole.buckling[case].case,
        demand=demand,
        capacity=capacity,
        ratio=ratio,
        because=chain.steps,
        source=_SECOND,
        remedy=f"the frame is too near to buckling for these forces: stiffen what goes first ({words})"
        if verdict is Verdict.OPEN
        else "",
        caution="Tubes that are welded out of line start bent: this counts them as straight.",
        assumed=tuple(f"{name}: every check uses the forces of the bent frame (P-delta)" for name in bent),
    )


def resonance(name: str, spec: Running, whole: Whole, assumed: tuple[str, ...]) -> Finding:
    """Does a running speed keep clear of every way in which the frame swings."""
    chain = Chain()
    chain.given("n", spec.speed / (2.0 * pi), "Hz", f"turns a second at {name}")
    chain.given("k", spec.shakes, "1", "shakes for one turn")
    shaking = chain.step("f", "n * k", "Hz", "what shakes the frame")
    own, words, load = _nearest(whole, shaking)
    chain.given("f_n", own, "Hz", f"the frame's own, {load}: {words}")
    if own >= shaking:
        demand = chain.step("f_up", "f * 1.25", "Hz", "a quarter above")
        capacity = own
    else:
        demand = chain.step("f_n125", "f_n * 1.25", "Hz", "the speed, a quarter above it")
        capacity = shaking
    ratio, verdict = judge(demand, capacity)
    notes = assumed
    if "shakes" not in spec.model_fields_set:
        notes += (f"{name}: shakes once a turn, as what is out of balance does (assumed)",)
    return Finding(
        id=f"resonance:{name}",
        about=name,
        claim="no way in which the frame swings lies near this speed",
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="Hz",
        ratio=ratio,
        because=chain.steps,
        source=_CLEAR,
        remedy=_retune(own >= shaking) if verdict is Verdict.SHORT else "",
        caution="Computed with joints that do not slip, mounts as the job has them: tap it and listen.",
        assumed=notes,
    )


def _retune(above: bool) -> str:
    way = "stiffen it" if above else "soften it, or hang it on softer mounts"
    return f"{way} where it swings, or keep the speed away from it"


def _nearest(whole: Whole, shaking: float) -> tuple[float, str, str]:
    """The mode nearest to a frequency on the scale of ratios."""
    found: list[tuple[float, float, str, str]] = []
    loads: list[tuple[Modes, str]] = [(whole.swing, "unloaded")]
    if whole.loaded is not None:
        loads.append((whole.loaded, f"under {whole.under}"))
    for swing, load in loads:
        for own, words in zip(swing.frequencies, swing.words, strict=True):
            if own > 0.0:
                found.append((abs(float(np.log(own / shaking))), float(own), words, load))
    _, own, words, load = min(found)
    return own, plain(words), load
