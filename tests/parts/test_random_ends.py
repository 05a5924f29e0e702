"""Random tubes with both ends cut: every line, area, length and volume against the exact solid.

Two dozen ends in the suite; all of them with

    SOAPSTONE_TUBE_ENDS=2000 pytest tests/parts/test_random_ends.py

The exact solid comes from another kernel by booleans of the tube with the bodies it meets. It shares no
formula with the lines: those come from rays along the tube. `test_the_bodies_are_the_ones_that_are_met` ties
the bodies themselves to the geometry of the joint.
"""

import math
import os

import netgen.occ as occ
import numpy as np
import parts_kit as kit
import pytest

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.bent import BentTube, coped_onto_bent
from soapstone.parts.cope import Body, Tube
from soapstone.parts.cuts import coped, flat, mitred, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.outline import End
from soapstone.parts.sections import RectangularTube, RoundBar, RoundTube
from soapstone.parts.step import exact_tube
from soapstone.parts.tools import BarTool, PlaneTool
from soapstone.parts.trims import Trimmer, trimmed
from soapstone.shop.unroll import unroll

ENDS = int(os.environ.get("SOAPSTONE_TUBE_ENDS", "24"))
LIMIT = 0.01e-3  # m, what is promised of a line
HAIR = 1e-6  # m round the tube; a step stands within it
MENDED = (290, 319, 337)
"""A brace's end in the open, a cut that runs steeply for half its edge, a leg past the tube's other end."""
KINDS = ("cope", "cope", "cope", "mitre", "flat", "square", "node", "bend")


def _shape(rng, size):
    wall = size * rng.uniform(0.05, 0.12)
    if rng.random() < 0.6:
        return RoundTube(size, wall)
    return RectangularTube(size * rng.uniform(0.5, 0.7), size * rng.uniform(0.5, 0.7), wall, wall * 2.0)


def _host_shape(rng, size):
    pick = rng.random()
    if pick < 0.2:
        return RoundTube(size, size / 15)  # the same size: the pinch
    big = size * rng.uniform(1.05, 2.0)
    if pick < 0.5:
        return RoundTube(big, big / 15)
    if pick < 0.6:
        return RoundBar(big)
    return RectangularTube(big * 1.1, big * rng.uniform(1.1, 1.6), big / 15, big / 15 * rng.uniform(0.5, 3.0))


def _across(rng, way):
    side = np.cross(way, rng.normal(size=3))
    return side / np.linalg.norm(side)


def _host(rng, name, size, at, way, angle=None):
    """A body that the tube meets at `at`, at 20° to 90°, aside where there is room."""
    angle = math.radians(rng.uniform(20, 90)) if angle is None else angle
    axis = math.cos(angle) * way * rng.choice((-1, 1)) + math.sin(angle) * _across(rng, way)
    shape = _host_shape(rng, size)
    normal = np.cross(way, axis) / math.sin(angle)
    smallest = min(shape.outline.half_y, shape.outline.half_z)
    aside = rng.uniform(-0.9, 0.9) * max(smallest - size / 2, 0.0)
    # a rectangular one stands with a face to the normal, or anyhow where it is large enough
    clocking = normal if aside or rng.random() < 0.5 or smallest < size / 2 else rng.normal(size=3)
    return Body(name, shape, Axes.along(at + aside * normal, axis, clocking))


def _bend(rng, size, at, way):
    outside = size * rng.uniform(1.0, 1.6)
    bend, sweep = outside * rng.uniform(2.0, 4.0), rng.uniform(0.6, 2.2)
    normal = _across(rng, way)
    radial = np.cross(normal, way)
    lean = rng.uniform(-0.8, 0.8)
    out = (way * math.cos(lean) + radial * math.sin(lean)) * rng.choice((-1, 1))
    start_way = _turned(out, normal, -sweep * rng.uniform(0.2, 0.8))
    centre = at - bend * out
    legs = (5 * size, 5 * size)  # they stay clear of the tube's other end, 14 sizes away
    shape = RoundTube(outside, outside / 15)
    return BentTube("hoop", shape, centre, centre + bend * start_way, normal, sweep, legs)


def _turned(vector, axis, angle):
    return vector * math.cos(angle) + np.cross(axis, vector) * math.sin(angle)


