"""Tools on bolts: the same answers as a brute sweep of sampled places, and by hand in plain rooms."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from numpy.typing import NDArray

from soapstone.build import Build
from soapstone.errors import SoapstoneError
from soapstone.finding import Verdict
from soapstone.fit.fasteners import Fastener, Side, shanks
from soapstone.fit.findings_reach import reach_findings, service_findings
from soapstone.fit.groups import Group, Piece, Role
from soapstone.fit.near import HERE, rod, slab
from soapstone.fit.reach import From, Reached, reached
from soapstone.fit.service import room_of_point, served
from soapstone.job.room import ServicePoint
from soapstone.place.pose import rotation_from_vector
from soapstone.tables import bolt_size
from soapstone.tables.heads import Form, head_of
from soapstone.tables.tools import Tool, tools_for, torque_wrench_for

Array = NDArray[np.float64]
UP = np.array([0.0, 0.0, 1.0])
SIZE = bolt_size("M10")
STEP = np.radians(2.5)


def bolt(
    *, length: float | None = 0.050, nut: bool = False, torqued: bool = False, form: Form = "hexagon"
) -> Fastener:
    """M10 with its head on the origin, upwards; its nut 30 mm below."""
    far = np.array([0.0, 0.0, -0.030]) if nut else None
    side = Side(np.zeros(3), UP, "top", far)
    head = head_of(SIZE, form)
    return Fastener("bolt", SIZE, head, length, (side,), frozenset({"own"}), 0.030, 0.004, torqued)


def block(
    middle: tuple[float, float, float], size: tuple[float, float, float], owner: str = "block"
) -> Piece:
    return Piece(owner, owner, slab(np.array(middle), np.array(size), np.eye(3)))


def only(found: Reached) -> From:
    assert len(found.ways) == 1
    return found.ways[0]


def test_in_free_air_the_ratchet_goes_round() -> None:
    way = only(reached(bolt(), [block((0.0, 0.0, -0.1), (1.0, 1.0, 0.1))]))
    assert way.turned is not None and way.turned.tool.name == "socket on a ratchet"
    assert way.turned.swing == pytest.approx(2.0 * np.pi) and way.drawn
    assert way.free == pytest.approx(0.050 + SIZE.head_height)


def test_what_the_bolt_holds_is_passed_over_and_the_rest_is_not() -> None:
    cover = block((0.0, 0.0, 0.05), (0.2, 0.2, 0.02), "own")
    assert only(reached(bolt(), [cover])).turned is not None
    way = only(reached(bolt(), [replace(cover, owner="other")]))
    assert way.turned is not None and way.turned.tool.name in ("ring spanner", "open spanner")


def test_a_bolt_is_drawn_up_to_what_it_strikes() -> None:
    """A ceiling 40 mm over the seat: 40 mm are free, but for the half millimetre that it lies off."""
    way = only(reached(bolt(), [block((0.0, 0.0, 0.050), (0.1, 0.1, 0.020), "ceiling")]))
    assert way.free == pytest.approx(0.040 - 5e-4, abs=1e-4) and way.stopped_by == "ceiling"
    assert not way.drawn
    found = {
        f.id: f for f in reach_findings([reached(bolt(), [block((0, 0, 0.05), (0.1, 0.1, 0.02), "lid")])])
    }
    assert found["draw-out:bolt"].verdict is Verdict.SHORT and "lid" in found["draw-out:bolt"].remedy
    assert found["draw-out:bolt"].demand == pytest.approx(0.050 + SIZE.head_height, rel=1e-12)


def test_a_long_bolt_is_looked_at_to_its_end() -> None:
    way = only(reached(bolt(length=0.700), []))
    assert way.drawn and way.free == pytest.approx(0.700 + SIZE.head_height)
    high = block((0.0, 0.0, 0.650), (0.1, 0.1, 0.02))
    assert not only(reached(bolt(length=0.700), [high])).drawn


def test_a_shut_in_head_is_short_and_names_what_stops_it() -> None:
    walls = [
        block((0.02 * x, 0.02 * y, 0.0), (0.012 if x else 0.1, 0.012 if y else 0.1, 0.2), f"wall {x} {y}")
        for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1))
    ]
    (finding, *_) = reach_findings([reached(bolt(), walls)])
    assert finding.verdict is Verdict.SHORT and "wall" in finding.remedy


def test_a_nut_that_nothing_holds_leaves_it_unturned() -> None:
    below = block((0.0, 0.0, -0.0365), (0.3, 0.3, 0.012), "floor")  # over the nut: no tool goes on
    way = only(reached(bolt(nut=True), [below]))
    assert way.head[-1].turns and way.turned is None
    assert only(reached(bolt(nut=True), [])).turned is not None


def test_a_torque_wrench_that_does_not_swing_is_open() -> None:
    """A wall all round at 350 mm lets a ratchet of 250 mm swing, not a wrench of 450 mm."""
    spots = [0.36 * np.array([np.cos(a), np.sin(a), 0.0]) for a in np.arange(0.0, 2.0 * np.pi, 0.1)]
    walls = [Piece("wall", "wall", slab(spot, np.array([0.05, 0.05, 0.3]), np.eye(3))) for spot in spots]
    found = reached(bolt(torqued=True), walls)
    way = only(found)
    assert way.turned is not None and way.torque is not None and not way.torque.turns
    (finding, *_) = reach_findings([found])
    assert finding.verdict is Verdict.OPEN and "450 mm" in finding.remedy


def test_a_thin_rod_at_the_end_of_the_handle_is_seen_wherever_it_stands() -> None:
    """A rod of 2 mm near the end of a torque wrench blocks it, whichever way between two places it stands."""
    for angle in np.linspace(0.0, STEP, 7):
        spot = 0.44 * np.array([np.cos(angle), np.sin(angle), 0.0])
        near = rod(spot - 0.2 * UP, spot + 0.2 * UP, 0.002)
        torque = only(reached(bolt(torqued=True), [Piece("rod", "rod", near)])).torque
        assert torque is not None and torque.swing < 2.0 * np.pi - STEP and torque.stopped_by == ("rod",)


# --- hexagon keys -------------------------------------------------------------------------------------------


def lid(height: float, hole: float = 0.0, reach: float = 1.0) -> list[Piece]:
    """A plate of 10 mm over the head, its underside at a height, with a square hole if asked for."""
    if not hole:
        return [block((0.0, 0.0, height + 0.005), (reach, reach, 0.010), "lid")]
    off, wide = (hole + reach) / 4.0, (reach - hole) / 2.0
    middles = (((off, 0.0), (wide, reach)), ((-off, 0.0), (wide, reach)), ((0.0, off), (hole, wide)))
    return [
        block((x, y, height + 0.005), (long, broad, 0.010), "lid")
        for (x, y), (long, broad) in (*middles, ((0.0, -off), (hole, wide)))
    ]


def test_a_key_stands_out_as_far_as_its_arm_less_the_socket() -> None:
    """M10: a head of 10 mm, a socket 5 mm deep, a key of 8 mm: arms of 36 mm and 100 mm (ISO 2936, memory).

    The short arm's end lies 5 mm over the seat, so the far side of the handle stands 41 mm over it.
    """
    head = head_of(SIZE, "socket")
    bit, short, long = head.tools
    assert (head.across, head.height) == pytest.approx((0.016, 0.010), rel=1e-12)
    assert short.stem[1] + short.head[1] == pytest.approx(0.041, rel=1e-12)
    assert long.stem[1] + long.head[1] == pytest.approx(0.105, rel=1e-12)
    assert (short.handle, long.handle) == pytest.approx((0.100, 0.036), rel=1e-12)
    assert short.goes_in == long.goes_in == bit.goes_in == pytest.approx(0.005, rel=1e-12)
    assert short.head[1] == pytest.approx(0.008 * 2.0 / np.sqrt(3.0), rel=1e-12)


@pytest.mark.parametrize(
    ("height", "tool"),
    [(0.150, "hexagon bit on a ratchet"), (0.050, "hexagon key"), (0.047, "hexagon key"), (0.045, None)],
)
def test_a_key_under_a_lid(height: float, tool: str | None) -> None:
    """The key wants 41 mm, 5 mm more to be put in, and half a millimetre off: 46.5 mm."""
    turned = only(reached(bolt(form="socket", length=0.030), lid(height))).turned
    assert (turned.tool.name if turned else None) == tool


def test_through_a_hole_in_a_lid_only_the_long_arm_turns() -> None:
    """From 20 mm to 60 mm a block with a hole of 18 mm: the long arm's handle swings over it at 100 mm."""
    pieces = [
        replace(piece, near=slab(np.array([*middle, 0.040]), np.array([*size, 0.040]), np.eye(3)))
        for piece in lid(0.020, 0.018)
        for middle, size in [
            (
                (piece.near.low + piece.near.high)[:2] / 2.0,
                (piece.near.high - piece.near.low)[:2] / 1.005,
            )
        ]
    ]
    turned = only(reached(bolt(form="socket"), pieces)).turned
    assert turned is not None and turned.tool.name == "hexagon key, long arm in"


