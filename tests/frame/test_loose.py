"""A mechanism is named; a joint that nobody turns, or a merely soft frame, is not one."""

import numpy as np
import pytest
from frame_kit import STEEL, make_frame, make_loads, worst
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import LooseError
from soapstone.frame import Loads, Release, Spring, balance, member_forces, solve

X, Y, Z = np.eye(3)
BEAM = {"A": (0, 0, 0), "B": (1, 0, 0), "C": (2, 0, 0)}
HALVES = {"left": ("A", "B"), "right": ("B", "C")}


def loose(frame, loads):
    with pytest.raises(LooseError) as caught:
        solve(frame, loads)
    return str(caught.value)


def test_hinge_in_the_middle_of_a_simple_span_drops():
    # Field case: solvers believed reactions and movements of 1e17; found in several beam programs.
    frame = make_frame(BEAM, HALVES, {"A": "xyzX", "C": "yzX"}, releases=[Release(0, 1, Y)])
    loads = make_loads(frame, line={"left": (0, 0, -1e4), "right": (0, 0, -1e4)})
    assert loose(frame, loads) == (
        "joint B drops: the end of left that meets it is free to give way; "
        "tie it to something that holds it, hold it, or make one of those ends fast"
    )


def test_the_same_hinge_unloaded_is_still_a_mechanism():
    frame = make_frame(BEAM, HALVES, {"A": "xyzX", "C": "yzX"}, releases=[Release(0, 1, Y), Release(1, 0, Y)])
    loads = make_loads(frame, nodal={"B": (1000, 0, 0, 0, 0, 0)})
    assert loose(frame, loads) == (
        "joint B can move up and down: the ends of left and right that meet there are free to give way; "
        "tie it to something that holds it, hold it, or make one of those ends fast"
    )


def test_a_push_the_other_way_rises():
    frame = make_frame(BEAM, HALVES, {"A": "xyzX", "C": "yzX"}, releases=[Release(0, 1, Y)])
    loads = make_loads(frame, nodal={"B": (0, 0, 5, 0, 0, 0)})
    assert loose(frame, loads).startswith("joint B rises: ")


def test_pinned_triangle_carries_its_load():
    # Field case: sloping bars -707.1 N, bottom bar +500.0 N, reactions 500 each (statics).
    members = {"bottom": ("A", "B"), "left": ("A", "C"), "right": ("B", "C")}
    releases = [Release(m, e, Y) for m in range(3) for e in (0, 1)]
    held = {"A": "xyzXZ", "B": "yzXZ", "C": "yXZ"}
    nodes = {"A": (0, 0, 0), "B": (1, 0, 0), "C": (0.5, 0, 0.5)}
    frame = make_frame(nodes, members, held, releases=releases)
    loads = make_loads(frame, nodal={"C": (0, 0, -1000, 0, 0, 0)})
    solution = solve(frame, loads)
    _, forces = member_forces(frame, loads, solution, 2)
    # Statics of a determinate truss: exact but for rounding.
    assert forces[0, :, 0, 0] == pytest.approx([500.0, -500.0 * 2**0.5, -500.0 * 2**0.5], rel=1e-12)
    assert solution.reactions[0, :2, 2] == pytest.approx([500.0, 500.0], rel=1e-12)
    assert len(solution.idle) == 3
    assert solution.idle[0].startswith("joint A can spin about the line across: the ends of bottom and left")


@pytest.mark.parametrize("axis", [Y, [0.3, 1.0, 0.2]])
def test_a_turned_free_joint_is_named(axis):
    # The bolt's axis need not be along the frame's axes.
    releases = [Release(0, 1, axis), Release(1, 0, axis)]
    frame = make_frame(BEAM, HALVES, {"A": "xyzXYZ", "C": "xyzXYZ"}, releases=releases)
    quiet = make_loads(frame, nodal={"B": (0, 0, -100, 0, 0, 0)})
    assert solve(frame, quiet).displacements[0, 1, 2] < 0.0
    turned = make_loads(frame, nodal={"B": (0, 0, -100, 0, 1e-3, 0)})
    assert loose(frame, turned).startswith(
        "joint B can spin about the line across: the ends of left and right"
    )


