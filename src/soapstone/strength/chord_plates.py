"""What the wall of a hollow chord stands where a plate is welded to it, along it or across.

Each function adds nominal strengths to a chain and gives back their symbols; M_i (in the plate's plane) and
M_o (out of it) are added beside them. A chain must hold f_y, D (chord's diameter, or the width of the joined
face), t, l (the plate's width where it is welded), d (its thickness), theta and Q.
"""

from soapstone.formula import Chain

SYMBOLS = tuple[str, ...]
_OUT = "moment out of the plate's plane, Design of SHS Welded Joints (Corus 2005), p. 23"


def plate_on_round(chain: Chain, code: str = "AISC 360") -> SYMBOLS:
    """A plate along a round chord, T joint (AISC 360-22 table K2.1, EN 1993-1-8 table 7.3)."""
    aisc = code == "AISC 360"
    factor, clause = ("5.5", "AISC 360-22 table K2.1") if aisc else ("5", "EN 1993-1-8 table 7.3")
    formula = f"{factor} * f_y * t**2 * (1 + 0.25 * l / D) * Q / sin(theta)"
    chain.step("N_1", formula, "N", f"chord wall folds under the plate, {clause}")
    formula = "0.8 * l * N_1" if aisc else "l * N_1"
    chain.step("M_i", formula, "N*m", f"moment in the plate's plane, {clause}")
    chain.step("M_o", "0.5 * d * N_1", "N*m", _OUT)
    return ("N_1",)


def plate_across_round(chain: Chain, code: str) -> SYMBOLS:
    """A plate across a round chord, T joint (AISC 360-22 table K2.1, EN 1993-1-8 table 7.3)."""
    chain.step("beta", "l / D", "1", "plate over chord")
    if code == "AISC 360":
        factor, clause = "5.5 / (1 - 0.81 * beta)", "AISC 360-22 table K2.1"
    else:
        factor, clause = "(4 + 20 * beta**2)", "EN 1993-1-8 table 7.3"
    chain.step("N_1", f"f_y * t**2 * {factor} * Q / sin(theta)", "N", f"chord wall folds, {clause}")
    chain.step("M_i", "0.5 * l * N_1", "N*m", f"moment in the plate's plane, {clause}")
    chain.step("M_o", "0.5 * d * N_1", "N*m", f"{_OUT}, as for a plate along the chord")
    return ("N_1",)


def face_stress_along(chain: Chain, code: str) -> float:
    """Q for a plate along the face of a rectangular chord pushed to the share U (AISC 360-22 chapter K2,
    EN 1993-1-8 table 7.13, k_m, from memory)."""
    if chain["U"] <= 0:
        return chain.step("Q", "1", "1", "the chord's own stress takes nothing away")
    formula = "sqrt(max(0, 1 - U**2))" if code == "AISC 360" else "min(1, 1.3 * (1 - U))"
    words = "left by the chord's own push, plate along a flat face"
    return chain.step("Q", f"max(0.01, {formula})", "1", words)


def plate_on_face(chain: Chain) -> SYMBOLS:
    """A plate along a rectangular chord's face (AISC 360-22 table K2.2, EN 1993-1-8 table 7.13)."""
    formula = "Q * f_y * t**2 / (1 - d / D) * (2 * l / D + 4 * sqrt(1 - d / D))"
    chain.step("N_1", formula, "N", "chord face folds under the plate, EN 1993-1-8 table 7.13")
    chain.step("M_i", "0.5 * l * N_1", "N*m", "moment in the plate's plane, EN 1993-1-8 table 7.13")
    chain.step("M_o", "0.5 * d * N_1", "N*m", _OUT)
    return ("N_1",)


def plate_across_face(chain: Chain) -> SYMBOLS:
    """A plate across a rectangular chord's face, clear of its side walls (AISC 360-22 table K2.2, EN 1993-1-8
    table 7.13)."""
    chain.step("beta", "l / D", "1", "plate over chord")
    formula = "Q * f_y * t**2 * (2 + 2.8 * beta) / sqrt(1 - 0.9 * beta)"
    chain.step("N_1", formula, "N", "chord face folds, EN 1993-1-8 table 7.13, from memory")
    chain.step("N_2", "10 * t / D * f_y * t * l", "N", "part of the plate's width that works, AISC 360-22 K2")
    chain.step("l_e", "min(l, 10 * t / D * l)", "m", "part of it that works in punching")
    formula = "f_y * t / sqrt(3) * (2 * d + 2 * l_e)"
    chain.step("N_3", formula, "N", "plate punches through the face, EN 1993-1-8 table 7.13")
    least = "min(N_1, N_2, N_3)"
    chain.step("M_i", f"0.5 * l * {least}", "N*m", "moment in the plate's plane, EN 1993-1-8 table 7.13")
    chain.step("M_o", f"0.5 * d * {least}", "N*m", f"{_OUT}, as for a plate along the chord")
    return ("N_1", "N_2", "N_3")
