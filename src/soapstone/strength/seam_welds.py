"""Does the fillet along a coped end's true line hold."""

import math
from collections.abc import Sequence

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    filler_assumptions,
    filler_match,
    length_words,
    per_case,
    put_forces,
    unanswered,
    weld_allowable,
)
from soapstone.strength.seam import LOST_SHARE, SHARPEST, Seam, throat_area, throat_stress, turning
from soapstone.strength.shapes import Array
from soapstone.tables import Filler, Material

_CLAIM = "the fillet round the end carries what the tube brings"
_SOURCE = (
    "elastic vector method on the throats along the line where the two outsides meet (as Shigley, Mechanical "
    "Engineering Design, 9th ed., chapter 9, does for plane welds); AISC 360-22 J2.4 and table J2.5; where a "
    "fillet ends by the angle between the faces: AWS D1.1, from memory"
)
_CAUTION = (
    "Static strength only: fatigue at the weld toe is a check of its own. Where the two outsides run "
    "together the fillet lies flat: build its throat up there."
)


def seam_weld(
    *,
    name: str,
    seam: Seam,
    material: Material,
    leg: float | None,
    filler: Filler | None,
    forces: Array,
    at: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge the fillet along a seam.

    Parameters
    ----------
    forces : Array
        (n_cases, 6) [N, Vy, Vz, T, My, Mz], N, N·m, in the tube's axes.
    at : Array
        (3,) m, the point in the tube's axes where they act.

    Returns
    -------
    Finding
        `weld:NAME`; `open` when the leg or the filler is missing, or when the faces close to less than 60°
        over more than a quarter of the line. A shorter closed stretch counts as no weld.
    """
    id = f"weld:{name}"
    gap = _gap(seam, leg, filler)
    if gap or leg is None or filler is None:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    forces = per_case(name, forces, cases, (6,))
    throats = throat_area(seam, leg)
    stress = throat_stress(seam, throats, forces, at)
    case, piece = divmod(int(np.argmax(stress)), len(seam.lengths))
    moment, turn = (rows[case] for rows in turning(throats, forces, at))
    chain = Chain()
    put_forces(chain, np.concatenate([forces[case, :3], moment]))
    _seam_givens(chain, seam, leg, piece)
    chain.given("A_w", throats.area, "m**2", "area of all throats, summed along the line")
    for axis, value in zip("xyz", turn, strict=True):
        chain.given(f"k_{axis}", value, "Pa/m", f"turn about {axis}: the moments over the second moments")
    for axis, value in zip("xyz", seam.points[piece] - throats.centre, strict=True):
        chain.given(f"r_{axis}", value, "m", f"the worst place from the throats' centre, along {axis}")
    chain.step("s_x", "N / A_w + k_y * r_z - k_z * r_y", "Pa", "stress along the tube")
    chain.step("s_y", "V_y / A_w + k_z * r_x - k_x * r_z", "Pa", "stress along y")
    chain.step("s_z", "V_z / A_w + k_x * r_y - k_y * r_x", "Pa", "stress along z")
    demand = chain.step("s", "sqrt(s_x**2 + s_y**2 + s_z**2)", "Pa", "stress on the throat")
    capacity = weld_allowable(chain, filler)
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
        assumed=_assumed(filler, seam),
    )


def _gap(seam: Seam, leg: float | None, filler: Filler | None) -> str:
    if leg is None:
        return "the weld's size is missing: give the fillet leg"
    if filler is None:
        return "the filler metal is missing: name it"
    if seam.lost_share > LOST_SHARE:
        return (
            f"over {100 * seam.lost_share:.0f} % of the line the faces close to less than "
            f"{math.degrees(SHARPEST):.0f} deg (down to {math.degrees(seam.openings.min()):.0f}) and a "
            "fillet does not reach the root: prepare a groove weld there, or let the two meet less acutely"
        )
    return ""


def _seam_givens(chain: Chain, seam: Seam, leg: float, piece: int) -> None:
    chain.given("w", leg, "m", "fillet leg")
    chain.given("l_w", seam.length, "m", "length of the line where the two outsides meet")
    chain.given("l_0", seam.length * seam.lost_share, "m", "of it closed below 60 deg, counted as no weld")
    chain.given("psi", float(seam.openings[piece]), "rad", "angle between the faces at the worst place")
    chain.step("a", "w * cos(psi / 2)", "m", "throat there")


def _assumed(filler: Filler, seam: Seam) -> tuple[str, ...]:
    notes = ["both legs are alike all along the line"]
    if seam.lost_share > 0:
        notes.append(
            f"{100 * seam.lost_share:.0f} % of the line, closed below 60 deg, counts as no weld; up to a "
            "quarter may be (own rule, no source)"
        )
    return (*notes, *filler_assumptions(filler))
