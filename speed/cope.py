"""How much faster a cope outline is computed than an exact-solid kernel finds the same two lines."""

import math
import statistics
import time
from typing import Any

import netgen.occ as occ
import numpy as np

from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body, Tube, cope
from soapstone.parts.outline import Outline
from soapstone.parts.profile import Array
from soapstone.parts.sections import RoundTube

GOAL = 200.0
ROUNDS = 15
CALLS = 7  # to each of the peer's: a run this short needs more of them for a median
AGREEMENT = 0.01e-3  # m
_MM = 1e3


def measure() -> dict[str, Any]:
    """Time both on the same joint, in turn; the lines must agree in the same run."""
    tube, through = _joint()
    ours, peers = [], []
    for _ in range(ROUNDS):
        for _ in range(CALLS):
            begin = time.perf_counter()
            outline = cope(tube, through)
            ours.append(time.perf_counter() - begin)
        begin = time.perf_counter()
        edges = _exact_edges(tube, through)
        peers.append(time.perf_counter() - begin)
    _agree(tube, through, outline, edges)
    mine, peer = statistics.median(ours), statistics.median(peers)
    return {
        "id": "cope",
        "room": "parts",
        "what": "outer and inner line of a round tube coped onto a round tube at 55°, offset by 3 mm",
        "size": f"{len(outline.abscissa)} rows",
        "ours_s": mine,
        "peer": "netgen.occ: exact solid of the tube less the through tube, and its edges",
        "peer_s": peer,
        "ratio": peer / mine,
        "goal": GOAL,
        "holds": peer / mine >= GOAL,
    }


def _joint() -> tuple[Tube, Body]:
    through = Body("rail", RoundTube(50.8e-3, 2.5e-3), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    angle = math.radians(55)
    away = -np.array([math.cos(angle), 0.0, math.sin(angle)])
    return Tube("strut", RoundTube(38.1e-3, 2.5e-3), Axes.along((0, 3e-3, 0), away, (1, 0, 0))), through


def _exact_edges(tube: Tube, through: Body) -> list[Any]:
    start = occ.Pnt(*(tube.axes.to_world((-0.15, 0, 0)) * _MM))
    along = occ.Vec(*tube.axes.x)
    outside, bore = tube.shape.outline.radius, tube.shape.bore.radius
    solid = occ.Cylinder(start, along, r=outside * _MM, h=150) - occ.Cylinder(
        start, along, r=bore * _MM, h=150
    )
    solid = solid - occ.Cylinder(
        occ.Pnt(-150, 0, 0), occ.Vec(1, 0, 0), r=through.shape.outline.radius * _MM, h=300
    )
    return list(solid.edges)


def _edge_points(edges: list[Any]) -> Array:
    points = []
    for edge in edges:
        first, last = edge.parameter_interval
        points += [edge.Value(first + (last - first) * i / 40) for i in range(41)]
    return np.array([(p.x, p.y, p.z) for p in points]) / _MM


def _agree(tube: Tube, through: Body, outline: Outline, edges: list[Any]) -> None:
    """Hold every row of both lines against the kernel's edges, and raise if one is off."""
    points = _edge_points(edges)
    radii = np.hypot(*through.axes.to_local(points)[:, 1:].T)
    local = tube.axes.to_local(points[np.abs(radii - through.shape.outline.radius) < 1e-6])
    worst = []
    for depth, stations in ((0.0, outline.outer), (tube.shape.wall, outline.inner)):
        on_wall = np.abs(np.hypot(local[:, 1], local[:, 2]) - (tube.shape.outline.radius - depth)) < 1e-6
        line = local[on_wall]
        angle = np.arctan2(line[:, 2], line[:, 1]) % (2 * math.pi)
        order = angle.argsort()
        # the kernel's points against our rows with a cubic through four of them: far below the limit
        ours = _cubic(outline.angle, stations, angle[order])
        worst.append(float(np.abs(ours - line[order, 0]).max()) if on_wall.sum() > 40 else math.inf)
    if max(worst) > AGREEMENT:
        raise AssertionError(f"the lines differ by {max(worst) * _MM:.4f} mm, limit {AGREEMENT * _MM} mm")


def _cubic(x: Array, y: Array, at: Array) -> Array:
    from scipy.interpolate import CubicSpline

    closed = y.copy()
    closed[-1] = closed[0]
    values: Array = CubicSpline(x, closed, bc_type="periodic")(at)
    return values


if __name__ == "__main__":
    print(measure())
