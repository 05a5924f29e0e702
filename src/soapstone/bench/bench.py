"""The bench behind its pages: one job, one worker, what the slate says. Pages only show it and call it."""

from collections.abc import Callable
from pathlib import Path

from soapstone.bench.edits import Deletion, add_tube, delete, set_text
from soapstone.bench.session import Edit, Session
from soapstone.bench.worker import Answer, Worker
from soapstone.errors import JobError, SoapstoneError
from soapstone.examples import copy_example
from soapstone.job.faults import KeyPath, path_text
from soapstone.shop.packet import write_packet


class Bench:
    """What every page of one bench shares.

    Attributes
    ----------
    session : the open job
    worker : builds it
    said : what was done last, for the slate
    refused : key paths whose last change was refused, with the text that was given and why
    """

    def __init__(self, path: Path) -> None:
        self.session = Session(path)
        self.worker = Worker(self.session.folder)
        self.said = ""
        self.refused: dict[KeyPath, tuple[str, str]] = {}
        self._told = 0
        self._deletion: tuple[str, KeyPath, Deletion] | None = None
        self.worker.ask(self.session.text)

    @property
    def answer(self) -> Answer | None:
        """The last good answer."""
        return self.worker.answer

    @property
    def is_stale(self) -> bool:
        """Whether the last good answer is not of the job as it stands."""
        return self.worker.is_stale(self.session.text)

    @property
    def state(self) -> tuple[int, int, int]:
        """Differs whenever the lists have something new to show."""
        return self.session.version, id(self.worker.answer), self._told

    def look(self) -> None:
        """Take up a change made to the file by hand."""
        if self.session.take_up():
            self._say("The file was changed by hand; that is on the bench now")
            self.worker.ask(self.session.text)

    def set(self, path: KeyPath, new: str) -> bool:
        """Change one value; False when it was refused, and then `refused` tells why."""
        self.refused.pop(path, None)
        done = self.do(lambda text: set_text(text, path, new), f"{path_text(path)}: {new}", path)
        if not done:
            self.refused[path] = (new, self.said)
        return done

    def add_tube(self, name: str, start: str, end: str, stock: str) -> bool:
        """A tube between two places; False when it was refused."""
        words = f"{name}: a tube from {start} to {end}"
        return self.do(lambda text: add_tube(text, name, start, end, stock), words)

    def depending(self, path: KeyPath) -> tuple[str, ...]:
        """What would go with a thing."""
        return self._deleted(self.session.text, path).names

    def delete(self, path: KeyPath) -> bool:
        """Take a thing out with what depends on it; False when it was refused."""
        return self.do(lambda text: self._deleted(text, path).text, f"{path_text(path)} taken out")

    def _deleted(self, text: str, path: KeyPath) -> Deletion:
        """What was worked out for the question is not worked out again for the answer."""
        if self._deletion is None or self._deletion[:2] != (text, path):
            self._deletion = text, path, delete(text, path, self.session.folder)
        return self._deletion[2]

    def do(self, edit: Edit, words: str, path: KeyPath = ()) -> bool:
        """Make a change, save it and build; a refusal is said on the slate."""
        try:
            self.session.change(edit, words)
        except JobError as error:
            self._say(_at_cell(error.faults, path))
        except SoapstoneError as error:
            self._say(str(error))
        else:
            self._say(words)
            self.worker.ask(self.session.text)
            return True
        return False

    def undo(self) -> None:
        """Take the last change back."""
        self._moved("Taken back", self.session.undo, "There is nothing to take back")

    def redo(self) -> None:
        """Do again what was taken back."""
        self._moved("Done again", self.session.redo, "There is nothing to do again")

    def settle(self, *, keep_mine: bool) -> None:
        """End a conflict."""
        self.session.settle(keep_mine=keep_mine)
        self._say("Kept what was changed here" if keep_mine else "Kept what stands in the file")
        self.worker.ask(self.session.text)

    def packet(self, progress: Callable[[str], None]) -> tuple[Path, ...]:
        """Write the shop packet of the last good answer beside the job; errors as `write_packet`."""
        if self.answer is None:
            raise SoapstoneError("there is no answer yet", remedy="wait until it is computed")
        return write_packet(self.answer.build, self.packet_folder, progress)

    @property
    def packet_folder(self) -> Path:
        """Where the packet goes."""
        return self.session.folder / "packet"

    def close(self) -> None:
        """Stop building."""
        self.worker.close()

    def _moved(self, done: str, way: Callable[[], str], nothing: str) -> None:
        try:
            words = way()
        except SoapstoneError as error:
            self._say(str(error))
            return
        self.refused.clear()
        self._say(f"{done}: {words}" if words else nothing)
        if words:
            self.worker.ask(self.session.text)

    def _say(self, words: str) -> None:
        self.said = words
        self._told += 1


def _at_cell(faults: list[str], path: KeyPath) -> str:
    """The fault that is about a key path, without the place; else the first, whole."""
    for fault in faults:
        where, _, what = fault.partition(": ")
        if path and what and path_text(path[:1]) in where and str(path[-1]) in where:
            return what
    return faults[0]


def start_job(example: str, folder: Path) -> Path:
    """A new job folder from an example; errors as `copy_example`."""
    return copy_example(example, folder).parent
