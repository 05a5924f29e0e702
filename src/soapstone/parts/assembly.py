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
from soapstone.parts.plate_places import hanger_axes, tab_axes
from soapstone.parts.plates import PlateOutline
from soapstone.parts.scans import Scan, read_scan
from soapstone.parts.solids import Solid, cylinder, difference, tube_solid
from soapstone.parts.tabs import hole_of
from soapstone.place.envelopes import solid_of
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose
from soapstone.place.shapes import Solid as Convex

Array = NDArray[np.float64]

_CHORD = 1e-4
"""m; a tenth of a millimetre off a true arc, in a picture."""
_FACETS = 48
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
    """A solid with its name, what it is and what it is made of (empty where nobody says).

    Attributes
    ----------
    owner : the tube, bung, fork, hanger, body or obstacle that it belongs to
    shape : of a body or an obstacle, as in the job
    convex : the same exactly, in vehicle axes, where it is a box or a cylinder
    scan : where it was read from a file
    """

    name: str
    sort: Sort
    material: str
    solid: Solid
    owner: str = ""
    shape: Shape | None = None
    convex: Convex | None = None
    scan: Scan | None = None


@dataclass(frozen=True, eq=False)
class Assembly:
    """Everything that has a shape, and every scan that was read for it, the useless ones too.

    Attributes
    ----------
    things : in the job's order
    scans : by the name of the body or obstacle they belong to
    """

    things: tuple[Thing, ...]
    scans: tuple[tuple[str, Scan], ...] = ()


def assembled(job: Job, layout: Layout, parts: CutParts, placed: Mapping[str, Placed]) -> Assembly:
    """Everything that has a shape; reads each scan that the job names, once."""
    found = list(_made(layout, parts))
    scans: list[tuple[str, Scan]] = []
    for name, body in placed.items():
        found += _shapes(name, Sort.BODY, job.bodies[name].envelope, body.pose, job.folder, scans)
    for name, obstacle in job.obstacles.items():
        found += _shapes(name, Sort.OBSTACLE, obstacle.shapes, _HERE, job.folder, scans)
    return Assembly(tuple(found), tuple(scans))


def _made(layout: Layout, parts: CutParts) -> Iterator[Thing]:
    """What the shop makes."""
    plates = {user: plate for plate in parts.plates for user in plate.used_by}
    for name, part in parts.tubes.items():
        yield Thing(name, Sort.TUBE, layout.tubes[name].material.name, tube_solid(part), name)
    for name, bent in parts.bent.items():
        yield Thing(name, Sort.TUBE, layout.tubes[name].material.name, bent_solid(bent), name)
    for name, bar in parts.bars.items():
        yield Thing(name, Sort.PLATE, layout.bars[name].material.name, bar.solid, name)
    for fork in layout.forks.values():
        yield from _bung(fork)
        if fork.name in plates:
            plate = plates[fork.name]
            for number, solid in enumerate(_tabs(layout, fork, plate.outline), 1):
                yield Thing(f"{fork.name} tab {number}", Sort.PLATE, plate.material, solid, fork.name)
    for hanger in layout.hangers.values():
        if hanger.name in plates:
            plate = plates[hanger.name]
            solid = _hanger(layout, hanger, plate.outline)
            yield Thing(hanger.name, Sort.PLATE, plate.material, solid, hanger.name)


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
    yield Thing(fork.spec.holds, Sort.BUNG, fork.bung.of, solid, fork.spec.holds)


def _tabs(layout: Layout, fork: ForkPart, outline: PlateOutline) -> list[Solid]:
    return [outline.solid(axes, _CHORD) for axes in tab_axes(layout, fork, outline)]


def _hanger(layout: Layout, hanger: HangerPart, outline: PlateOutline) -> Solid:
    return outline.solid(hanger_axes(layout, hanger, outline), _CHORD)


def _shapes(
    name: str,
    sort: Sort,
    shapes: tuple[Shape, ...],
    pose: Pose,
    folder: Path,
    scans: list[tuple[str, Scan]],
) -> Iterator[Thing]:
    for number, shape in enumerate(shapes, 1):
        label = f"{name} {number}" if len(shapes) > 1 else name
        scan, convex = None, solid_of(shape)
        if shape.scan is not None and shape.unit is not None:
            scan = read_scan(label, folder, shape.scan, shape.unit)
            scans.append((name, scan))
            if scan.solid is None:
                continue
        solid = _posed(scan.solid if scan and scan.solid else shape_solid(shape), pose)
        yield Thing(label, sort, "", solid, name, shape, convex.moved(pose) if convex else None, scan)


def shape_solid(shape: Shape) -> Solid:
    """A box or a cylinder, in the axes it is given in."""
    if shape.box is not None:
        return _box(shape.box)
    assert shape.cylinder is not None
    return _cylinder(shape.cylinder)


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
