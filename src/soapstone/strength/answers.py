"""Small helpers that every check of this room shares."""

from collections.abc import Callable, Sequence
from typing import Literal, cast

import numpy as np

from soapstone.errors import SoapstoneError
from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.strength.shapes import Array
from soapstone.tables import Filler, Material, Status, safety_factor, sources

_INCH = 0.0254
_FORCES = (
    ("N", "N", "axial force"),
    ("V_y", "N", "shear force along y"),
    ("V_z", "N", "shear force along z"),
    ("T", "N*m", "torque"),
    ("M_y", "N*m", "bending moment about y"),
    ("M_z", "N*m", "bending moment about z"),
)


def unanswered(id: str, claim: str, missing: str, *, source: str) -> Finding:
    """A finding left `open`; `missing` says what would close it."""
    return Finding(id, id.partition(":")[2], claim, Verdict.OPEN, source=source, remedy=missing)


def answered(
    id: str,
    claim: str,
    chain: Chain,
    demand: float,
    capacity: float,
    unit: str,
    *,
    source: str,
    remedy: Callable[[float], str],
    case: str = "",
    caution: str = "",
    assumed: tuple[str, ...] = (),
) -> Finding:
    """A finding with its verdict; `remedy` is asked, with the ratio, only when it is `short`."""
    ratio, verdict = judge(demand, capacity)
    return Finding(
        id=id,
        about=id.partition(":")[2],
        claim=claim,
        verdict=verdict,
        case=case,
        demand=demand,
        capacity=capacity,
        unit=unit,
        ratio=ratio,
        because=chain.steps,
        source=source,
        remedy=remedy(ratio) if verdict is Verdict.SHORT else "",
        caution=caution,
        assumed=assumed,
    )


def put_forces(chain: Chain, force: Array) -> None:
    """Put [N, Vy, Vz, T, My, Mz] into a chain."""
    for (symbol, unit, words), value in zip(_FORCES, force, strict=True):
        chain.given(symbol, value, unit, words)


def per_case(name: str, values: object, cases: Sequence[str], columns: tuple[int, ...] = ()) -> Array:
    """`values` as a float array of shape (n_cases, *columns).

    Raises
    ------
    SoapstoneError
        When the shape is another or a value is not finite.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.shape != (len(cases), *columns) or not cases:
        raise SoapstoneError(f"forces of shape {array.shape} for {len(cases)} load cases", where=name)
    if not np.all(np.isfinite(array)):
        raise SoapstoneError("a force is not a finite number", where=name)
    return array


def worst(name: str, values: object, cases: Sequence[str]) -> tuple[float, str]:
    """The largest size of a force given per case, and the case that brings it; errors as `per_case`."""
    sizes = np.abs(per_case(name, values, cases))
    case = int(np.argmax(sizes))
    return float(sizes[case]), cases[case]


def strength_gap(material: Material) -> str:
    """Why no check may lean on the strength of `material`; empty when one may."""
    if material.strength_is_known:
        return ""
    return f"the strength of {material.name} is not known: {material.note}"


def weld_zone_gap(material: Material, strength: Literal["yield", "ultimate"]) -> str:
    """Why no check beside a weld may lean on `material`; empty when one may.

    A metal of the tables that has no value of its own there keeps its strength; one that the job describes
    may be cold-drawn or hardened, and only the job can say what welding leaves of it.
    """
    value = material.weld_zone_yield if strength == "yield" else material.weld_zone_ultimate
    if value is not None or material.weld_zone_status is not Status.UNKNOWN:
        return ""
    return (
        f"what a weld leaves of {material.name} is not told: give it weld zone {strength} "
        f"(hot-rolled steel keeps its {strength}; cold-drawn or hardened metal loses some)"
    )


def allowable_stress(chain: Chain, strength: float, words: str) -> float:
    """Pa; yield over its safety factor, AISC 360-22 (ASD); `words` say whose yield, and in which state."""
    chain.given("f_y", strength, "Pa", words)
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22")
    return chain.step("sigma_allow", "f_y / omega", "Pa", "allowable stress")


def material_words(material: Material) -> str:
    """`DOM 1020, ASTM A513/A513M …, type 5`: the metal with its source."""
    known = sources().get(material.source)
    title = known.title if known else material.source
    return f"{material.name}, {title}" + (f", {material.clause}" if material.clause else "")


def material_assumptions(material: Material) -> tuple[str, ...]:
    """What is taken on trust about the strength of `material`."""
    if material.status is Status.INFERRED:
        return (f"strength of {material.name}: {material_words(material)}; from memory, not looked up",)
    return ()


def put_ultimate(chain: Chain, symbol: str, material: Material) -> float:
    """Put the ultimate strength of `material` into a chain, with its source."""
    words = f"ultimate strength, {material_words(material)}"
    return chain.given(symbol, cast(float, material.ultimate_strength), "Pa", words)


def put_yield(chain: Chain, symbol: str, material: Material) -> float:
    """Put the yield strength of `material` into a chain, with its source."""
    words = f"yield strength, {material_words(material)}"
    return chain.given(symbol, cast(float, material.yield_strength), "Pa", words)


def weld_allowable(chain: Chain, filler: Filler, symbol: str = "s_allow") -> float:
    """Allowable stress on the throat of a fillet, Pa (AISC 360-22 table J2.5, ASD)."""
    chain.given("F_EXX", filler.ultimate_strength, "Pa", f"{filler.name}, {sources()[filler.source].title}")
    chain.given("omega", safety_factor("weld").value, "1", "safety factor, AISC 360-22 J2.4")
    return chain.step(symbol, "0.60 * F_EXX / omega", "Pa", "allowable on the throat, AISC 360-22 table J2.5")


def filler_match(filler: Filler, material: Material) -> str:
    """A sentence for a caution where the filler is weaker than the metal; else empty."""
    parent = material.ultimate_strength
    if parent is None or filler.ultimate_strength >= parent:
        return ""
    return f" {filler.name} is weaker than {material.name} away from the weld."


def filler_assumptions(filler: Filler) -> tuple[str, ...]:
    """What is taken on trust about the strength of `filler`."""
    if filler.status is Status.INFERRED:
        return (f"strength of {filler.name}: from memory, not looked up",)
    return ()


def length_words(metres: float) -> str:
    """A length for a remedy, in both of the trade's units: `3.4 mm (0.134 in)`, rounded up."""
    tenths = np.ceil(metres * 1e4 - 1e-6) / 10
    return f"{tenths:.1f} mm ({np.ceil(metres / _INCH * 1e3 - 1e-6) / 1e3:.3f} in)"
