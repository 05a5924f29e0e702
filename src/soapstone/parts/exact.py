"""The whole mount as exact solids: tubes, bent tubes, bungs, tabs and hangers in their place, one STEP file.

The second kernel's answer to what the meshes show; volumes and centres of both agree in the tests.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.bent_part import BentPart
from soapstone.parts.centreline import Bend, Piece
from soapstone.parts.contour import Contour, Line
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import ForkPart, Layout
from soapstone.parts.plate_places import hanger_axes, tab_axes
from soapstone.parts.plates import PlateOutline
from soapstone.parts.profile import Array
from soapstone.parts.sections import RoundTube
from soapstone.parts.step import agreed, exact_tube, kernel, kernel_point, kernel_vector, plain_name, step_of
from soapstone.parts.tabs import hole_of

_MM = 1000.0
_THROUGH = 2.0
"""Lengths of a bung that its bore's cutter is long, so that it leaves no skin."""


@dataclass(frozen=True, eq=False)
class ExactPart:
    """A part's name, its material and the kernel's solid in mm, where it stands in the vehicle."""

    name: str
    material: str
    solid: Any


def exact_parts(layout: Layout, parts: CutParts) -> Iterator[ExactPart]:
    """Everything that is welded or bolted together, in the order of the meshes.

    Raises
    ------
    GeometryError
        A tube that the kernel cuts otherwise; names it.
    """
    for name, part in parts.tubes.items():
        yield ExactPart(name, layout.tubes[name].material.name, exact_tube(part))
    for name, bent in parts.bent.items():
        yield ExactPart(name, layout.tubes[name].material.name, exact_bent(bent))
    plates = {user: plate for plate in parts.plates for user in plate.used_by}
    for fork in layout.forks.values():
        yield from _bung(fork)
        if fork.name in plates:
            plate = plates[fork.name]
            for number, axes in enumerate(tab_axes(layout, fork, plate.outline), 1):
                solid = exact_plate(plate.outline, axes)
                yield ExactPart(f"{fork.name} tab {number}", plate.material, solid)
    for hanger in layout.hangers.values():
        if hanger.name in plates:
            plate = plates[hanger.name]
            axes = hanger_axes(layout, hanger, plate.outline)
            yield ExactPart(hanger.name, plate.material, exact_plate(plate.outline, axes))


def exact_bent(part: BentPart) -> Any:
    """The kernel's solid of a bent tube: its cut legs, and its section swept along what lies between."""
    pieces = part.path.pieces
    first, last = int(part.leg_a is not None), len(pieces) - int(part.leg_b is not None)
    bodies = [exact_tube(leg) for leg in (part.leg_a, part.leg_b) if leg is not None]
    solid = _swept(pieces[first:last], part.shape)
    for body in bodies:
        solid = solid + body
    return agreed(solid, part.volume, part.name)


def _swept(pieces: Sequence[Piece], shape: RoundTube) -> Any:
    occ = kernel()
    edges = []
    for piece in pieces:
        spots = [kernel_point(at) for at in piece.at(np.array([0.0, 0.5, 1.0]) * piece.length)]
        bent = isinstance(piece, Bend)
        edges.append(occ.ArcOfCircle(*spots) if bent else occ.Segment(spots[0], spots[2]))
    along = pieces[0].direction(np.zeros(1))[0]
    across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    place = occ.Axes(
        kernel_point(pieces[0].at(np.zeros(1))[0]), n=kernel_vector(along), h=kernel_vector(across)
    )
    outside = shape.outside_diameter / 2.0
    outer, inner = (
        occ.WorkPlane(place).Circle(_MM * radius).Face() for radius in (outside, outside - shape.wall)
    )
    return occ.Pipe(occ.Wire(edges), outer - inner)


def exact_plate(outline: PlateOutline, axes: Axes) -> Any:
    """The kernel's solid of a plate: true arcs, thickened along x."""
    inner = [hole.contour for hole in outline.holes] + list(outline.cutouts)
    face = _face(outline.contour, axes)
    for contour in inner:
        face = face - _face(contour, axes)
    return face.Extrude(kernel_vector(outline.thickness * _MM * axes.x))


def _face(contour: Contour, axes: Axes) -> Any:
    occ = kernel()

    def at(point: tuple[float, float]) -> Any:
        return kernel_point(axes.to_world(np.array((0.0, *point))))

    edges = []
    for piece in contour:
        if isinstance(piece, Line):
            edges.append(occ.Segment(at(piece.start), at(piece.end)))
            continue
        sweep = piece.end_angle - piece.start_angle
        parts = max(1, math.ceil(abs(sweep) / math.pi - 1e-9))
        turns = [piece.start_angle + sweep * step / (2 * parts) for step in range(2 * parts + 1)]
        spots = [at(piece.at(turn)) for turn in turns]
        edges += [occ.ArcOfCircle(*spots[step : step + 3]) for step in range(0, 2 * parts, 2)]
    return occ.Face(occ.Wire(edges))


def _bung(fork: ForkPart) -> Iterator[ExactPart]:
    if fork.bung is None or fork.spec.holds is None:
        return
    solid = _rod(fork.pin, fork.axis, fork.bung.outside, fork.bung.length)
    bore = fork.bung.bore or hole_of(fork)
    if bore is not None:
        solid = solid - _rod(fork.pin, fork.axis, bore, _THROUGH * fork.bung.length)
    yield ExactPart(fork.spec.holds, fork.bung.of, solid)


def _rod(middle: Array, axis: Array, diameter: float, length: float) -> Any:
    start = kernel_point(middle - length / 2.0 * axis)
    return kernel().Cylinder(start, kernel_vector(axis), r=diameter / 2.0 * _MM, h=length * _MM)


def assembly_step(
    found: Sequence[ExactPart],
    title: str,
    colours: dict[str, tuple[float, float, float]],
    unit: Literal["mm", "in"],
) -> str:
    """One STEP file (AP214) of all parts in their place, each solid with its name and its material's colour.

    Parameters
    ----------
    found : sequence of ExactPart
    title : str
        Of the product.
    colours : material to (red, green, blue), linear, 0 to 1
    unit : {'mm', 'in'}

    Raises
    ------
    GeometryError
        When there is nothing to write.
    """
    if not found:
        raise GeometryError("nothing of the job is made of a solid", where=title)
    solids = []
    for part in found:
        part.solid.name = plain_name(part.name)
        part.solid.faces.col = colours[part.material]
        solids.append(part.solid)
    return step_of(kernel().Compound(solids), title, unit)
