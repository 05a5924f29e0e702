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


def round_cross_angle(chain: Chain, code: str) -> SYMBOLS:
    """T and Y of round on round: plastification, and punching where the brace is narrower than the bore."""
    if code == "AISC 360":
        plastic = "f_y * t**2 * (3.1 + 15.6 * beta**2) * gamma**0.2 * Q / sin(theta)"
        clause = "AISC 360-22 K3-1"
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
    if chain["d"] >= chain["D"] - 2 * chain["t"]:
        return ()
    shear, clause = ("0.6", "AISC 360-22 K3-2") if code == "AISC 360" else ("1 / sqrt(3)", "EN 1993-1-8 7.2")
    formula = f"{shear} * f_y * t * pi * d * (1 + sin(theta)) / (2 * sin(theta)**2)"
    chain.step("N_2", formula, "N", f"brace punches through the wall, {clause}")
    return ("N_2",)


def round_moments(chain: Chain, code: str) -> tuple[str, str]:
    """Nominal moments of round on round, in the plane of the two axes and out of it, N·m."""
    aisc = code == "AISC 360"
    inside, outside = ("5.39", "3.0") if aisc else ("4.85", "2.7")
    clause = "AISC 360-22 table K4.1" if aisc else "EN 1993-1-8 table 7.5"
    formula = f"{inside} * f_y * t**2 * sqrt(gamma) * beta * d * Q / sin(theta)"
    chain.step("M_i", formula, "N*m", f"moment in the plane of the two axes, {clause}")
    formula = f"f_y * t**2 * d * {outside} / (1 - 0.81 * beta) * Q / sin(theta)"
    chain.step("M_o", formula, "N*m", f"moment out of that plane, {clause}")
    return "M_i", "M_o"


def square_on_round(chain: Chain) -> SYMBOLS:
    """T of a rectangular brace on a round chord (EN 1993-1-8 table 7.4, from memory); also holds h."""
    chain.step("eta", "h / D", "1", "brace along the chord over the chord")
    formula = "Q * f_y * t**2 * (4 + 20 * beta**2) * (1 + 0.25 * eta)"
    chain.step("N_1", formula, "N", "chord wall folds, EN 1993-1-8 table 7.4")
    chain.step("M_i", "h * N_1", "N*m", "moment in the plane of the two axes, EN 1993-1-8 table 7.4")
    chain.step("M_o", "0.5 * d * N_1", "N*m", "moment out of that plane, EN 1993-1-8 table 7.4")
    return ("N_1",)


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


def side_walls(chain: Chain) -> SYMBOLS:
    """The chord's two side walls under a brace as wide as the chord; also holds H, E and f_y."""
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
    formula = "chi_w * f_y * t / sin(theta) * (2 * h / sin(theta) + 10 * t)"
    chain.step("N_3", formula, "N", "side walls give way, EN 1993-1-8 table 7.11")
    return ("N_3",)


def face_moments(chain: Chain, round_brace: bool) -> tuple[str, str]:
    """Nominal moments on the face of a rectangular chord (EN 1993-1-8 table 7.14, from memory), N·m.

    In the plane for a brace up to 0.85 of the chord's width; a round brace takes π/4 of it.
    """
    share = "pi / 4 * " if round_brace else ""
    formula = f"{share}Q * f_y * t**2 * h * (1 / (2 * eta) + 2 / sqrt(1 - beta) + eta / (1 - beta))"
    chain.step("M_i", formula, "N*m", "moment in the plane of the two axes, EN 1993-1-8 table 7.14")
    formula = (
        f"{share}Q * f_y * t**2 * (h * (1 + beta) / (2 * (1 - beta)) "
        "+ sqrt(2 * D * d * (1 + beta) / (1 - beta)))"
    )
    chain.step("M_o", formula, "N*m", "moment out of that plane, EN 1993-1-8 table 7.14")
    return "M_i", "M_o"
