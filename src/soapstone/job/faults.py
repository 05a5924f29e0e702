"""Faults of a job file: one line each, with the line in the file, the keys, and the nearest spelling."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

KeyPath = tuple[str | int, ...]
Report = Callable[[KeyPath, str], None]

_QUOTED_AT_MOST = 60
_LISTED_AT_MOST = 8
_WORDS_AT_MOST = 400


@dataclass(frozen=True)
class Fault:
    """One thing wrong in the file; `line` 0 means the file as a whole.

    Attributes
    ----------
    line : int
        Counted from 1.
    path : tuple of str and int
        Keys from the top of the file; places in a list are counted from 0.
    what : str
        What was read and what would be right.
    """

    line: int
    path: KeyPath
    what: str

    def text(self, file: str) -> str:
        """`job.yaml:12 members.side_left.stock: 'mian' is not in stock; nearest: main`."""
        where = f"{file}:{self.line}" if self.line else file
        keys = path_text(self.path)
        return one_line(f"{where} {keys}: {self.what}" if keys else f"{where}: {self.what}")


def one_line(text: str) -> str:
    """The text with every unprintable character escaped, cut where it would run on."""
    clean = "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)
    return clean if len(clean) <= _WORDS_AT_MOST else clean[: _WORDS_AT_MOST - 1] + "…"


def quote(value: object) -> str:
    """What was read, in quotes; a list or keys are told as such."""
    if isinstance(value, Mapping):
        return "keys"
    if isinstance(value, list | tuple):
        return "a list"
    text = str(value)
    return repr(text if len(text) <= _QUOTED_AT_MOST else text[: _QUOTED_AT_MOST - 1] + "…")


def stands(value: object) -> str:
    """`'x' stands there`, `keys stand there`, `nothing stands there`."""
    if value == "":
        return "nothing stands there"
    return f"{quote(value)} {'stand' if isinstance(value, Mapping) else 'stands'} there"


def millimetres(value: float) -> str:
    """`13.5 mm` for 0.0135 m, to a thousandth."""
    return f"{round(value * 1e3, 3):g} mm"


def path_text(path: KeyPath) -> str:
    """`bodies.unit.envelope.1.box`: keys joined with dots, places in a list counted from 1."""
    return ".".join(str(key + 1) if isinstance(key, int) else key or "''" for key in path)


def nearest(word: str, known: Iterable[str]) -> str:
    """The known spelling nearest to a word, or nothing when none is near."""
    spelling = {name.lower(): name for name in known}
    found = get_close_matches(word.lower(), spelling, n=1, cutoff=0.55)
    return spelling[found[0]] if found else ""


def remedy(word: str, known: Iterable[str]) -> str:
    """The way out of an unknown word: the nearest spelling, or what there is."""
    names = list(known)
    near = nearest(word, names)
    if near:
        return f"nearest: {near}"
    if not names:
        return "there are none"
    shown = ", ".join(names[:_LISTED_AT_MOST])
    return f"there are: {shown}" + (", …" if len(names) > _LISTED_AT_MOST else "")


def line_at(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Line of a key path; of the nearest key above it when it does not stand in the file itself."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)
