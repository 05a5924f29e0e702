"""Ground, ramps and crests: the same answers as wheels and ramps moved about by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.fit.findings_ground import ground_findings
from soapstone.fit.ground import Low, crest_angle, ramp_angle
from soapstone.job.room import Ground

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


def test_the_lowest_of_the_mount_is_where_its_solids_are(heron: Build) -> None:
    """The lowest corner of all that is hung, straight from the model's triangles; the road is z = 0 there."""
    lows = heron.room.lows
    hung = {piece.name: piece.height for piece in lows if not piece.fastener}
    assert [one.left for one in lows] == sorted(one.left for one in lows)
    for thing in heron.assembly.things:
        if thing.name in hung and thing.convex is None:
            assert hung[thing.name] == pytest.approx(thing.solid.vertices[:, 2].min(), abs=1e-3)
