"""Threads, preload, crush tubes and bearing against published tables."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.finding import Verdict
from soapstone.formula import Chain
from soapstone.strength.bearing import bearing
from soapstone.strength.preload import Tightened, clamping, crushing, full_preload, preload_steps, tightening
from soapstone.strength.threads import engagement, strip_areas, thread
from soapstone.tables import bolt_class, bolt_size, bolt_sizes, head_ring, material, materials, thread_limits

INCH = 0.0254
NAMELESS = next(name for name in materials() if not material(name).strength_is_known)
# As, An per mm and Le in mm, metric 6g/6H (FED-STD-H28 formula on ISO 965 limits), printed to 1e-4
METRIC = {
    "M5": (7.0731, 9.9988, 4.0103),
    "M6": (8.6458, 12.1909, 4.6551),
    "M8x1": (12.0014, 16.3990, 6.5271),
    "M8": (12.1612, 16.8285, 6.0206),
    "M10x1.25": (15.6801, 21.1658, 7.8059),
    "M10": (15.5796, 21.4769, 7.4443),
    "M12x1.25": (18.9772, 25.1617, 9.7034),
    "M12x1.5": (19.0677, 25.7487, 9.2435),
    "M12": (18.9762, 26.1173, 8.8813),
    "M14x1.5": (22.6398, 30.1382, 11.0024),
    "M14": (22.4239, 31.0335, 10.2961),
    "M16x1.5": (26.2118, 34.5277, 12.7613),
    "M16": (26.0969, 35.5699, 12.0067),
}
INCHES = {
    "1/4-20": (0.3680, 0.5390, 0.1730),
    "5/16-18": (0.4699, 0.6818, 0.2232),
    "3/8-16": (0.5760, 0.8281, 0.2691),
    "7/16-14": (0.6765, 0.9781, 0.3143),
    "1/2-13": (0.7789, 1.1235, 0.3643),
    "9/16-12": (0.8934, 1.2734, 0.4073),
    "5/8-11": (0.9982, 1.4249, 0.4528),
}
KNOWN = (*METRIC, *INCHES)


def listed(names):
    held = {size.name: size for size in bolt_sizes()}
    return [(name, held[name]) for name in names if name in held]


@pytest.mark.parametrize(("name", "size"), listed(METRIC))
def test_metric_strip_areas(name, size):
    chain = Chain()
    strip_areas(chain, size)
    bolt_area, tapped_area, length = METRIC[name]
    # four printed decimals; one size's limits are rounded to the micrometre
    assert chain["a_s"] * 1e3 == pytest.approx(bolt_area, rel=2e-4)
    assert chain["a_n"] * 1e3 == pytest.approx(tapped_area, rel=2e-4)
    assert 2 * size.stress_area / chain["a_s"] * 1e3 == pytest.approx(length, rel=3e-4)


@pytest.mark.parametrize(("name", "size"), listed(INCHES))
def test_inch_strip_areas(name, size):
    chain = Chain()
    strip_areas(chain, size)
    bolt_area, tapped_area, length = INCHES[name]
    # limits to 1e-4 in on a shear height of about 0.02 in: half a per cent
    assert chain["a_s"] / INCH == pytest.approx(bolt_area, rel=5e-3)
    assert chain["a_n"] / INCH == pytest.approx(tapped_area, rel=5e-3)
    assert 2 * size.stress_area / chain["a_s"] / INCH == pytest.approx(length, rel=5e-3)


# VDI 2230 (2001) formula, 8.8 coarse, friction 0.10/0.12/0.14: preload kN and torque N m
@pytest.mark.parametrize(
    ("name", "friction", "force", "torque"),
    [
        ("M6", 0.10, 10.4473, 8.962),
        ("M8", 0.12, 18.6273, 24.556),
        ("M10", 0.10, 30.3504, 42.597),
        ("M10", 0.14, 28.8229, 53.867),
        ("M12", 0.12, 43.1095, 83.593),
        ("M12", 0.14, 41.9807, 93.013),
        ("M14", 0.14, 57.6048, 148.610),
        ("M16", 0.14, 78.9238, 229.962),
    ],
)
def test_full_preload(name, friction, force, torque):
    found = full_preload(Chain(), bolt_size(name), bolt_class("8.8"), friction)
    assert found[0] == pytest.approx(force * 1e3, rel=1e-5)
    assert found[1] == pytest.approx(torque, rel=1e-4)


def test_scatter_of_a_printed_example():
    # handbook reprint of VDI 2230: M12 8.8, friction .14, alpha_A 1.8: F_max 41.9 kN, F_min 23.3 kN
    joint = Tightened(bolt_size("M12"), bolt_class("8.8"), 1, 93.013, 0.14, 1.8, 0.15)
    largest, smallest = preload_steps(Chain(), joint)
    assert largest == pytest.approx(41.98e3, rel=2e-4)
    assert smallest == pytest.approx(23.3e3, rel=2e-3)


def test_tightening_to_the_limit_and_past_it():
    def judged(torque):
        return tightening(
            name="f", joint=Tightened(bolt_size("M12"), bolt_class("8.8"), 2, torque, 0.14, 1.6, 0.2)
        )

    assert judged(93.0).verdict is Verdict.HOLDS
    over = judged(120.0)
    assert over.verdict is Verdict.SHORT and "93 N·m" in over.remedy


@settings(deadline=None, max_examples=30)
@given(st.floats(10, 90), st.floats(0, 5e3), st.floats(0, 5e3), st.floats(1.1, 3))
def test_clamping_grows_worse_with_load_and_better_with_torque(torque, shear, pull, factor):
    def ratio(torque, shear, pull):
        joint = Tightened(bolt_size("M10"), bolt_class("8.8"), 2, torque, 0.14, 1.6, 0.2)
        return clamping(
            name="f", joint=joint, shear=np.array([shear]), pull=np.array([pull]), cases=["bump"]
        ).ratio

    base = ratio(torque, shear, pull)
    assert ratio(torque * factor, shear, pull) == pytest.approx(base / factor, rel=1e-9)
    assert ratio(torque, shear * factor, pull * factor) == pytest.approx(base * factor, rel=1e-9)


def test_clamping_by_hand():
    joint = Tightened(bolt_size("M10"), bolt_class("8.8"), 2, 20.0, 0.14, 1.6, 0.2)
    finding = clamping(name="f", joint=joint, shear=np.array([4e3]), pull=np.array([1e3]), cases=["bump"])
    assert finding.demand == pytest.approx(4e3 / 0.2 + 1e3, rel=1e-12)
    assert finding.verdict is Verdict.SHORT and "bolts" in finding.remedy


def crushed(tube, metal="S235", torque=45.0):
    joint = Tightened(bolt_size("M10"), bolt_class("8.8"), 2, torque, 0.14, 1.6, 0.2)
    return crushing(
        name="fork",
        joint=joint,
        wall=0.0025,
        material=material(metal),
        tube=tube,
        tube_material=material("S355") if tube else None,
    )


def test_a_hollow_rail_without_a_crush_tube_is_short_in_preload():
    without, inside = crushed(None), crushed((0.018, 0.003))
    assert (
        without.id == "preload:fork" and without.verdict is Verdict.SHORT and "crush tube" in without.remedy
    )
    assert without.capacity == pytest.approx(math.pi * 235e6 * 0.0025**2, rel=1e-12)
    assert inside.verdict is Verdict.HOLDS
    assert inside.capacity == pytest.approx(355e6 * math.pi * 0.003 * 0.015, rel=1e-12)
    assert crushed(None, NAMELESS).verdict is Verdict.OPEN


def test_engagement_in_a_weak_casting():
    # FED-STD-H28/2B: 1/2-13, 120 ksi bolt in 42 ksi metal: 0.72173 in; here grade 5 in an alloy of the tables
    size, grade = bolt_size("1/2-13"), bolt_class("grade 5")
    metal = material("6061-T6")
    finding = engagement(name="boss", size=size, grade=grade, material=metal, engaged=0.02)
    J = 0.778943 * grade.ultimate_strength / (1.123487 * metal.ultimate_strength)
    assert finding.demand / INCH == pytest.approx(0.364340 * J, rel=1e-4)
    deeper = engagement(name="boss", size=size, grade=grade, material=metal, engaged=0.03)
    assert finding.verdict is Verdict.HOLDS or deeper.ratio < finding.ratio
    shallow = engagement(name="boss", size=size, grade=grade, material=metal, engaged=0.005)
    assert shallow.verdict is Verdict.SHORT and "insert" in shallow.remedy


def test_thread_pull_by_hand():
    size = bolt_size("M10")
    finding = thread(
        name="boss",
        size=size,
        grade=bolt_class("8.8"),
        material=material("6061-T6"),
        engaged=0.015,
        pull=np.array([-1e3, 2e3]),
        cases=["rest", "bump"],
    )
    tapped = 0.6 * material("6061-T6").ultimate_strength * 21.4769e-3 * 0.015 / 2
    assert finding.case == "bump" and finding.demand == 2e3
    assert finding.capacity == pytest.approx(tapped, rel=2e-4)


@pytest.mark.parametrize("check", ["thread", "engagement"])
def test_unknown_metal_is_open(check):
    size, grade, metal = bolt_size("M10"), bolt_class("8.8"), material(NAMELESS)
    if check == "thread":
        found = thread(
            name="b", size=size, grade=grade, material=metal, engaged=0.01, pull=np.ones(1), cases=["x"]
        )
    else:
        found = engagement(name="b", size=size, grade=grade, material=metal, engaged=0.01)
    assert found.verdict is Verdict.OPEN


def test_head_ring_of_a_size_off_the_table():
    size = bolt_size("1/2-13")
    assert head_ring(size) == (0.95 * size.head_width_across_flats, 1.1 * size.diameter)
    assert head_ring(bolt_size("M10")) == pytest.approx((0.0146, 0.011))


def test_thread_limits_nest():
    found = [limits for _, size in listed(KNOWN) if (limits := thread_limits(size)) is not None]
    assert len(found) > 10
    for limits in found:
        assert limits.internal_minor < limits.pitch < limits.internal_pitch < limits.major


def test_bearing_and_tear_out():
    # AISC Design Examples v16.0, K.1: 3/4 bolt, t 0.340, Fu 65, edge 1.25: tear-out 29.9/19.9 kip with pitch,
    # at the edge 1.2 (1.25 - 13/32) 0.340 65/2 = 11.2 kip (ASD)
    kip = 4448.2216152605
    finding = bearing(
        name="plate",
        size=bolt_size("M16"),  # tear-out does not ask for the bolt
        thickness=0.340 * INCH,
        edge=1.25 * INCH,
        hole=13 / 16 * INCH,
        material=material("A572-50"),
        shear=np.array([1e3]),
        cases=["bump"],
    )
    steps = {step.symbol: step.value for step in finding.because}
    assert steps["R_2"] / kip == pytest.approx(11.2, abs=0.05)


def test_a_countersink_bears_with_half_its_depth():
    def ratio(depth, metal="S235"):
        return bearing(
            name="plate",
            size=bolt_size("M8"),
            thickness=0.006,
            edge=0.03,
            hole=0.009,
            material=material(metal),
            shear=np.array([5e3]),
            cases=["bump"],
            countersink=depth,
        )

    assert ratio(0.004).ratio == pytest.approx(ratio(0.0).ratio * 6 / 4, rel=1e-12)
    assert ratio(0.0, NAMELESS).verdict is Verdict.OPEN
