"""Mesh solids for viewing, clearance and volume: closed, outward-facing triangles."""

from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import ROWS
from soapstone.parts.ends import FACE_ROWS, TubePart
from soapstone.parts.openings import Opening
from soapstone.parts.outline import distinct
from soapstone.parts.profile import Array

Triangles = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Solid:
    """A closed triangle mesh.

    Attributes
    ----------
    vertices : (n, 3) m
    triangles : (m, 3)
        Rows of `vertices`, counter-clockwise seen from outside.
    """

    vertices: Array
    triangles: Triangles

    @property
    def volume(self) -> float:
        """Enclosed volume, m³: the sum of the tetrahedra from the mesh's middle."""
        corners = (self.vertices - self.vertices.mean(axis=0))[self.triangles]
        return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0)

    @property
    def centroid(self) -> Array:
        """Centre of the enclosed volume, (3,) m."""
        middle = self.vertices.mean(axis=0)
        corners = (self.vertices - middle)[self.triangles]
        volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
        centre: Array = (volumes[:, None] * corners.sum(axis=1)).sum(axis=0) / (4.0 * volumes.sum())
        centre += middle
        return centre

    def is_closed(self) -> bool:
        """Whether every edge is shared by exactly two triangles that run along it in opposite ways."""
        t, count = self.triangles, len(self.vertices)
        forth = np.concatenate([t[:, i] * count + t[:, (i + 1) % 3] for i in range(3)])
        back = np.concatenate([t[:, (i + 1) % 3] * count + t[:, i] for i in range(3)])
        return len(np.unique(forth)) == len(forth) and np.array_equal(np.sort(forth), np.sort(back))


def tube_solid(part: TubePart) -> Solid:
    """Mesh of a cut tube; its outer and inner end lines are the part's outlines, vertex for vertex.

    The end faces follow the cut at `FACE_ROWS` depths of the wall and run straight between.
    """
    outline = part.shape.outline
    abscissa = part.end_a.outline.abscissa[:-1]
    depths = np.linspace(0.0, part.shape.wall, FACE_ROWS)
    generators = [outline.generators(abscissa, depth) for depth in depths]
    # Ring to ring and back to the first: outside, inwards over end B, bore, outwards over end A.
    rings = [np.column_stack(ring) for ring in zip(part.end_b.face[:, :-1], generators, strict=True)]
    rings += [
        np.column_stack(ring) for ring in zip(part.end_a.face[::-1, :-1], generators[::-1], strict=True)
    ]
    here = np.arange(len(abscissa))
    there = (here + 1) % len(abscissa)
    triangles = []
    for ring in range(len(rings)):
        # The abscissa runs right-handed about x, so the first ring behind ring 0 is end A's outer line.
        first, second = (ring - 1) % len(rings) * len(abscissa), ring * len(abscissa)
        triangles.append(np.column_stack((first + here, first + there, second + there)))
        triangles.append(np.column_stack((first + here, second + there, second + here)))
    whole = Solid(part.axes.to_world(np.vstack(rings)), np.vstack(triangles))
    return difference(whole, *(opening_solid(opening) for opening in part.openings))


def opening_solid(opening: Opening) -> Solid:
    """The bar that an opening takes away."""
    bar, (low, high) = opening.bar, opening.reach
    abscissa = np.concatenate((np.linspace(0.0, bar.perimeter, ROWS), bar.knots()))
    corners = bar.generators(distinct(abscissa, bar.perimeter)[:-1], 0.0)
    start = opening.axes.to_world(np.array([low, 0.0, 0.0]))
    axes = opening.axes
    return plate_solid(corners, [], high - low, Axes(start, axes.x, axes.y, axes.z))


def plate_solid(contour: ArrayLike, holes: list[Array], thickness: float, axes: Axes) -> Solid:
    """A flat plate: an outline in the y-z plane of `axes`, thickened along +x.

    Parameters
    ----------
    contour : (n, 2) m
        Corners, counter-clockwise, not repeated at the end.
    holes : list of (k, 2) m
        Corners of each hole, either way round.
    thickness : float
        m.
    axes : Axes
    """
    rings = [np.asarray(contour, dtype=float), *holes]
    section = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
    flat = _from_manifold(manifold3d.Manifold.extrude(section, thickness))
    # extruded along its own z: that becomes x, its x and y become y and z
    return Solid(axes.to_world(flat.vertices[:, [2, 0, 1]]), flat.triangles)


def box(size: ArrayLike, axes: Axes) -> Solid:
    """A box of (3,) m along x, y, z, centred on the origin of `axes`."""
    flat = _from_manifold(manifold3d.Manifold.cube(np.asarray(size, dtype=float), center=True))
    return Solid(axes.to_world(flat.vertices), flat.triangles)


def cylinder(radius: float, length: float, axes: Axes, segments: int) -> Solid:
    """A cylinder about x from the origin of `axes`, its circle an inscribed polygon of `segments` sides."""
    angle = np.arange(segments) * (2 * np.pi / segments)
    return plate_solid(radius * np.column_stack((np.cos(angle), np.sin(angle))), [], length, axes)


def difference(solid: Solid, *others: Solid) -> Solid:
    """`solid` less all of `others`."""
    if not others:
        return solid
    result = _to_manifold(solid)
    for other in others:
        result -= _to_manifold(other)
    return _from_manifold(result)


def intersection(solid: Solid, other: Solid) -> Solid:
    """What both have in common; no triangles where they only touch."""
    return _from_manifold(_to_manifold(solid) ^ _to_manifold(other))


def union(*solids: Solid) -> Solid:
    """All of them as one."""
    return _from_manifold(
        manifold3d.Manifold.batch_boolean([_to_manifold(s) for s in solids], manifold3d.OpType.Add)
    )


def _to_manifold(solid: Solid) -> manifold3d.Manifold:
    mesh = manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(solid.vertices),
        tri_verts=np.ascontiguousarray(solid.triangles, dtype=np.uint64),
    )
    result = manifold3d.Manifold(mesh)
    if result.status() != manifold3d.Error.NoError:
        raise GeometryError("a mesh that is not a closed solid cannot be cut or joined", where="solid")
    return result


def _from_manifold(result: manifold3d.Manifold) -> Solid:
    mesh = result.to_mesh64()
    return Solid(np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, dtype=np.int64))
