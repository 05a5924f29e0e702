"""Ground, ramps and crests: the same answers as wheels and ramps moved about by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.fit.clearances import SPREAD
from soapstone.fit.fasteners import fasteners_of
from soapstone.fit.findings_ground import ground_findings
from soapstone.fit.floor import Bump, Floor, bump_of, floor_of
from soapstone.fit.ground import Low, crest_angle, lows_of, ramp_angle
from soapstone.fit.groups import groups_of
from soapstone.fit.moves import Moves
from soapstone.fit.unsure import Known
from soapstone.job.measured import NamedPlane
from soapstone.job.room import Ground
from soapstone.job.shafts import HalfShaft
from soapstone.place.shafting import HalfRun, Travelled
from soapstone.place.shapes import HalfSpace
from soapstone.tables import bolt_size
from soapstone.tables.heads import head_of

Array = NDArray[np.float64]
FRONT = {"at": ["2000 mm fwd", "0 mm left", "300 mm up"], "rolling radius": "300 mm"}
REAR = {"at": ["500 mm aft", "0 mm left", "300 mm up"], "rolling radius": "300 mm"}


def low(
    height: float,
    *,
    name: str = "tube",
    x: float = 0.0,
    sway: float = 0.0,
    within: float = 0.0,
    head: bool = False,
) -> Low:
    return Low(name, height, sway, within, np.array([[x, height]]), head)


def ground(**more: object) -> Ground:
    return Ground.model_validate(more)


def ramp_clears(angle: float, place: tuple[float, float], axle: float, radius: float) -> bool:
    """A ramp that touches the wheel from ahead stays below a place: by the ramp's own line.

    The wheel's place nearest to the ramp lies square to it: (sin a, -cos a) from the axle.
    """
    touch = np.array([axle + radius * np.sin(angle), radius - radius * np.cos(angle)])
    return bool(place[1] >= touch[1] + (place[0] - touch[0]) * np.tan(angle))


@settings(deadline=None, max_examples=100)
@given(st.floats(0.05, 1.5), st.floats(0.02, 0.9), st.floats(0.2, 0.5))
def test_a_ramp_a_little_less_steep_goes_under_a_steeper_one_does_not(
    x: float, z: float, radius: float
) -> None:
    if np.hypot(x, z - radius) <= 1.02 * radius:
        return
    (angle,) = ramp_angle(np.array([[x, z]]), 0.0, radius)
    if not 0.02 < angle < 1.5:
        return
    assert ramp_clears(angle - 1e-6, (x, z), 0.0, radius)
    assert not ramp_clears(angle + 1e-6, (x, z), 0.0, radius)


def test_a_ramp_by_hand() -> None:
    """A place at axle height 0.6 m ahead of a wheel of 0.3 m: asin(0.3 / 0.6) = 30 degrees."""
    assert ramp_angle(np.array([[0.6, 0.3]]), 0.0, 0.3) == pytest.approx([np.pi / 6.0], rel=1e-12)
    assert ramp_angle(np.array([[0.1, 0.1]]), 0.0, 0.3) == pytest.approx([np.pi / 2.0])  # in the tyre


@settings(deadline=None, max_examples=60)
@given(st.floats(0.4, 1.6), st.floats(0.02, 0.5), st.floats(0.25, 0.4), st.floats(0.25, 0.4))
def test_both_slopes_of_a_crest_touch_their_wheels(x: float, z: float, rear: float, front: float) -> None:
    """From the place each slope runs down to a wheel; its distance from the axle is the radius."""
    if np.hypot(x, z - rear) <= 1.02 * rear or np.hypot(2.0 - x, z - front) <= 1.02 * front:
        return  # in a wheel
    (both,) = crest_angle(np.array([[x, z]]), 0.0, rear, 2.0, front)
    slopes = []
    for away, radius in ((2.0 - x, front), (x, rear)):
        tried = np.linspace(-1.2, 3.0, 300001)
        off = away * np.sin(tried) + (radius - z) * np.cos(tried) - radius  # axle over slope
        slopes.append(tried[np.flatnonzero(np.diff(np.sign(off)) > 0)[0]])
    assert both == pytest.approx(sum(slopes), abs=1e-4)  # the tries are 1.4e-5 apart


def test_a_crest_between_equal_wheels_is_the_same_both_ways() -> None:
    places = np.array([[0.7, 0.2], [1.3, 0.2]])
    one, other = crest_angle(places, 0.0, 0.3, 2.0, 0.3)
    assert one == pytest.approx(other, rel=1e-12)
    assert crest_angle(np.array([[1.0, 0.0]]), 0.0, 0.3, 2.0, 0.3) == pytest.approx([0.0], abs=1e-12)


@pytest.mark.parametrize(
    ("height", "sway", "within", "verdict"),
    [
        (0.200, 0.010, 0.009, Verdict.HOLDS),
        (0.200, 0.010, 0.011, Verdict.OPEN),
        (0.200, 0.021, 0.002, Verdict.OPEN),
        (0.200, 0.030, 0.009, Verdict.SHORT),
    ],
)
def test_how_high_it_hangs(height: float, sway: float, within: float, verdict: Verdict) -> None:
    lows = [low(height, sway=sway, within=within), low(0.3, name="next")]
    (finding,) = ground_findings(ground(**{"at least": "180 mm"}), lows, "floor")
    assert finding.verdict is verdict
    assert finding.demand == pytest.approx(0.180 + within, rel=1e-12)
    assert finding.capacity == pytest.approx(height - sway, rel=1e-12)
    assert (finding.remedy == "") is (verdict is Verdict.HOLDS)
    assert "next is next" in finding.caution


def test_what_a_flush_fastener_would_gain() -> None:
    lows = [
        low(0.190, name="head of a", head=True),
        low(0.193, name="nut of a", head=True),
        low(0.2, name="tube"),
    ]
    (finding,) = ground_findings(ground(**{"at least": "180 mm"}), lows, "floor")
    assert "flush fastener there would gain 10.0 mm; then tube hangs lowest" in finding.caution


def test_what_is_not_said_is_asked_for() -> None:
    (plane,) = ground_findings(ground(), [], "")
    (wanted,) = ground_findings(ground(), [low(0.2)], "floor")
    *_, ramp = ground_findings(ground(approach="20 deg"), [low(0.2)], "floor")
    assert {one.verdict for one in (plane, wanted, ramp)} == {Verdict.OPEN}
    assert "of: floor" in plane.remedy and "at least" in wanted.remedy and "front" in ramp.remedy


@pytest.mark.parametrize(
    ("key", "x", "axles"),
    [
        ("approach", 2.6, {"front": FRONT}),
        ("departure", -1.1, {"rear": REAR}),
    ],
)
def test_a_ramp_that_is_wanted(key: str, x: float, axles: dict[str, object]) -> None:
    """0.6 m from the wheel at axle height 30 degrees go through; lower by 1 mm of doubt it is less."""
    for wanted, within, verdict in (
        ("29 deg", 0.0, Verdict.HOLDS),
        ("31 deg", 0.0, Verdict.SHORT),
        ("29.9 deg", 0.010, Verdict.OPEN),
    ):
        *_, finding = ground_findings(
            ground(**{key: wanted, **axles}), [low(0.3, x=x, within=within)], "floor"
        )
        assert finding.id == f"ramp:{key}" and finding.verdict is verdict
        if within == 0.0:
            assert finding.capacity == pytest.approx(np.pi / 6.0, rel=1e-9)


def test_nothing_over_a_ramp_holds() -> None:
    *_, finding = ground_findings(ground(approach="30 deg", front=FRONT), [low(0.3, x=0.0)], "floor")
    assert finding.verdict is Verdict.HOLDS


# --- the floor's own height, and the wheels at their stops -------------------------------------------------


def test_a_floor_through_three_points_is_known_less_well_outside_of_them() -> None:
    """Corners each known to 1 mm on their own: in the middle 1/sqrt(3), at a corner 1, beyond it more."""
    corners = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    floor = Floor("floor", HalfSpace(np.array([0.0, 0.0, 1.0]), 0.0), 0.0, corners, 1e-6 * np.eye(3))
    assert floor.sigma(corners.mean(axis=0)) == pytest.approx(1e-3 / np.sqrt(3.0), rel=1e-9)
    assert floor.sigma(corners[1] + [0.0, 0.0, 0.3]) == pytest.approx(1e-3, rel=1e-9)
    assert floor.sigma(np.array([2.0, 0.0, 0.0])) == pytest.approx(1e-3 * np.sqrt(5.0), rel=1e-9)


def test_the_same_as_corners_shaken_at_random() -> None:
    random = np.random.default_rng(4)
    corners = random.uniform(-1.0, 1.0, (3, 3)) * [1.0, 1.0, 0.0]
    root = random.normal(size=(3, 3)) * 1e-3
    floor = Floor("floor", HalfSpace(np.array([0.0, 0.0, 1.0]), 0.0), 0.0, corners, root @ root.T)
    at = np.array([0.4, -1.2, 0.0])
    rises = random.normal(size=(40_000, 3)) @ root.T
    planes = np.linalg.solve(np.column_stack([np.ones(3), corners[:, :2]]), rises.T)
    shaken = np.array([1.0, *at[:2]]) @ planes
    # the deviation of 40,000 samples is known to 1 / sqrt(80,000), 0.35 %: four of them
    assert floor.sigma(at) == pytest.approx(shaken.std(), rel=0.015)


def road(heron: Build, plane: str = "road", **more: object) -> Floor:
    said = {
        "road": NamedPlane.model_validate(ROAD),
        "laid": NamedPlane.model_validate(LAID),
        "given": NamedPlane.model_validate(GIVEN),
    }
    job = heron.job.model_copy(update={"planes": said, "ground": ground(plane=plane, **more)})
    found = floor_of(job, heron.survey)
    assert found is not None
    return found


ROAD = {"at": ["0 mm fwd", "0 mm left", "0 mm up"], "faces": "up", "of": "floor"}
LAID = {"through": ["FL", "FR", "RL"]}
GIVEN = {"through": ["A", "B", "G"]}


def test_where_a_floor_is_known_from(heron: Build) -> None:
    told, taped, laid = road(heron, accuracy="4 mm"), road(heron), road(heron, "laid")
    assert told.sigma(np.zeros(3)) == pytest.approx(0.004, rel=1e-12) and not told.assumed
    assert (
        taped.sigma(np.zeros(3)) == pytest.approx(0.0015, rel=1e-12)
        and "road is known to" in taped.assumed[0]
    )
    row = np.array([heron.survey.index["FL"]])
    upright = laid.plane.normal @ heron.survey.spread.blocks(row, row)[0] @ laid.plane.normal
    assert laid.sigma(heron.survey.xyz[row[0]]) == pytest.approx(np.sqrt(upright), rel=1e-6)
    given = road(heron, "given")  # through points that no reading tells anything of
    assert given.sigma(np.zeros(3)) == pytest.approx(0.0015, rel=1e-12) and given.assumed
    assert floor_of(heron.job.model_copy(update={"planes": {}, "ground": None}), heron.survey) is None


def test_a_worse_known_floor_is_in_every_height(heron: Build) -> None:
    """Everything else is the same, so the squares differ by those of the floor."""
    groups = groups_of(heron.job, heron.layout, heron.assembly, heron.driveline.half_shafts)
    known = Known(heron.job, heron.survey, heron.placed, heron.assembly)
    better, worse = (
        {low.name: low for low in lows_of(floor, groups, (), known, Moves())}
        for floor in (road(heron, accuracy="1 mm"), road(heron, accuracy="4 mm"))
    )
    assert better
    for name, low in worse.items():
        both = [((one.within - 1e-4) / SPREAD) ** 2 for one in (low, better[name])]
        assert both[0] - both[1] == pytest.approx(0.004**2 - 0.001**2, rel=1e-6)


def shaft(at: float, travel: float) -> HalfRun:
    places = np.array([[at, 0.6, 0.3], [at, 0.6, 0.3 + travel]])
    moves = Travelled(("ride", "bump"), np.array([0.0, travel]), places, np.zeros((2, 3)))
    return HalfRun("left", HalfShaft.model_construct(), np.zeros(3), moves)


AXLES = {"front": FRONT, "rear": REAR}


def test_the_axle_that_travels_comes_down_and_the_other_stays() -> None:
    """80 mm at the rear axle, 500 mm behind the origin; the front one stands 2.5 m before it."""
    bump = bump_of(ground(**AXLES), [shaft(-0.49, 0.080), shaft(-0.51, 0.070)])
    assert bump is not None and "front wheels is not given" in bump.assumed[0]
    places = np.array([-0.5, 2.0, 0.75, -1.125, 3.0])
    assert bump.drop(places) == pytest.approx([0.080, 0.0, 0.040, 0.100, 0.0], abs=1e-12)


def test_both_axles_travel_or_nobody_says() -> None:
    bump = bump_of(ground(**AXLES), [shaft(2.01, 0.06), shaft(-0.5, 0.08)])
    assert bump is not None and not bump.assumed
    assert bump.drop(np.array([2.0, -0.5])) == pytest.approx([0.06, 0.08], abs=1e-12)
    straight = bump_of(ground(rear=REAR), [shaft(2.01, 0.06), shaft(-0.5, 0.08)])
    assert straight is not None and straight.drop(np.array([9.0])) == pytest.approx([0.08], abs=1e-12)
    assert bump_of(ground(**AXLES), []) is None


@pytest.mark.parametrize(
    ("wanted", "within", "verdict"),
    [("80 mm", 0.009, Verdict.HOLDS), ("80 mm", 0.011, Verdict.OPEN), ("101 mm", 0.009, Verdict.SHORT)],
)
def test_what_is_left_at_full_bump(wanted: str, within: float, verdict: Verdict) -> None:
    """A tube 180 mm up over the rear axle: 80 mm of travel and 10 mm of sway leave 90 mm."""
    bump = Bump(((-0.5, 0.080), (2.0, 0.0)))
    lows = [low(0.170, name="other", x=2.0), low(0.180, x=-0.5, sway=0.010, within=within)]
    *_, finding = ground_findings(
        ground(**{"at least": "100 mm", "at full bump": wanted}), lows, "floor", bump
    )
    assert finding.id == "ground-clearance:floor_at_full_bump" and finding.about == "tube"
    assert finding.capacity == pytest.approx(0.090, rel=1e-12) and finding.verdict is verdict
    unsaid = list(ground_findings(ground(**{"at least": "100 mm"}), lows, "floor", bump))[1]
    assert unsaid.demand == pytest.approx(within, rel=1e-12) and unsaid.verdict is Verdict.HOLDS


def test_without_travel_it_is_said_that_it_stands_at_ride_height() -> None:
    (finding,) = ground_findings(ground(**{"at least": "100 mm"}), [low(0.2)], "floor")
    assert "no travel of the wheels" in finding.caution


def test_the_lowest_of_the_mount_is_where_its_solids_are(heron: Build) -> None:
    """The lowest corner of all that is made, straight from the model's triangles; the road is z = 0 there."""
    groups = groups_of(heron.job, heron.layout, heron.assembly, heron.driveline.half_shafts)
    known = Known(heron.job, heron.survey, heron.placed, heron.assembly)
    lows = lows_of(road(heron), groups, fasteners_of(heron.job, heron.layout, heron.placed), known, Moves())
    assert [one.left for one in lows] == sorted(one.left for one in lows)
    hung = {piece.name: piece.height for piece in lows if not piece.fastener}
    meshes = [thing for thing in heron.assembly.things if thing.name in hung and thing.convex is None]
    assert {"side_left", "side_right", "drop_left"} <= {thing.name for thing in meshes}
    for thing in meshes:
        assert hung[thing.name] == pytest.approx(thing.solid.vertices[:, 2].min(), abs=1e-9)
    heads = {piece.name: piece for piece in lows if piece.fastener}
    assert {"head of hanger_front_left", "nut of fork_rear_left"} <= set(heads)
    pin, size = heron.layout.forks["fork_rear_left"].pin, head_of(bolt_size("M12"))
    # its axis lies level, so its lowest corner hangs half of its width across corners below the pin
    assert heads["nut of fork_rear_left"].height == pytest.approx(pin[2] - size.across / 2.0, abs=1e-6)
