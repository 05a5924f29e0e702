"""Pinned plates, edge distances and tabs bent sideways."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import soapstone.strength as room
from soapstone.finding import Verdict
from soapstone.strength import edge_distance, lug, tab_bending
from soapstone.strength.lugs import (
    MODES,
    Plate,
    edge_distances,
    nominal_strengths,
    safety_factors,
    utilisation,
)
from soapstone.tables import material

INCH, KIP = 0.0254, 4448.2216152605
# AISC Design Examples v16.0, D.7: plate 1/2 x 4-1/4 in, 1 in pin in a 1.03 in hole, 2.25 in from hole to end
EXAMPLE = Plate(0.5 * INCH, 4.25 * INCH, 1.03 * INCH, 1.0 * INCH, (2.25 + 1.03 / 2) * INCH)
TAB = Plate(0.006, 0.040, 0.013, 0.012, 0.020)
load = st.floats(-1e5, 1e5)


def judged(plate=TAB, along=10e3, across=0.0, metal="S235", share=None):
    return lug(
        name="fork_C",
        thickness=plate.thickness,
        width=plate.width,
        hole=plate.hole,
        pin=plate.pin,
        edge=plate.edge,
        material=material(metal),
        force_along=np.array([0.0, along]),
        force_across=np.array([0.0, across]),
        cases=["own weight", "bump"],
        share=share,
    )


def test_design_example_d7():
    # printed: rupture 105, tear-out 107, bearing 45.0, yield 107 (106.25) kip for A572-50; allowables by Ω
    strengths = nominal_strengths(
        EXAMPLE, material("A572-50"), *edge_distances(EXAMPLE, np.ones(()), np.zeros(()))
    )
    kips = strengths / KIP
    assert kips == pytest.approx([104.65, 107.25, 45.0, 106.25], rel=1e-9)
    assert int(np.argmin(strengths / safety_factors())) == MODES.index("bearing")
    finding = judged(EXAMPLE, along=15 * KIP, metal="A572-50", share=1.0)
    assert finding.capacity / KIP == pytest.approx(22.5, rel=1e-9)
    assert "governed by bearing" in finding.because[-1].words


def test_design_example_d7_of_2005():
    # AISC Design Examples to the 2005 Specification, D.7, A36: tear-out 95.7, bearing 32.4, yield 76.5 kip
    strengths = nominal_strengths(
        EXAMPLE, material("A36"), *edge_distances(EXAMPLE, np.ones(()), np.zeros(()))
    )
    assert strengths[1:] / KIP == pytest.approx([95.7, 32.4, 76.5], rel=5e-4)  # print has three figures
    # its rupture of 94.5 used an effective width not yet capped at the side distance: 1.63 against 1.61 in
    assert strengths[0] / KIP * 1.63 / 1.61 == pytest.approx(94.5, rel=5e-4)


def test_share_of_a_fork():
    half, own = judged(), judged(share=0.5)
    assert half.ratio == pytest.approx(own.ratio, rel=1e-12)
    assert "each plate of the fork takes half of the force" in half.assumed
    assert "each plate of the fork takes half of the force" not in own.assumed
    assert judged(share=0.7).ratio == pytest.approx(1.4 * half.ratio, rel=1e-12)


@settings(deadline=None, max_examples=60)
@given(along=load, across=load, factor=st.floats(0.1, 10))
def test_chain_scaling_and_mirror(along, across, factor):
    finding = judged(along=along, across=across)
    fast = utilisation(TAB, material("S235"), np.array([along / 2]), np.array([across / 2]))
    assert finding.ratio == pytest.approx(float(fast.max()), rel=1e-12, abs=1e-15)
    scaled = judged(along=factor * along, across=-factor * across)
    assert scaled.ratio == pytest.approx(factor * finding.ratio, rel=1e-9, abs=1e-12)


@settings(deadline=None, max_examples=40)
@given(turn=st.floats(0, 2 * math.pi))
def test_a_round_ended_tab_is_as_strong_every_way(turn):
    # hole in the middle of a half-round end: the metal left is the same in all directions
    plate = dataclasses.replace(TAB, edge=TAB.width / 2)
    turned = judged(plate, along=8e3 * math.cos(turn), across=8e3 * math.sin(turn))
    assert turned.ratio == pytest.approx(judged(plate, along=8e3).ratio, rel=1e-9)


def test_metal_left_in_line_and_square():
    along, across = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    in_line, square = edge_distances(Plate(0.006, 0.040, 0.012, 0.012, 0.030), along, across)
    assert in_line == pytest.approx([0.024, 0.014, 0.024], rel=1e-12)
    assert square == pytest.approx([0.014, 0.024, 0.014], rel=1e-12)


def test_a_near_edge_narrows_the_effective_width():
    # AISC 360-22 D5.2 asks a >= 1.33 be; be is cut down to keep it
    plate = dataclasses.replace(TAB, edge=0.016)
    finding = judged(plate)
    steps = {step.symbol: step.value for step in finding.because}
    width = (0.016 - 0.0065) / 1.33
    assert steps["b_e"] == pytest.approx(width, rel=1e-12)
    along = edge_distances(plate, np.ones(()), np.zeros(()))
    net = nominal_strengths(plate, material("S235"), *along)[MODES.index("net section")]
    assert net == pytest.approx(2 * 0.006 * width * 360e6, rel=1e-12)
    assert net == pytest.approx(steps["P_1"], rel=1e-12)


def test_remedy_thickness_holds():
    short = judged(along=60e3)
    assert short.verdict is Verdict.SHORT
    thickness = float(short.remedy.split("at least ")[1].split(" mm")[0]) / 1e3
    assert judged(dataclasses.replace(TAB, thickness=thickness), along=60e3).verdict is Verdict.HOLDS
    less = dataclasses.replace(TAB, thickness=thickness - 1e-4)
    assert judged(less, along=60e3).verdict is Verdict.SHORT


def test_a_looser_hole_tears_out_sooner():
    # from memory, AISC 360-22 D5: 0.95 between 1/32 and 1/16 in of clearance
    finding = judged(dataclasses.replace(TAB, hole=0.0135))
    steps = {step.symbol: step.value for step in finding.because}
    assert steps["C_r"] == 0.95
    assert any("from memory" in note and "loose hole" in note for note in finding.assumed)
    snug = judged(dataclasses.replace(TAB, hole=0.0125))
    assert {step.symbol: step.value for step in snug.because}["C_r"] == 1.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"hole": 0.0145}, "the hole is 2.5 mm (0.099 in) loose, over the 1/16 in where the formula ends"),
        ({"hole": 0.011}, "the bolt is thicker than its hole"),
        ({"edge": 0.006}, "the hole breaks out of the plate"),
        ({"width": 0.012}, "the hole breaks out of the plate"),
    ],
)
def test_open_lugs(change, words):
    finding = judged(dataclasses.replace(TAB, **change))
    assert finding.verdict is Verdict.OPEN
    assert finding.remedy.startswith(words)
    assert finding.because == ()


def test_an_unknown_grade_leaves_everything_open():
    assert judged(metal="steel of unknown grade").verdict is Verdict.OPEN
    assert sideways(metal="steel of unknown grade").verdict is Verdict.OPEN


# EN 1993-1-8 table 3.3: e1 >= 1.2 d0 from the centre (M12 in 13 mm: 15.6 mm);
# Formula SAE F.5.4.3: 1.5 from the hole's edge
@pytest.mark.parametrize(
    ("edge", "verdict", "warned"),
    [(0.0155, Verdict.SHORT, True), (0.0157, Verdict.HOLDS, True), (0.0265, Verdict.HOLDS, False)],
)
def test_edge_distance(edge, verdict, warned):
    finding = edge_distance(name="fork_C", hole=0.013, nearest_edge=edge)
    assert finding.verdict is verdict
    assert finding.demand == pytest.approx(0.0156, rel=1e-12)
    assert bool(finding.caution) == warned
    steps = {step.symbol: step.value for step in finding.because}
    assert steps["e_c"] - steps["e_h"] == pytest.approx(0.5, rel=1e-12)


def sideways(force=-500.0, metal="S235", thickness=0.006):
    return tab_bending(
        name="fork_C",
        thickness=thickness,
        width=0.050,
        arm=0.030,
        material=material(metal),
        force_out=np.array([100.0, force]),
        cases=["own weight", "kerb"],
    )


def test_tab_bent_sideways_by_hand():
    finding = sideways()
    assert (finding.case, finding.id) == ("kerb", "tab-bending:fork_C")
    assert finding.demand == pytest.approx(15.0, rel=1e-12)
    assert finding.capacity == pytest.approx(235e6 * 0.050 * 0.006**2 / 4 / 1.67, rel=1e-12)
    assert any("from memory" in note for note in finding.assumed)


def test_tab_remedy_and_softening():
    short = sideways(force=5e3)
    thickness = float(short.remedy.split("at least ")[1].split(" mm")[0]) / 1e3
    assert sideways(force=5e3, thickness=thickness).verdict is Verdict.HOLDS
    assert sideways(force=5e3, thickness=thickness - 1e-4).verdict is Verdict.SHORT
    # 6061-T6 beside a weld: 15 of 35 ksi (Aluminum Design Manual, from memory)
    soft = sideways(metal="6061-T6")
    assert soft.capacity == pytest.approx(15 * KIP / INCH**2 * 0.050 * 0.006**2 / 4 / 1.67, rel=1e-12)


def test_every_kind_is_listed():
    made = {judged().kind, sideways().kind, edge_distance(name="a", hole=0.01, nearest_edge=0.02).kind}
    assert made < set(room.KINDS)
    assert len(set(room.KINDS)) == len(room.KINDS)
