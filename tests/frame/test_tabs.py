"""Giving tabs: a bar by hand, statics of the softened frame, and what a moved vehicle asks of both bounds."""

from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from soapstone.build import Build, build
from soapstone.finding import Finding, Verdict
from soapstone.frame import balance
from soapstone.frame.tabs import FREE, HOLDING, tab_stiffness
from soapstone.job.load import load_text
from soapstone.parts.layout import material_of
from soapstone.strength.bounds import worse

Changed = Callable[..., Build]
DOWN = np.array([0.0, 0.0, -1.0])


def fork_of(heron: Build, **changes: object):
    fork = heron.layout.forks["fork_front_left"]
    return replace(fork, spec=fork.spec.model_copy(update=changes), axis=np.array([0.0, 1.0, 0.0]))


def test_one_tab_is_a_bar_clamped_at_its_foot(heron: Build) -> None:
    """50 x 6 mm reaching 49 mm, by hand; E 210 GPa gives 3 E I / L³ = 4.82 kN/mm and E A / L = 1286 kN/mm."""
    fork = fork_of(heron, tabs="1", width=0.050, reach=0.049, plate=heron.job.forks["fork_front_left"].plate)
    metal = replace(material_of(heron.job, "S355"), elastic_modulus=210e9, shear_modulus=81e9)
    t = fork.spec.plate.thickness
    table = tab_stiffness(fork, metal, DOWN, turning=False)
    sideways = 3 * 210e9 * 0.050 * t**3 / 12 / 0.049**3
    assert table[1, 1] == pytest.approx(sideways, rel=1e-12)
    assert table[2, 2] == pytest.approx(210e9 * 0.050 * t / 0.049, rel=1e-12)
    bends = 0.049**3 / (3 * 210e9 * t * 0.050**3 / 12)
    shears = 0.049 / (81e9 * 0.050 * t / 1.2)
    assert table[0, 0] == pytest.approx(1 / (bends + shears), rel=1e-12)
    assert not table[3:, 3:].any()


def test_a_pair_holds_twice_as_much_and_turns_by_its_couple(heron: Build) -> None:
    metal = material_of(heron.job, "S355")
    one = tab_stiffness(fork_of(heron, tabs="1"), metal, DOWN, turning=True)
    fork = fork_of(heron)
    two = tab_stiffness(fork, metal, DOWN, turning=True)
    assert two[:3, :3] == pytest.approx(2 * one[:3, :3], rel=1e-12)
    apart = fork.bung.length + 2 * fork.spec.gap + fork.spec.plate.thickness
    # a turn about the upright pushes one tab fore, one aft; about the vehicle's length one up, one down
    assert two[5, 5] == pytest.approx(2 * one[0, 0] * (apart / 2) ** 2, rel=1e-12)
    assert two[3, 3] == pytest.approx(2 * one[2, 2] * (apart / 2) ** 2, rel=1e-12)
    assert two[4, 4] == pytest.approx(0.0, abs=1e-6)
    assert one[5, 5] > 0.0
    assert one[3, 3] > 0.0


def test_giving_forks_hold_no_turn_and_push_by_their_stiffness(heron: Build) -> None:
    ideal, whole = heron.bounds.soft
    assert heron.bounds.words == FREE
    assert balance(ideal.frame, ideal.loads, whole.solution).relative < 1e-10
    springs = {spring.node: spring for spring in ideal.frame.springs}
    largest = np.abs(whole.solution.end_forces).max()
    for member, end in ideal.pins.values():
        ends = whole.solution.end_forces[:, member, 6 * end : 6 * end + 6]
        assert np.abs(ends[:, 3:]).max() < 1e-8 * largest
        node = int(ideal.frame.ends[member, end])
        spring = springs[node]
        moved = whole.solution.displacements[:, node, :3]
        if spring.other is not None:
            arm = ideal.frame.nodes[node] - ideal.frame.nodes[spring.other]
            other = whole.solution.displacements[:, spring.other]
            moved = moved - other[:, :3] - np.cross(other[:, 3:], arm)
        pushed = -moved @ spring.stiffness[:3, :3]
        assert ends[:, :3] @ ideal.frame.geometry.axes[member] == pytest.approx(pushed, abs=1e-6 * largest)


