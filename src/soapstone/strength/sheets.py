"""Does thin sheet stand what is welded or bolted onto it, with and without a spreader plate."""

import math
from collections.abc import Sequence

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    per_case,
    put_ultimate,
    put_yield,
    strength_gap,
    unanswered,
    worst,
)
from soapstone.strength.shapes import Array
from soapstone.tables import Material, safety_factor

_TEAR = "the foot does not tear out of the sheet round its own outline"
_BEND = "the sheet does not bend for good under the foot"
_SOURCE = (
    "circular plate held at its rim, load on a small disc in the middle: Roark's Formulas for Stress and "
    "Strain, 7th ed., table 11.2 case 17, from memory; safety factor AISC 360-22 (ASD)"
)


def centre_load_stiffness(chain: Chain, clamped: bool) -> float:
    """Deflection, m, of a circular plate under a load in its middle; from P, a, t, E, nu (Roark 16, 17)."""
    chain.step("D_p", "E * t**3 / (12 * (1 - nu**2))", "N*m", "stiffness of the plate")
    chain.step("y_c", "P * a**2 / (16 * pi * D_p)", "m", "deflection, rim clamped")
    if clamped:
        return chain["y_c"]
    return chain.step("y_s", "y_c * (3 + nu) / (1 + nu)", "m", "deflection, rim free to turn")


def centre_load_stress(chain: Chain) -> float:
    """Bending stress, Pa, under the load on a disc of radius r_0; from P, a, t, nu, r_0; rim clamped."""
    if chain["r_0"] < 0.5 * chain["t"]:
        formula = "sqrt(1.6 * r_0**2 + t**2) - 0.675 * t"
        chain.step("r_e", formula, "m", "equivalent radius of a very small foot, Roark table 11.2")
    else:
        chain.step("r_e", "r_0", "m", "radius of the foot as a disc")
    formula = "3 * P / (2 * pi * t**2) * max(1, (1 + nu) * (ln_ratio + (r_e / (2 * a))**2))"
    chain.given("ln_ratio", math.log(chain["a"] / chain["r_e"]), "1", "natural logarithm of a over r_e")
    return chain.step("s", formula, "Pa", "bending stress: in the middle, or at the rim if that is more")


