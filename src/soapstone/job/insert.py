"""A new key put into a job file's text, everything else as it stands; proved like every other edit."""

from collections.abc import Iterator
from typing import Any

from soapstone.errors import SoapstoneError
from soapstone.job.faults import KeyPath, path_text
from soapstone.job.text import Block, Plain, plain, read_tree

_SPECIAL = set("{}[],:#&*!|>'\"%@`?") | set("-")


def insert_key(text: str, path: KeyPath, value: Plain) -> str:
    """The text with one more key at the end of those beside it.

    Parameters
    ----------
    text : str
        The whole file.
    path : tuple of str
        Keys from the top; the last is new, and so is the one above it if it does not stand yet.
    value : text, list or dict
        What stands under it, written on one line.

    Raises
    ------
    SoapstoneError
        The key stands there already, no keys can stand there, or the text cannot be read.
    """
    bom, body = ("\ufeff", text[1:]) if text.startswith("\ufeff") else ("", text)
    tree = read_tree(body)
    if not isinstance(tree.root, Block) or tree.faults:
        raise SoapstoneError("the file has a fault", remedy="mend this in the file first")
    above, key = path[:-1], str(path[-1])
    block = _block(tree.root, above)
    if block is None:
        return bom + insert_key(body, above, {key: value})
    if any(name.text == key for name, _ in block.items):
        raise SoapstoneError("stands there already", where=path_text(path), remedy="take another name")
    wanted = _with(plain(tree.root), above, key, value)
    for line in _ways(key, value):
        edited = _into_flow(body, block, line) if block.flow else _into_lines(body, block, line)
        again = read_tree(edited)
        if again.root is not None and not again.faults and plain(again.root) == wanted:
            return bom + edited
    raise SoapstoneError("this cannot stand there", where=path_text(path))


def _block(root: Block, path: KeyPath) -> Block | None:
    node: Any = root
    for key in path:
        node = next((value for name, value in node.items if name.text == key), None)
        if node is None:
            return None
        if not isinstance(node, Block):
            raise SoapstoneError("no keys can stand there", where=path_text(path))
    return node if isinstance(node, Block) else None


def _with(value: Any, path: KeyPath, key: str, new: Plain) -> dict[str, Any]:
    if not path:
        return {**value, key: new}
    return {**value, path[0]: _with(value[path[0]], path[1:], key, new)}


def _ways(key: str, value: Plain) -> Iterator[str]:
    for quoted in (False, True):
        yield f"{_flow(key, quoted)}: {_flow(value, quoted)}"


def _flow(value: Plain, quoted: bool) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_flow(k, quoted)}: {_flow(v, quoted)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(v, quoted) for v in value) + "]"
    if quoted and (not value or _SPECIAL & set(value) or value != value.strip()):
        return "'" + value.replace("'", "''") + "'"
    return value


def _into_flow(text: str, block: Block, line: str) -> str:
    end = block.items[-1][1].end if block.items else block.start + 1
    return text[:end] + (", " if block.items else "") + line + text[end:]


def _into_lines(text: str, block: Block, line: str) -> str:
    """A line of its own under the last key, as deep as the first; a blank line before a new section."""
    first, last = block.items[0][0], block.items[-1][1]
    depth = first.start - (text.rfind("\n", 0, first.start) + 1)
    stop = last.start + len(text[last.start : last.end].rstrip())
    end = text.find("\n", stop)
    end = len(text) if end < 0 else end + 1
    gap = "" if text[:end].endswith("\n") or not end else "\n"
    space = "\n" if depth == 0 else ""
    return text[:end] + gap + space + " " * depth + line + "\n" + text[end:]
