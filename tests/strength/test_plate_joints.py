"""Plates on tubes: published strengths, range, interaction, and the plates of a job."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.formula import Chain
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.parts.tabs import hanger_foot
from soapstone.strength import chord_formulas, chord_plates
from soapstone.strength.foot_forces import FootForces, hanger_foot_forces, hanger_force
from soapstone.strength.plate_joints import PlateLanding, plate_joint
from soapstone.tables import Status, material, materials

ROUND = RoundTube(0.04445, 0.003048)
SQUARE = RectangularTube(0.05, 0.05, 0.003, 0.006)
NAMELESS = next(name for name in materials() if not material(name).strength_is_known)
AISC, EN = "AISC 360", "EN 1993"


def chain(**values):
    found = Chain()
    for symbol, value in values.items():
        found.given(symbol, value, "1", "")
    chord_formulas.chord_stress(found)
    return found


def test_european_plate_along_a_round_chord():
    # Design of SHS Welded Joints, p. 23: 5 f t² (1 + 0.25 h/d), d 6, t 0.349, 50 ksi, l 4 in: 35.52529 kip
    found = chain(f_y=50.0, D=6.0, t=0.349, d=0.25, l=4.0, theta=math.pi / 2, U=0.0)
    chord_plates.plate_on_round(found, EN)
    assert found["N_1"] == pytest.approx(35.52529, rel=1e-6)
    assert found["M_i"] == pytest.approx(4 * found["N_1"], rel=1e-12)
    assert found["M_o"] == pytest.approx(0.5 * 0.25 * found["N_1"], rel=1e-12)


def test_plate_across_a_round_chord_by_both_codes():
    # AISC 360-22 table K2.1: 5.5/(1 - 0.81 beta); EN 1993-1-8 table 7.3: 4 + 20 beta²; beta 0.5, f t² 1
    for code, factor in ((AISC, 5.5 / 0.595), (EN, 9.0)):
        found = chain(f_y=1.0, D=2.0, t=1.0, d=0.1, l=1.0, theta=math.pi / 2, U=0.0)
        chord_plates.plate_across_round(found, code)
        assert found["N_1"] == pytest.approx(factor, rel=1e-12)
        assert found["M_i"] == pytest.approx(0.5 * factor, rel=1e-12)


def test_plate_across_a_face_gives_way_in_three_ways():
    # 100 wide, 5 thick, 50 plate of 8, f 1: (2 + 1.4)/sqrt(0.55) 25; 0.5 · 5 · 50; 5/√3 (16 + 2 · 25)
    found = chain(f_y=1.0, D=100.0, t=5.0, d=8.0, l=50.0, theta=math.pi / 2, U=0.0)
    chord_plates.plate_across_face(found)
    assert found["N_1"] == pytest.approx(25 * 3.4 / math.sqrt(0.55), rel=1e-12)
    assert found["N_2"] == pytest.approx(125.0, rel=1e-12)
    assert found["N_3"] == pytest.approx(5 / math.sqrt(3) * 66, rel=1e-12)
    assert found["M_i"] == pytest.approx(25 * found["N_1"], rel=1e-12)


def landing(**more):
    base = PlateLanding(ROUND, material("S355"), 0.04445, 1.0, 0.04, 0.006, 0.3)
    return replace(base, **more)


def judged(where=None, force=(2e3, 20.0, 5.0), code=AISC, use=0.0):
    pull, bend, tip = (np.array([value]) for value in force)
    zero = np.zeros(1)
    return plate_joint(
        name="hanger",
        landing=where or landing(),
        load=FootForces(pull, zero, zero, bend, tip, zero),
        chord_use=np.array([use]),
        cases=["bump"],
        code=code,
    )


FACE = {"chord": SQUARE, "face": 0.05}


@pytest.mark.parametrize("code", [AISC, EN])
@pytest.mark.parametrize("more", [{}, {"along": 0.0, "width": 0.03}, {**FACE, "along": 0.0, "width": 0.03}])
@settings(deadline=None, max_examples=15)
@given(
    st.tuples(*[st.floats(1.0, 1e3)] * 3),
    st.floats(1.01, 5.0),
    st.floats(0.0, 0.9),
)
def test_more_force_is_never_better(code, more, force, factor, use):
    first = judged(landing(**more), force, code, use)
    assert first.verdict is not Verdict.OPEN
    for index in range(3):
        worse = tuple(value * (factor if i == index else 1.0) for i, value in enumerate(force))
        assert judged(landing(**more), worse, code, use).ratio >= first.ratio
    grown = judged(landing(**more), tuple(factor * value for value in force), code, use)
    assert grown.ratio == pytest.approx(factor * first.ratio, rel=1e-9)
    assert judged(landing(**more), force, code, min(1.0, use + 0.1)).ratio >= first.ratio


def test_a_push_is_judged_like_a_pull():
    assert judged(force=(-2e3, -20.0, -5.0)).ratio == judged().ratio


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ({"along": 0.7}, AISC, "askew"),
        ({"material": material(NAMELESS)}, AISC, "not known"),
        ({"chord": RoundTube(0.2, 0.003), "face": 0.2, "width": 0.1}, AISC, "times as wide"),
        ({"chord": RoundTube(0.02, 0.003), "face": 0.02}, EN, "times as wide"),
        ({"along": 0.0, "width": 0.005}, AISC, "width"),
        ({"along": 0.0, "width": 0.048, **FACE}, AISC, "saddle plate"),
        ({"width": 0.03, **FACE}, EN, "long"),
        ({"width": 0.3}, AISC, "long"),
        ({"width": 0.06, "thickness": 0.012, **FACE}, AISC, "fifth"),
    ],
)
def test_outside_the_tested_range_it_is_open(more, code, words):
    finding = judged(landing(**more), code=code)
    assert finding.verdict is Verdict.OPEN and words in finding.remedy


def test_strong_steel_is_open():
    strong = replace(material("S355"), yield_strength=500e6, ultimate_strength=800e6)
    assert "stronger" in judged(landing(material=strong)).remedy
    tight = replace(material("S355"), yield_strength=350e6, ultimate_strength=400e6)
    assert "0.80" in judged(landing(material=tight)).remedy
    assert judged(landing(material=tight), code=EN).verdict is not Verdict.OPEN


def test_steel_whose_weld_zone_nobody_told_is_open():
    own = replace(
        material("S355"), weld_zone_status=Status.UNKNOWN, weld_zone_yield=None, weld_zone_ultimate=None
    )
    assert "give it weld zone yield" in judged(landing(material=own)).remedy
    assert judged(landing(material=replace(own, weld_zone_yield=300e6))).verdict is not Verdict.OPEN


def test_near_an_end_half_is_left():
    # punching does not govern here, so that half of the wall's strength doubles the ratio
    whole, half = judged(), judged(landing(end_distance=0.02))
    assert half.ratio == pytest.approx(2 * whole.ratio, rel=1e-9)
    assert any("half of its strength" in note for note in half.assumed)
    assert landing(**FACE, along=0.0, width=0.03, end_distance=0.02).near_an_end


def test_a_short_wall_names_one_that_is_thicker():
    finding = judged(force=(50e3, 0.0, 0.0))
    assert finding.verdict is Verdict.SHORT and "tube wall" in finding.remedy


def test_every_plate_on_a_tube_is_judged(heron: Build):
    told = {f.about for f in heron.findings if f.kind == "plate-joint"}
    on_members = {name for name, fork in heron.layout.forks.items() if fork.on_member}
    assert told == set(heron.layout.hangers) | on_members
    sized = {f.about for f in heron.findings if f.kind == "weld-size"}
    assert told <= sized


def test_a_hanger_s_foot_is_in_balance_with_its_boss(heron: Build):
    """Against the frame's own beam from the tube's face to the boss, moved to the plate's straight foot."""
    for hanger in heron.layout.hangers.values():
        load = hanger_foot_forces(heron.work, hanger)
        force, _ = hanger_force(heron.work, hanger)
        member = heron.idealised.hangers[hanger.name]
        axes = heron.idealised.frame.geometry.axes[member]
        near = heron.solution.end_forces[:, member, :6]
        size = np.sqrt(load.pull**2 + load.aside**2 + load.out**2)
        # the tube runs a few tenths of a degree out of square with the pin, so that the ways nearly are
        assert size == pytest.approx(np.linalg.norm(force, axis=1), rel=1e-3)
        foot = hanger_foot(heron.layout, hanger)
        edge = hanger.boss - foot.reach * foot.normal - foot.shift * foot.run
        length = heron.idealised.frame.geometry.lengths[member]
        arm = hanger.boss - hanger.foot
        face = hanger.boss - arm / np.linalg.norm(arm) * length
        moved = -(near[:, 3:] @ axes) + np.cross(face - edge, force)
        # the plate's own weight, a few newtons in a 5 g case over some centimetres, is on one side only
        assert load.bend == pytest.approx(np.abs(moved @ hanger.axis), abs=1.0)
        assert (load.tip > np.abs(moved @ foot.run) - 1.0).all()
        assert (load.twist > np.abs(moved @ foot.normal) - 1.0).all()