RAIL = {"rail_left": ("A", "B")}


def test_rail_pinned_at_both_ends_spins_when_turned():
    frame = make_frame(BEAM, HALVES, {"A": "xyz", "C": "xyz"})
    quiet = make_loads(frame, nodal={"B": (0, 0, -100, 0, 0, 0)})
    solution = solve(frame, quiet)
    assert solution.idle == ("left and right can spin about their own axis: both ends are pinned",)
    EI = STEEL["elastic_modulus"] * 1.79e-7
    # PL³/48EI with L = 2 m: exact but for rounding.
    assert solution.displacements[0, 1, 2] == pytest.approx(-100 * 2**3 / (48 * EI), rel=1e-10)
    assert loose(frame, make_loads(frame, nodal={"B": (0, 0, 0, 1, 0, 0)})).startswith(
        "left and right can spin about their own axis: both ends are pinned; clamp one end"
    )


def test_one_rail_spins_about_its_own_axis():
    frame = make_frame({"A": (0, 0, 0), "B": (1, 1, 0)}, RAIL, {"A": "xyz", "B": "xyz"})
    text = loose(frame, make_loads(frame, nodal={"A": (0, 0, 0, 1, 1, 0)}))
    assert text.startswith("rail_left can spin about its own axis: both ends are pinned; ")


def test_an_arm_on_a_spinning_rail_is_a_mechanism_even_without_load():
    nodes = {**BEAM, "D": (1, 0.5, 0)}
    frame = make_frame(nodes, {**HALVES, "arm": ("B", "D")}, {"A": "xyz", "C": "xyz"})
    text = loose(frame, make_loads(frame, line={"left": (0, 0, -5)}))
    assert text.startswith(
        "the whole frame can swing about the fore-and-aft line: its supports let it turn; "
    )


def test_unheld_frame_moves():
    frame = make_frame(BEAM, HALVES, {"A": "z", "C": "z"})
    text = loose(frame, make_loads(frame, nodal={"B": (0, 0, -100, 0, 0, 0)}))
    assert text == (
        "the whole frame can move fore and aft and sideways: nothing holds it that way; "
        "hold at least one of its joints that way"
    )


def test_a_part_that_hangs_on_nothing_is_named():
    nodes = {**BEAM, "D": (0, 1, 0), "E": (1, 1, 0)}
    frame = make_frame(nodes, {**HALVES, "stray": ("D", "E")}, {"A": "xyzXYZ"})
    text = loose(frame, make_loads(frame, nodal={"B": (0, 0, -100, 0, 0, 0)}))
    assert text.startswith(
        "stray can move fore and aft and sideways and up and down: nothing holds it that way"
    )


def test_a_part_of_several_members_is_named_by_its_first():
    nodes = {**BEAM, "D": (0, 1, 0), "E": (1, 1, 0), "F": (2, 1, 0)}
    members = {**HALVES, "stray": ("D", "E"), "end": ("E", "F")}
    frame = make_frame(nodes, members, {"A": "xyzXYZ", "D": "xyXYZ", "F": "xyXYZ"})
    text = loose(frame, make_loads(frame, nodal={"B": (0, 0, -100, 0, 0, 0)}))
    assert text.startswith("stray and what is fixed to it can move up and down: nothing holds it that way")


def test_many_stray_parts_are_one_message():
    nodes = {f"{side}{i}": (x, i, 0) for i in range(12) for side, x in (("A", 0), ("B", 1))}
    frame = make_frame(nodes, {f"tube_{i}": (f"A{i}", f"B{i}") for i in range(12)}, {"A0": "xyzXYZ"})
    text = loose(frame, make_loads(frame, nodal={"B0": (0, 0, -1, 0, 0, 0)}))
    assert text.startswith(
        "tube_1 can move fore and aft and sideways and up and down: nothing holds it that way"
    )


