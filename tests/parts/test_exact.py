"""The mount as exact solids: both kernels agree, and a second reader finds the same in the file."""

import re
from pathlib import Path

import netgen.occ as occ
import numpy as np
import pytest

from soapstone.build import Build, build
from soapstone.errors import GeometryError
from soapstone.examples import copy_example
from soapstone.job.load import load
from soapstone.parts.assembly import Sort
from soapstone.parts.bent_part import bent_solid
from soapstone.parts.exact import ExactPart, assembly_step, exact_parts
from soapstone.parts.plate_places import hanger_axes, tab_axes
from soapstone.parts.solids import Solid, tube_solid
from soapstone.shop.model import steel_tones

FINE = 1e-6  # m by which the meshes' chords may miss an arc
BUNG_FACETS = 48


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return build(load(copy_example("wren", tmp_path_factory.mktemp("job") / "wren")))


@pytest.fixture(scope="module")
def exact(wren: Build) -> list[ExactPart]:
    return list(exact_parts(wren.layout, wren.parts))


def centre(solid: object) -> np.ndarray:
    return np.array([solid.center.x, solid.center.y, solid.center.z]) / 1e3  # type: ignore[attr-defined]


def fine_meshes(wren: Build) -> dict[str, Solid]:
    """The other kernel's solids, with chords of a micron."""
    layout, parts = wren.layout, wren.parts
    found = {name: tube_solid(part) for name, part in parts.tubes.items()}
    found |= {name: bent_solid(part, FINE) for name, part in parts.bent.items()}
    plates = {user: plate.outline for plate in parts.plates for user in plate.used_by}
    for name, fork in layout.forks.items():
        for number, axes in enumerate(tab_axes(layout, fork, plates[name]), 1):
            found[f"{name} tab {number}"] = plates[name].solid(axes, FINE)
    for name, hanger in layout.hangers.items():
        found[name] = plates[name].solid(hanger_axes(layout, hanger, plates[name]), FINE)
    return found


def test_volume_and_centre_of_both_kernels_agree(wren: Build, exact: list[ExactPart]) -> None:
    meshes = fine_meshes(wren)
    by_name = {part.name: part.solid for part in exact}
    assert set(meshes) | set(wren.job.bungs) == set(by_name)
    for name, mesh in meshes.items():
        # the meshes of a tube are a polygon of some 300 sides round it: 2e-4 of its area
        assert by_name[name].mass * 1e-9 == pytest.approx(mesh.volume, rel=4e-4), name
        # a hundredth of a millimetre, as promised of a cut line; rows lie denser in a cope's tips
        assert centre(by_name[name]) == pytest.approx(mesh.centroid, abs=1e-5), name


def test_a_bung_is_a_bored_rod_by_hand(wren: Build, exact: list[ExactPart]) -> None:
    (bung,) = [part for part in exact if part.name == "bung_front_left"]
    # 42 mm outside, 50 mm long, M12 in its medium clearance hole of 13.5 mm (ISO 273)
    assert bung.solid.mass == pytest.approx(np.pi / 4 * (42**2 - 13.5**2) * 50, rel=1e-9)
    assert centre(bung.solid) == pytest.approx(np.array([-0.150, 0.250, 0.420]), abs=1e-9)


def test_the_meshes_shown_are_the_same_parts(wren: Build, exact: list[ExactPart]) -> None:
    shown = wren.assembly.things
    made = [thing for thing in shown if thing.sort not in (Sort.BODY, Sort.OBSTACLE)]
    assert [(t.name, t.material) for t in made] == [(part.name, part.material) for part in exact]


@pytest.mark.parametrize(("unit", "size"), [("mm", 1.0), ("in", 25.4)])
def test_the_file_reads_back_with_names_colours_and_volume(
    exact: list[ExactPart], tmp_path: Path, unit: str, size: float
) -> None:
    tones = steel_tones([part.material for part in exact])
    text = assembly_step(exact, "Wren's cradle", tones, unit)  # type: ignore[arg-type]
    path = tmp_path / "a.step"
    path.write_text(text)
    read = occ.OCCGeometry(str(path)).shape  # its reader turns inches into mm by the file's own unit
    assert [solid.name for solid in read.solids] == [part.name for part in exact]
    for solid, part in zip(read.solids, exact, strict=True):
        assert solid.mass == pytest.approx(part.solid.mass, rel=1e-6)
        assert centre(solid) == pytest.approx(centre(part.solid), abs=1e-9)
        # single precision in the file's reader
        assert list(solid.faces[0].col)[:3] == pytest.approx(tones[part.material], abs=1e-6)
    assert "PRODUCT('Wren''s cradle'" in text and "AUTOMOTIVE_DESIGN" in text
    assert ("'INCH'" in text) == (unit == "in")
    far = max(abs(float(n)) for n in re.findall(r"CARTESIAN_POINT\('',\((-?[\d.E+-]+),", text))
    assert 600.0 / size < far < 700.0 / size
    assert text == assembly_step(exact, "Wren's cradle", tones, unit)  # type: ignore[arg-type]


def test_nothing_made_is_told() -> None:
    with pytest.raises(GeometryError, match="nothing of the job is made of a solid"):
        assembly_step([], "empty", {}, "mm")
