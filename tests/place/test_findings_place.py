"""What the room says: verdicts, chains that end in the demand, remedies that name what to change."""

from dataclasses import replace

import numpy as np
import pytest

from soapstone.finding import Finding, Verdict
from soapstone.place.answers import size_words
from soapstone.place.broken import one_broken
from soapstone.place.findings_mounts import (
    broken_findings,
    isolation_finding,
    mount_load_findings,
    mount_strain_findings,
    sway_findings,
    wring_finding,
)
from soapstone.place.findings_pose import pose_findings
from soapstone.place.findings_shafts import (
    ShaftLimits,
    half_shaft_findings,
    propeller_shaft_findings,
    whip_finding,
)
from soapstone.place.freedom import fighting
from soapstone.place.half_shafts import through_travel
from soapstone.place.isolators import Hung, Mount, Stop, come_to_rest
from soapstone.place.measures import UP, Clearance, Height, OffLine, Slope
from soapstone.place.modes import shake
from soapstone.place.pose import Pose
from soapstone.place.propeller_shafts import Line
from soapstone.place.shapes import Box, HalfSpace
from soapstone.place.sharing import Wrung, all_cases
from soapstone.place.solve import Limit, Problem, Target, solve_pose

RPM = 2 * np.pi / 60
BODY = Box(np.zeros(3), np.array([0.6, 0.5, 0.4]), np.eye(3))
CRANK = np.array([1.0, 0.0, 0.0])
GROUND = Limit(Clearance("ground", BODY, HalfSpace(UP, 0.0)), least=0.12)
BONNET = Limit(Clearance("bonnet", BODY, HalfSpace(-UP, -0.53)), least=0.012)
HEIGHT = Target(Height("flange height", np.zeros(3), UP), np.array([0.3]), 0.003)
START = Pose(np.eye(3), np.array([0.0, 0.0, 0.5]))


def by_id(findings: tuple[Finding, ...]) -> dict[str, Finding]:
    return {finding.id: finding for finding in findings}


def hangs_together(finding: Finding) -> None:
    """Demand and capacity both stand in the chain, and the ratio is theirs."""
    values = [step.value for step in finding.because]
    assert finding.demand in values
    if finding.ratio is not None:
        assert finding.capacity in values
        assert finding.ratio == pytest.approx(finding.demand / finding.capacity, rel=1e-12)
    assert bool(finding.remedy) is (finding.verdict is not Verdict.HOLDS)


def test_a_target_held_back_names_what_holds_it() -> None:
    setting = Problem(START, np.zeros(3), 0.5, (HEIGHT,), (GROUND,))
    found = by_id(pose_findings("unit", solve_pose(setting)))
    height, ground = found["pose-target:unit.flange height"], found["pose-limit:unit.ground"]
    for finding in found.values():
        hangs_together(finding)
    assert height.verdict is Verdict.SHORT and "ground" in height.remedy and "20.0 mm" in height.remedy
    assert ground.verdict is Verdict.HOLDS and ground.caution == "nothing is left to it"
    assert ground.ratio == pytest.approx(1.0, abs=1e-5)


def test_targets_met() -> None:
    line = Target(OffLine("nose", np.array([0.3, 0, 0]), np.array([0, 0.02, 0.4]), CRANK), np.zeros(2), 0.003)
    setting = Problem(START, np.zeros(3), 0.5, (line, replace(HEIGHT, wanted=np.array([0.4]))), ())
    found = pose_findings("unit", solve_pose(setting))
    assert [finding.verdict for finding in found] == [Verdict.HOLDS, Verdict.HOLDS]
    hangs_together(found[0])


def test_limits_that_fight_name_each_other() -> None:
    setting = Problem(START, np.zeros(3), 0.5, (HEIGHT,), (GROUND, BONNET))
    answer = solve_pose(setting)
    found = by_id(pose_findings("unit", answer, fighting(setting)))
    assert (
        found["pose-limit:unit.ground"].remedy
        == "ground cannot be kept together with bonnet; give way in one of them"
    )
    assert found["pose-limit:unit.bonnet"].verdict is Verdict.SHORT
    alone = by_id(pose_findings("unit", answer))
    assert alone["pose-limit:unit.ground"].remedy.startswith("ground lacks 1.0 mm")


@pytest.mark.parametrize(
    ("limit", "ratio"),
    [
        (Limit(Slope("crank", CRANK), -0.1, 0.1), 0.0),
        (Limit(Height("top", np.array([0, 0, 0.2]), UP), most=1.4), 0.5),
        (Limit(Height("top", np.array([0, 0, 0.2]), UP), least=0.35), 0.5),
        (Limit(Height("low", np.array([0, 0, -0.7]), UP), most=-0.1), 0.0),
        (Limit(Height("low", np.array([0, 0, -0.7]), UP), least=-0.3), 0.0),
    ],
)
def test_every_sort_of_limit(limit: Limit, ratio: float) -> None:
    (found,) = pose_findings("unit", solve_pose(Problem(START, np.zeros(3), 0.5, (), (limit,))))
    hangs_together(found)
    assert found.verdict is Verdict.HOLDS and found.ratio == pytest.approx(ratio, abs=1e-9)


