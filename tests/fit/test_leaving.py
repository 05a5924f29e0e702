"""Straight ways out: cases whose answer is known, and prisms whose answer is made."""

import numpy as np
import pytest

from soapstone.fit.leaving import leave

X, Y, Z = np.eye(3)


def box(low, high):
    return np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )


def prism(polygon, length, low=0.0):
    """A polygon (k, 2) in the x-y plane, drawn along z."""
    flat = np.asarray(polygon, dtype=float)
    return np.vstack([np.column_stack([flat, np.full(len(flat), z)]) for z in (low, low + length)])


def ring(inner, outer, sides, length):
    """Convex pieces of a polygonal ring round z."""
    angle = np.arange(sides + 1) * 2.0 * np.pi / sides
    spoke = np.column_stack([np.cos(angle), np.sin(angle)])
    return [
        prism([inner * spoke[i], inner * spoke[i + 1], outer * spoke[i + 1], outer * spoke[i]], length)
        for i in range(sides)
    ]


def ways(found):
    return found.directions[found.free]


def test_a_peg_in_a_through_hole_leaves_both_ways_along_it_and_no_other():
    angle = np.arange(12) * np.pi / 6.0
    peg = prism(0.010 * np.column_stack([np.cos(angle), np.sin(angle)]), 0.08, -0.02)
    out = ways(leave([peg], {"plate": ring(0.010, 0.03, 12, 0.04)}))
    assert len(out) >= 2
    assert np.abs(np.abs(out @ Z) - 1.0).max() < 1e-9
    assert {float(np.sign(one @ Z)) for one in out} == {1.0, -1.0}


def test_a_peg_in_a_blind_hole_leaves_one_way():
    angle = np.arange(12) * np.pi / 6.0
    peg = prism(0.010 * np.column_stack([np.cos(angle), np.sin(angle)]), 0.05)
    floor = box([-0.03, -0.03, -0.01], [0.03, 0.03, 0.0])
    out = ways(leave([peg], {"plate": ring(0.010, 0.03, 12, 0.04), "floor": [floor]}))
    assert out @ Z == pytest.approx(np.ones(len(out)))


def test_a_dovetail_slides_along_itself_only():
    tail = prism([[-0.02, 0.0], [0.02, 0.0], [0.01, 0.02], [-0.01, 0.02]], 0.1)
    left = prism([[-0.05, 0.0], [-0.02, 0.0], [-0.01, 0.02], [-0.05, 0.02]], 0.1)
    right = left * [-1.0, 1.0, 1.0]
    floor = box([-0.05, -0.02, 0.0], [0.05, 0.0, 0.1])
    found = leave([tail], {"left": [left], "right": [right], "floor": [floor]})
    out = ways(found)
    assert np.abs(out @ Z) == pytest.approx(np.ones(len(out)))
    assert {*found.blockers} == {"left", "right", "floor"}
    assert not found.locked


def test_a_part_boxed_in_is_locked_and_says_by_what():
    part = box([0, 0, 0], [0.1, 0.1, 0.1])
    walls = {
        name: [part + 0.1 * np.array(way)]
        for name, way in {"l": -X, "r": X, "f": -Y, "b": Y, "u": Z, "d": -Z}.items()
    }
    found = leave([part], walls)
    assert found.locked
    assert not found.free.any()
    assert {*found.blockers} == set(walls)


def test_boxed_in_with_room_to_rattle_is_shut_in_but_not_locked():
    part = box([0, 0, 0], [0.1, 0.1, 0.1])
    walls = {f"{way}": [part + 0.102 * np.array(way)] for way in (*np.eye(3), *-np.eye(3))}
    corners = [part + 0.102 * np.array([x, y, z]) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1)]
    found = leave([part], walls | {"corners": [c for i, c in enumerate(corners) if i != 13]})
    assert not found.locked
    assert not found.free.any()
    assert found.reach.max() < 0.01


def fork(at, opens):
    """Two plates and the floor between them, round a bung along y; `opens` is where the mouth looks."""
    across = np.cross(Y, opens)
    pieces = []
    for side in (-1.0, 1.0):
        corners = box([-0.02, -0.003, -0.02], [0.02, 0.003, 0.02])
        pieces.append(at + corners @ np.array([across, Y, opens]) + side * 0.033 * Y)
    floor = box([-0.02, -0.03, -0.028], [0.02, 0.03, -0.018])
    pieces.append(at + floor @ np.array([across, Y, opens]))
    return pieces