def _cut(rng, kind, shape, at, way):
    """A cut for the end that lies at `at` when `way` leaves the tube there."""
    size = 2 * max(shape.outline.half_y, shape.outline.half_z) if shape.outline.is_round else _diagonal(shape)
    gap = rng.choice((0.0, 0.0003))
    match kind:
        case "square":
            return square(rng.uniform(-0.01, 0.01))
        case "flat":
            return flat(way + math.tan(rng.uniform(0.0, 1.0)) * _across(rng, way), "rail", gap=gap)
        case "mitre":
            return mitred("next", way + rng.uniform(-0.5, 2.0) * _across(rng, way), gap=gap)
        case "bend":
            return coped_onto_bent(_bend(rng, size, at, way), gap=gap)
    host = _host(rng, "rail", size, at, way)
    onto = coped(host, gap=gap, overhang_allowed=1e-6)
    if kind == "cope":
        return onto
    return trimmed(onto, [Trimmer(_neighbour(rng, size, at, way, host), 0.0, 0.4)], gap=gap)


def _neighbour(rng, size, at, way, host):
    """A tube that leaves the same node on the tube's own side, turned by 25° to 70° from it."""
    back = -way
    side = back - (back @ host.axes.x) * host.axes.x
    side /= np.linalg.norm(side)
    angle = math.radians(rng.uniform(25, 70))
    turn = _turned(side, np.cross(side, host.axes.x), angle * rng.choice((-1, 1)))
    if np.linalg.norm(np.cross(turn, way)) < math.sin(math.radians(20)):
        turn = _turned(side, host.axes.x, 1.2)
    shape = RoundTube(size * rng.uniform(0.5, 1.2), size / 20)
    return Body("brace", shape, Axes.along(at, turn, way))


def _diagonal(shape):
    return 2 * math.hypot(shape.outline.half_y, shape.outline.half_z)


def random_tube(seed):
    """Two random ends; a draw that is refused (a bend that curls back, ends that meet) is drawn anew."""
    for attempt in range(20):
        try:
            return _random_tube(seed, np.random.default_rng((seed, attempt)))
        except GeometryError as refused:
            assert refused.where == "strut"
    raise AssertionError("twenty draws in a row were refused")


