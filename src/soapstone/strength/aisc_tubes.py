"""Tubes as columns, beams and shafts by AISC 360-22 (ASD): each function adds its steps to a chain.

A chain must already hold what the function's summary names; nominal strengths come back.
"""

import math

from soapstone.formula import Chain

SLENDER = "the wall is so thin for this code that it buckles before it yields: take a thicker wall"


def compression(chain: Chain) -> float:
    """Nominal strength in compression, N (E3); from F_y, E, L_c, r, A."""
    chain.step("F_e", "pi**2 * E / (L_c / r)**2", "Pa", "elastic buckling stress, AISC 360-22 E3-4")
    if chain["F_y"] <= 2.25 * chain["F_e"]:
        chain.step("F_n", "0.658**(F_y / F_e) * F_y", "Pa", "stocky: AISC 360-22 E3-2")
    else:
        chain.step("F_n", "0.877 * F_e", "Pa", "slender: AISC 360-22 E3-3")
    return chain.step("P_n", "F_n * A", "N", "nominal strength in compression, AISC 360-22 E3-1")


def round_limit(chain: Chain) -> str:
    """Why a round tube is outside E3 and F8, else empty; from F_y, E, D, t."""
    slenderness, ratio = chain["D"] / chain["t"], chain["E"] / chain["F_y"]
    return "" if slenderness <= 0.11 * ratio else SLENDER


def round_bending(chain: Chain) -> float:
    """Nominal moment of a round tube, N·m (F8); from F_y, E, D, t, S, Z."""
    chain.step("lam", "D / t", "1", "wall slenderness")
    chain.step("lam_p", "0.07 * E / F_y", "1", "limit of a compact wall, AISC 360-22 table B4.1b")
    chain.step("lam_r", "0.31 * E / F_y", "1", "limit of a noncompact wall, AISC 360-22 table B4.1b")
    words = "nominal moment, AISC 360-22 F8"
    if chain["lam"] <= chain["lam_p"]:
        return chain.step("M_n", "F_y * Z", "N*m", words)
    if chain["lam"] <= chain["lam_r"]:
        return chain.step("M_n", "(0.021 * E / lam + F_y) * S", "N*m", words)
    return chain.step("M_n", "0.33 * E / lam * S", "N*m", words)


def round_torsion(chain: Chain) -> float:
    """Nominal torque of a round tube, N·m (H3.1); from F_y, E, D, t, L, C."""
    chain.step(
        "F_cr",
        "min(0.6 * F_y, max(1.23 * E / (sqrt(L / D) * (D / t)**1.25), 0.60 * E / (D / t)**1.5))",
        "Pa",
        "critical stress in torsion, AISC 360-22 H3-2",
    )
    return chain.step("T_n", "F_cr * C", "N*m", "nominal torque, AISC 360-22 H3-1")


def round_shear(chain: Chain) -> float:
    """Nominal shear of a round tube, N (G5, without the help of a short length); from F_y, E, D, t, A."""
    words = "nominal shear, AISC 360-22 G5; the other value of G5-2 can only be higher"
    return chain.step("V_n", "min(0.6 * F_y, 0.78 * E / (D / t)**1.5) * A / 2", "N", words)


def rectangular_limit(chain: Chain) -> str:
    """Why a rectangular tube is outside E3 and F7, else empty; from F_y, E, b, h, t (flat widths)."""
    root = math.sqrt(chain["E"] / chain["F_y"])
    return "" if max(chain["b"], chain["h"]) / chain["t"] <= 1.40 * root else SLENDER


