"""Does the fillet round a tube's end hold: the weld as a line, its throat, and the metal beside it."""

import math
from collections.abc import Sequence
from typing import cast

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    filler_assumptions,
    filler_match,
    length_words,
    material_assumptions,
    material_words,
    per_case,
    put_forces,
    strength_gap,
    unanswered,
    weld_allowable,
    weld_zone_gap,
)
from soapstone.strength.members import tube_gap
from soapstone.strength.shapes import Array, RectangularTubeLike, RoundTubeLike, TubeLike
from soapstone.strength.weld_lines import line_force
from soapstone.tables import Filler, Material, least_fillet, safety_factor

SHARPEST = 60.0  # AWS D1.1, from memory: a fillet opens 60 to 120 degrees
_CLAIM = "the fillet round the end carries what the tube brings"
_SOURCE = (
    "weld treated as a line (Shigley, Mechanical Engineering Design, 9th ed., tables 9-1 and 9-2); "
    "AISC 360-22 J2.4 and table J2.5; length of a skewed round end AISC 360-22 K5"
)
_WALL_SOURCE = "forces by the weld as a line (Shigley, 9th ed., tables 9-1 and 9-2); AISC 360-22 J4.1, J4.2"
_CAUTION = (
    "Static strength only: fatigue at the weld toe is not part of this check. On the flanks of a cope onto a "
    "tube of like size the fillet runs flat: build the throat up there."
)


def tube_end_weld(
    *,
    name: str,
    section: TubeLike,
    material: Material,
    leg: float | None,
    filler: Filler | None,
    forces: Array,
    cases: Sequence[str],
    angle: float = math.pi / 2,
) -> Finding:
    """Judge the all-round fillet at one end of a tube.

    Parameters
    ----------
    name : str
        The end (`side_left start`).
    leg : float or None
        Fillet leg, m.
    forces : Array
        (n_cases, 6) [N, Vy, Vz, T, My, Mz] at the end, N, N·m.
    angle : float
        Between the tube's axis and the surface it stands on, rad.

    Returns
    -------
    Finding
        `weld:NAME`; `open` when the leg or the filler is missing or the heel is sharper than 60 degrees.
    """
    id = f"weld:{name}"
    gap = _gap(section, leg, filler, angle)
    if gap or leg is None or filler is None:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    forces = per_case(name, forces, cases, (6,))
    force, place = line_force(section, forces, angle)
    case = int(np.argmax(force))

    chain = Chain()
    _force_steps(chain, section, forces[case], float(place[case]), angle)
    chain.step("f", "sqrt(f_n**2 + f_y**2 + f_z**2)", "N/m", "greatest force per length of weld")
    demand, capacity = _throat_steps(chain, leg, filler)
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda ratio: f"lay a fillet of {length_words(leg * ratio)} leg",
        caution=_CAUTION + filler_match(filler, material),
        assumed=_assumed(filler, angle),
    )


def _gap(section: TubeLike, leg: float | None, filler: Filler | None, angle: float) -> str:
    if leg is None:
        return "the weld's size is missing: give the fillet leg"
    if filler is None:
        return "the filler metal is missing: name it"
    heel = math.degrees(min(angle, math.pi - angle))
    if heel < SHARPEST - 1e-6:
        return (
            f"the heel is sharper than {SHARPEST:g} deg ({heel:.1f} deg): a fillet does not reach its root; "
            "prepare it as a groove weld and give that weld's own throat"
        )
    return tube_gap(section)


def _force_steps(chain: Chain, section: TubeLike, force: Array, place: float, angle: float) -> None:
    put_forces(chain, force)
    chain.given("theta", angle, "rad", "angle between the tube and its seat")
    if isinstance(section, RoundTubeLike):
        _round_steps(chain, section, place)
    else:
        _rectangular_steps(chain, section)


def _round_steps(chain: Chain, section: RoundTubeLike, place: float) -> None:
    chain.given("D", section.outside_diameter, "m", "outside diameter")
    chain.given("phi", place, "rad", "worst place round the tube, from y towards z, found by search")
    chain.step("l_w", "pi * D * (1 + 1 / sin(theta)) / 2", "m", "length of the weld, AISC 360-22 K5")
    chain.step("S_w", "pi * D**2 / 4", "m**2", "bending modulus of the ring as a line")
    chain.step("Z_w", "pi * D**2 / 2", "m**2", "torsion modulus of the ring as a line")
    chain.step("f_n", "N / l_w + (M_y * sin(phi) - M_z * cos(phi)) / S_w", "N/m", "along the tube")
    chain.step("f_y", "V_y / l_w - T / Z_w * sin(phi)", "N/m", "along y")
    chain.step("f_z", "V_z / l_w + T / Z_w * cos(phi)", "N/m", "along z")


