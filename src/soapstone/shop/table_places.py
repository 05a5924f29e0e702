"""Where stacks of risers can stand under a mount: at its pins, and under what the cuts leave of its tubes."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.bent_part import BentPart
from soapstone.parts.cutting import CutParts
from soapstone.parts.ends import TubePart
from soapstone.parts.layout import ForkPart, HangerPart, Layout, Tube
from soapstone.parts.reach import face_distance

Array = NDArray[np.float64]

RISER = 0.060
"""m; how far across a stack is taken to be (common practice, no source)."""
FROM_THE_END = 0.030
"""m; how far in from a tube's short point its stack stands: half a riser, so that all of it is under tube."""
SHORTEST = 0.080
"""m; a tube shorter than this between its short points gets no stack (common practice, no source)."""
_STEP = 0.0025
_BESIDE = 0.150
"""m; how far out on a bar through it a pin can be held without the bar's bending showing on a tape."""
_STEEP = math.sin(math.radians(45.0))
_DOWN = np.array([0.0, 0.0, -1.0])
_CHORD = 1e-3
"""m that the pieces a bend is taken in may miss its axis by."""


@dataclass(frozen=True, eq=False)
class Place:
    """A place that the table holds.

    Attributes
    ----------
    name : str
    centre : (3,) m
        The place itself, in vehicle axes: the middle of a pin or boss, or of a tube over its stack.
    stand : (3,) m
        Where its stack stands: over the same height, beside `centre` when something is in the way there.
    what : str
        What the height is to.
    down : float
        m, from `stand` down to what the stack carries.
    note : str
        What is out of the ordinary; empty where nothing is.
    stacked : bool
        Whether a stack can stand at all.
    """

    name: str
    centre: Array
    stand: Array
    what: str
    down: float
    note: str = ""
    stacked: bool = True


@dataclass(frozen=True, eq=False)
class _Standing:
    """A part in plan: a strip `half` m to either side of a line, its underside `down` m below the line."""

    name: str
    start: Array
    end: Array
    half: float
    down: float

    def blocks(self, top: Array) -> bool:
        """Whether a stack up to `top` (3,) would run into it."""
        along = (self.end - self.start)[:2]
        away = self.start[:2] - top[:2]
        reach = RISER / 2.0 + self.half
        square = float(along @ along)
        if square < 1e-12:
            near = (0.0, 1.0) if float(np.hypot(*away)) < reach else None
        else:
            half_sum = float(away @ along) / square
            root = half_sum**2 - (float(away @ away) - reach**2) / square
            near = None
            if root > 0.0:
                low, high = max(0.0, -half_sum - math.sqrt(root)), min(1.0, -half_sum + math.sqrt(root))
                near = (low, high) if low < high else None
        if near is None:
            return False
        rise = float(self.end[2] - self.start[2])
        return float(self.start[2]) + min(rise * at for at in near) - self.down < float(top[2]) - 1e-9


def places_of(layout: Layout, parts: CutParts) -> tuple[tuple[Place, ...], tuple[str, ...]]:
    """Pins of bunged forks, then bosses, then two places under each tube; and what was left out, in words.

    A stack keeps a riser's width from every other, and half of one from every other part that reaches
    lower than its top. A pin whose stack cannot stand under it is held on a bar through it; a tube's stack
    moves along the tube.
    """
    standing = _standing(layout, parts)
    found: list[Place] = []
    pins = [fork.pin for fork in layout.forks.values()] + [hanger.boss for hanger in layout.hangers.values()]
    middle = np.mean(pins, axis=0) if pins else np.zeros(3)
    for fork in layout.forks.values():
        if fork.holds is not None:
            own = {fork.name, fork.holds[0]}
            axis = _toward(middle, fork.pin, fork.axis)
            found.append(_pin(fork.name, fork.pin, axis, "pin axis", standing, own, found))
    for hanger in layout.hangers.values():
        axis = _toward(middle, hanger.boss, hanger.axis)
        found.append(_pin(hanger.name, hanger.boss, axis, "boss axis", standing, {hanger.name}, found))
    left_out: list[str] = []
    for name, part in parts.tubes.items():
        found += _under(layout.tubes[name], part, standing, found, left_out)
    left_out += [f"{name} is bent: nothing under it, held where its ends sit" for name in parts.bent]
    return tuple(found), tuple(left_out)


def _toward(middle: Array, pin: Array, axis: Array) -> Array:
    """The axis, pointing to the mount's middle: a bar that way stays over the table."""
    return axis if float((middle - pin) @ axis) >= 0.0 else -axis


def _standing(layout: Layout, parts: CutParts) -> tuple[_Standing, ...]:
    tubes = [_tube(layout.tubes[name], part) for name, part in parts.tubes.items()]
    bent = [piece for name, part in parts.bent.items() for piece in _chords(layout.tubes[name], part)]
    hangers = [_hanger(hanger) for hanger in layout.hangers.values()]
    forks = [_fork(layout, fork) for fork in layout.forks.values() if fork.on_member]
    return (*tubes, *bent, *hangers, *forks)


def _chords(tube: Tube, part: BentPart) -> Iterator[_Standing]:
    """A bent tube in straight pieces."""
    points = part.path.at(part.path.chords(_CHORD))
    for start, end in pairwise(points):
        yield _strip(replace(tube, start=start, end=end, path=None), start, end)


