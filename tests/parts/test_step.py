"""STEP files: read by the kernel again, in both units, under their name, the same each time."""

import re

import netgen.occ as occ
import numpy as np
import pytest

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import coped, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RoundTube
from soapstone.parts.step import exact_tube, laid_out, step_text

RAIL = Body("rail", RoundTube(50.8e-3, 3e-3), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
STRUT = cut_tube(
    "strut", RoundTube(38.1e-3, 2.1e-3), (0.2, 0.1, 0.3), (0, 0, 0), (0, 1, 0), square(0), coped(RAIL)
)


def _read(text, folder):
    path = folder / "part.step"
    path.write_text(text, encoding="ascii")
    return occ.OCCGeometry(str(path)).shape


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("size", [10.0, 50.8], ids=["10 mm cube", "2 in block"])
def test_field_case_a_block_comes_back_at_its_size(size, unit, tmp_path):
    """A shop that quotes 50.8 in for 2 in read a label that did not fit the numbers."""
    text = step_text(occ.Box(occ.Pnt(0, 0, 0), occ.Pnt(size, size, size)), "block", unit)
    shape = _read(text, tmp_path)
    low, high = (np.array(list(corner)) for corner in shape.bounding_box)
    # the kernel's boxes are a tolerance of 1e-7 larger
    np.testing.assert_allclose(high - low, size, atol=1e-6)
    coordinates = [
        float(number)
        for point in re.findall(r"CARTESIAN_POINT\('',\(([^)]*)\)\)", text)
        for number in point.split(",")
    ]
    assert max(coordinates) == pytest.approx(size if unit == "mm" else size / 25.4, rel=1e-9)
    assert ("'INCH'" in text) == (unit == "in")
    assert len(re.findall(r"GLOBAL_UNIT_ASSIGNED_CONTEXT", text)) >= 1


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_tube_comes_back_whole(unit, tmp_path):
    solid = laid_out(exact_tube(STRUT), STRUT)
    text = step_text(solid, "T1 strut", unit)
    shape = _read(text, tmp_path)
    assert len(shape.solids) == 1
    assert shape.mass * 1e-9 == pytest.approx(STRUT.volume, rel=1e-6)
    assert shape.solids[0].mass == pytest.approx(solid.mass, rel=1e-9)
    assert "PRODUCT('T1 strut'" in text
    assert [solid.name for solid in shape.solids] == ["T1 strut"]
    ends = np.array([(v.p.x, v.p.y, v.p.z) for v in shape.vertices])
    assert ends[:, 0].min() == pytest.approx(0.0, abs=1e-6)
    assert ends[:, 0].max() <= 1e3 * STRUT.saw_length + 1e-6
    np.testing.assert_allclose(np.hypot(ends[:, 1], ends[:, 2]).max(), 19.05, atol=1e-6)


def test_the_same_file_each_time_and_odd_names_stay_readable(tmp_path):
    solid = exact_tube(STRUT)
    texts = [step_text(solid, "Träger 'links' \\ 1", "mm") for _ in range(2)]
    assert texts[0] == texts[1]
    assert texts[0].isascii()
    assert "PRODUCT('Tr\\X2\\00E4\\X0\\ger ''links'' \\\\ 1'" in texts[0]
    assert _read(texts[0], tmp_path).mass == pytest.approx(solid.mass, rel=1e-9)


def test_a_solid_that_is_not_the_tube_is_refused_by_name():
    from dataclasses import replace

    with pytest.raises(GeometryError, match=r"strut: its exact solid comes out .* no STEP file"):
        exact_tube(replace(STRUT, volume=1.01 * STRUT.volume))
