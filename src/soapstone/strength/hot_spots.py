"""Stress at the weld toes of a round tube on a round chord, as multiples of the brace's nominal stresses.

Factors of Efthymiou, Development of SCF formulae and generalised influence functions for use in fatigue
analysis, OTH'88 (1988), tables 1 and 2, as DNV-RP-C203 appendix B and CIDECT Design Guide 8 restate them.
They are read from the axes' nominal stresses: axial (K_a), bending in the plane of both axes (K_i) and out of
it (K_o). The chord's own stress along itself counts K_c times at its crown, since the frame gives it and the
formulas' term for it (their alpha) is left out for that.
"""

import math
from dataclasses import dataclass

from soapstone.formula import Chain
from soapstone.strength.shapes import RoundTubeLike
from soapstone.strength.tube_joints import Landing

CATEGORY = 90e6
"""Pa: hot spot at fillet welds that carry, EN 1993-1-9 table B.1."""
PLACES = ("saddle", "crown", "between")
"""Beside the chord, ahead of the brace along it, and half way round."""
CLOSES = "give its weld a `hot spot` factor from a solid model or strain gauges"
_LEAST = 2.0
_LEAN_LEAST = math.radians(20.0)


@dataclass(frozen=True)
class RoundJoint:
    """Sizes that the factors need, m and rad.

    Attributes
    ----------
    length : float
        Of the chord, between its ends.
    crossed : bool
        Whether another brace stands opposite; then the worse of the T and the X formula counts.
    beside : float
        Category of the chord's wall beside an attachment of the brace's length, Pa (EN 1993-1-9 table 8.4).
    """

    chord: float
    chord_wall: float
    brace: float
    brace_wall: float
    angle: float
    length: float
    crossed: bool
    beside: float


def joint_gap(landing: Landing) -> str:
    """Why no factor is known for a landing, and what would close it; else empty."""
    brace, chord = landing.brace, landing.chord
    if not isinstance(brace, RoundTubeLike) or not isinstance(chord, RoundTubeLike):
        return f"no published factor covers its toe, since not both tubes are round: {CLOSES}"
    if landing.clash:
        return f"its foot runs into {landing.clash}, where no factor is known: {CLOSES}"
    if landing.offset > 0.1 * chord.outside_diameter + 1e-9:
        return f"it sits beside the middle of the chord, where no factor is known: {CLOSES}"
    beta = brace.outside_diameter / chord.outside_diameter
    tau = brace.wall / chord.wall
    gamma = chord.outside_diameter / (2 * chord.wall)
    for name, value, low, high in (
        ("diameter over the chord's", beta, 0.2, 1.0),
        ("wall over the chord's", tau, 0.2, 1.0),
        ("chord's radius over its wall", gamma, 0.0, 32.0),
    ):
        if not low - 1e-9 <= value <= high + 1e-6:
            return f"{name} is {value:.2f}; the factors were fitted up to {high:g}, from {low:g}: {CLOSES}"
    if landing.angle < _LEAN_LEAST - 1e-9:
        return f"it meets at {math.degrees(landing.angle):.0f} deg, under the factors' 20 deg: {CLOSES}"
    return ""


def put_factors(chain: Chain, joint: RoundJoint, on_chord: bool, place: str) -> None:
    """Put the factors of a toe into a chain: K_a, then K_i, K_o and K_c where they count there."""
    _put_sizes(chain, joint)
    side = _chord if on_chord else _brace
    if place == "between":
        side(chain, joint, "saddle", "_s")
        side(chain, joint, "crown", "_c")
        chain.step("K_a", "(K_a_s + K_a_c) / 2", "1", "half way round, axial: DNV-RP-C203 3.3.2")
        chain.step("K_i", "sqrt(0.5) * K_i_c", "1", "half way round, bending in the plane")
        chain.step("K_o", "sqrt(0.5) * K_o_s", "1", "half way round, bending out of it")
    else:
        side(chain, joint, place, "")
    if on_chord and place != "saddle":
        chain.given("ds_w", joint.beside, "Pa", "category of the chord's wall beside the foot, table 8.4")
        chain.given("ds_h", CATEGORY, "Pa", "category of a hot spot, table B.1")
        chain.step("K_c", "ds_h / ds_w", "1", "the chord's own stress counts so often as a hot spot")


