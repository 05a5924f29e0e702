"""Tubes as columns and beams by EN 1993-1-1: each function adds its steps to a chain."""

import math

from soapstone.formula import Chain

CURVES = {"a": 0.21, "b": 0.34, "c": 0.49}
"""Imperfection factors of table 6.1: hot-finished tube takes `a`, cold-formed tube `c` (table 6.2)."""


def round_class(slenderness: float, yield_strength: float) -> int:
    """Class 1 to 4 of a round tube of D/t (table 5.2, sheet 3)."""
    factor = 235e6 / yield_strength
    return 1 + sum(slenderness > limit * factor for limit in (50, 70, 90))


def rectangular_class(slenderness: float, yield_strength: float) -> int:
    """Class 1 to 4 of a wall of flat width over thickness, taken as all in compression (table 5.2)."""
    factor = math.sqrt(235e6 / yield_strength)
    return 1 + sum(slenderness > limit * factor for limit in (33, 38, 42))


def flexural_buckling(chain: Chain, axis: str) -> float:
    """Reduction factor about `axis` (6.3.1.2); from f_y, E, A, I_axis, L_cr, alpha."""
    chain.step(f"N_cr{axis}", f"pi**2 * E * I_{axis} / L_cr**2", "N", f"Euler load about {axis}")
    chain.step(f"lam_{axis}", f"sqrt(A * f_y / N_cr{axis})", "1", "slenderness, EN 1993-1-1 6.3.1.2")
    lam = f"lam_{axis}"
    if chain[lam] <= 0.2:
        return chain.step(f"chi_{axis}", "1", "1", "too stocky to buckle, EN 1993-1-1 6.3.1.2(4)")
    chain.step(f"phi_{axis}", f"0.5 * (1 + alpha * ({lam} - 0.2) + {lam}**2)", "1", "EN 1993-1-1 6.3.1.2")
    formula = f"min(1, 1 / (phi_{axis} + sqrt(phi_{axis}**2 - {lam}**2)))"
    return chain.step(f"chi_{axis}", formula, "1", "reduction factor, EN 1993-1-1 6-49")


def interaction(chain: Chain, section_class: int) -> float:
    """Axial force and bending together (6.3.3 with annex B, C_m = 1).

    From N (compression positive), M_y, M_z, N_R, M_Ry, M_Rz and what `flexural_buckling` left for both axes.
    """
    for axis in "yz":
        chain.step(f"n_{axis}", f"max(N, 0) / (chi_{axis} * N_R)", "1", f"share of buckling about {axis}")
        if section_class <= 2:
            formula = f"1 + max(0, min(lam_{axis} - 0.2, 0.8)) * n_{axis}"
        else:
            formula = f"1 + 0.6 * min(lam_{axis}, 1) * n_{axis}"
        chain.step(f"k_{axis}", formula, "1", "EN 1993-1-1 table B.1, C_m = 1")
    other_y, other_z = ("0.6", "0.6") if section_class <= 2 else ("1", "0.8")
    chain.step("u_y", f"n_y + k_y * M_y / M_Ry + {other_y} * k_z * M_z / M_Rz", "1", "EN 1993-1-1 6-61")
    chain.step("u_z", f"n_z + {other_z} * k_y * M_y / M_Ry + k_z * M_z / M_Rz", "1", "EN 1993-1-1 6-62")
    chain.step("u_s", "abs(N) / N_R + M_y / M_Ry + M_z / M_Rz", "1", "the section itself, EN 1993-1-1 6-2")
    return chain.step("u", "max(u_y, u_z, u_s)", "1", "the worst of the three")