def test_a_soft_support_stands_behind_its_tabs(heron: Build) -> None:
    """fork_arm_front stands on 25 kN/mm: 1 / (1 / tabs + 1 / support) each way."""
    ideal, _ = heron.bounds.soft
    fork = heron.layout.forks["fork_arm_front"]
    alone = tab_stiffness(
        fork, material_of(heron.job, "S355"), heron.layout.foot_to_hole(fork), turning=False
    )
    node = ideal.frame.node_names.index("fork_arm_front")
    spring = next(s for s in ideal.frame.springs if s.node == node)
    expected = 1 / (1 / np.diag(alone)[:3] + 1 / 25e6)
    assert np.diag(spring.stiffness)[:3] == pytest.approx(expected, rel=1e-9)


SHIFTED = """
    shifted:
      source: own
      moves: {MOVES}
"""


def test_a_vehicle_that_moves_as_one_strains_nothing(changed: Changed) -> None:
    """Every fork on it moved alike: the frame rides along and each force stays, in both bounds."""
    way = "[3 mm up, 2 mm left, 1 mm fwd]"
    names = [f"fork_{place}_{side}" for place in ("front", "middle", "rear") for side in ("left", "right")]
    moves = ", ".join(f"{name}: {way}" for name in [*names, "fork_arm_front"])
    built = changed(("  cases:\n", "  cases:\n" + SHIFTED.replace("MOVES", moves).lstrip("\n")))
    cases = built.idealised.loads.case_names
    rest, shifted = cases.index("own weight"), cases.index("shifted")
    for ideal, solution in built.bounds.solved:
        forces = solution.end_forces
        # the movement of 4 mm strains stiff tubes by meganewtons where it is not alike: 1e-3 N is rounding
        assert np.abs(forces[shifted] - forces[rest]).max() < 1e-3
        rides = solution.displacements[shifted, :, :3] - solution.displacements[rest, :, :3]
        assert rides == pytest.approx(np.tile([0.001, 0.002, 0.003], (len(ideal.frame.nodes), 1)), abs=1e-8)


def finding(ratio: float | None, verdict: Verdict) -> Finding:
    return Finding("weld:a start", "a start", "it holds", verdict, ratio=ratio)


def test_of_every_question_the_worse_answer_counts() -> None:
    holds, more, short, open_ = (
        finding(0.5, Verdict.HOLDS),
        finding(0.9, Verdict.HOLDS),
        finding(1.5, Verdict.SHORT),
        finding(None, Verdict.OPEN),
    )
    for stiff, soft, expected in (
        (holds, more, more),
        (more, holds, more),
        (short, open_, short),
        (holds, open_, open_),
    ):
        (found,) = worse([stiff], [soft], "tabs giving")
        assert (found.ratio, found.verdict) == (expected.ratio, expected.verdict)
    (found,) = worse([holds], [more], "tabs giving")
    assert found.assumed == ("tabs giving: asks more of it than stiff tabs do",)
    (found,) = worse([more], [holds], "tabs giving")
    assert "count as stiff here" in found.assumed[0]
    assert [f.assumed for f in worse([holds], [finding(0.50001, Verdict.HOLDS)], "x")] == [()]
    assert [f.ratio for f in worse([], [more], "x")] == [0.9]


def test_the_example_judges_by_both_bounds(heron: Build) -> None:
    told = [note for f in heron.findings for note in f.assumed]
    assert any("asks more of it than stiff tabs do" in note for note in told)
    assert any("count as stiff here" in note for note in told)


def test_a_bar_with_an_arm_stands_only_because_its_forks_hold_it_from_spinning() -> None:
    """Two forks with their bolts along: about its own axis the bar is held by the pair of tabs alone."""
    text = Path(str(files("soapstone.examples"))).joinpath("blank", "job.yaml").read_text(encoding="utf-8")
    for old, new in (
        (
            "  R: {what: pin on the right rail}",
            "  R: {what: pin on the right rail}\n  P: {from: bar middle, move: [300 mm aft]}",
        ),
        ("stock: main}\n\nbungs", "stock: main}\n  arm: {from: bar middle, to: P, stock: main}\n\nbungs"),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    built = build(load_text(text, Path("blank")))
    assert built.bounds.words == HOLDING
    found = built.finding("tab-stiffness:frame")
    assert found is not None
    assert found.verdict is Verdict.OPEN
    assert "the whole frame can swing about the line across" in found.remedy
    ideal, whole = built.bounds.soft
    assert balance(ideal.frame, ideal.loads, whole.solution).relative < 1e-9