def sheet_tear(
    *,
    name: str,
    width: float,
    foot: float,
    thickness: float,
    material: Material,
    pull: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge a foot tearing out of a sheet along its outline: `sheet-tear:NAME`; sizes in m, pull in N."""
    id, source = f"sheet-tear:{name}", "shear rupture round the outline, AISC 360-22 J4.2 (ASD)"
    gap = strength_gap(material)
    if gap:
        return unanswered(id, _TEAR, gap, source=source)
    force, case = worst(name, pull, cases)
    chain = Chain()
    demand = chain.given("P", force, "N", "force square to the sheet")
    chain.given("b", width, "m", "one side of the foot")
    chain.given("c", foot, "m", "other side of the foot")
    chain.given("t", thickness, "m", "sheet thickness")
    put_ultimate(chain, "F_u", material)
    chain.given("omega", safety_factor("rupture").value, "1", "safety factor, AISC 360-22 J4")
    chain.step("P_n", "2 * (b + c) * t * 0.6 * F_u", "N", "nominal")
    capacity = chain.step("P_allow", "P_n / omega", "N", "allowable")
    return answered(
        id,
        _TEAR,
        chain,
        demand,
        capacity,
        "N",
        case=case,
        source=source,
        remedy=lambda ratio: (
            f"spread the foot over a plate {length_words(ratio * (width + foot) / 2)} square"
        ),
        assumed=material_assumptions(material),
    )


def sheet_bending(
    *,
    name: str,
    foot: float,
    thickness: float,
    free: float,
    material: Material,
    push: Array,
    moment: Array,
    cases: Sequence[str],
    spread: bool,
) -> Finding:
    """Judge a sheet bent by a foot in the middle of its clear width.

    Parameters
    ----------
    foot : float
        Smaller side of the foot or of the spreader, m.
    free : float
        Smallest clear width between what holds the sheet stiff, m.
    push, moment : Array
        (n_cases,) N square to the sheet; N·m that tips the foot.

    Returns
    -------
    Finding
        `sheet:NAME`; `open` where the load tips the foot: no plate solution here covers a tipped foot.
    """
    id = f"sheet:{name}"
    gap = strength_gap(material)
    force, tip = (np.abs(per_case(name, values, cases)) for values in (push, moment))
    tipped = tip > force * foot / 6 + 1e-9
    if not gap and tipped.any():
        gap = (
            f"{cases[int(np.argmax(tipped))]} tips the foot, so that part of it pulls: no published plate "
            "solution covers that here; carry the load into a rail or a rib on both sides of the sheet, or "
            "have the detail looked at as a solid"
        )
    if not gap and foot >= 0.5 * free:
        gap = "the foot takes up half of the free width: a plate solution no longer fits; tie it to the edges"
    if gap:
        return unanswered(id, _BEND, gap, source=_SOURCE)
    case = int(np.argmax(force))
    chain = Chain()
    chain.given("P", force[case], "N", "force square to the sheet")
    chain.given("a", free / 2, "m", "radius of a disc in the free width")
    chain.given("t", thickness, "m", "sheet thickness")
    chain.given("nu", material.elastic_modulus / (2 * material.shear_modulus) - 1, "1", "from E and G")
    chain.given("b", foot, "m", "smaller side of the foot")
    chain.step("r_0", "b / 2", "m", "the foot as a disc inside it")
    demand = centre_load_stress(chain)
    put_yield(chain, "F_y", material)
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22")
    capacity = chain.step("s_allow", "F_y / omega", "Pa", "allowable stress")
    return answered(
        id,
        _BEND,
        chain,
        demand,
        capacity,
        "Pa",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda ratio: (
            f"take a sheet of {length_words(thickness * math.sqrt(ratio))} or a larger spreader"
        ),
        caution="Sheet that oil-cans cracks at the foot's edge: stiffen it, do not only thicken it.",
        assumed=(
            *material_assumptions(material),
            "the sheet is held like a disc clamped at its rim",
            *(["the spreader is stiff against the sheet"] if spread else []),
        ),
    )


def spreader_thickness(chain: Chain) -> float:
    """Thickness, m, of a plate that spreads P over B by N (AISC guide 1, ASD); from P, l, F_y, B, N."""
    return chain.step("t_p", "l * sqrt(2 * 1.67 * P / (F_y * B * N))", "m", "plate bent over its overhang")


def spreader(
    *,
    name: str,
    size: float,
    foot: float,
    thickness: float,
    material: Material,
    push: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge a square spreader bent over what it reaches past the foot: `spreader:NAME`; lengths in m.

    Parameters
    ----------
    push : Array
        (n_cases,) N, with what tips the foot counted as a load that presses everywhere like at its edge.
    """
    id, claim = f"spreader:{name}", "the spreader is stiff enough to spread the load"
    source = "plate bent over its overhang, AISC Steel Design Guide 1 (ASD)"
    gap = strength_gap(material)
    if not gap and size <= foot:
        gap = "the spreader is no larger than the foot: give it a larger side"
    if gap:
        return unanswered(id, claim, gap, source=source)
    force, case = worst(name, push, cases)
    chain = Chain()
    chain.given("P", force, "N", "force on it, tipping included")
    chain.given("B", size, "m", "side of the spreader")
    chain.given("N", size, "m", "its other side")
    chain.given("b", foot, "m", "smaller side of the foot on it")
    put_yield(chain, "F_y", material)
    chain.step("l", "(B - b) / 2", "m", "overhang")
    demand = spreader_thickness(chain)
    capacity = chain.given("t", thickness, "m", "its thickness")
    return answered(
        id,
        claim,
        chain,
        demand,
        capacity,
        "m",
        case=case,
        source=source,
        remedy=lambda _: f"take a spreader of {length_words(demand)}, or a smaller one",
        assumed=(*material_assumptions(material), "the sheet presses evenly on all of the spreader"),
    )
