"""The examples: each can be started from, reads without a fault and says that it is invented."""

from pathlib import Path

import pytest

from soapstone.build import build
from soapstone.errors import SoapstoneError
from soapstone.examples import copy_example, examples
from soapstone.finding import Verdict
from soapstone.job.load import load


def test_there_are_examples() -> None:
    assert examples() == ("blank", "heron")


@pytest.mark.parametrize("name", examples())
def test_an_example_is_copied_and_answers(name: str, tmp_path: Path) -> None:
    job = load(copy_example(name, tmp_path / name))
    assert job.invented == "yes" and "invented" in job.title
    assert {f.id for f in build(job).findings if f.verdict is not Verdict.HOLDS} == set()


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    with pytest.raises(SoapstoneError, match="is there already"):
        copy_example("heron", tmp_path)
    with pytest.raises(SoapstoneError, match="is there already"):
        copy_example("heron", tmp_path / "mine.txt")
    assert (tmp_path / "mine.txt").read_text() == "keep me"


def test_an_unknown_example_names_the_known() -> None:
    with pytest.raises(SoapstoneError, match="no example is called 'robin'; there are blank, heron"):
        copy_example("robin", Path("nowhere"))


def test_heron_is_as_rich_as_it_says(tmp_path: Path) -> None:
    job = load(copy_example("heron", tmp_path / "heron"))
    assert len(job.members) >= 10 and len({m.stock for m in job.members.values()}) >= 2
    assert sum(fork.on.startswith("rail") for fork in job.forks.values()) == 6
    assert len(job.readings) >= 24 and len(job.obstacles) >= 3 and job.table is not None
