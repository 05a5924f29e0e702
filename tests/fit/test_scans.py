"""Scans that are not as they should be: each is told plainly and used where it can be."""

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh

from soapstone.finding import Finding, Verdict
from soapstone.fit.findings_scan import scan_doubts, scan_findings
from soapstone.job.load import load_text
from soapstone.job.schema import Job
from soapstone.parts.assembly import Assembly, Sort, Thing
from soapstone.parts.scans import Scan, looked_at, read_scan

SITE = np.array([400000.0, 800000.0, 0.0])
POINTS = np.array([[0.0, 0.5, 0.3], [0.0, -0.5, 0.3], [-1.1, 0.5, 0.3]])


@pytest.fixture(scope="module")
def job(heron_text: str) -> Job:
    return load_text(heron_text, Path("heron"))


def told(scan: Scan, job: Job) -> tuple[Finding, str]:
    """The finding of an obstacle's scan, and the doubt that it casts on gaps."""
    things = () if scan.solid is None else (Thing("bay", Sort.OBSTACLE, "", scan.solid, "bay", scan=scan),)
    assembly = Assembly(things, (("bay", scan),))
    (finding,) = scan_findings(job, assembly, POINTS)
    return finding, scan_doubts(job, assembly, POINTS).get("bay", "")


def box_mesh(size: float = 500.0, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> trimesh.Trimesh:
    mesh = trimesh.creation.box(extents=[size, size, size])
    for _ in range(3):
        mesh = mesh.subdivide()
    mesh.apply_translation(at)
    return mesh


def test_a_sound_scan_holds_and_says_its_size(tmp_path: Path, job: Job) -> None:
    box_mesh().export(tmp_path / "bay.stl")
    scan = read_scan("bay", tmp_path, "bay.stl", "mm")
    assert scan.closed and scan.holes == () and scan.flipped == 0 and not scan.inside_out
    finding, doubt = told(scan, job)
    assert finding.verdict is Verdict.HOLDS and finding.caution == "" and doubt == ""


def binary_stl(path: Path, vertices: np.ndarray, faces: np.ndarray, header: bytes = b"") -> None:
    rows = b"".join(
        struct.pack("<12fH", 0.0, 0.0, 0.0, *vertices[face].astype(np.float32).ravel(), 0) for face in faces
    )
    path.write_bytes(header.ljust(80, b" ") + struct.pack("<I", len(faces)) + rows)


def test_a_binary_file_whose_header_says_solid_is_read(tmp_path: Path) -> None:
    cube = trimesh.creation.box(extents=[25.4] * 3)
    binary_stl(tmp_path / "base.stl", cube.vertices, cube.faces, b"solid base")
    scan = read_scan("base", tmp_path, "base.stl", "mm")
    assert scan.solid is not None and len(scan.solid.triangles) == 12 and scan.closed
    assert scan.size == pytest.approx(0.0254, rel=1e-6)  # 32-bit numbers
    assert scan.solid.volume == pytest.approx(16387.06e-9, rel=1e-6)


@pytest.mark.parametrize(
    ("longest", "unit", "fits"),
    [
        (0.2286, "mm", ["m (228.6 mm)"]),  # a block of 9 in, saved in metres
        (9.0, "mm", ["in (228.6 mm)", "cm (90 mm)", "m (9000 mm)"]),  # the same saved in inches
        (1000.0, "m", ["mm (1000 mm)", "cm (10 m)"]),
    ],
)
def test_a_wrong_unit_is_told_with_those_that_fit_and_never_changed(
    job: Job, longest: float, unit: str, fits: list[str]
) -> None:
    cube = trimesh.creation.box(extents=[longest, 0.72 * longest, 0.07 * longest])
    scan = looked_at("bay", "bay.stl", unit, np.asarray(cube.vertices), np.asarray(cube.faces, np.int64))
    finding, doubt = told(scan, job)
    assert finding.verdict is Verdict.OPEN and doubt == finding.remedy
    named = finding.remedy.partition("unit: ")[2].removesuffix(" would fit").split(" or ")
    assert sorted(named) == sorted(fits) and named[0] == fits[0]
    factor = {"mm": 0.001, "m": 1.0}[unit]
    assert scan.size == pytest.approx(longest * factor, rel=1e-9)  # as stated


def test_a_size_that_no_unit_would_fit_says_so(job: Job) -> None:
    cube = trimesh.creation.box(extents=[1e-9] * 3)
    scan = looked_at("bay", "bay.stl", "mm", np.asarray(cube.vertices), np.asarray(cube.faces, np.int64))
    assert "no unit would fit" in told(scan, job)[0].remedy


def test_a_body_is_compared_with_its_own_points(job: Job) -> None:
    """The unit's bosses are 410 mm apart: a scan of 15 mm is none of it, though the job is larger."""
    cube = trimesh.creation.box(extents=[15.0] * 3)
    scan = looked_at("u", "u.stl", "mm", np.asarray(cube.vertices), np.asarray(cube.faces, np.int64))
    thing = Thing("u", Sort.BODY, "", scan.solid, "drive_unit", scan=scan)  # type: ignore[arg-type]
    doubts = scan_doubts(job, Assembly((thing,), (("drive_unit", scan),)), POINTS)
    assert "too small for its place" in doubts["drive_unit"]


def test_holes_and_a_rim_are_told_apart(job: Job) -> None:
    mesh = box_mesh()
    holed = np.delete(np.asarray(mesh.faces, np.int64), [0, 1, 200], axis=0)
    scan = looked_at("bay", "bay.stl", "mm", np.asarray(mesh.vertices), holed)
    assert len(scan.holes) == 2 and not scan.rim and not scan.closed
    finding, doubt = told(scan, job)
    assert finding.verdict is Verdict.HOLDS and doubt == ""
    assert "2 holes, the widest" in finding.caution
    top = mesh.faces[mesh.triangles_center[:, 2] > 249.0]
    sheet = looked_at("bay", "bay.stl", "mm", np.asarray(mesh.vertices), np.asarray(top, np.int64))
    assert sheet.rim and sheet.holes == () and not sheet.closed
    assert "sheet with a rim" in told(sheet, job)[0].caution


def test_faces_that_look_the_wrong_way_are_told(job: Job) -> None:
    mesh = box_mesh()
    faces = np.asarray(mesh.faces, np.int64).copy()
    faces[7] = faces[7][::-1]
    scan = looked_at("bay", "bay.stl", "mm", np.asarray(mesh.vertices), faces)
    assert scan.flipped == 3 and scan.closed and not scan.inside_out  # its three edges
    assert "look the wrong way" in told(scan, job)[0].caution
    outside_in = looked_at("bay", "bay.stl", "mm", np.asarray(mesh.vertices), np.asarray(mesh.faces)[:, ::-1])
    assert outside_in.inside_out and outside_in.flipped == 0
    assert "inwards" in told(outside_in, job)[0].caution


def test_edges_of_three_faces_are_told(job: Job) -> None:
    mesh = box_mesh()
    first, second, _ = mesh.faces[0]
    fin = np.array([[first, second, len(mesh.vertices) - 1]])
    faces = np.vstack([np.asarray(mesh.faces, np.int64), fin])
    scan = looked_at("bay", "bay.stl", "mm", np.asarray(mesh.vertices), faces)
    assert scan.tangled >= 1 and not scan.closed
    assert "more than two faces" in told(scan, job)[0].caution


@pytest.mark.parametrize(
    "content", [b"", b"solid nothing\nendsolid nothing\n", b"\x00" * 84, b"this is no mesh", b"\xff" * 300]
)
def test_a_file_without_a_mesh_is_a_finding(tmp_path: Path, job: Job, content: bytes) -> None:
    (tmp_path / "bay.stl").write_bytes(content)
    scan = read_scan("bay", tmp_path, "bay.stl", "mm")
    assert scan.solid is None and scan.trouble
    finding, _ = told(scan, job)
    assert finding.verdict is Verdict.OPEN and "save it again" in finding.remedy


def test_a_scan_far_away_proves_nothing(job: Job) -> None:
    mesh = box_mesh(at=(1e8, 0.0, 0.0))  # 100 km
    scan = looked_at("bay", "bay.stl", "mm", np.asarray(mesh.vertices), np.asarray(mesh.faces, np.int64))
    finding, doubt = told(scan, job)
    assert finding.verdict is Verdict.OPEN and "it lies 100 km" in finding.remedy
    assert doubt == finding.remedy


def rod_at_site() -> trimesh.Trimesh:
    return trimesh.creation.cylinder(radius=5.0, height=20.0, sections=64)


def test_coarse_numbers_are_told_with_their_step(tmp_path: Path, job: Job) -> None:
    """A cylinder in site coordinates: 32 bits step by 1/16 at 800,000, which makes it jagged."""
    mesh = rod_at_site()
    binary_stl(tmp_path / "site.stl", mesh.vertices + SITE, mesh.faces)
    scan = read_scan("bay", tmp_path, "site.stl", "mm")
    assert scan.step == pytest.approx(0.0625e-3, rel=1e-12)
    ten = looked_at("bay", "b.stl", "cm", (mesh.vertices + SITE).astype(np.float32), mesh.faces)
    finding, _ = told(ten, job)
    assert ten.step == pytest.approx(0.625e-3, rel=1e-12) and finding.verdict is Verdict.OPEN


def test_text_in_site_coordinates_keeps_its_shape(tmp_path: Path) -> None:
    mesh = rod_at_site()
    corners = (mesh.vertices + SITE)[mesh.faces]
    lines = ["solid site"]
    for face in corners:
        rows = [f"vertex {x:.9f} {y:.9f} {z:.9f}" for x, y, z in face]
        lines += ["facet normal 0 0 0", "outer loop", *rows, "endloop", "endfacet"]
    (tmp_path / "site.stl").write_text("\n".join([*lines, "endsolid site", ""]))
    scan = read_scan("bay", tmp_path, "site.stl", "mm")
    assert scan.solid is not None and scan.step == 0.0
    assert scan.solid.volume == pytest.approx(1568.27e-9, rel=1e-3)  # of a prism of 64 sides
