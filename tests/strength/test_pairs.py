"""Gap joints: when two tubes on a third help each other, and by how much."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

from soapstone.parts.layout import Layout, Seat, SeatKind, Tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.strength.landings import landing_of
from soapstone.strength.pairs import _in_range, balanced, pair_of
from soapstone.strength.tube_joints import Landing, Pair, tube_joint
from soapstone.tables import material

STEEL = material("S355")
CHORD = RoundTube(0.060, 0.003)
BRACE = RoundTube(0.030, 0.002)
SQUARE = RectangularTube(0.060, 0.060, 0.003, 0.006)
UP = np.array([0.0, 0.0, 1.0])
CHORD_AXIS = (np.zeros(3), np.array([1.0, 0.0, 0.0]))


@dataclass
class Bench:
    """As much of a job's work as pairs look at: parts in place, and a force along each brace."""

    layout: Layout
    forces: dict[str, Any]

    def at_end(self, tube: Tube, end: int) -> tuple[Any, float]:
        axial = np.array(self.forces[tube.name], dtype=float)
        return np.column_stack([axial, np.zeros((len(axial), 5))]), 0.0


def tube(name, section, start, end, seats):
    return Tube(name, "", section, STEEL, np.array(start, float), np.array(end, float), UP, seats)


def free(name):
    return Seat(SeatKind.FREE, name)


def truss(apart=0.085, chord=CHORD, brace=BRACE, other=None, lean=(-1.0, 1.0), side=(1.0, 1.0), forces=None):
    """Two braces at 45 deg that leave the chord `apart` of each other, the one aft and the other forward."""
    tubes = {"chord": tube("chord", chord, *CHORD_AXIS, (free("a"), free("b")))}
    for name, at, way, up, section in (
        ("one", 0.5 - apart / 2, lean[0], side[0], brace),
        ("two", 0.5 + apart / 2, lean[1], side[1], other or brace),
    ):
        start = np.array([at, 0.0, 0.0])
        end = start + 0.4 * np.array([way, 0.0, up])
        tubes[name] = tube(name, section, start, end, (Seat(SeatKind.WELD, "chord", at), free("c")))
        tubes[name] = replace(tubes[name], up=np.array([0.0, 1.0, 0.0]))
    return Bench(Layout({}, tubes, {}, {}), forces or {"one": [1.0], "two": [-1.0]})


def pair(**more):
    bench = truss(**more)
    return pair_of(bench, bench.layout.tubes["one"], 0)


def test_a_warren_pair_with_its_gap():
    # at 45 deg the feet stand 60 mm apart on the face when all axes meet; each is 30 √2 long
    found = pair(apart=0.0)
    assert found is not None and found.name == "two"
    assert found.gap == pytest.approx(0.060 - 0.030 * math.sqrt(2), rel=1e-9)
    assert found.mean_across == pytest.approx(0.030, rel=1e-12)
    # 28 mm apart they meet 14 mm below the axis, within a quarter of 60; 32 mm apart 16 mm below
    assert pair(apart=0.028) is not None and pair(apart=0.032) is None
    # axes that meet above the chord's own get no help here, though the codes would allow some
    assert pair(apart=-0.016) is None


def test_feet_meet_where_they_stand_on_the_face_not_on_the_axis():
    # leaning towards each other, axes 90 mm apart at the chord's own, 30 on its face: the feet run together
    bench = truss(apart=0.090, lean=(1.0, -1.0))
    assert landing_of(bench, bench.layout.tubes["one"], 0).clash == "two"
    # leaning apart from one place, they stand clear
    bench = truss(apart=0.0)
    assert landing_of(bench, bench.layout.tubes["one"], 0).clash == ""


SMALL = {"apart": 0.010, "brace": RoundTube(0.015, 0.0015)}


