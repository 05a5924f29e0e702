"""The plate round a pin once more, by ASME BTH-1, beside what AISC says of it."""

from collections.abc import Sequence
from typing import cast

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    material_words,
    per_case,
    strength_gap,
    unanswered,
)
from soapstone.strength.lugs import Plate, edge_distances
from soapstone.strength.shapes import Array
from soapstone.tables import Material

DESIGN_FACTOR = 2.0  # category A: the loads are known and set by the job's cases
_CLAIM = "the plate round the hole holds the bolt, by the rule for lifting lugs"
_SOURCE = "ASME BTH-1 3-3.3 (2014): net section, splitting, shear planes, bearing; design category A"


def lifting_lug(chain: Chain) -> float:
    """Allowable force, N; from t, d (pin), d_h (hole), a and b (metal ahead and beside), F_y, F_u, N_d."""
    if chain["d"] / chain["d_h"] > 0.9:
        chain.step("C_r", "1", "1", "a close pin takes nothing away")
    else:
        chain.step("C_r", "1 - 0.275 * sqrt(1 - (d / d_h)**2)", "1", "for the pin's clearance, BTH-1 3-46")
    chain.step(
        "b_e", "min(b, 4 * t, 0.6 * b * F_u / F_y * sqrt(d_h / b))", "m", "effective width, BTH-1 3-47, 3-48"
    )
    chain.step("P_t", "C_r * F_u / (1.2 * N_d) * 2 * t * b_e", "N", "net section, BTH-1 3-45")
    formula = "C_r * F_u / (1.2 * N_d) * (1.13 * a + 0.92 * b / (1 + b / d_h)) * t"
    chain.step("P_b", formula, "N", "splitting in one plane ahead of the pin, BTH-1 3-49")
    chain.step("phi", "55 * d / d_h * pi / 180", "rad", "where the shear planes leave the pin, BTH-1 3-52")
    chain.step("r_e", "a + d_h / 2", "m", "from the hole's centre to the end, taken as round")
    chain.step("z", "r_e - sqrt(r_e**2 - (d / 2 * sin(phi))**2)", "m", "lost to the round end, BTH-1 C3")
    chain.step("A_v", "2 * (a + d / 2 * (1 - cos(phi)) - z) * t", "m**2", "two shear planes, BTH-1 3-51")
    chain.step("P_v", "0.70 * F_u / (1.2 * N_d) * A_v", "N", "shear planes, BTH-1 3-50")
    chain.step("P_p", "1.25 * F_y / N_d * d * t", "N", "bearing, BTH-1 3-53")
    return chain.step("P_allow", "min(P_t, P_b, P_v, P_p)", "N", "the least of the four")


def lug_as_lifted(
    *,
    name: str,
    plate: Plate,
    material: Material,
    force_along: Array,
    force_across: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge one plate: `lug-lifting:NAME`; forces (n_cases,) N on it, towards its end and sideways."""
    id = f"lug-lifting:{name}"
    gap = strength_gap(material)
    if not gap and (plate.edge <= plate.hole / 2 or plate.width <= plate.hole or plate.pin > plate.hole):
        gap = "the hole breaks out of the plate, or the bolt is thicker than its hole: give the right sizes"
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    along, across = per_case(name, force_along, cases), per_case(name, force_across, cases)
    chains = [_chain(plate, material, float(f), float(s)) for f, s in zip(along, across, strict=True)]
    case = int(np.argmax([chain["F"] / chain["P_allow"] for chain in chains]))
    chain = chains[case]
    return answered(
        id,
        _CLAIM,
        chain,
        chain["F"],
        chain["P_allow"],
        "N",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda ratio: f"take a plate of at least {length_words(plate.thickness * ratio)}",
        caution="Written for lifting lugs; for mounts it stands beside the structural rule as a second look.",
        assumed=(
            *material_assumptions(material),
            f"design factor {DESIGN_FACTOR:g}: category A",
            "a force at an angle is taken whole, with the metal an ellipse leaves in its direction",
        ),
    )


def _chain(plate: Plate, material: Material, along: float, across: float) -> Chain:
    in_line, square = edge_distances(plate, np.array(along), np.array(across))
    chain = Chain()
    chain.given("F_a", along, "N", "force towards the free end")
    chain.given("F_s", across, "N", "force to the side")
    chain.step("F", "sqrt(F_a**2 + F_s**2)", "N", "force on this plate")
    chain.given("t", plate.thickness, "m", "plate thickness")
    chain.given("d", plate.pin, "m", "bolt diameter")
    chain.given("d_h", plate.hole, "m", "hole diameter")
    chain.given("a", float(in_line), "m", "metal from the hole's edge in line with the force")
    chain.given("b", float(square), "m", "metal from the hole's edge square to the force")
    chain.given(
        "F_y", cast(float, material.yield_strength), "Pa", f"yield strength, {material_words(material)}"
    )
    chain.given("F_u", cast(float, material.ultimate_strength), "Pa", "ultimate strength, same source")
    chain.given("N_d", DESIGN_FACTOR, "1", "design factor, BTH-1 3-1.3")
    lifting_lug(chain)
    return chain
