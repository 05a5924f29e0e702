"""Linear buckling and second-order statics against closed forms; how fast the pieces converge."""

import numpy as np
import pytest
from frame_kit import make_frame, make_loads, random_frame, worst

from soapstone.errors import LooseError
from soapstone.frame import Loads, Release, Spring, buckling, member_forces, refine, second_order, solve

X, Y, Z = np.eye(3)
UNIT = {"elastic_modulus": 1.0, "shear_modulus": 1.0, "second_moment_y": 1.0, "second_moment_z": 100.0}
STRIP = {**UNIT, "torsion_constant": 1.0, "second_moment_y": 1e6, "second_moment_z": 1.0, "area": 1e6}
PINNED = {"A": "xyzX", "B": "yz"}


def column(held, **given):
    nodes = {"A": (0, 0, 0), "B": (1, 0, 0)}
    return make_frame(nodes, {"column": ("A", "B")}, held, **{**UNIT, "area": 1e6, **given})


def lowest(frame, loads, pieces):
    return buckling(frame, loads, 1, pieces)[0].factors[0]


def pushed(frame, push=1.0):
    return make_loads(frame, nodal={"B": (-push, 0, 0, 0, 0, 0)})


# Euler's four cases: P L² / EI; the last is the square of the root of tan z = z.
EULER = [
    (PINNED, np.pi**2),
    ({"A": "xyzXYZ"}, np.pi**2 / 4),
    ({"A": "xyzXYZ", "B": "yzXYZ"}, 4 * np.pi**2),
    ({"A": "xyzXYZ", "B": "yzX"}, 4.493409457909064**2),
]


@pytest.mark.parametrize(("held", "factor"), EULER)
def test_euler_columns(held, factor):
    frame = column(held)
    # Cubic shapes: the error is (half-wave / pieces)⁴ / 720, 8e-5 at most in these; 12 pieces.
    assert lowest(frame, pushed(frame), 12) == pytest.approx(factor, rel=1.1e-4)


def order(errors, pieces):
    return np.polyfit(np.log(pieces), np.log(np.abs(errors)), 1)[0]


def test_columns_converge_with_the_fourth_power():
    frame = column(PINNED)
    pieces = np.array([2, 4, 8, 16])
    errors = [lowest(frame, pushed(frame), int(p)) / np.pi**2 - 1 for p in pieces]
    assert min(errors) > 0.0
    assert order(errors, pieces) == pytest.approx(-4.0, abs=0.1)


def test_turning_over_converges_with_the_square():
    frame = column({"A": "xyzX", "B": "yzX"}, **STRIP)
    loads = make_loads(frame, nodal={"A": (0, 0, 0, 0, 1, 0), "B": (0, 0, 0, 0, -1, 0)})
    pieces = np.array([4, 8, 16, 32])
    errors = [lowest(frame, loads, int(p)) / np.pi - 1 for p in pieces]
    # Twist runs straight within a piece.
    assert order(errors, pieces) == pytest.approx(-2.0, abs=0.1)
    assert abs(errors[-1]) < 5e-4


def test_narrow_cantilever_turns_over():
    # 4.0126 sqrt(EI GJ) / L², Timoshenko and Gere (from memory); 20 pieces leave 6e-4.
    frame = column({"A": "xyzXYZ"}, **STRIP)
    found = buckling(frame, make_loads(frame, nodal={"B": (0, 0, -1, 0, 0, 0)}), 1, 20)[0]
    assert found.factors[0] == pytest.approx(4.0126, rel=1e-3)
    assert found.words == ("joint B sways sideways and column twists about its own axis",)


@pytest.mark.parametrize(("push", "expected"), [(1.0, 1.088), (-1.0, 0.680)])
def test_right_angle_strip_pushed_both_ways(push, expected):
    """Argyris' right-angle frame, code_aster SSLL105: 1.088 and 0.680 N; 1e-3 is that test's own tolerance.

    Without the moments in the geometric stiffness, or with moments that do not follow the joint's rotation,
    the two ways come out wrong.
    """
    nodes = {"A": (0, 0, 0), "B": (0, 0, 0.24), "C": (0.24, 0, 0.24)}
    strip = {"area": 18e-6, "second_moment_y": 1350e-12, "second_moment_z": 0.54e-12}
    frame = make_frame(
        nodes,
        {"leg": ("A", "B"), "arm": ("B", "C")},
        {"A": "xyzXYZ"},
        elastic_modulus=71240e6,
        shear_modulus=71240e6 / 2.62,
        torsion_constant=2.16e-12,
        **strip,
    )
    found = buckling(frame, make_loads(frame, nodal={"C": (0, 0, push, 0, 0, 0)}), 1, 12)[0]
    assert found.factors[0] == pytest.approx(expected, rel=1e-3)
    assert found.words == ("joint C sways sideways and leg twists about its own axis",)


