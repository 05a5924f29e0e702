"""Ways in: proven steps, sliding search, held fast, single changes, order."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from soapstone.fit.caged import caged
from soapstone.fit.going_in import bring_in
from soapstone.fit.nearby import UPRIGHT, Nearby, Piece
from soapstone.fit.order import ordered
from soapstone.fit.pieces import Bodies
from soapstone.fit.way import Room, find_way
from soapstone.job.ways import WayIn

BIG = 0.6


def box(name, low, high):
    ends = np.array([low, high], dtype=float)
    return Piece.hull(
        name, np.array([[ends[i, 0], ends[j, 1], ends[k, 2]] for i, j, k in np.ndindex(2, 2, 2)])
    )


def wall(wide, high, at=0.0, thick=0.004):
    """A sheet across z, with a slot."""
    return [
        box("wall", [-BIG, -BIG, at], [-wide / 2, BIG, at + thick]),
        box("wall", [wide / 2, -BIG, at], [BIG, BIG, at + thick]),
        box("wall", [-wide / 2, -BIG, at], [wide / 2, -high / 2, at + thick]),
        box("wall", [-wide / 2, high / 2, at], [wide / 2, BIG, at + thick]),
    ]


def bent_bar(down):
    """Two arms of 0.3 m, the first through the slot, the second beyond the sheet."""
    return [
        box("bar", [-0.01, -0.01, -down], [0.01, 0.01, 0.3 - down]),
        box("bar", [-0.01, -0.01, 0.28 - down], [0.3, 0.01, 0.3 - down]),
    ]


def overlap(one, other):
    """Deepest that two convex pieces share, m, by separating planes: faces and pairs of edges."""
    a, b = one, other
    normals = [*_normals(a), *_normals(b)]
    normals += [np.cross(u, v) for u in _edges(a) for v in _edges(b)]
    units = [n / np.linalg.norm(n) for n in normals if np.linalg.norm(n) > 1e-9]
    units = np.array([*units, *(-n for n in units)])
    return -((b @ units.T).min(axis=0) - (a @ units.T).max(axis=0)).max()


def _edges(points):
    """The three directions of a box's edges, corners in `box`'s order."""
    return points[[4, 2, 1]] - points[0]


def _normals(points):
    u, v, w = _edges(points)
    return [np.cross(u, v), np.cross(v, w), np.cross(w, u)]


def test_bent_bar_comes_out_of_a_slot_whatever_the_seed():
    moving, standing = bent_bar(0.2), wall(0.06, 0.04)
    near = Nearby(moving, standing)
    outside = (near.middle + np.array([0.0, 0.0, -0.8]), UPRIGHT)
    room = Room(near.middle - [0.5, 0.5, 0.9], near.middle + np.array([0.5, 0.5, 0.4]))
    assert not near.clear(near.seat, outside, 1e-4)
    way = find_way(near, [near.seat], [outside], room, keep=0.004, steps=3000, seed=0)
    assert way is not None
    corners = np.array(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij")).reshape(3, -1).T
    ends = [
        [[-0.01, -0.01, -0.2], [0.01, 0.01, 0.1]],
        [[-0.01, -0.01, 0.08], [0.3, 0.01, 0.1]],
    ]
    arms = [np.array(e)[0] + corners * (np.array(e)[1] - np.array(e)[0]) for e in ends]
    sheets = [np.array(p) for p in _wall_corners(corners)]
    for middle, turn in way.walked(0.01, near.reach).poses:
        for arm in arms:
            there = Rotation.from_quat(turn).apply(arm - near.middle) + middle
            # exact boxes: apart, by planes that part them and not by the distances the search uses
            assert max(overlap(there, sheet) for sheet in sheets) < -0.9 * 0.9 * 0.004 / np.sqrt(3)


def _wall_corners(corners):
    for low, high in (
        ([-BIG, -BIG, 0], [-0.03, BIG, 0.004]),
        ([0.03, -BIG, 0], [BIG, BIG, 0.004]),
        ([-0.03, -BIG, 0], [0.03, -0.02, 0.004]),
        ([-0.03, 0.02, 0], [0.03, BIG, 0.004]),
    ):
        yield np.array(low) + corners * (np.array(high) - np.array(low))


TAB = [box("tab", [-0.001, -0.03, -0.03], [0.001, 0.03, 0.03])]


def passage(window):
    """A sheet of 2 mm across the passage; a window of that size in it, or none."""
    if not window:
        return [box("sheet", [-1.004, -BIG, -BIG], [-1.002, BIG, BIG])]
    half = window / 2
    return [
        box("sheet", [-1.004, -BIG, -BIG], [-1.002, -half, BIG]),
        box("sheet", [-1.004, half, -BIG], [-1.002, BIG, BIG]),
        box("sheet", [-1.004, -half, -BIG], [-1.002, half, -half]),
        box("sheet", [-1.004, -half, half], [-1.002, half, BIG]),
    ]


def tab_through(window, **more):
    spec = WayIn(**{"move": "tab", "from": "behind", "gap": "0.45 mm", "travel": "2000 mm", **more})
    return bring_in(spec, Bodies({"tab": tuple(TAB)}, {"sheet": tuple(passage(window))}, {}), ())


def test_thin_tab_never_gets_through_a_closed_sheet():
    found = tab_through(0.0, shift="200 mm", tilt="30 deg", steps=40)
    assert found.way is None and not found.locked


def test_thin_tab_through_a_window_keeps_its_gap():
    found = tab_through(0.061)
    assert found.straight
    near = Nearby(TAB, passage(0.061))
    gaps = [near.gap(pose, 0.1) for pose in found.way.walked(0.0002, near.reach).poses[4800:5300]]
    assert min(gaps) == pytest.approx(0.0005, abs=1e-9)
    assert found.tight.gap == pytest.approx(0.0005, abs=1e-9)


def test_thin_sheet_is_met_by_the_search_too():
    near = Nearby(TAB, passage(0.0))
    beyond = (near.middle - [2.0, 0.0, 0.0], UPRIGHT)
    room = Room(near.middle - [2.1, 0.1, 0.1], near.middle + 0.1)
    assert find_way(near, [near.seat], [beyond], room, keep=0.0005, steps=60) is None


def cradle(gap):
    """A block between six plates, the one in front 30 mm wide of it when told so."""
    block = [box("block", [-0.02] * 3, [0.02] * 3)]
    plates = []
    for axis in range(3):
        for side in (-1.0, 1.0):
            low, high = np.full(3, -0.05), np.full(3, 0.05)
            edges = sorted([side * (0.02 + gap), side * (0.03 + gap)])
            low[axis], high[axis] = edges
            plates.append(box(f"plate {axis} {side:.0f}", low, high))
    return block, plates


@pytest.mark.parametrize("turning", [False, True])
def test_held_on_all_sides_is_proven_and_one_side_off_is_not(turning):
    block, plates = cradle(0.0005)
    assert caged(Nearby(block, plates), turning)
    for gone in range(6):
        assert not caged(Nearby(block, plates[:gone] + plates[gone + 1 :]), turning)


def test_held_with_much_room_is_not_claimed():
    block, plates = cradle(0.02)
    assert not caged(Nearby(block, plates), True)


def test_way_is_short_only_with_the_proof():
    block, plates = cradle(0.0005)
    standing = {plate.name: (plate,) for plate in plates}
    spec = WayIn(**{"move": "block", "from": "below", "gap": "0.3 mm"})
    held = bring_in(spec, Bodies({"block": tuple(block)}, standing, {}), ())
    assert held.locked and held.way is None and len(held.near) == 6
    open_below = {name: some for name, some in standing.items() if name != "plate 2 -1"}
    assert bring_in(spec, Bodies({"block": tuple(block)}, open_below, {}), ()).straight
    wide = WayIn(**{"move": "block", "from": "below", "gap": "0.6 mm"})
    closer = bring_in(wide, Bodies({"block": tuple(block)}, open_below, {}), ())
    assert closer.way is None and not closer.locked and closer.seat_gap == pytest.approx(0.0005)


def test_turned_step_is_judged_by_its_arc():
    bar = [box("bar", [-0.2, -0.005, -0.005], [0.2, 0.005, 0.005])]
    half = (np.zeros(3), Rotation.from_rotvec([0.0, 0.0, 0.9]).as_quat())
    # the tip goes round at 200 mm; half way along the arc it stands 20 mm beyond the chord
    arc = 0.2 * np.array([np.cos(0.45), np.sin(0.45), 0.0])
    inside = [box("peg", arc * 0.985 - 0.002, arc * 0.985 + 0.002)]
    beyond = [box("peg", arc * 1.1 - 0.002, arc * 1.1 + 0.002)]
    assert not Nearby(bar, inside).clear((np.zeros(3), UPRIGHT), half, 1e-4)
    assert Nearby(bar, beyond).clear((np.zeros(3), UPRIGHT), half, 1e-4)


def ways(**by):
    return {name: {way: frozenset(some) for way, some in each.items()} for name, each in by.items()}


def test_order_takes_out_what_stands_free_and_names_what_goes_first():
    struck = ways(
        lid={"up": ()},
        pan={"up": ("lid",), "down": ("rail",)},
        pump={"up": ("pan", "lid")},
        shaft={"left": ()},
    )
    order = ordered(struck, {"lid": ("bolt_1",), "pan": ("bolt_1", "bolt_2")})
    assert [step.name for step in order.apart] == ["lid", "pan", "pump", "shaft"]
    assert order.apart[1].bolts == ("bolt_2",)
    assert order.to_reach["pump"] == ("lid", "pan") and order.to_reach["shaft"] == ()
    assert not order.knots


def test_order_names_knots():
    struck = ways(
        one={"up": ("two",)},
        two={"up": ("three",)},
        three={"up": ("one",)},
        cap={"up": ()},
        stuck={"up": ("rail",)},
    )
    order = ordered(struck, {})
    assert [step.name for step in order.apart] == ["cap"]
    assert [knot.names for knot in order.knots] == [("one", "two", "three"), ("stuck",)]
    assert order.knots[0].held_by["two"] == ("three",) and order.knots[1].held_by["stuck"] == ("rail",)
