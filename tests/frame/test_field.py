"""What went wrong for others: unequal arms, weight taken for mass, and reading forces along a member."""

import numpy as np
import pytest
from frame_kit import STEEL, make_frame, make_loads, random_frame, worst
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError
from soapstone.frame import (
    Loads,
    LumpedMass,
    Release,
    Spring,
    balance,
    member_displacements,
    member_forces,
    point_displacement,
    solve,
)

X, Y, Z = np.eye(3)
TUBE = {
    "elastic_modulus": 210e9,
    "area": np.pi / 4 * (0.040**2 - 0.034**2),
    "second_moment_y": np.pi / 64 * (0.040**4 - 0.034**4),
}


def tube_on_arms(start, end):
    frame = make_frame(
        {"A": (0, 0, 0), "B": (1, 0, 0)},
        {"tube": ("A", "B")},
        {"A": "xyzXYZ"},
        offsets=[[[0, 0, start], [0, 0, end]]],
        **TUBE,
    )
    return frame, make_loads(frame, nodal={"B": (2000, 0, -1000, 0, 0, 0)})


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    # Printed to five digits by an independent small solver, thin beam; half a unit of the last digit.
    [(0.05, 0.02, ("-1.3523", "-23.266", "0.034105")), (0.0, 0.0, ("0.0273", "-26.426", "0.039639"))],
)
def test_arms_of_unequal_length(start, end, expected):
    # Field case: a solver was right only when both offsets were equal.
    frame, loads = tube_on_arms(start, end)
    solution = solve(frame, loads)
    ux, uz, ry = solution.displacements[0, 1, [0, 2, 4]] * [1e3, 1e3, 1.0]
    for found, text in zip((ux, uz, ry), expected, strict=True):
        assert abs(found - float(text)) <= 0.5 * 10.0 ** -len(text.partition(".")[2])
    # Statics: whatever the arms.
    assert solution.reactions[0, 0] == pytest.approx([-2000, 0, 1000, 0, -1000, 0], rel=1e-9, abs=1e-6)


def test_arms_reach_a_body_as_a_stiff_member_would():
    frame, loads = tube_on_arms(0.05, 0.02)
    moved = solve(frame, loads).displacements[0, 1]
    nodes = {"A": (0, 0, 0), "A2": (0, 0, 0.05), "B2": (1, 0, 0.02), "B": (1, 0, 0)}
    members = {"stub": ("A", "A2"), "tube": ("A2", "B2"), "post": ("B2", "B")}
    stubs = {"elastic_modulus": np.array([1e6, 1.0, 1e6]) * 210e9}
    welded = make_frame(nodes, members, {"A": "xyzXYZ"}, **{**TUBE, **stubs})
    peer = solve(welded, make_loads(welded, nodal={"B": (2000, 0, -1000, 0, 0, 0)})).displacements[0, 3]
    # The stiff stubs still give by 1e-6 of a tube.
    assert worst(moved, peer) < 1e-5


@pytest.mark.parametrize("inch_pound", [False, True])
def test_weight_of_a_rectangular_tube(inch_pound):
    # Field case: 50 x 30 x 2.5, sharp corners, 7850 kg/m³, 2 m: 2.944 kg/m, 28.87 N/m, 28.87 N at each end.
    area, density, length, gravity = (50 * 30 - 45 * 25) * 1e-6, 7850.0, 2.0, 9.80665
    if inch_pound:
        inch, pound = 0.0254, 0.45359237
        area = area / inch**2 * inch**2
        density = (density * inch**3 / pound) * pound / inch**3
        length = length / inch * inch
        gravity = (gravity / inch) * inch
    frame = make_frame(
        {"A": (0, 0, 0), "B": (length, 0, 0)},
        {"tube": ("A", "B")},
        {"A": "xyzX", "B": "yz"},
        area=area,
        density=density,
    )
    loads = Loads.none(frame, ["own weight", "bump"])
    loads = loads.with_self_weight(frame, np.array([[0, 0, -gravity], [0, 0, -3 * gravity]]))
    solution = solve(frame, loads)
    assert density * area == pytest.approx(2.944, abs=0.0005)
    assert -loads.line[0, 0, 2] == pytest.approx(28.87, abs=0.005)
    assert solution.reactions[0, :, 2] == pytest.approx([28.87, 28.87], abs=0.005)
    assert solution.reactions[0, :, 2] == pytest.approx(375e-6 * 7850 * 9.80665, rel=1e-9)
    assert worst(solution.reactions[1], 3 * solution.reactions[0]) < 1e-12


