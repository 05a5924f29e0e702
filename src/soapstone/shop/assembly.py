"""Every part as a solid in the vehicle: tubes, bungs, tabs, hangers, envelopes, obstacles."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np
import trimesh
from numpy.typing import NDArray

from soapstone.job.hardware import Box, Cylinder, Shape
from soapstone.job.schema import Job
from soapstone.parts.axes import Axes
from soapstone.parts.bent_part import bent_solid
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import ForkPart, HangerPart, Layout
from soapstone.parts.plates import PlateOutline
from soapstone.parts.solids import Solid, cylinder, difference, tube_solid
from soapstone.parts.tabs import hanger_foot, hole_of
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose

Array = NDArray[np.float64]

_CHORD = 1e-4
"""m; a tenth of a millimetre off a true arc, in a picture."""
_FACETS = 48
_METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254}
_HERE = Pose(np.eye(3), np.zeros(3))


class Sort(StrEnum):
    """What a thing is, so that it can be drawn as such."""

    TUBE = "tube"
    BUNG = "bung"
    PLATE = "plate"
    BODY = "body"
    OBSTACLE = "obstacle"


@dataclass(frozen=True, eq=False)
class Thing:
    """A solid with its name, what it is and what it is made of (empty where nobody says)."""

    name: str
    sort: Sort
    material: str
    solid: Solid


def things(job: Job, layout: Layout, parts: CutParts, placed: Mapping[str, Placed]) -> tuple[Thing, ...]:
    """Everything that has a shape, in the job's order; reads the scans that the job names."""
    plates = {user: plate for plate in parts.plates for user in plate.used_by}
    found: list[Thing] = []
    for name, part in parts.tubes.items():
        found.append(Thing(name, Sort.TUBE, layout.tubes[name].material.name, tube_solid(part)))
    for name, bent in parts.bent.items():
        found.append(Thing(name, Sort.TUBE, layout.tubes[name].material.name, bent_solid(bent)))
    for name, bar in parts.bars.items():
        found.append(Thing(name, Sort.PLATE, layout.bars[name].material.name, bar.solid))
    for fork in layout.forks.values():
        found += _bung(fork)
        if fork.name in plates:
            plate = plates[fork.name]
            solids = _tabs(layout, fork, plate.outline)
            found += [
                Thing(f"{fork.name} tab {number}", Sort.PLATE, plate.material, solid)
                for number, solid in enumerate(solids, 1)
            ]
    for hanger in layout.hangers.values():
        if hanger.name in plates:
            plate = plates[hanger.name]
            found.append(
                Thing(hanger.name, Sort.PLATE, plate.material, _hanger(layout, hanger, plate.outline))
            )
    for name, body in placed.items():
        found += _shapes(name, Sort.BODY, job.bodies[name].envelope, body.pose, job.folder)
    for name, obstacle in job.obstacles.items():
        found += _shapes(name, Sort.OBSTACLE, obstacle.shapes, _HERE, job.folder)
    return tuple(found)


def _bung(fork: ForkPart) -> Iterator[Thing]:
    if fork.bung is None or fork.spec.holds is None:
        return
    half = fork.bung.length / 2
    solid = _rod(fork.pin - half * fork.axis, fork.pin + half * fork.axis, fork.bung.outside)
    bore = fork.bung.bore or hole_of(fork)
    if bore is not None:
        solid = difference(
            solid, _rod(fork.pin - 2 * half * fork.axis, fork.pin + 2 * half * fork.axis, bore)
        )
    yield Thing(fork.spec.holds, Sort.BUNG, fork.bung.of, solid)


def _tabs(layout: Layout, fork: ForkPart, outline: PlateOutline) -> list[Solid]:
    """One tab each side of the bung, or a single one on the axis's side."""
    along = _square_to(layout.foot_to_hole(fork), fork.axis)
    foot = fork.pin - outline.holes[0].centre[1] * along
    half = (fork.bung.length / 2 if fork.bung else 0.0) + fork.spec.gap
    places = [half] if fork.spec.tabs == "1" else [half, -half - outline.thickness]
    return [
        outline.solid(_plate_axes(foot + place * fork.axis, fork.axis, along), _CHORD) for place in places
    ]


def _hanger(layout: Layout, hanger: HangerPart, outline: PlateOutline) -> Solid:
    foot = hanger_foot(layout, hanger)
    x, y = outline.holes[0].centre
    origin = hanger.boss - x * foot.run - y * foot.normal - outline.thickness / 2 * hanger.axis
    return outline.solid(_plate_axes(origin, hanger.axis, foot.normal), _CHORD)


def _square_to(vector: Array, axis: Array) -> Array:
    across: Array = vector - (vector @ axis) * axis
    return across / np.linalg.norm(across)


def _plate_axes(origin: Array, thick: Array, along: Array) -> Axes:
    """Thickness along x, the way from base to hole along z."""
    return Axes.along(origin, thick, np.cross(along, thick))


def _shapes(name: str, sort: Sort, shapes: tuple[Shape, ...], pose: Pose, folder: Path) -> Iterator[Thing]:
    for number, shape in enumerate(shapes, 1):
        label = f"{name} {number}" if len(shapes) > 1 else name
        yield Thing(label, sort, "", _posed(shape_solid(shape, folder), pose))


def shape_solid(shape: Shape, folder: Path) -> Solid:
    """A box, a cylinder or a scan, in the axes it is given in."""
    if shape.box is not None:
        return _box(shape.box)
    if shape.cylinder is not None:
        return _cylinder(shape.cylinder)
    assert shape.scan is not None and shape.unit is not None
    mesh = trimesh.load_mesh(folder / shape.scan)
    return Solid(np.asarray(mesh.vertices) * _METRES[shape.unit], np.asarray(mesh.faces, dtype=np.int64))


def _box(shape: Box) -> Solid:
    low, high = np.minimum(shape.from_, shape.to), np.maximum(shape.from_, shape.to)
    mesh = trimesh.creation.box(bounds=[low, high])
    return Solid(np.asarray(mesh.vertices), np.asarray(mesh.faces, dtype=np.int64))


def _cylinder(shape: Cylinder) -> Solid:
    return _rod(np.array(shape.from_), np.array(shape.to), shape.diameter)


def _rod(start: Array, end: Array, diameter: float) -> Solid:
    clocking = np.eye(3)[int(np.argmin(np.abs(end - start)))]
    length = float(np.linalg.norm(end - start))
    return cylinder(diameter / 2, length, Axes.between(start, end, clocking), _FACETS)


def _posed(solid: Solid, pose: Pose) -> Solid:
    return Solid(pose.apply(solid.vertices), solid.triangles)


def span(found: tuple[Thing, ...]) -> float:
    """Largest size of all things together, m."""
    points = np.vstack([thing.solid.vertices for thing in found])
    return float(math.dist(points.min(axis=0), points.max(axis=0)))
