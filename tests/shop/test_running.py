"""Running dimensions: words never over each other, each place once, lines to the places themselves."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.shop.running import WORD, Mark, below, beside, spread

places = st.lists(st.floats(0.0, 170.0), min_size=1, max_size=12).map(sorted)


@given(places)
@settings(deadline=None, max_examples=60)
def test_words_keep_apart_and_in_order(at: list[float]) -> None:
    found = spread(at, WORD)
    assert len(found) == len(at)
    assert all(b - a >= WORD - 1e-9 for a, b in pairwise(found))
    # moved as a whole they stay where they are: no drift to one side
    assert sum(found) == pytest.approx(sum(at), abs=1e-6)


def test_places_with_room_do_not_move() -> None:
    assert spread([0.0, 10.0, 20.0], WORD) == [0.0, 10.0, 20.0]
    # two that are one stand half a word to each side
    assert spread([5.0, 5.0], 4.0) == pytest.approx([3.0, 7.0])


def test_each_place_is_dimensioned_once_from_the_datum() -> None:
    marks = [
        Mark(26.0, 26.0, "0 mm"),
        Mark(46.0, 50.0, "20 mm"),
        Mark(46.0, 26.0, "20 mm"),
        Mark(66.0, 26.0, "40 mm"),
    ]
    lines, labels = below(marks, 26.0, 26.0)
    assert [label["text"] for label in labels] == ["0\u00a0mm", "20\u00a0mm", "40\u00a0mm"]
    assert [label["x"] for label in labels] == [26.0, 46.0, 66.0] and {label["turn"] for label in labels} == {
        90
    }
    starts = {line["points"][0][0] for line in lines if line["stroke"] == "hair" and len(line["points"]) == 3}
    assert starts == {26.0, 46.0, 66.0}
    assert sum(len(line["points"]) == 9 for line in lines) == 1, "one ring, at the datum"


def test_beside_is_below_turned() -> None:
    marks = [Mark(26.0, 26.0, "0 mm"), Mark(46.0, 30.0, "20 mm")]
    lines, labels = beside(marks, 26.0, 26.0)
    under, words = below(marks, 26.0, 26.0)
    assert [[p[::-1] for p in line["points"]] for line in lines] == [line["points"] for line in under]
    assert [(label["x"], label["y"]) for label in labels] == [(label["y"], label["x"]) for label in words]
