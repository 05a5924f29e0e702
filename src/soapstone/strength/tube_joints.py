"""Does the wall of a chord stand the tube welded onto it: folding, punching, side walls."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength import chord_formulas as formulas
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    material_words,
    per_case,
    strength_gap,
    unanswered,
    weld_zone_gap,
)
from soapstone.strength.shapes import Array, RectangularTubeLike, RoundTubeLike, TubeLike
from soapstone.tables import Material, partial_factor, safety_factor

_CLAIM = "the wall of the tube it lands on does not fold or tear under it"
_SOURCES = {
    "AISC 360": "AISC 360-22 chapter K (ASD); square on round: EN 1993-1-8 table 7.4, from memory",
    "EN 1993": "EN 1993-1-8 section 7; load factor EN 1990 table A1.2(B)",
}
_CAUTION = "A crack at the weld toe under to-and-fro load comes long before this."
_WIDE = 0.85
_SQUARELY = 1e-6


@dataclass(frozen=True)
class Landing:
    """How a brace meets a chord.

    Attributes
    ----------
    brace, chord : TubeLike
    material : Material
        Of the chord.
    angle : float
        Between the axes, rad, at most π/2.
    along_width : bool
        Whether the brace lands on the chord face that its width runs across (its face towards z).
    brace_across, brace_along : float
        Size of the brace across the chord and along it, m.
    offset : float
        Of the brace's axis from the chord's, m.
    end_distance : float
        From the brace's middle to the nearer end of the chord, m.
    crossed : str
        Another brace's name when it lands opposite within the footprint; `overlap` in `clash`.
    clash : str
        A brace whose footprint runs into this one; empty when none does.
    """

    brace: TubeLike
    chord: TubeLike
    material: Material
    angle: float
    along_width: bool
    brace_across: float
    brace_along: float
    offset: float
    end_distance: float
    crossed: str = ""
    clash: str = ""


@dataclass(frozen=True)
class Pair:
    """A neighbour that makes a gap joint of it.

    Attributes
    ----------
    name : str
    end : int
    gap : float
        Between the two feet along the chord, m.
    mean_across : float
        Mean width of both, m.
    """

    name: str
    end: int
    gap: float
    mean_across: float


def tube_joint(
    *,
    name: str,
    landing: Landing,
    axial: Array,
    in_plane: Array,
    out_of_plane: Array,
    chord_use: Array,
    cases: Sequence[str],
    code: str,
    pair: Pair | None = None,
    paired: NDArray[np.bool_] | None = None,
) -> Finding:
    """Judge the chord under one welded tube end.

    Parameters
    ----------
    axial : Array
        (n_cases,) N along the brace.
    in_plane, out_of_plane : Array
        (n_cases,) N·m, moments of the brace in the plane of both axes and out of it.
    chord_use : Array
        (n_cases,) share of the chord's strength that its own push and bending use there, 0 to 1.
    pair, paired : Pair, Array of bool
        A neighbour with a gap between, and in which cases it pulls what this one pushes.

    Returns
    -------
    Finding
        `tube-joint:NAME`; `open` outside the range that the formulas were tested in.
    """
    id, source = f"tube-joint:{name}", _SOURCES[code]
    metal = landing.material
    gap = strength_gap(metal) or weld_zone_gap(metal, "yield") or range_gap(landing, code)
    if gap:
        return unanswered(id, _CLAIM, gap, source=source)
    sets = [per_case(name, values, cases) for values in (axial, in_plane, out_of_plane, chord_use)]
    gaps = [pair if paired is not None and paired[i] else None for i in range(len(cases))]
    rows = np.stack(sets, axis=1)
    chains = [_chain(landing, code, row, near) for row, near in zip(rows, gaps, strict=True)]
    case = int(np.argmax([chain["u"] for chain in chains]))
    return answered(
        id,
        _CLAIM,
        chains[case],
        chains[case]["u"],
        1.0,
        "1",
        case=cases[case],
        source=source,
        remedy=lambda ratio: (
            f"take a chord wall of at least {length_words(landing.chord.wall * math.sqrt(ratio))}, or "
            "weld a saddle plate under the end"
        ),
        caution=_CAUTION,
        assumed=(*material_assumptions(landing.material), *_assumed(landing, code, gaps[case])),
    )


def _assumed(landing: Landing, code: str, pair: Pair | None) -> tuple[str, ...]:
    notes = ["it is judged as a single tube on its chord; a neighbour that pulls while it pushes would help"]
    if pair is not None:
        notes = [f"{pair.name} pulls what it pushes, to within a fifth: judged as a gap joint with it"]
    if landing.material.weld_zone_yield is not None:
        notes.append("the chord counts as softened by the weld")
    if landing.crossed:
        notes.append(f"{landing.crossed} stands opposite: judged as a cross")
    if _short_end(landing):
        notes.append("the chord ends so near that half of its strength is taken, AISC 360-22 K3, from memory")
    if code == "EN 1993":
        notes.append("gamma_M5 1.0; all loads times 1.5")
    if _square_on_round(landing):
        notes.append("factors of the square end on a round tube: from memory, not looked up")
    return tuple(notes)


def _square_on_round(landing: Landing) -> bool:
    return isinstance(landing.chord, RoundTubeLike) and isinstance(landing.brace, RectangularTubeLike)


def strengths(material: Material) -> tuple[float, float]:
    """Yield and ultimate strength of a chord, Pa, beside a weld where that is known to be less."""
    strength = material.weld_zone_yield or cast(float, material.yield_strength)
    return strength, material.weld_zone_ultimate or cast(float, material.ultimate_strength)


def _width(landing: Landing) -> float:
    chord = landing.chord
    if isinstance(chord, RoundTubeLike):
        return chord.outside_diameter
    return chord.width if landing.along_width else chord.height


def _depth(landing: Landing) -> float:
    chord = landing.chord
    if isinstance(chord, RoundTubeLike):
        return chord.outside_diameter
    return chord.height if landing.along_width else chord.width


def _short_end(landing: Landing) -> bool:
    width = _width(landing)
    beta = landing.brace_across / width
    if isinstance(landing.chord, RoundTubeLike):
        return landing.end_distance < width * (1.25 - beta / 2)
    return landing.end_distance < width * math.sqrt(max(0.0, 1 - beta))


def range_gap(landing: Landing, code: str) -> str:
    """What puts a joint outside the tested range of its formulas, and what would close it; else empty."""
    chord, width = landing.chord, _width(landing)
    strength, ultimate = strengths(landing.material)
    beta = landing.brace_across / width
    stocky = width / chord.wall
    round_chord = isinstance(chord, RoundTubeLike)
    if landing.clash:
        return f"its foot runs into {landing.clash}: no formula for that meeting; move them apart or test it"
    if landing.offset > 0.1 * width + 1e-9:
        return (
            f"it sits {length_words(landing.offset)} beside the middle of the chord: the formulas want it "
            "in the middle; move it in or use a saddle plate"
        )
    if landing.angle < math.radians(30) - 1e-9:
        return f"it meets at {math.degrees(landing.angle):.0f} deg, under the 30 deg where the formulas end"
    low = 0.4 if _square_on_round(landing) else 0.2 if round_chord else 0.25
    if not low <= beta <= 1.0 + 1e-9:
        return (
            f"its width is {beta:.2f} of the chord's; the formulas hold from {low:g} to 1: take another width"
        )
    limit = 50.0 if round_chord else 35.0
    if not 10.0 - 1e-9 <= stocky <= limit and (stocky > limit or code == "EN 1993"):
        return f"the chord is {stocky:.0f} times as wide as its wall; the formulas end at {limit:g}"
    if strength > 460e6 or (code == "AISC 360" and strength > 52.01 * 6894757.293168):
        return f"its steel ({strength / 1e6:.0f} MPa) is stronger than the tests behind the formulas"
    if strength > 0.8 * ultimate * (1 + 1e-9) and code == "AISC 360":
        return f"its yield is {strength / ultimate:.2f} of its ultimate, over the 0.80 where the formulas end"
    if not round_chord and isinstance(landing.brace, RoundTubeLike) and beta > 0.8:
        return (
            f"a round end of {beta:.2f} of a flat face's width; the formulas end at 0.80: take a narrower one"
        )
    return ""


def _chain(landing: Landing, code: str, row: Array, pair: Pair | None) -> Chain:
    axial, inside, outside, use = (float(value) for value in row)
    chain = Chain()
    strength, _ = strengths(landing.material)
    chain.given("P", abs(axial), "N", "force along the brace")
    chain.given("M_1", abs(inside), "N*m", "its moment in the plane of the two axes")
    chain.given("M_2", abs(outside), "N*m", "its moment out of that plane")
    chain.given("f_y", strength, "Pa", f"yield strength of the chord, {material_words(landing.material)}")
    chain.given("E", landing.material.elastic_modulus, "Pa", "elastic modulus")
    chain.given("D", _width(landing), "m", "width of the chord across the brace")
    chain.given("H", _depth(landing), "m", "depth of the chord behind it")
    chain.given("t", landing.chord.wall, "m", "wall of the chord")
    chain.given("d", landing.brace_across, "m", "width of the brace across the chord")
    chain.given("h", landing.brace_along, "m", "size of the brace along the chord, square-cut")
    chain.given("theta", landing.angle, "rad", "angle between the axes")
    chain.given("U", use, "1", "share of the chord's strength that its own forces use here")
    formulas.ratios(chain)
    round_chord = isinstance(landing.chord, RoundTubeLike)
    if round_chord:
        formulas.chord_stress(chain)
    elif pair is None:
        formulas.face_stress(chain)
    if pair is not None:
        symbols = _gap_joint(chain, landing, code, pair)
    elif round_chord:
        symbols = _round_chord(chain, landing, code)
    else:
        symbols = _flat_chord(chain, landing)
    return _verdict(chain, landing, code, symbols)


def _gap_joint(chain: Chain, landing: Landing, code: str, pair: Pair) -> tuple[str, ...]:
    """A gap joint; the moments are those of the tube by itself."""
    chain.given("g", pair.gap, "m", f"gap to the foot of {pair.name}")
    if isinstance(landing.chord, RoundTubeLike):
        symbols = formulas.round_gap(chain, code)
        formulas.round_moments(chain, code)
        return symbols
    chain.given("d_m", pair.mean_across, "m", "mean width of both")
    chain.step("b", "d_m / D", "1", "mean width ratio")
    formulas.face_stress(chain, "min(beta, b)")
    round_brace = isinstance(landing.brace, RoundTubeLike)
    symbols = formulas.face_gap(chain, round_brace)
    chain.step("eta", "h / D / sin(theta)", "1", "brace's footprint along the chord over the chord")
    formulas.face_moments(chain, round_brace)
    return symbols


def _round_chord(chain: Chain, landing: Landing, code: str) -> tuple[str, ...]:
    if isinstance(landing.brace, RectangularTubeLike):
        _put_brace(chain, landing, landing.brace)
        return formulas.square_on_round(chain, bool(landing.crossed))
    symbols = (formulas.round_cross if landing.crossed else formulas.round_cross_angle)(chain, code)
    formulas.round_moments(chain, code)
    return symbols


def _put_brace(chain: Chain, landing: Landing, brace: RectangularTubeLike) -> None:
    """What punching needs to know of a rectangular brace; turned about its axis it takes the weaker one's."""
    section = brace.section
    moments = section.second_moment_y, section.second_moment_z
    if abs(landing.brace_across - brace.width) < _SQUARELY * brace.width:
        inside, outside = moments
    elif abs(landing.brace_across - brace.height) < _SQUARELY * brace.height:
        outside, inside = moments
    else:
        inside = outside = min(moments)
    chain.given("t_b", brace.wall, "m", "wall of the brace")
    chain.given("A_b", section.area, "m**2", "area of the brace")
    chain.given(
        "W_i", 2 * inside / landing.brace_along, "m**3", "its elastic modulus in the plane of the two axes"
    )
    chain.given("W_o", 2 * outside / landing.brace_across, "m**3", "its elastic modulus out of that plane")


