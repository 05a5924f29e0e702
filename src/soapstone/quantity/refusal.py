"""How a text is turned away: what is wrong with it, with the text itself quoted, and the way out."""

from collections.abc import Iterator
from contextlib import contextmanager

from soapstone.errors import QuantityError

_LONGEST_QUOTE = 80
_LONGEST_TEXT = 500
_SPACES = "\t\u00a0\u2009\u202f"  # besides the plain one, which counts as printable


class Refusal(Exception):  # noqa: N818 - it never leaves the room
    """A fault found by a part of the grammar that does not see the whole text.

    Parameters
    ----------
    what : str
        Goes on after the quoted text: `is a bare number`.
    remedy : str, optional
        The way out: `write 12 mm or 12 in`.
    """

    def __init__(self, what: str, remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.remedy = remedy


def quote(text: str) -> str:
    """The text between marks, on one line, cut when it is very long."""
    line = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
    return f"“{line[:_LONGEST_QUOTE]}{'…' if len(line) > _LONGEST_QUOTE else ''}”"


@contextmanager
def quoting(text: str) -> Iterator[None]:
    """Turn a refusal met inside into a `QuantityError` that quotes `text`."""
    try:
        if len(text) > _LONGEST_TEXT:
            raise Refusal("is too long to be a quantity")
        if not all(c.isprintable() or c in _SPACES for c in text):
            raise Refusal("holds a line break or another character that cannot be seen")
        yield
    except Refusal as refusal:
        raise QuantityError(f"{quote(text)} {refusal.what}", remedy=refusal.remedy) from None
