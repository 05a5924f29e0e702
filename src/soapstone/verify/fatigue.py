"""Published fatigue strengths and damage sums, answered by the strength room; MPa."""

from collections.abc import Mapping

import numpy as np

from soapstone.formula import Chain
from soapstone.strength.fatigue import (
    attachment_category,
    damage,
    end_category,
    endurance_limits,
    life,
    swings,
    thickness_factor,
)
from soapstone.strength.hot_spots import CATEGORY, RoundJoint, put_factors
from soapstone.tables import partial_factor

_CATEGORIES = (36, 40, 45, 50, 56, 71, 80, 90)


def limits() -> Mapping[str, float]:
    """Limit at five million cycles and cut-off, by category; and both over the category."""
    found: dict[str, float] = {}
    for category in (1, *_CATEGORIES):
        constant, cut_off = endurance_limits(float(category))
        found |= {f"{category} constant": float(constant), f"{category} cut-off": float(cut_off)}
    return found


def lives() -> Mapping[str, float]:
    """Cycles that a tube's fillet end lasts at a range of 30 MPa, by category."""
    return {str(category): float(life(np.array(30.0), float(category))) for category in (36, 40)}


def damage_sums() -> Mapping[str, float]:
    """1e5 cycles at 90, 1e6 at 60 and 1e7 at 40 MPa, by category."""
    ranges, cycles = np.array([90.0, 60.0, 40.0]), np.array([1e5, 1e6, 1e7])
    return {str(category): damage(ranges, cycles, float(category)) for category in (56, 90)}


def attachments() -> Mapping[str, float]:
    """Category of a tube's wall beside an attachment of so many mm, and of a tube's end with fillets."""
    found = {f"{mm} mm": attachment_category(mm / 1e3) / 1e6 for mm in (50, 80, 100, 101)}
    return {**found, "round end": end_category(True) / 1e6, "flat end": end_category(False) / 1e6}


def hot_spots() -> Mapping[str, float]:
    """Factors of a brace 120x5 on a chord 240x10 of 2.4 m: a tee, leaning at 45 degrees, a cross."""
    found: dict[str, float] = {"category": CATEGORY / 1e6}
    for kind, angle, crossed in (("tee", 90.0, False), ("leaning", 45.0, False), ("cross", 90.0, True)):
        joint = RoundJoint(0.240, 0.010, 0.120, 0.005, float(np.radians(angle)), 2.4, crossed, 56e6)
        for side, on_chord in (("chord", True), ("brace", False)):
            for place in ("saddle", "crown"):
                chain = Chain()
                put_factors(chain, joint, on_chord, place)
                factors = {s.symbol: s.value for s in chain.steps if s.symbol in ("K_a", "K_i", "K_o")}
                found |= {f"{kind} {side} {place} {symbol}": value for symbol, value in factors.items()}
    return found


def thick_wall() -> Mapping[str, float]:
    """What 40 mm leave of a category."""
    return {"40 mm": thickness_factor(0.040)}


def swinging() -> Mapping[str, float]:
    """Damage of 1000 pulls of 150 MPa and 1000 pushes of 100 MPa at category 80, and of each by itself."""
    stress, cycles = np.array([150.0, -100.0, 0.0]), np.array([1e3, 1e3])
    found = swings(np.abs(stress[:, None] - stress), cycles)
    paired = damage(np.array([s.range for s in found]), np.array([s.cycles for s in found]), 80.0)
    return {"paired": paired, "widest": max(s.range for s in found)}


def safety() -> Mapping[str, float]:
    """Partial factor on a stress range, safe life, high consequence."""
    return {"factor": partial_factor("fatigue").value}


PROBLEMS = {
    problem.__name__: problem
    for problem in (limits, lives, damage_sums, attachments, hot_spots, thick_wall, swinging, safety)
}