def test_four_bar_linkage_moves_sideways():
    nodes = {"A": (0, 0, 0), "B": (0, 0, 1), "C": (0, 1, 1), "D": (0, 1, 0)}
    members = {"post_left": ("A", "B"), "cross": ("B", "C"), "post_right": ("C", "D")}
    releases = [Release(0, 1, X), Release(1, 1, X)]
    held = {"A": "xyzYZ", "D": "xyzYZ"}
    frame = make_frame(nodes, members, held, releases=releases)
    text = loose(frame, make_loads(frame, nodal={"C": (0, 100, 0, 0, 0, 0)}))
    assert text.startswith("joint C moves left: the end of cross that meets it is free to give way; ")


def test_lone_points_matter_only_when_loaded():
    nodes = {**BEAM, "mark": (0, 2, 0)}
    frame = make_frame(nodes, HALVES, {"A": "xyzXYZ"})
    tip = {"C": (0, 0, -100, 0, 0, 0)}
    solution = solve(frame, make_loads(frame, nodal=tip))
    assert not solution.displacements[0, 3].any()
    assert solution.idle == ()
    text = loose(frame, make_loads(frame, nodal={**tip, "mark": (0, 0, -1, 0, 0, 0)}))
    assert text.startswith("joint mark can move ") and "nothing holds it that way" in text


def test_member_free_to_slide_at_both_ends():
    releases = [Release(0, e, X, "translation") for e in (0, 1)]
    frame = make_frame(
        {"A": (0, 0, 0), "B": (1, 0, 0)}, RAIL, {"A": "xyzXYZ", "B": "xyzXYZ"}, releases=releases
    )
    across = make_loads(frame, line={"rail_left": (0, 0, -5)})
    assert solve(frame, across).reactions[0, :, 2] == pytest.approx([2.5, 2.5], rel=1e-12)
    assert loose(frame, make_loads(frame, line={"rail_left": (1, 0, -5)})) == (
        "rail_left can slide along its own axis: its ends are free that way; make one of its ends fast"
    )


def test_member_that_its_releases_let_fall():
    releases = [Release(0, e, Z, "translation") for e in (0, 1)]
    frame = make_frame(
        {"A": (0, 0, 0), "B": (1, 0, 0)}, RAIL, {"A": "xyzXYZ", "B": "xyzXYZ"}, releases=releases
    )
    text = loose(frame, make_loads(frame, line={"rail_left": (0, 0, -5)}))
    assert text.startswith("rail_left can move across its own axis")


def test_joint_that_can_only_slide_where_it_is_not_held():
    releases = [Release(0, 1, Z, "translation")]
    frame = make_frame({"A": (0, 0, 0), "B": (1, 0, 0)}, RAIL, {"A": "xyzXYZ"}, releases=releases)
    text = loose(frame, make_loads(frame, nodal={"B": (5, 0, 0, 0, 0, 0)}))
    assert text.startswith("joint B can move up and down: the end of rail_left that meets it is free")


def test_body_on_springs_that_miss_a_direction():
    stiffness = np.diag([0, 1e5, 1e5, 1e3, 1e3, 1e3])
    nodes = {"A": (0, 0, 0), "body": (0.3, 0, 0)}
    frame = make_frame(nodes, {}, {"A": "xyzXYZ"}, springs=[Spring(0, stiffness, 1)])
    text = loose(frame, make_loads(frame, nodal={"body": (0, 0, -10, 0, 0, 0)}))
    assert text.startswith("joint body can move fore and aft: ")


def chain(count, length=1.0, **properties):
    """A cantilever of `count` equal beams."""
    nodes = {f"n{i}": (length * i / count, 0, 0) for i in range(count + 1)}
    members = {f"m{i}": (f"n{i}", f"n{i + 1}") for i in range(count)}
    return make_frame(nodes, members, {"n0": "xyzXYZ"}, **properties)