def _flat_chord(chain: Chain, landing: Landing) -> tuple[str, ...]:
    round_brace = isinstance(landing.brace, RoundTubeLike)
    if chain["beta"] <= _WIDE:
        symbols = formulas.face_cross_angle(chain, round_brace)
        formulas.face_moments(chain, round_brace)
        return symbols
    symbols = (
        *formulas.face_at_limit(chain),
        *formulas.face_punching(chain, round_brace),
        *formulas.side_walls(chain, bool(landing.crossed)),
    )
    formulas.wall_moments(chain, bool(landing.crossed))
    return symbols


def _verdict(chain: Chain, landing: Landing, code: str, symbols: tuple[str, ...]) -> Chain:
    least = f"min({', '.join(symbols)})" if len(symbols) > 1 else symbols[0]
    chain.given("k", 0.5 if _short_end(landing) else 1.0, "1", "for the chord's end nearby")
    if code == "AISC 360":
        chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22 chapter K")
        divisor = "omega"
    else:
        load, joint = partial_factor("load"), partial_factor("joint")
        chain.given("g_F", load.value, "1", f"partial factor, {load.clause}")
        chain.given("g_M5", joint.value, "1", f"partial factor, {joint.clause}")
        divisor = "(g_M5 * g_F)"
    chain.step("P_c", f"k * {least} / {divisor}", "N", "what the chord may take along the brace")
    chain.step("M_ic", f"k * M_i / {divisor}", "N*m", "what it may take in the plane")
    chain.step("M_oc", f"k * M_o / {divisor}", "N*m", "what it may take out of the plane")
    if isinstance(landing.chord, RoundTubeLike) and not _square_on_round(landing):
        formula = "P / P_c + (M_1 / M_ic)**2 + M_2 / M_oc"
    else:
        formula = "P / P_c + M_1 / M_ic + M_2 / M_oc"
    chain.step("u", formula, "1", "all three together, AISC 360-22 K4, EN 1993-1-8 7.4.2, 7.5.2")
    return chain
