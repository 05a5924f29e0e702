"""Does the weld at a tab's foot hold: two fillets, one on each face, pulled, pushed aside and bent."""

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
    unanswered,
    weld_allowable,
)
from soapstone.strength.shapes import Array
from soapstone.tables import Filler, Material

_CLAIM = "the weld at the tab's foot carries what the bolt brings"
_SOURCE = (
    "two line welds by the elastic vector method (Shigley, Mechanical Engineering Design, 9th ed., "
    "tables 9-1 and 9-2); AISC 360-22 J2.4 and table J2.5"
)
_CAUTION = "Static strength only. A weld on one face alone has nothing to hold a push out of plane."


def tab_weld(
    *,
    name: str,
    width: float,
    thickness: float,
    reach: float,
    leg: float | None,
    filler: Filler | None,
    material: Material,
    along: Array,
    across: Array,
    out: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge the two fillets across a tab's foot.

    Parameters
    ----------
    width, thickness : float
        Of the tab at its foot, m.
    reach : float
        From the foot to the hole's centre, m.
    material : Material
        Of the tab: a filler weaker than it is told.
    along, across, out : Array
        (n_cases,) N on this tab at its hole: away from the foot, sideways in its plane, square to its face.

    Returns
    -------
    Finding
        `tab-weld:NAME`; `open` when the leg or the filler is missing.
    """
    id = f"tab-weld:{name}"
    if leg is None or filler is None:
        missing = "the weld's size or its filler is missing: give the fillet leg and the filler"
        return unanswered(id, _CLAIM, missing, source=_SOURCE)
    pull, side, push = (np.abs(per_case(name, values, cases)) for values in (along, across, out))
    apart = thickness + leg / 2
    normal = pull / (2 * width) + 3 * side * reach / width**2 + push * reach / (width * apart)
    case = int(np.argmax(np.sqrt(normal**2 + (side**2 + push**2) / (2 * width) ** 2)))
    chain = Chain()
    chain.given("F_a", pull[case], "N", "force along the tab")
    chain.given("F_s", side[case], "N", "force sideways in its plane")
    chain.given("F_o", push[case], "N", "force square to its face")
    chain.given("b", width, "m", "length of each fillet")
    chain.given("t", thickness, "m", "thickness of the tab, between the two roots")
    chain.given("w", leg, "m", "fillet leg")
    chain.given("L", reach, "m", "from the foot to the hole's centre")
    chain.step("f_a", "F_a / (2 * b)", "N/m", "pull on both")
    chain.step("f_m", "F_s * L / (b**2 / 3)", "N/m", "bent in its plane: at the ends of the fillets")
    chain.step("h", "t + w / 2", "m", "between the middles of the two throats")
    chain.step("f_o", "F_o * L / (b * h)", "N/m", "bent out of its plane: one pulls, the other pushes")
    chain.step("f_v", "sqrt(F_s**2 + F_o**2) / (2 * b)", "N/m", "shear on both")
    chain.step("f", "sqrt((f_a + f_m + f_o)**2 + f_v**2)", "N/m", "greatest force per length")
    demand = chain.step("s", "f / (w / sqrt(2))", "Pa", "stress on the throat")
    capacity = weld_allowable(chain, filler)
    note = "a fillet on each face of the tab, over its whole width; ends not counted"
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda ratio: f"lay fillets of {length_words(leg * ratio)} leg, or make the foot wider",
        caution=_CAUTION + filler_match(filler, material),
        assumed=(note, *filler_assumptions(filler)),
    )
