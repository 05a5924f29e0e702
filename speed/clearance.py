"""100 tubes against a scan of a million triangles, side by side with trimesh's closest-point query.

Both are given the same scan and the same tubes, and both build what they search in; the peer is asked for the
nearest scan point of a tube's every vertex. It is asked for a few, next to where the tube is nearest, and its
time for asking is scaled to all of them. Equal: no vertex of a tube is nearer to the scan than the tube, and
the nearest is no farther than the tube's own distance by more than its vertices are apart.
"""

import time
from typing import Any

import numpy as np
import trimesh

from soapstone.fit.near import Near, nearest
from soapstone.parts.solids import Solid
from soapstone.place.pose import rotation_from_vector

TUBES = 100
SAMPLE = 2
"""Tubes that the peer is asked about."""
ASKED = 12
"""Vertices of each: over a scan half a metre off each has some ten thousand triangles looked at."""
APART = 0.02
"""m between a tube's vertices."""
SIDE = 708
"""Points of the scan each way: two triangles in each of its squares make 999,698."""


def scan() -> Solid:
    """A wavy floor of 4 m by 4 m."""
    x, y = np.meshgrid(*[np.linspace(-2.0, 2.0, SIDE)] * 2, indexing="ij")
    corners = np.stack([x, y, 0.05 * np.sin(7.0 * x) * np.cos(5.0 * y)], axis=-1).reshape(-1, 3)
    at = np.arange(SIDE * SIDE).reshape(SIDE, SIDE)
    a, b, c, d = (part.ravel() for part in (at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]))
    return Solid(corners, np.vstack([np.column_stack([a, b, c]), np.column_stack([a, c, d])]))


def tubes() -> list[Solid]:
    """Bars of 40 mm by 600 mm over it, each its own way, with vertices no farther apart than 20 mm."""
    random = np.random.default_rng(0)
    bar = trimesh.creation.cylinder(0.02, 0.6, sections=16).subdivide_to_size(APART)
    found = []
    for _ in range(TUBES):
        turn = rotation_from_vector(random.normal(size=3))
        middle = np.append(random.uniform(-1.5, 1.5, 2), 0.5)
        found.append(Solid(bar.vertices @ turn.T + middle, np.asarray(bar.faces, dtype=np.int64)))
    return found


def measure() -> dict[str, Any]:
    """One row; raises AssertionError where the two do not agree."""
    floor, bars = scan(), tubes()
    start = time.perf_counter()
    ground = Near(floor, closed=False)
    ours = [nearest(Near(bar), ground) for bar in bars]
    ours_s = time.perf_counter() - start
    start = time.perf_counter()
    mesh = trimesh.Trimesh(floor.vertices, floor.triangles, process=False)
    _ = mesh.triangles_tree
    built = time.perf_counter() - start
    start = time.perf_counter()
    theirs = []
    for bar, one in zip(bars[:SAMPLE], ours, strict=False):
        order = np.linalg.norm(bar.vertices - one.here, axis=1).argsort()
        places = bar.vertices[order[:ASKED]]
        theirs.append(float(trimesh.proximity.closest_point(mesh, places)[1].min()))
    per_vertex = (time.perf_counter() - start) / (SAMPLE * ASKED)
    peer_s = built + per_vertex * sum(len(bar.vertices) for bar in bars)
    for one, other in zip(ours, theirs, strict=False):
        if not one.size - 1e-9 <= other <= one.size + APART:
            raise AssertionError(f"ours {one.size}, theirs {other}")
    ratio = peer_s / ours_s
    return {
        "id": "clearance",
        "room": "fit",
        "what": "least distance of 100 tubes to a scan, its tree built anew",
        "size": f"{len(floor.triangles):,} triangles",
        "ours_s": ours_s,
        "peer": "trimesh closest_point",
        "peer_s": peer_s,
        "ratio": ratio,
        "goal": 20.0,
        "holds": ratio >= 20.0,
    }
