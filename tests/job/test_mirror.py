"""The thing on the other side."""

from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job import load, load_text
from soapstone.job.mirror import expand_mirrors, other_side


def mirrored(section: str, thing: dict, members: dict | None = None, **own: object) -> dict:
    data: dict = {"members": dict(members or {})}
    data.setdefault(section, {}).update({"it": thing, "copy": {"mirror": "it", **own}})
    told: list = []
    copy = expand_mirrors(data, lambda path, what: told.append((path, what)))[section]["copy"]
    assert told == []
    return copy


@pytest.mark.parametrize(
    ("name", "other"),
    [
        ("rail_left", "rail_right"),
        ("left-1", "right-1"),
        ("Left", "Right"),
        ("LEFT_rear", "RIGHT_rear"),
        ("cleft", "cleft"),
        ("upright", "upright"),
        ("left_right", "right_left"),
        ("unit.boss_left", "unit.boss_right"),
    ],
)
def test_other_side_of_a_name(name: str, other: str) -> None:
    assert other_side(name) == other
    assert other_side(other) == name


def test_example(folder: Path) -> None:
    job = load(folder)
    right = job.forks["fork_right"]
    assert (right.at, right.on, right.holds, right.bolt) == ("D", "rail_right", "bung_right", "M12 10.9")
    assert job.bungs["bung_right"].in_ == "side_right start"
    assert job.members["brace_right"].from_ == "side_right at 6 in"
    assert job.members["brace_right"].to == "tie at 4 in from end"


CROSS = {
    "tie": {"from": "side_left end", "to": "side_right end"},
    "spine": {"from": "tie middle", "to": "tie2 middle"},
}


@pytest.mark.parametrize(
    ("place", "other"),
    [
        ("tie start", "tie end"),
        ("tie end", "tie start"),
        ("tie middle", "tie middle"),
        ("tie at 6 in", "tie at 6 in from end"),
        ("tie at 6 in from start", "tie at 6 in from end"),
        ("tie at 6 in from end", "tie at 6 in"),
        ("spine at 6 in", "spine at 6 in"),
        ("side_left at 6 in", "side_right at 6 in"),
        ("A", "A"),
    ],
)
def test_a_cross_tube_changes_ends(place: str, other: str) -> None:
    assert mirrored("members", {"from": place, "to": "A"}, CROSS)["from"] == other


def test_own_keys_come_first_and_notes_stay_behind() -> None:
    copy = mirrored("forks", {"at": "C_left", "note": "bent", "width": "40 mm"}, width="50 mm")
    assert copy == {"at": "C_right", "width": "50 mm"}


def test_directions_are_mirrored() -> None:
    copy = mirrored("forks", {"axis": ["0.1", "1", "0"], "points": "left"})
    assert copy == {"axis": ["0.1", "-1", "0"], "points": "right"}
    assert mirrored("forks", {"axis": ["0", "-1", "0"]})["axis"] == ["0", "1", "0"]
    assert mirrored("forks", {"axis": ["1", "0", "0"]})["axis"] == ["1", "0", "0"]


def test_a_mirror_of_a_mirror_is_the_thing_itself() -> None:
    data = {"bungs": {"a": {"in": "s_left start"}, "b": {"mirror": "a"}, "c": {"mirror": "b"}}}
    assert expand_mirrors(data, lambda *_: None)["bungs"]["c"] == {"in": "s_left start"}


def test_long_chains_and_loops_end(small: str, folder: Path) -> None:
    chain = "".join(f"  m{n}: {{mirror: m{n + 1}}}\n" for n in range(500))
    with pytest.raises(JobError) as told:
        load_text(small.replace("members:\n", f"members:\n{chain}  m500: {{mirror: m498}}\n"), folder)
    assert any("m498 -> m499 -> m500 -> m498" in line for line in told.value.faults)


def test_what_cannot_be_mirrored(small: str, folder: Path) -> None:
    with pytest.raises(JobError) as told:
        load_text(small.replace("{mirror: side_left, to: B}", "{mirror: [side_left], to: B}"), folder)
    assert told.value.faults[0].startswith("job.yaml:58 members.side_right.mirror: a list is not in members;")
