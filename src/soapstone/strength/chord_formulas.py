"""What the wall of a hollow chord stands where a tube is welded to it, each way it can let go.

Each function adds nominal strengths to a chain and gives back the symbols added. A chain must hold f_y, D
(chord's diameter, or its width across the joined face), t, d (brace's diameter or width across), theta
and Q, the share that the chord's own stress leaves; rectangular joints also h (brace's length along the
chord) and H (chord's depth).
"""

from soapstone.formula import Chain

SYMBOLS = tuple[str, ...]


def ratios(chain: Chain) -> None:
    """Width ratio and chord slenderness."""
    chain.step("beta", "d / D", "1", "brace over chord")
    chain.step("gamma", "D / (2 * t)", "1", "half the chord's size over its wall")


def chord_stress(chain: Chain) -> float:
    """Q for a chord pushed to the share U of its strength (AISC 360-22 K1.3, EN 1993-1-8 k_p)."""
    if chain["U"] <= 0:
        return chain.step("Q", "1", "1", "the chord's own stress takes nothing away")
    return chain.step("Q", "max(0.01, 1 - 0.3 * U * (1 + U))", "1", "left by the chord's own push")


def face_stress(chain: Chain, width: str = "beta") -> float:
    """Q on the face of a rectangular chord pushed to the share U (AISC 360-22 chapter K, EN 1993-1-8 k_n).

    A narrow brace loses more; `width` is its width ratio as text of the chain.
    """
    if chain["U"] <= 0:
        return chain.step("Q", "1", "1", "the chord's own stress takes nothing away")
    formula = f"max(0.01, min(1, 1.3 - 0.4 * U / {width}))"
    return chain.step("Q", formula, "1", "left by the chord's own push, flat face")


def round_cross_angle(chain: Chain, code: str) -> SYMBOLS:
    """T and Y of round on round: plastification, and punching where the brace is narrower than the bore."""
    if code == "AISC 360":
        plastic = "f_y * t**2 * (3.1 + 15.6 * beta**2) * gamma**0.2 * Q / sin(theta)"
        clause = "AISC 360-22 K3-2"
    else:
        plastic = "gamma**0.2 * Q * f_y * t**2 * (2.8 + 14.2 * beta**2) / sin(theta)"
        clause = "EN 1993-1-8 table 7.2"
    chain.step("N_1", plastic, "N", f"chord wall folds, {clause}")
    return ("N_1", *round_punching(chain, code))


def round_cross(chain: Chain, code: str) -> SYMBOLS:
    """X of round on round."""
    factor, clause = ("5.7", "AISC 360-22 K3-3") if code == "AISC 360" else ("5.2", "EN 1993-1-8 table 7.2")
    formula = f"f_y * t**2 * {factor} / (1 - 0.81 * beta) * Q / sin(theta)"
    chain.step("N_1", formula, "N", f"chord wall folds between two braces, {clause}")
    return ("N_1", *round_punching(chain, code))


def round_gap(chain: Chain, code: str) -> SYMBOLS:
    """K with a gap g of round on round, brace under compression."""
    chain.step(
        "k_g",
        "gamma**0.2 * (1 + 0.024 * gamma**1.2 / (1 + 2.718281828459045**(0.5 * g / t - 1.33)))",
        "1",
        "help of the gap's stiff bridge",
    )
    factors, clause = (
        ("2.0 + 11.33", "AISC 360-22 K3-4") if code == "AISC 360" else ("1.8 + 10.2", "table 7.2")
    )
    formula = f"k_g * Q * f_y * t**2 * ({factors} * beta) / sin(theta)"
    chain.step("N_1", formula, "N", f"chord wall folds, {clause}")
    return ("N_1", *round_punching(chain, code))


def round_punching(chain: Chain, code: str) -> SYMBOLS:
    """The brace punching out its own outline, where it is narrower than the chord's bore."""
    if not _punches(chain):
        return ()
    shear, clause = ("0.6", "AISC 360-22 K3-1") if code == "AISC 360" else ("1 / sqrt(3)", "EN 1993-1-8 7.2")
    formula = f"{shear} * f_y * t * pi * d * (1 + sin(theta)) / (2 * sin(theta)**2)"
    chain.step("N_2", formula, "N", f"brace punches through the wall, {clause}")
    return ("N_2",)