def test_a_bar_held_all_over_never_buckles():
    frame = column({"A": "xyzXYZ", "B": "xyzXYZ"})
    assert buckling(frame, pushed(frame), 1, 1)[0].factors.size == 0


def test_portal_sways():
    # kh tan kh = 6 for equal beam and columns (Timoshenko and Gere).
    nodes = {"A": (0, 0, 0), "B": (0, 0, 1), "C": (1, 0, 1), "D": (1, 0, 0)}
    members = {"left": ("A", "B"), "beam": ("B", "C"), "right": ("C", "D")}
    held = {"A": "xyzXZ", "B": "yXZ", "C": "yXZ", "D": "xyzXZ"}
    frame = make_frame(nodes, members, held, **{**UNIT, "area": 1e6})
    loads = make_loads(frame, nodal=dict.fromkeys("BC", (0, 0, -1, 0, 0, 0)))
    found = buckling(frame, loads, 1, 8)[0]
    assert found.factors[0] == pytest.approx(1.8212928, rel=1e-5)
    assert found.words[0] in ("joint B sways fore and aft", "joint C sways fore and aft")


def test_column_under_its_own_weight():
    # 7.8373474: root of the Bessel function J(-1/3) (Timoshenko and Gere print 7.837).
    frame = make_frame(
        {"A": (0, 0, 0), "B": (0, 0, 1)}, {"mast": ("A", "B")}, {"A": "xyzXYZ"}, **UNIT, area=1e6
    )
    assert lowest(frame, make_loads(frame, line={"mast": (0, 0, -1)}), 8) == pytest.approx(
        7.8373474, rel=2e-5
    )


def test_what_is_pulled_never_buckles_and_which_member_bows_is_told():
    nodes = {"A": (0, 0, 0), "B": (1, 0, 0), "C": (0, 0, 1)}
    members = {"strut": ("A", "B"), "tie": ("C", "B")}
    across = ((0, Y), (0, Z), (1, Y), (1, X + Z))
    releases = [Release(m, e, axis) for m, axis in across for e in (0, 1)]
    frame = make_frame(nodes, members, {"A": "xyzXYZ", "B": "yXYZ", "C": "xyzXYZ"}, releases=releases)
    up, down = (make_loads(frame, nodal={"B": (0, 0, f, 0, 0, 0)}) for f in (1e3, -1e3))
    both = Loads(
        ("up", "down"), *(np.concatenate([getattr(a, k) for a in (up, down)]) for k in ("nodal", "line"))
    )
    tie, strut = buckling(frame, both, 2, 8)
    # Statics: the strut carries 1 kN, the tie 1.414 kN; each a pinned Euler column of its own length.
    critical = np.pi**2 * 205e9 * 1.79e-7
    assert strut.factors == pytest.approx([critical / 1e3] * 2, rel=1e-4)
    assert tie.factors == pytest.approx([critical / 2 / (1e3 * 2**0.5)] * 2, rel=1e-4)
    assert {words.split(" ")[0] for words in strut.words} == {"strut"}
    assert {words.rsplit("bows ")[1] for words in strut.words} == {"sideways", "up and down"}
    hanging = column({"A": "xyzXYZ"})
    pulled = buckling(hanging, pushed(hanging, -1.0))[0]
    assert pulled.factors.size == 0 and pulled.shapes.shape == (0, 2, 6) and pulled.words == ()


def test_column_on_arms_and_a_spring():
    """A rigid bar of length h on a turning spring k falls over at k / h: only its arm bends the balance."""
    k = np.diag([0, 0, 0, 1e9, 500.0, 1e9])
    nodes = {"A": (0, 0, 0), "B": (0, 0, 1)}
    frame = make_frame(
        nodes,
        {"stub": ("A", "B")},
        {"A": "xyz", "B": ""},
        offsets=[[[0, 0, 0.9], [0, 0, 0]]],
        springs=[Spring(0, k)],
    )
    loads = make_loads(frame, nodal={"B": (0, 0, -1, 0, 0, 0)})
    # The stub itself gives by k L / (3 EI) < 1e-3.
    assert lowest(frame, loads, 1) == pytest.approx(500.0, rel=1e-3)
    words = buckling(column(PINNED), pushed(column(PINNED)), 1, 1)[0].words
    assert words == ("joint A turns about the line across",)


