"""The findings of this room, in one shape."""

from collections.abc import Sequence

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.tables import sources

PRACTICE = "common practice, no source"
GEOMETRY = "geometry of the job, no source needed"
STATICS = "free body of the unit, no source needed"


def answered(
    kind: str,
    about: str,
    claim: str,
    chain: Chain,
    demand: float,
    capacity: float,
    unit: str,
    *,
    source: str,
    remedy: str,
    case: str = "",
    caution: str = "",
    assumed: Sequence[str] = (),
) -> Finding:
    """A finding that could be computed; a capacity that is not above zero leaves no ratio and is short."""
    ratio = demand / capacity if capacity > 0.0 else None
    holds = ratio is not None and ratio <= 1.0 + 1e-9  # a limit that is just met is met; rounding aside
    return Finding(
        id=f"{kind}:{about}",
        about=about,
        claim=claim,
        verdict=Verdict.HOLDS if holds else Verdict.SHORT,
        case=case,
        demand=demand,
        capacity=capacity,
        unit=unit,
        ratio=ratio,
        because=chain.steps,
        source=source,
        remedy="" if holds else remedy,
        caution=caution,
        assumed=tuple(assumed),
    )


def unanswered(
    kind: str, about: str, claim: str, unit: str, *, ask: str, chain: Chain | None = None
) -> Finding:
    """A finding that lacks one thing; `ask` says what to give."""
    return Finding(
        id=f"{kind}:{about}",
        about=about,
        claim=claim,
        verdict=Verdict.OPEN,
        unit=unit,
        because=chain.steps if chain else (),
        remedy=ask,
    )


def cited(key: str) -> str:
    """A source of the tables in words."""
    source = sources()[key]
    return ", ".join(part for part in (source.title, source.edition) if part)


def size_words(value: float, unit: str) -> str:
    """`12.3 mm`, `2.50 deg`, `840 N`, `310 N·m`."""
    match unit:
        case "m":
            return f"{1000 * value:.1f} mm"
        case "rad":
            return f"{np.degrees(value):.2f} deg"
        case "N*m":
            return f"{value:.0f} N·m"
    return f"{value:.0f} {unit}"