def test_lumped_mass_pulls_at_its_own_centre():
    frame = make_frame({"A": (0, 0, 0), "B": (1, 0, 0)}, {"arm": ("A", "B")}, {"A": "xyzXYZ"})
    unit = LumpedMass(1, 92.0, np.array([0.2, -0.1, 0.3]))
    field = np.array([[0.0, 0.0, -9.80665], [4.0, 0.0, -9.80665]])
    loads = Loads.none(frame, ["still", "braking"]).with_masses([unit], field)
    solution = solve(frame, loads)
    weight = 92.0 * 9.80665
    # Statics about A of a mass at (1.2, -0.1, 0.3): M = -r x F.
    expected = [0, 0, weight, -0.1 * weight, -1.2 * weight, 0]
    assert solution.reactions[0, 0] == pytest.approx(expected, rel=1e-10, abs=1e-8)
    braking = [-368.0, 0, weight, -0.1 * weight, -1.2 * weight - 0.3 * 368.0, -0.1 * 368.0]
    assert solution.reactions[1, 0] == pytest.approx(braking, rel=1e-10, abs=1e-8)
    assert balance(frame, loads, solution).relative < 1e-12


def test_signs_along_a_cantilever():
    frame = make_frame({"A": (0, 0, 0), "B": (2, 0, 0)}, {"beam": ("A", "B")}, {"A": "xyzXYZ"})
    loads = make_loads(frame, nodal={"B": (7, 3, -5, 11, 0, 0)}, line={"beam": (1, 0, -2)})
    positions, forces = member_forces(frame, loads, solve(frame, loads), 3)
    assert positions[0].tolist() == [0.0, 1.0, 2.0]
    N, Vy, Vz, T, My, Mz = forces[0, 0].T
    # Statics of what hangs beyond the cut. Pull positive; load down stretches the top fibre: My > 0 ...
    assert pytest.approx([9.0, 8.0, 7.0], rel=1e-12) == N
    assert pytest.approx([3.0, 3.0, 3.0], rel=1e-12) == Vy
    assert pytest.approx([-9.0, -7.0, -5.0], rel=1e-12) == Vz
    assert pytest.approx([11.0, 11.0, 11.0], rel=1e-12) == T
    assert pytest.approx([14.0, 6.0, 0.0], rel=1e-12, abs=1e-12) == My
    # ... and a push to the left stretches the right side: sigma = -Mz y / Iz at y < 0, so Mz > 0.
    assert pytest.approx([6.0, 3.0, 0.0], rel=1e-12, abs=1e-12) == Mz


