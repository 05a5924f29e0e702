"""Catalogues with the source of every row: metals, bolts, holes, fillers, load and safety factors."""

from soapstone.tables.bolts import (
    FITS,
    BoltClass,
    BoltSize,
    ClearanceHole,
    bolt_class,
    bolt_classes,
    bolt_size,
    bolt_sizes,
    clearance_hole,
    parse_bolt,
)
from soapstone.tables.loads import (
    LoadFactor,
    PartialFactor,
    SafetyFactor,
    load_factor,
    load_factors,
    partial_factor,
    safety_factor,
)
from soapstone.tables.materials import Material, material, materials
from soapstone.tables.rows import Source, Status, nearest, sources
from soapstone.tables.threads import ThreadLimits, head_ring, thread_limits
from soapstone.tables.welds import Filler, LeastFillet, filler, fillers, least_fillet

__all__ = [
    "FITS",
    "BoltClass",
    "BoltSize",
    "ClearanceHole",
    "Filler",
    "LeastFillet",
    "LoadFactor",
    "Material",
    "PartialFactor",
    "SafetyFactor",
    "Source",
    "Status",
    "ThreadLimits",
    "bolt_class",
    "bolt_classes",
    "bolt_size",
    "bolt_sizes",
    "clearance_hole",
    "filler",
    "fillers",
    "head_ring",
    "least_fillet",
    "load_factor",
    "load_factors",
    "material",
    "materials",
    "nearest",
    "parse_bolt",
    "partial_factor",
    "safety_factor",
    "sources",
    "thread_limits",
]
