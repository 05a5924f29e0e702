"""What one open page knows beside the job: its station, what is picked, what is being typed."""

import asyncio
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, ParamSpec, TypeVar

from soapstone.bench.bench import Bench
from soapstone.bench.edits import free_name, value_at
from soapstone.bench.rows import Cell
from soapstone.bench.stages import Stage
from soapstone.errors import SoapstoneError
from soapstone.finding import Verdict
from soapstone.job.faults import KeyPath

P = ParamSpec("P")
T = TypeVar("T")

SECTIONS = ("members", "points", "forks", "hangers", "bungs", "bodies", "obstacles", "stock", "supports")


async def off_the_page(call: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """Run something slow in a thread of its own, so that every page stays answerable."""
    return await asyncio.to_thread(call, *args, **kwargs)


@dataclass
class NewTube:
    """A tube that is being put together."""

    start: str = ""
    end: str = ""
    stock: str = ""

    def begin(self, spots: list[str], stock: list[str]) -> None:
        """Fill what is empty, or is not there any more, with what there is."""
        self.start = self.start if self.start in spots else next(iter(spots), "")
        self.end = self.end if self.end in spots else next(iter(spots[1:]), "")
        self.stock = self.stock if self.stock in stock else next(iter(stock), "")


@dataclass
class Desk:
    """One page.

    `refresh` draws it anew, `turned` only the list, `asked` only what lies over the page; `marked` shows what
    is picked on the floor.
    """

    bench: Bench
    refresh: Callable[[], None] = lambda: None
    turned: Callable[[], None] = lambda: None
    asked: Callable[[], Any] = lambda: None
    marked: Callable[[str], None] = lambda name: None
    stage: Stage = Stage.HOLD
    picked: str = ""
    words: str = ""
    verdict: Verdict | None = None
    opened: set[str] = field(default_factory=set)
    new_tube: NewTube = field(default_factory=NewTube)
    deleting: tuple[KeyPath, tuple[str, ...]] | None = None
    previewed: str = ""
    writing: str = ""
    keys_shown: bool = False

    def go(self, stage: Stage) -> None:
        """To another station."""
        self.stage = stage
        self.turned()

    def pick(self, name: str) -> None:
        """Pick a part or a point; an end's name stands for its tube."""
        self.picked = name
        if name and self.path_of(name) is None:
            self.picked = next((part for part in (name.rpartition(" ")[0],) if self.path_of(part)), name)
        self.deleting = None
        self.marked(self.picked)
        self.refresh()

    def path_of(self, name: str) -> KeyPath | None:
        """Where a thing stands in the job."""
        job = value_at(self.bench.session.text, ()) or {}
        found = (section for section in SECTIONS if name in (job.get(section) or {}))
        section = next(found, None)
        return (section, name) if section else None

    def narrow(self, words: str) -> None:
        """Only findings with these words."""
        self.words = words
        self.turned()

    def only(self, verdict: str) -> None:
        """Only findings of one verdict."""
        self.verdict = None if verdict == "all" else Verdict(verdict)
        self.turned()

    def open(self, identifier: str, is_open: bool) -> None:
        """A finding was opened or closed."""
        if is_open == (identifier in self.opened):
            return
        (self.opened.add if is_open else self.opened.discard)(identifier)
        self.refresh()

    async def set(self, cell: Cell, new: str) -> None:
        """Change a value."""
        await self._do(self.bench.set, cell.path, new)

    async def add_tube(self) -> None:
        """Add the tube that was put together."""
        new = self.new_tube
        name = free_name(self.bench.session.text, "tube")
        if await self._do(self.bench.add_tube, name, new.start, new.end, new.stock):
            self.pick(name)

    async def ask_delete(self, path: KeyPath) -> None:
        """Name what would go with a thing, before it goes."""
        try:
            self.deleting = path, await off_the_page(self.bench.depending, path)
        except SoapstoneError as error:
            self.bench.said = str(error)
            self.refresh()
        self.asked()

    async def delete(self) -> None:
        """Take out what was asked about."""
        if self.deleting is not None:
            path, self.deleting = self.deleting[0], None
            await self._do(self.bench.delete, path)
            self.pick("")

    def keep(self) -> None:
        """Take nothing out."""
        self.deleting = None
        self.asked()

    async def undo(self) -> None:
        """Take the last change back."""
        await self._do(self.bench.undo)

    async def redo(self) -> None:
        """Do again what was taken back."""
        await self._do(self.bench.redo)

    async def settle(self, keep_mine: bool) -> None:
        """End a conflict."""
        await self._do(lambda: self.bench.settle(keep_mine=keep_mine))

    async def write_packet(self) -> None:
        """Write the packet beside the job."""
        started = time.perf_counter()

        def progress(sheet: str) -> None:
            self.writing = sheet

        self.writing = "the first sheet"
        self.refresh()
        try:
            files = await off_the_page(self.bench.packet, progress)
            took = time.perf_counter() - started
            self.bench.said = f"{len(files)} files written in {took:.1f} s"
        except SoapstoneError as error:
            self.bench.said = str(error)
        self.writing = ""
        self.refresh()

    def preview(self, sheet: str) -> None:
        """Show a sheet in the page, or none."""
        self.previewed = sheet
        self.asked()

    def keys(self) -> None:
        """Show or put away the list of keys."""
        self.keys_shown = not self.keys_shown
        self.asked()

    async def _do(self, call: Callable[..., Any], *given: Any) -> Any:
        done = await off_the_page(call, *given)
        self.refresh()
        return done