def _rectangular_steps(chain: Chain, section: RectangularTubeLike) -> None:
    chain.given("b", section.width, "m", "width of the tube, along y")
    chain.given("d", section.height, "m", "height of the tube, along z")
    chain.step("l_w", "2 * (b + d)", "m", "length of the weld, square-cut")
    chain.step("S_y", "d * (3 * b + d) / 3", "m**2", "bending modulus about y of the line")
    chain.step("S_z", "b * (3 * d + b) / 3", "m**2", "bending modulus about z of the line")
    chain.step("J_w", "(b + d)**3 / 6", "m**3", "polar moment of the line")
    chain.step("f_n", "abs(N) / l_w + abs(M_y) / S_y + abs(M_z) / S_z", "N/m", "along the tube, worst corner")
    chain.step("f_y", "abs(V_y) / l_w + abs(T) * d / 2 / J_w", "N/m", "along y, worst corner")
    chain.step("f_z", "abs(V_z) / l_w + abs(T) * b / 2 / J_w", "N/m", "along z, worst corner")


def _throat_steps(chain: Chain, leg: float, filler: Filler) -> tuple[float, float]:
    chain.given("w", leg, "m", "fillet leg")
    words = "throat where the seat opens widest; 0.707 w when square"
    chain.step("a", "w * sin(min(theta, pi - theta) / 2)", "m", words)
    demand = chain.step("tau", "f / a", "Pa", "stress on the throat")
    return demand, weld_allowable(chain, filler, "tau_allow")


def _assumed(filler: Filler, angle: float) -> tuple[str, ...]:
    notes = ["the weld line lies in a plane; round the saddle of a cope it is longer"]
    notes += filler_assumptions(filler)
    if abs(angle - math.pi / 2) > 1e-9:
        notes.append("the throat is taken all round as where the skew opens the seat widest")
    return tuple(notes)


def weld_wall(
    *,
    name: str,
    section: TubeLike,
    material: Material,
    forces: Array,
    cases: Sequence[str],
    angle: float = math.pi / 2,
) -> Finding:
    """Judge the tube's wall along its end weld: pull by AISC 360-22 J4.1, shear by J4.2, joined as squares.

    Parameters
    ----------
    forces : Array
        (n_cases, 6) [N, Vy, Vz, T, My, Mz] at the end, N, N·m.

    Returns
    -------
    Finding
        `weld-wall:NAME`; `open` when the strength is unknown or the section is no tube.
    """
    id, claim = f"weld-wall:{name}", "the wall beside the weld does not tear"
    gap = strength_gap(material) or tube_gap(section) or weld_zone_gap(material, "ultimate")
    if gap:
        return unanswered(id, claim, gap, source=_WALL_SOURCE)
    forces = per_case(name, forces, cases, (6,))
    force, place = line_force(section, forces, angle, 1 / 0.6)
    case = int(np.argmax(force))
    ultimate = cast(float, material.weld_zone_ultimate or material.ultimate_strength)
    chain = Chain()
    _force_steps(chain, section, forces[case], float(place[case]), angle)
    chain.step(
        "f", "sqrt(f_n**2 + (f_y**2 + f_z**2) / 0.60**2)", "N/m", "pull and shear, shear counting 1/0.60"
    )
    chain.given("t", section.wall, "m", "wall of the tube")
    demand = chain.step("sigma", "f / t", "Pa", "stress in the wall beside the weld")
    chain.given("F_u", ultimate, "Pa", f"ultimate strength beside the weld, {material_words(material)}")
    chain.given("omega", safety_factor("rupture").value, "1", "safety factor, AISC 360-22 J4")
    capacity = chain.step("sigma_allow", "F_u / omega", "Pa", "allowable stress")
    return answered(
        id,
        claim,
        chain,
        demand,
        capacity,
        "Pa",
        case=cases[case],
        source=_WALL_SOURCE,
        remedy=lambda ratio: (
            f"take a wall of at least {length_words(section.wall * ratio)}, same outside size"
        ),
        caution=_CAUTION,
        assumed=material_assumptions(material),
    )


def weld_size(*, name: str, leg: float | None, thinner: float) -> Finding:
    """Judge a fillet's leg against the least one for the thinner part joined; lengths in m.

    AWS D1.1 table 7.7, AISC 360-22 table J2.4. `weld-size:NAME`.
    """
    id, claim = f"weld-size:{name}", "the fillet is not too small for the parts to take up heat"
    source = "AWS D1.1 table 7.7; AISC 360-22 table J2.4; upper end: common practice, no source"
    if leg is None:
        return unanswered(id, claim, "the weld's size is missing: give the fillet leg", source=source)
    chain = Chain()
    chain.given("t", thinner, "m", "thinner part joined")
    capacity = chain.given("w", leg, "m", "fillet leg")
    demand = chain.given(
        "w_min", least_fillet(thinner).leg, "m", "least leg, never more than the thinner part"
    )
    chain.step("w_max", "1.2 * t", "m", "about where a bigger fillet only burns and pulls, common practice")
    caution = ""
    if leg > chain["w_max"] * (1 + 1e-9):
        caution = (
            "The leg is more than 1.2 times the thinner part: it burns through easily and pulls the joint."
        )
    return answered(
        id,
        claim,
        chain,
        demand,
        capacity,
        "m",
        source=source,
        remedy=lambda _: f"lay a fillet of {length_words(demand)} leg",
        caution=caution,
    )
