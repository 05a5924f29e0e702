"""Scans: a mesh file read once, in metres, with all that is wrong with it."""

import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import trimesh
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from soapstone.parts.solids import Solid

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254}
_RIM = 0.5
"""Of a scan's largest size: an open edge that runs round more of it is the rim of a sheet, not a hole."""


@dataclass(frozen=True, eq=False)
class Scan:
    """A mesh file as it was read.

    Attributes
    ----------
    name : of the shape, as in the job
    file, unit : as the job says
    solid : in the axes of the file, m; None where nothing could be read
    trouble : why not
    size : m, longest side of its box
    holes : m, how wide each is, widest first
    rim : whether it is a sheet with an outer edge, so that it has no inside
    tangled : edges that more than two faces share
    flipped : edges whose two faces look opposite ways
    inside_out : whether it is closed and its faces look inwards
    step : m, the least difference that its numbers can show, where they are of 32 bits; else 0
    """

    name: str
    file: str
    unit: str
    solid: Solid | None = None
    trouble: str = ""
    size: float = 0.0
    holes: tuple[float, ...] = ()
    rim: bool = False
    tangled: int = 0
    flipped: int = 0
    inside_out: bool = False
    step: float = 0.0

    @property
    def closed(self) -> bool:
        """Whether it has an inside."""
        return self.solid is not None and not self.holes and not self.rim and not self.tangled


def read_scan(name: str, folder: Path, file: str, unit: str) -> Scan:
    """Read a mesh file; what is wrong with it is told, never raised.

    Parameters
    ----------
    name : of the shape
    folder, file : where it lies
    unit : mm, cm, m or in
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            mesh = trimesh.load_mesh(folder / file)
            vertices = np.asarray(mesh.vertices, dtype=np.float64)
            triangles = np.asarray(mesh.faces, dtype=np.int64)
    except Exception as error:  # readers of other makers' files raise whatever they meet
        return Scan(name, file, unit, trouble=f"the file cannot be read ({type(error).__name__})")
    sound = np.isfinite(vertices).min(axis=1)
    if len(triangles):
        triangles = triangles[np.asarray(sound)[triangles].all(axis=1)]
    if not len(triangles):
        return Scan(name, file, unit, trouble="there are no faces in the file")
    used, triangles = np.unique(triangles, return_inverse=True)
    return looked_at(name, file, unit, vertices[used], triangles.reshape(-1, 3).astype(np.int64))


def looked_at(name: str, file: str, unit: str, vertices: Array, triangles: Ints) -> Scan:
    """A mesh (n, 3) in units of the file with its faces (m, 3), and what is wrong with it."""
    factor = METRES[unit]
    step = 0.0
    if (vertices == vertices.astype(np.float32)).all():
        step = float(np.spacing(np.float32(np.abs(vertices).max()))) * factor
    solid = Solid(vertices * factor, triangles)
    size = float(np.ptp(solid.vertices, axis=0).max())
    open_edges, tangled, flipped = _edges(triangles, len(vertices))
    widths = _loops(open_edges, solid.vertices)
    holes = tuple(width for width in widths if width < _RIM * size)
    closed = not widths and not tangled
    return Scan(
        name,
        file,
        unit,
        solid,
        size=size,
        holes=holes,
        rim=len(holes) < len(widths),
        tangled=tangled,
        flipped=flipped,
        inside_out=closed and not flipped and solid.volume < 0.0,
        step=step,
    )


def _edges(triangles: Ints, count: int) -> tuple[Ints, int, int]:
    """Edges of one face only (k, 2); how many have more than two faces; how many have two that disagree."""
    whole = triangles[
        (triangles[:, 0] != triangles[:, 1])
        & (triangles[:, 1] != triangles[:, 2])
        & (triangles[:, 2] != triangles[:, 0])
    ]
    start, end = whole.ravel(), np.roll(whole, -1, axis=1).ravel()
    keys = np.minimum(start, end) * count + np.maximum(start, end)
    kinds, row, faces = np.unique(keys, return_inverse=True, return_counts=True)
    sense = np.bincount(row, weights=np.where(start < end, 1.0, -1.0))
    lone = kinds[faces == 1]
    edges = np.column_stack([lone // count, lone % count])
    return edges, int((faces > 2).sum()), int(((faces == 2) & (sense != 0.0)).sum())


def _loops(edges: Ints, vertices: Array) -> list[float]:
    """How wide each run of joined open edges is, m, widest first."""
    if not len(edges):
        return []
    corners, rows = np.unique(edges, return_inverse=True)
    rows = rows.reshape(-1, 2)
    joined = coo_array((np.ones(len(rows)), (rows[:, 0], rows[:, 1])), shape=(len(corners),) * 2)
    number, label = connected_components(joined, directed=False)
    at = vertices[corners]
    low, high = np.full((number, 3), np.inf), np.full((number, 3), -np.inf)
    np.minimum.at(low, label, at)
    np.maximum.at(high, label, at)
    return sorted((float(width) for width in (high - low).max(axis=1)), reverse=True)
