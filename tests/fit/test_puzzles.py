"""The two puzzles of `speed/puzzles.py`, a few seeds of each; that file run by itself takes twenty."""

import numpy as np
import pytest
from speed.puzzles import BENT, KEEP, TWICE, near, play, shared

from soapstone.fit.nearby import UPRIGHT


@pytest.mark.parametrize("bar, seed", [(BENT, 0), (BENT, 7), (TWICE, 2)])
def test_comes_out_without_touching(bar, seed: int) -> None:  # type: ignore[no-untyped-def]
    held = near(bar)
    outside = (held.middle + np.array([0.0, 0.0, -0.8]), UPRIGHT)
    assert not held.clear(held.seat, outside, KEEP)  # not to be had without turning
    way = play(bar, seed, budget=100).way
    assert way is not None
    looked, most = shared(bar, way)
    assert looked > 1000 and most == 0.0


def test_same_seed_same_way() -> None:
    one, other = play(BENT, 7, budget=100).way, play(BENT, 7, budget=100).way
    assert one is not None and other is not None
    assert (one.middles == other.middles).all() and (one.turns == other.turns).all()
