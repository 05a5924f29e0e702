"""Edits keep every other byte; saving is whole or not at all."""

import os
from pathlib import Path

import pytest

from soapstone.errors import JobError, SoapstoneError
from soapstone.job.edit import delete_item, replace_value
from soapstone.job.save import save

LONG = "x" * 150
JOB = f"""---
# the whole job
title:   aligned      # and a comment
points:
    # the left one
    A:   {{at: [0 in aft,   16 in left, 12 in up]}}   # front left gauge hole
    # of B alone
    B:   {{at: [1 in aft,   16 in left, 11 in up],
          what: second}}
        # deeper, still of B
    # comment of C
    C:
        what: "third"
        hole: 13 mm
readings:
    -   tape A B: 41-7/8 in
    # about the next
    -   tape A C: 42 in

    -   height C: 2 in
note: {LONG}
"""


def test_deletes_an_item_and_nothing_else() -> None:
    gone = JOB[JOB.index("    # of B alone") : JOB.index("    # comment of C")]
    assert delete_item(JOB, ("points", "B")) == JOB.replace(gone, "")


def test_deletes_a_reading_with_its_comment() -> None:
    gone = "    # about the next\n    -   tape A C: 42 in\n"
    assert delete_item(JOB, ("readings", 1)) == JOB.replace(gone, "")


@pytest.mark.parametrize(
    ("path", "gone"),
    [
        (("points", "A", "at", 0), "0 in aft,   "),
        (("points", "A", "at", 2), ", 12 in up"),
        (("points", "B", "what"), ",\n          what: second"),
        (("points", "C", "hole"), "        hole: 13 mm\n"),
        (("note",), f"note: {LONG}\n"),
    ],
)
def test_deletes_in_brackets_and_blocks(path: tuple, gone: str) -> None:
    assert JOB.count(gone) == 1
    assert delete_item(JOB, path) == JOB.replace(gone, "")


@pytest.mark.parametrize(
    ("path", "new", "old_spelling", "new_spelling"),
    [
        (
            ("points", "A", "at", 1),
            "17-1/2 in left",
            "16 in left, 12 in up]}   #",
            "17-1/2 in left, 12 in up]}   #",
        ),
        (("title",), "new: with a colon", "aligned", "'new: with a colon'"),
        (("title",), "0123", "aligned", "0123"),
        (("title",), "it's # not", "aligned", "'it''s # not'"),
        (("title",), "two\nlines", "aligned", '"two\\nlines"'),
        (("points", "C", "what"), 'a 12" one', '"third"', '"a 12\\" one"'),
        (("points", "C", "what"), "plain", '"third"', '"plain"'),
        (("readings", 0, "tape A B"), "1 m", "41-7/8 in", "1 m"),
        (("points", "B", "what"), "a, b", "second", "'a, b'"),
    ],
)
def test_replaces_a_value_and_nothing_else(
    path: tuple, new: str, old_spelling: str, new_spelling: str
) -> None:
    assert JOB.count(old_spelling) == 1
    assert replace_value(JOB, path, new) == JOB.replace(old_spelling, new_spelling)


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_mark_stay(line_end: str, mark: str) -> None:
    text = mark + JOB.replace("\n", line_end)
    assert replace_value(text, ("title",), "other") == text.replace("aligned", "other")
    gone = ("    # about the next\n    -   tape A C: 42 in\n").replace("\n", line_end)
    assert delete_item(text, ("readings", 1)) == text.replace(gone, "")


def test_a_text_over_several_lines_is_replaced_whole() -> None:
    text = "a: |\n  one\n  two\nb: 1\nc: 'x'\n"
    assert replace_value(text, ("a",), "short") == "a: short\nb: 1\nc: 'x'\n"
    assert replace_value(text, ("c",), "y") == text.replace("'x'", "'y'")


@pytest.mark.parametrize(
    ("path", "what"),
    [
        (("points", "Z"), "points.Z: nothing stands there"),
        (("readings", 9), "readings.10: nothing stands there"),
        (("readings", "x"), "readings.x: nothing stands there"),
        (("points", "A"), "points.A: more than one value stands there; change one"),
    ],
)
def test_nothing_to_replace(path: tuple, what: str) -> None:
    with pytest.raises(SoapstoneError) as told:
        replace_value(JOB, path, "x")
    assert str(told.value) == what


def test_the_last_item_is_not_taken_out() -> None:
    with pytest.raises(SoapstoneError, match="cannot be taken out by itself"):
        delete_item("points:\n  A: 1\nb: 2\n", ("points", "A"))


def test_a_text_that_cannot_stand_in_a_file() -> None:
    with pytest.raises(SoapstoneError, match="cannot stand there"):
        replace_value(JOB, ("title",), "\ud800")


@pytest.mark.parametrize("text", ["a: [", "", "a: 1\na: 2\n"])
def test_a_file_with_faults_is_not_edited(text: str) -> None:
    with pytest.raises(SoapstoneError, match="mend this in the file first"):
        replace_value(text, ("a",), "1")


def test_save_and_undo_are_byte_for_byte(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    first = "\ufeff" + JOB.replace("\n", "\r\n")
    save(file, first, None)
    second = delete_item(first, ("points", "B"))
    save(file, second, first)
    assert (file.read_bytes(), (tmp_path / "job.yaml.before").read_bytes()) == (
        second.encode(),
        first.encode(),
    )
    save(file, first, second)
    assert file.read_bytes() == first.encode()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job.yaml", "job.yaml.before"]


def test_a_file_that_changed_is_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("a: 1\n")
    with pytest.raises(SoapstoneError, match="has changed since it was opened"):
        save(file, "a: 3\n", "a: 2\n")
    with pytest.raises(SoapstoneError, match="has changed since it was opened"):
        save(file, "a: 3\n", None)
    assert file.read_text() == "a: 1\n"
    file.unlink()
    with pytest.raises(SoapstoneError, match="is not there any more"):
        save(file, "a: 3\n", "a: 1\n")
    assert list(tmp_path.iterdir()) == []


def test_a_save_that_fails_leaves_what_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("a: 1\n")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(SoapstoneError, match="cannot be written: No space left on device"):
        save(file, "a: 2\n", "a: 1\n")
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("job.yaml", "a: 1\n")]


def test_rights_and_links_stay(tmp_path: Path) -> None:
    real = tmp_path / "real.yaml"
    real.write_text("a: 1\n")
    real.chmod(0o640)
    link = tmp_path / "job.yaml"
    link.symlink_to(real)
    save(link, "a: 2\n", "a: 1\n")
    assert link.is_symlink()
    assert real.read_text() == "a: 2\n"
    assert real.stat().st_mode & 0o777 == 0o640


def test_a_file_that_is_no_text_is_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_bytes(b"\xff")
    with pytest.raises(JobError):
        save(file, "a: 1\n", "a: 2\n")
