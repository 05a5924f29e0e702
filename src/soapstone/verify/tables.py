"""Published figures that the catalogues must lead to; stress areas and loads are computed, not listed."""

import math
from collections.abc import Mapping

from soapstone.tables import bolt_classes, clearance_hole, filler, material, parse_bolt
from soapstone.tables import bolt_size as size_of
from soapstone.verify.units import INCH, KSI

_LOADED = (
    *("M5 8.8", "M6 8.8", "M6 10.9", "M8 8.8", "M8 10.9"),
    *("M10 10.9", "M12 8.8", "M14 10.9", "M16 10.9"),
)
_METALS = (
    *("DOM 1020", "DOM 1020 stress-relieved", "1020 normalized", "DOM 1026", "ERW 1020"),
    *("4130 normalized", "A36", "A572-50", "A500 B", "A500 C"),
)


def metric_stress_areas() -> Mapping[str, float]:
    """Stress areas in mm²."""
    names = ("M8", "M10", "M12", "M14", "M16", "M8x1", "M10x1.25", "M12x1.25", "M16x1.5")
    return {name: 1e6 * size_of(name).stress_area for name in names}


def inch_stress_areas() -> Mapping[str, float]:
    """Stress areas in in²."""
    names = ("3/8-16", "3/8-24", "7/16-14", "7/16-20", "1/2-13", "1/2-20", "5/8-11")
    return {name: size_of(name).stress_area / INCH**2 for name in names}


def bolt_loads() -> Mapping[str, float]:
    """Stress area times proof strength and times ultimate strength; N."""
    found = {}
    for text in _LOADED:
        size, grade = parse_bolt(text)
        found[f"{text} proof"] = size.stress_area * grade.proof_strength
        found[f"{text} ultimate"] = size.stress_area * grade.ultimate_strength
    return found


def _classes(system: str, unit: float) -> dict[str, float]:
    found = {}
    for row in (grade for grade in bolt_classes() if grade.system == system):
        found[f"{row.name} proof"] = row.proof_strength / unit
        found[f"{row.name} yield"] = row.yield_strength / unit
        found[f"{row.name} ultimate"] = row.ultimate_strength / unit
    return found


def metric_classes() -> Mapping[str, float]:
    """Strengths of the metric classes in MPa."""
    return _classes("metric", 1e6)


def inch_classes() -> Mapping[str, float]:
    """Strengths of the inch grades in ksi."""
    return _classes("inch", KSI)


def strengths() -> Mapping[str, float]:
    """Yield and ultimate strengths of metals, beside welds, and of a filler; ksi."""
    found = {}
    for name in _METALS:
        metal = material(name)
        found[f"{name} yield"] = (metal.yield_strength or math.nan) / KSI
        found[f"{name} ultimate"] = (metal.ultimate_strength or math.nan) / KSI
    for name in ("DOM 1020", "6061-T6"):
        found[f"{name} beside a weld"] = (material(name).weld_zone_ultimate or math.nan) / KSI
    return {**found, "ER70S-6": filler("ER70S-6").ultimate_strength / KSI}


def clearance_holes() -> Mapping[str, float]:
    """Holes of metric bolts in mm."""
    sizes, fits = ("M8", "M10", "M12", "M14", "M16"), ("fine", "medium", "coarse")
    return {f"{size} {fit}": 1e3 * clearance_hole(size, fit).diameter for size in sizes for fit in fits}


def loose_holes() -> Mapping[str, float]:
    """Loose holes of inch bolts in inches."""
    sizes = ("3/8-16", "7/16-14", "1/2-13", "5/8-11")
    return {size: clearance_hole(size, "loose").diameter / INCH for size in sizes}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        metric_stress_areas,
        inch_stress_areas,
        bolt_loads,
        metric_classes,
        inch_classes,
        strengths,
        clearance_holes,
        loose_holes,
    )
}