def bar(points):
    """Bungs at the points, joined by a bar above them."""
    bungs = [np.asarray(p) + box([-0.018, -0.03, -0.018], [0.018, 0.03, 0.018]) for p in points]
    return bungs


def test_forks_all_facing_one_way_let_the_bar_go_that_way():
    points = [np.array([0.0, 0.0, 0.0]), np.array([0.6, 0.0, 0.0])]
    found = leave(bar(points), {f"fork_{i}": fork(p, Z) for i, p in enumerate(points)})
    assert found.free[np.argmax(found.directions @ Z)]
    assert not found.free[np.argmax(-found.directions @ Z)]
    assert (np.abs(ways(found) @ Y) < 1e-6).all()


def test_forks_facing_each_other_hold_the_bar():
    """Each fork alone lets go, both together do not; and it is proven, for no shift is left at all."""
    points = [np.array([0.0, 0.0, 0.0]), np.array([0.6, 0.0, 0.0])]
    stop = box([-0.03, -0.03, -0.02], [-0.018, 0.03, 0.02])
    stops = [stop, stop * [-1.0, 1.0, 1.0] + points[1]]
    facing = {"fork_0": [*fork(points[0], Z), stops[0]], "fork_1": [*fork(points[1], -Z), stops[1]]}
    for name in facing:
        assert leave(bar(points), {name: facing[name]}).free.any()
    both = leave(bar(points), facing)
    assert not both.free.any()
    assert both.locked


@pytest.mark.parametrize("seed", range(300))
def test_prisms_leave_by_the_openings_they_were_given(seed):
    """A convex prism in a case of its own shape: each side wall and lid may be there or not.

    By construction it can leave along +z where the upper lid is missing, along -z where the lower one is, and
    straight out square to its axis exactly in those directions that no wall's normal opposes.
    """
    random = np.random.default_rng(seed)
    sides = int(random.integers(3, 8))
    angle = np.sort(random.uniform(0.0, 2.0 * np.pi, sides))
    while np.diff(np.append(angle, angle[0] + 2.0 * np.pi)).max() > 3.0 or np.diff(angle).min() < 0.2:
        angle = np.sort(random.uniform(0.0, 2.0 * np.pi, sides))
    polygon = 0.05 * np.column_stack([np.cos(angle), np.sin(angle)])
    part = prism(polygon, 0.1)
    edge = np.roll(polygon, -1, axis=0) - polygon
    normal = np.column_stack([edge[:, 1], -edge[:, 0]]) / np.linalg.norm(edge, axis=1)[:, None]
    there = random.random(sides) < 0.6
    standing = {
        f"wall_{i}": [
            prism(
                [
                    polygon[i],
                    polygon[i] + edge[i],
                    polygon[i] + edge[i] + 0.4 * normal[i],
                    polygon[i] + 0.4 * normal[i],
                ],
                0.1,
            )
        ]
        for i in range(sides)
        if there[i]
    }
    lids = random.random(2) < 0.5
    big = box([-0.6, -0.6, 0.1], [0.6, 0.6, 0.2])
    if lids[0]:
        standing["upper"] = [big]
    if lids[1]:
        standing["lower"] = [big - [0.0, 0.0, 0.3] + [0.0, 0.0, 0.1]]
    turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
    place = random.normal(size=3)
    found = leave(
        [part @ turn.T + place],
        {name: [p @ turn.T + place for p in pieces] for name, pieces in standing.items()},
    )
    along = found.directions @ turn
    for up, lid in ((1.0, lids[0]), (-1.0, lids[1])):
        straight = along[:, 2] * up > 1.0 - 1e-12
        if straight.any() and there.any():
            assert (found.free[straight] == (not lid)).all()
    flat = np.abs(along[:, 2]) < 1e-9
    opposed = (
        (along[flat, :2] @ normal[there].T > 1e-6).any(axis=1) if there.any() else np.zeros(flat.sum(), bool)
    )
    assert not (found.free[flat] & opposed).any()
    if there.all() and lids.all():
        assert found.locked
    if not there.any() and not lids.any():
        assert found.free.all()
    # what the faces it touches leave over is found whenever anything is
    if not found.free.any():
        assert found.reach.max() < 2.0
