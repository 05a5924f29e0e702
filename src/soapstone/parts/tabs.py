"""The plates of a job: tabs of its forks and hanger plates, alike ones gathered."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.job.hardware import Boss
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.parts.layout import ForkPart, HangerPart, Layout, Tube
from soapstone.parts.plates import PlateOutline, tab
from soapstone.parts.reach import face_towards
from soapstone.tables import clearance_hole

Array = NDArray[np.float64]

_ALIKE = 4
"""Decimals of a metre to which sizes are compared: a tenth of a millimetre is what a cutter holds."""


@dataclass(frozen=True)
class Plate:
    """One kind of plate to cut.

    Attributes
    ----------
    outline : PlateOutline
    material : str
    quantity : int
    used_by : names of the forks or hangers it is for
    """

    outline: PlateOutline
    material: str
    quantity: int
    used_by: tuple[str, ...]

    @property
    def name(self) -> str:
        """Its mark, and the name of its file."""
        return self.outline.name


@dataclass(frozen=True)
class _Wanted:
    reach: float
    base: float
    end: float
    shift: float
    hole: float
    thickness: float
    material: str
    quantity: int
    user: str
    kind: str

    @property
    def size(self) -> tuple[object, ...]:
        lengths = (self.reach, self.base, self.end, self.shift, self.hole, self.thickness)
        return (self.kind, self.material, *(round(length, _ALIKE) for length in lengths))


def plates_of(layout: Layout) -> tuple[Plate, ...]:
    """Every different plate, numbered in the job's order; a plate whose hole is not known yet is left out."""
    groups: dict[tuple[object, ...], list[_Wanted]] = {}
    for wanted in _all(layout):
        _check_room(wanted)
        groups.setdefault(wanted.size, []).append(wanted)
    count: Counter[str] = Counter()
    plates: list[Plate] = []
    for alike in groups.values():
        first = alike[0]
        count[first.kind] += 1
        outline = tab(
            f"{first.kind}-{count[first.kind]}",
            base_length=first.base,
            shift=first.shift,
            reach=first.reach,
            end_radius=first.end,
            hole_diameter=first.hole,
            thickness=first.thickness,
        )
        users = tuple(wanted.user for wanted in alike)
        plates.append(Plate(outline, first.material, sum(w.quantity for w in alike), users))
    return tuple(plates)


def _check_room(wanted: _Wanted) -> None:
    if wanted.reach >= wanted.end:
        return
    raise GeometryError(
        f"its hole is {1e3 * wanted.reach:.1f} mm from what it is welded to, less than its end of "
        f"{1e3 * wanted.end:.1f} mm",
        where=wanted.user,
        remedy="move the two apart, or make the plate narrower",
    )


def _all(layout: Layout) -> Iterator[_Wanted]:
    for fork in layout.forks.values():
        hole = hole_of(fork)
        if hole is not None:
            yield _Wanted(
                fork.spec.reach,
                foot_width(layout, fork),
                fork.spec.end or fork.spec.width / 2.0,
                0.0,
                hole,
                fork.spec.plate.thickness,
                fork.spec.plate.of,
                int(fork.spec.tabs),
                fork.name,
                "tab",
            )
    for hanger in layout.hangers.values():
        hole = hole_of(hanger)
        if hole is not None:
            foot = hanger_foot(layout, hanger)
            yield _Wanted(
                foot.reach,
                foot.base,
                hanger.spec.end or hanger.spec.width / 2.0,
                foot.shift,
                hole,
                hanger.spec.plate.thickness,
                hanger.spec.plate.of,
                1,
                hanger.name,
                "hanger",
            )


def hole_of(part: ForkPart | HangerPart) -> float | None:
    """Hole m for the part's bolt: the job's own, or the medium clearance hole of ISO 273 or its like."""
    if part.spec.hole is not None:
        return part.spec.hole
    return None if part.bolt is None else clearance_hole(part.bolt[0].name).diameter


def boss_of(job: Job, hanger: HangerPart) -> Boss | None:
    """The boss that a hanger is screwed to, where the job describes it."""
    return job.bodies[hanger.body].bosses.get(parse_place(hanger.spec.carries).point or "")


@dataclass(frozen=True)
class Foot:
    """How a hanger plate stands on its tube.

    Attributes
    ----------
    base : m, the straight edge that is welded: the plate's width, but no more than the face is flat
    reach : m, from that edge to the boss, square to it
    shift : m, from the middle of that edge to the boss, along it
    normal, run : (3,) unit vectors, square to that edge towards the boss, and along it
    """

    base: float
    reach: float
    shift: float
    normal: Array
    run: Array


def hanger_foot(layout: Layout, hanger: HangerPart) -> Foot:
    """The plate's edge lies on the tube's face; the plate is square to its bolt."""
    arm = hanger.boss - hanger.foot
    tube = layout.tubes[hanger.host.on].leg(hanger.host.station)
    normal, distance, flat = face_towards(tube, arm)
    run = np.cross(normal, hanger.axis)
    run /= np.linalg.norm(run)
    base = _base(hanger.spec.width, flat, run, hanger.axis, tube)
    return Foot(base, float(arm @ normal) - distance, float(arm @ run), normal, run)


def foot_width(layout: Layout, part: ForkPart | HangerPart) -> float:
    """Width m of the edge that a tab or hanger is welded by."""
    if isinstance(part, HangerPart):
        return hanger_foot(layout, part).base
    if not part.on_member:
        return part.spec.width
    whole = layout.tubes[part.host.on]
    tube = whole.leg(part.host.station)
    normal, _, flat = face_towards(tube, part.pin - whole.at(part.host.station))
    return _base(part.spec.width, flat, np.cross(normal, part.axis), part.axis, tube)


def _base(width: float, flat: float, run: Array, axis: Array, tube: Tube) -> float:
    """A plate that stands across its tube is no wider than the tube's face is flat."""
    return min(width, flat) if abs(run @ tube.axis) < abs(axis @ tube.axis) else width
