"""Does a plate hold at a snug bolt: bearing, tear-out, and what a countersink leaves."""

from collections.abc import Sequence

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    put_ultimate,
    strength_gap,
    unanswered,
    worst,
)
from soapstone.strength.shapes import Array
from soapstone.tables import BoltSize, Material, safety_factor


def bearing(
    *,
    name: str,
    size: BoltSize,
    thickness: float,
    edge: float,
    hole: float,
    material: Material,
    shear: Array,
    cases: Sequence[str],
    countersink: float = 0.0,
) -> Finding:
    """Judge the plate at a snug bolt: bearing and tear-out (AISC 360-22 J3.11), `bearing:NAME`.

    Parameters
    ----------
    edge : float
        From the hole's centre to the edge in line with the force, m.
    countersink : float
        Depth of a countersunk head, m; half of it does not count (AISC 360-22 J3.11 user note).
    """
    id, claim = f"bearing:{name}", "the bolt neither crushes nor tears out the edge of its hole"
    source = "AISC 360-22 J3.11 (ASD); deformation at service load counted"
    gap = strength_gap(material)
    if gap:
        return unanswered(id, claim, gap, source=source)
    force, case = worst(name, shear, cases)
    chain = Chain()
    demand = chain.given("V", force, "N", "force on the plate from one bolt")
    chain.given("d", size.diameter, "m", f"diameter of {size.name}")
    chain.given("t_0", thickness, "m", "plate thickness")
    chain.given("c", countersink, "m", "depth of the countersink")
    chain.given("e", edge, "m", "from the hole's centre to the edge")
    chain.given("d_h", hole, "m", "hole diameter")
    put_ultimate(chain, "F_u", material)
    chain.given("omega", safety_factor("bolt").value, "1", "safety factor, AISC 360-22 J3.11")
    chain.step("t", "t_0 - c / 2", "m", "thickness that bears")
    chain.step("l_c", "e - d_h / 2", "m", "clear distance to the edge")
    chain.step("R_1", "2.4 * d * t * F_u / omega", "N", "allowable bearing, J3-6a")
    chain.step("R_2", "1.2 * l_c * t * F_u / omega", "N", "allowable tear-out, J3-6c")
    capacity = chain.step("R_allow", "min(R_1, R_2)", "N", "the less of the two")
    return answered(
        id,
        claim,
        chain,
        demand,
        capacity,
        "N",
        case=case,
        source=source,
        remedy=lambda ratio: f"take a plate of at least {length_words(thickness * ratio)}",
        assumed=material_assumptions(material),
    )