@pytest.mark.parametrize(("count", "tolerance"), [(100, 1e-7), (400, 1e-4)])
def test_long_chain_is_soft_and_no_mechanism(count, tolerance):
    # The condition grows with count⁴ (1e9 and 3e11): what is left of 16 digits is the tolerance.
    frame = chain(count)
    solution = solve(frame, make_loads(frame, nodal={f"n{count}": (0, 0, -100, 0, 0, 0)}))
    expected = -100 / (3 * STEEL["elastic_modulus"] * 1.79e-7)
    assert solution.displacements[0, -1, 2] == pytest.approx(expected, rel=tolerance)
    assert solution.residual < 1e-6


def test_chain_hinged_at_its_root_is_a_mechanism():
    frame = chain(100, releases=[Release(0, 0, Y)])
    text = loose(frame, make_loads(frame, nodal={"n100": (0, 0, -100, 0, 0, 0)}))
    assert text.startswith("joint n100 drops: ")


def test_very_soft_mount_beside_a_stiff_tube_is_no_mechanism():
    # A spring 1e9 times softer than the tube's own stiffness.
    frame = make_frame(
        BEAM,
        HALVES,
        {"A": "xy", "C": "xyX"},
        springs=[Spring(i, np.diag([0, 0, 0.1, 0, 0, 0])) for i in (0, 2)],
    )
    loads = make_loads(frame, nodal={"B": (0, 0, -1, 0, 0, 0)})
    solution = solve(frame, loads)
    assert solution.displacements[0, 0, 2] == pytest.approx(-5.0, rel=1e-6)
    assert solution.reactions[0, [0, 2], 2] == pytest.approx([0.5, 0.5], rel=1e-6)
    assert balance(frame, loads, solution).relative < 1e-9


@pytest.mark.parametrize("times", [1e11, 1e13, 1e16])
def test_numbers_that_drown_in_rounding_are_refused_but_no_mechanism_claimed(times):
    # The first half so much softer than the second: its tip forces come out of the 16th digit.
    soft = {"elastic_modulus": [205e9, 205e9 * times], "shear_modulus": [79e9, 79e9 * times]}
    frame = make_frame(BEAM, HALVES, {"A": "xyzXYZ"}, **soft)
    text = loose(frame, make_loads(frame, nodal={"C": (0, 0, -1, 0, 0, 0)}))
    assert text == (
        "joint C is all but loose: what holds it is too soft against the rest to be computed; "
        "tie it to something that holds it, or check the sections on its way to the supports"
    )


def test_a_frame_that_cannot_even_be_factored_is_refused(monkeypatch):
    monkeypatch.setattr("soapstone.frame.loose.factor", lambda system, shift=0.0: None)
    frame = chain(2, releases=[Release(0, 0, Y)])
    text = loose(frame, make_loads(frame))
    assert text == "the frame is all but loose: nothing can be computed from it"


def test_hinges_of_a_truss_are_all_idle_and_the_answer_unmoved_by_their_number():
    # A ladder truss with every end free about all three axes: 3 idle spins at each joint.
    bays = 12
    nodes = {f"{row}{i}": (i, 0, z) for row, z in (("low", 0), ("top", 1)) for i in range(bays + 1)}
    members = {}
    for i in range(bays):
        members[f"l{i}"] = (f"low{i}", f"low{i + 1}")
        members[f"t{i}"] = (f"top{i}", f"top{i + 1}")
        members[f"d{i}"] = (f"low{i}", f"top{i + 1}")
    for i in range(bays + 1):
        members[f"p{i}"] = (f"low{i}", f"top{i}")
    releases = [Release(m, e, a) for m in range(len(members)) for e in (0, 1) for a in (X, Y, Z)]
    held = dict.fromkeys(nodes, "y") | {"low0": "xyz", f"low{bays}": "yz"}
    frame = make_frame(nodes, members, held, releases=releases)
    loads = make_loads(frame, nodal={f"top{i}": (0, 0, -100, 0, 0, 0) for i in range(bays + 1)})
    solution = solve(frame, loads)
    assert len(solution.idle) == 3 * len(nodes)
    _, forces = member_forces(frame, loads, solution, 2)
    # Method of sections at the middle: half the load times its lever over the height of 1 m.
    half = sum((i - 6) * 100.0 for i in range(7, 13))
    moment = 650.0 * 6 - half
    assert forces[0, frame.member_names.index("t6"), 0, 0] == pytest.approx(-moment, rel=1e-9)