def test_a_key_wants_a_sixth_of_a_turn() -> None:
    """Two walls beside a handle of 100 mm by 9 mm leave it 98 degrees, or 35; a lid keeps the ratchet off."""
    for gap_between, turns in ((0.16, True), (0.07, False)):
        walls = [
            block((0.0, side * (gap_between + 0.02) / 2.0, 0.0), (0.6, 0.02, 0.4), "wall")
            for side in (1.0, -1.0)
        ]
        head = only(reached(bolt(form="socket"), [*lid(0.050), *walls])).head
        (short,) = (one for one in head if one.tool.name == "hexagon key")
        assert short.put_on and short.turns is turns
        by_hand = 2.0 * np.arcsin((gap_between / 2.0 - 0.008 / np.sqrt(3.0)) / 0.100)
        assert short.swing == pytest.approx(by_hand, abs=2.0 * STEP + np.radians(2.5))  # the handle's corner


def test_a_size_without_a_socket_head_is_refused() -> None:
    with pytest.raises(SoapstoneError, match="no socket head for 9/16-12"):
        head_of(bolt_size("9/16-12"), "socket")


def test_a_socket_head_is_drawn_and_hangs_as_its_own_shape() -> None:
    (_, start, end, across), *_ = shanks((bolt(form="socket"),))
    assert across == pytest.approx(0.016, rel=1e-12)
    assert np.linalg.norm(end - start) == pytest.approx(0.010, rel=1e-12)
    way = only(reached(bolt(form="socket"), []))
    assert way.needed == pytest.approx(0.060, rel=1e-12)