@pytest.mark.parametrize(
    "more",
    [
        {"lean": (1.0, 1.0)},  # alike: their axes never meet
        {"lean": (1.0, -1.0)},  # towards each other
        {"side": (1.0, -1.0)},  # on the far side
        {"apart": 0.0, "brace": RoundTube(0.041, 0.0015)},  # feet of 58 in 60: less gap than two walls
        {"other": RoundTube(0.012, 0.0015)},  # the wider of the two gets no help
    ],
)
def test_what_is_no_gap_joint(more):
    assert pair(**SMALL | more) is None


def test_on_a_square_chord_the_gap_has_a_range():
    # braces of 22 on 60: beta 0.367 takes gaps from 19 to 57 mm
    host = truss(chord=SQUARE).layout.tubes["chord"]
    for gap, fits in ((0.018, False), (0.020, True), (0.056, True), (0.058, False)):
        assert _in_range(host, Pair("two", 0, gap, 0.022), (0.022, 0.022)) is fits
    assert not _in_range(host, Pair("two", 0, 0.03, 0.018), (0.018, 0.018))  # under 0.35 of the face
    assert not _in_range(host, Pair("two", 0, 0.01, 0.054), (0.054, 0.054))  # over 0.85 of it
    assert not _in_range(host, Pair("two", 0, 0.02, 0.034), (0.024, 0.044))  # too unlike
    flat = replace(host, section=RectangularTube(0.060, 0.080, 0.003, 0.006))
    assert not _in_range(flat, Pair("two", 0, 0.030, 0.022), (0.022, 0.022))


def test_balance_is_square_to_the_chord_and_to_a_fifth():
    forces = {"one": [1e3, 1e3, 1e3, 0.0], "two": [-0.9e3, -0.7e3, 1e3, 0.0]}
    bench = truss(**SMALL, forces=forces)
    one = bench.layout.tubes["one"]
    found = pair_of(bench, one, 0)
    assert balanced(bench, one, 0, found).tolist() == [True, False, False, False]


def judged(landing, force, gap, paired, code="AISC 360"):
    zero = np.zeros(1)
    return tube_joint(
        name="one start",
        landing=landing,
        axial=np.array([force]),
        in_plane=zero,
        out_of_plane=zero,
        chord_use=zero,
        cases=["bump"],
        code=code,
        pair=Pair("two", 0, gap, 0.030),
        paired=np.array([paired]),
    )


ROUND = Landing(BRACE, CHORD, STEEL, math.pi / 4, True, 0.030, 0.030, 0.0, 0.4)
FLAT = replace(ROUND, chord=SQUARE, brace=RectangularTube(0.030, 0.030, 0.002, 0.004))


@pytest.mark.parametrize("code", ["AISC 360", "EN 1993"])
@pytest.mark.parametrize("landing", [ROUND, FLAT])
def test_a_gap_joint_by_hand(landing, code):
    together, alone = (judged(landing, 5e3, 0.02, paired, code) for paired in (True, False))
    assert any("gap joint" in note for note in together.assumed)
    assert any("single tube" in note for note in alone.assumed)
    gamma, strength = 10.0, 355e6
    if landing is ROUND:
        help_ = gamma**0.2 * (1 + 0.024 * gamma**1.2 / (1 + math.exp(0.5 * 20 / 3 - 1.33)))
        a, b = (2.0, 11.33) if code == "AISC 360" else (1.8, 10.2)
        folds = help_ * strength * 9e-6 * (a + b * 0.5) / math.sin(math.pi / 4)
    else:
        folds = 8.9 * strength * 9e-6 * math.sqrt(gamma) * 0.5 / math.sin(math.pi / 4)
    values = {step.symbol: step.value for step in together.because}
    assert values["N_1"] == pytest.approx(folds, rel=1e-9)


def test_a_round_brace_on_a_face_takes_pi_over_four():
    square, round_ = (judged(where, 5e3, 0.02, True) for where in (FLAT, replace(FLAT, brace=BRACE)))
    first, second = ({s.symbol: s.value for s in f.because}["N_1"] for f in (square, round_))
    assert second == pytest.approx(math.pi / 4 * first, rel=1e-12)
