"""Does a stretch of tube stand as a column that is bent and twisted: AISC 360-22 (ASD) or EN 1993-1-1."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength import aisc_tubes, en_tubes
from soapstone.strength.answers import (
    answered,
    material_assumptions,
    material_words,
    strength_gap,
    unanswered,
    weld_zone_gap,
)
from soapstone.strength.members import tube_gap
from soapstone.strength.shapes import Array, RectangularTubeLike, RoundTubeLike, TubeLike
from soapstone.tables import Material, partial_factor, safety_factor

CODES = ("AISC 360", "EN 1993")
_CLAIM = "no stretch of the tube buckles under its push, bending and twist together"
_SOURCES = {
    "AISC 360": "AISC 360-22 E3, F7, F8, G4, G5, H1, H3 and the moments' growth by appendix 8; ASD",
    "EN 1993": "EN 1993-1-1 5.5, 6.2.7, 6.3.1, 6.3.3 with annex B; load factor EN 1990 table A1.2(B)",
}
_CAUTION = (
    "The frame swaying as a whole, fatigue and the dent beside a joint are no part of this check; "
    "they have findings of their own."
)


@dataclass(frozen=True)
class Stretch:
    """A tube from one landing to the next.

    Attributes
    ----------
    start, length : float
        m.
    forces : Array
        (n_cases, n_stations, 6) [N, Vy, Vz, T, My, Mz], N, N·m.
    """

    start: float
    length: float
    forces: Array


def member_buckling(
    *,
    name: str,
    section: TubeLike,
    material: Material,
    stretches: Sequence[Stretch],
    cases: Sequence[str],
    code: str,
    welded: bool = True,
    effective_length: float | None = None,
) -> Finding:
    """Judge one member, stretch by stretch.

    Parameters
    ----------
    code : str
        One of `CODES`.
    welded : bool
        Whether the strength beside a weld is taken all along, which is the safe side.
    effective_length : float or None
        m; None takes every stretch's own length, K = 1.

    Returns
    -------
    Finding
        `member-buckling:NAME`; `open` when the strength is unknown or the section outside the code's range.
    """
    id, source = f"member-buckling:{name}", _SOURCES[code]
    gap = strength_gap(material) or tube_gap(section) or _range_gap(section, material, code)
    gap = gap or (weld_zone_gap(material, "yield") if welded else "")
    if gap:
        return unanswered(id, _CLAIM, gap, source=source)
    strength = cast(float, material.yield_strength)
    if welded and material.weld_zone_yield is not None:
        strength = material.weld_zone_yield
    stretch, case = _worst(section, material, stretches, code, strength, effective_length)
    chain = _chain(section, material, stretch, case, code, strength, effective_length)
    return answered(
        id,
        _CLAIM,
        chain,
        chain["u"],
        1.0,
        "1",
        case=cases[case],
        source=source,
        remedy=lambda ratio: (
            f"take about {np.ceil(100 * (ratio - 1)):.0f} % more tube, or tie its middle with a brace"
        ),
        caution=_CAUTION,
        assumed=(*material_assumptions(material), *_assumed(material, code, welded, effective_length)),
    )


def _assumed(material: Material, code: str, welded: bool, length: float | None) -> tuple[str, ...]:
    notes = ["the greatest force of each sort along the stretch is taken as if all met at one place"]
    if length is None:
        notes.append("effective length: K = 1.0 from one landing to the next, no sway between them")
    if welded and material.weld_zone_yield is not None:
        notes.append("the strength beside a weld is taken all along the tube")
    if code == "EN 1993":
        notes.append("buckling curve c, as for cold-formed tube; C_m = 1")
    return tuple(notes)


def _worst(
    section: TubeLike,
    material: Material,
    stretches: Sequence[Stretch],
    code: str,
    strength: float,
    length: float | None,
) -> tuple[Stretch, int]:
    best, found = -1.0, (stretches[0], 0)
    for stretch in stretches:
        for case in range(len(stretch.forces)):
            u = _chain(section, material, stretch, case, code, strength, length)["u"]
            if u > best:
                best, found = u, (stretch, case)
    return found


def _range_gap(section: TubeLike, material: Material, code: str) -> str:
    strength = cast(float, material.yield_strength)
    if code == "AISC 360":
        chain = Chain()
        _sizes(chain, section, "F_y", strength, material.elastic_modulus, "strength")
        if isinstance(section, RoundTubeLike):
            return aisc_tubes.round_limit(chain)
        return aisc_tubes.rectangular_limit(chain)
    return "" if _class(section, strength) < 4 else aisc_tubes.SLENDER


def _class(section: TubeLike, strength: float) -> int:
    if isinstance(section, RoundTubeLike):
        return en_tubes.round_class(section.outside_diameter / section.wall, strength)
    flat = max(section.width, section.height) - 2 * section.outside_corner_radius
    return en_tubes.rectangular_class(flat / section.wall, strength)


def _chain(
    section: TubeLike,
    material: Material,
    stretch: Stretch,
    case: int,
    code: str,
    strength: float,
    length: float | None,
) -> Chain:
    chain = Chain()
    forces = stretch.forces[case]
    push = forces[:, 0].min()
    axial = push if push < 0 else forces[:, 0].max()
    most = np.abs(forces).max(axis=0)
    chain.given("x", stretch.start, "m", "where the stretch begins, from the start of the member")
    words = f"yield strength, {material_words(material)}"
    symbol = "F_y" if code == "AISC 360" else "f_y"
    _sizes(chain, section, symbol, strength, material.elastic_modulus, words)
    chain.given("L", stretch.length, "m", "length of the stretch")
    _tube = _aisc if code == "AISC 360" else _en
    _tube(chain, section, float(axial), most, length or stretch.length)
    return chain


def _sizes(chain: Chain, section: TubeLike, symbol: str, strength: float, elastic: float, words: str) -> None:
    chain.given(symbol, strength, "Pa", words)
    chain.given("E", elastic, "Pa", "elastic modulus")
    chain.given("t", section.wall, "m", "wall")
    if isinstance(section, RoundTubeLike):
        chain.given("D", section.outside_diameter, "m", "outside diameter")
        return
    chain.given("B", section.width, "m", "width, along y")
    chain.given("H", section.height, "m", "height, along z")
    chain.given("b", section.width - 2 * section.outside_corner_radius, "m", "flat width")
    chain.given("h", section.height - 2 * section.outside_corner_radius, "m", "flat height")


def _aisc(chain: Chain, section: TubeLike, axial: float, most: Array, effective: float) -> None:
    properties = section.section
    inertia = min(properties.second_moment_y, properties.second_moment_z)
    chain.given("A", properties.area, "m**2", "area")
    chain.given("I", inertia, "m**4", "smaller second moment")
    chain.step("r", "sqrt(I / A)", "m", "radius of gyration")
    chain.given("L_c", effective, "m", "effective length")
    chain.given("P_r", axial, "N", "axial force, pull positive")
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22 E1, F1, H3")
    if axial < 0:
        aisc_tubes.compression(chain)
        chain.step("P_c", "P_n / omega", "N", "allowable push")
        chain.step(
            "B_1", "1 / max(1e-9, 1 - 1.6 * abs(P_r) / (F_e * A))", "1", "growth of moments, appendix 8"
        )
    else:
        chain.step("P_c", "F_y * A / omega", "N", "allowable pull, AISC 360-22 D2(a)")
        chain.given("B_1", 1.0, "1", "a pull lets no moment grow")
    chain.given("M_1y", most[4], "N*m", "greatest moment about y")
    chain.given("M_1z", most[5], "N*m", "greatest moment about z")
    chain.step("M_ry", "B_1 * M_1y", "N*m", "with its growth")
    chain.step("M_rz", "B_1 * M_1z", "N*m", "with its growth")
    chain.given("T_r", most[3], "N*m", "greatest torque")
    chain.given("V_r", float(np.hypot(most[1], most[2])), "N", "greatest shear force")
    if isinstance(section, RoundTubeLike):
        _aisc_round(chain, section)
    else:
        _aisc_rectangular(chain, section)
    chain.step("T_c", "T_n / omega", "N*m", "allowable torque")
    chain.step("V_c", "V_n / omega", "N", "allowable shear")
    aisc_tubes.interaction(chain)


def _aisc_round(chain: Chain, section: RoundTubeLike) -> None:
    properties = section.section
    chain.given("S", properties.elastic_modulus_y, "m**3", "elastic modulus")
    chain.given("Z", properties.plastic_modulus_y, "m**3", "plastic modulus")
    chain.given("C", properties.torsion_modulus, "m**3", "torsion modulus")
    aisc_tubes.round_bending(chain)
    chain.step("M_cy", "M_n / omega", "N*m", "allowable moment")
    chain.step("M_cz", "M_n / omega", "N*m", "the same, about z")
    aisc_tubes.round_torsion(chain)
    aisc_tubes.round_shear(chain)


def _aisc_rectangular(chain: Chain, section: RectangularTubeLike) -> None:
    properties = section.section
    chain.given("S_y", properties.elastic_modulus_y, "m**3", "elastic modulus about y")
    chain.given("Z_y", properties.plastic_modulus_y, "m**3", "plastic modulus about y")
    chain.given("S_z", properties.elastic_modulus_z, "m**3", "elastic modulus about z")
    chain.given("Z_z", properties.plastic_modulus_z, "m**3", "plastic modulus about z")
    chain.given("J", properties.torsion_constant, "m**4", "torsion constant")
    chain.step("r_min", "r", "m", "smaller radius of gyration")
    tall, square = section.height > section.width, section.height == section.width
    aisc_tubes.rectangular_bending(chain, "y", flange="b", web="h", depth_length=tall and not square)
    aisc_tubes.rectangular_bending(chain, "z", flange="h", web="b", depth_length=not tall and not square)
    chain.step("M_cy", "M_ny / omega", "N*m", "allowable moment about y")
    chain.step("M_cz", "M_nz / omega", "N*m", "allowable moment about z")
    aisc_tubes.rectangular_torsion(chain)
    aisc_tubes.rectangular_shear(chain)


def _en(chain: Chain, section: TubeLike, axial: float, most: Array, effective: float) -> None:
    properties = section.section
    kind = _class(section, chain["f_y"])
    chain.given("A", properties.area, "m**2", "area")
    chain.given("I_y", properties.second_moment_y, "m**4", "second moment about y")
    chain.given("I_z", properties.second_moment_z, "m**4", "second moment about z")
    plastic = kind <= 2
    words = "plastic" if plastic else "elastic"
    moduli = (
        (properties.plastic_modulus_y, properties.plastic_modulus_z)
        if plastic
        else (properties.elastic_modulus_y, properties.elastic_modulus_z)
    )
    chain.given("W_y", moduli[0], "m**3", f"{words} modulus about y, section class {kind}")
    chain.given("W_z", moduli[1], "m**3", f"{words} modulus about z, section class {kind}")
    chain.given("W_t", properties.torsion_modulus, "m**3", "torsion modulus")
    chain.given("L_cr", effective, "m", "effective length")
    chain.given("alpha", en_tubes.CURVES["c"], "1", "imperfection, curve c, EN 1993-1-1 table 6.1")
    for key, symbol in (("load", "g_F"), ("section", "g_M0"), ("buckling", "g_M1")):
        factor = partial_factor(key)
        chain.given(symbol, factor.value, "1", f"partial factor, {factor.clause}")
    chain.given("N_k", -axial, "N", "axial force, push positive")
    chain.given("M_ky", most[4], "N*m", "greatest moment about y")
    chain.given("M_kz", most[5], "N*m", "greatest moment about z")
    chain.given("T_k", most[3], "N*m", "greatest torque")
    chain.given("V_k", float(np.hypot(most[1], most[2])), "N", "greatest shear force")
    chain.step("N", "g_F * N_k", "N", "design axial force")
    chain.step("M_y", "g_F * M_ky", "N*m", "design moment about y")
    chain.step("M_z", "g_F * M_kz", "N*m", "design moment about z")
    chain.step("tau", "g_F * (T_k / W_t + 2 * V_k / A)", "Pa", "shear of torque and shear force")
    chain.step("w", "tau * sqrt(3) * g_M0 / f_y", "1", "share of the shear strength, EN 1993-1-1 6.2.7")
    chain.step("rho", "sqrt(max(1e-9, 1 - w**2))", "1", "left for bending and pull, von Mises")
    chain.step("N_R", "f_y * A * rho / g_M1", "N", "axial resistance")
    chain.step("M_Ry", "f_y * W_y * rho / g_M1", "N*m", "moment resistance about y")
    chain.step("M_Rz", "f_y * W_z * rho / g_M1", "N*m", "moment resistance about z")
    for axis in "yz":
        en_tubes.flexural_buckling(chain, axis)
    en_tubes.interaction(chain, kind)
