from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.bench.history import Change, History
from soapstone.bench.journal import begin_journal, note_landed, note_step, read_journal


@given(st.text(alphabet="ab\nü"), st.text(alphabet="ab\nü"))
@settings(deadline=None)
def test_a_change_leads_there_and_back(before: str, after: str) -> None:
    change = Change.between(before, after, "any")
    assert change.forward(before) == after
    assert change.back(after) == before


def test_a_change_is_as_small_as_can_be() -> None:
    assert Change.between("wall 3 mm", "wall 4 mm", "w") == Change("w", 5, "3", "4")


def test_a_change_of_another_text_is_refused() -> None:
    change = Change.between("one", "two", "w")
    try:
        change.forward("three")
    except ValueError as error:
        assert "does not belong" in str(error)
    else:
        raise AssertionError("it was taken")


@given(st.lists(st.sampled_from(["a", "b", "undo", "redo"]), max_size=30))
@settings(deadline=None, max_examples=60)
def test_undo_and_redo_walk_the_same_path(steps: list[str]) -> None:
    past, future = [""], []
    history = History("")
    for step in steps:
        if step == "undo":
            history = history.back()
            if len(past) > 1:
                future.append(past.pop())
        elif step == "redo":
            history = history.forward()
            if future:
                past.append(future.pop())
        else:
            past.append(past[-1] + step)
            future = []
            history = history.changed(past[-1], step)
        assert history.text == past[-1]
        assert (len(history.done), len(history.undone)) == (len(past) - 1, len(future))


def test_the_journal_leads_to_the_same_history(tmp_path: Path) -> None:
    file = tmp_path / "journal"
    states = [History("one\n")]
    begin_journal(file, "one\n")
    for move in (
        lambda h: h.changed("one\ntwo\n", "two"),
        lambda h: h.changed("one\ntwo\nthree\n", "three"),
        History.back,
        History.back,
        History.forward,
        lambda h: h.changed("four\n", "four"),
    ):
        states.append(move(states[-1]))
        note_step(file, states[-2], states[-1])
        assert read_journal(file) == (states[-1], "one\n")
    note_landed(file)
    assert read_journal(file) == (states[-1], "four\n")


def test_a_line_cut_off_by_the_end_is_left_out_and_written_over(tmp_path: Path) -> None:
    file = tmp_path / "journal"
    begin_journal(file, "one")
    two, three = History("one").changed("two", "t"), History("one").changed("three", "t")
    note_step(file, History("one"), two)
    file.write_bytes(file.read_bytes()[:-9])
    assert read_journal(file) == (History("one"), "one")
    note_step(file, History("one"), three)
    assert read_journal(file)[0] == three


def test_there_is_no_history_without_a_journal(tmp_path: Path) -> None:
    assert read_journal(tmp_path / "none") == (None, None)
    (tmp_path / "other").write_text('{"undo": 1}\n')
    assert read_journal(tmp_path / "other") == (None, None)
