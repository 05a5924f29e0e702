"""Published joints and members, judged by the strength room."""

import math
from collections.abc import Mapping

import numpy as np

from soapstone.finding import Finding
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.strength import bolt, edge_distance, lug, member_stress, tube_end_weld
from soapstone.strength.weld_lines import rectangular_line, round_line
from soapstone.tables import BoltSize, Status, bolt_class, filler, material
from soapstone.verify.units import INCH, KIP, KSI, POUND_FORCE, PSI

_CASE = ("case",)
_PULL = np.array([[1.0, 0.0, 0.0, 0.0, 0.0, 0.0]])


def _symbol(finding: Finding, symbol: str) -> float:
    """A value of the finding's chain of formulas, SI."""
    return {step.symbol: step.value for step in finding.because}[symbol]


def _pinned_plate(metal: str) -> Mapping[str, float]:
    """Plate 1/2 in thick, 4-1/4 in wide, 1 in pin in a 1.03 in hole 2-1/4 in from the end; in, kip."""
    finding = lug(
        name="plate",
        thickness=0.5 * INCH,
        width=4.25 * INCH,
        hole=1.03 * INCH,
        pin=1.0 * INCH,
        edge=(2.25 + 1.03 / 2) * INCH,
        material=material(metal),
        force_along=np.array([KIP]),
        force_across=np.zeros(1),
        cases=_CASE,
        share=1.0,
    )
    modes = ("net section", "tear-out", "bearing", "gross section")
    found = {mode: _symbol(finding, f"P_{i}") / KIP for i, mode in enumerate(modes, start=1)}
    capacity = finding.capacity or math.nan
    return {
        **found,
        "effective width": _symbol(finding, "b_e") / INCH,
        "governing nominal": capacity * _symbol(finding, "omega_3") / KIP,
    }


def lug_design_example() -> Mapping[str, float]:
    """The plate of example D.7, ASTM A572 Grade 50."""
    return _pinned_plate("A572-50")


def lug_design_example_2005() -> Mapping[str, float]:
    """The plate of example D.7 in its 2005 edition, ASTM A36."""
    return _pinned_plate("A36")


def weld_lines() -> Mapping[str, float]:
    """Line properties of a box 50 by 100 mm and of a circle of 25 mm radius; mm² and mm³."""
    box, ring = rectangular_line(0.050, 0.100), round_line(0.050)
    return {
        "box polar": 1e9 * box.polar,
        "box bending": 1e9 * box.modulus_y * box.reach_z,
        "circle polar": 1e9 * ring.polar,
        "circle bending": 1e9 * ring.modulus_y * ring.reach_z,
    }


def _fillet(leg: float, electrode: str, section: RoundTube | RectangularTube, forces: np.ndarray) -> Finding:
    return tube_end_weld(
        name="end",
        section=section,
        material=material("A36"),
        leg=leg,
        filler=filler(electrode),
        forces=forces,
        cases=_CASE,
    )


def fillet_per_length() -> Mapping[str, float]:
    """What an E70 fillet may carry for each length of it: stress allowed times throat; kip/in, kN/mm."""

    def allowed(leg: float) -> float:
        finding = _fillet(leg, "E7018", RoundTube(1.75 * INCH, 0.12 * INCH), _PULL)
        return (finding.capacity or math.nan) * _symbol(finding, "a")

    return {
        "3/8 in": allowed(0.375 * INCH) / KIP * INCH,
        "1/16 in": allowed(INCH / 16) / KIP * INCH,
        "5 mm": allowed(0.005) / 1e6,
        "5 mm in kip/in": allowed(0.005) / KIP * INCH,
    }


def tube_end_fillet() -> Mapping[str, float]:
    """All-round fillet of 3/16 in on 1.75 in tube under 5 kip·in of bending and 4 kip·in of torque."""
    forces = np.array([[0.0, 0.0, 0.0, 4 * KIP * INCH, 5 * KIP * INCH, 0.0]])
    finding = _fillet(3 / 16 * INCH, "E7018", RoundTube(1.75 * INCH, 0.12 * INCH), forces)
    return {
        "per length": _symbol(finding, "f") / KIP * INCH,
        "throat": (finding.demand or math.nan) / KSI,
        "length": _symbol(finding, "l_w") / INCH,
    }


def branch_weld_length() -> Mapping[str, float]:
    """Length of the weld round a branch of 1.5 in that leans by some degrees; in."""
    return {f"{deg} deg": round_line(1.5 * INCH, math.radians(deg)).length / INCH for deg in (90, 60, 45)}


def structural_bolt() -> Mapping[str, float]:
    """A 3/4 in bolt of 120 ksi with its threads in the shear plane; allowable shear (ASD) in kip."""
    size = BoltSize(
        name="3/4-10",
        diameter=0.75 * INCH,
        pitch=INCH / 10,
        coarse=True,
        head_width_across_flats=1.125 * INCH,
        head_height=0.483 * INCH,
        nut_height=0.665 * INCH,
        source="aisc_360",
        status=Status.VERIFIED,
    )

    def allowed(planes: int, symbol: str) -> float:
        finding = bolt(
            name="bolt",
            size=size,
            grade=bolt_class("grade 5"),
            shear_per_bolt=np.array([KIP]),
            tension=np.zeros(1),
            planes=planes,
            threads_in_plane=True,
            cases=_CASE,
        )
        return _symbol(finding, symbol) / KIP

    return {"single": allowed(1, "V_allow"), "double": allowed(2, "V_allow"), "pull": allowed(1, "P_allow")}


def tube_bent_and_twisted() -> Mapping[str, float]:
    """Tube 1.75 by 0.120 in, 500 lb at 20 in and 3000 lb·in of torque, at its root; psi.

    The shear force itself is left out: at the fibre farthest from the axis it makes no shear stress.
    """
    force = POUND_FORCE * np.array([[[0.0, 0.0, 0.0, 3000 * INCH, 500 * 20 * INCH, 0.0]]])
    finding = member_stress(
        name="tube",
        section=RoundTube(1.75 * INCH, 0.120 * INCH),
        material=material("DOM 1020"),
        forces=force,
        stations=np.zeros(1),
        cases=_CASE,
    )
    return {
        "bending": abs(_symbol(finding, "sigma")) / PSI,
        "torsion": abs(_symbol(finding, "tau_t")) / PSI,
        "von Mises": (finding.demand or math.nan) / PSI,
    }


def tube_in_shear() -> Mapping[str, float]:
    """The same tube under 500 lb of shear alone: twice the mean stress at its neutral axis; psi."""
    finding = member_stress(
        name="tube",
        section=RoundTube(1.75 * INCH, 0.120 * INCH),
        material=material("DOM 1020"),
        forces=POUND_FORCE * np.array([[[0.0, 0.0, 500.0, 0.0, 0.0, 0.0]]]),
        stations=np.zeros(1),
        cases=_CASE,
    )
    return {"peak": abs(_symbol(finding, "tau")) / PSI}


def bolt_hole_edge() -> Mapping[str, float]:
    """Least edge distance of a 13 mm hole; mm."""
    finding = edge_distance(name="tab", hole=0.013, nearest_edge=0.020)
    return {"least": 1e3 * (finding.demand or math.nan)}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        lug_design_example,
        lug_design_example_2005,
        weld_lines,
        fillet_per_length,
        tube_end_fillet,
        branch_weld_length,
        structural_bolt,
        tube_bent_and_twisted,
        tube_in_shear,
        bolt_hole_edge,
    )
}
