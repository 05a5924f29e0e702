import numpy as np
import pytest

from soapstone.build import Build
from soapstone.parts.assembly import Sort, Thing
from soapstone.parts.axes import Axes
from soapstone.parts.solids import Solid, box
from soapstone.shop.drawing import CORNER, PLAN, SCALES, SIDE, View, draw, scale_for


def plate(name: str, at: tuple[float, float, float], size: tuple[float, float, float]) -> Thing:
    return Thing(name, Sort.PLATE, "S355", box(size, Axes.along(at, [1, 0, 0], [0, 1, 0])))


@pytest.mark.parametrize("view", [PLAN, SIDE, CORNER], ids=["plan", "side", "corner"])
def test_views_are_right_handed_looks(view: View) -> None:
    frame = np.stack([view.right, view.up, view.near])
    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-12)


def test_plan_shows_left_at_the_left_and_front_at_the_top() -> None:
    assert PLAN.flat(np.array([0.0, 1.0, 0.0])) == pytest.approx([-1.0, 0.0])
    assert PLAN.flat(np.array([1.0, 0.0, 0.0])) == pytest.approx([0.0, 1.0])
    assert SIDE.flat(np.array([1.0, 0.0, 0.0])) == pytest.approx([-1.0, 0.0])


def test_true_to_scale_and_the_near_one_last() -> None:
    low, high = plate("low", (0, 0, 0), (0.3, 0.2, 0.01)), plate("high", (0, 0, 0.1), (0.1, 0.1, 0.01))
    data = draw(PLAN, [high, low], {}, {"low": ("low", np.zeros(3))}, (100.0, 100.0))
    assert data["scale"] == "1 : 5"
    wide = [np.ptp(np.array(line["points"]), axis=0) for line in data["lines"]]
    assert wide[0] == pytest.approx([40.0, 60.0], abs=2e-3)  # rounded to a micrometre of paper
    assert wide[1] == pytest.approx([20.0, 20.0], abs=2e-3)
    assert data["labels"][0]["text"] == "low"


def test_scales_are_the_standard_ones() -> None:
    assert scale_for(PLAN, [plate("a", (0, 0, 0), (0.05, 0.05, 0.01))], (100.0, 100.0)) == 1
    assert scale_for(PLAN, [plate("a", (0, 0, 0), (90.0, 1.0, 0.01))], (100.0, 100.0)) == SCALES[-1]


def test_a_picture_without_scale_fills_its_room() -> None:
    data = draw(PLAN, [plate("a", (0, 0, 0), (0.3, 0.1, 0.01))], {}, {}, (100.0, 100.0), fill=True)
    assert data["scale"] == "no scale"
    assert data["height"] == pytest.approx(100.0)


def test_a_sheet_seen_edge_on_is_drawn_as_a_line() -> None:
    corners = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.1, 0.1, 0.0], [0.0, 0.1, 0.0]])
    flat = Thing("flat", Sort.BODY, "", Solid(corners, np.array([[0, 1, 2], [0, 2, 3]])))
    block = plate("block", (0, 0, 0), (0.1, 0.1, 0.1))
    lines = draw(SIDE, [flat, block], {}, {}, (100.0, 100.0), scale=1)["lines"]
    assert sorted(len(line["points"]) for line in lines) == [2, 4]


def test_tubes_end_on_and_across(heron: Build) -> None:
    part = heron.parts.tubes["side_left"]
    thing = Thing("side_left", Sort.TUBE, "DOM 1020", plate("p", (0, 0, 0), (0.1, 0.1, 0.1)).solid)
    along = View("along", np.cross(part.axes.y, part.axes.x), part.axes.y)
    (only,) = draw(along, [thing], {"side_left": part}, {}, (100.0, 100.0), scale=1)["lines"]
    assert np.ptp(np.array(only["points"]), axis=0) == pytest.approx([44.45, 44.45], rel=0.02)
    many = draw(PLAN, [thing], {"side_left": part}, {}, (100.0, 100.0), scale=1)["lines"]
    assert len(many) > 50
