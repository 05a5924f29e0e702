"""Bolts in shear, with pull, and bent across gaps."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.finding import Verdict
from soapstone.strength import bolt, bolt_bending
from soapstone.strength.bolts import shear_strength, tension_strength, utilisation
from soapstone.strength.pins import bending_moment, bending_strength
from soapstone.strength.pins import utilisation as bent_utilisation
from soapstone.tables import BoltSize, Status, bolt_class, parse_bolt

INCH, KIP = 0.0254, 4448.2216152605
M12, CLASS = parse_bolt("M12 10.9")
load = st.floats(0, 1e5)


def judged(shear, tension=0.0, text="M12 10.9", planes=2, threads=True):
    size, grade = parse_bolt(text) if text else (None, None)
    return bolt(
        name="fork_C",
        size=size,
        grade=grade,
        shear_per_bolt=np.array([0.0, shear]),
        tension=np.array([0.0, tension]),
        planes=planes,
        threads_in_plane=threads,
        cases=["own weight", "bump"],
    )


def test_three_quarter_bolt_as_the_manual_prints_it():
    # AISC Manual table 7-1 (Design Examples v16, K): 3/4 in group 120, threads in the plane:
    # 11.9 kip ASD single, 23.86 double. The nominal 0.450 x 120 ksi = 54 ksi.
    size = BoltSize("3/4-10", 0.75 * INCH, INCH / 10, True, 0, 0, 0, "shigley", Status.VERIFIED)
    single = shear_strength(size, bolt_class("grade 5"), threads_in_plane=True) / KIP
    assert single == pytest.approx(11.9, abs=0.05)
    assert 2 * single == pytest.approx(23.86, abs=0.005)


# same rule down to 1/2 in, single shear; the list gives 0.75 x Rn, hence 7.952 kip x 2/3 = Rn/2
@pytest.mark.parametrize(("name", "kip"), [("1/2-13", 7.952), ("5/8-11", 12.425)])
def test_listed_bolts(name, kip):
    size, grade = parse_bolt(f"{name} grade 5")
    nominal = shear_strength(size, grade, threads_in_plane=True) * 2.0
    assert 0.75 * nominal / KIP == pytest.approx(kip, abs=5e-4)


# below that by the stress area of ASME B1.1 (Shigley, 9th ed., table 8-2, and ISO 898-1): F_u A_s in pull,
# 0.563 F_u A_s in shear, each over 2; the nominal area would give 16 and 23 % more at 1/4-20
@pytest.mark.parametrize(
    ("text", "area"),
    [
        ("1/4-20 grade 5", 0.0318 * INCH**2),
        ("3/8-16 grade 5", 0.0775 * INCH**2),
        ("M6 8.8", 20.1e-6),
        ("M8 8.8", 36.6e-6),
        ("M10 8.8", 58.0e-6),
    ],
)
def test_small_bolts_hold_what_their_thread_leaves(text, area):
    size, grade = parse_bolt(text)
    pull = grade.ultimate_strength * area / 2
    # areas are printed with three figures
    assert tension_strength(size, grade) == pytest.approx(pull, rel=3e-3)
    assert shear_strength(size, grade, True) == pytest.approx(0.563 * pull, rel=3e-3)
    nominal = 0.563 * grade.ultimate_strength * size.shank_area / 2
    assert shear_strength(size, grade, False) == pytest.approx(nominal, rel=1e-12)


def test_m12_lies_inside_the_range_since_its_thread_leaves_more_than_the_smallest_one_listed():
    least, m12 = parse_bolt("1/2-13 grade 5")[0], parse_bolt("M12 8.8")[0]
    assert m12.stress_area / m12.shank_area > least.stress_area / least.shank_area
    assert tension_strength(*parse_bolt("M12 8.8")) == pytest.approx(
        0.75 * parse_bolt("M12 8.8")[1].ultimate_strength * m12.shank_area / 2, rel=1e-12
    )


def test_double_shear_alone_by_hand():
    finding = judged(20e3)
    area = math.pi / 4 * 0.012**2
    assert finding.ratio == pytest.approx(20e3 / (2 * 0.450 * 1040e6 * area / 2), rel=1e-12)
    assert (finding.case, finding.verdict) == ("bump", Verdict.HOLDS)
    assert "both shear planes share alike" in finding.assumed
    plain = judged(20e3, threads=False)
    assert finding.ratio / plain.ratio == pytest.approx(0.563 / 0.450, rel=1e-12)


def test_ellipse_of_shear_and_pull():
    shear = 0.6 * 2 * shear_strength(M12, CLASS, True)
    pull = 0.8 * tension_strength(M12, CLASS)
    assert judged(shear, pull).ratio == pytest.approx(1.0, rel=1e-12)
    assert judged(shear, -pull).ratio == pytest.approx(0.6, rel=1e-12)


def test_the_ellipse_lies_inside_the_straight_form_of_the_text_by_little():
    # AISC 360-22 J3.8 gives F'nt = 1.3 Fnt - (Ω Fnt/Fnv) frv as a straight stand-in for the ellipse of its
    # commentary; on the straight part the ellipse is never more than 8 % below 1 and never above 1.13
    for shear_share in np.linspace(0.31, 0.99, 30):
        pull_share = 1.3 - shear_share
        combined = utilisation(
            M12,
            CLASS,
            np.array(shear_share * shear_strength(M12, CLASS, True)),
            np.array(pull_share * tension_strength(M12, CLASS)),
            1,
            True,
        )
        assert 0.918 < float(combined) < 1.045


@settings(deadline=None, max_examples=50)
@given(shear=load, pull=st.floats(-1e5, 1e5), factor=st.floats(0.1, 10))
def test_scaling_and_chain(shear, pull, factor):
    once, often = judged(shear, pull), judged(factor * shear, factor * pull)
    assert often.ratio == pytest.approx(factor * once.ratio, rel=1e-9, abs=1e-12)
    fast = utilisation(M12, CLASS, np.array(shear), np.array(pull), 2, True)
    assert once.ratio == pytest.approx(float(fast), rel=1e-12, abs=1e-15)


@pytest.mark.parametrize(
    ("shear", "text", "remedy"),
    [
        (30e3, "M10 8.8", "take M10 10.9 at the same size or M12 8.8"),
        (65e3, "M12 12.9", "take M14 12.9"),
        (11e3, "1/4-20 grade 5", "take 1/4-20 grade 8 at the same size or 5/16-18 grade 5"),
        (9e6, "M12 12.9", "no bolt in the table carries it alone: use more bolts or put it in double shear"),
    ],
)
def test_next_bolt(shear, text, remedy):
    finding = judged(shear, text=text)
    assert finding.verdict is Verdict.SHORT
    assert finding.remedy == remedy


def test_open_bolts():
    missing = judged(1.0, text="")
    assert missing.verdict is Verdict.OPEN
    assert missing.remedy == "the bolt's size or class is missing: give both, such as M12 10.9"
    assert judged(1.0, planes=3).verdict is Verdict.OPEN


def test_small_and_remembered_bolts_are_told():
    notes = " ".join(judged(1.0, text="M5 8.8").assumed)
    assert "below the range AISC lists" in notes
    assert "from memory" in notes
    assert judged(1.0, planes=1).assumed == ()


def bent(force=10e3, gap=0.001, text="M12 10.9", threads=True):
    size, grade = parse_bolt(text) if text else (None, None)
    return bolt_bending(
        name="fork_C",
        size=size,
        grade=grade,
        force=np.array([force]),
        outer=0.005,
        gap=gap,
        inner=0.050,
        threads_in_span=threads,
        cases=["bump"],
    )


def test_moment_is_that_of_a_bar_under_spread_loads():
    # F (b + 4c + 2a)/8 (EN 1993-1-8 figure 3.11) is the statics of even pressure on each part
    a, c, b, F = 0.005, 0.001, 0.050, 10e3
    reaction, own_half = F / 2, F / 2
    statics = reaction * (a / 2 + c + b / 2) - own_half * b / 4
    assert float(bending_moment(np.array(F), a, c, b)) == pytest.approx(statics, rel=1e-12)


def test_round_bar_in_bending():
    # AISC 360-22 F11: the lesser of Fy Z (Z/S = 16/(3π) = 1.698) and 1.6 Fy S, over 1.67
    modulus = math.pi * 0.012**3 / 32
    assert bending_strength(M12, CLASS, False) == pytest.approx(1.6 * 940e6 * modulus / 1.67, rel=1e-12)
    ratio = bending_strength(M12, CLASS, True) / bending_strength(M12, CLASS, False)
    assert ratio == pytest.approx((M12.stress_diameter / 0.012) ** 3, rel=1e-12)


@settings(deadline=None, max_examples=40)
@given(force=st.floats(1, 1e5), gap=st.floats(0, 0.01), threads=st.booleans())
def test_bent_bolt_chain(force, gap, threads):
    finding = bent(force, gap, threads=threads)
    fast = bent_utilisation(M12, CLASS, np.array(force), (0.005, gap, 0.050), threads)
    assert finding.ratio == pytest.approx(float(fast), rel=1e-12)
    assert bent(-2 * force, gap, threads=threads).ratio == pytest.approx(2 * finding.ratio, rel=1e-12)


def test_wider_gaps_bend_more_and_washers_are_named():
    assert bent(gap=0.004).ratio > bent(gap=0.0).ratio
    critical = 10e3 / bent(gap=0.0).ratio
    finding = bent(force=0.999 * critical, gap=0.010)
    assert (finding.verdict, finding.remedy) == (Verdict.SHORT, "fill the gaps with hard washers")
    heavier = bent(force=1.05 * critical, gap=0.0)
    assert heavier.remedy == "take M12 12.9 at the same size or M14 10.9"


def test_open_bent_bolt():
    for finding in (bent(text=""), bent(gap=None)):
        assert (finding.verdict, finding.kind) == (Verdict.OPEN, "bolt-bending")