def round_moments(chain: Chain, code: str) -> tuple[str, str]:
    """Nominal moments of round on round, in the plane of the two axes and out of it, N·m.

    The chord's wall folds, or the brace punches out of it where it is narrower than the bore.
    """
    aisc = code == "AISC 360"
    inside, outside = ("5.39", "3.0") if aisc else ("4.85", "2.7")
    clause = "AISC 360-22 K4-1" if aisc else "EN 1993-1-8 table 7.5"
    folds = f"{inside} * f_y * t**2 * sqrt(gamma) * beta * d * Q / sin(theta)"
    punches = "" if not _punches(chain) else moment_punching("1 + 3 * sin(theta)", code)
    words = "moment in the plane of the two axes"
    _least(chain, "M_i", folds, punches, f"{words}, {clause}", "AISC 360-22 K4-2" if aisc else clause)
    clause = "AISC 360-22 K4-3" if aisc else clause
    folds = f"f_y * t**2 * d * {outside} / (1 - 0.81 * beta) * Q / sin(theta)"
    punches = "" if not _punches(chain) else moment_punching("3 + sin(theta)", code)
    _least(
        chain,
        "M_o",
        folds,
        punches,
        f"moment out of that plane, {clause}",
        "AISC 360-22 K4-4" if aisc else clause,
    )
    return "M_i", "M_o"


def moment_punching(shape: str, code: str) -> str:
    """Formula of the moment at which a brace of width d punches out of the wall (K4-2, K4-4; table 7.5)."""
    shear = "0.6" if code == "AISC 360" else "1 / sqrt(3)"
    return f"{shear} * f_y * t * d**2 * ({shape}) / (4 * sin(theta)**2)"


def _punches(chain: Chain) -> bool:
    return chain["d"] < chain["D"] - 2 * chain["t"]


def _least(chain: Chain, symbol: str, folds: str, punches: str, words: str, clause: str) -> None:
    """The smaller of two ways to let go, each a step of its own where there are two."""
    if not punches:
        chain.step(symbol, folds, "N*m", words)
        return
    chain.step(f"{symbol}1", folds, "N*m", f"{words}: wall folds")
    chain.step(f"{symbol}2", punches, "N*m", f"the same: brace punches through the wall, {clause}")
    chain.step(symbol, f"min({symbol}1, {symbol}2)", "N*m", "the smaller of the two")


def square_on_round(chain: Chain, crossed: bool) -> SYMBOLS:
    """T or X of a rectangular brace on a round chord (EN 1993-1-8 table 7.4, from memory).

    Also holds h, and of the brace its wall t_b, area A_b and elastic moduli W_i and W_o in the plane and out
    of it.
    """
    clause = "EN 1993-1-8 table 7.4"
    chain.step("eta", "h / D", "1", "brace along the chord over the chord")
    shape = "5 / (1 - 0.81 * beta)" if crossed else "(4 + 20 * beta**2)"
    chain.step("N_1", f"Q * f_y * t**2 * {shape} * (1 + 0.25 * eta)", "N", f"chord wall folds, {clause}")
    chain.step(
        "s_p", "f_y / sqrt(3) * t / t_b", "Pa", f"stress in the brace that punches it through, {clause}"
    )
    chain.step("N_2", "s_p * A_b", "N", "brace punches through the wall")
    words = "moment in the plane of the two axes"
    _least(chain, "M_i", "h * N_1", "s_p * W_i", f"{words}, {clause}", clause)
    _least(chain, "M_o", "0.5 * d * N_1", "s_p * W_o", f"moment out of that plane, {clause}", clause)
    return ("N_1", "N_2")


def face_cross_angle(chain: Chain, round_brace: bool) -> SYMBOLS:
    """T, Y and X on the face of a rectangular chord, brace narrower than 0.85 of it.

    AISC 360-22 K3-7 and EN 1993-1-8 table 7.10 agree; a round brace takes π/4 of it.
    """
    share = "pi / 4 * " if round_brace else ""
    chain.step("eta", "h / D / sin(theta)", "1", "brace's footprint along the chord over the chord")
    formula = f"{share}Q * f_y * t**2 / ((1 - beta) * sin(theta)) * (2 * eta + 4 * sqrt(1 - beta))"
    chain.step("N_1", formula, "N", "chord face folds, AISC 360-22 K3-7, EN 1993-1-8 table 7.10")
    return ("N_1",)


def face_at_limit(chain: Chain) -> SYMBOLS:
    """The same at the width ratio of 0.85, from which the code draws a line to the side walls at 1."""
    chain.step("eta", "h / D / sin(theta)", "1", "brace's footprint along the chord over the chord")
    formula = "Q * f_y * t**2 / ((1 - 0.85) * sin(theta)) * (2 * eta + 4 * sqrt(1 - 0.85))"
    words = "chord face folds at 0.85 of its width, from where EN 1993-1-8 table 7.10 goes on in a line"
    chain.step("N_1", formula, "N", words)
    return ("N_1",)


