"""Every malformed file gives its exact lines: file, line, keys, what was read, what would be right."""

import os
import tomllib
from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job import load, load_text

CASES = tomllib.loads((Path(__file__).parent / "malformed.toml").read_text(encoding="utf-8"))["case"]

BOMB = "a0: &a0 x\n" + "".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]\n" for n in range(1, 20))

RAW = [
    ("empty", b"", "job.yaml: the file is empty"),
    ("only a mark", b"\xef\xbb\xbf", "job.yaml: the file is empty"),
    ("only comments", b"# later\n\n", "job.yaml: the file is empty"),
    ("a list", b"- a\n- b\n", "job.yaml:1: a job begins with keys, like title: Tail subframe"),
    ("a text", b"\n\nhello\n", "job.yaml:3: a job begins with keys, like title: Tail subframe"),
    (
        "not UTF-8",
        "soapstone: 1\ntitle: 41½ in\n".encode("cp1252"),
        "job.yaml:2: byte 0xbd at place 10 of the line is not UTF-8; save the file as UTF-8",
    ),
    (
        "cut in the middle of a character",
        "title: 41½".encode()[:-1],
        "job.yaml:1: byte 0xc2 at place 10 of the line is not UTF-8; save the file as UTF-8",
    ),
    ("UTF-16", "title: a\n".encode("utf-16"), "job.yaml: the text is UTF-16; save it as UTF-8"),
    (
        "binary",
        b"\x7fELF\x02\x01\n\x00\xff\xfe",
        "job.yaml:2: a zero byte stands here, so this is no text file",
    ),
    (
        "alias bomb",
        BOMB.encode(),
        "job.yaml:6: grows to more than 50000 values; a job is never that big",
    ),
    (
        "nested too deep",
        b"title: " + b"[" * 100_000,
        "job.yaml:1: nested more than 16 deep; a job is never that deep",
    ),
    (
        "nested keys",
        b"".join(b" " * n + b"a:\n" for n in range(300)),
        "job.yaml:17: nested more than 16 deep; a job is never that deep",
    ),
    (
        "endless text",
        b"title: " + b"x" * 5000,
        "job.yaml:1 title: a text of more than 4000 characters begins here",
    ),
]


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_one_spot_wrong(case: dict, small: str, folder: Path) -> None:
    assert case["old"] in small
    with pytest.raises(JobError) as told:
        load_text(small.replace(case["old"], case["new"], 1), folder)
    assert told.value.faults == case["says"]


@pytest.mark.parametrize(("data", "says"), [case[1:] for case in RAW], ids=[case[0] for case in RAW])
def test_whole_file_wrong(data: bytes, says: str, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_bytes(data)
    with pytest.raises(JobError) as told:
        load(tmp_path)
    assert told.value.faults == [says]


def test_no_words_of_the_libraries_leak() -> None:
    said = "\n".join(line for case in CASES for line in case["says"]).lower()
    for word in (
        "pydantic",
        "input should",
        "field required",
        "traceback",
        "validat",
        "scalar",
        "token",
        "none",
    ):
        assert word not in said.replace("none of which", "")


def test_200_megabytes_are_refused_without_being_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with (tmp_path / "job.yaml").open("wb") as file:
        file.truncate(200_000_000)
    monkeypatch.setattr(Path, "read_bytes", lambda self: pytest.fail("was read"))
    with pytest.raises(JobError) as told:
        load(tmp_path)
    assert told.value.faults == ["job.yaml: 200 MB is too large for a job, the most is 1 MB"]


def test_missing_file(tmp_path: Path) -> None:
    says = "job.yaml: there is no such file; a job is a folder with a job.yaml in it"
    with pytest.raises(JobError) as told:
        load(tmp_path)
    assert told.value.faults == [says]


def test_folder_where_the_file_belongs(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").mkdir()
    with pytest.raises(JobError) as told:
        load(tmp_path)
    assert told.value.faults == ["job.yaml: a folder stands here; the job is a text file called job.yaml"]


def test_pipe_where_the_file_belongs(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "job.yaml")
    with pytest.raises(JobError) as told:
        load(tmp_path)
    assert told.value.faults == ["job.yaml: this is no plain file"]


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_name_no_file_can_have(name: str, tmp_path: Path) -> None:
    with pytest.raises(JobError) as told:
        load(tmp_path / name)
    assert len(told.value.faults) == 1


def test_link_out_of_the_folder(small: str, folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    outside = tmp_path_factory.mktemp("elsewhere") / "rail.stl"
    outside.write_bytes(b"solid\n")
    (folder / "rail.stl").unlink()
    (folder / "rail.stl").symlink_to(outside)
    says = (
        "job.yaml:41 obstacles.rail.shapes.1.scan: 'rail.stl' leaves the job's folder; "
        "a scan lies in the job's folder; copy it there and give its name"
    )
    with pytest.raises(JobError) as told:
        load_text(small, folder)
    assert told.value.faults == [says]


def test_link_to_itself(small: str, folder: Path) -> None:
    (folder / "rail.stl").unlink()
    (folder / "rail.stl").symlink_to("rail.stl")
    with pytest.raises(JobError) as told:
        load_text(small, folder)
    assert told.value.faults[0].startswith("job.yaml:41 obstacles.rail.shapes.1.scan: 'rail.stl' is no file")


def test_all_faults_at_once_in_the_order_of_their_lines(small: str, folder: Path) -> None:
    text = (
        small.replace("mass: 92 kg", "mass: 92")
        .replace("to: A, stock: main", "to: A, stock: mian")
        .replace("- height C:", "- heigth C:")
        .replace("paint", "")
        .replace("bump: from table", "bump: from tabel")
        .replace("scan: rail.stl", "scan: rial.stl")
    )
    with pytest.raises(JobError) as told:
        load_text(text, folder)
    assert [line.partition(" ")[0] for line in told.value.faults] == [
        f"job.yaml:{line}" for line in (21, 30, 41, 57, 86)
    ]
    assert str(told.value) == "\n".join(told.value.faults)


def test_a_mirror_repeats_only_its_own_faults(small: str, folder: Path) -> None:
    text = small.replace("{mirror: bung_left}", "{mirror: bung_left, outside: 12 mm}")
    with pytest.raises(JobError) as told:
        load_text(text, folder)
    assert told.value.faults == [
        "job.yaml:64 bungs.bung_right: the bore (13.5 mm) is larger than the outside (12 mm)"
    ]
