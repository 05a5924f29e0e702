"""Published figures that the catalogues must lead to; stress areas and loads are computed, not listed."""

from collections.abc import Mapping

from soapstone.tables import bolt_size as size_of
from soapstone.tables import parse_bolt
from soapstone.verify.units import INCH


def metric_stress_areas() -> Mapping[str, float]:
    """Stress areas in mm²."""
    names = ("M8", "M10", "M12", "M16", "M10x1.25", "M12x1.25")
    return {name: 1e6 * size_of(name).stress_area for name in names}


def inch_stress_areas() -> Mapping[str, float]:
    """Stress areas in in²."""
    names = ("3/8-16", "3/8-24", "1/2-13", "1/2-20", "5/8-11")
    return {name: size_of(name).stress_area / INCH**2 for name in names}


def bolt_loads() -> Mapping[str, float]:
    """Stress area times proof strength and times ultimate strength; N."""
    found = {}
    for text in ("M10 10.9", "M12 8.8"):
        size, grade = parse_bolt(text)
        found[f"{text} proof"] = size.stress_area * grade.proof_strength
        found[f"{text} ultimate"] = size.stress_area * grade.ultimate_strength
    return found


PROBLEMS = {problem.__name__: problem for problem in (metric_stress_areas, inch_stress_areas, bolt_loads)}
