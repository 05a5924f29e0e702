"""Small helpers shared by the tests of parts: saddles by the book, and exact solids of netgen's kernel."""

import math

import netgen.occ as occ
import numpy as np

from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body, Tube, cope
from soapstone.parts.sections import RoundTube

MM = 1e-3


def through_round(radius, name="rail", wall=0.002):
    """A round tube along world x."""
    return Body(name, RoundTube(2 * radius, wall), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))


def branch_round(radius, beta, offset=0.0, name="strut", wall=0.002):
    """A round tube that leaves the origin at `beta` from world +x; its clocking line on the acute side."""
    body = np.array([math.cos(beta), 0.0, math.sin(beta)])
    return Tube(name, RoundTube(2 * radius, wall), Axes.along((0, offset, 0), -body, acute(body)))


def acute(body):
    """World +x, square to the body direction."""
    return np.array([1.0, 0, 0]) - body[0] * body


def saddle_lengths(through, branch, beta, degrees, offset=0.0):
    """Setback along the branch at the given angles, from the outline's own rows where it has them."""
    outline = cope(branch_round(branch, beta, offset), through_round(through), points=361)
    rows = [int(np.abs(outline.angle - math.radians(d)).argmin()) for d in degrees]
    np.testing.assert_allclose(outline.angle[rows], np.radians(degrees), atol=1e-12)
    return -outline.outer[rows]


def exact_bar(profile, axes, low, high):
    """The bar of an outline between two stations along `axes`, as an exact solid in mm."""
    start = occ.Pnt(*(axes.to_world((low, 0, 0)) / MM))
    if profile.is_round:
        return occ.Cylinder(start, occ.Vec(*axes.x), r=profile.radius / MM, h=(high - low) / MM)
    plane = occ.WorkPlane(occ.Axes(start, n=occ.Vec(*axes.x), h=occ.Vec(*axes.y)))
    a, b, r = (size / MM for size in (profile.core_y, profile.core_z, profile.radius))
    plane.MoveTo(-a, -b - r)
    for side in (2 * a, 2 * b, 2 * a, 2 * b):
        plane.Line(side)
        plane = plane.Arc(r, 90) if r > 0 else plane.Rotate(90)
    return plane.Face().Extrude((high - low) / MM)


def exact_tube(tube, low, high):
    """A tube between two stations as an exact solid in mm."""
    bar = exact_bar(tube.shape.outline, tube.axes, low, high)
    return bar - exact_bar(tube.shape.bore, tube.axes, low - MM, high + MM)


def exact_cope(tube, through, length):
    """A tube that ends in the middle of `through`, less all of `through`, as an exact solid in mm."""
    end = float((through.axes.origin - tube.axes.origin) @ tube.axes.x)
    raw = exact_tube(tube, end - length, end)
    return raw - exact_bar(through.shape.outline, through.axes, -0.5, 0.5)


def edge_points(solid, count):
    """Points (n, 3) m along every edge of an exact solid."""
    found = []
    for edge in solid.edges:
        first, last = edge.parameter_interval
        found += [edge.Value(first + (last - first) * i / (count - 1)) for i in range(count)]
    return np.array([(p.x, p.y, p.z) for p in found]) * MM


def random_rotation(rng):
    """A proper rotation, (3, 3)."""
    q, r = np.linalg.qr(rng.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else -q


def moved(axes, rotation, shift):
    """Axes carried along by a rigid motion."""
    return Axes(rotation @ axes.origin + shift, rotation @ axes.x, rotation @ axes.y, rotation @ axes.z)
