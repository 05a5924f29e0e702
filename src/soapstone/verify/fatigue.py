"""Published fatigue strengths and damage sums, answered by the strength room; MPa."""

from collections.abc import Mapping

import numpy as np

from soapstone.strength.fatigue import attachment_category, damage, end_category, endurance_limits, life
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


def safety() -> Mapping[str, float]:
    """Partial factor on a stress range, safe life, high consequence."""
    return {"factor": partial_factor("fatigue").value}


PROBLEMS = {problem.__name__: problem for problem in (limits, lives, damage_sums, attachments, safety)}
