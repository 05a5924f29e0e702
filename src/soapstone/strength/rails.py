"""Does a fork's foot land on its rail, and does a load beside the rail's middle twist it too far."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.job.hardware import Box, Support
from soapstone.parts.layout import ForkPart, material_of
from soapstone.strength.answers import (
    answered,
    length_words,
    material_assumptions,
    put_yield,
    strength_gap,
    unanswered,
    worst,
)
from soapstone.strength.foot_forces import ForkLoad
from soapstone.strength.work import Array, Work
from soapstone.tables import safety_factor

_FOOT = "its foot lands on the rail"
_FOOT_SOURCE = (
    "gap under a fillet at most 5 mm (AWS D1.1 clause 7.21, from memory); past the rail's edge at most the "
    "survey's own 3 mm (common practice, no source)"
)
_TWIST = "the rail stands being twisted by a load beside its middle"
_TWIST_SOURCE = "Bredt's thin-walled cell; shear yield 0.6 and safety factor AISC 360-22 H3 (ASD)"
WIDEST_GAP, PAST = 5e-3, 3e-3
_MIDDLE = 0.1
"""Share of the rail's width up to which a load counts as over its middle: the eye's own."""


@dataclass(frozen=True)
class Footing:
    """Where a foot is against a rail's face, m.

    Attributes
    ----------
    gap : float
        From the face to the foot; negative inside the rail.
    past : float
        How far the foot reaches past the face's edge; 0 when it does not.
    beside : float
        From the rail's middle to the foot's, across the rail.
    width, depth : float
        Of the rail, across it and behind the face.
    """

    gap: float
    past: float
    beside: float
    width: float
    depth: float


def footing_of(fork: ForkPart, outward: Array, boxes: tuple[Box, ...]) -> Footing:
    """The foot against the box whose face is nearest to it."""
    assert fork.bung is not None
    foot = fork.pin - fork.spec.reach * outward
    run = np.cross(outward, fork.axis)
    spread = fork.bung.length + 2.0 * fork.spec.gap + 2.0 * fork.spec.plate.thickness
    half = np.abs(run) * fork.spec.width / 2.0 + np.abs(fork.axis) * spread / 2.0
    found = [_on(foot, half, outward, box) for box in boxes]
    return min(found, key=lambda f: abs(f.gap) + f.past)


def _on(foot: Array, half: Array, outward: Array, box: Box) -> Footing:
    corners = np.array([box.from_, box.to])
    low, high = corners.min(axis=0), corners.max(axis=0)
    up = int(np.argmax(np.abs(outward)))
    gap = float((foot[up] - high[up]) if outward[up] > 0 else (low[up] - foot[up]))
    flat = [axis for axis in range(3) if axis != up]
    past = max(max(foot[a] + half[a] - high[a], low[a] - foot[a] + half[a], 0.0) for a in flat)
    across = min(flat, key=lambda a: high[a] - low[a])
    beside = abs(float(foot[across] - (low[across] + high[across]) / 2.0))
    sizes = high - low
    return Footing(gap, float(past), beside, float(sizes[across]), float(sizes[up]))


def rail_findings(
    work: Work, fork: ForkPart, support: Support, load: ForkLoad, outward: Array
) -> Iterator[Finding]:
    """`foot` and, where the load stands beside the rail's middle, `rail-twist`, of a rail with a shape."""
    if support.is_ is None:
        return
    boxes = tuple(s.box for s in work.job.obstacles[support.is_].shapes if s.box is not None)
    if not boxes:
        missing = f"give {support.is_} boxes: where a foot lands is looked up on boxes only"
        yield unanswered(f"foot:{fork.name}", _FOOT, missing, source=_FOOT_SOURCE)
        return
    footing = footing_of(fork, outward, boxes)
    yield _foot(fork, footing)
    if footing.beside > _MIDDLE * footing.width:
        yield _twist(work, fork, support, footing, load.across @ outward)


def _foot(fork: ForkPart, footing: Footing) -> Finding:
    chain = Chain()
    chain.given("g", footing.gap, "m", "from the rail's face to the foot; below zero it is inside the rail")
    chain.given("o", footing.past, "m", "how far the foot reaches past the face's edge")
    chain.given("g_max", WIDEST_GAP, "m", "widest gap that a fillet may bridge")
    chain.given("o_max", PAST, "m", "most that it may reach past")
    demand = chain.step("u", "max(abs(g) / g_max, o / o_max)", "1", "the worse of the two")
    caution = ""
    if abs(footing.gap) > 1.6e-3:
        caution = f"The gap of {length_words(abs(footing.gap))} comes on top of the fillet's leg."
    way = "longer" if footing.gap > 0 else "shorter"
    return answered(
        f"foot:{fork.name}",
        _FOOT,
        chain,
        demand,
        1.0,
        "1",
        source=_FOOT_SOURCE,
        remedy=lambda _: (
            f"make its reach {length_words(abs(footing.gap))} {way}"
            if abs(footing.gap) / WIDEST_GAP >= footing.past / PAST
            else f"move it in by {length_words(footing.past)}, or weld a plate over the rail"
        ),
        caution=caution,
    )


def _twist(work: Work, fork: ForkPart, support: Support, footing: Footing, along: Array) -> Finding:
    id = f"rail-twist:{fork.name}"
    if support.hollow != "yes" or support.wall is None:
        gap = (
            f"it stands {length_words(footing.beside)} beside the rail's middle: an open rail twists under "
            "that; box it there or carry the load to both its webs, or say hollow: yes with its wall"
        )
        return unanswered(id, _TWIST, gap, source=_TWIST_SOURCE)
    metal = material_of(work.job, support.wall.of)
    gap = strength_gap(metal)
    if gap:
        return unanswered(id, _TWIST, gap, source=_TWIST_SOURCE)
    force, case = worst(fork.name, along, work.cases)
    chain = Chain()
    chain.given("P", force, "N", "force square to the rail's face")
    chain.given("e", footing.beside, "m", "from the rail's middle")
    chain.given("B", footing.width, "m", "width of the rail")
    chain.given("H", footing.depth, "m", "its depth")
    chain.given("t", support.wall.thickness, "m", "its wall")
    chain.step("T", "P * e", "N*m", "twist, all of it one way along the rail")
    demand = chain.step("tau", "T / (2 * (B - t) * (H - t) * t)", "Pa", "shear in the wall")
    put_yield(chain, "F_y", metal)
    chain.given("omega", safety_factor("yield").value, "1", "safety factor, AISC 360-22 H3.1")
    capacity = chain.step("tau_allow", "0.6 * F_y / omega", "Pa", "allowable")
    return answered(
        id,
        _TWIST,
        chain,
        demand,
        capacity,
        "Pa",
        case=case,
        source=_TWIST_SOURCE,
        remedy=lambda _: "move the foot over the rail's middle, or tie the rail across to its fellow",
        caution="Its wall also dents between the webs: stand the tabs over a web or on a spreader plate.",
        assumed=(*material_assumptions(metal), "the rail's box is its outside"),
    )
