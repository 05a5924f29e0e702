"""Published joints of hollow sections, answered by the chord formulas of the strength room.

Each problem stays in the units of its source: the formulas hold in any consistent set.
"""

import math
from collections.abc import Mapping

from soapstone.formula import Chain
from soapstone.strength import chord_formulas, chord_plates
from soapstone.tables import safety_factor
from soapstone.verify.sketch import chain_of

_AISC, _EN = "AISC 360", "EN 1993"
_SQUARE, _LEANING = math.pi / 2, math.pi / 4


def _joint(*, use: float = 0.0, **sizes: float) -> Chain:
    """A joint's sizes, its ratios, and what the chord's own push leaves of its wall."""
    chain = chain_of(U=use, **sizes)
    chord_formulas.ratios(chain)
    chord_formulas.chord_stress(chain)
    return chain


def _picked(chain: Chain, *symbols: str) -> dict[str, float]:
    return {symbol: chain[symbol] for symbol in symbols}


def _round_tee(angle: float, code: str) -> dict[str, float]:
    """Brace of 4.5 in on a chord of 8.625 by 0.322 in, 46 ksi; kip and kip·in."""
    chain = _joint(f_y=46.0, D=8.625, t=0.322, d=4.5, theta=angle)
    chord_formulas.round_cross_angle(chain, code)
    chord_formulas.round_moments(chain, code)
    return _picked(chain, "beta", "gamma", "N_1", "N_2", "M_i1", "M_o1", "M_i2", "M_o2")


def round_tee() -> Mapping[str, float]:
    """Square, by AISC 360."""
    return _round_tee(_SQUARE, _AISC)


def round_leaning() -> Mapping[str, float]:
    """At 45 degrees, by AISC 360."""
    return _round_tee(_LEANING, _AISC)


def round_tee_en() -> Mapping[str, float]:
    """Square, by EN 1993-1-8."""
    return _round_tee(_SQUARE, _EN)


def pushed_chord() -> Mapping[str, float]:
    """What is left of a chord pushed to so many tenths of its strength."""
    tee = {"f_y": 46.0, "D": 8.625, "t": 0.322, "d": 4.5, "theta": _SQUARE}
    return {f"{use:g}": _joint(use=use, **tee)["Q"] for use in (0.2, 0.5, 0.8)}


def pushed_face() -> Mapping[str, float]:
    """The same of SHS 80x80x4 of S235 under a brace SHS 50, pushed to half of its strength; share and N."""
    chain = chain_of(f_y=235.0, D=80.0, t=4.0, d=50.0, h=50.0, theta=_SQUARE, U=0.5)
    chord_formulas.ratios(chain)
    chord_formulas.face_stress(chain)
    chord_formulas.face_cross_angle(chain, False)
    return _picked(chain, "Q", "N_1")


def round_gap_chord() -> Mapping[str, float]:
    """Chord 219.1x12.5 of S355, brace 139.7 at 45 degrees, gap 40 mm, chord at two pushes; kN."""
    found: dict[str, float] = {}
    for push in (1000, 1636):
        area = math.pi * 12.5 * (219.1 - 12.5)
        # the sheet counts the chord's own push before the joint, over its squash load
        chain = _joint(
            use=push * 1e3 / (355 * area), f_y=355.0, D=219.1, t=12.5, d=139.7, theta=_LEANING, g=40.0
        )
        chord_formulas.round_gap(chain, _EN)
        found |= {f"{push} Q": chain["Q"], f"{push} N_1": chain["N_1"] / 1e3}
        found |= {"k_g": chain["k_g"], "punching": chain["N_2"] / 1e3}
    slimmer = _joint(f_y=355.0, D=219.1, t=12.5, d=114.3, theta=_LEANING)
    chord_formulas.round_punching(slimmer, _EN)
    return {**found, "punching of 114.3": slimmer["N_2"] / 1e3}


def girder_gap() -> Mapping[str, float]:
    """Chord 508x16 with a gap of 11.3 mm."""
    chain = _joint(f_y=1.0, D=508.0, t=16.0, d=300.0, theta=1.0, g=11.3)
    chord_formulas.round_gap(chain, _EN)
    return {"k_g": chain["k_g"]}


