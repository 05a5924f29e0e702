"""The examples: each can be started from, reads without a fault and says that it is invented."""

from pathlib import Path

import pytest

from soapstone.build import build
from soapstone.errors import SoapstoneError
from soapstone.examples import copy_example, examples
from soapstone.finding import Verdict
from soapstone.job.load import load


def test_there_are_examples() -> None:
    assert examples() == ("blank", "heron", "wren")


# Left open, each for a reason that its finding names; everything else holds.
OPEN = {"wren": {"weld:peg in run_left", "weld:peg in run_right"}}


@pytest.mark.parametrize("name", examples())
def test_an_example_is_copied_and_answers(name: str, tmp_path: Path) -> None:
    job = load(copy_example(name, tmp_path / name))
    assert job.invented == "yes" and "invented" in job.title
    found = build(job).findings
    assert all(f.verdict is Verdict.OPEN for f in found if f.verdict is not Verdict.HOLDS)
    assert {f.id for f in found if f.verdict is not Verdict.HOLDS} == OPEN.get(name, set())


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    with pytest.raises(SoapstoneError, match="is there already"):
        copy_example("heron", tmp_path)
    with pytest.raises(SoapstoneError, match="is there already"):
        copy_example("heron", tmp_path / "mine.txt")
    assert (tmp_path / "mine.txt").read_text() == "keep me"


def test_an_unknown_example_names_the_known() -> None:
    with pytest.raises(SoapstoneError, match="no example is called 'robin'; there are blank, heron, wren"):
        copy_example("robin", Path("nowhere"))


def test_heron_is_as_rich_as_it_says(tmp_path: Path) -> None:
    job = load(copy_example("heron", tmp_path / "heron"))
    assert len(job.members) >= 10 and len({m.stock for m in job.members.values()}) >= 2
    assert sum(fork.on.startswith("rail") for fork in job.forks.values()) == 6
    assert len(job.readings) >= 24 and len(job.obstacles) >= 3 and job.table is not None


def test_wren_has_the_parts_that_heron_has_none_of(tmp_path: Path) -> None:
    answer = build(load(copy_example("wren", tmp_path / "wren")))
    parts, made = answer.parts, answer.made
    assert {name: len(bent.path.bends) for name, bent in parts.bent.items()} == {
        "cradle_front": 2,
        "cradle_rear": 2,
    }
    runners = [parts.tubes[name] for name in ("run_left", "run_right")]
    assert all(len(runner.openings) == 1 for runner in runners)
    # 3 mm above the cradles' axes: square in the middle they would look the same after half a turn
    assert not any(end.half_turn for runner in runners for end in (runner.end_a, runner.end_b))
    assert [plate.name for plate in made.plates] == ["coil_bracket", "coil_bracket-wall-1"]
    assert made.plates[0].plate.outline.cutouts and made.plates[1].wall_of == "coil_bracket"
    assert len(made.folded[0].wedges) == 2 and made.turned[0].spec.quantity == 4
