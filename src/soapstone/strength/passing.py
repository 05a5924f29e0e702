"""Does a tube keep enough of its section where another passes right through it."""

import math
from collections.abc import Iterator
from typing import cast

import numpy as np
from shapely import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.parts.hosts import body_of
from soapstone.parts.layout import Passage, Tube
from soapstone.parts.profile import Profile
from soapstone.strength.answers import (
    allowable_stress,
    answered,
    material_words,
    strength_gap,
    unanswered,
    weld_zone_gap,
)
from soapstone.strength.work import Array, Work

_CLAIM = "what the hole leaves of the tube's section carries what runs through it"
_SOURCE = (
    "bending and push on the section left, torsion on the whole one by its area left; safety factor "
    "AISC 360-22 (ASD)"
)
_CAUTION = (
    "Counts on the passing tube welded all round at both walls: without it the tube is open there and "
    "twists. The raised stress at the hole's edge is not in it."
)
_CORNERS = 720
"""Of a polygon that stands for an outline: short of its area by 13 parts in a million."""


def passing_findings(work: Work, tube: Tube) -> Iterator[Finding]:
    """`through-hole` and the weld, for each tube that `tube` passes through."""
    for passage in tube.passages:
        yield through_hole(work, tube, passage)
        yield unanswered(
            f"weld:{tube.name} in {passage.host}",
            "the weld round a tube that passes through another carries what goes over",
            f"weld {tube.name} all round at both walls of {passage.host}, and have that weld judged: it is "
            "not worked out here",
            source="common practice, no source",
        )


def through_hole(work: Work, tube: Tube, passage: Passage) -> Finding:
    """`through-hole:HOST at TUBE`."""
    host = work.layout.tubes[passage.host]
    id = f"through-hole:{host.name} at {tube.name}"
    gap = strength_gap(host.material) or weld_zone_gap(host.material, "yield")
    if gap:
        return unanswered(id, _CLAIM, gap, source=_SOURCE)
    left = section_left(host, tube, passage)
    forces = work.at_station(host.name, passage.host_station).reshape(len(work.cases), -1, 6)
    twist = np.abs(forces[..., 3]) / host.section.section.torsion_modulus * left.gross / left.area
    direct = np.abs(forces[..., 0]) / left.area
    bent = np.abs(forces[..., 4]) / left.modulus_y + np.abs(forces[..., 5]) / left.modulus_z
    stress = np.sqrt((direct + bent) ** 2 + 3 * twist**2)
    case, side = divmod(int(np.argmax(stress)), stress.shape[1])
    chain = Chain()
    force = forces[case, side]
    chain.given("A_left", left.area, "m^2", f"area left of {left.gross * 1e6:.4g} mm²")
    chain.given("N", abs(force[0]), "N", "axial force, its sign left out")
    chain.given("M_y", abs(force[4]), "N*m", "bending moment about y, its sign left out")
    chain.given("M_z", abs(force[5]), "N*m", "bending moment about z, its sign left out")
    chain.given("W_y", left.modulus_y, "m^3", "elastic modulus about y of what is left")
    chain.given("W_z", left.modulus_z, "m^3", "elastic modulus about z of what is left")
    chain.given("tau", twist[case, side], "Pa", "torsion on the whole section, raised by the area gone")
    chain.step("sigma", "N / A_left + M_y / W_y + M_z / W_z", "Pa", "stress along the tube")
    demand = chain.step("sigma_v", "sqrt(sigma**2 + 3 * tau**2)", "Pa", "von Mises stress")
    metal = host.material
    strength = cast(float, metal.yield_strength if metal.weld_zone_yield is None else metal.weld_zone_yield)
    capacity = allowable_stress(chain, strength, f"yield strength beside a weld, {material_words(metal)}")
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        case=work.cases[case],
        source=_SOURCE,
        remedy=lambda _: (
            f"take a larger or thicker tube for {host.name}, a smaller one for {tube.name}, or "
            "cross where less bends it"
        ),
        caution=_CAUTION,
    )


class Left:
    """What a hole leaves of a section: areas m², elastic moduli m³ about the section's own y and z."""

    def __init__(self, whole: BaseGeometry, left: BaseGeometry) -> None:
        self.gross, self.area = float(whole.area), float(left.area)
        self.modulus_y, self.modulus_z = _moduli(left)


def section_left(host: Tube, tube: Tube, passage: Passage) -> Left:
    """Take a strip as wide as the hole out of both walls of the host's section, the way the tube runs."""
    mine, other = body_of(host), body_of(tube)
    normal = np.cross(mine.axes.x, other.axes.x)
    normal /= np.linalg.norm(normal)
    across = float(normal @ mine.axes.y), float(normal @ mine.axes.z)
    bar = other.shape.outline.grown(passage.clearance)
    half = bar.support(float(normal @ other.axes.y), float(normal @ other.axes.z))
    apart = float(normal @ (other.axes.origin - mine.axes.origin))
    whole = _polygon(host.section.outline).difference(_polygon(host.section.bore))
    reach = 4.0 * host.section.outline.support(1.0, 1.0)
    strip = _turned(box(apart - half, -reach, apart + half, reach), across)
    return Left(whole, whole.difference(strip))


def _turned(strip: Polygon, across: tuple[float, float]) -> Polygon:
    corners = np.array(strip.exterior.coords)
    y, z = across
    return Polygon(corners @ np.array([[y, z], [-z, y]]))


def _polygon(profile: Profile) -> Polygon:
    even = np.linspace(0.0, profile.perimeter, _CORNERS, endpoint=False)
    return Polygon(profile.generators(np.unique(np.concatenate((even, profile.knots()[:-1]))), 0.0))


def _moduli(left: BaseGeometry) -> tuple[float, float]:
    """Smallest elastic moduli about y and z through the centroid of what is left."""
    pieces = list(left.geoms) if isinstance(left, MultiPolygon) else [left]
    rings = [
        (np.array(ring.coords), sign)
        for piece in pieces
        for ring, sign in ((piece.exterior, 1.0), *((inner, -1.0) for inner in piece.interiors))
    ]
    centre = np.array([left.centroid.x, left.centroid.y])
    squares = sum((sign * _squares(ring - centre) for ring, sign in rings), np.zeros(2))
    reach = np.max([np.abs(ring - centre).max(axis=0) for ring, _ in rings], axis=0)
    return float(squares[1] / reach[1]), float(squares[0] / reach[0])


def _squares(ring: Array) -> Array:
    """∫y² dA and ∫z² dA of a closed ring of corners (n, 2), whichever way round it goes."""
    one, other = ring[:-1], ring[1:]
    twice = one[:, 0] * other[:, 1] - other[:, 0] * one[:, 1]
    moments = (twice[:, None] * (one**2 + one * other + other**2)).sum(axis=0) / 12.0
    found: Array = moments * math.copysign(1.0, float(twice.sum()))
    return found
