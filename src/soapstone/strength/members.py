"""Does a tube hold: axial force, bending, torsion and shear together at its worst fibre."""

import dataclasses
import math
from collections.abc import Sequence
from typing import Any, cast

import numpy as np
from scipy.optimize import brentq

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    allowable_stress,
    answered,
    length_words,
    material_assumptions,
    material_words,
    per_case,
    strength_gap,
    unanswered,
    weld_zone_gap,
)
from soapstone.strength.fibres import fibre_chain, worst_fibre
from soapstone.strength.shapes import Array, RectangularTubeLike, RoundTubeLike, TubeLike
from soapstone.tables import Material, safety_factor

_CLAIM = "the worst fibre of the tube stays below what its metal may carry"
_SOURCE = (
    "von Mises criterion with nominal stresses; safety factor AISC 360-22 (ASD); "
    "wall slenderness AISC 360-22 table B4.1a"
)
_CAUTION = (
    "Buckling, fatigue and the dent beside a joint have findings of their own; this one sees only stress."
)


def member_stress(
    *,
    name: str,
    section: TubeLike,
    material: Material,
    forces: Array,
    stations: Array,
    cases: Sequence[str],
    weld_zones: Sequence[tuple[float, float]] = (),
) -> Finding:
    """Judge one member.

    Parameters
    ----------
    forces : Array
        (n_cases, n_stations, 6) N, N·m: [N, Vy, Vz, T, My, Mz] on the face whose outward normal is local x.
    stations : Array
        (n_stations,) m from the start.
    weld_zones : sequence of (float, float)
        Stretches (from, to), m from the start, where the metal counts as softened by a weld.

    Returns
    -------
    Finding
        `member-stress:NAME`; `open` when the strength is unknown, here or beside its welds, the wall too
        slender for the formula, or the section is no tube.
    """
    id = f"member-stress:{name}"
    gap = strength_gap(material) or tube_gap(section) or slenderness_gap(section, material)
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    stations = np.asarray(stations, dtype=np.float64)
    forces = per_case(name, forces, cases, (len(stations), 6))
    softened = _softened(stations, weld_zones)
    if softened.any() and (gap := weld_zone_gap(material, "yield")):
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    strength = _yield_at(material, softened)
    stress, place = worst_fibre(section, forces)
    case, station = divmod(int(np.argmax(stress / strength)), len(stations))

    chain = Chain()
    chain.given("x", stations[station], "m", "distance from the start of the member")
    demand = fibre_chain(chain, section, forces[case, station], float(place[case, station]))
    words = "softened by a weld" if softened[station] else "away from welds"
    capacity = allowable_stress(
        chain, strength[station], f"yield strength {words}, {material_words(material)}"
    )
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=cases[case],
        source=_SOURCE,
        remedy=lambda _: _thicker(section, forces, strength),
        caution=_CAUTION,
        assumed=_assumed(material, bool(softened.any())),
    )


def tube_gap(section: object) -> str:
    """Why a section is outside the formulas for tubes; empty when it is inside."""
    if isinstance(section, RoundTubeLike | RectangularTubeLike):
        return ""
    return (
        "only round, square and rectangular tube is checked here: take a tube or check this section by hand"
    )


def slenderness_gap(section: TubeLike, material: Material) -> str:
    """Why the wall is too thin for full stress; empty when it is not.

    AISC 360-22 table B4.1a: D/t up to 0.11 E/Fy for round tube (case 9), flat width over wall up to
    1.40 √(E/Fy) for rectangular tube (case 6).
    """
    stiffness_ratio = material.elastic_modulus / cast(float, material.yield_strength)
    if isinstance(section, RoundTubeLike):
        slenderness, limit = section.outside_diameter / section.wall, 0.11 * stiffness_ratio
    else:
        flat = max(section.width, section.height) - 2 * section.outside_corner_radius
        slenderness, limit = flat / section.wall, 1.40 * math.sqrt(stiffness_ratio)
    if slenderness <= limit:
        return ""
    return (
        f"the wall is {slenderness:.0f} times thinner than the tube is wide and may buckle first "
        f"(the formula ends at {limit:.0f}): take a thicker wall"
    )


def _softened(stations: Array, zones: Sequence[tuple[float, float]]) -> Any:
    inside = [(stations >= start) & (stations <= end) for start, end in zones]
    return np.any(inside, axis=0) if inside else np.zeros(len(stations), dtype=np.bool_)


def _yield_at(material: Material, softened: Any) -> Array:
    parent = cast(float, material.yield_strength)
    beside = parent if material.weld_zone_yield is None else material.weld_zone_yield
    return np.where(softened, beside, parent)


def _assumed(material: Material, welded: bool) -> tuple[str, ...]:
    notes = material_assumptions(material)
    if welded and material.weld_zone_yield is None:
        notes += (f"beside a weld {material.name} keeps its strength: the table has no other value",)
    elif welded and material.weld_zone_status != material.status:
        notes += (f"strength of {material.name} beside a weld: {material.note}",)
    return notes


def with_wall(section: TubeLike, wall: float) -> TubeLike:
    """The same outside size with another wall; a corner radius keeps its proportion to the wall."""
    stock = cast(Any, section)
    if isinstance(section, RoundTubeLike):
        return cast(TubeLike, dataclasses.replace(stock, wall=wall))
    radius = section.outside_corner_radius * wall / section.wall
    return cast(TubeLike, dataclasses.replace(stock, wall=wall, outside_corner_radius=radius))


def _thickest(section: TubeLike) -> float:
    if isinstance(section, RoundTubeLike):
        return 0.49 * section.outside_diameter
    roundness = max(1.0, section.outside_corner_radius / section.wall)
    return 0.49 * min(section.width, section.height) / roundness


def _thicker(section: TubeLike, forces: Array, strength: Array) -> str:
    def excess(wall: float) -> float:
        stress, _ = worst_fibre(with_wall(section, wall), forces)
        return float(np.max(stress / strength)) * safety_factor("yield").value - 1.0

    thickest = _thickest(section)
    if thickest <= section.wall or excess(thickest) > 0:
        return "no wall of this outside size carries it: take a larger tube or share the load"
    wall = brentq(excess, section.wall, thickest)
    return f"take a wall of at least {length_words(wall)} at the same outside size, for the same forces"
