"""What is wanted of a pose, jacks and shafts: every slip is told in one line at its key."""

from collections.abc import Callable
from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job.load import load_text

BODY = """soapstone: 1
title: t
datum: {origin: o, state: s}
points:
  P: {at: [0 mm, 0 mm, 0 mm]}
  Q: {at: [1 m, 0 mm, 0 mm]}
planes:
  floor: {at: [0 mm, 0 mm, 0 mm], faces: up, of: floor}
bodies:
  unit:
    mass: 1 kg
    centre: [0 mm, 0 mm, 0 mm]
    points: {nose: [1 m, 0 mm, 0 mm], output: [-1 m, 0 mm, 0 mm]}
    axes: {crank: along, flange: across, post: up}
    faces: {lid: {level to: crank, angle: 1.5 deg nose down}}
    envelope:
      - {name: sump, box: {from: [0 mm, 0 mm, 0 mm], to: [1 mm, 1 mm, 1 mm]}}
      - box: {from: [0 mm, 0 mm, 0 mm], to: [1 mm, 1 mm, 1 mm]}
place:
  unit:
    point: nose
    at: P
    wanted:
      - ENTRY
obstacles:
  rail: {shapes: [{box: {from: [0 mm, 0 mm, 0 mm], to: [1 mm, 1 mm, 1 mm]}}]}
service: {cases: {own weight: from table}}
"""
GOOD = "{level: crank}"


def faults(text: str) -> list[str]:
    with pytest.raises(JobError) as caught:
        load_text(text, Path())
    return list(caught.value.faults)


@pytest.mark.parametrize(
    "entry",
    [
        GOOD,
        "{level: lid, slope: 1 deg nose up}",
        "{level: flange, between: [1 deg left down, 1 deg right down]}",
        "{heading: crank, toward: aft, within: 10 mm/m}",
        "{point: nose, at: P, within: 1/8 in}",
        "{point: nose, at: [286 mm up, 12 mm left]}",
        "{point: nose, height: at least 150 mm, above: floor}",
        "{point: nose, on line: [P, Q]}",
        "{flange: output, axis: crank, in line with: P}",
        "{flange: output, axis: crank, in line with: [P, Q], angle within: 0.1 deg}",
        "{clear: all, at least: 15 mm}",
        "{clear: rail, at least: 15 mm, part: sump}",
        "{clear: floor, at least: 15 mm, part: part 2}",
    ],
)
def test_every_way_to_ask(entry: str) -> None:
    (wanted,) = load_text(BODY.replace("ENTRY", entry), Path()).place["unit"].wanted
    assert wanted.head in ("level", "heading", "point", "flange", "clear")


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("{slope: 3 deg nose down}", "one of level, heading, point, flange or clear"),
        ("{level: crank, heading: crank}", "one of level, heading, point, flange or clear"),
        ("{level: crank, at least: 3 mm}", "at least does not go with level"),
        ("{level: crnak}", "nearest: crank"),
        ("{level: 'crank, side to side'}", "crank runs fore-aft"),
        ("{level: post}", "runs up and down"),
        ("{level: crank, slope: 3 deg}", "nose down, nose up"),
        ("{level: crank, slope: -3 deg nose down}", "the words carry the sign"),
        ("{level: crank, slope: 3 deg left up}", "say nose down or nose up"),
        ("{level: flange, slope: 3 deg nose up}", "say left up or left down"),
        ("{level: crank, slope: 3 deg nose up, between: [1 deg nose up, 2 deg nose up]}", "slope or between"),
        ("{level: crank, within: 3 mm}", "within is an angle here"),
        ("{level: crank, within: 0 deg}", "more than nothing"),
        ("{level: crank, within: [3 mm]}", "a length or an angle"),
        ("{heading: crank}", "toward is missing"),
        ("{heading: post, toward: left}", "points nowhere"),
        ("{heading: tail, toward: left}", "no axis of unit"),
        ("{point: nose}", "one of at, height or on line"),
        ("{point: nose, at: P, height: 1 m}", "one of at, height or on line"),
        ("{point: noes, at: P}", "nearest: nose"),
        ("{point: nose, at: R}", "'R' is not a point"),
        ("{point: nose, at: [1 m up, 2 m up]}", "run along the same axis"),
        ("{point: nose, at: {x: 1 m}}", "a point, or a list like"),
        ("{point: nose, height: at least}", "at least"),
        ("{point: nose, height: [1 m]}", "a length belongs here"),
        ("{point: nose, height: 1 m, within: 1 deg}", "within is a length here"),
        ("{point: nose, at: P, above: floor}", "above belongs to a height"),
        ("{point: nose, height: 1 m, above: road}", "'road' is not in planes"),
        ("{point: nose, on line: [P, P]}", "P twice makes no line"),
        ("{flange: output, in line with: P}", "a flange wants its axis"),
        ("{flange: output, axis: crank, in line with: [P, Q, P]}", "one point, or two"),
        ("{flange: output, axis: crank, in line with: [P, Q], angle within: 0 deg}", "more than nothing"),
        ("{clear: rail}", "at least is missing"),
        ("{clear: wall, at least: 1 mm}", "'wall' is not in obstacles or planes"),
        ("{clear: rail, at least: 1 mm, part: pump}", "no part of the envelope"),
    ],
)
def test_a_slip_in_what_is_wanted(entry: str, words: str) -> None:
    told = faults(BODY.replace("ENTRY", entry))
    assert any(words in one and "place.unit.wanted" in one for one in told), told
    assert all("\n" not in one for one in told)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("{level to: crank,", "{level to: shaft,", "no axis of unit"),
        ("1.5 deg nose down", "1.5 deg left up", "say nose down or nose up"),
        (
            "{level to: crank, angle: 1.5 deg nose down}",
            "{level to: post, angle: 1 deg nose up}",
            "shows nothing",
        ),
        ("faces: {lid:", "faces: {crank:", "one name, one thing"),
        ("    point: nose\n", "    rest: as it hangs\n    point: nose\n", ""),
        ("    wanted:\n      - ENTRY\n", "    rest: as it hangs\n", "belong to wanted"),
        ("    wanted:\n", "    free play: {shift: 1 mm, turn: 0 deg}\n    wanted:\n", "more than nothing"),
        ("state: s}", "state: s, settling: {down: 60 mm}}", "settling belongs to measured on"),
        (
            "obstacles:\n",
            "jacks: {unit: {left: {point: foot, pitch: 2 mm}}}\nobstacles:\n",
            "no point of unit",
        ),
        ("obstacles:\n", "jacks: {motor: {left: {point: nose}}}\nobstacles:\n", "'motor' is not in bodies"),
    ],
)
def test_slips_round_the_pose(old: str, new: str, words: str) -> None:
    assert BODY.count(old) == 1
    text = BODY.replace(old, new).replace("ENTRY", GOOD)
    if not words:
        assert load_text(text, Path()).place["unit"].rest == "as it hangs"
        return
    told = faults(text)
    assert any(words in one for one in told), told