def _put_sizes(chain: Chain, joint: RoundJoint) -> None:
    chain.given("D_c", joint.chord, "m", "diameter of the chord")
    chain.given("t_c", joint.chord_wall, "m", "its wall")
    chain.given("L_c", joint.length, "m", "its length")
    chain.given("d_b", joint.brace, "m", "diameter of the brace")
    chain.given("t_b", joint.brace_wall, "m", "its wall")
    chain.given("theta", joint.angle, "rad", "angle between the axes")
    chain.step("beta", "d_b / D_c", "1", "brace over chord")
    chain.step("tau", "t_b / t_c", "1", "its wall over the chord's")
    words = "half the chord's size over its wall; a stockier chord than the fitted ones counts as 8"
    chain.step("gamma", "max(8, D_c / (2 * t_c))", "1", words)
    chain.step("alpha", "max(4, 2 * L_c / D_c)", "1", "length of the chord over its radius, from 4")


def _put(chain: Chain, symbol: str, words: str, tee: str, cross: str = "") -> None:
    worse = f"max({_LEAST:g}, {tee}, {cross})" if cross else f"max({_LEAST:g}, {tee})"
    chain.step(symbol, worse, "1", f"{words}, Efthymiou; at least {_LEAST:g}, CIDECT DG 8, from memory")


def _chord(chain: Chain, joint: RoundJoint, place: str, tail: str) -> None:
    if place == "crown":
        tee = "gamma**0.2 * tau * (2.65 + 5 * (beta - 0.65)**2) - 3 * tau * beta * sin(theta)"
        _put(chain, f"K_a{tail}", "chord's crown, axial (X2)", tee)
        tee = "1.45 * beta * tau**0.85 * gamma**(1 - 0.68 * beta) * sin(theta)**0.7"
        _put(chain, f"K_i{tail}", "chord's crown, bending in the plane (T8)", tee)
        return
    tee = (
        "gamma * tau**1.1 * (1.11 - 3 * (beta - 0.52)**2) * sin(theta)**1.6 + 0.4 * max(0, 0.8 * alpha - 6) "
        "* tau * beta**2 * sqrt(max(0, 1 - beta**2)) * sin(2 * theta)**2"
    )
    cross = "3.87 * gamma * tau * beta * (1.1 - beta**1.8) * sin(theta)**1.7" if joint.crossed else ""
    _put(chain, f"K_a{tail}", f"chord's saddle, axial (T5{', X1' if cross else ''})", tee, cross)
    _put(chain, f"K_o{tail}", "chord's saddle, bending out of the plane (T10)", _OUT)


_OUT = "gamma * tau * beta * (1.7 - 1.05 * beta**3) * sin(theta)**1.6"


def _brace(chain: Chain, joint: RoundJoint, place: str, tail: str) -> None:
    if place == "crown":
        chain.step("c_b", "0.12 * 2.718281828459045**(-4 * beta) + 0.011 * beta**2 - 0.045", "1", "of T7")
        tee = (
            "3 + gamma**1.2 * max(0, c_b) + (D_c / (2 * t_c))**1.2 * min(0, c_b) "
            "+ beta * tau * max(0, 0.14 * alpha - 1.2)"
        )
        _put(chain, f"K_a{tail}", "brace's crown, axial (T7)", tee)
        tee = "1 + 0.65 * beta * tau**0.4 * gamma**(1.09 - 0.77 * beta) * sin(theta)**(0.06 * gamma - 1.16)"
        _put(chain, f"K_i{tail}", "brace's crown, bending in the plane (T9)", tee)
        return
    tee = (
        "1.3 + gamma * tau**0.52 * alpha**0.1 * (0.187 - 1.25 * beta**1.1 * (beta - 0.96)) "
        "* sin(theta)**(2.7 - 0.01 * alpha)"
    )
    cross = "1 + 1.9 * gamma * tau**0.5 * beta**0.9 * (1.09 - beta**1.7) * sin(theta)**2.5"
    cross = cross if joint.crossed else ""
    _put(chain, f"K_a{tail}", f"brace's saddle, axial (T3{', X3' if cross else ''})", tee, cross)
    tee = f"tau**(-0.54) * gamma**(-0.05) * (0.99 - 0.47 * beta + 0.08 * beta**4) * {_OUT}"
    _put(chain, f"K_o{tail}", "brace's saddle, bending out of the plane (T11)", tee)
