import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pymupdf
import pytest

from soapstone.build import Build
from soapstone.shop.marking import inside_spacing, landings, marking_data
from soapstone.shop.marks import marks_of
from soapstone.shop.words import Words


def test_where_things_land_on_cross_1(heron: Build) -> None:
    """Stations, sides and angles by plane geometry from the points alone."""
    start, end = heron.layout.tubes["cross_1"].start, heron.layout.tubes["cross_1"].end
    length = math.dist(start, end)
    found = {
        landing.what: landing
        for landing in landings(heron.layout, heron.parts, marks_of(heron.job), "cross_1")
    }
    assert list(found) == sorted(found, key=lambda what: found[what].station)
    assert len(found) == 5
    fork = found["fork_arm_rear, middle between its tabs"]
    # its pin is laid out 60 mm straight up from the tube's middle, and the tube is not quite level
    assert fork.station == pytest.approx(length / 2 + 0.060 * (end[2] - start[2]) / length, rel=1e-9)
    assert fork.side == "up"
    assert found["T8 brace_left, end B"].station == pytest.approx(
        math.dist(start, heron.layout.tubes["brace_left"].end), rel=1e-9
    )
    assert found["T8 brace_left, end B"].side == "forward"
    boss = heron.placed["drive_unit"].points["boss_1"]
    along = sum((b - s) * (e - s) for b, s, e in zip(boss, start, end, strict=True)) / length
    hanger = found["hanger_front_left, middle of its foot"]
    # a plate square to its pin, which lies across: its foot stands square under the boss on the face that the
    # boss is nearer to, below or behind the tube, so that the boss is no farther along than the plate leans
    assert hanger.station == pytest.approx(along, abs=1e-3)
    foot = [s + along / length * (e - s) for s, e in zip(start, end, strict=True)]
    lower, behind = foot[2] - boss[2], foot[0] - boss[0]
    # the tube is square to the vehicle to a tenth of a degree
    assert hanger.side == ("down" if abs(lower) > abs(behind) else "aft")
    assert math.degrees(hanger.angle) == pytest.approx(-90.0 if abs(lower) > abs(behind) else 180.0, abs=0.2)
    assert hanger.lean == pytest.approx(math.pi / 2, abs=1e-9)
    assert found["T8 brace_left, end B"].round_outside is None  # a rectangular tube has no one radius


def test_a_tape_hooks_on_the_sawn_end(heron: Build) -> None:
    for name, part in heron.parts.tubes.items():
        longest = float(part.end_a.outline.outer.min())
        for landing in landings(heron.layout, heron.parts, marks_of(heron.job), name):
            assert landing.station - landing.from_sawn == pytest.approx(longest, abs=1e-5)
            if landing.round_outside is not None:
                radius = part.shape.outside_diameter / 2
                assert landing.round_outside / radius == pytest.approx(landing.angle, rel=1e-12)
    (drop,) = (
        found
        for found in landings(heron.layout, heron.parts, marks_of(heron.job), "side_left")
        if "drop_left" in found.what
    )
    assert drop.station == pytest.approx(heron.layout.tubes["side_left"].length / 2, rel=1e-9)
    assert drop.side == "up"


def test_angles_do_not_print_as_minus_half_a_turn(heron: Build) -> None:
    for tube in marking_data(heron.layout, heron.parts, marks_of(heron.job), Words.of(heron.job.show))[
        "tubes"
    ]:
        for row in tube["rows"]:
            assert row["angle"] not in ("−180.0°", "−0.0°")


def test_inside_of_a_fork_is_its_bung_and_two_gaps(heron: Build) -> None:
    assert inside_spacing(heron.layout.forks["fork_front_left"]) == pytest.approx(0.061, rel=1e-12)
    assert inside_spacing(heron.layout.forks["fork_arm_rear"]) == pytest.approx(0.041, rel=1e-12)
    fork = heron.layout.forks["fork_front_left"]
    assert inside_spacing(replace(fork, bung=None)) is None
    single = replace(fork, spec=fork.spec.model_copy(update={"tabs": "1"}))
    assert inside_spacing(single) is None


def test_a_single_tab_is_marked_at_its_pin(heron: Build) -> None:
    fork = heron.layout.forks["fork_arm_rear"]
    single = replace(fork, spec=fork.spec.model_copy(update={"tabs": "1"}), bung=None)
    layout = replace(heron.layout, forks={**heron.layout.forks, fork.name: single})
    whats = [found.what for found in landings(layout, heron.parts, marks_of(heron.job), "cross_1")]
    assert "fork_arm_rear, its pin's middle" in whats
    (row,) = (
        row
        for row in marking_data(layout, heron.parts, marks_of(heron.job), Words.of(heron.job.show))["forks"]
        if row["name"] == fork.name
    )
    assert (row["inside"], row["outside"], row["bung"]) == ("–", "–", "–")


def test_sheet_of_the_packet(heron: Build, packet: Path) -> None:
    text = " ".join("\n".join(page.get_text() for page in pymupdf.open(packet / "cutlist.pdf")).split())
    assert "Marking out" in text
    assert "middle of the pin of fork_front_left" in text
    assert "where it meets the axis of side_left" in text
    assert "Nothing is welded along T3 drop_left" in text
    assert np.all([fork in text for fork in heron.layout.forks])
