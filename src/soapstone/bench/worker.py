"""Builds in the background: the newest text wins, the last good answer stays."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from soapstone.bench.again import Remembering
from soapstone.build import Build, build
from soapstone.errors import JobError, SoapstoneError
from soapstone.job.load import load_text
from soapstone.parts.assembly import Thing


@dataclass(frozen=True)
class Answer:
    """What is known of a text.

    Attributes
    ----------
    text : that was built
    build : of it
    seconds : it took
    ran : the stages that ran again
    """

    text: str
    build: Build
    seconds: float
    ran: tuple[str, ...]

    @property
    def things(self) -> tuple[Thing, ...]:
        """Every solid in its place."""
        return self.build.assembly.things


class _CancelledError(Exception):
    """The build is not wanted any more."""


@dataclass
class Worker:
    """One thread that builds whatever text was handed in last.

    Attributes
    ----------
    answer : the last good one; None before the first
    faults : why the newest text gives no answer, one line each; empty when it does
    stage : what is running now; empty when nothing is
    version : goes up whenever one of these changes
    """

    folder: Path
    answer: Answer | None = None
    faults: tuple[str, ...] = ()
    stage: str = ""
    version: int = 0
    builder: Callable[..., Build] = build
    _memory: Remembering = field(default_factory=Remembering)
    _wanted: str | None = None
    _asked: str | None = None
    _running: str | None = None
    _closed: bool = False
    _bell: threading.Condition = field(default_factory=threading.Condition)

    def __post_init__(self) -> None:
        self._thread = threading.Thread(target=self._work, name="soapstone bench", daemon=True)
        self._thread.start()

    def ask(self, text: str) -> None:
        """Build this; what is running for another text is given up."""
        with self._bell:
            self._asked = self._wanted = text
            self._bell.notify_all()

    def cancel(self) -> None:
        """Give up what is running and what is waiting; what is known stays."""
        with self._bell:
            self._asked = self._wanted = None
            self._bell.notify_all()

    def close(self) -> None:
        """Stop for good."""
        with self._bell:
            self._closed, self._wanted = True, None
            self._bell.notify_all()
        self._thread.join()

    @property
    def busy(self) -> bool:
        """Whether something runs or waits."""
        return self._running is not None or self._wanted is not None

    def is_stale(self, text: str) -> bool:
        """Whether the last good answer is not of this text."""
        return self.answer is None or self.answer.text != text

    def wait(self, seconds: float) -> bool:
        """Until nothing runs or waits; False when that took longer."""
        with self._bell:
            return self._bell.wait_for(lambda: not self.busy, seconds)

    def _work(self) -> None:
        while True:
            with self._bell:
                self._bell.wait_for(lambda: self._wanted is not None or self._closed)
                if self._closed:
                    return
                self._running, self._wanted = self._wanted, None
            assert self._running is not None
            self._build(self._running)
            with self._bell:
                self._running, self.stage = None, ""
                self.version += 1
                self._bell.notify_all()

    def _build(self, text: str) -> None:
        start = time.perf_counter()
        self._memory.begin()
        try:
            self._at("the job")
            job = load_text(text, self.folder)
            built = self.builder(job, self._at, self._memory)
        except _CancelledError:
            return
        except JobError as error:
            self.faults = tuple(error.faults)
        except SoapstoneError as error:
            self.faults = (str(error),)
        else:
            ran = tuple(self._memory.ran)
            self.answer = Answer(text, built, time.perf_counter() - start, ran)
            self.faults = ()

    def _at(self, stage: str) -> None:
        """A stage begins; one that is not wanted any more does not."""
        if self._closed or self._asked != self._running:
            raise _CancelledError
        self.stage = stage
        self.version += 1