def test_nothing_free_and_nothing_loaded():
    frame = make_frame({"A": (0, 0, 0), "B": (1, 0, 0)}, RAIL, {"A": "xyzXYZ", "B": "xyzXYZ"})
    loads = make_loads(frame, line={"rail_left": (0, 0, -12)})
    solution = solve(frame, loads)
    assert solution.reactions[0, 0, [2, 4]] == pytest.approx([6.0, -1.0], rel=1e-12)
    still = solve(frame, Loads.none(frame, ["nothing"]))
    assert worst(still.reactions + 1.0, np.ones_like(still.reactions)) == 0.0


@settings(deadline=None, max_examples=30)
@given(
    place=st.floats(0.05, 0.95),
    slope=st.floats(-1.0, 1.0),
    across=st.floats(0.0, 1.0),
    load=st.floats(-1e5, 1e5).filter(lambda q: abs(q) > 1e-3),
)
def test_a_hinge_anywhere_in_a_simple_span_is_a_mechanism_and_a_fast_joint_is_none(
    place, slope, across, load
):
    """The whole kind of the beam that drops: any place, slope and load; answered only once it is fast."""
    axis = np.array([np.sin(across), np.cos(across), 0.0])
    end = 2.0 * np.array([np.cos(across), -np.sin(across), slope])
    nodes = {"A": (0, 0, 0), "B": tuple(place * end), "C": tuple(end)}
    held = {"A": "xyzXYZ", "C": "xyz"}
    for releases in ([Release(0, 0, axis), Release(0, 1, axis)], [Release(0, 0, axis)]):
        frame = make_frame(nodes, HALVES, held, releases=releases)
        loads = make_loads(frame, line={"left": (0, 0, load), "right": (0, 0, load)})
        if len(releases) == 2:
            assert "joint B" in loose(frame, loads)
        else:
            solution = solve(frame, loads)
            assert balance(frame, loads, solution).relative < 1e-9


@settings(deadline=None, max_examples=30)
@given(x=st.floats(0.1, 0.9), height=st.floats(0.1, 2.0))
def test_any_pinned_triangle_carries_its_load(x, height):
    """The whole kind of the truss that was called unstable: the free spin of a joint is no mechanism."""
    members = {"bottom": ("A", "B"), "left": ("A", "C"), "right": ("B", "C")}
    releases = [Release(m, e, Y) for m in range(3) for e in (0, 1)]
    held = {"A": "xyzXZ", "B": "yzXZ", "C": "yXZ"}
    frame = make_frame(
        {"A": (0, 0, 0), "B": (1, 0, 0), "C": (x, 0, height)}, members, held, releases=releases
    )
    loads = make_loads(frame, nodal={"C": (0, 0, -1000, 0, 0, 0)})
    _, forces = member_forces(frame, loads, solve(frame, loads), 2)
    # Statics by joints: exact but for rounding of slender triangles.
    expected = [
        1000 * x * (1 - x) / height,
        -1000 * (1 - x) * np.hypot(x, height) / height,
        -1000 * x * np.hypot(1 - x, height) / height,
    ]
    assert forces[0, :, 0, 0] == pytest.approx(expected, rel=1e-9)