# --- a brute sweep ------------------------------------------------------------------------------------------


def inside(points: Array, boxes: list[tuple[Array, Array, Array]]) -> bool:
    """Whether any point (n, 3) lies in any box: its middle, its edges, its axes."""
    return any(
        bool((np.abs((points - middle) @ axes) <= size / 2.0).all(axis=1).any())
        for middle, size, axes in boxes
    )


def cylinder_points(low: float, high: float, radius: float) -> Array:
    rounds, heights = np.arange(0.0, 2.0 * np.pi, 0.1), np.linspace(low, high, 24)
    radii = np.linspace(0.0, radius, 8)
    r, a, z = (g.ravel() for g in np.meshgrid(radii, rounds, heights))
    return np.column_stack([r * np.cos(a), r * np.sin(a), z])


def brute(tool: Tool, height: float, boxes: list[tuple[Array, Array, Array]]) -> float:
    """rad: the widest swing, by sampled points of the tool at every degree; -1 where it does not go on."""
    off, stem, head = 5e-4, tool.stem[1], tool.head[1]
    top = off + stem + head + height
    bodies = [cylinder_points(off + stem, top, tool.head[0] / 2.0)]
    if not tool.axial:
        bodies = [cylinder_points(off, off + head, tool.head[0] / 2.0)]
    if stem:
        bodies.append(cylinder_points(off, off + stem + height, tool.stem[0] / 2.0))
    if any(inside(points, boxes) for points in bodies):
        return -1.0
    grid = [
        np.linspace(0.0, tool.handle, 60),
        np.linspace(-tool.handle_wide / 2.0, tool.handle_wide / 2.0, 7),
        np.linspace(off + stem, off + stem + head, 10),
    ]
    along, across, up = (g.ravel() for g in np.meshgrid(*grid))
    free = []
    for angle in np.radians(np.arange(360)):
        way, side = np.array([np.cos(angle), np.sin(angle), 0]), np.array([-np.sin(angle), np.cos(angle), 0])
        free.append(not inside(along[:, None] * way + across[:, None] * side + up[:, None] * UP, boxes))
    if all(free):
        return 2.0 * np.pi
    runs = "".join("1" if one else "0" for one in free)
    longest = max(map(len, (runs + runs).split("0")))
    return float(np.radians(max(longest - 1, 0)))


def room_of_boxes(seed: int) -> list[tuple[Array, Array, Array]]:
    """Boxes round a head, none in it."""
    random = np.random.default_rng(seed)
    found = []
    for _ in range(random.integers(2, 6)):
        angle, far = random.uniform(0.0, 2.0 * np.pi), random.uniform(0.06, 0.25)
        middle = np.array([far * np.cos(angle), far * np.sin(angle), random.uniform(-0.02, 0.08)])
        found.append((middle, random.uniform(0.03, 0.10, 3), rotation_from_vector(random.normal(size=3))))
    return found


