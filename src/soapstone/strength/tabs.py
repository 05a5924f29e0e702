"""Edge distance of a hole as the trade speaks of it, and a tab bent out of its own plane."""

from collections.abc import Sequence
from typing import cast

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    material_words,
    strength_gap,
    unanswered,
    weld_zone_gap,
    worst,
)
from soapstone.strength.shapes import Array
from soapstone.tables import Material, safety_factor


def edge_distance(*, name: str, hole: float, nearest_edge: float) -> Finding:
    """Judge how near a hole stands to an edge; lengths in m.

    The trade measures from the hole's centre or from its edge; both numbers stand in the chain, named. The
    verdict goes by EN 1993-1-8 table 3.3: at least 1.2 hole diameters from the centre.

    Parameters
    ----------
    nearest_edge : float
        From the hole's centre to the nearest free edge.
    """
    chain = Chain()
    chain.given("d_0", hole, "m", "hole diameter")
    capacity = chain.given("e", nearest_edge, "m", "from the hole's centre to the nearest edge")
    chain.step("e_c", "e / d_0", "1", "edge distance from the hole's centre, in hole diameters")
    chain.step("e_h", "(e - d_0 / 2) / d_0", "1", "edge distance from the hole's edge, in hole diameters")
    demand = chain.step("e_min", "1.2 * d_0", "m", "least from the centre, EN 1993-1-8 table 3.3")
    caution = ""
    if chain["e_h"] < 1.5:
        caution = (
            f"From the hole's edge it is {chain['e_h']:.2f} hole diameters; student-racing rules ask for 1.5 "
            "so measured on bolted tabs, which is 2.0 from the centre."
        )
    return answered(
        f"edge-distance:{name}",
        "the hole stands far enough from the edge",
        chain,
        demand,
        capacity,
        "m",
        source="EN 1993-1-8 table 3.3; the figure of 1.5 from the hole's edge: Formula SAE rules F.5.4.3",
        remedy=lambda _: f"keep the hole's centre {length_words(demand)} from the edge",
        caution=caution,
    )


_CLAIM = "a push out of its plane does not bend the tab at its weld"
_SOURCE = "elastic bending of a plate with its plastic reserve, AISC 360-22 F11 (ASD)"
_CAUTION = (
    "A tab bent to and fro in service cracks long before it yields: hold the part sideways on both sides."
)


def tab_bending(
    *,
    name: str,
    thickness: float,
    width: float,
    arm: float,
    material: Material,
    force_out: Array,
    cases: Sequence[str],
) -> Finding:
    """Judge one tab under a force square to its face.

    Parameters
    ----------
    width : float
        Of the tab where it is welded on, m.
    arm : float
        From the hole's centre to the weld, m.
    force_out : Array
        (n_cases,) N on this tab, square to its face.

    Returns
    -------
    Finding
        `tab-bending:NAME`; `open` when the strength is unknown.
    """
    id = f"tab-bending:{name}"
    gap = strength_gap(material) or weld_zone_gap(material, "yield")
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    force, case = worst(name, force_out, cases)
    softened = material.weld_zone_yield is not None
    strength = cast(float, material.weld_zone_yield if softened else material.yield_strength)
    chain = Chain()
    chain.given("F", force, "N", "force square to the tab's face")
    chain.given("L", arm, "m", "from the hole's centre to the weld")
    demand = chain.step("M", "F * L", "N*m", "moment at the weld")
    chain.given("t", thickness, "m", "plate thickness")
    chain.given("w", width, "m", "width of the tab at the weld")
    words = "beside a weld" if softened else "of the plate"
    chain.given("f_y", strength, "Pa", f"yield strength {words}, {material_words(material)}")
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22 F1")
    capacity = chain.step("M_allow", "f_y * w * t**2 / 4 / omega", "N*m", "allowable moment")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "N*m",
        case=case,
        source=_SOURCE,
        remedy=lambda ratio: (
            f"take a plate of at least {length_words(thickness * ratio**0.5)} or a brace behind the tab"
        ),
        caution=_CAUTION,
        assumed=material_assumptions(material),
    )
