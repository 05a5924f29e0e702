import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.shop.tiling import OVERLAP, marks, spans, tiles

lengths = st.floats(1.0, 1200.0)
windows = st.floats(60.0, 250.0)


@settings(deadline=None, max_examples=60)
@given(lengths, windows)
def test_spans_cover_the_length_and_fit_the_window(length: float, window: float) -> None:
    found = spans(length, window)
    assert found[0][0] == 0.0
    assert found[-1][0] + found[-1][1] == pytest.approx(length, rel=1e-12)
    assert all(wide <= window * (1 + 1e-12) for _, wide in found)
    for (left, wide), (following, _) in itertools.pairwise(found):
        assert left + wide - following == pytest.approx(OVERLAP, rel=1e-9)


@settings(deadline=None, max_examples=60)
@given(lengths, lengths, windows, windows)
def test_every_mark_is_on_two_sheets_at_least(width: float, height: float, across: float, up: float) -> None:
    sheets = tiles(width, height, (across, up))
    for mark in marks(width, height, (across, up)):
        on = [
            t
            for t in sheets
            if t.left <= mark.x <= t.left + t.width and t.bottom <= mark.y <= t.bottom + t.height
        ]
        assert len(on) >= 2


def test_neighbours_share_two_marks() -> None:
    found = marks(400.0, 100.0, (170.0, 150.0))
    assert [mark.letter for mark in found] == ["A", "B", "C", "D"]


def test_letters_go_on_after_z() -> None:
    assert marks(3000.0, 100.0, (170.0, 150.0))[26].letter == "AA"


def test_what_fits_stays_whole() -> None:
    assert len(tiles(100.0, 100.0, (170.0, 150.0))) == 1
    assert marks(100.0, 100.0, (170.0, 150.0)) == []
