"""The picture of the closest points: each ring stands where its two closest points are."""

from itertools import combinations

import numpy as np

from soapstone.build import Build
from soapstone.shop.clear_page import measured
from soapstone.shop.clear_picture import TIGHTEST, closest_data
from soapstone.shop.drawing import PLAN, SIDE

RING = 25
"""Points of a ring; nothing else in these drawings is a thin open line of as many."""


def test_rings_stand_round_the_tightest_places_in_both_views(heron: Build) -> None:
    """Far from each other on the paper as the places are, seen that way: one factor for all, in both axes."""
    tight = measured(heron.room.pairs)[:TIGHTEST]
    places = np.array([(pair.worst.apart.here + pair.worst.apart.there) / 2.0 for pair in tight])
    assert len(tight) == TIGHTEST
    assert [pair.worst.slack for pair in tight] == sorted(pair.worst.slack for pair in tight)
    views = closest_data(heron.room.pairs, heron.assembly.things, heron.parts, ())
    for view, picture in zip((PLAN, SIDE), views, strict=True):
        assert {label["text"] for label in picture["labels"]} == {"1", "2", "3", "4", "5"}
        rings = [
            np.array(line["points"])
            for line in picture["lines"]
            if line["stroke"] == "thin" and len(line["points"]) == RING and not line.get("closed")
        ]
        middles = np.array([(ring[:-1]).mean(axis=0) for ring in rings])
        assert len(middles) == TIGHTEST
        flat = view.flat(places)
        pairs = list(combinations(range(TIGHTEST), 2))
        drawn = np.array([middles[i] - middles[j] for i, j in pairs])
        seen = np.array([flat[i] - flat[j] for i, j in pairs])
        factor = float((drawn * seen).sum() / (seen * seen).sum())
        assert factor > 50.0  # mm of paper a metre
        np.testing.assert_allclose(drawn, factor * seen, atol=0.003)  # places are rounded to 0.001 mm
        for ring, middle in zip(rings, middles, strict=True):
            np.testing.assert_allclose(
                np.linalg.norm(ring - middle, axis=1), np.linalg.norm(ring[0] - middle), atol=0.003
            )


def test_nothing_measured_draws_nothing(heron: Build) -> None:
    assert closest_data((), heron.assembly.things, heron.parts, ()) == []
