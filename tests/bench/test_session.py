import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from soapstone.bench import session as session_module
from soapstone.bench.edits import set_value
from soapstone.bench.session import BY_HAND, Session, meet
from soapstone.errors import JobError, SoapstoneError

TITLE = ("title",)


def entitled(name: str):
    return lambda text: set_value(text, TITLE, name)


def test_a_change_lands_in_the_file_and_keeps_every_other_byte(blank: Path) -> None:
    before = blank.read_text()
    session = Session(blank.parent)
    session.change(lambda text: set_value(text, ("stock", "main", "tube"), "48.3 x 3 mm"), "stock main")
    assert blank.read_text() == before.replace("42.4 x 2.6 mm", "48.3 x 3 mm")
    assert blank.with_name("job.yaml.before").read_text() == before


def test_undo_to_the_start_and_all_the_way_back(blank: Path) -> None:
    session = Session(blank)
    texts = [blank.read_text()]
    for number in range(30):
        session.change(lambda text, n=number: f"{text}# {n}\n", f"title {number}", check=False)
        texts.append(blank.read_text())
    for number in reversed(range(30)):
        assert session.undo() == f"title {number}"
        assert blank.read_text() == texts[number]
    assert session.undo() == ""
    for number in range(30):
        assert session.redo() == f"title {number}"
    assert session.redo() == ""
    assert blank.read_text() == texts[-1]


def test_a_change_that_cannot_be_read_changes_nothing(blank: Path) -> None:
    session, before = Session(blank), blank.read_text()
    with pytest.raises(JobError, match=r"stock\.main\.tube"):
        session.change(lambda text: set_value(text, ("stock", "main", "tube"), "thick"), "stock")
    assert (blank.read_text(), session.history.done) == (before, ())


def test_a_hand_edit_is_a_step_that_can_be_taken_back(blank: Path) -> None:
    session, before = Session(blank), blank.read_text()
    assert not session.take_up()
    blank.write_text(before + "# mine\n")
    assert session.take_up()
    assert session.text.endswith("# mine\n")
    assert session.undo() == BY_HAND
    assert blank.read_text() == before


def test_a_hand_edit_elsewhere_and_a_change_on_the_bench_are_both_kept(blank: Path) -> None:
    session = Session(blank)
    blank.write_text(blank.read_text() + "# mine\n")
    session.change(entitled("Ours"), "title")
    assert "title: Ours\n" in blank.read_text() and blank.read_text().endswith("# mine\n")
    assert [step.words for step in session.history.done] == [BY_HAND, "title"]


@pytest.mark.parametrize("keep_mine", [True, False])
def test_two_changes_of_one_line_are_shown_and_neither_is_lost(blank: Path, keep_mine: bool) -> None:
    session, before = Session(blank), blank.read_text()
    theirs = set_value(before, TITLE, "Theirs")
    blank.write_text(theirs)
    with pytest.raises(SoapstoneError, match="by hand at the same place"):
        session.change(entitled("Mine"), "title")
    conflict = session.conflict
    assert conflict is not None and blank.read_text() == theirs
    assert (conflict.base, conflict.mine, conflict.theirs) == (before, entitled("Mine")(before), theirs)
    session.settle(keep_mine=keep_mine)
    assert session.conflict is None
    assert blank.read_text() == (conflict.mine if keep_mine else theirs)
    assert session.undo() == ("title" if keep_mine else BY_HAND)
    assert blank.read_text() == (theirs if keep_mine else before)
    with pytest.raises(SoapstoneError, match="no conflict"):
        session.settle(keep_mine=True)


def test_which_changes_meet() -> None:
    base = "a\nb\nc\nd\n"
    assert not meet(base, "A\nb\nc\nd\n", "a\nb\nc\nD\n")
    assert not meet(base, "A\nb\nc\nd\n", "a\nB\nc\nd\n")
    assert meet(base, "a\nB\nc\nd\n", "a\nx\nc\nd\n")
    assert meet(base, "a\nnew\nb\nc\nd\n", "a\nother\nb\nc\nd\n")
    assert meet(base, "a\nc\nd\n", "a\nB\nc\nd\n")


def test_a_file_gone_for_a_moment_is_looked_at_later(blank: Path) -> None:
    session, before = Session(blank), blank.read_text()
    blank.unlink()
    assert not session.take_up()
    with pytest.raises(SoapstoneError, match="not there any more"):
        session.change(entitled("Ours"), "title")
    blank.write_text(before)
    assert session.text == before
    session.change(entitled("Ours"), "title")
    assert "title: Ours" in blank.read_text()


def test_the_next_bench_takes_up_the_history(blank: Path) -> None:
    first = Session(blank)
    first.change(entitled("One"), "one")
    first.change(entitled("Two"), "two")
    first.undo()
    second = Session(blank)
    assert second.history == first.history
    assert second.redo() == "two"


def test_a_hand_edit_between_two_benches_is_a_step_of_its_own(blank: Path) -> None:
    before = blank.read_text()
    Session(blank).change(entitled("One"), "one")
    blank.write_text(before)  # exactly as it was before the last step: still the hand's doing
    session = Session(blank)
    assert (session.text, session.history.done[-1].words) == (before, BY_HAND)
    session.undo()
    assert "title: One" in blank.read_text()


def test_a_step_that_never_reached_the_file_is_finished(blank: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = Session(blank)
    session.change(entitled("One"), "one")

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(session_module, "save", killed)
        with pytest.raises(KeyboardInterrupt):
            session.change(entitled("Two"), "two")
    assert "title: One" in blank.read_text()
    assert Session(blank).text == blank.read_text()
    assert "title: Two" in blank.read_text()


KEEPS_CHANGING = """
import sys
from pathlib import Path
from soapstone.bench.edits import set_value
from soapstone.bench.session import Session
session = Session(Path(sys.argv[1]))
for number in range(100000):
    session.change(lambda text: set_value(text, ("title",), f"No {number}"), f"no {number}", check=False)
    print(number, flush=True)
"""


def test_nothing_told_as_done_is_lost_to_a_kill(blank: Path) -> None:
    before = blank.read_text()
    process = subprocess.Popen(
        [sys.executable, "-c", KEEPS_CHANGING, str(blank)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    told = 0
    for line in process.stdout:
        told = int(line)
        if told == 5:
            os.kill(process.pid, signal.SIGKILL)
    process.wait()
    process.stdout.close()
    session = Session(blank)
    # one step more than told may have reached the disk
    assert len(session.history.done) in (told + 1, told + 2)
    while session.undo():
        pass
    assert blank.read_text() == before
