"""The checks of a bar: its metal at the outline's worst corner; what no formula here covers is left open."""

from collections.abc import Iterator

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.parts.bars import BarSection
from soapstone.parts.layout import SeatKind, SolidBar
from soapstone.strength.answers import (
    allowable_stress,
    answered,
    material_assumptions,
    material_words,
    put_forces,
    strength_gap,
    unanswered,
    weld_zone_gap,
)
from soapstone.strength.shapes import Array
from soapstone.strength.work import Work

_CLAIM = "the worst fibre of the bar stays below what its metal may carry"
_SOURCE = (
    "von Mises criterion with elementary beam stresses at the outline; torsion after Saint-Venant with "
    "Roark's table 10.1 (from memory); safety factor AISC 360-22 (ASD)"
)
_SLENDER = "the bar's legs may buckle before they yield (AISC 360-22 table B4.1a is not computed for bars)"
_CENTRE = (
    "the bar's axis runs through its centroid; its welds are taken to hold it there, and the turn that a"
    " force beside the shear centre brings is in its stress, not in the frame's stiffness"
)
_ROOT = "the peak of shear at the root of an inside corner is local and left out"


def bar_findings(work: Work, bar: SolidBar) -> Iterator[Finding]:
    """Every finding about one bar."""
    yield bar_stress(work, bar)
    yield unanswered(
        f"member-buckling:{bar.name}",
        "the bar does not buckle",
        f"buckling of {_named(bar)} is not computed here: it bends and twists as it goes (AISC 360-22 E4,"
        " E5, EN 1993-1-1 6.3.1.4), and its legs may buckle first: check it by hand, or make it a tube",
        source="AISC 360-22 chapter E; EN 1993-1-1 6.3",
    )
    for end, word in ((0, "start"), (1, "end")):
        seat = bar.seats[end]
        if seat.kind is SeatKind.WELD:
            name = f"{bar.name} {word}"
            yield unanswered(
                f"weld:{name}",
                "the weld carries what the bar brings",
                f"the weld line of {_named(bar)} is not computed here: check it by hand, or make it a tube",
                source="AISC 360-22 J2",
            )
            yield unanswered(
                f"tube-joint:{name}",
                f"{seat.on} carries what the bar brings",
                f"no formula of AISC 360 chapter K or EN 1993-1-8 section 7 is for {_named(bar)} on a tube:"
                " weld a plate or a saddle under it and check that by hand, or make it a tube",
                source="AISC 360-22 chapter K; EN 1993-1-8 section 7",
            )
    if work.cycles.any():
        yield unanswered(
            f"fatigue:{bar.name}",
            "its welds do not crack from the to-and-fro of service",
            f"no detail category is chosen for {_named(bar)}: EN 1993-1-9 table 8.5 (cleats) by"
            " hand, or make it a tube",
            source="EN 1993-1-9",
        )


def _named(bar: SolidBar) -> str:
    words = bar.section.words
    return (
        "an outline of its own" if words == "own outline" else f"{'an' if words[0] in 'aeo' else 'a'} {words}"
    )


def bar_stress(work: Work, bar: SolidBar) -> Finding:
    """`member-stress`: normal stress at the outline's corners, the largest shears added to it."""
    id, metal, section = f"member-stress:{bar.name}", bar.material, bar.section.section
    welded = any(seat.kind is SeatKind.WELD for seat in bar.seats)
    gap = strength_gap(metal) or (weld_zone_gap(metal, "yield") if welded else "")
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    forces = np.concatenate([work.along(s) for s in work.segments(bar.name)], axis=1)
    stations = np.concatenate(
        [np.linspace(s.start, s.end, work.along(s).shape[1]) for s in work.segments(bar.name)]
    )
    stress, corner = worst_corner(section, forces)
    case, station = divmod(int(np.argmax(stress)), stress.shape[1])
    chain = Chain()
    chain.given("x", stations[station], "m", "distance from the start of the member")
    demand = _steps(chain, section, forces[case, station], int(corner[case, station]))
    strength = metal.yield_strength
    assert strength is not None
    if welded and metal.weld_zone_yield is not None:
        strength = metal.weld_zone_yield
    words = "as a weld leaves it" if strength != metal.yield_strength else "of the bar"
    capacity = allowable_stress(chain, strength, f"yield strength {words}, {material_words(metal)}")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=work.cases[case],
        source=_SOURCE,
        remedy=lambda ratio: f"it is used {ratio:.2f} times: take a larger bar, or a tube",
        caution=f"Only stress is seen here: {_SLENDER}.",
        assumed=(*material_assumptions(metal), _CENTRE, _ROOT),
    )


def worst_corner(section: BarSection, forces: Array) -> tuple[Array, Array]:
    """Von Mises stress (...) Pa and which corner it is at, from forces (..., 6) in principal axes."""
    axial, vy, vz, torque, my, mz = np.moveaxis(forces, -1, 0)
    y, z = section.corners.T
    normal = np.abs(
        (axial / section.area)[..., None]
        + (my / section.second_moment_y)[..., None] * z
        - (mz / section.second_moment_z)[..., None] * y
    )
    at_y, at_z = np.abs(section.shear_centre)
    turn = np.abs(torque) + np.abs(vy) * at_z + np.abs(vz) * at_y
    shear = turn / section.torsion_modulus
    shear = shear + np.abs(vy) * section.shear_peak_y + np.abs(vz) * section.shear_peak_z
    worst: Array = normal.max(axis=-1)
    return np.sqrt(worst**2 + 3.0 * shear**2), normal.argmax(axis=-1)


def _steps(chain: Chain, section: BarSection, force: Array, corner: int) -> float:
    put_forces(chain, force)
    y, z = section.corners[corner]
    at_y, at_z = np.abs(section.shear_centre)
    chain.given("A", section.area, "m**2", "area of the bar")
    chain.given("I_y", section.second_moment_y, "m**4", "principal second moment about y")
    chain.given("I_z", section.second_moment_z, "m**4", "principal second moment about z")
    chain.given("y", y, "m", "the outline's worst corner from the centroid, along the principal y")
    chain.given("z", z, "m", "the same along the principal z")
    chain.given("y_s", at_y, "m", "shear centre from the centroid, along y")
    chain.given("z_s", at_z, "m", "the same along z")
    chain.given("W_t", section.torsion_modulus, "m**3", "torsion modulus, Saint-Venant and Roark")
    chain.given("s_y", section.shear_peak_y, "1/m**2", "shear stress over shear force along y, Q / (I b)")
    chain.given("s_z", section.shear_peak_z, "1/m**2", "the same along z")
    chain.step("sigma", "N / A + M_y * z / I_y - M_z * y / I_z", "Pa", "stress along the bar there")
    chain.step("T_s", "abs(T) + abs(V_y) * z_s + abs(V_z) * y_s", "N*m", "torque about the shear centre")
    chain.step("tau", "T_s / W_t + abs(V_y) * s_y + abs(V_z) * s_z", "Pa", "all shears, each at its worst")
    return chain.step(
        "sigma_v", "sqrt(sigma**2 + 3 * tau**2)", "Pa", "von Mises, both at their worst together"
    )
