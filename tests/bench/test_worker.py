import threading
import time
from pathlib import Path

import pytest

from soapstone.bench.again import Remembering, Watched, same
from soapstone.bench.edits import set_value
from soapstone.bench.worker import Worker
from soapstone.build import build
from soapstone.job.load import load_text


def built(worker: Worker, text: str):
    worker.ask(text)
    assert worker.wait(60)
    return worker.answer


def test_the_answer_is_that_of_a_build_from_nothing(worker: Worker, blank: Path) -> None:
    text = blank.read_text()
    assert worker.is_stale(text)
    for changed in (
        text,
        set_value(text, ("stock", "main", "tube"), "48.3 x 3 mm"),
        text.replace("503 mm", "504 mm"),
        text.replace("bump: from table", "kerb: from table"),
        text.replace("{bump: 10000}", "{kerb: 10000}").replace("bump: from table", "kerb: from table"),
        text,
    ):
        answer = built(worker, changed)
        if worker.faults:
            assert worker.is_stale(changed)
            continue
        assert answer is not None and not worker.is_stale(changed)
        fresh = build(load_text(changed, blank.parent))
        assert same(answer.build.findings, fresh.findings)
        assert same(answer.build.movements, fresh.movements)


def test_only_what_depends_on_the_change_runs_again(worker: Worker, blank: Path) -> None:
    text = blank.read_text()
    first = built(worker, text)
    assert "adjust" in first.ran and "Bounds.strength" in first.ran
    stock = built(worker, set_value(text, ("stock", "main", "tube"), "48.3 x 3 mm"))
    assert "Bounds.strength" in stock.ran
    assert not {"network_of", "adjust", "place_bodies", "bolt_up"} & set(stock.ran)
    text = set_value(text, ("readings", 0, "tape A L"), "504 mm")
    reading = built(worker, text)
    assert {"adjust", "lay_out", "Bounds.strength"} <= set(reading.ran)
    title = built(worker, set_value(text, ("title",), "Other"))
    assert not {"adjust", "lay_out"} & set(title.ran)


def test_a_fault_leaves_the_last_good_answer(worker: Worker, blank: Path) -> None:
    text = blank.read_text()
    good = built(worker, text)
    wrong = text.replace("stock: main", "stock: nobody")
    assert built(worker, wrong) is good
    assert "nobody" in worker.faults[0] and worker.is_stale(wrong)
    off = text.replace("\nbungs:", "\n  spur: {from: bar at 5 m, to: L, stock: main}\nbungs:")
    assert built(worker, off) is good
    assert "bar at 5 m" in worker.faults[0] and worker.is_stale(off)
    assert built(worker, text) is not None and worker.faults == ()


@pytest.fixture
def gate():
    """A builder that stands still at its first stage until it is let go."""

    class Gate:
        def __init__(self) -> None:
            self.open, self.inside, self.through = threading.Event(), threading.Event(), []

        def __call__(self, job, progress, run):
            progress("points")
            self.inside.set()
            assert self.open.wait(30)
            progress("place")
            self.through.append(job.title)
            return build(job, progress, run)

    return Gate()


def test_the_newest_text_wins(blank: Path, gate) -> None:
    worker = Worker(blank.parent, builder=gate)
    text = blank.read_text()
    worker.ask(text)
    assert gate.inside.wait(30) and worker.stage == "points" and worker.busy
    worker.ask(set_value(text, ("title",), "Middle"))
    worker.ask(set_value(text, ("title",), "Newest"))
    gate.open.set()
    assert worker.wait(60)
    assert gate.through == ["Newest"] and worker.answer.build.job.title == "Newest"
    worker.close()


def test_a_build_is_given_up(blank: Path, gate) -> None:
    worker = Worker(blank.parent, builder=gate)
    worker.ask(blank.read_text())
    assert gate.inside.wait(30)
    worker.cancel()
    gate.open.set()
    assert worker.wait(60)
    assert worker.answer is None and gate.through == [] and worker.faults == ()
    worker.close()


def test_closing_does_not_wait_for_the_whole_build(blank: Path, gate) -> None:
    worker = Worker(blank.parent, builder=gate)
    worker.ask(blank.read_text())
    assert gate.inside.wait(30)
    gate.open.set()
    start = time.perf_counter()
    worker.close()
    # at most the rest of one stage of a one-tube job
    assert time.perf_counter() - start < 20.0


def test_same_tells_a_difference_wherever_it_hides(heron) -> None:
    assert same(heron.layout, heron.layout)
    assert same({"a": (1.0, None)}, {"a": (1.0, None)})
    assert not same({"a": 1.0}, {"a": 1})
    assert not same({"a": 1, "b": 2}, {"b": 2, "a": 1})
    assert not same([1], [1, 2])
    assert not same(object(), object())
    assert not same(heron.findings, heron.findings[1:])


def test_a_watched_job_stands_only_for_what_was_read(blank: Path) -> None:
    text = blank.read_text()
    job, other = load_text(text, blank.parent), load_text(set_value(text, ("title",), "Other"), blank.parent)
    watched = Watched(job)
    assert watched.stock == job.stock
    assert watched.stands_for(other)
    assert watched.title == job.title
    assert not watched.stands_for(other)
    copied = Watched(job)
    assert copied.model_copy().title == job.title  # the whole of it: stands for no other
    assert not copied.stands_for(other) and copied.stands_for(job)
    beside = Watched(job)
    assert beside.folder == job.folder  # files beside the job may have changed
    assert not beside.stands_for(other)


def test_what_a_kept_answer_reads_late_is_the_newest(blank: Path) -> None:
    text = blank.read_text()
    run, held = Remembering(), []

    def stage(job):
        held.append(job)
        return len(job.stock)

    for title in ("One", "Two"):
        run.begin()
        assert run(stage, load_text(set_value(text, ("title",), title), blank.parent)) == 1
    assert len(held) == 1 and held[0].title == "Two"
    run.begin()
    run(stage, load_text(set_value(text, ("title",), "Three"), blank.parent))
    assert run.ran == [stage.__qualname__]
