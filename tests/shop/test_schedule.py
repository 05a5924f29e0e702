import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pymupdf
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from soapstone.build import Build
from soapstone.job.hardware import Weld
from soapstone.parts.bolts import bolts_of, least_length
from soapstone.shop.marks import marks_of
from soapstone.shop.schedule import schedule_data, welds_of
from soapstone.shop.words import Words
from soapstone.tables import bolt_size


def test_bolts_of_the_example(heron: Build) -> None:
    lines = {line.name: line for line in bolts_of(heron.job, heron.layout)}
    assert list(lines) == [*heron.job.forks, *heron.job.hangers]
    front = lines["fork_front_left"]
    # two tabs of 6, a bung of 60, a gap of 0.5 each side; an M12 nut is 10.8 high, its pitch 1.75 (ISO 4032)
    assert front.grip == pytest.approx(0.073, rel=1e-12)
    assert pytest.approx(87.3) == 73 + 10.8 + 2 * 1.75
    assert front.length == pytest.approx(0.090, rel=1e-12)
    assert (front.size, front.grade) == ("M12", "10.9")
    # the medium hole of ISO 273 for M12
    assert (front.hole, front.bore) == (0.0135, 0.0135)
    # 53 + 14.3 = 67.3 and 63 + 14.3 = 77.3
    assert lines["fork_arm_rear"].length == pytest.approx(0.070, rel=1e-12)
    assert lines["fork_middle_right"].length == pytest.approx(0.080, rel=1e-12)
    hanger = lines["hanger_rear_left"]
    assert (hanger.grip, hanger.length, hanger.bore) == (0.010, None, None)


def test_own_bore_and_hole_come_first_and_one_tab_has_one_gap(heron: Build) -> None:
    fork = heron.layout.forks["fork_front_left"]
    assert fork.bung is not None
    spec = fork.spec.model_copy(update={"tabs": "1", "hole": 0.014})
    own = replace(fork, spec=spec, bung=fork.bung.model_copy(update={"bore": 0.0121}))
    (line,) = bolts_of(heron.job, replace(heron.layout, forks={"own": own}, hangers={}))
    assert (line.hole, line.bore) == (0.014, 0.0121)
    assert line.grip == pytest.approx(0.0665, rel=1e-12)
    bare = replace(fork, bolt=None)
    hanger = replace(heron.layout.hangers["hanger_rear_left"], bolt=None)
    assert bolts_of(heron.job, replace(heron.layout, forks={"bare": bare}, hangers={"h": hanger})) == ()


@hypothesis_settings(deadline=None, max_examples=60)
@given(st.floats(0.001, 0.3), st.sampled_from(["M8", "M12", "1/2-13"]))
def test_least_length_is_long_enough_and_no_longer(grip: float, name: str) -> None:
    size = bolt_size(name)
    length, needed = least_length(size, grip), grip + size.nut_height + 2 * size.pitch
    step = 0.005 if size.metric else 0.00635
    assert needed - 1e-9 <= length < needed + step
    assert length / step == pytest.approx(round(length / step), abs=1e-9)


def test_welded_ends_of_the_example(heron: Build) -> None:
    lines = {line.name: line for line in welds_of(heron.job, heron.layout)}
    ends = {f"{name} {word}" for name in heron.job.members for word in ("start", "end")}
    assert set(lines) == ends | set(heron.job.forks) | set(heron.job.hangers)
    assert {line.leg for line in lines.values()} == {0.003}
    assert {(line.filler, line.process) for line in lines.values()} == {("ER70S-6", "TIG")}
    assert lines["side_left start"].onto == "bung_front_left"
    # by the law of cosines, from where the brace and the cross tube begin and meet
    brace, cross = heron.layout.tubes["brace_left"], heron.layout.tubes["cross_1"]
    a, b = math.dist(brace.start, brace.end), math.dist(cross.start, brace.end)
    c = math.dist(brace.start, cross.start)
    angle = math.acos((a**2 + b**2 - c**2) / (2 * a * b))
    assert lines["brace_left end"].angle == pytest.approx(angle, rel=1e-9)
    assert lines["brace_left end"].sharp


