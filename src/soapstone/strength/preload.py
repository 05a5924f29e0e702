"""Does a tightened joint stay clamped: preload from torque with its scatter, slip, opening, crushing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.strength.answers import (
    answered,
    material_assumptions,
    material_words,
    per_case,
    strength_gap,
    unanswered,
)
from soapstone.strength.shapes import Array
from soapstone.tables import BoltClass, BoltSize, Material, head_ring

_SOURCE = "VDI 2230 (2001): preload and torque of a thread; scatter by the factor of the tool that tightens"
_CRUSH_SOURCE = (
    "wall under a washer: fan of yield lines round a point load, 4 pi times the plastic moment per length "
    "(classical plastic theory of plates); crush tube: yield"
)


@dataclass(frozen=True)
class Tightened:
    """A group of bolts tightened alike.

    Attributes
    ----------
    torque : float
        N·m.
    friction : float
        Of the thread and under the head.
    scatter : float
        Largest over smallest preload that this torque gives.
    grip : float
        Friction of the clamped faces.
    """

    size: BoltSize
    grade: BoltClass
    count: int
    torque: float
    friction: float
    scatter: float
    grip: float


def preload_steps(chain: Chain, joint: Tightened) -> tuple[float, float]:
    """Largest and smallest preload of the torque, N (VDI 2230, the friction taken as its least value)."""
    outer, inner = head_ring(joint.size)
    chain.given("M_A", joint.torque, "N*m", "tightening torque")
    chain.given("mu", joint.friction, "1", "friction of the thread and under the head")
    chain.given("d", joint.size.diameter, "m", f"diameter of {joint.size.name}")
    chain.given("P", joint.size.pitch, "m", "pitch")
    chain.given("d_w", outer, "m", "outside of the ring under the head")
    chain.given("d_h", inner, "m", "inside of that ring")
    chain.given("alpha_A", joint.scatter, "1", "largest over smallest preload")
    chain.step("d_2", "d - 0.649519 * P", "m", "pitch diameter")
    chain.step("D_K", "(d_w + d_h) / 2", "m", "mean diameter of the ring")
    formula = "M_A / (0.16 * P + mu * (0.58 * d_2 + D_K / 2))"
    largest = chain.step("F_max", formula, "N", "largest preload, VDI 2230")
    smallest = chain.step("F_min", "F_max / alpha_A", "N", "smallest preload after scatter")
    return largest, smallest


def full_preload(chain: Chain, size: BoltSize, grade: BoltClass, friction: float) -> tuple[float, float]:
    """Preload, N, and torque, N·m, that use 0.9 of the yield strength (VDI 2230:2001, appendix A)."""
    outer, inner = head_ring(size)
    chain.given("d", size.diameter, "m", f"diameter of {size.name}")
    chain.given("P", size.pitch, "m", "pitch")
    chain.given("R_p", grade.yield_strength, "Pa", f"yield strength of class {grade.name}")
    chain.given("mu", friction, "1", "friction of the thread and under the head")
    chain.given("D_K", (outer + inner) / 2, "m", "mean diameter of the ring under the head")
    chain.step("d_2", "d - 0.649519 * P", "m", "pitch diameter")
    chain.step("d_3", "d - 1.226869 * P", "m", "core diameter")
    chain.step("d_0", "(d_2 + d_3) / 2", "m", "diameter of the stress area")
    chain.step("x", "1.5 * d_2 / d_0 * (P / (pi * d_2) + 1.155 * mu)", "1", "twist against pull")
    chain.step("F_M", "0.9 * R_p * pi / 4 * d_0**2 / sqrt(1 + 3 * x**2)", "N", "preload")
    chain.step("M_A", "F_M * (0.16 * P + mu * (0.58 * d_2 + D_K / 2))", "N*m", "its torque")
    return chain["F_M"], chain["M_A"]


def tightening(*, name: str, joint: Tightened) -> Finding:
    """Judge whether the torque overstrains the bolt: `tightening:NAME`, against 0.9 of its yield."""
    chain = Chain()
    demand, _ = preload_steps(chain, joint)
    full = Chain()
    capacity = full_preload(full, joint.size, joint.grade, joint.friction)[0]
    chain.given("F_M", capacity, "N", "preload at 0.9 of the yield strength, twist included, VDI 2230")
    return answered(
        f"tightening:{name}",
        "the torque does not stretch the bolt for good",
        chain,
        demand,
        capacity,
        "N",
        source=_SOURCE,
        remedy=lambda ratio: f"tighten with at most {joint.torque / ratio:.0f} N·m",
        assumed=(f"friction {joint.friction:g} is the least that the thread may have",),
    )


def clamping(*, name: str, joint: Tightened, shear: Array, pull: Array, cases: Sequence[str]) -> Finding:
    """Judge whether clamped faces neither slip nor open: `clamping:NAME`.

    Parameters
    ----------
    shear, pull : Array
        (n_cases,) N on one bolt; the pull is taken whole off the clamping.
    """
    across, along = np.abs(per_case(name, shear, cases)), np.maximum(per_case(name, pull, cases), 0.0)
    case = int(np.argmax(across / joint.grip + along))
    chain = Chain()
    _, capacity = preload_steps(chain, joint)
    chain.given("V", across[case], "N", "shear on one bolt")
    chain.given("N", along[case], "N", "pull on one bolt")
    chain.given("mu_T", joint.grip, "1", "friction of the clamped faces")
    demand = chain.step("F_K", "V / mu_T + N", "N", "preload that one face needs not to slip or open")
    return answered(
        f"clamping:{name}",
        "the clamped faces neither slip nor open",
        chain,
        demand,
        capacity,
        "N",
        case=cases[case],
        source=_SOURCE + "; slip with one face",
        remedy=lambda ratio: f"use {math.ceil(joint.count * ratio)} bolts, or a larger bolt tightened harder",
        caution="A joint that slips works its bolts loose; paint and oil between the faces halve the grip.",
        assumed=("the pull is taken whole off the clamping, as if the parts were far softer than the bolt",),
    )


def crushing(
    *,
    name: str,
    joint: Tightened,
    wall: float,
    material: Material,
    tube: tuple[float, float] | None,
    tube_material: Material | None,
) -> Finding:
    """Judge whether a hollow rail bears the preload: `preload:NAME`.

    Parameters
    ----------
    wall : float
        Of the rail, m.
    tube : (float, float) or None
        Outside and wall of the crush tube, m; without one the rail's wall alone bears it.
    """
    id, claim = f"preload:{name}", "the hollow rail bears the preload of the bolt through it"
    metal = tube_material if tube is not None and tube_material is not None else material
    gap = strength_gap(metal)
    if gap:
        return unanswered(id, claim, gap, source=_CRUSH_SOURCE)
    chain = Chain()
    demand, _ = preload_steps(chain, joint)
    chain.given("f_y", cast(float, metal.yield_strength), "Pa", f"yield strength, {material_words(metal)}")
    if tube is not None:
        chain.given("D_t", tube[0], "m", "outside of the crush tube")
        chain.given("s", tube[1], "m", "its wall")
        capacity = chain.step("F_c", "f_y * pi * s * (D_t - s)", "N", "preload that makes the tube yield")
        remedy = "take a crush tube with a thicker wall"
    else:
        chain.given("t", wall, "m", "wall of the rail")
        formula = "4 * pi * f_y * t**2 / 4"
        capacity = chain.step("F_c", formula, "N", "preload at which the wall under the washer folds in")
        remedy = "weld a crush tube through the rail, a close fit round the bolt and flush with both walls"
    return answered(
        id,
        claim,
        chain,
        demand,
        capacity,
        "N",
        source=_CRUSH_SOURCE,
        remedy=lambda ratio: (
            f"{remedy}; without it the torque may be no more than {joint.torque / ratio:.0f} N·m"
        ),
        caution="" if tube is not None else "A wall that gives as the bolt is tightened never holds preload.",
        assumed=(
            *material_assumptions(metal),
            "the washer counts as a point, the least that the folding pattern gives",
        )
        if tube is None
        else material_assumptions(metal),
    )
