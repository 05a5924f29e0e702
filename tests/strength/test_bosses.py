"""Casting bosses, torques, spreaders, feet on rails: what a job's keys do."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import JobError
from soapstone.finding import Verdict
from soapstone.job.hardware import Box
from soapstone.strength.bosses import boss_burst
from soapstone.strength.foot_forces import fork_foot, fork_load
from soapstone.strength.load_path import load_path
from soapstone.strength.preload import Tightened
from soapstone.strength.rails import footing_of
from soapstone.strength.sheets import spreader
from soapstone.tables import bolt_size, material, materials, parse_bolt

Changed = Callable[..., Build]
NAMELESS = next(name for name in materials() if not material(name).strength_is_known)
BOSS = "    mass: 92 kg\n    bosses: {{{}: {{of: {}, engaged: 24 mm, outside: 32 mm}}}}\n"
RAIL = "rail_left:     {what: left rail of the ladder frame}"
BOLTED = "bolted: {bolt: M10 8.8, count: 2, torque: 40 N·m, friction: 0.14, scatter: 1.6, grip: 0.2"
HANGER = "hanger_front_left:  {on: cross_1, carries: drive_unit.boss_1, plate: 10 mm S355, width: 70 mm"


def burst(pull=5e3, joint=None, outside=0.032, metal="6061-T6"):
    return boss_burst(
        name="hanger",
        size=bolt_size("M12"),
        outside=outside,
        engaged=0.024,
        material=material(metal),
        pull=np.array([1.0, pull]),
        joint=joint,
        cases=["rest", "bump"],
    )


def test_a_thick_ring_under_pressure():
    # Lame: p (Do² + d²)/(Do² - d²) at the bore, p from tan 30 deg of the pull over the thread's cylinder
    pressure = 5e3 * math.tan(math.pi / 6) / (math.pi * 0.012 * 0.024)
    finding = burst()
    assert finding.demand == pytest.approx(pressure * (32**2 + 12**2) / (32**2 - 12**2), rel=1e-12)
    assert finding.case == "bump" and finding.verdict is Verdict.HOLDS
    assert any("preload is left out" in note for note in finding.assumed)


def test_preload_comes_on_top_and_a_thin_boss_splits():
    size, grade = parse_bolt("M12 8.8")
    joint = Tightened(size, grade, 1, 73.0, 0.10, 1.6, 0.15)
    assert burst(joint=joint).ratio > 5 * burst().ratio
    thin = burst(joint=joint, outside=0.0125)
    assert thin.verdict is Verdict.SHORT and "thicker boss" in thin.remedy
    assert "no wider" in burst(outside=0.012).remedy
    assert burst(metal=NAMELESS).verdict is Verdict.OPEN


def spread(push, thickness=0.006, size=0.1, foot=0.05, metal="S235"):
    return spreader(
        name="fork",
        size=size,
        foot=foot,
        thickness=thickness,
        material=material(metal),
        push=np.array([push]),
        cases=["bump"],
    )


def test_a_spreader_bends_over_its_overhang():
    # AISC guide 1: l sqrt(2 · 1.67 P/(Fy B N)), l 25 mm
    needed = 0.025 * math.sqrt(2 * 1.67 * 20e3 / (235e6 * 0.01))
    assert spread(20e3).demand == pytest.approx(needed, rel=1e-12)
    assert spread(1e6).verdict is Verdict.SHORT
    assert "larger side" in spread(1.0, size=0.05).remedy
    assert spread(1.0, metal=NAMELESS).verdict is Verdict.OPEN


def test_a_torque_is_judged(changed: Changed) -> None:
    build = changed(
        (HANGER, HANGER + ", torque: 70 N·m"),
        ("    mass: 92 kg\n", BOSS.format("boss_1", "6061-T6")),
        (
            "reach: 45 mm, gap: 0.5 mm, points: aft}",
            "reach: 45 mm, gap: 0.5 mm, points: aft, torque: 300 N·m}",
        ),
    )
    fork = build.finding("tightening:fork_arm_front")
    assert fork is not None and fork.verdict is Verdict.SHORT and "300" not in fork.remedy
    for kind in ("tightening", "clamping", "boss-burst", "bearing", "thread"):
        finding = build.finding(f"{kind}:hanger_front_left")
        assert finding is not None and finding.ratio is not None, kind
        assert build.finding(f"{kind}:hanger_front_right") is None, kind
    assert any(step.symbol == "F_max" for step in build.finding("boss-burst:hanger_front_left").because)
    told = build.finding("tightening:hanger_front_left")
    assert told is not None and any("friction 0.1" in note for note in told.assumed)


def test_what_tips_the_plate_pulls_its_bolt(heron: Build, changed: Changed) -> None:
    build = changed(("    mass: 92 kg\n", BOSS.format("boss_1", "6061-T6")))
    wide, narrow = (b.finding("bolt:hanger_front_left") for b in (build, heron))
    assert wide is not None and narrow is not None and wide.ratio < narrow.ratio
    assert any("edge of the head" in note for note in narrow.assumed)
    assert any("16 mm" in note for note in wide.assumed)


def test_a_foot_s_bolts_are_judged_and_what_is_assumed_is_told(changed: Changed) -> None:
    rail = f"rail_left: {{hollow: yes, wall: 2.5 mm S235, {BOLTED}"
    told = changed((RAIL, f"{rail}, edge: 30 mm, countersink: 2 mm}}}}"))
    bare = changed((RAIL, f"{rail}}}}}"))
    for build in (told, bare):
        assert build.finding("bolt:fork_front_left foot") is not None
        assert build.finding("tightening:fork_front_left foot") is not None
    with_key, without = (b.finding("bearing:fork_front_left foot") for b in (told, bare))
    assert any("twice the bolt" in note for note in without.assumed)
    assert not any("twice the bolt" in note for note in with_key.assumed)
    assert any("11 mm" in note and "ISO 273" in note for note in without.assumed)
    assert next(s.value for s in with_key.because if s.symbol == "c") == 0.002
    assert with_key.capacity < without.capacity


def test_a_foot_lands_on_its_rail(changed: Changed) -> None:
    build = changed(
        (RAIL, "rail_left: {is: rails}"),
        ("rail_right:    {what: right rail of the ladder frame}", "rail_right: {is: brake_pipe}"),
    )
    for fork in ("fork_front_left", "fork_middle_left", "fork_rear_left"):
        assert build.finding(f"foot:{fork}") is not None
    pipe = build.finding("foot:fork_front_right")
    assert pipe is not None and pipe.verdict is Verdict.OPEN and "boxes" in pipe.remedy
    assert build.finding("foot:fork_arm_front") is None


def test_footing_by_hand(heron: Build) -> None:
    fork = heron.layout.forks["fork_front_left"]
    at = np.array([-0.1, 0.34, 0.372])
    moved = replace(fork, pin=at)
    # 48 mm of reach down from a face at 421: 1 mm inside; tabs 60 + 1 + 12 wide over 350 ± 45
    (box,) = (
        Box.model_validate({"from": ["0 mm", "305 mm", "421 mm"], "to": ["-300 mm", "395 mm", "540 mm"]}),
    )
    found = footing_of(moved, np.array([0.0, 0.0, -1.0]), (box,))
    assert found.gap == pytest.approx(0.001, abs=1e-12)
    assert found.past == pytest.approx(0.305 - (0.34 - 0.0365), abs=1e-12)
    assert found.beside == pytest.approx(0.010, abs=1e-12)
    assert (found.width, found.depth) == pytest.approx((0.090, 0.119), abs=1e-12)


def test_a_load_beside_the_middle_twists_the_rail(changed: Changed) -> None:
    aside = (
        "- box: {from: [0 mm fwd, 300 mm left, 420 mm up], to: [330 mm aft, 370 mm left, 540 mm up]}",
        "- box: {from: [0 mm fwd, 320 mm left, 420 mm up], to: [330 mm aft, 390 mm left, 540 mm up]}",
    )
    opened = changed(aside, (RAIL, "rail_left: {is: rails}"))
    told = opened.finding("rail-twist:fork_front_left")
    assert told is not None and told.verdict is Verdict.OPEN and "box it" in told.remedy
    off = opened.finding("foot:fork_front_left")
    assert off is not None and off.verdict is Verdict.SHORT
    boxed = changed(aside, (RAIL, "rail_left: {is: rails, hollow: yes, wall: 3 mm S235}"))
    twist = boxed.finding("rail-twist:fork_front_left")
    assert twist is not None and twist.verdict is Verdict.HOLDS
    values = {step.symbol: step.value for step in twist.because}
    # Bredt: T/(2 A t) on the middle of the walls
    assert twist.demand == pytest.approx(
        values["P"] * values["e"] / (2 * (values["B"] - 0.003) * (values["H"] - 0.003) * 0.003), rel=1e-12
    )


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        ((RAIL, f"rail_left: {{{BOLTED[:-1]}2}}}}".replace("M10 8.8", "M10 8.7")), "8.7"),
        ((RAIL, "rail_left: {hollow: yes, wall: 3 mm S999}"), "S999"),
        ((RAIL, "rail_left: {is: rials}"), "rials"),
        ((RAIL, "rail_left: {sheet: {plate: 1 mm S999, free: 300 mm}}"), "S999"),
        (
            (
                RAIL,
                "rail_left: {sheet: {plate: 1 mm S235, free: 300 mm, spreader: 3 mm Q1, spreader size: 8cm}}",
            ),
            "Q1",
        ),
        ((RAIL, f"rail_left: {{{BOLTED}, crush tube: 18 mm x 3 mm, crush tube of: Q2}}}}"), "Q2"),
        (("    mass: 92 kg\n", BOSS.format("boss_9", "6061-T6")), "boss_9"),
        (("    mass: 92 kg\n", BOSS.format("boss_1", "Q3")), "Q3"),
    ],
)
def test_names_of_the_hardware_are_looked_up_when_the_job_is_read(
    changed: Changed, edit: tuple[str, str], words: str
) -> None:
    with pytest.raises(JobError, match=words):
        changed(edit)


def test_a_single_tab_takes_the_moment_and_a_harder_bolt_is_computed(changed: Changed) -> None:
    arm = "gap: 0.5 mm, points: aft}"
    single = changed(
        (arm, "gap: 0.5 mm, points: aft, tabs: 1}"),
        (HANGER, HANGER + ", torque: 70 N·m"),
    )
    fork = single.layout.forks["fork_arm_front"]
    load = fork_load(single.work, fork)
    assert np.linalg.norm(load.moment, axis=1).max() > 0.0
    foot = fork_foot(single.work, fork, load)
    assert (foot.tip >= np.abs(foot.out) * fork.spec.reach - 1e-12).all()
    slip = single.finding("clamping:hanger_front_left")
    assert slip is not None
    (link,) = load_path(single.works, [slip], single.reworked)
    # 10.9 in place of 8.8 at the same size, tightened as much harder as it yields later: 940 over 640
    assert link.buys[0].ratio == pytest.approx(link.ratio * 640 / 940, rel=1e-9)
    assert "103 N·m" in link.buys[0].change


def test_a_sheet_s_spreader_is_judged(changed: Changed) -> None:
    held = "crossmember_3: {what: crossmember 3, stiffness: 25 kN/mm}"
    sheet = "sheet: {plate: 3 mm S235, free: 300 mm, spreader: 6 mm S235, spreader size: 100 mm}"
    build = changed((held, f"{held[:-1]}, {sheet}}}"))
    found = build.finding("spreader:fork_arm_front")
    assert found is not None and found.capacity == pytest.approx(0.006, rel=1e-12)