HALF = "half shafts: {{left: {{from: unit.output, axis: flange, hub: {{{hub}}}}}}}\n"
HUB = "positions: [{travel: 10 mm up, at: [0 mm, 0 mm, 0 mm]}]"
LINKS = ", ".join(
    f"{name}: P"
    for name in (
        *("lower front", "lower rear", "lower ball", "upper front", "upper rear", "upper ball"),
        *("track inner", "track outer"),
    )
)
PROPELLER = "propeller shafts: {{main: {{from: unit.output, axis: crank, {more}}}}}\n"


@pytest.mark.parametrize(
    ("section", "words"),
    [
        (HALF.format(hub=HUB).replace("unit.output", "unit.exit"), "no point of unit"),
        (HALF.format(hub=HUB).replace("axis: flange", "axis: hub"), "no axis of unit"),
        (HALF.format(hub=HUB + ", file: left.csv"), "one of file, positions or wishbones"),
        (HALF.format(hub=HUB + ", joint: P"), "go with wishbones"),
        (HALF.format(hub=HUB.replace("10 mm up", "10 mm left")), "a wheel travels up or down"),
        (HALF.format(hub=HUB.replace("10 mm up", "[10 mm]")), "a length belongs here"),
        (HALF.format(hub="file: left.csv"), "there is no file"),
        (HALF.format(hub=f"wishbones: {{{LINKS}, wheel centre: P}}"), "wishbones want the joint"),
        (
            HALF.format(hub=f"wishbones: {{{LINKS}, wheel centre: R}}, joint: P, travel: [-60 mm, 60 mm]"),
            "'R' is not a point",
        ),
        (
            HALF.format(hub=f"wishbones: {{{LINKS}, wheel centre: P}}, joint: P, travel: [60 mm, 80 mm]"),
            "ride height between them",
        ),
        (PROPELLER.format(more="along: []"), "at least one belongs here"),
        (PROPELLER.format(more="along: [R]"), "'R' is not a point"),
        (PROPELLER.format(more="along: [P], coupling: rigid"), "two places on a rigid shaft's line"),
        (PROPELLER.format(more="along: [P, Q], coupling: rigid, pinion: [P, Q]"), "shaft with joints"),
        (PROPELLER.format(more="along: [P], flange: 100 mm"), "belong to coupling: rigid"),
        (PROPELLER.format(more="along: [P], phases: [0 deg, 0 deg]"), "one for each of the 1"),
        (
            PROPELLER.format(
                more="along: [P], pinion: [P, Q], positions: [{travel: 0 mm, at: [0 mm, 0 mm, 0 mm]}]"
            ),
            "either pinion, or positions",
        ),
        (PROPELLER.format(more="along: [P], tube: 3 in x 0.1 in, bar: 1 in, of: S235"), "tube or bar"),
        (PROPELLER.format(more="along: [P], tube: 3 in, of: S235"), "an outside and a wall"),
        (PROPELLER.format(more="along: [P], bar: 1 in"), "of is missing"),
        (PROPELLER.format(more="along: [P], bar: 1 in, of: S999"), "S999"),
        (PROPELLER.format(more="along: [P], speed: 4200"), "rpm"),
        (PROPELLER.format(more="along: [P], speed: 0 rpm"), "more than nothing"),
    ],
)
def test_a_slip_in_a_shaft(section: str, words: str) -> None:
    told = faults(BODY.replace("ENTRY", GOOD).replace("obstacles:\n", section + "obstacles:\n"))
    assert any(words in one for one in told), told


