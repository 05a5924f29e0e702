"""Changes of a job as the bench makes them: text in, text out, comments kept."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from soapstone.errors import JobError, SoapstoneError
from soapstone.job.edit import delete_items, replace_value
from soapstone.job.faults import KeyPath, path_text
from soapstone.job.insert import insert_key
from soapstone.job.load import load_text
from soapstone.job.text import line_numbers, plain, read_tree

_LINE = re.compile(r"^[^\s:]+:(\d+)")
_NESTED = {"bolt up": 3, "service": 3, "jacks": 3}
"""Keys from the top to one thing, where it is not section and name."""


@dataclass(frozen=True)
class Deletion:
    """What goes when a thing goes.

    Attributes
    ----------
    text : the file without all of it
    gone : key paths of what depends on the thing, in the order in which they were found
    """

    text: str
    gone: tuple[KeyPath, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """`drop_left (members)`: what depends on it, for a person to read."""
        return tuple(f"{path[-1]} ({path_text(path[:-1])})" for path in self.gone)


def value_at(text: str, path: KeyPath) -> Any:
    """What stands at a key path as plain text, list or dict; None where nothing stands."""
    value = _plain_of(text)
    for key in path:
        try:
            value = value[key]
        except (KeyError, IndexError, TypeError):
            return None
    return value


@lru_cache(maxsize=8)
def _plain_of(text: str) -> Any:
    """What a page asks for again and again while a text stands; whoever gets it only reads it."""
    tree = read_tree(text)
    return plain(tree.root) if tree.root is not None else None


def set_value(text: str, path: KeyPath, new: str) -> str:
    """The text with a value changed, or put in where none stood.

    Of a thing that mirrors another the key is put into its own line, beside `mirror`.

    Raises
    ------
    SoapstoneError
        As `replace_value` and `insert_key`.
    """
    if value_at(text, path) is None:
        return insert_key(text, path, new)
    return replace_value(text, path, new)


def set_text(text: str, path: KeyPath, new: str) -> str:
    """As `set_value`; where a list of texts stands, its parts are given with commas between.

    Raises
    ------
    SoapstoneError
        Another number of parts than stand there, or as `set_value`.
    """
    standing = value_at(text, path)
    if not isinstance(standing, list):
        return set_value(text, path, new)
    parts = [part.strip() for part in new.split(",")]
    if len(parts) != len(standing):
        raise SoapstoneError(
            f"{len(standing)} parts belong here with commas between; {len(parts)} stand here"
        )
    for index, (part, before) in enumerate(zip(parts, standing, strict=True)):
        if part != before:
            text = set_value(text, (*path, index), part)
    return text


def add_tube(text: str, name: str, start: str, end: str, stock: str) -> str:
    """The text with a tube between two places.

    Raises
    ------
    SoapstoneError
        The name is taken.
    """
    return insert_key(text, ("members", name), {"from": start, "to": end, "stock": stock})


def free_name(text: str, stem: str) -> str:
    """The first of `stem_1`, `stem_2` … that no section of the job uses."""
    found = value_at(text, ())
    used = {name for part in found.values() if isinstance(part, dict) for name in part} if found else set()
    return next(name for number in range(1, len(used) + 2) if (name := f"{stem}_{number}") not in used)


def delete(text: str, path: KeyPath, folder: Path) -> Deletion:
    """Take a thing out, and whatever cannot be without it.

    Parameters
    ----------
    folder : of the job, for what the job reads beside its file

    Raises
    ------
    SoapstoneError
        It cannot be taken out, or the job was at fault before.
    """
    load_text(text, folder)
    gone: list[KeyPath] = []
    left = _without(text, [path])
    while depending := _at_fault(left, folder):
        left = _without(left, depending)
        gone += depending
    return Deletion(left, tuple(gone))


def _without(text: str, paths: Sequence[KeyPath]) -> str:
    """Without some things; with their section, where nothing else stands in that."""
    whole, found = value_at(text, ()), dict.fromkeys(paths)
    while True:
        losing = Counter(path[:-1] for path in found)
        emptied = {above for above, count in losing.items() if above and len(_below(whole, above)) == count}
        if not emptied:
            return delete_items(text, list(found))
        found = dict.fromkeys(path[:-1] if path[:-1] in emptied else path for path in found)


def _below(value: Any, path: KeyPath) -> Any:
    for key in path:
        value = value[key]
    return value


def _at_fault(text: str, folder: Path) -> list[KeyPath]:
    """The things with a fault, the last in the file first, so that places in lists stay right."""
    try:
        load_text(text, folder)
    except JobError as error:
        things = dict.fromkeys(_things(text, error.faults))
        if not things:
            raise SoapstoneError(error.faults[0]) from None
        return list(things)
    return []


def _things(text: str, faults: list[str]) -> Iterator[KeyPath]:
    root = read_tree(text).root
    if root is None:
        return
    lines = sorted((line, path) for path, line in line_numbers(root).items() if _is_thing(path))
    numbers = sorted((int(m[1]) for m in map(_LINE.match, faults) if m), reverse=True)
    for number in numbers:
        before = [path for line, path in lines if line <= number]
        if before:
            yield before[-1]


def _is_thing(path: KeyPath) -> bool:
    return len(path) == _NESTED.get(str(path[0]) if path else "", 2) and path[0] != "datum"
