from pathlib import Path

import numpy as np
import pytest
import trimesh

from soapstone.build import Build
from soapstone.parts.assembly import Sort, Thing, assembled, span
from soapstone.parts.axes import Axes
from soapstone.parts.cutting import CutParts
from soapstone.parts.scans import read_scan
from soapstone.parts.solids import box
from soapstone.shop.model import model_glb


def load(data: bytes, folder: Path) -> trimesh.Scene:
    file = folder / "model.glb"
    file.write_bytes(data)
    return trimesh.load_scene(file)


def block(name: str, at: tuple[float, float, float], sort: Sort = Sort.PLATE) -> Thing:
    solid = box([0.1, 0.02, 0.02], Axes.along(at, [1, 0, 0], [0, 1, 0]))
    return Thing(name, sort, "S355" if sort is Sort.PLATE else "", solid)


def test_metres_y_up_and_left_stays_left(tmp_path: Path) -> None:
    rail = Thing(
        "rail", Sort.TUBE, "DOM 1020", box([1.2, 0.05, 0.05], Axes.along([0, 0, 0], [1, 0, 0], [0, 1, 0]))
    )
    scene = load(model_glb((rail, block("left", (0.5, 0.3, 0)), block("up", (0, 0, 0.4)))), tmp_path)
    assert max(scene.extents) == pytest.approx(1.2, rel=1e-6)  # glTF keeps float32
    middles = {name: scene.geometry[name].bounds.mean(axis=0) for name in ("left", "up")}
    assert middles["up"] == pytest.approx([0.0, 0.4, 0.0], abs=1e-6)
    # glTF looks along +Z with +Y up, so that +X is to the left
    assert middles["left"] == pytest.approx([0.3, 0.0, 0.5], abs=1e-6)
    assert all(mesh.volume > 0.0 for mesh in scene.geometry.values())  # no mirror turned it inside out


def test_named_nodes_and_steel_by_material(heron: Build, packet: Path) -> None:
    scene = trimesh.load_scene(packet / "model.glb")
    found = assembled(heron.job, heron.layout, heron.parts, heron.placed).things
    assert set(scene.graph.nodes_geometry) == {thing.name for thing in found}
    tones = {t.material: tuple(scene.geometry[t.name].visual.material.baseColorFactor) for t in found}
    assert len(set(tones.values())) == len(tones)
    assert max(scene.extents) < span(found) < 3.0


def test_holes_of_fork_and_bung_lie_on_the_pin(heron: Build) -> None:
    found = {
        thing.name: thing for thing in assembled(heron.job, heron.layout, heron.parts, heron.placed).things
    }
    fork = heron.layout.forks["fork_front_left"]
    bung = found["bung_front_left"]
    assert bung.solid.centroid == pytest.approx(fork.pin, abs=1e-9)
    tabs = [found[f"fork_front_left tab {number}"] for number in (1, 2)]
    gaps = [float((tab.solid.vertices @ fork.axis - fork.pin @ fork.axis).min()) for tab in tabs]
    assert gaps[0] == pytest.approx(fork.bung.length / 2 + fork.spec.gap, abs=1e-9)
    others = [float((tab.solid.vertices @ fork.axis - fork.pin @ fork.axis).max()) for tab in tabs]
    assert others[1] == pytest.approx(-gaps[0], abs=1e-9)


def test_a_plate_without_its_hole_is_left_out(heron: Build) -> None:
    bare = CutParts(heron.parts.tubes, ())
    names = {thing.sort for thing in assembled(heron.job, heron.layout, bare, heron.placed).things}
    assert Sort.PLATE not in names


def test_scan_is_read_in_its_unit(tmp_path: Path) -> None:
    trimesh.creation.box(extents=[50.8, 25.4, 10.0]).export(tmp_path / "unit.stl")
    scan = read_scan("unit", tmp_path, "unit.stl", "mm")
    assert scan.solid is not None
    size = np.ptp(scan.solid.vertices, axis=0)
    assert size == pytest.approx([0.0508, 0.0254, 0.01], rel=1e-6)  # STL keeps float32
