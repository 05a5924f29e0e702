from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from soapstone.bench.bench import Bench, start_job
from soapstone.bench.floor import floor_data, part_of
from soapstone.errors import SoapstoneError

TUBE = ("stock", "main", "tube")


@pytest.fixture
def bench(blank: Path) -> Iterator[Bench]:
    one = Bench(blank.parent)
    yield one
    one.close()


def test_a_change_is_built_and_said(bench: Bench) -> None:
    assert bench.worker.wait(60) and not bench.is_stale
    before = bench.state
    assert bench.set(TUBE, "48.3 x 3 mm")
    assert bench.said == "stock.main.tube: 48.3 x 3 mm" and bench.state != before
    assert bench.worker.wait(60) and not bench.is_stale
    assert bench.answer.build.layout.tubes["bar"].section.outside_diameter == pytest.approx(0.0483, abs=1e-12)


def test_a_refused_value_stays_at_its_cell_with_the_reason(bench: Bench, blank: Path) -> None:
    before = blank.read_text()
    assert not bench.set(TUBE, "48.3 x thick")
    assert bench.refused[TUBE][0] == "48.3 x thick" and "thick" in bench.refused[TUBE][1]
    assert "job.yaml" not in bench.refused[TUBE][1]
    assert blank.read_text() == before
    assert bench.set(TUBE, "48.3 x 3 mm") and not bench.refused


def test_a_place_is_set_by_its_three_parts(bench: Bench, blank: Path) -> None:
    at = ("points", "A", "at")
    assert bench.set(at, "0 mm fwd, 401 mm left, 300 mm up")
    assert "A: {at: [0 mm fwd, 401 mm left, 300 mm up]}       # given" in blank.read_text()
    assert not bench.set(at, "1 mm fwd, 2 mm left")
    assert "3 parts belong here" in bench.said


def test_a_tube_is_added_and_taken_out_and_back(bench: Bench, blank: Path) -> None:
    before = blank.read_text()
    assert bench.add_tube("second", "L", "R", "main")
    assert not bench.add_tube("second", "L", "R", "main") and "stands there already" in bench.said
    assert bench.depending(("members", "second")) == ()
    assert "bung_left (bungs)" in bench.depending(("members", "bar"))
    assert bench.delete(("members", "second"))
    assert blank.read_text() == before
    bench.undo()
    assert "second" in blank.read_text() and bench.said.startswith("Taken back: ")
    bench.redo()
    assert blank.read_text() == before
    bench.redo()
    assert bench.said == "There is nothing to do again"


def test_a_hand_edit_is_taken_up_and_a_meeting_one_is_settled(bench: Bench, blank: Path) -> None:
    bench.look()
    assert bench.said == ""
    blank.write_text(blank.read_text() + "# mine\n")
    bench.look()
    assert "by hand" in bench.said
    blank.write_text(blank.read_text().replace("42.4 x 2.6 mm", "42.4 x 3.2 mm"))
    assert not bench.set(TUBE, "48.3 x 3 mm")
    assert bench.session.conflict is not None
    bench.settle(keep_mine=True)
    assert "48.3 x 3 mm" in blank.read_text()


def test_the_packet_is_of_the_last_good_answer(bench: Bench, blank: Path) -> None:
    assert bench.worker.wait(60)
    told: list[str] = []
    files = bench.packet(told.append)
    assert files[0] == blank.parent / "packet" / "index.txt" and "templates.pdf" in told


def test_there_is_no_packet_without_an_answer(blank: Path) -> None:
    blank.write_text(blank.read_text().replace("stock: main", "stock: nobody"))
    bench = Bench(blank)
    assert bench.worker.wait(60)
    with pytest.raises(SoapstoneError, match="no answer yet"):
        bench.packet(lambda sheet: None)
    bench.close()


def test_the_floor_gets_every_solid_whole(bench: Bench) -> None:
    import base64

    assert bench.worker.wait(60)
    answer = bench.answer
    data = floor_data(answer.things, answer.build.layout.points)
    assert [thing["name"] for thing in data["things"]] == [thing.name for thing in answer.things]
    corner = np.frombuffer(base64.b64decode(data["things"][0]["vertices"]), np.float32).reshape(-1, 3)
    # float32 of metres: half a step at 1 m is 6e-8 m
    assert np.abs(corner - answer.things[0].solid.vertices).max() < 1e-6
    assert {point["name"] for point in data["points"]} == {"A", "B", "L", "R"}


def test_a_piece_has_the_name_of_its_part() -> None:
    assert [part_of(name) for name in ("fork_left tab 2", "rails 3", "bar", "bar 3b")] == [
        "fork_left",
        "rails",
        "bar",
        "bar 3b",
    ]


def test_a_job_begins_from_an_example(tmp_path: Path) -> None:
    assert (start_job("blank", tmp_path / "new") / "job.yaml").is_file()
    with pytest.raises(SoapstoneError, match="is there already"):
        start_job("blank", tmp_path / "new")