# AISC 360-22 K2: sqrt(1 - U²); EN 1993-1-8 table 7.13: 1.3 (1 - n), at most 1; across, both 1.3 - 0.4 U/beta
@pytest.mark.parametrize(
    ("code", "use", "left"),
    [
        ("AISC 360", 0.6, 0.8),
        ("EN 1993", 0.6, 0.52),
        ("EN 1993", 0.2, 1.0),
        ("AISC 360", 0.0, 1.0),
        ("EN 1993", 1.0, 0.01),
    ],
)
def test_a_pushed_flat_face_leaves_less_to_a_plate_along_it(code, use, left):
    found = Chain()
    found.given("U", use, "1", "")
    assert chord_plates.face_stress_along(found, code) == pytest.approx(left, rel=1e-12)


def test_each_way_a_plate_stands_on_a_face_loses_by_its_own_rule():
    def left(aligned, code):
        width = 0.06 if aligned else 0.04
        steps = judged(landing(**FACE, along=aligned, width=width), code=code, use=0.5).because
        return {step.symbol: step.value for step in steps}["Q"]

    assert left(1.0, EN) == pytest.approx(0.65, rel=1e-12)
    assert left(1.0, AISC) == pytest.approx(math.sqrt(0.75), rel=1e-12)
    for code in (AISC, EN):  # 40 mm across a face of 50
        assert left(0.0, code) == pytest.approx(min(1.0, 1.3 - 0.4 * 0.5 / 0.8), rel=1e-12)
