"""Does a thread hold: the bolt's own or the tapped metal stripping out."""

from collections.abc import Sequence

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    put_ultimate,
    strength_gap,
    unanswered,
    worst,
)
from soapstone.strength.shapes import Array
from soapstone.tables import BoltClass, BoltSize, Material, safety_factor, sources, thread_limits

_CLAIM = "the thread does not strip before the bolt has done its work"
_SOURCE = (
    "FED-STD-H28/2B thread shear areas with the least bolt in the largest hole; shear strength 0.6 of the "
    "ultimate and safety factor AISC 360-22 J4.2 (ASD)"
)
_CAUTION = "A casting's thread that the bolt has been in and out of a few times holds less."


def strip_areas(chain: Chain, size: BoltSize) -> None:
    """Shear area per length of the bolt's thread and of the tapped one, m²/m; the size must have limits."""
    limits = thread_limits(size)
    if limits is None:
        raise ValueError(size.name)
    title = sources()[limits.source].title
    chain.given("p", size.pitch, "m", f"pitch of {size.name}")
    chain.given("D_s", limits.major, "m", f"least outside diameter of the bolt, {title}")
    chain.given("E_s", limits.pitch, "m", "least pitch diameter of the bolt")
    chain.given("K_n", limits.internal_minor, "m", "largest hole of the tapped thread")
    chain.given("E_n", limits.internal_pitch, "m", "largest pitch diameter of the tapped thread")
    chain.step("a_s", "pi / p * K_n * (p / 2 + 0.57735 * (E_s - K_n))", "m", "bolt thread, area per length")
    chain.step("a_n", "pi / p * D_s * (p / 2 + 0.57735 * (D_s - E_n))", "m", "tapped thread, area per length")


def _gap(size: BoltSize, material: Material) -> str:
    gap = strength_gap(material)
    if not gap and thread_limits(size) is None:
        gap = f"the table has no limits of size for {size.name}: give a size it has"
    return gap


def thread(
    *,
    name: str,
    size: BoltSize,
    grade: BoltClass,
    material: Material,
    engaged: float,
    pull: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge a tapped thread against what pulls on its bolt.

    Parameters
    ----------
    material : Material
        Of the tapped part.
    engaged : float
        Length of full thread screwed in, m.
    pull : Array
        (n_cases,) N along the bolt, its preload included.

    Returns
    -------
    Finding
        `thread:NAME`; `open` when the strength or the thread's limits are unknown.
    """
    id = f"thread:{name}"
    gap = _gap(size, material)
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    force, case = worst(name, pull, cases)
    chain = Chain()
    demand = chain.given("P", force, "N", "pull on the thread, preload included")
    chain.given("l_e", engaged, "m", "full thread engaged")
    strip_areas(chain, size)
    chain.given("F_b", grade.ultimate_strength, "Pa", f"ultimate strength of class {grade.name}")
    put_ultimate(chain, "F_n", material)
    chain.given("omega", safety_factor("rupture").value, "1", "safety factor, AISC 360-22 J4")
    chain.step("P_s", "0.6 * F_b * a_s * l_e / omega", "N", "the bolt's own thread")
    chain.step("P_n", "0.6 * F_n * a_n * l_e / omega", "N", "the tapped thread")
    capacity = chain.step("P_allow", "min(P_s, P_n)", "N", "the weaker of the two")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "N",
        case=case,
        source=_SOURCE,
        remedy=lambda ratio: f"screw the bolt in {length_words(engaged * ratio)}, or fit a thread insert",
        caution=_CAUTION,
        assumed=material_assumptions(material),
    )


def engagement(*, name: str, size: BoltSize, grade: BoltClass, material: Material, engaged: float) -> Finding:
    """Judge whether the bolt breaks before its thread strips: `engagement:NAME`, lengths in m.

    Needed length 2 A_t/a_s, times J = a_s F_b/(a_n F_n) where the tapped metal is the weaker (H28).
    """
    id, claim = f"engagement:{name}", "the bolt would break before its thread strips"
    gap = _gap(size, material)
    if gap:
        return unanswered(id, claim, gap, source=_SOURCE)
    chain = Chain()
    capacity = chain.given("l_e", engaged, "m", "full thread engaged")
    chain.given("A_t", size.stress_area, "m**2", f"stress area of {size.name}")
    strip_areas(chain, size)
    chain.given("F_b", grade.ultimate_strength, "Pa", f"ultimate strength of class {grade.name}")
    put_ultimate(chain, "F_n", material)
    chain.step("l_1", "2 * A_t / a_s", "m", "length where the bolt's thread is as strong as its core")
    chain.step("J", "max(1, a_s * F_b / (a_n * F_n))", "1", "more, where the tapped metal is weaker")
    demand = chain.step("l_min", "J * l_1", "m", "length needed")
    return answered(
        id,
        claim,
        chain,
        demand,
        capacity,
        "m",
        source=_SOURCE.partition("; shear")[0],
        remedy=lambda _: f"screw the bolt in {length_words(demand)} or fit a thread insert",
        assumed=material_assumptions(material),
    )
