"""Bent tubes: chords and their convergence, ovalling, thick curved bars."""

import numpy as np
import pytest
from frame_kit import make_frame, make_loads

from soapstone.errors import GeometryError
from soapstone.frame import arc, curved_rectangle, curved_tube, karman, ovalling, solve


def test_arc_runs_from_tangent_to_tangent():
    points = arc((0, 0, 0), (1, 0, 0), (1, 2, 0), 0.5, 10)
    assert points[0] == pytest.approx([0.5, 0, 0]) and points[-1] == pytest.approx([1, 0.5, 0])
    assert np.linalg.norm(points - [0.5, 0.5, 0], axis=1) == pytest.approx(0.5, rel=1e-12)
    skew = arc((-1, 0, 0), (0, 0, 0), (-1, 1, 1), 0.1, 1)
    # 125.26 degrees of turn: tangents of R tan(angle / 2).
    assert np.linalg.norm(skew[0]) == pytest.approx(0.1 * np.tan(np.arccos(-1 / 3**0.5) / 2), rel=1e-12)


@pytest.mark.parametrize(
    ("after", "radius", "count", "text"),
    [
        ((2, 0, 0), 0.5, 4, "the two runs are in line: there is nothing to bend"),
        ((1, 2, 0), 1.5, 4, "a bend of radius 1500 mm needs 1500 mm of each run; take a tighter radius"),
        ((1, 2, 0), 0.0, 4, "a bend needs two runs of some length, a radius and at least one chord"),
        ((1, 2, 0), 0.1, 0, "a bend needs two runs of some length, a radius and at least one chord"),
    ],
)
def test_bends_that_cannot_be(after, radius, count, text):
    with pytest.raises(GeometryError) as caught:
        arc((0, 0, 0), (1, 0, 0), after, radius, count)
    assert str(caught.value).startswith(text)


def drop(count):
    """A quarter bend of tube 20 x 2, R = 1 m, clamped, 100 N across its plane at the tip."""
    points = arc((0, 0, 0), (1, 0, 0), (1, 1, 0), 1.0, count)
    moment = np.pi / 64 * (0.020**4 - 0.016**4)
    frame = make_frame(
        {str(i): p for i, p in enumerate(points)},
        {str(i): (str(i), str(i + 1)) for i in range(count)},
        {"0": "xyzXYZ"},
        elastic_modulus=2e11,
        shear_modulus=2e11 / 2.6,
        second_moment_y=moment,
        second_moment_z=moment,
        torsion_constant=2 * moment,
    )
    loads = make_loads(frame, nodal={str(count): (0, 0, -100, 0, 0, 0)})
    return -solve(frame, loads).displacements[0, -1, 2]


def test_chords_converge_to_the_arc_with_the_square():
    """SFM SSLL07: 0.13462 m; closed form F R³ (pi / 4EI + (3 pi / 4 - 2) / GJ) = 0.13461866."""
    counts = np.array([4, 8, 16, 32])
    errors = np.array([abs(drop(int(c)) / 0.13461866 - 1) for c in counts])
    assert np.polyfit(np.log(counts), np.log(errors), 1)[0] == pytest.approx(-2.0, abs=0.05)
    # The bound that the docstring of `arc` gives.
    assert (errors < (np.pi / 2 / counts) ** 2 / 5).all()


def test_factors_of_a_pipe_bend():
    # NUREG/CR-1677 vol. 1, problem 1 (from memory): 1.65 r² / (t R) = 2.34158.
    inch = 0.0254
    bend = ovalling(7.288 * inch, 0.241 * inch, 36.3 * inch)
    assert bend.flexibility == pytest.approx(2.34158, abs=5e-6)
    assert bend.in_plane == pytest.approx(0.9 * (1.65 / 2.34158) ** (-2 / 3), rel=1e-5)
    assert bend.valid and bend.why == ""
    # A thick tube on a wide bend stays round: no factor below 1.
    wide = ovalling(0.040, 0.004, 0.2)
    assert wide.flexibility == wide.in_plane == wide.out_of_plane == 1.0


def test_where_the_factors_do_not_apply():
    assert ovalling(0.5, 0.004, 1.0).why == "its wall is thinner than 1/100 of its diameter"
    tight = ovalling(0.04, 0.002, 0.02)
    assert not tight.valid and tight.why == "its bend is tighter than the tube itself"
    with pytest.raises(GeometryError, match="a wall thinner than half its diameter"):
        ovalling(0.04, 0.02, 0.1)


def test_thin_bends_by_one_term_of_the_series():
    # h = 0.5: 13 / 4; stiff bends tend to 1; near h = 0.5 the rule of B31 says 3.3.
    assert karman(0.5) == pytest.approx(3.25, rel=1e-12)
    assert karman(100.0) == pytest.approx(1.0, abs=1e-4)
    assert ovalling(0.04, 0.001, 0.0195**2 / 0.001 / 2).flexibility == pytest.approx(karman(0.5), rel=0.02)


def test_thick_curved_bar():
    # Winkler; 20 wide between radii of 50 and 100 mm, 1 kN·m (closed form, printed to 8 digits).
    bar = curved_rectangle(0.020, 0.050, 0.100)
    assert bar.neutral * 1e3 == pytest.approx(72.134752, abs=5e-7)
    assert bar.stress(1000.0, [bar.inner, bar.outer]) / 1e6 == pytest.approx(
        [154.50497, -97.252483], rel=1e-7
    )
    with pytest.raises(GeometryError, match="the inner one smaller"):
        curved_rectangle(0.02, 0.1, 0.05)


def test_curved_tube_is_the_sum_of_its_strips():
    outside, wall, radius = 0.0381, 0.0025, 0.06
    bar = curved_tube(outside, wall, radius)
    angle, weight = np.polynomial.legendre.leggauss(200)
    around = [
        (
            np.pi
            / 2
            * weight
            * 2
            * (r * np.cos(np.pi / 2 * angle)) ** 2
            / (radius + r * np.sin(np.pi / 2 * angle))
        ).sum()
        for r in (outside / 2, outside / 2 - wall)
    ]
    assert bar.neutral == pytest.approx(bar.area / (around[0] - around[1]), rel=1e-9)
    # On a wide bend the stress is M r / I.
    far = curved_tube(outside, wall, 100.0)
    moment = np.pi / 64 * (outside**4 - (outside - 2 * wall) ** 4)
    assert far.stress(1.0, far.inner) == pytest.approx(outside / 2 / moment, rel=1e-3)
    with pytest.raises(GeometryError, match="a bend radius larger than its own"):
        curved_tube(0.04, 0.002, 0.015)