def _frame_tube_gap(code: str) -> Mapping[str, float]:
    chain = _joint(f_y=60.0, D=1.75, t=0.12, d=1.25, theta=_LEANING, g=0.5)
    chord_formulas.round_gap(chain, code)
    return _picked(chain, "k_g", "N_1", "N_2")


def frame_tube_gap() -> Mapping[str, float]:
    """Tube 1.75 by 0.12 in, 60 ksi, braces of 1.25 in at 45 degrees, gap 0.5 in, by AISC 360; kip."""
    return _frame_tube_gap(_AISC)


def frame_tube_gap_en() -> Mapping[str, float]:
    """The same by EN 1993-1-8."""
    return _frame_tube_gap(_EN)


def sheet_tee() -> Mapping[str, float]:
    """Chord 89x5, brace 60, 300 MPa; the chord pushed by 112 kN, and not pushed; N."""
    sizes = {"f_y": 300.0, "D": 89.0, "t": 5.0, "d": 60.0, "theta": _SQUARE}
    free, pushed = _joint(**sizes), _joint(use=112e3 / (300 * math.pi * 5 * 84), **sizes)
    for chain in (free, pushed):
        chord_formulas.round_cross_angle(chain, _EN)
    american = _joint(**sizes)
    chord_formulas.round_cross_angle(american, _AISC)
    return {
        **_picked(free, "beta", "gamma", "N_1", "N_2"),
        "Q pushed": pushed["Q"],
        "N_1 pushed": pushed["N_1"],
        "N_1 by AISC": american["N_1"],
    }


def _square_tee(angle: float) -> Mapping[str, float]:
    """Brace SHS 50 on SHS 80x80x4 of S235; N and mm."""
    chain = _joint(f_y=235.0, D=80.0, t=4.0, d=50.0, h=50.0, theta=angle)
    chord_formulas.face_cross_angle(chain, False)
    chord_formulas.face_punching(chain, False)
    return _picked(chain, "N_1", "N_2", "d_e")


def square_tee() -> Mapping[str, float]:
    """Square."""
    return _square_tee(_SQUARE)


def square_leaning() -> Mapping[str, float]:
    """At 45 degrees."""
    return _square_tee(_LEANING)


def full_width_tee() -> Mapping[str, float]:
    """SHS 150x150x8 on SHS 150x150x10 of S355: its side walls; kN and kN·m."""
    sizes = {"D": 150.0, "H": 150.0, "t": 10.0, "d": 150.0, "h": 150.0}
    chain = _joint(f_y=355.0, E=210e3, theta=_SQUARE, **sizes)
    chord_formulas.side_walls(chain)
    chord_formulas.wall_moments(chain, False)
    moments = {symbol: chain[symbol] / 1e6 for symbol in ("M_i", "M_o1", "M_o2")}
    return {"lam_w": chain["lam_w"], "chi_w": chain["chi_w"], "N_3": chain["N_3"] / 1e3, **moments}


def plate_on_round() -> Mapping[str, float]:
    """A plate of 4 in along HSS6x0.375, 50 ksi; nominal and allowable, kip."""
    chain = _joint(f_y=50.0, D=6.0, t=0.349, d=0.25, l=4.0, theta=_SQUARE)
    chord_plates.plate_on_round(chain)
    return {"N_1": chain["N_1"], "allowed": chain["N_1"] / safety_factor("yield").value}


def plate_on_face() -> Mapping[str, float]:
    """A plate of 6 mm, 80 mm long, along SHS 80x80x4 of S235; N."""
    chain = _joint(f_y=235.0, D=80.0, t=4.0, d=6.0, l=80.0, theta=_SQUARE)
    chord_plates.plate_on_face(chain)
    return _picked(chain, "N_1")


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        round_tee,
        round_leaning,
        round_tee_en,
        pushed_chord,
        pushed_face,
        round_gap_chord,
        girder_gap,
        frame_tube_gap,
        frame_tube_gap_en,
        sheet_tee,
        square_tee,
        square_leaning,
        full_width_tee,
        plate_on_round,
        plate_on_face,
    )
}
