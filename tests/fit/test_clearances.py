"""What clears what: every pair looked at or said why not; proven, not proven, too near."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from soapstone.build import Build, build
from soapstone.finding import Finding, Verdict
from soapstone.fit.clearances import SPREAD, Pair, Reach, Setting
from soapstone.fit.findings_clear import clearance_findings
from soapstone.fit.groups import groups_of
from soapstone.fit.moves import Moved, Moves, moves_of, shift_of
from soapstone.fit.near import Nearest
from soapstone.fit.unsure import Known, Unsure
from soapstone.job.load import load_text
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.tables.gaps import WantedGap, gap_between, gap_of

OBSTACLE = "\nobstacles:\n"


def beside(heron_text: str, at: str, more: str = "", *, folder: Path = Path("heron")) -> Build:
    """The mount with one more obstacle."""
    text = heron_text.replace(OBSTACLE, f"{OBSTACLE}  extra:\n{more}    shapes: [{at}]\n", 1)
    return build(load_text(text, folder))


def pair_of(built: Build, first: str, second: str) -> Pair:
    return next(p for p in built.room.pairs if {p.first, p.second} == {first, second})


def finding_of(built: Build, pair: Pair) -> Finding:
    found = built.finding(f"clearance:{pair.first}/{pair.second}")
    assert found is not None
    return found


def test_every_two_groups_are_looked_at_or_it_is_said_why_not(heron: Build) -> None:
    names = {name for pair in heron.room.pairs for name in (pair.first, pair.second)}
    assert {"drive_unit", "rails", "frame of side_left"} <= names
    assert len(heron.room.pairs) == len(names) * (len(names) - 1) // 2
    for pair in heron.room.pairs:
        assert (pair.rest is None) == bool(pair.skipped)
        if pair.rest is not None:
            assert finding_of(heron, pair).verdict is Verdict.HOLDS


def test_what_is_joined_is_left_out_and_named(heron: Build) -> None:
    joined = pair_of(heron, "frame of side_left", "drive_unit").joined
    assert "hanger_front_left is bolted to drive_unit" in joined
    assert "stands on rails" in pair_of(heron, "brackets on rail_left", "rails").skipped


PIPES = {
    "clear": (200, ""),
    "unsure": (260, ""),
    "near": (275, ""),
    "exact": (259, "accuracy: 0.1 mm, "),
    "hot": (200, "kind: hot, "),
    "own": (200, "gap: 40 mm, "),
}


@pytest.fixture(scope="module")
def pipes(heron_text: str) -> Build:
    """Pipes under the final drive, whose underside is 281 mm up; 15 mm are wanted."""
    lines = [
        f"  {name}: {{{more}shapes: [{{cylinder: {{from: [200 mm aft, 200 mm right, {z} mm up], "
        f"to: [800 mm aft, 200 mm right, {z} mm up], diameter: 10 mm}}}}]}}"
        for name, (z, more) in PIPES.items()
    ]
    text = heron_text.replace(OBSTACLE, OBSTACLE + "\n".join(lines) + "\n", 1)
    return build(load_text(text, Path("heron")))


@pytest.mark.parametrize(("name", "verdict"), [("clear", "holds"), ("unsure", "open"), ("near", "short")])
def test_a_pipe_under_the_unit(pipes: Build, name: str, verdict: str) -> None:
    pair = pair_of(pipes, name, "drive_unit")
    finding = finding_of(pipes, pair)
    assert finding.verdict.value == verdict
    # tilt and place as the readings gave them: within 4 mm of the drawing
    assert pair.rest is not None and pair.rest.apart.size == pytest.approx(
        0.276 - PIPES[name][0] / 1e3, abs=0.004
    )
    assert any("1.5 mm, one standard deviation" in words for words in finding.assumed)
    if verdict == "open":
        assert f"measure where {name} is" in finding.remedy
    if verdict == "short":
        assert finding.remedy.startswith("make ") and "between them at" in finding.remedy


def test_a_better_reading_settles_what_was_open(pipes: Build) -> None:
    finding = finding_of(pipes, pair_of(pipes, "exact", "drive_unit"))
    assert finding.verdict is not Verdict.OPEN
    assert not any("exact is known" in words for words in finding.assumed)


def test_kinds_and_own_gaps(pipes: Build) -> None:
    hot, own = (pair_of(pipes, name, "drive_unit").rest for name in ("hot", "own"))
    assert hot is not None and hot.wanted.size == pytest.approx(0.025)
    assert own is not None and own.wanted.size == pytest.approx(0.040) and own.wanted.source == "the job"
    assert gap_between("hot", "soft").size == gap_between("soft", "hot").size == pytest.approx(0.050)
    assert gap_between("standing", "fixed") == gap_of("fixed")


def test_a_scan_is_measured_to_and_a_doubtful_one_proves_nothing(heron_text: str, tmp_path: Path) -> None:
    slab = trimesh.creation.box(extents=[800.0, 800.0, 20.0])
    slab.apply_translation([-500.0, 0.0, 100.0])
    slab.export(tmp_path / "bay.stl")
    for unit, doubt in (("mm", False), ("m", True)):
        built = beside(heron_text, f"{{scan: bay.stl, unit: {unit}}}", folder=tmp_path)
        pair = pair_of(built, "extra", "drive_unit")
        finding = finding_of(built, pair)
        if doubt:
            assert finding.verdict is Verdict.OPEN and "unit:" in finding.remedy
        else:
            assert finding.verdict is Verdict.HOLDS
            assert pair.rest is not None and pair.rest.apart.there[2] == pytest.approx(0.110, abs=1e-6)
    (tmp_path / "bay.stl").write_bytes(b"")
    lost = beside(heron_text, "{scan: bay.stl, unit: mm}", folder=tmp_path)
    assert "scan bay.stl again" in pair_of(lost, "extra", "drive_unit").skipped
    assert lost.finding("scan:extra") is not None


def reach(size: float, sigma: float, wanted: float, *, clash: bool = False) -> Reach:
    apart = Nearest(size, np.zeros(3), np.array([size, 0.0, 0.0]))
    sure = Unsure(sigma, "measure it"), Unsure(0.0, "measure the other")
    return Reach("one", "other", "at rest", apart, 0.0, WantedGap(wanted, "for it", "table"), sure, clash)


@pytest.mark.parametrize(
    ("size", "sigma", "clash", "verdict"),
    [
        (0.030, 0.002, False, Verdict.HOLDS),
        (0.017, 0.002, False, Verdict.OPEN),
        (0.013, 0.002, False, Verdict.OPEN),
        (0.010, 0.002, False, Verdict.SHORT),
        (0.0, 0.020, False, Verdict.OPEN),
        (0.0, 0.020, True, Verdict.SHORT),
    ],
)
def test_verdicts_by_what_is_known(size: float, sigma: float, clash: bool, verdict: Verdict) -> None:
    found = reach(size, sigma, 0.015, clash=clash)
    assert found.verdict is verdict
    (finding,) = clearance_findings([Pair("a", "b", rest=found)], {})
    assert finding.verdict is verdict
    assert finding.demand == pytest.approx(0.015 + SPREAD * sigma + 2e-4, rel=1e-12)
    assert (finding.remedy == "") is (verdict is Verdict.HOLDS)
    (doubted,) = clearance_findings([Pair("a", "b", rest=found)], {"b": "look again"})
    assert doubted.verdict is Verdict.OPEN and doubted.remedy == "look again"


def test_a_body_goes_as_its_points_do(heron: Build) -> None:
    """Points moved by a known small rigid motion give that motion back, whatever points they are."""
    body = heron.placed["drive_unit"]
    turn, shift = np.array([1e-4, -2e-4, 3e-4]), np.array([1e-3, 2e-3, -1e-3])
    moved = {
        f"drive_unit.{name}": np.array([shift + np.cross(turn, at - body.centre)])
        for name, at in body.points.items()
    }
    moves = moves_of(heron.job, heron.placed, (), moved, ["bump"], {})
    (state,) = moves.bodies["drive_unit"]
    expected = Pose(
        rotation_from_vector(turn), body.centre + shift - rotation_from_vector(turn) @ body.centre
    )
    assert state.pose.apply(body.centre) == pytest.approx(
        expected.apply(body.centre), abs=1e-6
    )  # second order
    assert state.pose.rotation == pytest.approx(expected.rotation, abs=1e-9)


def test_the_farthest_corner_bounds_every_vertex(heron: Build) -> None:
    group = next(
        g
        for g in groups_of(heron.job, heron.layout, heron.assembly, heron.driveline.half_shafts)
        if g.name == "drive_unit"
    )
    pose = Pose(rotation_from_vector(np.array([0.02, -0.05, 0.03])), np.array([0.01, 0.0, -0.02]))
    for piece in group.pieces:
        at = piece.near.mesh.vertices
        assert np.linalg.norm(pose.apply(at) - at, axis=1).max() <= shift_of(pose, group) + 1e-12


def test_a_moved_state_can_govern(pipes: Build) -> None:
    """With the unit pushed down by 80 mm a pipe that was clear is struck, and the state is named."""
    groups = groups_of(pipes.job, pipes.layout, pipes.assembly, ())
    known = Known(pipes.job, pipes.survey, pipes.placed, pipes.assembly)
    down = Moved("mount broken, bump", Pose(np.eye(3), np.array([0.0, 0.0, -0.08])), True)
    sag = replace(down, state="bump", broken=False, pose=Pose(np.eye(3), np.array([0.0, 0.0, -0.03])))
    for state, verdict in ((down, Verdict.SHORT), (sag, Verdict.HOLDS)):
        moves = Moves({"drive_unit": (state,)}, soft=frozenset({"drive_unit"}))
        pair = next(
            p
            for p in Setting(pipes.layout, groups, known, moves).pairs()
            if {p.first, p.second} == {"clear", "drive_unit"}
        )
        assert pair.moved is not None and pair.moved.state == state.state
        assert pair.moved.verdict is verdict
        assert pair.worst is pair.moved