def rectangular_bending(
    chain: Chain, axis: str, *, flange: str, web: str, depth_length: bool = False
) -> float:
    """Nominal moment of a rectangular tube about `axis`, N·m (F7).

    Parameters
    ----------
    chain : Chain
        Holds F_y, E, t, the flat widths named by `flange` and `web`, and S_axis, Z_axis; where `depth_length`
        also L, r_min, J and A for twisting sideways (F7.4, only about the strong axis).
    """
    root = math.sqrt(chain["E"] / chain["F_y"])
    plastic, elastic = f"F_y * Z_{axis}", f"F_y * S_{axis}"
    parts = [plastic]
    if chain[flange] / chain["t"] > 1.12 * root:
        parts.append(f"{plastic} - ({plastic} - {elastic}) * (3.57 * {flange} / t * sqrt(F_y / E) - 4.0)")
    if chain[web] / chain["t"] > 2.42 * root:
        parts.append(f"{plastic} - ({plastic} - {elastic}) * (0.305 * {web} / t * sqrt(F_y / E) - 0.738)")
    if depth_length:
        parts += _sideways(chain, axis)
    formula = parts[0] if len(parts) == 1 else f"min({', '.join(parts)})"
    return chain.step(f"M_n{axis}", formula, "N*m", f"nominal moment about {axis}, AISC 360-22 F7")


def _sideways(chain: Chain, axis: str) -> list[str]:
    plastic, soft = f"F_y * Z_{axis}", f"0.7 * F_y * S_{axis}"
    chain.step("L_p", f"0.13 * E * r_min * sqrt(J * A) / ({plastic})", "m", "AISC 360-22 F7-12")
    chain.step("L_r", f"2 * E * r_min * sqrt(J * A) / ({soft})", "m", "AISC 360-22 F7-13")
    if chain["L"] <= chain["L_p"]:
        return []
    if chain["L"] <= chain["L_r"]:
        return [f"{plastic} - ({plastic} - {soft}) * (L - L_p) / (L_r - L_p)"]
    return ["2 * E * sqrt(J * A) / (L / r_min)"]


def rectangular_torsion(chain: Chain) -> float:
    """Nominal torque of a rectangular tube, N·m (H3.1); from F_y, E, B, H, b, h, t."""
    chain.step(
        "C", "2 * (B - t) * (H - t) * t - 4.5 * (4 - pi) * t**3", "m**3", "torsion constant, AISC 360-22 H3"
    )
    chain.step("lam_t", "max(b, h) / t", "1", "slenderness of the wider wall")
    root = math.sqrt(chain["E"] / chain["F_y"])
    words = "critical stress in torsion, AISC 360-22 H3"
    if chain["lam_t"] <= 2.45 * root:
        chain.step("F_cr", "0.6 * F_y", "Pa", words)
    elif chain["lam_t"] <= 3.07 * root:
        chain.step("F_cr", "0.6 * F_y * 2.45 * sqrt(E / F_y) / lam_t", "Pa", words)
    else:
        chain.step("F_cr", "0.458 * pi**2 * E / lam_t**2", "Pa", words)
    return chain.step("T_n", "F_cr * C", "N*m", "nominal torque, AISC 360-22 H3-1")


def rectangular_shear(chain: Chain) -> float:
    """Nominal shear of the two walls across the smaller side, N (G4, C_v2 = 1 below its limit); from F_y,
    E, b, h, t."""
    root = math.sqrt(5 * chain["E"] / chain["F_y"])
    slenderness = max(chain["b"], chain["h"]) / chain["t"]
    factor = "1" if slenderness <= 1.10 * root else "1.10 * sqrt(5 * E / F_y) / (max(b, h) / t)"
    return chain.step(
        "V_n", f"0.6 * F_y * 2 * min(b, h) * t * {factor}", "N", "nominal shear, AISC 360-22 G4"
    )


def interaction(chain: Chain) -> float:
    """Axial force and bending together (H1-1), and with torque and shear where they count (H3-6).

    From P_r (pull positive), P_c, M_ry, M_cy, M_rz, M_cz, T_r, T_c, V_r, V_c.
    """
    chain.step("p", "abs(P_r) / P_c", "1", "share of the axial strength")
    chain.step("m", "M_ry / M_cy + M_rz / M_cz", "1", "share of the bending strength")
    chain.step("q", "T_r / T_c", "1", "share of the torsion strength")
    if chain["q"] > 0.2:
        return chain.step("u", "p + m + (V_r / V_c + q)**2", "1", "all together, AISC 360-22 H3-6")
    if chain["p"] >= 0.2:
        return chain.step("u", "p + 8 / 9 * m", "1", "axial force with bending, AISC 360-22 H1-1a")
    return chain.step("u", "p / 2 + m", "1", "axial force with bending, AISC 360-22 H1-1b")