def _random_tube(seed, rng):
    size = rng.uniform(0.02, 0.05)
    shape = _shape(rng, size)
    start = rng.normal(size=3)
    way = rng.normal(size=3)
    way /= np.linalg.norm(way)
    finish = start + way * size * 14
    clocking = rng.normal(size=3)
    at_a = _cut(rng, KINDS[seed % len(KINDS)], shape, start, -way)
    at_b = _cut(rng, KINDS[(seed * 5 + seed // 8) % len(KINDS)], shape, finish, way)
    part = cut_tube("strut", shape, start, finish, clocking, at_a, at_b, points=721)
    tube = Tube("strut", shape, part.axes)
    cuts = {End.A: at_a(tube, part.length, End.A), End.B: at_b(tube, part.length, End.B)}
    return part, cuts


@pytest.mark.parametrize("seed", sorted({*range(ENDS // 2), *MENDED}))
def test_a_tube_against_its_exact_solid(seed):
    part, cuts = random_tube(seed)
    solid = exact_tube(part)
    points = _cut_edges(part, solid)
    off = part.shape.outline.distance(points[:, 1:])
    for end, mine in (("a", part.end_a), ("b", part.end_b)):
        far = points[:, 0] > (part.end_a.outline.outer.max() + part.end_b.outline.outer.min()) / 2
        here = far if end == "b" else ~far
        for depth, line in ((0.0, mine.outline.outer), (part.shape.wall, mine.outline.inner)):
            on = here & (np.abs(off + depth) < LIMIT)
            assert on.sum() > 20
            _on_the_line(cuts[mine.outline.end], points[on])
            _on_the_outline(part, cuts[mine.outline.end], mine, line, points[on], depth)
        _template_closes(part, mine)
    _tips(part, solid)
    _sizes(part, solid)


def _tips(part, solid):
    """The long and the short point, which the lengths are taken between, lie on the kernel's own edges."""
    for outline in (part.end_a.outline, part.end_b.outline):
        for tip in (outline.long_point, outline.short_point):
            line = part.shape.outline.generators(np.array([tip.abscissa]), 0.0)[0]
            at = part.axes.to_world(np.array([tip.station, *line])) * 1e3
            point = occ.Vertex(occ.Pnt(*at))
            assert min(edge.Distance(point) for edge in solid.edges) < 1e3 * LIMIT


def _cut_edges(part, solid):
    """Points on the kernel's edges, those left out that run along the tube."""
    local = part.axes.to_local(kit.edge_points(solid, 30)).reshape(-1, 30, 3)
    return local[np.ptp(local[:, :, 1:], axis=1).max(axis=1) > HAIR].reshape(-1, 3)


def _on_the_line(cutting, points):
    """Every point of the kernel's edge lies where the cut says, or within a step of it.

    Asked at the kernel's own y and z: where two tubes of one size pinch, their faces touch and the kernel's
    edge stands up to 0.01 mm off the outside, which moves it far along the tube.
    """
    said = [cutting.stations(points[:, 1:] + shift) for shift in _shifts(points[:, 1:])]
    assert (points[:, 0] - np.min(said, axis=0) > -LIMIT).all()
    assert (points[:, 0] - np.max(said, axis=0) < LIMIT).all()


def _shifts(lines):
    """Nothing, and a hair to either side of each line, round the tube."""
    side = np.column_stack((-lines[:, 1], lines[:, 0]))
    side *= HAIR / np.linalg.norm(side, axis=1)[:, None]
    return (-side, 0.0 * side, side)


def _on_the_outline(part, cutting, end, line, points, depth):
    """The rows, joined straight, keep to the cut where neither a step nor a pinch stands between two."""
    profile = part.shape.outline
    around = profile.abscissae_of(points[:, 1:], depth)
    exact = cutting.stations(profile.generators(around, depth))
    at = np.clip(np.searchsorted(end.outline.abscissa, around), 1, len(line) - 1)
    apart = np.diff(end.outline.abscissa)
    level = np.abs(np.diff(line)) < 4 * apart
    plain = level[at - 1]
    tries = [np.interp(around + shift, end.outline.abscissa, line) for shift in (-HAIR, 0.0, HAIR)]
    # of the way round: the kernel's own points crowd where an acute cut runs steeply
    assert apart[level].sum() > 0.5 * profile.perimeter
    assert plain.sum() > 20
    assert (exact - np.min(tries, axis=0))[plain].min() > -LIMIT
    assert (exact - np.max(tries, axis=0))[plain].max() < LIMIT


def _template_closes(part, end):
    flat_one = unroll(part, end)
    assert end.outline.outer[0] == end.outline.outer[-1]
    assert end.outline.inner[0] == end.outline.inner[-1]
    assert flat_one.outer[0, 1] == flat_one.outer[-1, 1]
    assert flat_one.outer[-1, 0] == pytest.approx(1e3 * part.shape.outline.perimeter, rel=1e-12)


def _sizes(part, solid):
    volume = solid.mass * 1e-9
    # our integral is good to a few 1e-5 where a cut kinks or pinches; the kernel's to 1e-6
    assert volume == pytest.approx(part.volume, rel=2e-4)
    lines = part.end_b.outline.outer - part.end_a.outline.outer
    area = float(np.trapezoid(lines, part.end_a.outline.abscissa))
    # what is left of the outside: chords of 721 rows, and half a row at each step
    assert _outside_area(part, solid) == pytest.approx(area, rel=1e-3)
    low = part.end_a.outline.outer.min() - 0.01
    high = part.end_b.outline.outer.max() + 0.01
    raw = kit.exact_tube(Tube("strut", part.shape, part.axes), low, high)
    gone = raw - solid
    whole = part.shape.section.area * (high - low)
    assert (volume + gone.mass * 1e-9) == pytest.approx(whole, rel=1e-6)


def _outside_area(part, solid):
    """Area, m², of the faces whose every corner lies on the outside."""
    found = 0.0
    for face in solid.faces:
        at = np.array([(v.p.x, v.p.y, v.p.z) for v in face.vertices]) * 1e-3
        middle = kit.edge_points(face, 7)
        local = part.axes.to_local(np.vstack((at, middle)))[:, 1:]
        if np.abs(part.shape.outline.distance(local)).max() < 5e-6:
            found += face.mass * 1e-6
    return found


@pytest.mark.parametrize("seed", range(0, ENDS, 3))
def test_the_bodies_are_the_ones_that_are_met(seed):
    """Points of the cut lie on the surface of the very body that the solid is cut with."""
    part, _ = random_tube(seed)
    for end in (part.end_a, part.end_b):
        if len(end.tools) != 1 or not isinstance(end.tools[0], BarTool | PlaneTool):
            continue
        lines = part.shape.outline.generators(end.outline.abscissa, 0.0)
        world = part.axes.to_world(np.column_stack((end.outline.outer, lines)))
        tool = end.tools[0]
        if isinstance(tool, PlaneTool):
            off = (world - tool.point) @ tool.normal
        else:
            off = tool.profile.distance(tool.axes.to_local(world)[:, 1:])
        assert np.abs(off).max() < 2e-6
