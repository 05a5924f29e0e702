"""A hole that does not meet: what pulls it into line, and what that leaves in the metal."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.frame import internal_forces_at, pull_in
from soapstone.frame.idealise import Idealised
from soapstone.parts.layout import Layout, Tube
from soapstone.strength.answers import (
    allowable_stress,
    answered,
    material_assumptions,
    material_words,
    strength_gap,
    unanswered,
)
from soapstone.strength.fibres import worst_fibre
from soapstone.strength.shapes import Array

_CLAIM = "pulled into line, the hole leaves less stress in the tubes than they may carry"
_SOURCE = "statics of the frame; safety factor AISC 360-22 (ASD)"
_ONE = 1e-3
_MOST = "tabs stiff and no play round the bolt: the most that it can be"


@dataclass(frozen=True)
class Strain:
    """What closing a gap does.

    Attributes
    ----------
    force : (3,) N, on the tube's end
    work : float, J
    tube : the tube with the highest stress
    stress : float, Pa
    share : float, of that tube's yield strength; NaN where it is not known
    """

    force: Array
    work: float
    tube: str
    stress: float
    share: float


def strain(layout: Layout, ideal: Idealised, name: str, gap: Array) -> Strain:
    """Pull the bolted end of a fork or hanger into line that lies off by `gap` (3,) m."""
    member, end = ideal.ends[name]
    pull = pull_in(ideal.frame, member, end, np.append(gap, np.zeros(3)))
    stations = ideal.frame.geometry.lengths[:, None] * np.linspace(0.0, 1.0, 3)
    forces = internal_forces_at(ideal.frame, pull.loads, pull.solution, stations)[0]
    found = [
        (_stress(tube, forces[[s.member for s in ideal.segments[tube.name]]]), tube)
        for tube in layout.tubes.values()
    ]
    known = [(stress / _yield(tube), stress, tube.name) for stress, tube in found if _yield(tube)]
    share, stress, tube = max(known, default=(float("nan"), 0.0, ""))
    return Strain(pull.force, pull.work, tube, stress, share)


def _yield(tube: Tube) -> float:
    metal = tube.material
    return (metal.weld_zone_yield or metal.yield_strength or 0.0) if metal.strength_is_known else 0.0


def _stress(tube: Tube, forces: Array) -> float:
    stress, _ = worst_fibre(tube.section, forces)
    return float(stress.max(initial=0.0))


def misfit_findings(
    layout: Layout, ideal: Idealised, misfit: Mapping[str, tuple[float, float, float]]
) -> Iterator[Finding]:
    """`misfit` of every hole that the job says does not meet."""
    for name, gap in misfit.items():
        if name in ideal.ends:
            yield _judged(layout, ideal, name, np.array(gap))


def _judged(layout: Layout, ideal: Idealised, name: str, gap: Array) -> Finding:
    found = strain(layout, ideal, name, gap)
    id = f"misfit:{name}"
    if not found.tube:
        why = next((strength_gap(tube.material) for tube in layout.tubes.values()), "there are no tubes")
        return unanswered(id, _CLAIM, why, source=_SOURCE)
    metal = layout.tubes[found.tube].material
    chain = Chain()
    chain.given("d", float(np.linalg.norm(gap)), "m", "how far the holes lie apart")
    for symbol, way, part in zip("xyz", ("forward", "left", "up"), found.force, strict=True):
        chain.given(f"F_{symbol}", float(part), "N", f"pulls the end into line, {way}")
    chain.step("F", "sqrt(F_x**2 + F_y**2 + F_z**2)", "N", "force that it takes")
    demand = chain.given("sigma", found.stress, "Pa", f"highest stress it leaves, in {found.tube}")
    words = f"yield strength beside a weld, {material_words(metal)}"
    capacity = allowable_stress(chain, _yield(layout.tubes[found.tube]), words)
    most = 1e3 * float(np.linalg.norm(gap)) * capacity / demand if demand > 0.0 else np.inf
    return answered(
        id,
        _CLAIM,
        chain,
        demand,
        capacity,
        "Pa",
        source=_SOURCE,
        remedy=lambda _: (
            f"cut and weld it anew, or slot the hole: no more than {most:.1f} mm may be pulled that way"
        ),
        caution="It stays in bolts and welds for good, and every load comes on top: each case counts it.",
        assumed=(
            *material_assumptions(metal),
            "tabs stiff and no play round the bolt: the most that it can be",
        ),
    )


def a_millimetre(layout: Layout, ideal: Idealised) -> list[tuple[str, Array, Array, str]]:
    """For every bolted hole: force N and stress Pa of 1 mm fore and aft, across and upright, and the tube.

    Returns
    -------
    list of (name, (3,) N, (3,) Pa, name of the tube that is stressed highest)
    """
    rows = []
    for name in ideal.ends:
        found = [strain(layout, ideal, name, _ONE * way) for way in np.eye(3)]
        forces = np.array([float(np.linalg.norm(one.force)) for one in found])
        stresses = np.array([one.stress for one in found])
        rows.append((name, forces, stresses, found[int(stresses.argmax())].tube))
    return rows
