"""A bolt in double shear bent like a pin across the gaps between two plates and the part between them."""

import math
from collections.abc import Sequence

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import answered, per_case, unanswered
from soapstone.strength.bolts import next_bolt, put_areas, shear_area, shear_strength
from soapstone.strength.shapes import Array
from soapstone.tables import BoltClass, BoltSize, safety_factor, sources

_CLAIM = "the bolt does not bend across the gaps between the plates and what it holds"
_SOURCE = (
    "moment and its interaction with shear EN 1993-1-8 figure 3.11 and table 3.10; strength of a round bar "
    "in bending AISC 360-22 F11 (ASD), shear AISC 360-22 J3.7 (ASD)"
)
_CAUTION = "A bolt tightened until the gaps close bends the plates instead: fill the gaps with washers first."
_ASSUMED = (
    "the load spreads evenly over the part between the plates, on the safe side for a long bung",
    "the bolt is bent like a pin, as if its clamping did not help",
)


def bending_moment(force: Array, outer: float, gap: float, inner: float) -> Array:
    """Greatest moment in the bolt, N·m: F (b + 4c + 2a)/8 (EN 1993-1-8 figure 3.11); lengths in m."""
    return np.asarray(force * (inner + 4 * gap + 2 * outer) / 8)


def bending_strength(size: BoltSize, grade: BoltClass, threads_in_span: bool) -> float:
    """Allowable moment, N·m: the lesser of Fy Z and 1.6 Fy S, over Ω (AISC 360-22 F11)."""
    d = size.stress_diameter if threads_in_span else size.diameter
    nominal = min(grade.yield_strength * d**3 / 6, 1.6 * grade.yield_strength * math.pi * d**3 / 32)
    return nominal / safety_factor("yield").value


def utilisation(
    size: BoltSize, grade: BoltClass, force: Array, spans: tuple[float, float, float], threads_in_span: bool
) -> Array:
    """Root of (M/M_allow)² + (F/2V_allow)² (EN 1993-1-8 table 3.10); `spans` are outer, gap, inner, m."""
    bending = bending_moment(force, *spans) / bending_strength(size, grade, threads_in_span)
    shear = force / (2 * shear_strength(size, grade, threads_in_span))
    return np.sqrt(bending**2 + shear**2)


def bolt_bending(
    *,
    name: str,
    size: BoltSize | None,
    grade: BoltClass | None,
    force: Array,
    outer: float,
    gap: float | None,
    inner: float,
    threads_in_span: bool,
    cases: Sequence[str],
) -> Finding:
    """Judge a bolt in double shear with a gap on each side.

    Parameters
    ----------
    force : Array
        (n_cases,) N across the bolt, from the part in the middle.
    outer : float
        Thickness of each outer plate, m.
    gap : float or None
        Between each plate and the part, m.
    inner : float
        Length of the part in the middle, m.

    Returns
    -------
    Finding
        `bolt-bending:NAME`; `open` when the bolt or the gap is missing. The demand is the root of the summed
        squares, so it grows in step with the load.
    """
    id = f"bolt-bending:{name}"
    if size is None or grade is None or gap is None:
        missing = "the bolt or the gap beside the part is missing: give both"
        return unanswered(id, _CLAIM, missing, source=_SOURCE)
    across = np.abs(per_case(name, force, cases))
    spans = (outer, gap, inner)
    case = int(np.argmax(across))
    chain = _chain(size, grade, across[case], spans, threads_in_span)
    return answered(
        id,
        _CLAIM,
        chain,
        chain["u"],
        1.0,
        "1",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda _: _remedy(size, grade, across, spans, threads_in_span),
        caution=_CAUTION,
        assumed=_ASSUMED,
    )


def _remedy(
    size: BoltSize, grade: BoltClass, force: Array, spans: tuple[float, float, float], threads_in_span: bool
) -> str:
    def holds(other: BoltSize, strength: BoltClass) -> bool:
        return bool(np.max(utilisation(other, strength, force, spans, threads_in_span)) <= 1.0)

    closed = (spans[0], 0.0, spans[2])
    if np.max(utilisation(size, grade, force, closed, threads_in_span)) <= 1.0:
        return "fill the gaps with hard washers"
    return next_bolt(size, grade, holds)


def _chain(
    size: BoltSize, grade: BoltClass, force: float, spans: tuple[float, float, float], threads_in_span: bool
) -> Chain:
    title = sources()[grade.source].title
    d = size.stress_diameter if threads_in_span else size.diameter
    bar = "diameter of a bar of the thread's stress area" if threads_in_span else "plain shank"
    chain = Chain()
    chain.given("F", force, "N", "force across the bolt")
    chain.given("a", spans[0], "m", "thickness of each outer plate")
    chain.given("c", spans[1], "m", "gap on each side")
    chain.given("b", spans[2], "m", "length of the part between")
    chain.step("M", "F * (b + 4 * c + 2 * a) / 8", "N*m", "moment in the bolt")
    chain.given("d", d, "m", f"{size.name}: {bar}")
    put_areas(chain, size)
    chain.given("f_y", grade.yield_strength, "Pa", f"yield strength of class {grade.name}, {title}")
    chain.given("F_u", grade.ultimate_strength, "Pa", f"ultimate strength of class {grade.name}")
    chain.given("omega_y", safety_factor("yield").value, "1", "safety factor, AISC 360-22 F1")
    chain.given("omega", safety_factor("bolt").value, "1", "safety factor, AISC 360-22 J3.7")
    chain.step(
        "M_allow", "min(f_y * d**3 / 6, 1.6 * f_y * pi * d**3 / 32) / omega_y", "N*m", "allowable moment"
    )
    words = "allowable shear, two planes"
    chain.step("V_allow", f"2 * F_u * {shear_area(size, threads_in_span)} / omega", "N", words)
    chain.step("u", "sqrt((M / M_allow)**2 + (F / V_allow)**2)", "1", "both together")
    return chain