def half_shaft(limits: ShaftLimits) -> dict[str, Finding]:
    outer = np.array([(0, 0.5, -0.1), (0, 0.5, 0.0), (0, 0.48, 0.1)])
    travel = through_travel(np.zeros(3), np.array([0, 1.0, 0]), outer, np.array([0, 1.0, 0]), ride_length=0.5)
    return by_id(half_shaft_findings("left", travel, ("droop", "ride", "bump"), limits))


def test_half_shaft_at_its_worst() -> None:
    found = half_shaft(ShaftLimits(np.radians(23.0), np.radians(11.0), 0.015, 0.005))
    for finding in found.values():
        hangs_together(finding)
    inner, outer = found["half-shaft-angle:left.inner"], found["half-shaft-angle:left.outer"]
    assert inner.verdict is Verdict.HOLDS and inner.case == "bump"
    assert outer.verdict is Verdict.SHORT and "0.77 deg" in outer.remedy
    apart, together = found["half-shaft-plunge:left.apart"], found["half-shaft-plunge:left.together"]
    assert apart.verdict is Verdict.SHORT and apart.case == "droop" and "longer" in apart.remedy
    assert together.verdict is Verdict.HOLDS and together.demand == pytest.approx(0.5 - np.hypot(0.48, 0.1))


def test_a_way_that_is_never_used() -> None:
    """Every position draws the joints apart: nothing is used of the way together."""
    outer, axis = np.array([(0, 0.51, 0.0), (0, 0.52, 0.0)]), np.array([0, 1.0, 0])
    travel = through_travel(np.zeros(3), axis, outer, axis, ride_length=0.5)
    limits = ShaftLimits(0.4, 0.4, 0.01, 0.03)
    found = by_id(half_shaft_findings("left", travel, ("droop", "bump"), limits))
    assert found["half-shaft-plunge:left.together"].demand == 0.0
    assert found["half-shaft-plunge:left.together"].verdict is Verdict.HOLDS


def test_half_shaft_without_data_is_open() -> None:
    found = half_shaft(ShaftLimits(None, None, None, None))
    assert {finding.verdict for finding in found.values()} == {Verdict.OPEN}
    assert all("give" in finding.remedy for finding in found.values())


def shafts(*bends: float) -> Line:
    slopes = np.radians(np.cumsum([0.0, *bends]))
    return Line(np.stack([np.cos(slopes), 0 * slopes, np.sin(slopes)], axis=1), (0.0,) * (len(bends) - 1))


def test_propeller_shaft_of_unequal_joints() -> None:
    found = by_id(propeller_shaft_findings("main", shafts(5.5, -2.0), 3500 * RPM))
    for finding in found.values():
        hangs_together(finding)
    assert found["joint-angle:main.joint 1"].verdict is Verdict.SHORT
    assert found["joint-angle:main.joint 2"].verdict is Verdict.HOLDS
    assert found["joint-evenness:main"].verdict is Verdict.SHORT
    assert found["joint-evenness:main"].demand == pytest.approx(np.radians(np.sqrt(5.5**2 - 4)), rel=1e-9)


def test_straight_joints_and_own_limits() -> None:
    found = by_id(
        propeller_shaft_findings("main", shafts(0.2, -0.2), 3500 * RPM, limits=(np.radians(4.0), None))
    )
    assert "needles" in found["joint-angle:main.joint 1"].caution
    assert found["joint-angle:main.joint 1"].capacity == np.radians(4.0)
    assert found["joint-evenness:main"].verdict is Verdict.HOLDS


def test_whip() -> None:
    tube = {"outer": 0.0762, "inner": 0.0720, "modulus": 207e9, "density": 7850.0}
    long = whip_finding("main", 5000 * RPM, length=1.5, **tube)
    short = whip_finding("main", 5000 * RPM, length=1.0, share=0.6, **tube)
    hangs_together(long)
    hangs_together(short)
    assert (
        long.verdict is Verdict.SHORT
        and long.assumed
        and short.verdict is Verdict.HOLDS
        and not short.assumed
    )
    longest = float(long.remedy.split("no more than ")[1].split(" mm")[0]) / 1000
    again = whip_finding("main", 5000 * RPM, length=longest, **tube)
    assert again.ratio == pytest.approx(1.0, abs=2e-3)  # the length is told in whole mm


