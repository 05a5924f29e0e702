"""Does the wall of a tube stand the plate welded onto it: a hanger or a tab, along it or across."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength import chord_formulas, chord_plates
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
from soapstone.strength.foot_forces import FootForces
from soapstone.strength.shapes import Array, RoundTubeLike, TubeLike
from soapstone.strength.tube_joints import strengths
from soapstone.tables import Material, partial_factor, safety_factor

_CLAIM = "the wall of the tube does not fold or tear under the plate"
_SOURCES = {
    "AISC 360": "AISC 360-22 chapter K2 (ASD); folding of a flat face under a plate across it, and punching: "
    "EN 1993-1-8 tables 7.3 and 7.13",
    "EN 1993": "EN 1993-1-8 tables 7.3 and 7.13; load factor EN 1990 table A1.2(B)",
}
_ALIGNED = math.sin(math.radians(10.0))  # along or across to within the eye's own 10 degrees
_STRONGEST = {"AISC 360": 52.01 * 6894757.293168, "EN 1993": 460e6}


@dataclass(frozen=True)
class PlateLanding:
    """How a plate stands on a tube.

    Attributes
    ----------
    chord : TubeLike
    material : Material
        Of the chord.
    face : float
        Chord's diameter, or the width of the face that the plate stands on, m.
    along : float
        Share of the plate's foot that runs along the chord, 0 (across) to 1.
    width, thickness : float
        Of the plate at its foot, m.
    end_distance : float
        From the plate's middle to the nearer end of the chord, m.
    """

    chord: TubeLike
    material: Material
    face: float
    along: float
    width: float
    thickness: float
    end_distance: float

    @property
    def round(self) -> bool:
        """Whether the chord is round."""
        return isinstance(self.chord, RoundTubeLike)

    @property
    def lies_along(self) -> bool:
        """Whether the plate runs along the chord rather than across."""
        return self.along > 0.5

    @property
    def near_an_end(self) -> bool:
        """Whether the chord ends nearer than its full strength needs (AISC 360-22 K2, from memory)."""
        beta = (self.thickness if self.lies_along else self.width) / self.face
        if self.round:
            return self.end_distance < self.face * (1.25 - beta / 2)
        return self.end_distance < self.face * math.sqrt(max(0.0, 1 - beta))


def plate_joint(
    *,
    name: str,
    landing: PlateLanding,
    load: FootForces,
    chord_use: Array,
    cases: Sequence[str],
    code: str,
) -> Finding:
    """Judge the tube under one plate.

    Parameters
    ----------
    load : FootForces
        (n_cases,) each, at the plate's foot.
    chord_use : Array
        (n_cases,) share of the chord's strength that its own push and bending use there, 0 to 1.

    Returns
    -------
    Finding
        `plate-joint:NAME`; `open` outside the range of the formulas.
    """
    id, source = f"plate-joint:{name}", _SOURCES[code]
    metal = landing.material
    gap = strength_gap(metal) or weld_zone_gap(metal, "yield") or _gap(landing, code)
    if gap:
        return unanswered(id, _CLAIM, gap, source=source)
    columns = [per_case(name, v, cases) for v in (load.pull, load.bend, load.tip, chord_use)]
    chains = [_chain(landing, code, *map(abs, row)) for row in zip(*columns, strict=True)]
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
            f"take a tube wall of at least {length_words(landing.chord.wall * math.sqrt(ratio))}, or weld a "
            "saddle plate under the foot"
        ),
        caution="A crack at the weld toe under to-and-fro load comes long before this.",
        assumed=_assumed(landing, code),
    )


def _assumed(landing: PlateLanding, code: str) -> tuple[str, ...]:
    notes = [*material_assumptions(landing.material), "the plate is judged alone, its neighbours left out"]
    if landing.near_an_end:
        notes.append("the tube ends so near that half of its strength is taken, AISC 360-22 K2, from memory")
    if code == "EN 1993":
        notes.append("gamma_M5 1.0; all loads times 1.5")
    if not landing.lies_along:
        notes.append(
            "a plate across, tipped along the tube, counts like one along it, tipped across: own reading"
        )
    return tuple(notes)


def _gap(landing: PlateLanding, code: str) -> str:
    """What puts a plate outside the range of its formulas, and what would close it; else empty."""
    if min(landing.along, math.sqrt(max(0.0, 1 - landing.along**2))) > _ALIGNED:
        return "the plate stands askew on the tube: turn it along or across, or weld a saddle plate under it"
    yield_strength, ultimate = strengths(landing.material)
    if yield_strength > _STRONGEST[code]:
        return f"its steel ({yield_strength / 1e6:.0f} MPa) is stronger than the tests behind the formulas"
    if code == "AISC 360" and yield_strength > 0.8 * ultimate * (1 + 1e-9):
        share = yield_strength / ultimate
        return f"its yield is {share:.2f} of its ultimate, over the 0.80 where the formulas end"
    stocky = landing.face / landing.chord.wall
    most = 50.0 if landing.round else 35.0 if code == "AISC 360" else 30.0
    if stocky > most or (stocky < 10.0 - 1e-9 and code == "EN 1993"):
        return f"the tube is {stocky:.0f} times as wide as its wall; the formulas hold from 10 to {most:g}"
    ratio = landing.width / landing.face
    if landing.lies_along:
        return _gap_along(landing, ratio, code)
    low = {True: {"AISC 360": 0.2, "EN 1993": 0.25}, False: {"AISC 360": 0.25, "EN 1993": 0.4}}
    high = 1.0 if landing.round else 1.0 - 2.0 * landing.chord.wall / landing.face
    least = low[landing.round][code]
    if not least - 1e-9 <= ratio <= high + 1e-9:
        return (
            f"its foot is {ratio:.2f} of the tube's width; the formulas hold from {least:g} to {high:.2f}: "
            "take another width, or weld a saddle plate under it"
        )
    return ""


def _gap_along(landing: PlateLanding, ratio: float, code: str) -> str:
    low = 1.0 if code == "EN 1993" and not landing.round else 0.0
    if not low - 1e-9 <= ratio <= 4.0 + 1e-9:
        return f"its foot is {ratio:.2f} of the tube's width long; the formulas hold from {low:g} to 4"
    if not landing.round and landing.thickness > 0.2 * landing.face:
        return (
            "the plate is over a fifth of the face's width thick, where the formulas end: take a thinner one"
        )
    return ""


def _chain(landing: PlateLanding, code: str, pull: float, bend: float, tip: float, use: float) -> Chain:
    chain = Chain()
    chain.given("P", pull, "N", "force along the plate")
    chain.given("M_1", bend, "N*m", "moment in the plate's plane, at its foot")
    chain.given("M_2", tip, "N*m", "moment out of its plane, at its foot")
    words = f"yield strength of the tube, {material_words(landing.material)}"
    chain.given("f_y", strengths(landing.material)[0], "Pa", words)
    words = "diameter of the tube" if landing.round else "width of the face the plate stands on"
    chain.given("D", landing.face, "m", words)
    chain.given("t", landing.chord.wall, "m", "wall of the tube")
    way = "along" if landing.lies_along else "across"
    chain.given("l", landing.width, "m", f"width of the plate at its foot, {way} the tube")
    chain.given("d", landing.thickness, "m", "thickness of the plate")
    chain.given("theta", math.pi / 2, "rad", "angle between plate and tube")
    chain.given("U", use, "1", "share of the tube's strength that its own forces use here")
    if landing.round:
        chord_formulas.chord_stress(chain)
    elif landing.lies_along:
        chord_plates.face_stress_along(chain, code)
    else:
        chord_formulas.face_stress(chain, "(l / D)")
    return _verdict(chain, landing, code, _strengths(chain, landing, code))


def _strengths(chain: Chain, landing: PlateLanding, code: str) -> tuple[str, ...]:
    if landing.round:
        on_round = chord_plates.plate_on_round if landing.lies_along else chord_plates.plate_across_round
        return on_round(chain, code)
    return (chord_plates.plate_on_face if landing.lies_along else chord_plates.plate_across_face)(chain)


def _verdict(chain: Chain, landing: PlateLanding, code: str, symbols: tuple[str, ...]) -> Chain:
    least = f"min({', '.join(symbols)})" if len(symbols) > 1 else symbols[0]
    chain.given("k", 0.5 if landing.near_an_end else 1.0, "1", "for the tube's end nearby")
    if code == "AISC 360":
        chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22 chapter K")
        divisor = "omega"
    else:
        load, joint = partial_factor("load"), partial_factor("joint")
        chain.given("g_F", load.value, "1", f"partial factor, {load.clause}")
        chain.given("g_M5", joint.value, "1", f"partial factor, {joint.clause}")
        divisor = "(g_M5 * g_F)"
    chain.step("P_c", f"k * {least} / {divisor}", "N", "what the wall may take along the plate")
    chain.step("M_ic", f"k * M_i / {divisor}", "N*m", "what it may take in the plate's plane")
    chain.step("M_oc", f"k * M_o / {divisor}", "N*m", "what it may take out of it")
    chain.step("u_1", "P / P_c + M_1 / M_ic + M_2 / M_oc", "1", "all three together, in a line")
    formula = "P / (l * d) + 6 * M_1 / (d * l**2)"
    chain.step("s", formula, "Pa", "greatest stress in the plate at its foot")
    formula = f"s * d / (2 * t * f_y / sqrt(3) / {divisor})"
    chain.step("u_2", formula, "1", "plate tears out of the wall, EN 1993-1-8 table 7.3")
    chain.step("u", "max(u_1, u_2)", "1", "the worse of the two")
    return chain
