"""Published pinned plates and thin sheets, answered by the strength room."""

import math
from collections.abc import Mapping

import numpy as np

from soapstone.formula import Chain
from soapstone.strength.pinned_plates import lifting_lug
from soapstone.strength.sheets import centre_load_stiffness, sheet_tear, spreader_thickness
from soapstone.tables import material, safety_factor
from soapstone.verify.sketch import chain_of
from soapstone.verify.units import INCH, KIP


def _lug(**sizes: float) -> dict[str, float]:
    """Every step of a lifting lug of A36; kip and in, the angle in degrees."""
    chain: Chain = chain_of(F_y=36.0, F_u=58.0, **sizes)
    lifting_lug(chain)
    names = ("C_r", "b_e", "z", "A_v", "P_t", "P_b", "P_v", "P_p")
    return {**{name: chain[name] for name in names}, "phi": math.degrees(chain["phi"])}


def lug_sheet_2014() -> Mapping[str, float]:
    """Plate 3/4 in, pin 3/4 in a hole of 7/8 in, design factor 3."""
    return _lug(t=0.75, d=0.75, d_h=0.875, a=1.0625, b=1.0625, N_d=3.0)


def lug_sheet_2005() -> Mapping[str, float]:
    """Plate 3/4 in with a round end, pin 1-3/8 in a hole of 1-11/16 in, design factor 2."""
    return _lug(t=0.75, d=1.375, d_h=1.6875, a=3.3125, b=1.66, N_d=2.0)


def lug_sheet_thick() -> Mapping[str, float]:
    """Plate 1-1/4 in, pin 2-3/4 in a hole of 3 in, design factor 2."""
    return _lug(t=1.25, d=2.75, d_h=3.0, a=3.0, b=3.0, N_d=2.0)


def disc() -> Mapping[str, float]:
    """A disc of 4 in radius, 1/4 in thick, under 1000 lb in its middle; in."""

    def sag(clamped: bool) -> float:
        return centre_load_stiffness(chain_of(P=1000.0, a=4.0, t=0.25, E=29e6, nu=0.3), clamped)

    return {"clamped": sag(True), "free": sag(False)}


def base_plate() -> Mapping[str, float]:
    """A base plate of 13 by 13 in, 50 ksi, under 160 kip (ASD); in."""
    return {"thickness": spreader_thickness(chain_of(P=160.0, l=3.65, F_y=50.0, B=13.0, N=13.0))}


def torn_sheet() -> Mapping[str, float]:
    """A foot tearing out of 16 gauge of A36, nominal; kip."""

    def nominal(width: float, foot: float) -> float:
        finding = sheet_tear(
            name="foot",
            width=width * INCH,
            foot=foot * INCH,
            thickness=0.0598 * INCH,
            material=material("A36"),
            pull=np.ones(1),
            cases=("case",),
        )
        return (finding.capacity or math.nan) * safety_factor("rupture").value / KIP

    return {"tab": nominal(2.0, 0.1875), "spreader": nominal(4.0, 4.0)}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        lug_sheet_2014,
        lug_sheet_2005,
        lug_sheet_thick,
        disc,
        base_plate,
        torn_sheet,
    )
}
