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
from soapstone.strength.foot_forces import FootForces
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
    leg: float | None,
    filler: Filler | None,
    material: Material,
    load: FootForces,
    cases: Sequence[str],
) -> Finding:
    """Judge the two fillets across a tab's foot.

    Parameters
    ----------
    width, thickness : float
        Of the tab at its foot, m.
    material : Material
        Of the tab: a filler weaker than it is told.
    load : FootForces
        (n_cases,) each, at the foot.

    Returns
    -------
    Finding
        `tab-weld:NAME`; `open` when the leg or the filler is missing.
    """
    id = f"tab-weld:{name}"
    if leg is None or filler is None:
        missing = "the weld's size or its filler is missing: give the fillet leg and the filler"
        return unanswered(id, _CLAIM, missing, source=_SOURCE)
    columns = [
        np.abs(per_case(name, values, cases))
        for values in (load.pull, load.aside, load.out, load.bend, load.tip, load.twist)
    ]
    chains = [_chain(width, thickness, leg, row) for row in zip(*columns, strict=True)]
    case = int(np.argmax([chain["s"] for chain in chains]))
    chain = chains[case]
    capacity = weld_allowable(chain, filler)
    return answered(
        id,
        _CLAIM,
        chain,
        chain["s"],
        capacity,
        "Pa",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda ratio: f"lay fillets of {length_words(leg * ratio)} leg, or make the foot wider",
        caution=_CAUTION + filler_match(filler, material),
        assumed=(
            "a fillet on each face of the tab, over its whole width; ends not counted",
            *filler_assumptions(filler),
        ),
    )


def _chain(width: float, thickness: float, leg: float, row: Sequence[float]) -> Chain:
    pull, aside, out, bend, tip, twist = row
    chain = Chain()
    chain.given("F_a", pull, "N", "force along the tab")
    chain.given("F_s", aside, "N", "force sideways in its plane")
    chain.given("F_o", out, "N", "force square to its face")
    chain.given("M_i", bend, "N*m", "moment in its plane, at the foot")
    chain.given("M_o", tip, "N*m", "moment out of its plane, at the foot")
    chain.given("T", twist, "N*m", "twist about its length, at the foot")
    chain.given("b", width, "m", "length of each fillet")
    chain.given("t", thickness, "m", "thickness of the tab, between the two roots")
    chain.given("w", leg, "m", "fillet leg")
    chain.step("f_a", "F_a / (2 * b)", "N/m", "pull on both")
    chain.step("f_m", "M_i / (b**2 / 3)", "N/m", "bent in its plane: at the ends of the fillets")
    chain.step("h", "t + w / 2", "m", "between the middles of the two throats")
    chain.step("f_o", "M_o / (b * h)", "N/m", "bent out of its plane: one pulls, the other pushes")
    chain.step("J_w", "b * (3 * h**2 + b**2) / 6", "m**3", "polar moment of the two lines")
    chain.step("f_t", "T / J_w * sqrt(b**2 + h**2) / 2", "N/m", "twist: at the ends of the fillets")
    chain.step("f_v", "sqrt(F_s**2 + F_o**2) / (2 * b) + f_t", "N/m", "shear on both, and the twist's")
    chain.step("f", "sqrt((f_a + f_m + f_o)**2 + f_v**2)", "N/m", "greatest force per length")
    chain.step("s", "f / (w / sqrt(2))", "Pa", "stress on the throat")
    return chain
