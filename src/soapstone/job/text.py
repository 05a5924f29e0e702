"""YAML text to a tree of plain text: every value stays as it stands in the file, with its place.

`1:12`, `0123`, `no` and `1e3` are text like any other. Duplicate keys, tags, merge keys, keys that are
not text, and aliases that grow without limit are refused.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from soapstone.job.faults import Fault, KeyPath, quote
from soapstone.job.syntax import syntax_fault

DEEPEST = 16
MOST_VALUES = 50_000
LONGEST_TEXT = 4_000

_KEYS = {
    "<<": "merge keys (<<) are not read; write the keys out, or use mirror",
    "": "a colon without a key before it",
}

Plain = dict[str, Any] | list[Any] | str


@dataclass(frozen=True)
class Leaf:
    """A text: `text[start:end]` of the file, quotes included."""

    text: str
    line: int
    start: int
    end: int
    style: str = ""
    size: int = 1


@dataclass(frozen=True)
class Row:
    """A list."""

    items: tuple["Node", ...]
    line: int
    start: int
    end: int
    flow: bool
    size: int


@dataclass(frozen=True)
class Block:
    """Keys and what stands under them."""

    items: tuple[tuple[Leaf, "Node"], ...]
    line: int
    start: int
    end: int
    flow: bool
    size: int


Node = Leaf | Row | Block


@dataclass(frozen=True)
class Tree:
    """The file as read.

    Attributes
    ----------
    root : Leaf, Row or Block, or None
        None when nothing could be read.
    faults : tuple of Fault
    silent : frozenset of key paths
        Places with a fault of form; what else is wrong under them follows from it.
    """

    root: Node | None
    faults: tuple[Fault, ...]
    silent: frozenset[KeyPath] = frozenset()


@lru_cache(maxsize=8)
def read_tree(text: str) -> Tree:
    """Read YAML text; never raises for any text.

    A tree cannot be changed, so the same text read again, as in every edit, gives the same tree.
    """
    composer = _Composer(text.removeprefix("\ufeff"))
    root: Node | None = None
    try:
        root = composer.document()
    except _RefusedError as refused:
        composer.faults.append(refused.fault)
    except Exception as error:  # the scanner raises whatever it stumbles on, OverflowError included
        composer.faults.append(syntax_fault(error, text, composer.last, composer.quoted))
    return Tree(root, tuple(composer.faults), frozenset(composer.silent))


def plain(node: Node) -> Plain:
    """Dicts, lists and texts."""
    if isinstance(node, Leaf):
        return node.text
    if isinstance(node, Row):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.items}


def line_numbers(node: Node, path: KeyPath = ()) -> dict[KeyPath, int]:
    """Key path to line, from 1: of the key, or of the item of a list."""
    found: dict[KeyPath, int] = {path: node.line} if not path else {}
    if isinstance(node, Row):
        for index, item in enumerate(node.items):
            found[(*path, index)] = item.line
            found.update(line_numbers(item, (*path, index)))
    elif isinstance(node, Block):
        for key, value in node.items:
            found[(*path, key.text)] = key.line
            found.update(line_numbers(value, (*path, key.text)))
    return found


class _RefusedError(Exception):
    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.what)
        self.fault = fault


@dataclass
class _Composer:
    """Builds the tree from the parser's events, which come as they are asked for: a text that is
    nested or grows too far is refused before the rest of it is looked at."""

    text: str
    faults: list[Fault] = field(default_factory=list)
    silent: set[KeyPath] = field(default_factory=set)
    anchors: dict[str, Node | None] = field(default_factory=dict)
    values: int = 0
    last: int = 1
    quoted: tuple[int, int] = (0, 0)

    def document(self) -> Node | None:
        self.events: Iterator[Any] = iter(YAML(typ="safe", pure=True).parse(self.text))
        root: Node | None = None
        for event in self.events:
            if isinstance(event, NodeEvent):
                root = self.node(event, ())
            elif isinstance(event, DocumentStartEvent) and root is not None:
                raise self.refused(event, (), "a second document begins here; one file holds one job")
            elif isinstance(event, StreamEndEvent):
                break
        return root

    def refused(self, event: Any, path: KeyPath, what: str) -> _RefusedError:
        return _RefusedError(Fault(_line(event), path, what))

    def report(self, event: Any, path: KeyPath, what: str) -> None:
        self.faults.append(Fault(_line(event), path, what))
        self.silent.add(path)

    def node(self, event: Any, path: KeyPath) -> Node:
        if len(path) > DEEPEST:
            raise self.refused(event, (), f"nested more than {DEEPEST} deep; a job is never that deep")
        if isinstance(event, AliasEvent):
            return self.alias(event, path)
        if event.tag is not None:
            self.report(event, path, f"a tag ({quote(str(event.tag))}) is not read; take it out")
        if event.anchor is not None:
            self.anchors[event.anchor] = None
        built = self.built(event, path)
        if event.anchor is not None:
            self.anchors[event.anchor] = built
        return built

    def alias(self, event: AliasEvent, path: KeyPath) -> Node:
        if event.anchor not in self.anchors:
            raise self.refused(
                event, path, f"*{event.anchor} refers to nothing; no &{event.anchor} before it"
            )
        meant = self.anchors[event.anchor]
        if meant is None:
            raise self.refused(event, path, f"*{event.anchor} refers to itself")
        self.count(event, path, meant.size)
        return meant

    def count(self, event: Any, path: KeyPath, size: int) -> None:
        self.values += size
        if self.values > MOST_VALUES:
            raise self.refused(event, (), f"grows to more than {MOST_VALUES} values; a job is never that big")

    def built(self, event: Any, path: KeyPath) -> Node:
        self.count(event, path, 1)
        if isinstance(event, ScalarEvent):
            return self.leaf(event, path)
        if isinstance(event, SequenceStartEvent):
            return self.row(event, path)
        return self.block(event, path)

    def leaf(self, event: ScalarEvent, path: KeyPath) -> Leaf:
        text = str(event.value)
        if len(text) > LONGEST_TEXT:
            raise self.refused(event, path, f"a text of more than {LONGEST_TEXT} characters begins here")
        if any("\ud800" <= c <= "\udfff" or c == "\0" for c in text):
            self.report(event, path, "an escape for half a character stands here; take it out")
            text = text.encode("ascii", "replace").decode().replace("\0", "?")
        self.last = _line(event)
        if event.style in ("'", '"') and event.end_mark.line > event.start_mark.line:
            self.quoted = (self.last, event.end_mark.line + 1)
        return Leaf(text, _line(event), event.start_mark.index, event.end_mark.index, event.style or "")

    def row(self, event: SequenceStartEvent, path: KeyPath) -> Row:
        items: list[Node] = []
        for inner in self.events:
            if isinstance(inner, SequenceEndEvent):
                return Row(tuple(items), *_span(event, inner, items), 1 + sum(item.size for item in items))
            items.append(self.node(inner, (*path, len(items))))
        raise self.refused(event, path, "the list does not end")

    def block(self, event: Any, path: KeyPath) -> Block:
        items: dict[str, tuple[Leaf, Node]] = {}
        lonely: list[str] = []
        for inner in self.events:
            if isinstance(inner, MappingEndEvent):
                break
            key = self.node(inner, (*path, "?"))
            name = key.text if isinstance(key, Leaf) else "?"
            value = self.node(next(self.events), (*path, name))
            if event.flow_style and isinstance(value, Leaf) and value.start == value.end:
                lonely.append(name)
            elif not isinstance(key, Leaf) or isinstance(inner, AliasEvent) or name in ("", "<<"):
                self.report(inner, path, _KEYS.get(name, "a key must be plain text; put it in quotes"))
            elif name in items:
                where = f"on lines {items[name][0].line} and {key.line}"
                self.faults.append(
                    Fault(key.line, (*path, name), f"stands twice, {where}; take one of them out")
                )
            else:
                items[name] = (key, value)
        if lonely:
            self.report(event, path, _lonely(lonely))
        values = [value for _, value in items.values()]
        size = 1 + sum(1 + value.size for value in values)
        return Block(tuple(items.values()), *_span(event, inner, values), size)


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


def _span(start: Any, end: Any, inner: list[Node]) -> tuple[int, int, int, bool]:
    """Line, start, end (behind the bracket, or behind the last value) and whether in brackets."""
    first, flow = int(start.start_mark.index), bool(start.flow_style)
    last = int(end.end_mark.index) if flow else max((node.end for node in inner), default=first)
    return _line(start), first, last, flow


def _lonely(names: list[str]) -> str:
    verb = "stand" if len(names) > 1 else "stands"
    return (
        f"{' and '.join(quote(name) for name in names)} {verb} without a value, for inside braces a comma "
        "ends the value; write a list in brackets [ ], or the text in quotes"
    )
