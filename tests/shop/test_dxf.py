import io
import math

import ezdxf
import pytest

from soapstone.parts.contour import Arc
from soapstone.parts.plates import Hole, PlateOutline, hanger, tab
from soapstone.shop.dxf import plate_dxf

TAB = tab("tab-1", base_length=0.05, reach=0.048, end_radius=0.02, hole_diameter=0.0135, thickness=0.006)
HANGER = hanger(
    "hanger-1",
    width=0.07,
    length=0.12,
    corner_radius=0.01,
    holes=[Hole((0.0, 0.03), 0.012), Hole((0.0, -0.03), 0.012)],
    thickness=0.01,
)
DISC = PlateOutline("disc", (Arc((0.01, 0.02), 0.03, 0.0, 2 * math.pi),), (), 0.005)


def reread(text: str) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(text))


def area(points: list[tuple[float, float, float]]) -> float:
    """Of a closed outline with bulges: the polygon's, and a circular segment on each bulged side."""
    total = 0.0
    for (x, y, bulge), (u, v, _) in zip(points, points[1:] + points[:1], strict=True):
        total += (x * v - u * y) / 2.0
        if bulge:
            sweep, chord = 4.0 * math.atan(bulge), math.hypot(u - x, v - y)
            radius = chord / (2.0 * math.sin(sweep / 2.0))
            total += radius**2 * (sweep - math.sin(sweep)) / 2.0
    return total


@pytest.mark.parametrize("plate", [TAB, HANGER, DISC], ids=lambda plate: plate.name)
@pytest.mark.parametrize(("unit", "code", "per_metre"), [("mm", 4, 1000.0), ("in", 1, 1000.0 / 25.4)])
def test_reread(plate: PlateOutline, unit: str, code: int, per_metre: float) -> None:
    document = reread(plate_dxf(plate, unit))  # type: ignore[arg-type]
    assert not document.audit().errors
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == code
    entities = list(document.modelspace())
    assert {(e.dxftype(), e.dxf.layer) for e in entities} <= {("LWPOLYLINE", "CUT"), ("CIRCLE", "HOLES")}
    (outline,) = document.modelspace().query("LWPOLYLINE")
    assert outline.closed
    circles = document.modelspace().query("CIRCLE")
    net = area(list(outline.get_points("xyb"))) - sum(math.pi * c.dxf.radius**2 for c in circles)
    # text of a DXF keeps 16 figures; the formulas are exact
    assert net == pytest.approx(plate.area * per_metre**2, rel=1e-12)
    assert len(circles) == len(plate.holes)
    for circle, hole in zip(circles, plate.holes, strict=True):
        assert circle.dxf.radius == pytest.approx(hole.diameter / 2 * per_metre, rel=1e-12)
        assert tuple(circle.dxf.center)[:2] == pytest.approx(tuple(per_metre * c for c in hole.centre))


def test_the_same_plate_gives_the_same_bytes() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    assert plate_dxf(TAB, "mm") == plate_dxf(TAB, "mm")
    assert ezdxf.options.write_fixed_meta_data_for_testing == before
