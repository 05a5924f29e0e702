"""Axes of bent tubes: straights and bends, arches, stations, and the tables that lead back to them."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.parts.bent_tube import (
    bend_table,
    bent_wall,
    points_of,
    springback_share,
    swings,
    trim_needed,
)
from soapstone.parts.centreline import Bend, Centreline, Straight, arch, through_corners
from soapstone.parts.sections import RoundTube
from soapstone.tables import material

ALIKE = 1e-9  # m: a millionth of a millimetre, what is left of doubles after a few turns


@st.composite
def lines(draw: st.DrawFn) -> Centreline:
    """Two to five corners, runs long enough for the bends."""
    count = draw(st.integers(2, 5))
    radius = draw(st.floats(0.03, 0.15))
    turns = [draw(st.floats(0.1, 2.4)) for _ in range(count)]
    rolls = [draw(st.floats(-math.pi, math.pi)) for _ in range(count)]
    straights = [draw(st.floats(0.05, 0.6)) for _ in range(count + 1)]
    cut = [0.0, *(radius * math.tan(turn / 2) for turn in turns), 0.0]
    here, along, side = np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 1.0, 0])
    corners = [here]
    for row, straight in enumerate(straights):
        here = here + (straight + cut[row] + cut[row + 1]) * along
        corners.append(here)
        if row < count:
            side = math.cos(rolls[row]) * side + math.sin(rolls[row]) * np.cross(along, side)
            c, s = math.cos(turns[row]), math.sin(turns[row])
            along, side = c * along + s * side, c * side - s * along
    return through_corners("hoop", corners, radius)


def apart(points: np.ndarray) -> np.ndarray:
    return np.linalg.norm(points[:, None] - points[None], axis=2)


def handed(points: np.ndarray) -> float:
    """Six times the volume of the first four points: its sign tells left from right."""
    return float(np.linalg.det(points[1:4] - points[0]))


@settings(max_examples=60, deadline=None)
@given(lines())
def test_the_table_alone_gives_the_tube_back(line: Centreline) -> None:
    ends = np.append(line.starts, line.length)
    made, meant = points_of(bend_table(line, 0.0)), line.at(ends)
    assert np.abs(apart(made) - apart(meant)).max() < ALIKE
    spread = np.linalg.svd(meant - meant.mean(axis=0))[1]
    assume(spread[2] > 1e-3)  # a flat tube is its own mirror image
    rows = max(range(len(meant) - 3), key=lambda r: abs(handed(meant[r:])))
    assert math.copysign(1, handed(made[rows:])) == math.copysign(1, handed(meant[rows:]))


@settings(max_examples=60, deadline=None)
@given(lines())
def test_from_the_other_end_it_is_the_same_tube(line: Centreline) -> None:
    back = line.reverse
    stations = np.linspace(0.0, line.length, 50)
    assert np.abs(back.at(line.length - stations) - line.at(stations)).max() < ALIKE
    one, other = bend_table(line, 0.03), bend_table(back, 0.03)
    assert one.length == pytest.approx(other.length, rel=1e-12)
    turns = [row.turn for row in one.rows[1:]]
    assert np.cos([row.turn for row in other.rows[1:]][::-1]) == pytest.approx(np.cos(turns), abs=1e-7)
    assert np.sin([row.turn for row in other.rows[1:]][::-1]) == pytest.approx(np.sin(turns), abs=1e-7)
    assert [row.angle for row in other.rows][::-1] == pytest.approx([row.angle for row in one.rows])


@settings(max_examples=40, deadline=None)
@given(lines(), st.floats(0.0, 1.0), st.floats(-0.2, 0.2), st.floats(0.0, 0.02))
def test_the_nearest_station_is_found(line: Centreline, share: float, z: float, off: float) -> None:
    point = line.point(share * line.length) + np.array([off, -off, z * off])
    dense = np.linspace(0.0, line.length, 4001)
    best = np.linalg.norm(line.at(dense) - point, axis=1).min()
    found = float(np.linalg.norm(line.point(line.station_of(point)) - point))
    # 4001 spots on a few metres lie within a millimetre; near the axis the distance is off by its square
    assert found <= best + ALIKE


@settings(max_examples=40, deadline=None)
@given(lines())
def test_tangents_run_along_and_carried_vectors_stay_square(line: Centreline) -> None:
    stations = np.linspace(1e-6, line.length - 1e-6, 37)
    steps = (line.at(stations + 1e-7) - line.at(stations - 1e-7)) / 2e-7
    # within 0.2 µm of a tangent point the difference straddles it: off by 1e-7 over the radius
    assert np.abs(steps - line.direction(stations)).max() < 1e-5
    up = np.cross(line.tangent(0.0), [0.3, 0.5, 0.8])
    for station in stations:
        carried = line.carried(up, float(station))
        assert abs(carried @ line.tangent(float(station))) < ALIKE
        assert np.linalg.norm(carried) == pytest.approx(np.linalg.norm(up), rel=1e-12)


def test_a_square_corner() -> None:
    line = through_corners("hoop", [(0, 0, 0), (0.5, 0, 0), (0.5, 0.4, 0)], 0.1)
    assert line.length == pytest.approx(0.5 + 0.4 - 0.2 + 0.05 * math.pi, rel=1e-12)
    row = bend_table(line, 3.5 / 90).rows[0]
    assert (row.straight, row.mark) == pytest.approx((0.4, 0.4))
    assert math.degrees(row.set_angle) * (1 - 3.5 / 90) == pytest.approx(90.0)


def test_a_turn_is_clockwise_seen_from_the_first_end() -> None:
    """First bend to the left, then up: looking along the tube to the left, up is a quarter clockwise of back.

    Inside of the first bend carried along points back to the start (aft); from aft to up about the way to
    the left (+y) is −z × … done by hand: normals +z then +x, and z × x = +y, so plus a quarter.
    """
    line = through_corners("hoop", [(0, 0, 0), (0.5, 0, 0), (0.5, 0.5, 0), (0.5, 0.5, 0.5)], 0.1)
    assert bend_table(line, 0.0).rows[1].turn == pytest.approx(math.pi / 2)
    other = through_corners("hoop", [(0, 0, 0), (0.5, 0, 0), (0.5, 0.5, 0), (0.5, 0.5, -0.5)], 0.1)
    assert bend_table(other, 0.0).rows[1].turn == pytest.approx(-math.pi / 2)
    zigzag = through_corners("hoop", [(0, 0, 0), (0.5, 0, 0), (0.5, 0.5, 0), (1, 0.5, 0)], 0.1)
    assert bend_table(zigzag, 0.0).rows[1].turn == pytest.approx(math.pi)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.2, 3.0), st.floats(0.05, 6.2), st.floats(0.05, 0.95), st.floats(0.0, 6.28))
def test_an_arch_goes_through_its_three_places(r: float, sweep: float, share: float, lean: float) -> None:
    def on(angle: float) -> np.ndarray:
        flat = np.array([r * math.cos(angle), r * math.sin(angle), 0.3])
        c, s = math.cos(lean), math.sin(lean)
        return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]) @ flat

    line = arch("roll hoop", on(0.0), on(share * sweep), on(sweep))
    ((_, bend),) = line.bends
    # three places on a short arc fix its radius badly: an error of 1e-16 grows by the square of 1/sweep
    assert bend.radius == pytest.approx(r, rel=1e-9)
    assert bend.angle == pytest.approx(sweep, rel=1e-8)
    assert np.allclose(line.point(share * line.length), on(share * sweep), atol=1e-8)
    assert np.allclose(line.point(line.length), on(sweep), atol=1e-8)


@pytest.mark.parametrize(
    ("corners", "radius", "told"),
    [
        ([(0, 0, 0), (0.1, 0, 0), (0.1, 0.1, 0)], 0.12, "a bend radius of 120 mm needs 120 mm"),
        ([(0, 0, 0), (0.1, 0, 0), (0.3, 0, 0)], 0.05, "in line"),
        ([(0, 0, 0), (0.1, 0, 0), (0.1, 0, 0)], 0.05, "are one"),
        ([(0, 0, 0), (0.1, 0, 0), (0.0, 0.0001, 0)], 0.05, "turns back on itself at its corner 1"),
    ],
)
def test_what_cannot_be_bent_is_said(corners: list, radius: float, told: str) -> None:
    with pytest.raises(GeometryError, match=told) as caught:
        through_corners("hoop", corners, radius)
    assert "hoop" in str(caught.value)


def test_an_arch_in_line_is_refused() -> None:
    with pytest.raises(GeometryError, match="not in line"):
        arch("roll hoop", (0, 0, 0), (1, 0, 0), (3, 0, 0))


def test_pieces_at_a_joint_are_straight() -> None:
    line = through_corners("hoop", [(0, 0, 0), (0.5, 0, 0), (0.5, 0.4, 0)], 0.1)
    assert isinstance(line.piece_at(0.4)[1], Straight)
    assert isinstance(line.piece_at(0.41)[1], Bend)
    longer = line.extended(0.03, -0.05)
    assert longer.length == pytest.approx(line.length - 0.02)
    assert np.allclose(longer.point(0.0), [-0.03, 0, 0])


def test_springback_grows_with_radius_and_strength() -> None:
    tube = RoundTube(0.0381, 0.0024)
    mild, strong = material("S235"), material("DOM 1020")
    by_radius = [springback_share(tube, mild, r) for r in (0.08, 0.12, 0.2)]
    assert by_radius == sorted(by_radius) and by_radius[0] > 0.0
    assert springback_share(tube, strong, 0.12) > by_radius[1]
    # by hand: thin tube Z/I = 8/(pi d) at the mean diameter, f = (235 + 360)/2, E 210 GPa, R 120 mm
    by_hand = 297.5e6 / 210e9 * 0.12 * 8 / (math.pi * 0.0357)
    assert by_radius[1] == pytest.approx(by_hand, rel=0.07)  # the wall is a fifteenth of the diameter


def test_a_bent_wall_keeps_its_volume_to_first_order() -> None:
    wall = bent_wall(RoundTube(0.0381, 0.0024), 3 * 0.0381)
    assert wall.outside == pytest.approx(0.0024 * 3 / 3.5)
    assert wall.inside == pytest.approx(0.0024 * 3 / 2.5)
    assert wall.stretch == pytest.approx(1 / 6)


def test_a_tube_hangs_down_or_stands_up_by_the_way_the_die_turns() -> None:
    """A left turn in the level, then straight down: swung to the right, the first leg stands 0.5 m ...

    The second bend's plane is upright (x = 0.5), the tube turns from left to down there. Its normal is −x;
    the formed part, everything aft of that plane, lies 0.5 m to its +normal side.
    """
    line = through_corners("hoop", [(0, 0, 0), (0.5, 0, 0), (0.5, 0.5, 0), (0.5, 0.5, -0.5)], 0.1)
    assert [round(s.below, 9) for s in swings(line, turns_right=True)] == [0.0, 0.0]
    assert [round(s.below, 9) for s in swings(line, turns_right=False)] == [0.0, 0.5]


def test_a_closed_loop_runs_into_itself() -> None:
    """Four square corners of 0.4 m: at the last bend the first leg lands on the raw tube."""
    square = [(0, 0, 0), (0.4, 0, 0), (0.4, 0.4, 0), (0, 0.4, 0), (0, 0.0, 0.0), (0.3, 0, 0)]
    gaps = [s.gap for s in swings(through_corners("ring", square, 0.06), turns_right=True)]
    assert gaps[-1] < 0.01 and min(gaps[:2]) > 0.1


def test_the_clamp_wants_tube_to_hold() -> None:
    line = through_corners("hoop", [(0, 0, 0), (0.15, 0, 0), (0.15, 0.4, 0)], 0.1)
    table = bend_table(line, 0.0)
    assert trim_needed(table, 0.09, 0.35) == pytest.approx((0.04, 0.05))
    assert trim_needed(table, 0.03, 0.0) == (0.0, 0.0)
