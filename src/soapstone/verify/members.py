"""Published columns, beams and shafts, answered by the formulas of the strength room.

Each problem stays in the units of its source: the formulas hold in any consistent set.
"""

from collections.abc import Mapping

from soapstone.strength import aisc_tubes, en_tubes
from soapstone.tables import safety_factor
from soapstone.verify.sketch import chain_of

_STEEL = 29000.0  # ksi


def _omega() -> float:
    return safety_factor("yield").value


def pipe_column() -> Mapping[str, float]:
    """Pipe 10 Std of A53, 30 ft; ksi and kip."""
    chain = chain_of(F_y=35.0, E=_STEEL, L_c=360.0, r=3.68, A=11.5)
    strength = aisc_tubes.compression(chain)
    return {"F_e": chain["F_e"], "F_n": chain["F_n"], "P_n": strength, "allowed": strength / _omega()}


def hss_column() -> Mapping[str, float]:
    """HSS12x10x3/8, 20 ft, K 0.8; allowable load in kip."""
    chain = chain_of(F_y=46.0, E=_STEEL, L_c=0.8 * 240, r=4.01, A=14.6)
    return {"allowed": aisc_tubes.compression(chain) / _omega()}


def pipe_beam() -> Mapping[str, float]:
    """Pipe 8 x-Strong of A53 in bending; kip·in and kip·ft."""
    chain = chain_of(F_y=35.0, E=_STEEL, D=8.63, t=0.465, S=23.1, Z=31.0)
    moment = aisc_tubes.round_bending(chain)
    allowed = moment / _omega() / 12
    return {"M_n": moment, "allowed": allowed, "lam_p": chain["lam_p"], "lam_r": chain["lam_r"]}


def hss_beam() -> Mapping[str, float]:
    """HSS10x6x3/16, whose flange is noncompact; kip·in and kip·ft."""
    chain = chain_of(F_y=50.0, E=_STEEL, b=31.5, h=54.5, t=1.0, S_y=14.9, Z_y=18.0)
    moment = aisc_tubes.rectangular_bending(chain, "y", flange="b", web="h")
    return {"M_n": moment, "allowed": moment / _omega() / 12}


def round_shaft() -> Mapping[str, float]:
    """HSS5x0.250 twisted, 14 ft; ksi and kip·in."""
    chain = chain_of(F_y=50.0, E=_STEEL, D=5.0, t=0.233, L=168.0, C=7.95)
    torque = aisc_tubes.round_torsion(chain)
    return {"F_cr": chain["F_cr"], "T_n": torque, "allowed": torque / _omega()}


def rectangular_shaft() -> Mapping[str, float]:
    """HSS6x4x1/4 twisted; in³ and kip·in."""
    wall = 0.233
    chain = chain_of(F_y=50.0, E=_STEEL, B=4.0, H=6.0, b=4 - 3 * wall, h=6 - 3 * wall, t=wall)
    torque = aisc_tubes.rectangular_torsion(chain)
    return {"C": chain["C"], "T_n": torque, "allowed": torque / _omega()}


def _pushed_and_bent(axial: tuple[float, float], *moments: tuple[float, float]) -> float:
    (push, resisted), (about_y, held_y), (about_z, held_z) = axial, *moments
    forces = {"P_r": push, "P_c": resisted, "M_ry": about_y, "M_cy": held_y, "M_rz": about_z, "M_cz": held_z}
    return aisc_tubes.interaction(chain_of(**forces, T_r=0.0, T_c=1.0, V_r=0.0, V_c=1.0))


def pushed_and_bent() -> Mapping[str, float]:
    """Axial force with bending both ways, LRFD values of two examples; share of the strength."""
    return {
        "H.1B": _pushed_and_bent((400, 1130), (250, 642), (80, 311)),
        "H.4": _pushed_and_bent((30, 253), (91.8, 137), (13.1, 52.5)),
    }


def en_column() -> Mapping[str, float]:
    """CHS 244.5x10 of S275, 4 m between pins, hot-finished; N, mm."""
    chain = chain_of(f_y=275.0, E=210e3, A=7370.0, I_y=50.73e6, L_cr=4000.0, alpha=en_tubes.CURVES["a"])
    share = en_tubes.flexural_buckling(chain, "y")
    return {
        "N_cr": chain["N_cry"] / 1e3,
        "slenderness": chain["lam_y"],
        "share": share,
        "resistance": share * 7370 * 275 / 1e3,
    }


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        pipe_column,
        hss_column,
        pipe_beam,
        hss_beam,
        round_shaft,
        rectangular_shaft,
        pushed_and_bent,
        en_column,
    )
}
