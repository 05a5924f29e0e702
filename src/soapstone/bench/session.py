"""One job on the bench: its text and history, its file, what is built of it and what is stale.

Every change lands in the file at once. A change made to the file by hand becomes a step of the history like
any other; one that meets a change on the bench at the same lines is kept as a conflict, both versions whole.
"""

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from soapstone.bench.history import History
from soapstone.bench.journal import NAME, begin_journal, note_landed, note_step, read_journal
from soapstone.errors import JobError, SoapstoneError
from soapstone.job.load import FILE, load_text, read_text
from soapstone.job.save import save

Edit = Callable[[str], str]

BY_HAND = "the file was changed by hand"


@dataclass(frozen=True)
class Conflict:
    """Two changes that meet.

    Attributes
    ----------
    base : the text that both began from
    mine : with the change made on the bench
    theirs : as the file stands now
    words : what was done on the bench
    """

    base: str
    mine: str
    theirs: str
    words: str


class Session:
    """The open job; safe to call from several threads.

    Parameters
    ----------
    path : the job's folder or file

    Raises
    ------
    JobError
        There is no such file, or it is no text.
    """

    def __init__(self, path: Path) -> None:
        self.file = (path / FILE if path.is_dir() else path).resolve()
        self.journal = self.file.with_name(NAME)
        self.conflict: Conflict | None = None
        self.version = 0
        self._lock = threading.RLock()
        self._history = self._opened(read_text(self.file))

    @property
    def text(self) -> str:
        """The job as it stands on the bench, and in the file."""
        return self._history.text

    @property
    def history(self) -> History:
        """What led to it."""
        return self._history

    @property
    def folder(self) -> Path:
        """The job's folder."""
        return self.file.parent

    def _opened(self, found: str) -> History:
        """Take up where the last bench left off; a step that never reached the file is finished."""
        last, landed = read_journal(self.journal)
        if last is None:
            begin_journal(self.journal, found)
            return History(found)
        if last.text == found:
            return last
        if found == landed:
            save(self.file, last.text, found)
            note_landed(self.journal)
            return last
        by_hand = last.changed(found, BY_HAND)
        note_step(self.journal, last, by_hand)
        note_landed(self.journal)
        return by_hand

    def change(self, edit: Edit, words: str, *, check: bool = True) -> None:
        """Make a change and save it.

        Parameters
        ----------
        edit : text to text
        words : what is done, for the slate
        check : refuse a change after which the job cannot be read

        Raises
        ------
        SoapstoneError
            The edit cannot be made, the file cannot be written, or both sides changed the same lines: then
            `conflict` holds both.
        JobError
            The job could not be read after it; nothing is changed.
        """
        with self._lock:
            base = self.text
            mine = edit(base)
            if check:
                load_text(mine, self.folder)
            if self.take_up() and self.text != base:
                mine = self._onto(edit, base, mine, words)
                if check:
                    load_text(mine, self.folder)
            self._step(self._history.changed(mine, words))

    def _onto(self, edit: Edit, base: str, mine: str, words: str) -> str:
        """The same change on what the file has become."""
        theirs = self.text
        if not meet(base, mine, theirs):
            with suppress(SoapstoneError):
                return edit(theirs)
        self.conflict = Conflict(base, mine, theirs, words)
        self.version += 1
        raise SoapstoneError(
            "was changed by hand at the same place",
            where=self.file.name,
            remedy="look at both versions and keep one",
        )

    def settle(self, *, keep_mine: bool) -> None:
        """End a conflict; the version not kept stays one undo away.

        Raises
        ------
        SoapstoneError
            There is none, or the file cannot be written.
        """
        with self._lock:
            if self.conflict is None:
                raise SoapstoneError("there is no conflict")
            conflict, self.conflict = self.conflict, None
            self.version += 1
            if keep_mine:
                self._step(self._history.changed(conflict.mine, conflict.words))

    def undo(self) -> str:
        """Take the last change back; says which, or nothing."""
        return self._move(History.back, lambda before: before.done)

    def redo(self) -> str:
        """Do again what was taken back last; says which, or nothing."""
        return self._move(History.forward, lambda before: before.undone)

    def _move(self, way: Callable[[History], History], steps: Callable[[History], tuple[object, ...]]) -> str:
        with self._lock:
            self.take_up()
            before = self._history
            if not steps(before):
                return ""
            self._step(way(before))
            return str(getattr(steps(before)[-1], "words", ""))

    def take_up(self) -> bool:
        """Look whether the file was changed by hand, and take that up; True when it was.

        A file that is gone or unreadable for a moment, as while an editor saves it, is looked at again later.
        """
        with self._lock:
            try:
                found = read_text(self.file)
            except JobError:
                return False
            if found == self.text:
                return False
            after = self._history.changed(found, BY_HAND)
            note_step(self.journal, self._history, after)
            note_landed(self.journal)
            self._history = after
            self.version += 1
            return True

    def _step(self, after: History) -> None:
        if after == self._history:
            return
        before = self._history
        note_step(self.journal, before, after)
        try:
            save(self.file, after.text, before.text)
            note_landed(self.journal)
        except SoapstoneError:
            note_step(self.journal, after, after.back())
            raise
        self._history = after
        self.version += 1


def meet(base: str, mine: str, theirs: str) -> bool:
    """Whether two changes of one text touch the same lines, or put something in at the same place."""
    ours, others = _touched(base, mine), _touched(base, theirs)
    return any(a < d and c < b for a, b in ours for c, d in others)


def _touched(base: str, other: str) -> list[tuple[int, int]]:
    """Half-open ranges of the lines of `base` that change, an insertion as the gap it falls in."""
    matcher = SequenceMatcher(None, base.splitlines(), other.splitlines(), autojunk=False)
    return [
        (2 * start - (start == end), 2 * end + (start == end))
        for kind, start, end, _, _ in matcher.get_opcodes()
        if kind != "equal"
    ]