def test_forces_and_movements_of_one_member_are_those_of_its_pieces():
    properties = {"shear_area_y": 2.4e-4, "shear_area_z": 2.1e-4, "second_moment_z": 3e-7}
    ends = {"A": (0, 0, 0), "B": (0.9, 0.5, 0.4)}
    whole = make_frame(ends, {"m": ("A", "B")}, {"A": "xyzXYZ", "B": "xyX"}, **properties)
    middle = np.mean(list(ends.values()), axis=0)
    nodes = {"A": ends["A"], "M": middle, "B": ends["B"]}
    split = make_frame(nodes, {"m": ("A", "M"), "n": ("M", "B")}, {"A": "xyzXYZ", "B": "xyX"}, **properties)
    line, tip = (200, -300, -500), {"B": (0, 0, 40, 0, 30, 20)}
    loads = make_loads(whole, nodal=tip, line={"m": line})
    solution = solve(whole, loads)
    pieces = solve(split, make_loads(split, nodal=tip, line={"m": line, "n": line}))
    moved = member_displacements(whole, loads, solution, 3)[0, 0]
    assert worst(moved, pieces.displacements[0]) < 1e-10
    forces = member_forces(whole, loads, solution, 3)[1][0, 0]
    assert worst(forces[1], pieces.end_forces[0, 0, 6:]) < 1e-10


def test_released_end_moves_away_from_its_joint():
    frame = make_frame(
        {"A": (0, 0, 0), "B": (2, 0, 0)},
        {"beam": ("A", "B")},
        {"A": "xyzXYZ", "B": "xyzXYZ"},
        releases=[Release(0, 0, Y), Release(0, 1, Y), Release(0, 1, X, "translation")],
    )
    loads = make_loads(frame, line={"beam": (6, 0, -100)})
    solution = solve(frame, loads)
    moved = member_displacements(frame, loads, solution, 5)[0, 0]
    EI, EA = STEEL["elastic_modulus"] * 1.79e-7, STEEL["elastic_modulus"] * 4.75e-4
    assert not solution.displacements.any()
    assert moved[2, 2] == pytest.approx(-5 * 100 * 2**4 / (384 * EI), rel=1e-12)
    assert moved[0, 4] == pytest.approx(100 * 2**3 / (24 * EI), rel=1e-12)
    assert moved[4, 4] == pytest.approx(-100 * 2**3 / (24 * EI), rel=1e-10)
    assert moved[4, 0] == pytest.approx(6 * 2**2 / (2 * EA), rel=1e-12)
    assert abs(moved[4, 2]) < 1e-15


def test_point_carried_by_a_joint():
    frame, loads = tube_on_arms(0.05, 0.02)
    solution = solve(frame, loads)
    # The arm's tip moves as the tube's end does.
    tip = point_displacement(frame, solution, 1, [1, 0, 0.02])
    along = member_displacements(frame, loads, solution, [0.0, 1.0])
    assert worst(tip[0], along[0, 0, 1]) < 1e-12


def test_spring_between_bodies_and_its_reaction():
    # A body on a leaf: the spring sits at A, its other side belongs to the body 0.3 m away.
    k = np.diag([1e5, 2e5, 3e5, 10.0, 20.0, 30.0])
    nodes = {"A": (0, 0, 0), "body": (0.3, 0, 0)}
    frame = make_frame(nodes, {}, {}, springs=[Spring(0, k, 1), Spring(0, 2 * k)])
    loads = make_loads(frame, nodal={"body": (0, 0, -90, 0, 0, 0)})
    solution = solve(frame, loads)
    assert solution.reactions[0, 0] == pytest.approx([0, 0, 90, 0, -27, 0], rel=1e-9, abs=1e-9)
    # 27 N·m turns the two springs by 27/20 and 27/40; the body's own drop adds 0.3 of that.
    assert solution.displacements[0, 1, 4] == pytest.approx(27 / 20 + 27 / 40, rel=1e-9)
    assert solution.displacements[0, 1, 2] == pytest.approx(-90 / 3e5 - 90 / 6e5 - 0.3 * 2.025, rel=1e-9)
    assert balance(frame, loads, solution).relative < 1e-12


def test_wide_frames_take_the_sparse_way_to_the_same_answer(monkeypatch):
    frame, loads = random_frame(7, arms=True)
    band = solve(frame, loads)
    monkeypatch.setattr("soapstone.frame.factor._WIDEST_BAND", 0)
    sparse = solve(frame, loads)
    assert worst(sparse.displacements, band.displacements) < 1e-10
    loose = make_frame({"A": (0, 0, 0), "B": (1, 0, 0)}, {"m": ("A", "B")}, {"A": "xyz", "B": "xyz"})
    assert len(solve(loose, make_loads(loose, nodal={"A": (0, 0, 0, 0, 5, 0)})).idle) == 1


