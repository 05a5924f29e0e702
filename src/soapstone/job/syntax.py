"""What the YAML scanner found wrong, told in plain words."""

import re

from ruamel.yaml.error import MarkedYAMLError
from ruamel.yaml.reader import ReaderError

from soapstone.job.faults import Fault

_DOUBLED = re.compile(r"""("[^"]*\d[^"]*"")|('[^']*\d[^']*'')""")
_LOOKED_AT = 500  # characters of a line
_CURE = "a mark for inches ends the quoted text too early; write it without quotes or with in, like 12 in"
_BEFORE_COLON = (
    "a second colon, or a line that is indented too far; put text with a colon in quotes, "
    "and line the key up with its neighbours"
)

# Words of the scanner and of the parser, searched in this order in "context; problem".
_PLAIN_WORDS = (
    ("scanning a quoted scalar", "a quote is opened and not closed"),
    ("flow mapping", "a comma or the closing } is missing, or text with a colon needs quotes"),
    ("flow sequence", "a comma or the closing ] is missing, or text with a colon needs quotes"),
    ("flow node", "something is missing before this bracket or comma"),
    ("'\\t'", "a tab stands here; use blanks"),
    ("cannot start any token", "text cannot begin with this character; put it in quotes"),
    ("mapping values are not allowed", _BEFORE_COLON),
    ("simple key", "a key without its colon; write key: value"),
    ("could not find expected ':'", "a key without its colon; write key: value"),
    ("block mapping", "this line does not line up with the keys above it, or text needs quotes"),
    ("block collection", "this line does not line up with the list above it"),
    ("block sequence", "this line does not line up with the list above it"),
    ("sequence entries are not allowed", "a list's dash cannot stand here; begin it on a line of its own"),
    ("unknown escape", "a backslash in double quotes starts an escape; use single quotes"),
    ("escape sequence", "a backslash in double quotes starts an escape; use single quotes"),
    ("scanning an anchor", "& and * begin an anchor; put the text in quotes"),
    ("scanning an alias", "& and * begin an anchor; put the text in quotes"),
    ("tag", "! begins a tag; put the text in quotes"),
    ("block scalar", "after | or > nothing but the text's own lines may follow"),
    ("directive", "a line that begins with % is a directive; a job file has none"),
    ("document start", "a line that begins with % is a directive, or the text after ... has no ---"),
)


def syntax_fault(error: Exception, text: str, last: int, quoted: tuple[int, int]) -> Fault:
    """One fault with its line, from whatever the scanner or the parser raised.

    Parameters
    ----------
    last : int
        Line of the last thing that could be read.
    quoted : tuple of int
        First and last line of the last quoted text that runs over several lines.
    """
    if isinstance(error, ReaderError):
        line = text.count("\n", 0, error.position) + 1
        return Fault(line, (), f"a control character (number {error.character}) stands here; take it out")
    if not isinstance(error, MarkedYAMLError):
        return Fault(last, (), "not readable from here on; a backslash or a % makes no sense")
    line, doubled = _place(error, text.splitlines())
    if line == quoted[1]:
        return Fault(quoted[0], (), f"the quote that opens here closes only on line {line}; close it before")
    return Fault(line, (), _CURE if doubled else _words(error))


def _place(error: MarkedYAMLError, lines: list[str]) -> tuple[int, bool]:
    """Line (from 1) and whether it shows a doubled quote; what is never closed began at its context."""
    marks = [mark.line for mark in (error.problem_mark, error.context_mark) if mark is not None]
    for number in marks:
        if number < len(lines) and _DOUBLED.search(lines[number][:_LOOKED_AT]):
            return number + 1, True
    unclosed = "end of stream" in str(error.problem) or "'<stream end>'" in str(error.problem)
    line = marks[-1 if unclosed else 0] if marks else 0
    return min(line, max(len(lines) - 1, 0)) + 1, False


def _words(error: MarkedYAMLError) -> str:
    said = f"{error.context}; {error.problem}"
    return next((plain for sign, plain in _PLAIN_WORDS if sign in said), "this is not readable as YAML")
