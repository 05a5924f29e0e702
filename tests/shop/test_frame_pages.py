"""The report's pages on the frame: numbers, pictures and the loaded model."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import trimesh

from soapstone.build import Build
from soapstone.frame import Loads, internal_forces_at, solve
from soapstone.shop import frame_pictures
from soapstone.shop.frame_pictures import Lines, bent_lines, exaggeration, mode_lines, stress_shares
from soapstone.shop.frame_sheet import frame_data
from soapstone.shop.loaded_model import colours, loaded_glb
from soapstone.shop.marks import marks_of
from soapstone.shop.words import Words


@pytest.fixture(scope="module")
def data(heron: Build) -> dict:
    found = frame_data(heron, marks_of(heron.job), Words.of(heron.job.show))
    assert found is not None
    return found


def test_every_case_and_tube_and_hole_has_its_row(heron: Build, data: dict) -> None:
    assert [row["case"] for row in data["cases"]] == [case.name for case in heron.cases]
    assert {row["tube"] for row in data["influence"]} == set(heron.layout.tubes)
    assert {row["name"] for row in data["millimetre"]} == set(heron.idealised.ends)
    assert all("/" not in row["words"] for row in [*data["cases"], *data["modes"]])


def test_the_table_takes_the_bound_that_buckles_first(heron: Build, data: dict) -> None:
    factors = np.minimum(*(whole.factors for _, whole in (heron.bounds.stiff, heron.bounds.soft)))
    for row, factor in zip(data["cases"], factors, strict=True):
        assert float(row["factor"].replace("\u2009", "")) == pytest.approx(factor, rel=5e-3)  # three figures


def test_shares_of_all_shown_modes_stay_below_the_whole(data: dict) -> None:
    for axis in "xyz":
        total = sum(int(row[axis].split()[0]) for row in data["modes"])
        assert 0 <= total <= 104  # eight of them, each rounded to a whole part in a hundred


def test_influence_is_the_stress_of_three_unit_loads_at_the_corners(heron: Build, data: dict) -> None:
    """cross_1 is square: the worst way's stress is the length of three unit stresses, largest at a corner."""
    ideal, _ = heron.bounds.stiff
    frame, body = ideal.frame, ideal.bodies["drive_unit"]
    tube = heron.layout.tubes["cross_1"].section
    rows = {row["tube"]: row for row in data["influence"]}
    point = heron.placed["drive_unit"].points[rows["cross_1"]["point"].partition(".")[2]]
    loads = Loads.none(frame, ["x", "y", "z"])
    loads.nodal[:, body, :3] = 1000.0 * np.eye(3)
    loads.nodal[:, body, 3:] = np.cross(point - frame.nodes[body], 1000.0 * np.eye(3))
    solution = solve(frame, loads)
    members = [segment.member for segment in ideal.segments["cross_1"]]
    positions = frame.geometry.lengths[:, None] * np.array([0.0, 1.0])
    N, _, _, _, My, Mz = np.moveaxis(internal_forces_at(frame, loads, solution, positions)[:, members], -1, 0)
    s = tube.section
    worst = max(
        np.linalg.norm(
            N / s.area + My * z * 0.02 / s.second_moment_y - Mz * y * 0.02 / s.second_moment_z, axis=0
        ).max()
        for y in (-1, 1)
        for z in (-1, 1)
    )
    assert float(rows["cross_1"]["size"]) == pytest.approx(worst, rel=1e-5)  # printed to seven digits
    sizes = [float(row["size"]) for row in data["influence"]]
    assert sizes == sorted(sizes, reverse=True)


def lines(size: float) -> Lines:
    still = np.array([[[0.0, 0.0, 0.0], [2.0, 0.0, 0.0]]])
    none = np.zeros((0, 2, 3))
    return Lines(still, np.array([[[0.0, 0.0, 0.0], [0.0, 0.0, size]]]), none, none, none, none)


@pytest.mark.parametrize(("moves", "times"), [(0.0014, 100.0), (0.0028, 50.0), (0.007, 20.0), (0.0, 1.0)])
def test_movement_is_drawn_a_round_number_of_times_too_large(moves: float, times: float) -> None:
    # 7 % of 2 m is 140 mm of drawn movement at the most
    assert exaggeration(lines(moves)) == times


def test_bent_lines_end_where_the_joints_go(heron: Build) -> None:
    """A body's arm follows its node; a tube pinned at a fork goes where the fork's node goes."""
    ideal, whole = heron.bounds.soft
    found = bent_lines(ideal, whole.solution, 0)
    for member, end in ideal.pins.values():
        node = ideal.frame.ends[member, end]
        assert found.moved[member, -end] == pytest.approx(
            whole.solution.displacements[0, node, :3], abs=1e-12
        )
    assert len(found.arms) == len(ideal.hangers)


def test_a_mode_moves_its_joints_as_its_shape_says(heron: Build) -> None:
    ideal, whole = heron.bounds.stiff
    found = mode_lines(ideal, whole.swing, 0)
    shape = whole.swing.shapes[0]
    member = ideal.segments["side_left"][1].member
    start = int(ideal.frame.ends[member, 0])
    assert found.moved[member, 0] == pytest.approx(shape[start, :3], abs=1e-9 * np.abs(shape).max())


def test_stress_shares_are_those_of_the_worst_case_and_bound(heron: Build) -> None:
    both = stress_shares(heron.layout, heron.bounds.solved)
    one = stress_shares(heron.layout, heron.bounds.solved[:1])
    tubes = [segment.member for row in heron.idealised.segments.values() for segment in row]
    assert (both[tubes] >= one[tubes]).all()
    assert (both[tubes] > one[tubes] * 1.01).any()
    hangers = list(heron.idealised.hangers.values())
    assert np.isnan(both[hangers]).all()


def test_a_line_is_cut_where_its_stroke_changes() -> None:
    line = np.linspace([0.0, 0.0, 0.0], [1.0, 0.0, 0.0], 5)
    runs = frame_pictures._runs(line, np.array([0.1, 0.2, 0.3, 0.8, 0.9]))
    assert [kind for kind, _ in runs] == ["hair", "thin", "bold"]
    assert all(np.array_equal(a[-1], b[0]) for (_, a), (_, b) in pairwise(runs))


def test_colours_run_from_pale_to_red_and_grey_is_unknown() -> None:
    found = colours(np.array([0.0, 0.5, 1.0, 3.0, np.nan]))
    assert found[2].tolist() == found[3].tolist()
    assert found[0, 0] > 200
    assert found[2, 1] < 40
    assert len(set(found[4, :3].tolist())) == 1


def test_the_loaded_model_has_every_tube_twice(heron: Build, tmp_path: Path) -> None:
    file = tmp_path / "model-loaded.glb"
    file.write_bytes(loaded_glb(heron))
    scene = trimesh.load_scene(file)
    assert set(scene.geometry) == {*heron.layout.tubes, *(f"{name} bent" for name in heron.layout.tubes)}
    still, bent = (scene.geometry[name].vertices for name in ("cross_2", "cross_2 bent"))
    assert 0.005 < np.linalg.norm(bent - still, axis=1).max() < 0.2
    assert scene.geometry["cross_2 bent"].visual.kind == "vertex"
    # glTF's X is the vehicle's y, Y its z, Z its x
    side = scene.geometry["side_left"].vertices
    assert side[:, 0].min() > 0.2
    assert loaded_glb(heron) == file.read_bytes()
