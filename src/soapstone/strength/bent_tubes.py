"""Does a tube hold in its bends: ovalled, thinned outside, its inside fibres nearer to the centre."""

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.frame.bend import curved_tube, ovalling
from soapstone.parts.bent_tube import bent_wall
from soapstone.parts.layout import Tube
from soapstone.parts.sections import RoundTube
from soapstone.strength.answers import (
    allowable_stress,
    answered,
    material_assumptions,
    material_words,
    strength_gap,
    unanswered,
)
from soapstone.strength.work import STATIONS, Array, Work

_CLAIM = "the worst fibre of every bend stays below what its metal may carry"
_SOURCE = (
    "von Mises criterion with nominal stresses; intensification ASME B31.3 table D300 and thick curved bar "
    "(Winkler), both from memory; safety factor AISC 360-22 (ASD)"
)


def bend_stress(work: Work, tube: Tube) -> Finding | None:
    """`bend-stress:NAME`, at the worst place of all bends; None for a straight tube."""
    if tube.path is None or not isinstance(tube.section, RoundTube):
        return None
    id = f"bend-stress:{tube.name}"
    gap = strength_gap(tube.material)
    radius = min(bend.radius for _, bend in tube.path.bends)
    outside, wall = tube.section.outside_diameter, tube.section.wall
    oval = ovalling(outside, wall, radius)
    if gap or not oval.valid:
        return unanswered(
            id, _CLAIM, gap or f"{oval.why}: the factors for a bend do not hold", source=_SOURCE
        )
    forces = _in_bends(work, tube)
    factor = _factor(outside, wall, radius)
    thinned = bent_wall(tube.section, radius).outside
    case, place = _worst(forces, RoundTube(outside, thinned), factor)
    chain = Chain()
    chain.given("D", outside, "m", "outside diameter")
    chain.given("t", wall, "m", "wall before bending")
    chain.given("R", radius, "m", "radius of the axis in the tightest bend")
    chain.step("t_o", "t * R / (R + D / 2)", "m", "wall outside the bend, taken all round")
    chain.step("d", "D - 2 * t_o", "m", "bore that goes with it")
    chain.step("A", "pi / 4 * (D**2 - d**2)", "m**2", "area")
    chain.step("S", "pi / 32 * (D**4 - d**4) / D", "m**3", "elastic section modulus")
    chain.given("i", factor, "1", "bending stress in the bend over that of a straight tube")
    n, vy, vz, twist, my, mz = (float(part) for part in forces[case, place])
    chain.given("N", n, "N", "axial force")
    chain.given("V", float(np.hypot(vy, vz)), "N", "shear")
    chain.given("M", float(np.hypot(my, mz)), "N*m", "bending moment")
    chain.given("T", twist, "N*m", "torque")
    chain.step("sigma", "abs(N) / A + i * M / S", "Pa", "along the tube")
    chain.step("tau", "abs(T) / (2 * S) + 2 * V / A", "Pa", "round it")
    demand = chain.step("sigma_v", "sqrt(sigma**2 + 3 * tau**2)", "Pa", "together (von Mises)")
    strength = tube.material.yield_strength
    assert strength is not None
    words = f"yield strength as delivered, {material_words(tube.material)}"
    capacity = allowable_stress(chain, strength, words)
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=work.cases[case],
        source=_SOURCE,
        remedy=lambda ratio: f"take a wider bend or about {np.ceil(100 * (ratio - 1)):.0f} % more wall",
        caution="Cracks start where a bend was kinked, scored by the die or heated; look at it.",
        assumed=(
            *material_assumptions(tube.material),
            "the wall is taken as thin all round as outside the bend",
            "shear and twist at their greatest are taken where bending is",
        ),
    )


def _factor(outside: float, wall: float, radius: float) -> float:
    """The greatest of the code's two intensifications and of the inside fibre of a thick curved bar."""
    oval = ovalling(outside, wall, radius)
    bar = curved_tube(outside, wall, radius)
    modulus = RoundTube(outside, wall).section.elastic_modulus_y
    curved = float(np.abs(bar.stress(1.0, bar.inner)) * modulus)
    return max(oval.in_plane, oval.out_of_plane, curved)


def _in_bends(work: Work, tube: Tube) -> Array:
    """(c, n, 6) forces at every station that lies in a bend."""
    inside = [s for s in work.segments(tube.name) if tube.in_bend((s.start + s.end) / 2.0)]
    return np.concatenate([work.forces[:, s.member, :STATIONS] for s in inside], axis=1)


def _worst(forces: Array, section: RoundTube, factor: float) -> tuple[int, int]:
    properties = section.section
    along = np.abs(forces[..., 0]) / properties.area
    along = along + factor * np.hypot(forces[..., 4], forces[..., 5]) / properties.elastic_modulus_y
    shear = np.abs(forces[..., 3]) / (2.0 * properties.elastic_modulus_y)
    shear = shear + 2.0 * np.hypot(forces[..., 1], forces[..., 2]) / properties.area
    case, place = np.unravel_index(int(np.argmax(along**2 + 3.0 * shear**2)), along.shape)
    return int(case), int(place)
