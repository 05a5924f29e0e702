"""Does the casting round a tapped hole split: the thread's flanks wedge it open."""

from collections.abc import Sequence

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    put_yield,
    strength_gap,
    unanswered,
    worst,
)
from soapstone.strength.preload import Tightened, preload_steps
from soapstone.strength.shapes import Array
from soapstone.tables import BoltSize, Material, safety_factor

_CLAIM = "the boss does not split round its thread"
_SOURCE = (
    "wedging of a 60 deg thread, its radial part tan 30 deg of the pull, as pressure in a thick ring (Lame: "
    "Roark's Formulas for Stress and Strain, 7th ed., table 13.5, from memory); "
    "safety factor AISC 360-22 (ASD)"
)


def boss_burst(
    *,
    name: str,
    size: BoltSize,
    outside: float,
    engaged: float,
    material: Material,
    pull: Array,
    joint: Tightened | None,
    cases: Sequence[str],
) -> Finding:
    """Judge a round boss with a tapped hole: `boss-burst:NAME`; sizes in m.

    Parameters
    ----------
    pull : Array
        (n_cases,) N along the bolt in service.
    joint : Tightened or None
        The bolt's tightening; without it only the service pull counts, which is listed as assumed.
    """
    id = f"boss-burst:{name}"
    gap = strength_gap(material)
    if not gap and outside <= size.diameter:
        gap = "the boss is no wider than its bolt: give its outside diameter"
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    force, case = worst(name, pull, cases)
    chain = Chain()
    chain.given("N", force, "N", "pull on the bolt in service")
    total = "N"
    if joint is not None:
        preload_steps(chain, joint)
        total = "(F_max + N)"
    else:
        chain.given("d", size.diameter, "m", f"diameter of {size.name}")
    chain.given("D_o", outside, "m", "outside of the boss")
    chain.given("l_e", engaged, "m", "full thread engaged")
    formula = f"{total} * tan(pi / 6) / (pi * d * l_e)"
    chain.step("p", formula, "Pa", "pressure of the flanks on the hole, spread evenly")
    demand = chain.step("s_t", "p * (D_o**2 + d**2) / (D_o**2 - d**2)", "Pa", "pull round the hole's edge")
    put_yield(chain, "f_y", material)
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22")
    capacity = chain.step("s_allow", "f_y / omega", "Pa", "allowable stress")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=case,
        source=_SOURCE,
        remedy=lambda ratio: f"screw the bolt in {length_words(engaged * ratio)}, or take a thicker boss",
        caution="The first threads carry more than their share, and a casting may hold pores: look for both.",
        assumed=(
            *material_assumptions(material),
            "the service pull comes whole on top of the preload"
            if joint is not None
            else "the bolt's torque is not given, so its preload is left out",
        ),
    )
