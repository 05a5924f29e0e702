"""Holes that a tube passes through, and slots over a plate: edges, volumes, meshes, and what is refused."""

import math

import numpy as np
import pytest

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import mitred, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.openings import opened, passage, slot
from soapstone.parts.outline import End
from soapstone.parts.sections import RectangularTube, RoundBar, RoundTube
from soapstone.parts.solids import tube_solid
from soapstone.parts.step import exact_tube

ROUND = RoundTube(60e-3, 3e-3)
BOX = RectangularTube(60e-3, 50e-3, 3e-3, 6e-3)
SHARP = RectangularTube(60e-3, 50e-3, 3e-3, 1e-3)
THIN = RoundTube(30e-3, 2e-3)


def _host(shape):
    return cut_tube("rail", shape, (0, 0, 0), (0.5, 0, 0), (0, 1, 0), square(0), square(0))


def _passing(shape=THIN, way=(0.3, 0.1, 1.0), aside=0.0):
    way = np.array(way)
    return Body("strut", shape, Axes.along(np.array((0.25, aside, 0.0)) - 0.3 * way, way, (0, 1, 0)))


@pytest.mark.parametrize("host", [ROUND, BOX, SHARP], ids=["round", "box", "sharp"])
@pytest.mark.parametrize("shape", [THIN, RectangularTube(20e-3, 25e-3, 2e-3, 4e-3)], ids=["round", "box"])
def test_holes_against_mesh_and_exact_solid(host, shape):
    rail, clearance = _host(host), 0.5e-3
    opening = passage(rail, _passing(shape), clearance)
    part = opened(rail, opening)
    for loop in opening.loops:
        for abscissa, stations, depth in (
            (loop.abscissa, loop.outer, 0.0),
            (loop.inner_abscissa, loop.inner, host.wall),
        ):
            lines = host.outline.generators(abscissa % host.outline.perimeter, depth)
            world = part.axes.to_world(np.column_stack((stations, lines)))
            off = shape.outline.grown(clearance).distance(opening.axes.to_local(world)[:, 1:])
            np.testing.assert_allclose(off, 0.0, atol=1e-9)
            assert stations[0] == pytest.approx(stations[-1], abs=1e-12)
            assert abscissa[0] == pytest.approx(abscissa[-1], abs=1e-12)
    assert exact_tube(part).mass * 1e-9 == pytest.approx(part.volume, rel=1e-6)
    mesh = tube_solid(part)
    assert mesh.is_closed()
    # chords of 181 rows round the rail, and as many round the hole
    assert mesh.volume == pytest.approx(part.volume, rel=2e-3)
    np.testing.assert_allclose(mesh.centroid, part.centroid, atol=5e-6)
    assert opening.station == pytest.approx(0.25, abs=1e-12)


def test_a_square_hole_by_hand():
    # a round bar straight through a flat-walled tube: two discs of the wall go
    part = opened(_host(BOX), passage(_host(BOX), _passing(RoundBar(20e-3), (0, 0, 1)), 1e-3))
    gone = 2 * math.pi * 11e-3**2 * 3e-3
    assert _host(BOX).volume - part.volume == pytest.approx(gone, rel=1e-9)
    (opening,) = part.openings
    near = opening.loops[0]
    assert np.ptp(near.outer) == pytest.approx(22e-3, rel=1e-6)
    assert np.ptp(near.abscissa) == pytest.approx(22e-3, rel=1e-6)


@pytest.mark.parametrize(
    ("passing", "words"),
    [
        (
            _passing(RoundTube(58e-3, 2e-3), (0, 0, 1)),
            r"strut: is too wide to pass through rail.* 2\.5 mm into",
        ),
        (_passing(THIN, (0, 0, 1), 15e-3), "strut: is too wide to pass through rail"),
        (_passing(THIN, (1.0, 0.0, 0.1)), r"strut: passes through rail at 5\.7°, under 15°"),
    ],
)
def test_what_cannot_pass(passing, words):
    with pytest.raises(GeometryError, match=words):
        passage(_host(ROUND), passing, 0.5e-3)


@pytest.mark.parametrize("end", list(End))
@pytest.mark.parametrize("host", [ROUND, BOX, SHARP], ids=["round", "box", "sharp"])
@pytest.mark.parametrize("normal", [(0, 1, 0), (0, 0.4, 1)])
def test_slots_against_mesh_and_exact_solid(host, end, normal):
    rail = _host(host)
    part = opened(rail, slot(rail, end, "a plate", 6.5e-3, 40e-3, normal))
    assert exact_tube(part).mass * 1e-9 == pytest.approx(part.volume, rel=5e-6)
    mesh = tube_solid(part)
    assert mesh.is_closed()
    assert mesh.volume == pytest.approx(part.volume, rel=2e-3)
    np.testing.assert_allclose(mesh.centroid, part.centroid, atol=2e-5)
    (opening,) = part.openings
    assert len(opening.loops) == 2
    across = np.array(normal[1:]) / np.linalg.norm(normal)
    for loop in opening.loops:
        lines = host.outline.generators(loop.abscissa % host.outline.perimeter, 0.0)
        np.testing.assert_allclose(np.abs(lines @ across), 3.25e-3, atol=1e-9)
        assert np.ptp(loop.outer) == pytest.approx(40e-3, rel=1e-12)


def test_what_cannot_be_slotted():
    rail = _host(ROUND)
    with pytest.raises(GeometryError, match="rail: a slot 70 mm wide"):
        slot(rail, End.A, "a plate", 70e-3, 40e-3, (0, 1, 0))
    with pytest.raises(
        GeometryError, match="rail: the plate that its end is slotted over does not lie along"
    ):
        slot(rail, End.B, "a plate", 6e-3, 40e-3, (0.2, 1, 0))
    bevelled = cut_tube("rail", ROUND, (0, 0, 0), (0.5, 0, 0), (0, 1, 0), square(0), mitred("b", (1, 1, 0)))
    with pytest.raises(GeometryError, match="rail: its end has a slot over a plate and a mitre too"):
        slot(bevelled, End.B, "a plate", 6e-3, 40e-3, (0, 0, 1))


@pytest.mark.parametrize("profile", [ROUND.outline, BOX.outline, SHARP.outline, BOX.bore], ids=str)
@pytest.mark.parametrize("depth", [0.0, 1e-3, 3e-3])
def test_points_find_their_abscissa_again(profile, depth):
    abscissa = np.linspace(0.0, profile.perimeter, 400, endpoint=False)[1:]
    if depth >= profile.radius:
        flats = (
            np.abs(
                np.diff(
                    profile.turn(
                        np.stack((abscissa - 1e-5, abscissa + 1e-5)),
                    ),
                    axis=0,
                )
            )[0]
            == 0.0
        )
        inner = profile.generators(abscissa, depth)
        left = profile.inset(depth)
        abscissa = abscissa[flats & ((np.abs(inner) < (left.half_y, left.half_z)).any(axis=1))]
    found = profile.abscissae_of(profile.generators(abscissa, depth), depth)
    np.testing.assert_allclose(found, abscissa, atol=1e-9)
