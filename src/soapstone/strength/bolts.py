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
    "J3.8 with the elliptical interaction of its commentary; stress area ISO 898-1, ASME B1.1"
)
_LISTED = 0.012
"""m: AISC lists bolts from 1/2 in, whose thread leaves less of its area than that of M12."""
_SMALL = (
    "bolts under 1/2 in (M12) lie below the range AISC lists: where the thread's stress area is less than "
    "the share of the nominal area that its factors stand for, the stress area counts"
)
_CAUTION = (
    "Prying, loosening and fatigue are not part of this check: lock the nut and look again after the first "
    "drive."
)

BoltTest = Callable[[BoltSize, BoltClass], bool]


def shear_area(size: BoltSize, threads_in_plane: bool) -> str:
    """Share of a bolt's area that counts in shear, as text of a chain over A_b and A_s.

    AISC's 0.450 is 0.563 on 0.80 of the nominal area. Below its range a thread leaves less.
    """
    if not threads_in_plane:
        return "0.563 * A_b"
    return "min(0.450 * A_b, 0.563 * A_s)" if size.diameter < _LISTED else "0.450 * A_b"


def pull_area(size: BoltSize) -> str:
    """The same in pull, where AISC's 0.75 of the nominal area stands for the stress area."""
    return "min(0.75 * A_b, A_s)" if size.diameter < _LISTED else "0.75 * A_b"


def _strength(size: BoltSize, grade: BoltClass, area: str) -> float:
    chain = Chain()
    put_areas(chain, size)
    return chain.step("R", area, "m**2", "") * grade.ultimate_strength / safety_factor("bolt").value


def shear_strength(size: BoltSize, grade: BoltClass, threads_in_plane: bool) -> float:
    """Allowable shear of one plane, N (AISC 360-22 J3.7, ASD)."""
    return _strength(size, grade, shear_area(size, threads_in_plane))


def tension_strength(size: BoltSize, grade: BoltClass) -> float:
    """Allowable pull, N (AISC 360-22 J3.7, ASD)."""
    return _strength(size, grade, pull_area(size))


def put_areas(chain: Chain, size: BoltSize) -> None:
    """Put a bolt's nominal area and, below AISC's range, its stress area into a chain."""
    chain.given("d_n", size.diameter, "m", f"nominal diameter of {size.name}")
    chain.step("A_b", "pi / 4 * d_n**2", "m**2", "nominal area")
    if size.diameter < _LISTED:
        chain.given("A_s", size.stress_area, "m**2", "stress area of its thread")


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
    where = "threads in the shear plane" if threads_in_plane else "plain shank in the shear plane"
    chain = Chain()
    chain.given("V", shear, "N", "shear on the bolt")
    chain.given("P", tension, "N", "force along the bolt, pull positive")
    chain.given("n", planes, "1", "shear planes")
    put_areas(chain, size)
    title = sources()[grade.source].title
    chain.given("F_u", grade.ultimate_strength, "Pa", f"ultimate strength of class {grade.name}, {title}")
    chain.given("omega", safety_factor("bolt").value, "1", "safety factor, AISC 360-22 J3.7")
    area = shear_area(size, threads_in_plane)
    chain.step("V_allow", f"n * F_u * {area} / omega", "N", f"allowable shear, {where}")
    chain.step("P_allow", f"F_u * {pull_area(size)} / omega", "N", "allowable pull")
    chain.step("u", "sqrt((V / V_allow)**2 + (max(P, 0) / P_allow)**2)", "1", "both together")
    return chain


def _assumed(size: BoltSize, planes: int) -> tuple[str, ...]:
    notes = ["both shear planes share alike"] if planes == 2 else []
    if size.diameter < _LISTED:
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
