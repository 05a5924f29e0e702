from pathlib import Path

import pytest

from soapstone.bench.edits import add_tube, delete, free_name, set_value, value_at
from soapstone.errors import JobError, SoapstoneError
from soapstone.job.load import load_text

HERE = Path()


def lines_gone(before: str, after: str) -> set[str]:
    return set(before.splitlines()) - set(after.splitlines())


def test_a_tube_is_one_line_more(heron_text: str) -> None:
    text = add_tube(heron_text, "strut", "cross_1 middle", "cross_2 middle", "light")
    assert lines_gone(heron_text, text) == set()
    assert lines_gone(text, heron_text) == {
        "  strut: {from: cross_1 middle, to: cross_2 middle, stock: light}"
    }
    assert "strut" in load_text(text, HERE).members
    with pytest.raises(SoapstoneError, match="stands there already"):
        add_tube(text, "strut", "a", "b", "light")


def test_a_free_name_is_used_nowhere(heron_text: str) -> None:
    assert free_name(heron_text, "strut") == "strut_1"
    assert free_name(heron_text, "cross").startswith("cross_")
    assert free_name(heron_text, "cross") not in heron_text


def test_a_key_that_did_not_stand_is_put_in(heron_text: str) -> None:
    text = set_value(heron_text, ("members", "side_right", "stock"), "drop")
    assert "side_right: {mirror: side_left, stock: drop}" in text
    assert value_at(text, ("members", "side_right", "stock")) == "drop"
    assert value_at(text, ("members", "nobody", "stock")) is None


def test_a_thing_on_which_nothing_stands_goes_alone(heron_text: str) -> None:
    gone = delete(heron_text, ("members", "cross_3"), HERE)
    assert gone.gone == ()
    assert len(lines_gone(heron_text, gone.text)) == 1


def test_what_depends_on_a_thing_is_named_and_goes_with_it(heron_text: str) -> None:
    gone = delete(heron_text, ("members", "side_left"), HERE)
    assert {"side_right (members)", "drop_left (members)", "bung_front_left (bungs)"} <= set(gone.names)
    job = load_text(gone.text, HERE)
    assert not {"side_left", "side_right", "drop_left"} & set(job.members)
    assert "# gauge holes of the ladder frame" in gone.text


def test_the_last_of_a_section_takes_the_section(blank: Path) -> None:
    gone = delete(blank.read_text(), ("members", "bar"), HERE)
    assert "members:" not in gone.text
    assert "bung_left (bungs)" in gone.names


def test_what_the_job_cannot_be_without_stays(blank: Path) -> None:
    with pytest.raises(SoapstoneError, match="service is missing"):
        delete(blank.read_text(), ("service",), HERE)


def test_a_job_at_fault_is_mended_first(blank: Path) -> None:
    with pytest.raises(JobError, match="nobody"):
        delete(blank.read_text().replace("stock: main", "stock: nobody"), ("points", "A"), HERE)