def small(**changes):
    given = {
        "nodes": {"A": (0, 0, 0), "B": (1, 0, 0)},
        "members": {"tube": ("A", "B")},
        "held": {"A": "xyzXYZ"},
    }
    return make_frame(**{**given, **changes})


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"nodes": {"A": (0, 0, 0), "B": (0, 0, 0)}}, "tube has no length; its two ends fall on one point"),
        ({"up": (1, 0, 0)}, "tube has its up direction along itself; give one across the member"),
        ({"area": 0.0}, "tube: the area is missing; give its section and material in full"),
        ({"torsion_constant": np.nan}, "tube: the torsion constant is missing; give its section"),
        ({"elastic_modulus": np.inf}, "tube: the elastic modulus is missing; give its section"),
        ({"density": -1.0}, "tube: the density is missing; give its section and material in full"),
        (
            {"releases": [Release(3, 0, Y)]},
            "a member, spring or release names a joint or member that is not there",
        ),
        (
            {"releases": [Release(0, 2, Y)]},
            "a member, spring or release names a joint or member that is not there",
        ),
        ({"springs": [Spring(0, np.eye(6), 9)]}, "a member, spring or release names a joint or member"),
        ({"offsets": np.zeros((2, 2, 3))}, "offsets has shape (2, 2, 3) where (1, 2, 3) belongs"),
    ],
)
def test_frames_that_make_no_sense(changes, text):
    with pytest.raises(GeometryError) as caught:
        _ = small(**changes).geometry
    assert str(caught.value).startswith(text)


def test_loads_that_make_no_sense():
    frame = small()
    with pytest.raises(GeometryError, match="nodal loads are not given for each of the 2 cases"):
        Loads(("one", "two"), np.zeros((1, 2, 6)), np.zeros((2, 1, 3)))
    with pytest.raises(GeometryError, match="line loads hold something that is no number"):
        Loads(("one",), np.zeros((1, 2, 6)), np.full((1, 1, 3), np.nan))
    with pytest.raises(GeometryError, match="the loads were made for another frame"):
        solve(frame, Loads(("one",), np.zeros((1, 3, 6)), np.zeros((1, 1, 3))))
    with pytest.raises(GeometryError, match="a release needs a direction"):
        Release(0, 0, np.zeros(3))
    with pytest.raises(GeometryError, match="a spring needs a symmetric table"):
        Spring(0, np.arange(36.0).reshape(6, 6))
    loads = make_loads(frame)
    with pytest.raises(GeometryError, match="at least two stations"):
        member_forces(frame, loads, solve(frame, loads), 1)


@settings(deadline=None, max_examples=30)
@given(start=st.floats(-0.2, 0.2), end=st.floats(-0.2, 0.2), across=st.floats(-0.2, 0.2))
def test_the_ground_does_not_feel_arms(start, end, across):
    """The whole kind of the case above: whatever the arms, the reactions are those of the loads alone."""
    frame = make_frame(
        {"A": (0, 0, 0), "B": (1, 0, 0)},
        {"tube": ("A", "B")},
        {"A": "xyzXYZ"},
        offsets=[[[0, across, start], [0, -across, end]]],
        **TUBE,
    )
    solution = solve(frame, make_loads(frame, nodal={"B": (2000, 0, -1000, 0, 0, 0)}))
    # Statics; the moments that cancel inside are some 400 N·m, of which 1e-9 is rounding.
    assert solution.reactions[0, 0] == pytest.approx([-2000, 0, 1000, 0, -1000, 0], rel=1e-9, abs=1e-6)
