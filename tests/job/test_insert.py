import pytest

from soapstone.errors import SoapstoneError
from soapstone.job.insert import insert_key
from soapstone.job.text import plain, read_tree

TEXT = "a: 1 # one\nb:  # two\n    x: {p: 1}   # three\n    y:\n      q: [1, 2]\n\n# four\nc: {}\n"


@pytest.mark.parametrize(
    ("path", "value", "line"),
    [
        (("b", "z"), "3 mm", "    z: 3 mm\n"),
        (("b", "y", "r"), ["1", "2: 3"], "      r: [1, '2: 3']\n"),
        (("d",), {"k": "v"}, "d: {k: v}\n"),
        (("e", "f"), {"k": "it's, so"}, "e: {f: {k: 'it''s, so'}}\n"),
        (("b", "x", "s"), "5", "    x: {p: 1, s: 5}   # three\n"),
        (("c", "k"), "{", "c: {k: '{'}\n"),
        (("b", "empty"), "", "    empty: \n"),
    ],
)
def test_one_line_more_and_every_other_as_it_was(path: tuple[str, ...], value: object, line: str) -> None:
    text = insert_key(TEXT, path, value)
    assert line in text
    assert set(TEXT.splitlines()) - set(text.splitlines()) <= {"    x: {p: 1}   # three", "c: {}"}
    read = plain(read_tree(text).root)
    for key in path:
        read = read[key]
    assert read == value


def test_a_file_without_a_line_end_gets_one() -> None:
    assert insert_key("a: 1", ("b",), "2") == "a: 1\n\nb: 2\n"


def test_a_byte_order_mark_stays() -> None:
    assert insert_key("\ufeffa: 1\n", ("b",), "2") == "\ufeffa: 1\n\nb: 2\n"


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [(("a",), "2", "stands there already"), (("a", "b"), "2", "no keys can stand there")],
)
def test_what_cannot_stand_there_is_refused(path: tuple[str, ...], value: str, words: str) -> None:
    with pytest.raises(SoapstoneError, match=words):
        insert_key(TEXT, path, value)


def test_a_text_that_would_read_otherwise_is_refused() -> None:
    with pytest.raises(SoapstoneError, match="cannot stand there"):
        insert_key(TEXT, ("b", "z"), "two\nlines")


def test_a_file_at_fault_is_mended_first() -> None:
    with pytest.raises(SoapstoneError, match="mend"):
        insert_key("a: {", ("b",), "2")
