"""Does a bolt hold: shear in one or two planes, with tension, and bent across a gap."""

from collections.abc import Callable, Sequence

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import answered, per_case, unanswered
from soapstone.strength.shapes import Array
from soapstone.tables import BoltClass, BoltSize, Status, bolt_classes, bolt_sizes, safety_factor, sources

_CLAIM = "the bolt carries its shear and its pull together"
_SOURCE = (
    "AISC 360-22 table J3.2 (shear 0.450 or 0.563, tension 0.75 of the ultimate on the nominal area) and "
    "J3.8 with the elliptical interaction of its commentary"
)
_SMALL = (
    "bolts under 1/2 in (M12) lie below the range AISC lists; the same fractions of the ultimate are used"
)
_CAUTION = (
    "Prying, loosening and fatigue are not part of this check: lock the nut and look again after the first "
    "drive."
)

BoltTest = Callable[[BoltSize, BoltClass], bool]


def shear_strength(size: BoltSize, grade: BoltClass, threads_in_plane: bool) -> float:
    """Allowable shear of one plane, N (AISC 360-22 J3.7, ASD)."""
    share = 0.450 if threads_in_plane else 0.563
    return share * grade.ultimate_strength * size.shank_area / safety_factor("bolt").value


def tension_strength(size: BoltSize, grade: BoltClass) -> float:
    """Allowable pull, N (AISC 360-22 J3.7, ASD)."""
    return 0.75 * grade.ultimate_strength * size.shank_area / safety_factor("bolt").value


def utilisation(
    size: BoltSize, grade: BoltClass, shear: Array, tension: Array, planes: int, threads_in_plane: bool
) -> Array:
    """Root of the summed squares of the shares of shear and pull, shape of `shear`; a push does not count."""
    in_shear = shear / (planes * shear_strength(size, grade, threads_in_plane))
    in_tension = np.maximum(tension, 0.0) / tension_strength(size, grade)
    return np.sqrt(in_shear**2 + in_tension**2)


def bolt(
    *,
    name: str,
    size: BoltSize | None,
    grade: BoltClass | None,
    shear_per_bolt: Array,
    tension: Array,
    planes: int,
    threads_in_plane: bool,
    cases: Sequence[str],
) -> Finding:
    """Judge one bolt.

    Parameters
    ----------
    shear_per_bolt : Array
        (n_cases,) N, the whole shear on the bolt over all its planes.
    tension : Array
        (n_cases,) N along the bolt, pull positive.
    planes : int
        1 (single shear) or 2 (double shear).

    Returns
    -------
    Finding
        `bolt:NAME`; `open` when size or class is missing.
    """
    id = f"bolt:{name}"
    if size is None or grade is None:
        missing = "the bolt's size or class is missing: give both, such as M12 10.9"
        return unanswered(id, _CLAIM, missing, source=_SOURCE)
    if planes not in (1, 2):
        missing = f"a bolt in {planes} shear planes is outside the formula: only 1 or 2 share evenly"
        return unanswered(id, _CLAIM, missing, source=_SOURCE)
    shear, pull = per_case(name, shear_per_bolt, cases), per_case(name, tension, cases)
    use = utilisation(size, grade, shear, pull, planes, threads_in_plane)
    case = int(np.argmax(use))
    chain = _chain(size, grade, shear[case], pull[case], planes, threads_in_plane)

    def holds(other: BoltSize, strength: BoltClass) -> bool:
        return bool(np.max(utilisation(other, strength, shear, pull, planes, threads_in_plane)) <= 1.0)

    return answered(
        id,
        _CLAIM,
        chain,
        chain["u"],
        1.0,
        "1",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda _: next_bolt(size, grade, holds),
        caution=_CAUTION,
        assumed=_assumed(size, planes),
    )


def _chain(
    size: BoltSize, grade: BoltClass, shear: float, tension: float, planes: int, threads_in_plane: bool
) -> Chain:
    share = "0.450" if threads_in_plane else "0.563"
    where = "threads in the shear plane" if threads_in_plane else "plain shank in the shear plane"
    chain = Chain()
    chain.given("V", shear, "N", "shear on the bolt")
    chain.given("P", tension, "N", "force along the bolt, pull positive")
    chain.given("n", planes, "1", "shear planes")
    _bolt_givens(chain, size, grade)
    chain.given("omega", safety_factor("bolt").value, "1", "safety factor, AISC 360-22 J3.7")
    chain.step("A_b", "pi / 4 * d**2", "m**2", "nominal area")
    chain.step("V_allow", f"n * {share} * F_u * A_b / omega", "N", f"allowable shear, {where}")
    chain.step("P_allow", "0.75 * F_u * A_b / omega", "N", "allowable pull")
    chain.step("u", "sqrt((V / V_allow)**2 + (max(P, 0) / P_allow)**2)", "1", "both together")
    return chain


def _bolt_givens(chain: Chain, size: BoltSize, grade: BoltClass) -> None:
    title = sources()[grade.source].title
    chain.given("d", size.diameter, "m", f"diameter of {size.name}")
    chain.given("F_u", grade.ultimate_strength, "Pa", f"ultimate strength of class {grade.name}, {title}")


def _assumed(size: BoltSize, planes: int) -> tuple[str, ...]:
    notes = ["both shear planes share alike"] if planes == 2 else []
    if size.diameter < 0.012:
        notes.append(_SMALL)
    if size.status is Status.INFERRED:
        notes.append(f"head and nut of {size.name}: from memory, not looked up")
    return tuple(notes)


def next_bolt(size: BoltSize, grade: BoltClass, holds: BoltTest) -> str:
    """Words for the smallest step that `holds`: a stronger class of the same size, else a larger size."""
    options = []
    for stronger in bolt_classes():
        higher = stronger.ultimate_strength > grade.ultimate_strength
        alike = stronger.system == grade.system and stronger.stocked
        if alike and higher and holds(size, stronger):
            options.append(f"{size.name} {stronger.name} at the same size")
            break
    larger = [s for s in bolt_sizes() if s.metric == size.metric and s.coarse and s.diameter > size.diameter]
    for other in sorted(larger, key=lambda s: s.diameter):
        if holds(other, grade):
            options.append(f"{other.name} {grade.name}")
            break
    if options:
        return f"take {' or '.join(options)}"
    return "no bolt in the table carries it alone: use more bolts or put it in double shear"
