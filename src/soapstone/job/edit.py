"""Changes to a job file's text that touch nothing else: every other byte stays as it is.

Each edit is proved before it is handed back: the new text, read again, is the old one with that one
change and no other.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from soapstone.errors import SoapstoneError
from soapstone.job.faults import KeyPath, path_text
from soapstone.job.text import Block, Leaf, Node, Row, plain, read_tree

_BOM = "\ufeff"


def replace_value(text: str, path: KeyPath, new: str) -> str:
    """The text with one value changed.

    Parameters
    ----------
    text : str
        The whole file.
    path : tuple of str and int
        Keys from the top, places in a list counted from 0: `("readings", 3, "tape A C")`.
    new : str
        The value's text; quotes are put around it where it needs them.

    Raises
    ------
    SoapstoneError
        Nothing stands there, or what stands there is no single text.
    """
    bom, body = _split(text)
    leaf = _at(_root(body), path)
    if not isinstance(leaf, Leaf):
        raise SoapstoneError("more than one value stands there", where=path_text(path), remedy="change one")
    before, old, after = body[: leaf.start], body[leaf.start : leaf.end], body[leaf.end :]
    behind = old[len(old.rstrip()) :] if leaf.style in ("|", ">") else ""
    wanted = _changed(plain(_root(body)), path, new)
    for spelled in _spellings(new, leaf.style):
        edited = before + spelled + behind + after
        if _reads_as(edited, wanted):
            return bom + edited
    raise SoapstoneError("this text cannot stand there", where=path_text(path))


def delete_item(text: str, path: KeyPath) -> str:
    """The text without one key or one item of a list: its own lines go, and the comment above them.

    Raises
    ------
    SoapstoneError
        Nothing stands there, or nothing would be left beside it.
    """
    return delete_items(text, [path])


def delete_items(text: str, paths: Sequence[KeyPath]) -> str:
    """The same for several at once; one that goes with another is not named by itself.

    Raises
    ------
    SoapstoneError
        As `delete_item`; then none is taken out.
    """
    bom, body = _split(text)
    root = _root(body)
    wanted: Any = plain(root)
    # from the end of the file on, so that places in lists and in the text stay right
    cuts = sorted(((*_cut_of(body, root, path), path) for path in paths), key=lambda c: c[:2], reverse=True)
    edited = body
    for first, last, path in cuts:
        edited = edited[:first] + edited[last:]
        wanted = _changed(wanted, path, None)
    if not _reads_as(edited, wanted):
        raise SoapstoneError(
            "cannot be taken out by itself",
            where=path_text(paths[0]),
            remedy="take out the key above it, or edit the file",
        )
    return bom + edited


def _cut_of(body: str, root: Node, path: KeyPath) -> tuple[int, int]:
    node, parent = _at(root, path), _at(root, path[:-1])
    start = (
        next(key.start for key, _ in parent.items if key.text == path[-1]) if isinstance(parent, Block) else 0
    )
    cut = _cut_of_flow if isinstance(parent, Row | Block) and parent.flow else _cut_of_lines
    return cut(body, start if isinstance(parent, Block) else node.start, node.end)


def _split(text: str) -> tuple[str, str]:
    return (_BOM, text[1:]) if text.startswith(_BOM) else ("", text)


def _root(text: str) -> Node:
    tree = read_tree(text)
    if tree.root is None or tree.faults:
        told = tree.faults[0].text("job.yaml") if tree.faults else "the file is empty"
        raise SoapstoneError(told, remedy="mend this in the file first")
    return tree.root


def _at(node: Node, path: KeyPath) -> Node:
    for depth, key in enumerate(path):
        found = None
        if isinstance(node, Block):
            found = next((value for name, value in node.items if name.text == key), None)
        elif isinstance(node, Row) and isinstance(key, int) and 0 <= key < len(node.items):
            found = node.items[key]
        if found is None:
            raise SoapstoneError("nothing stands there", where=path_text(path[: depth + 1]))
        node = found
    return node


def _changed(value: Any, path: KeyPath, new: str | None) -> Any:
    """A copy of plain values with one changed, or taken out when `new` is None."""
    if not path:
        return new
    copy = dict(value) if isinstance(value, dict) else dict(enumerate(value))
    if new is None and len(path) == 1:
        del copy[path[0]]
    else:
        copy[path[0]] = _changed(copy[path[0]], path[1:], new)
    return copy if isinstance(value, dict) else list(copy.values())


def _reads_as(text: str, wanted: Any) -> bool:
    tree = read_tree(text)
    return tree.root is not None and not tree.faults and plain(tree.root) == wanted


def _spellings(new: str, style: str) -> Iterator[str]:
    """Ways to write a text, the one it had first."""
    single = "'" + new.replace("'", "''") + "'"
    double = '"' + new.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'
    if style == '"':
        yield double
    elif style == "'":
        yield single
    yield from (new, single, double)


def _cut_of_flow(text: str, start: int, end: int) -> tuple[int, int]:
    """With the comma behind it and the blanks after that; the last one with the comma before it."""
    behind = _skip_blanks(text, end)
    if text[behind : behind + 1] == ",":
        return start, _skip_blanks(text, behind + 1)
    before = len(text[:start].rstrip())
    return (before - 1, end) if text[before - 1 : before] == "," else (start, end)


def _skip_blanks(text: str, at: int) -> int:
    return at + len(text[at:]) - len(text[at:].lstrip())


def _cut_of_lines(text: str, start: int, end: int) -> tuple[int, int]:
    """Whole lines, with the comments right above at the same depth and the deeper ones right below."""
    lines = text.splitlines(keepends=True)
    first = len(text[:start].splitlines()) - (not _at_line_start(text, start))
    last = max(first + 1, len(text[:end].rstrip().splitlines()))
    depth = len(lines[first]) - len(lines[first].lstrip())
    while first > 0 and _comment_depth(lines[first - 1]) == depth:
        first -= 1
    while last < len(lines) and _comment_depth(lines[last]) > depth:
        last += 1
    return sum(map(len, lines[:first])), sum(map(len, lines[:last]))


def _at_line_start(text: str, at: int) -> bool:
    return at == 0 or text[at - 1] in "\r\n"


def _comment_depth(line: str) -> int:
    """Blanks before a comment that has the line to itself; -1 for any other line."""
    bare = line.lstrip(" ")
    return len(line) - len(bare) if bare.startswith("#") else -1