UNIT = Hung(200.0, np.array([0.0, 0.0, 0.3]), np.diag([8.0, 20.0, 18.0]))
STANDING = np.array([0, 0, -200 * 9.80665, 0, 0, 0])
MOUNTS = tuple(
    Mount(
        f"{end} {side}",
        np.array([x, y, 0.3]),
        np.eye(3),
        np.array([1e5, 1e5, 2e5]),
        1.2,
        0.1,
        (Stop(2, -0.006, 1e6),),
    )
    for end, x in (("front", 0.4), ("rear", -0.4))
    for side, y in (("left", 0.25), ("right", -0.25))
)
WATCHED = Clearance("ground", Box(UNIT.centre, np.array([1.0, 0.6, 0.4]), np.eye(3)), HalfSpace(UP, 0.07))
MOVES = all_cases(UNIT, MOUNTS, STANDING, {"standing": STANDING, "bump": 3 * STANDING})


def test_mount_loads() -> None:
    found = by_id(
        mount_load_findings(MOUNTS, MOVES, {"front left": 2000.0, "rear left": 1000.0, "rear right": 2000.0})
    )
    for name in ("front left", "rear left"):
        hangs_together(found[f"mount-load:{name}"])
    assert found["mount-load:front left"].verdict is Verdict.HOLDS
    assert "stop" in found["mount-load:front left"].caution
    assert (
        found["mount-load:rear left"].verdict is Verdict.SHORT
        and found["mount-load:rear left"].case == "bump"
    )
    assert found["mount-load:front right"].verdict is Verdict.OPEN
    assert found["mount-load:front left"].demand == pytest.approx(3 * 200 * 9.80665 / 4, rel=1e-9)


def test_strain() -> None:
    rest = come_to_rest(MOUNTS, UNIT.centre, STANDING)
    found = by_id(mount_strain_findings(MOUNTS, rest.squeezed, {"front left": 0.025, "front right": 0.012}))
    pressed = found["mount-strain:front left.pressed"]
    hangs_together(pressed)
    assert pressed.demand == pytest.approx(200 * 9.80665 / 4 / 2e5 / 0.025, rel=1e-9)
    assert found["mount-strain:front right.pressed"].verdict is Verdict.SHORT
    assert found["mount-strain:front left.sheared"].verdict is Verdict.HOLDS
    assert found["mount-strain:rear left.pressed"].verdict is Verdict.OPEN


def test_isolation() -> None:
    torque = np.array([0, 0, 0, 50.0, 0, 0])
    fast = isolation_finding("idle", shake(UNIT, MOUNTS, torque, 40.0), torque, 40.0)
    slow = isolation_finding("idle", shake(UNIT, MOUNTS, torque, 10.0), torque, 10.0)
    hangs_together(fast)
    assert fast.verdict is Verdict.HOLDS and fast.assumed and fast.caution
    assert slow.verdict is Verdict.SHORT
    push = np.array([0, 0, 50.0, 0, 0, 0])
    strict = isolation_finding("idle", shake(UNIT, MOUNTS, push, 40.0), push, 40.0, allowed=0.01)
    assert strict.verdict is Verdict.SHORT and not strict.assumed


def test_sway_and_broken() -> None:
    (near,) = sway_findings(UNIT, MOVES, (WATCHED,), 0.015)
    hangs_together(near)
    assert near.case == "bump" and near.verdict is Verdict.HOLDS
    broken = one_broken(UNIT, MOUNTS, STANDING, {"standing": STANDING}, (WATCHED,), size=0.6)
    found = broken_findings(broken, 0.015)
    assert [finding.about for finding in found] == [mount.name for mount in MOUNTS]
    hangs_together(found[0])
    unwatched = broken_findings(
        one_broken(UNIT, MOUNTS, STANDING, {"standing": STANDING}, (), size=0.6), 0.015
    )
    assert {finding.verdict for finding in unwatched} == {Verdict.OPEN}


def test_a_unit_that_nothing_holds_is_short() -> None:
    three = tuple(replace(m, stops=()) for m in MOUNTS[:3])
    far = replace(WATCHED, obstacle=HalfSpace(UP, -5.0))
    found = broken_findings(
        one_broken(UNIT, three, STANDING, {"standing": STANDING}, (far,), size=0.6), 0.015
    )
    assert all(finding.verdict is Verdict.SHORT and "captive" in finding.remedy for finding in found)
    assert all("do not hold" in finding.remedy and finding.ratio is None for finding in found)


def test_wring() -> None:
    wrung = Wrung(np.zeros(3), np.array([200.0, 150.0, 0.0]))
    held, torn, unknown = (
        wring_finding("bell housing", wrung, CRANK, case="pull", allowed=a) for a in (300.0, 200.0, None)
    )
    hangs_together(held)
    hangs_together(torn)
    assert held.demand == pytest.approx(250.0) and held.verdict is Verdict.HOLDS
    assert torn.verdict is Verdict.SHORT and unknown.verdict is Verdict.OPEN


def test_sizes_in_words() -> None:
    words = [
        size_words(0.0123, "m"),
        size_words(np.radians(2.5), "rad"),
        size_words(840.2, "N"),
        size_words(310, "N*m"),
    ]
    assert words == ["12.3 mm", "2.50 deg", "840 N", "310 N·m"]
