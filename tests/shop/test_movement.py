"""The table of movements lists what is hung first, each at its worst case."""

import numpy as np

from soapstone.build import Build
from soapstone.shop.movement import movement_rows


def test_bodies_first_each_in_its_worst_case(heron: Build) -> None:
    rows = movement_rows(heron.movements, heron.cases, heron.placed)
    assert [row["name"] for row in rows[:2]] == ["drive_unit centre", "drive_unit.boss_1"]
    assert len(rows) == 1 + 6 + 8
    for row in rows:
        moves = np.linalg.norm(heron.movements[row["name"]], axis=1)
        assert row["case"] == heron.cases[int(moves.argmax())].name
        assert row["size"] == f"{1000 * moves.max():.2f}"


def test_signs_are_printed(heron: Build) -> None:
    row = next(
        r
        for r in movement_rows(heron.movements, heron.cases, heron.placed)
        if r["name"] == "drive_unit centre"
    )
    assert row["z"][0] in "+\u2212"
