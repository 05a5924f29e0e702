"""The true weld line of a coped end: its length, its openings, and the stress on its throats."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.finding import Verdict
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import coped, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.strength.seam import seam_of, throat_area, throat_stress
from soapstone.strength.seam_welds import seam_weld
from soapstone.strength.weld_lines import line_force
from soapstone.tables import filler, material

INCH = 0.0254
BRACE = RoundTube(1.5 * INCH, 0.002)


def seam_on(through, degrees=90.0, brace=BRACE, points=721):
    """The seam of `brace` that leaves a chord along x at an angle, in the x-z plane."""
    away = np.array([math.cos(math.radians(degrees)), 0.0, math.sin(math.radians(degrees))])
    host = Body("rail", through, Axes.along(np.zeros(3), [1.0, 0, 0], [0.0, 1, 0]))
    part = cut_tube(
        "brace", brace, np.zeros(3), 0.5 * away, [0.0, 1, 0], coped(host), square(0.0), points=points
    )
    return seam_of(part, part.end_a.outline, through.outline, host.axes), part


# exact ellipse on a flat face and exact saddle at width ratios 0.5 and 1.0, brace 1.5 in: seven digits;
# 720 chords per turn fall short of the curve by about (2 pi/720)^2/24 = 3e-6 of it
@pytest.mark.parametrize(
    ("chord", "degrees", "inches"),
    [
        (RectangularTube(0.1, 0.1, 0.004, 0.008), 90, 4.712389),
        (RectangularTube(0.1, 0.1, 0.004, 0.008), 60, 5.083438),
        (RectangularTube(0.1, 0.1, 0.004, 0.008), 45, 5.730297),
        (RoundTube(3.0 * INCH, 0.004), 90, 4.795867),
        (RoundTube(3.0 * INCH, 0.004), 60, 5.172663),
        (RoundTube(3.0 * INCH, 0.004), 45, 5.826547),
        (RoundTube(1.5 * INCH, 0.004), 90, 5.730297),
        (RoundTube(1.5 * INCH, 0.004), 60, 6.174887),
        (RoundTube(1.5 * INCH, 0.004), 45, 6.925737),
    ],
)
def test_length_of_the_line(chord, degrees, inches):
    seam, _ = seam_on(chord, degrees)
    assert seam.length / INCH == pytest.approx(inches, rel=2e-5)


def test_openings_of_a_square_tee_on_a_flat():
    seam, _ = seam_on(RectangularTube(0.1, 0.1, 0.004, 0.008))
    assert np.degrees(seam.openings) == pytest.approx(90.0, abs=1e-5)
    assert seam.lost_share == 0.0


@pytest.mark.parametrize("degrees", [45, 60, 75])
def test_openings_of_a_skewed_tee_on_a_flat(degrees):
    # on a flat the opening is acos(cos θ cos φ), φ from the heel: θ at the heel, 180° − θ at the toe
    seam, _ = seam_on(RectangularTube(0.1, 0.1, 0.004, 0.008), degrees)
    # pieces lie half a step (0.25°) beside heel and toe
    assert np.degrees(seam.openings.min()) == pytest.approx(degrees, abs=0.01)
    assert np.degrees(seam.openings.max()) == pytest.approx(180 - degrees, abs=0.01)
    assert (seam.lost_share > 0) is (degrees < 60)


def test_openings_of_an_equal_tee():
    # round on round of one size: 90° in the chord's own plane, and the outsides run together at the flanks
    seam, _ = seam_on(RoundTube(1.5 * INCH, 0.004))
    assert np.degrees(seam.openings.min()) == pytest.approx(90.0, abs=0.01)
    assert np.degrees(seam.openings.max()) > 178.0


def test_a_plane_seam_is_the_line_method():
    # on a flat at a right angle all is plane and the throat one: Shigley's ring, worst fibre and all
    seam, part = seam_on(RectangularTube(0.1, 0.1, 0.004, 0.008))
    leg = 0.003
    throats = throat_area(seam, leg)
    at = throats.centre
    forces = np.array([[1e3, 200.0, -300.0, 40.0, 50.0, -60.0], [0, 0, 0, 0, 100.0, 0]])
    ours = throat_stress(seam, throats, forces, at).max(axis=1) * leg / math.sqrt(2)
    theirs, _ = line_force(BRACE, forces)
    # 720 chords against a circle: modulus short by (2 pi/720)^2/6, worst place missed by half a step
    assert ours == pytest.approx(theirs, rel=3e-5)
    assert throats.area == pytest.approx(math.pi * 1.5 * INCH * leg / math.sqrt(2), rel=1e-5)
    assert part.end_a.outline.end.value == "A"


def judged(seam, forces=(1e3, 0, 0, 0, 50, 0), at=(0.02, 0, 0), leg=0.003, metal="ER70S-6"):
    return seam_weld(
        name="brace start",
        seam=seam,
        material=material("S355"),
        leg=leg,
        filler=filler(metal) if metal else None,
        forces=np.array([forces], dtype=float),
        at=np.array(at, dtype=float),
        cases=["bump"],
    )


@settings(deadline=None, max_examples=25)
@given(
    st.tuples(*[st.floats(-1e3, 1e3)] * 6).filter(lambda f: max(map(abs, f)) > 1),
    st.sampled_from([45.0, 60.0, 90.0]),
    st.tuples(*[st.floats(-0.05, 0.05)] * 3),
)
def test_moving_the_point_with_its_moment_changes_nothing(forces, degrees, shift):
    seam, _ = seam_on(RoundTube(3.0 * INCH, 0.004), degrees, points=61)
    force, moment = np.array(forces[:3]), np.array(forces[3:])
    moved = np.concatenate([force, moment - np.cross(shift, force)])
    first = judged(seam, forces, (0.02, 0, 0)).demand
    second = judged(seam, moved, np.array([0.02, 0, 0]) + shift).demand
    # statics: rounding of sums of a few hundred terms
    assert second == pytest.approx(first, rel=1e-8, abs=1e-3)


@settings(deadline=None, max_examples=20)
@given(st.floats(0.1, 10.0), st.floats(1.1, 2.0))
def test_it_runs_with_the_load_and_against_the_leg(load, leg):
    seam, _ = seam_on(RoundTube(3.0 * INCH, 0.004), 60, points=61)
    base = judged(seam).demand
    assert judged(seam, (1e3 * load, 0, 0, 0, 50 * load, 0)).demand == pytest.approx(load * base, rel=1e-9)
    assert judged(seam, leg=0.003 * leg).demand == pytest.approx(base / leg, rel=1e-9)


def test_throats_balance_the_load():
    """The stresses times their areas add up to the force again, and to the moment."""
    seam, _ = seam_on(RoundTube(3.0 * INCH, 0.004), 45)
    throats = throat_area(seam, 0.003)
    forces = np.array([[1e3, -200.0, 300.0, 20.0, 30.0, -40.0]])
    pieces = seam.throats(0.003) * seam.lengths
    turn = np.linalg.solve(throats.second, forces[0, 3:])
    arm = seam.points - throats.centre
    stress = forces[0, :3] / throats.area + np.cross(turn, arm)
    assert pieces @ stress == pytest.approx(forces[0, :3], rel=1e-9, abs=1e-9)
    assert pieces @ np.cross(arm, stress) == pytest.approx(forces[0, 3:], rel=1e-9, abs=1e-9)
    size = throat_stress(seam, throats, forces, throats.centre)[0]
    assert size[seam.fused] == pytest.approx(np.linalg.norm(stress, axis=1)[seam.fused], rel=1e-12)


def test_open_only_when_too_much_is_lost():
    slight, _ = seam_on(RectangularTube(0.1, 0.1, 0.004, 0.008), 50)
    assert 0 < slight.lost_share < 0.25
    holds = judged(slight)
    assert holds.verdict is Verdict.HOLDS and any("counts as no weld" in note for note in holds.assumed)
    sharp, _ = seam_on(RectangularTube(0.1, 0.1, 0.004, 0.008), 20)
    opened = judged(sharp)
    assert opened.verdict is Verdict.OPEN and "60 deg" in opened.remedy


def test_missing_leg_or_filler_is_open_and_short_names_a_leg():
    seam, _ = seam_on(RoundTube(3.0 * INCH, 0.004))
    assert "leg" in judged(seam, leg=None).remedy
    assert "filler" in judged(seam, metal=None).remedy
    short = judged(seam, (5e4, 0, 0, 0, 0, 0))
    assert short.verdict is Verdict.SHORT and short.remedy.startswith("lay a fillet")
    assert "weaker" in judged(seam, metal="E6013").caution
    assert any("memory" in note for note in judged(seam, metal="E6013").assumed)


def test_a_rectangular_end_and_a_sharp_cornered_host():
    box = RectangularTube(0.03, 0.04, 0.002, 0.004)
    seam, _ = seam_on(RectangularTube(0.1, 0.1, 0.004, 0.0), 70, brace=box)
    # two sides stand square, heel and toe at the angle between the axes
    assert np.degrees(seam.openings.min()) == pytest.approx(70, abs=0.1)
    assert np.degrees(seam.openings.max()) == pytest.approx(110, abs=0.1)
