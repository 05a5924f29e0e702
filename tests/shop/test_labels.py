import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.shop.labels import apart

ROOM = (180.0, 120.0)


def box(label: dict, size: float = 7.0) -> tuple[float, float, float, float]:  # type: ignore[type-arg]
    """Left, bottom, right, top; a letter of Fira Sans is at most 0.19 mm wide per point, on the average."""
    half, tall = 0.19 * size * len(label["text"]) / 2, 0.12 * size
    return label["x"] - half, label["y"] - tall, label["x"] + half, label["y"] + tall


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@settings(deadline=None, max_examples=25)
@given(
    st.lists(st.tuples(st.floats(2, 178), st.floats(2, 118)), min_size=1, max_size=9),
    st.sampled_from(["T1", "fork_middle_left"]),
)
def test_labels_stay_inside_and_off_each_other(spots: list[tuple[float, float]], text: str) -> None:
    labels, _ = apart([(text, spot) for spot in spots], room=ROOM)
    boxes = [box(label) for label in labels]
    for number, one in enumerate(boxes):
        assert one[0] >= 0.0 and one[1] >= 0.0 and one[2] <= ROOM[0] and one[3] <= ROOM[1]
        assert not any(overlap(one, other) for other in boxes[:number])


def test_a_lone_label_stands_on_its_spot_without_a_leader() -> None:
    ((label,), leaders) = apart([("far", (90.0, 10.0))], room=ROOM)
    assert (label["x"], label["y"]) == (90.0, 10.0)
    assert leaders == []


def test_a_label_leaves_the_lines_and_keeps_a_leader_to_its_spot() -> None:
    spot = (90.0, 60.0)
    hatch = [[(80.0, y), (100.0, y)] for y in np.arange(50.0, 70.0, 0.5)]
    ((label,), (leader,)) = apart([("fork", spot)], room=ROOM, drawn=hatch)
    left, bottom, right, top = box(label)
    assert right < 80.0 or left > 100.0 or top < 50.0 or bottom > 69.5
    assert leader["points"][1] == pytest.approx(spot)
    assert math.dist(leader["points"][0], (label["x"], label["y"])) < math.dist(
        spot, (label["x"], label["y"])
    )


def test_a_label_keeps_clear_of_every_spot_where_asked() -> None:
    spots = [("1", (50.0, 50.0)), ("2", (53.0, 50.0)), ("3", (50.0, 53.0))]
    labels, _ = apart(spots, room=ROOM, clear=3.4)
    for label in labels:
        for _, (x, y) in spots:
            assert math.hypot(label["x"] - x, label["y"] - y) > 1.7