def test_an_ends_own_weld_comes_before_the_default(heron: Build) -> None:
    welds = {"default": Weld(fillet="3 mm"), "side_left start": Weld(fillet="5 mm", process="MIG")}
    job = heron.job.model_copy(update={"welds": welds})
    lines = {line.name: line for line in welds_of(job, heron.layout)}
    own, other = lines["side_left start"], lines["side_left end"]
    assert (own.leg, own.process, own.filler) == (0.005, "MIG", None)
    assert (other.leg, other.process) == (0.003, None)
    rows = {
        row["name"]: row
        for row in schedule_data(
            heron.job.model_copy(update={"welds": {}}),
            heron.layout,
            marks_of(heron.job),
            Words.of(heron.job.show),
        )["welds"]
    }
    assert rows["side_left start"]["leg"] == "give its leg"
    assert rows["side_left start"]["filler"] == rows["side_left start"]["process"] == "not given"
    assert rows["brace_left end"]["leg"] == "groove weld: give its throat"
    assert rows["brace_left end"]["symbol"] == {"size": "", "groove": True, "around": True}
    assert rows["hanger_front_left"]["mark"] == ""


def test_feet_are_welded_where_they_stand(heron: Build, changed: Callable[..., Build]) -> None:
    lines = {line.name: line for line in welds_of(heron.job, heron.layout)}
    fork = lines["fork_front_left"]
    # its tabs point down 48 mm from the rail to the pin, so that the weld is that much above the pin
    assert fork.at - heron.layout.forks["fork_front_left"].pin == pytest.approx([0, 0, 0.048], abs=1e-12)
    assert (fork.onto, fork.count, fork.around) == ("rail_left", 2, False)
    hanger, tube = lines["hanger_rear_left"], heron.layout.tubes["cross_2"]
    # on the face of a 40 mm square tube
    off = hanger.at - tube.at(tube.station_of(hanger.at))
    assert max(abs(off @ tube.width_way), abs(off @ np.cross(tube.axis, tube.width_way))) == pytest.approx(
        0.020, abs=1e-9
    )
    assert hanger.count == 1 and hanger.leg == 0.003
    bolted = changed(
        (
            "rail_left:     {what: left rail of the ladder frame}",
            "rail_left: {bolted: {bolt: M10 8.8, count: 2, torque: 40 N·m, friction: 0.14, scatter: 1.6, "
            "grip: 0.2}}",
        )
    )
    names = {line.name for line in welds_of(bolted.job, bolted.layout)}
    assert "fork_front_left" not in names and "fork_front_right" in names


def test_a_bolt_into_a_boss_is_as_long_as_plate_and_thread(changed: Callable[..., Build]) -> None:
    boss = "    mass: 92 kg\n    bosses: {boss_1: {of: 6061-T6, engaged: 22 mm, outside: 32 mm}}\n"
    build = changed(("    mass: 92 kg\n", boss))
    lines = {line.name: line for line in bolts_of(build.job, build.layout)}
    # 10 mm of plate and 22 mm of thread, the next that is sold
    assert lines["hanger_front_left"].length == pytest.approx(0.035, rel=1e-12)
    assert lines["hanger_front_right"].length is None


def test_an_end_on_nothing_is_not_welded(heron: Build) -> None:
    alone = replace(heron.layout, forks={})
    names = {line.name for line in welds_of(heron.job, alone)}
    assert "side_left start" not in names
    assert "cross_1 start" in names


def test_sheet_of_the_packet(heron: Build, packet: Path) -> None:
    text = " ".join("\n".join(page.get_text() for page in pymupdf.open(packet / "cutlist.pdf")).split())
    assert "Bolts and welds" in text
    assert text.count("M12 10.9") == 8
    assert text.count("10 mm + what the boss takes") == 4
    assert text.count("groove weld") == sum(line.sharp for line in welds_of(heron.job, heron.layout))