def _tube(tube: Tube, part: TubePart) -> _Standing:
    """The finished tube, long point to long point."""
    start, end = (tube.at(cut.outline.long_point.station) for cut in (part.end_a, part.end_b))
    return _strip(tube, start, end)


def _strip(tube: Tube, start: Array, end: Array) -> _Standing:
    if not _is_steep(tube):
        across = np.cross(tube.axis, _DOWN)
        across /= np.linalg.norm(across)
        return _Standing(tube.name, start, end, face_distance(tube, across), face_distance(tube, _DOWN))
    outline = tube.section.outline
    widest = outline.half_y if outline.is_round else math.hypot(outline.half_y, outline.half_z)
    low = min(float(start[2]), float(end[2]))
    flat = [np.array([*point[:2], low]) for point in (start, end)]
    return _Standing(tube.name, flat[0], flat[1], widest, widest)


def _hanger(hanger: HangerPart) -> _Standing:
    arm = hanger.boss - hanger.foot
    end = hanger.spec.end or hanger.spec.width / 2.0
    tip = hanger.boss + end * arm / np.linalg.norm(arm)
    half = hanger.spec.plate.thickness / 2.0
    return _Standing(hanger.name, hanger.foot, tip, half, hanger.spec.width / 2.0)


def _fork(layout: Layout, fork: ForkPart) -> _Standing:
    """Tabs and bung of a fork on a tube, along the pin."""
    bung = fork.bung.length if fork.bung is not None else 0.0
    out = (bung / 2.0 + fork.spec.gap + fork.spec.plate.thickness) * fork.axis
    foot_to_hole = layout.foot_to_hole(fork)
    low = min(0.0, float(foot_to_hole[2])) * fork.spec.reach
    below = fork.spec.end or fork.spec.width / 2.0
    under = fork.spec.reach if foot_to_hole[2] > 0.0 else below - low
    return _Standing(fork.name, fork.pin - out, fork.pin + out, fork.spec.width / 2.0, under)


def _pin(
    name: str,
    centre: Array,
    axis: Array,
    what: str,
    standing: Sequence[_Standing],
    own: set[str],
    found: Sequence[Place],
) -> Place:
    others = [part for part in standing if part.name not in own]
    level = abs(axis[2]) < _STEEP
    beside = _steps(_BESIDE) if level else []
    moves = [0.0, *beside, *(-step for step in beside)]
    for move in moves:
        stand = centre + move * axis
        if not any(part.blocks(stand) for part in others) and _clear(stand, found):
            note = f"on a bar through it, {1000.0 * abs(move):.0f} mm beside its middle" if move else ""
            return Place(name, centre, stand, what, 0.0, note)
    blocked = [part.name for part in others if part.blocks(centre)] or ["another stack"]
    note = f"no stack: {' and '.join(blocked)} below it; set its height with a gauge"
    return Place(name, centre, centre, what, 0.0, note, stacked=False)


def _steps(most: float) -> list[float]:
    return [_STEP * count for count in range(1, round(most / _STEP) + 1)]


def _clear(stand: Array, found: Sequence[Place]) -> bool:
    """Whether a stack there keeps a riser's width from all others."""
    return all(
        float(np.hypot(*(stand - other.stand)[:2])) >= RISER - 1e-9 for other in found if other.stacked
    )


def _under(
    tube: Tube, part: TubePart, standing: Sequence[_Standing], found: Sequence[Place], left_out: list[str]
) -> list[Place]:
    low, high = (cut.outline.short_point.station for cut in (part.end_a, part.end_b))
    if _is_steep(tube):
        left_out.append(f"{tube.name} stands steep: nothing under it, held where its ends sit")
        return []
    if high - low < SHORTEST:
        left_out.append(
            f"{tube.name} is {1000.0 * (high - low):.0f} mm between its short points,"
            f" less than {1000.0 * SHORTEST:.0f} mm: no stack under it"
        )
        return []
    others = [other for other in standing if other.name != tube.name]
    down = face_distance(tube, _DOWN)
    new: list[Place] = []
    for word, stations in _wanted(low, high):
        for station in stations:
            point = tube.at(station)
            top = point + down * _DOWN
            if not any(other.blocks(top) for other in others) and _clear(point, [*found, *new]):
                moved = abs(station - stations[0])
                note = f"moved {1000.0 * moved:.0f} mm along the tube" if moved else ""
                new.append(Place(f"{tube.name} {word}", point, point, "tube underside", down, note))
                break
        else:
            left_out.append(f"{tube.name} {word}: no room for a stack beside what stands there")
    return new


def _wanted(low: float, high: float) -> Iterator[tuple[str, list[float]]]:
    """Names and stations to try, the best first; from each end in to the middle."""
    middle = (low + high) / 2.0
    if high - low < 2.0 * FROM_THE_END + RISER:
        room = (high - low) / 2.0 - FROM_THE_END
        yield "middle", [middle] + [middle + sign * step for step in _steps(room) for sign in (1.0, -1.0)]
        return
    room = (high - low) / 2.0 - FROM_THE_END
    inward = [0.0, *_steps(room)]
    yield "near start", [low + FROM_THE_END + step for step in inward]
    yield "near end", [high - FROM_THE_END - step for step in inward]


def _is_steep(tube: Tube) -> bool:
    return abs(float(tube.axis[2])) > _STEEP
