"""Published bolts and threads: preload, shear, bearing and stripping, answered by the strength room."""

from collections.abc import Mapping

import numpy as np

from soapstone.formula import Chain
from soapstone.strength.bearing import bearing
from soapstone.strength.bolts import shear_strength, tension_strength
from soapstone.strength.pins import bending_moment
from soapstone.strength.preload import Tightened, full_preload, preload_steps
from soapstone.strength.threads import strip_areas
from soapstone.tables import BoltSize, Status, bolt_class, bolt_size, material, parse_bolt, safety_factor
from soapstone.verify.units import INCH, KIP

_HALF_FORMS = ("1/2-13", "5/8-11")
_SMALL = ("M5 8.8", "M6 8.8", "M8 8.8", "M10 8.8")
_SMALL_INCH = ("1/4-20", "5/16-18", "3/8-16", "7/16-14")
_METRIC = ("M5", "M6", "M8", "M8x1", "M10", "M10x1.25", "M12", "M12x1.25", "M14", "M14x1.5", "M16", "M16x1.5")
_INCH_SIZES = ("1/4-20", "5/16-18", "3/8-16", "7/16-14", "1/2-13", "9/16-12", "5/8-11")


def _preloads(*bolts: tuple[str, str, float]) -> dict[str, float]:
    found: dict[str, float] = {}
    for size, grade, friction in bolts:
        preload, torque = full_preload(Chain(), bolt_size(size), bolt_class(grade), friction)
        key = f"{size} {grade} {friction:.2f}"
        found |= {f"{key} preload": preload / 1e3, f"{key} torque": torque}
    return found


def fine_preloads() -> Mapping[str, float]:
    """Preload that uses 0.9 of the yield strength, kN, and its torque, N·m, of fine threads."""
    sizes = ("M8x1", "M10x1.25", "M12x1.25", "M14x1.5", "M16x1.5")
    return _preloads(
        *((s, g, mu) for s in sizes for g in ("8.8", "10.9", "12.9") for mu in (0.10, 0.12, 0.14))
    )


def coarse_preload() -> Mapping[str, float]:
    """M12 8.8 at a friction of 0.14; greatest preload, and what a scatter of 1.8 leaves; kN."""
    size, grade = parse_bolt("M12 8.8")
    largest, torque = full_preload(Chain(), size, grade, 0.14)
    joint = Tightened(size, grade, 1, torque, 0.14, 1.8, 0.2)
    return {"most": largest / 1e3, "least": preload_steps(Chain(), joint)[1] / 1e3}


def _strip(names: tuple[str, ...], unit: float) -> dict[str, float]:
    found: dict[str, float] = {}
    for name in names:
        chain = Chain()
        strip_areas(chain, bolt_size(name))
        engaged = 2 * bolt_size(name).stress_area / chain["a_s"]
        found |= {f"{name} bolt": chain["a_s"] / unit, f"{name} tapped": chain["a_n"] / unit}
        found[f"{name} engaged"] = engaged / unit
    return found


def metric_stripping() -> Mapping[str, float]:
    """Shear areas of bolt and tapped thread, mm² to the mm, and the length of equal strength, mm."""
    return _strip(_METRIC, 1e-3)


def inch_stripping() -> Mapping[str, float]:
    """The same in in² to the in and in."""
    return _strip(_INCH_SIZES, INCH)


def _three_quarter() -> BoltSize:
    """A 3/4 in bolt, which the catalogue does not list."""
    sizes = (0.75 * INCH, INCH / 10, True, 1.125 * INCH, 0.483 * INCH, 0.665 * INCH)
    return BoltSize("3/4-10", *sizes, source="aisc_360", status=Status.VERIFIED)


def small_bolts() -> Mapping[str, float]:
    """Shear of one plane through the threads of 120 ksi bolts, design strength (LRFD); kip."""
    back = 0.75 * safety_factor("bolt").value  # from allowable to design strength
    found: dict[str, float] = {}
    for name in _HALF_FORMS:
        size, grade = parse_bolt(f"{name} grade 5")
        found[name] = back * shear_strength(size, grade, True) / KIP
    return found


def small_pull() -> Mapping[str, float]:
    """Pull that breaks a bolt below AISC's range, N; by the inch, with 120 ksi, in kip."""
    back = safety_factor("bolt").value
    found = {text: back * tension_strength(*parse_bolt(text)) for text in _SMALL}
    inch = {name: tension_strength(*parse_bolt(f"{name} grade 5")) for name in _SMALL_INCH}
    return {**found, **{name: back * pull / KIP for name, pull in inch.items()}}


def two_planes() -> Mapping[str, float]:
    """A 3/4 in bolt of 120 ksi in two shear planes through its threads, allowable; kip."""
    return {"two planes": 2 * shear_strength(_three_quarter(), bolt_class("grade 5"), True) / KIP}


def bolt_in_plate() -> Mapping[str, float]:
    """A 3/4 in bolt in A572-50, 1-1/4 in from the edge: bearing and tear-out, allowable; kip.

    By the inch of thickness and at 0.340 in.
    """
    found: dict[str, float] = {}
    for thickness in (1.0, 0.340):
        finding = bearing(
            name="plate",
            size=_three_quarter(),
            thickness=thickness * INCH,
            edge=1.25 * INCH,
            hole=13 / 16 * INCH,
            material=material("A572-50"),
            shear=np.array([KIP]),
            cases=("case",),
        )
        values = {step.symbol: step.value / KIP for step in finding.because}
        found |= {f"{thickness:g} bearing": values["R_1"], f"{thickness:g} tear-out": values["R_2"]}
    return found


def bent_pin() -> Mapping[str, float]:
    """Moment of a pin over force and length, outer plates, gaps and inner plate all of unit length."""
    return {"moment": float(bending_moment(np.array(1.0), 1.0, 1.0, 1.0))}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        fine_preloads,
        coarse_preload,
        metric_stripping,
        inch_stripping,
        small_bolts,
        small_pull,
        two_planes,
        bolt_in_plate,
        bent_pin,
    )
}
