"""Does the plate round a bolt or pin hold: four ways for a pinned plate to let go."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from scipy.optimize import brentq

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
from soapstone.strength.shapes import Array
from soapstone.tables import Material, safety_factor

_INCH = 0.0254
_WIDER = 0.016
_CLAIM = "the plate round the hole holds the bolt"
_SOURCE = (
    "AISC 360-22 D5.1 (net section, tear-out), J7 (bearing), D2(a) (gross section), D5.2 (proportions); ASD"
)
_CAUTION = "Static strength only; a hole that is flame-cut or walks while reamed holds less."
MODES = ("net section", "tear-out", "bearing", "gross section")


@dataclass(frozen=True)
class Plate:
    """A plate with one hole near its free end; lengths in m.

    Attributes
    ----------
    edge : float
        From the hole's centre to the free end.
    """

    thickness: float
    width: float
    hole: float
    pin: float
    edge: float


def clearance_share(plate: Plate) -> float | None:
    """How much of the tear-out strength a loose pin leaves; None where the formula ends.

    AISC 360-22 D5, from memory: 1 up to 1/32 in of clearance, 0.95 up to 1/16 in.
    """
    slack = plate.hole - plate.pin
    if slack <= _INCH / 32 + 1e-9:
        return 1.0
    return 0.95 if slack <= _INCH / 16 + 1e-9 else None


def edge_distances(plate: Plate, along: Array, across: Array) -> tuple[Array, Array]:
    """Metal from the hole's edge, in line with the force and square to it, m; shape of the forces.

    Between the plate's end and its sides the edge is taken as an ellipse about the hole, which no square or
    round end undercuts.
    """
    size = np.hypot(along, across)
    safe = np.where(size > 0, size, 1.0)
    cosine, sine = np.where(size > 0, along / safe, 1.0), across / safe
    half = plate.width / 2
    in_line = 1 / np.hypot(cosine / plate.edge, sine / half) - plate.hole / 2
    square = 1 / np.hypot(sine / plate.edge, cosine / half) - plate.hole / 2
    return in_line, square


def nominal_strengths(plate: Plate, material: Material, in_line: Array, square: Array) -> Array:
    """Nominal strengths of one plate, (4, ...) N, in the order of `MODES`, by AISC 360-22 D5.1, J7, D2(a).

    Parameters
    ----------
    in_line, square : Array
        From `edge_distances`, m.
    """
    t, d = plate.thickness, plate.pin
    share = clearance_share(plate) or 0.0
    Fy, Fu = cast(float, material.yield_strength), cast(float, material.ultimate_strength)
    effective = np.minimum(np.minimum(2 * t + _WIDER, square), in_line / 1.33)
    return np.stack(
        [
            2 * t * effective * Fu,
            0.6 * share * Fu * 2 * t * (in_line + d / 2),
            np.full_like(in_line, 1.8 * Fy * d * t),
            Fy * (2 * square + plate.hole) * t,
        ]
    )


def safety_factors() -> Array:
    """Ω of each of `MODES`, shape (4,)."""
    keys = ("rupture", "rupture", "bearing", "yield")
    return np.array([safety_factor(key).value for key in keys])


def utilisation(plate: Plate, material: Material, along: Array, across: Array) -> Array:
    """Force over allowable force for each of `MODES`, (4, n_cases)."""
    strengths = nominal_strengths(plate, material, *edge_distances(plate, along, across))
    used: Array = np.hypot(along, across) * safety_factors()[:, None] / strengths
    return used


def lug(
    *,
    name: str,
    thickness: float,
    width: float,
    hole: float,
    pin: float,
    edge: float,
    material: Material,
    force_along: Array,
    force_across: Array,
    cases: Sequence[str],
    share: float | None = None,
) -> Finding:
    """Judge one plate of a fork, or a single tab.

    Parameters
    ----------
    edge : float
        From the hole's centre to the free end, m.
    force_along, force_across : Array
        (n_cases,) N on the whole fork in the plane of the plate: towards the free end and to its side.
    share : float or None
        Part of the force that this plate takes; None is half, listed as assumed. 1 for a single tab.

    Returns
    -------
    Finding
        `lug:NAME`; `open` when the strength is unknown, or the hole is too loose or too near an edge for the
        formula.
    """
    id = f"lug:{name}"
    plate = Plate(thickness, width, hole, pin, edge)
    gap = strength_gap(material) or _gap(plate)
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    part = 0.5 if share is None else share
    along, across = per_case(name, force_along, cases), per_case(name, force_across, cases)
    use = utilisation(plate, material, part * along, part * across)
    mode, case = divmod(int(np.argmax(use)), len(cases))

    chain = _chain(plate, material, along[case], across[case], part)
    demand, words = chain["F"], f"allowable, governed by {MODES[mode]}"
    capacity = chain.step("P_allow", f"P_{mode + 1} / omega_{mode + 1}", "N", words)
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "N",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda _: _remedy(plate, material, part * along, part * across),
        caution=_CAUTION,
        assumed=_assumed(plate, material, share, bool(np.any(across))),
    )


def _gap(plate: Plate) -> str:
    if plate.pin > plate.hole:
        return "the bolt is thicker than its hole: give the right hole"
    if plate.edge <= plate.hole / 2 or plate.width <= plate.hole:
        return "the hole breaks out of the plate: move it in or widen the plate"
    if clearance_share(plate) is None:
        return (
            f"the hole is {length_words(plate.hole - plate.pin)} loose, over the 1/16 in where "
            "the formula ends: drill closer or weld a washer on"
        )
    return ""


def _chain(plate: Plate, material: Material, along: float, across: float, part: float) -> Chain:
    in_line, square = edge_distances(plate, np.array(along), np.array(across))
    chain = Chain()
    chain.given("F_a", along, "N", "force towards the free end, whole fork")
    chain.given("F_s", across, "N", "force to the side, whole fork")
    chain.given("k", part, "1", "part of it that this plate takes")
    chain.step("F", "k * sqrt(F_a**2 + F_s**2)", "N", "force on this plate")
    chain.given("t", plate.thickness, "m", "plate thickness")
    chain.given("d", plate.pin, "m", "bolt diameter")
    chain.given("d_h", plate.hole, "m", "hole diameter")
    chain.given("a", float(in_line), "m", "metal from the hole's edge in line with the force")
    chain.given("b", float(square), "m", "metal from the hole's edge square to the force")
    chain.given("C_r", cast(float, clearance_share(plate)), "1", "for the hole's clearance, AISC 360-22 D5")
    chain.given(
        "F_y", cast(float, material.yield_strength), "Pa", f"yield strength, {material_words(material)}"
    )
    chain.given("F_u", cast(float, material.ultimate_strength), "Pa", "ultimate strength, same source")
    chain.given("c_0", _WIDER, "m", "what AISC 360-22 D5.1 adds to two thicknesses, 0.63 in or 16 mm")
    chain.step(
        "b_e", "min(2 * t + c_0, b, a / 1.33)", "m", "effective width; the last keeps D5.2's proportion"
    )
    chain.step("P_1", "2 * t * b_e * F_u", "N", "net section, AISC 360-22 D5.1(a)")
    chain.step("P_2", "0.6 * C_r * F_u * 2 * t * (a + d / 2)", "N", "tear-out, AISC 360-22 D5.1(b)")
    chain.step("P_3", "1.8 * F_y * d * t", "N", "bearing, AISC 360-22 J7")
    chain.step("P_4", "F_y * (2 * b + d_h) * t", "N", "gross section, AISC 360-22 D2(a)")
    for mode, omega in enumerate(safety_factors(), start=1):
        chain.given(f"omega_{mode}", omega, "1", f"safety factor for {MODES[mode - 1]}, AISC 360-22")
    return chain


def _assumed(plate: Plate, material: Material, share: float | None, sideways: bool) -> tuple[str, ...]:
    notes = [*material_assumptions(material), "a push into the plate is judged like a pull out of it"]
    if share is None:
        notes.append("each plate of the fork takes half of the force")
    if sideways:
        notes.append("a force at an angle is taken whole, with the metal an ellipse leaves in its direction")
    if plate.hole > plate.pin + _INCH / 32 + 1e-9:
        notes.append("0.95 of the tear-out strength for the loose hole: AISC 360-22 D5, from memory")
    return tuple(notes)


def _remedy(plate: Plate, material: Material, along: Array, across: Array) -> str:
    def excess(thickness: float) -> float:
        return float(np.max(utilisation(replace(plate, thickness=thickness), material, along, across))) - 1.0

    # every strength grows at least in step with the thickness, so the present excess bounds the answer
    thickest = plate.thickness * (1 + excess(plate.thickness)) * (1 + 1e-9)
    needed = brentq(excess, plate.thickness, thickest)
    return f"take a plate of at least {length_words(needed)}, or leave more metal round the hole"