@pytest.mark.parametrize("seed", range(12))
def test_the_same_as_a_brute_sweep(seed: int) -> None:
    """Two of the sweep's 2.5 degree places and one degree of the brute one: as near as both can be.

    Sampled points lie up to 5 mm apart, so a corner that just reaches into the tool may be missed: the brute
    sweep is then wider by what a corner subtends, 5 mm at 60 mm.
    """
    boxes = room_of_boxes(seed)
    pieces = [Piece(f"box {n}", "box", slab(*one)) for n, one in enumerate(boxes)]
    way = only(reached(bolt(torqued=True), pieces))
    assert way.torque is not None
    for turned in (*way.head, way.torque):
        swing = brute(turned.tool, SIZE.head_height, boxes)
        if turned.put_on:
            assert turned.swing <= swing + 1.5 * STEP + np.radians(1.0)
            assert turned.swing >= swing - 2.0 * STEP - np.radians(1.0) - 2.0 * 0.005 / 0.060
        else:
            assert swing < 0.0 or grazes(turned.tool, boxes)


def grazes(tool: Tool, boxes: list[tuple[Array, Array, Array]]) -> bool:
    """Whether a tool 3 mm larger all round is seen to strike, where the samples of the real one missed."""
    larger = replace(
        tool,
        stem=(tool.stem[0] + 0.006 * bool(tool.stem[1]), tool.stem[1]),
        head=(tool.head[0] + 0.006, tool.head[1]),
    )
    return brute(larger, SIZE.head_height + 0.003, boxes) < 0.0


def test_the_tools_grow_with_the_bolt() -> None:
    before: Tool | None = None
    for name in ("M6", "M8", "M10", "M12", "M14", "M16"):
        size = bolt_size(name)
        for tool in (*tools_for(size), torque_wrench_for(size)):
            over = tool.stem[0] or tool.head[0]
            assert over > size.head_width_across_flats  # its wall goes round the head
        socket = tools_for(size)[0]
        assert socket.stem[0] > head_of(size).across
        assert before is None or socket.stem[0] >= before.stem[0]
        before = socket


# --- the seat, service points, the whole mount -------------------------------------------------------------


@pytest.mark.parametrize(("to_weld", "verdict"), [(0.0141, Verdict.HOLDS), (0.0139, Verdict.SHORT)])
def test_a_washer_of_20_mm_and_a_leg_of_4_mm_want_14_mm(to_weld: float, verdict: Verdict) -> None:
    found = {f.id: f for f in reach_findings([reached(replace(bolt(), to_weld=to_weld), [])])}
    assert found["bolt-seat:bolt"].verdict is verdict
    assert found["bolt-seat:bolt"].demand == pytest.approx(0.014, rel=1e-12)
    blank = {f.id: f for f in reach_findings([reached(replace(bolt(length=None), leg=None), [])])}
    assert blank["bolt-seat:bolt"].verdict is blank["draw-out:bolt"].verdict is Verdict.OPEN


def point(**more: object) -> ServicePoint:
    return ServicePoint.model_validate(more)


ENDS = {
    "from": ["0 mm fwd", "0 mm left", "0 mm up"],
    "to": ["200 mm fwd", "0 mm left", "0 mm up"],
}


def test_a_cone_holds_the_round_one_and_no_more_than_its_chords() -> None:
    cone = room_of_point(
        point(
            cone={
                **ENDS,
                "diameter": "20 mm",
                "widens to": "100 mm",
            }
        ),
        HERE,
    )
    for along, radius in ((0.0, 0.010), (0.2, 0.050)):
        ring = cone.mesh.vertices[np.isclose(cone.mesh.vertices[:, 0], along)]
        out = np.linalg.norm(ring[:, 1:], axis=1)
        assert (out >= radius - 1e-12).all() and out.max() <= radius / np.cos(np.pi / 24.0) + 1e-12


def test_what_stands_in_the_room_is_named_unless_it_comes_off_first(heron: Build) -> None:
    pipe = Group("pipe", Role.OBSTACLE, (block((0.1, 0.0, 0.0), (0.02, 0.02, 0.4), "pipe"),))
    cylinder = {**ENDS, "diameter": "30 mm"}
    points = {"plug": point(cylinder=cylinder), "filler": point(cylinder=cylinder, past=["pipe"])}
    job = heron.job.model_copy(update={"service_points": points})
    found = served(job, MappingProxyType({}), (pipe,))
    assert [one.stands_in for one in found] == [("pipe",), ()]
    short, holds = service_findings(found)
    assert short.verdict is Verdict.SHORT and "move pipe out of it" in short.remedy
    assert holds.verdict is Verdict.HOLDS and "comes off first" in holds.caution


def test_every_bolt_of_the_mount_is_reached(heron: Build) -> None:
    names = {one.bolt.name for one in heron.room.reached}
    assert names == {*heron.layout.forks, *heron.layout.hangers}
    for name in names:
        for kind in ("reach", "bolt-seat"):
            finding = heron.finding(f"{kind}:{name}")
            assert finding is not None and finding.verdict is Verdict.HOLDS, finding