def face_gap(chain: Chain, round_brace: bool = False) -> SYMBOLS:
    """K with a gap on a square chord's face, b the mean width ratio of both; a round brace takes π/4."""
    share = "pi / 4 * " if round_brace else ""
    formula = f"{share}8.9 * f_y * t**2 * sqrt(gamma) * b * Q / sin(theta)"
    chain.step("N_1", formula, "N", "chord face folds, EN 1993-1-8 table 7.12")
    return ("N_1",)


def face_punching(chain: Chain, round_brace: bool) -> SYMBOLS:
    """A brace of 0.85 of the chord's width or more punching through its face."""
    share = "pi / 4 * " if round_brace else ""
    chain.step("d_e", "min(d, 10 * t / D * d)", "m", "part of the brace's width that works in punching")
    formula = f"{share}f_y * t / sqrt(3) / sin(theta) * (2 * h / sin(theta) + 2 * d_e)"
    chain.step("N_2", formula, "N", "brace punches through the face, EN 1993-1-8 table 7.11")
    return ("N_2",)


def side_walls(chain: Chain, crossed: bool = False) -> SYMBOLS:
    """The chord's two side walls under a brace as wide as the chord; also holds H, E and f_y.

    Between two braces that face each other they stand less.
    """
    chain.step(
        "lam_w",
        "3.46 * (H / t - 2) * sqrt(1 / sin(theta)) / (pi * sqrt(E / f_y))",
        "1",
        "slenderness of the side wall, EN 1993-1-8 table 7.11",
    )
    if chain["lam_w"] <= 0.2:
        chain.step("chi_w", "1", "1", "too stocky to buckle")
    else:
        chain.step("phi_w", "0.5 * (1 + 0.21 * (lam_w - 0.2) + lam_w**2)", "1", "curve a")
        chain.step("chi_w", "1 / (phi_w + sqrt(phi_w**2 - lam_w**2))", "1", "EN 1993-1-1 6-49")
    share = "0.8 * " if crossed else ""  # times sin(theta), which the 1 / sin(theta) of the force takes away
    over = "" if crossed else " / sin(theta)"
    formula = f"{share}chi_w * f_y * t{over} * (2 * h / sin(theta) + 10 * t)"
    chain.step("N_3", formula, "N", "side walls give way, EN 1993-1-8 table 7.11")
    return ("N_3",)


def face_moments(chain: Chain, round_brace: bool) -> tuple[str, str]:
    """Nominal moments on the face of a rectangular chord (EN 1993-1-8 table 7.14, from memory), N·m.

    In the plane for a brace up to 0.85 of the chord's width; a round brace takes π/4 of it. Out of the plane
    the face folds or the chord's whole section leans over.
    """
    share = "pi / 4 * " if round_brace else ""
    formula = f"{share}Q * f_y * t**2 * h * (1 / (2 * eta) + 2 / sqrt(1 - beta) + eta / (1 - beta))"
    chain.step("M_i", formula, "N*m", "moment in the plane of the two axes, EN 1993-1-8 table 7.14")
    formula = (
        f"{share}Q * f_y * t**2 * (h * (1 + beta) / (2 * (1 - beta)) "
        "+ sqrt(2 * D * d * (1 + beta) / (1 - beta)))"
    )
    words = "moment out of that plane, face folds, EN 1993-1-8 table 7.14"
    _leaning(chain, formula, words)
    return "M_i", "M_o"


def wall_moments(chain: Chain, crossed: bool) -> tuple[str, str]:
    """The same for a brace of more than 0.85 of the chord's width: its side walls yield, or it leans over.

    AISC 360-22 K4-6 to K4-8, EN 1993-1-8 table 7.14; two braces that face each other leave 0.8 of the yield.
    """
    share, clause = ("0.8 * " if crossed else ""), "AISC 360-22 table K4.2, EN 1993-1-8 table 7.14"
    formula = f"0.5 * {share}f_y * t * (h + 5 * t)**2"
    chain.step("M_i", formula, "N*m", f"moment in the plane, side walls, {clause}")
    formula = f"{share}f_y * t * (D - t) * (h + 5 * t)"
    _leaning(chain, formula, f"moment out of that plane, side walls, {clause}")
    return "M_i", "M_o"


def _leaning(chain: Chain, formula: str, words: str) -> None:
    chain.step("M_o1", formula, "N*m", words)
    formula = "2 * f_y * t * (h * t + sqrt(D * H * t * (D + H)))"
    words = "the chord's section leans over, AISC 360-22 K4-7, EN 1993-1-8 table 7.14"
    chain.step("M_o2", formula, "N*m", words)
    chain.step("M_o", "min(M_o1, M_o2)", "N*m", "the smaller of the two")
