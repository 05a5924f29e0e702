"""The published JSON Schema takes the file as it stands, and refuses what the reader refuses."""

import json

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from soapstone.job import json_schema, json_schema_text
from soapstone.job.text import plain, read_tree


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    Draft202012Validator.check_schema(json_schema())
    return Draft202012Validator(json_schema())


def test_takes_the_file_as_text(validator: Draft202012Validator, small: str) -> None:
    root = read_tree(small).root
    assert root is not None
    assert list(validator.iter_errors(plain(root))) == []


def test_takes_the_file_as_editors_read_it(validator: Draft202012Validator, small: str) -> None:
    read = YAML(typ="safe", pure=True).load(small)
    assert (read["soapstone"], read["service"]["motor"]["ratio"]) == (1, 9.3)  # numbers, not text
    assert list(validator.iter_errors(read)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("reach: 45 mm", "reach: 45"),
        ("title: Small", "titel: Small"),
        ("- tape A C: 41", "- tepe A C: 41"),
        ("- tape A C: 41", "- tape A: 41"),
        ("deep: up", "deep: upp"),
        ("{mirror: bung_left}", "{miror: bung_left}"),
        ("  E: {from: A,", "  E 1: {from: A,"),
        ("soapstone: 1\n", "soapstone: 2\n"),
        ("bump: from table", "bump: from tabel"),
        ("plate: 5 mm S235", "plate: [5 mm, S235]"),
    ],
)
def test_refuses(validator: Draft202012Validator, small: str, old: str, new: str) -> None:
    assert old in small
    assert list(validator.iter_errors(YAML(typ="safe", pure=True).load(small.replace(old, new, 1)))) != []


def test_holds_nothing_that_only_stands_in_memory() -> None:
    text = json_schema_text()
    assert json.loads(text) == json_schema()
    assert text == json_schema_text()
    for word in ("folder", "null", "to_centres", "pydantic"):
        assert word not in text.replace("job folder", "")
