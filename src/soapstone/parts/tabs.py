"""The plates of a job: tabs of its forks and hanger plates, alike ones gathered."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from soapstone.errors import GeometryError
from soapstone.parts.layout import ForkPart, HangerPart, Layout
from soapstone.parts.plates import PlateOutline, tab
from soapstone.parts.reach import face_distance
from soapstone.tables import clearance_hole

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
    width: float
    end: float
    hole: float
    thickness: float
    material: str
    quantity: int
    user: str
    kind: str

    @property
    def size(self) -> tuple[object, ...]:
        lengths = (self.reach, self.width, self.end, self.hole, self.thickness)
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
            base_length=first.width,
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
                fork.spec.width,
                fork.spec.end or fork.spec.width / 2.0,
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
            yield _Wanted(
                hanger_reach(layout, hanger),
                hanger.spec.width,
                hanger.spec.end or hanger.spec.width / 2.0,
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


def hanger_reach(layout: Layout, hanger: HangerPart) -> float:
    """From its tube's face to the boss, m."""
    arm = hanger.boss - hanger.foot
    length = float(np.linalg.norm(arm))
    return length - face_distance(layout.tubes[hanger.host.on], arm / length) if length else 0.0