# ---- positions from a spreadsheet

WITH_FILE = BODY.replace("ENTRY", GOOD).replace(
    "obstacles:\n", HALF.format(hub="file: left.csv") + "obstacles:\n"
)


@pytest.fixture
def read(tmp_path: Path) -> Callable[[bytes], object]:
    def load(data: bytes) -> object:
        (tmp_path / "left.csv").write_bytes(data)
        return load_text(WITH_FILE, tmp_path).half_shafts["left"].hub.positions

    return load


def test_a_travel_table(read: Callable[[bytes], object]) -> None:
    plain = read(b"travel,x,y,z,unit\n-60,0,650,240,mm\n0,1.5,655,300,mm\n")
    assert plain == read(b"\xef\xbb\xbftravel;x;y;z;unit\r\n-60;0;650;240;mm\r\n\r\n0;1,5;655;300;mm\r\n")
    assert plain == read(
        "travel,x,y,z\n60 mm down,0 mm,650 mm,240 mm\n0 mm,1.5 mm,655 mm,300 mm\n".encode("utf-16")
    )
    first, second = plain  # type: ignore[misc]
    assert first.travel == -0.06 and first.at == (0.0, 0.65, 0.24) and first.axis is None
    assert second.at == (0.0015, 0.655, 0.3)
    (named,) = read(b"name,travel,x,y,z,unit,axis x,axis y,axis z\nbump,2,1,26,12,in,0,1,0\n")  # type: ignore[misc]
    assert named.name == "bump" and named.travel == pytest.approx(0.0508) and named.axis == (0.0, 1.0, 0.0)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "a header belongs in row 1"),
        (b"travel,x,y\n0,0,0\n", "a header belongs in row 1"),
        (b"travel,x,y,z,x\n0,0,0,0,0\n", "a header belongs in row 1"),
        (b"travel,x,y,z,camber\n", "'camber' is no column here"),
        (b"travel,x,y,z\n", "no position stands below"),
        (b"travel,x,y,z\n0,0,0,0\n", "row 2"),
        (b"travel,x,y,z,unit\n0,0,0,0,mm\n0,0,,0,mm\n", "row 3: y is missing"),
        (b"travel,x,y,z,unit,axis x,axis y,axis z\n0,0,0,0,mm,0,0,0\n", "an axis of no length"),
        (b"travel,x,y,z,unit,axis x,axis y,axis z\n0,0,0,0,mm,0,1 mm,0\n", "no part of an axis"),
        (b"travel,x,y,z,unit\n0,07-Aug,0,0,mm\n", "row 2"),
        (b"\xff\xfe\x00", "UTF-16"),
    ],
)
def test_a_travel_table_that_cannot_be_read(read: Callable[[bytes], object], data: bytes, words: str) -> None:
    with pytest.raises(JobError) as caught:
        read(data)
    assert any(
        words in one and "half shafts.left.hub.file: left.csv" in one for one in caught.value.faults
    ), caught.value.faults