def test_large_frames_take_the_iterative_way_to_the_same_answer(monkeypatch):
    frame, loads = random_frame(4, cases=1)
    dense = buckling(frame, loads, 3, 2)[0]
    monkeypatch.setattr("soapstone.frame.eigen._DENSE", 10)
    sparse = buckling(frame, loads, 3, 2)[0]
    # Lanczos stops at machine precision.
    assert sparse.factors == pytest.approx(dense.factors, rel=1e-8)
    assert sparse.words == dense.words


# AISC 360 Commentary, benchmark case 1 without shear: 28 ft, W14x48, 0.200 kip/ft; and the closed form.
@pytest.mark.parametrize(
    ("push", "moment", "shift"),
    [
        (0, 235.20078, 0.19706127),
        (150, 268.89009, 0.22460062),
        (300, 313.51652, 0.26105506),
        (450, 375.41441, 0.31158757),
    ],
)
def test_beam_column_under_uniform_load(push, moment, shift):
    frame = make_frame(
        {"A": (0, 0, 0), "B": (336, 0, 0)},
        {"column": ("A", "B")},
        PINNED,
        elastic_modulus=29e3,
        shear_modulus=11.2e3,
        area=14.1,
        second_moment_y=484.0,
        second_moment_z=484.0,
    )
    loads = make_loads(frame, nodal={"B": (-push, 0, 0, 0, 0, 0)}, line={"column": (0, 0, -0.2 / 12)})
    cut = refine(frame, loads, 8)
    solution = second_order(cut.frame, cut.loads)
    # Eight pieces: (pi / 8)⁴ / 720 = 3e-5; the closed form is printed to 8 digits.
    assert abs(solution.displacements[0, cut.along(0)[4], 2]) == pytest.approx(shift, rel=3e-5)
    assert abs(solution.end_forces[0, 3, 10]) == pytest.approx(moment, rel=3e-5)
    assert abs(solution.end_forces[0, 4, 4]) == pytest.approx(moment, rel=3e-5)
    assert solution.reactions[0, 0, :3] == pytest.approx([push, 0, 2.8], rel=1e-9, abs=1e-9)


def test_cantilever_balances_in_its_bent_shape():
    """The foot carries the push times the sway: M = H L + P d, whatever the mesh."""
    frame = make_frame({"A": (0, 0, 0), "B": (0, 0, 2)}, {"mast": ("A", "B")}, {"A": "xyzXYZ"})
    loads = make_loads(frame, nodal={"B": (100.0, 0, -1.5e4, 0, 0, 0)})
    solution = second_order(frame, loads)
    sway = solution.displacements[0, 1, 0]
    # Euler's load is 22.6 kN: the sway grows by about 1 / (1 - 15 / 22.6).
    assert sway > 2.5 * solve(frame, loads).displacements[0, 1, 0]
    assert solution.reactions[0, 0, 4] == pytest.approx(-(100.0 * 2 + 1.5e4 * sway), rel=1e-8)
    # Across the turned chord the moment runs straight from the foot to nothing at the tip.
    moments = member_forces(frame, loads, solution, 2)[1][0, 0, :, 4]
    assert abs(moments[1]) < 1e-8 * abs(moments[0])


def test_second_order_grows_beyond_bounds_where_buckling_says_so():
    frame = column(PINNED, area=1e4)
    critical = lowest(frame, pushed(frame), 1)
    side = make_loads(frame, line={"column": (0, 0, -1e-3)})
    below = Loads(("below",), side.nodal + 0.99 * critical * pushed(frame).nodal, side.line)
    sway = np.abs(second_order(frame, below).displacements[0, :, 4]).max()
    # One piece: its only shape is grown by 1 / (1 - 0.99).
    assert sway == pytest.approx(100 * np.abs(solve(frame, side).displacements[0, :, 4]).max(), rel=1e-3)
    above = Loads(("above",), 1.01 * critical * pushed(frame).nodal, side.line)
    with pytest.raises(LooseError, match="above is more than the frame can bear before it buckles"):
        second_order(frame, above)


def test_without_axial_force_second_order_is_first_order():
    frame = column({"A": "xyzXYZ"})
    loads = make_loads(frame, nodal={"B": (0, 0, -1e-3, 1e-3, 0, 0)})
    assert worst(second_order(frame, loads).displacements, solve(frame, loads).displacements) < 1e-12
