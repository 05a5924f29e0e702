"""The history kept beside the job, line by line, so that a bench that is killed loses nothing.

Every step is on disk before the job file is written. A line that was cut off by the end is left out.
"""

import json
import os
from dataclasses import asdict
from pathlib import Path
from typing import Any

from soapstone.bench.history import Change, History

NAME = ".bench-journal"
LANDED = {"landed": 1}


def read_journal(file: Path) -> tuple[History | None, str | None]:
    """The newest state, and the text that the file had when it was last written.

    Both None without a journal that can be read; what follows a broken line is left out.
    """
    if not file.is_file():
        return None, None
    state: History | None = None
    landed: str | None = None
    for line in file.read_text(encoding="utf-8", errors="replace").split("\n"):
        try:
            step = json.loads(line)
            if step != LANDED:
                state = _next(state, step)
        except (ValueError, TypeError, KeyError):
            break
        landed = state.text if state and (step == LANDED or "text" in step) else landed
    return state, landed


def _next(state: History | None, step: dict[str, Any]) -> History:
    if "text" in step:
        return History(step["text"])
    if state is None:
        raise ValueError("a journal begins with a text")
    if "undo" in step:
        return state.back()
    if "redo" in step:
        return state.forward()
    change = Change(**step)
    return History(change.forward(state.text), (*state.done, change))


def begin_journal(file: Path, text: str) -> None:
    """Start anew from a text."""
    fresh = file.with_name(file.name + ".new")
    with fresh.open("w", encoding="utf-8") as stream:
        stream.write(json.dumps({"text": text}) + "\n")
        stream.flush()
        os.fsync(stream.fileno())
    fresh.replace(file)


def note_step(file: Path, before: History, after: History) -> None:
    """Write down the one step that leads from one state to the next."""
    if len(after.done) < len(before.done):
        step: dict[str, Any] = {"undo": 1}
    elif before.undone and after.undone == before.undone[:-1] and after.done[-1] == before.undone[-1]:
        step = {"redo": 1}
    else:
        step = asdict(after.done[-1])
    _append(file, step)


def note_landed(file: Path) -> None:
    """Write down that the job file holds the newest state."""
    _append(file, LANDED)


def _append(file: Path, step: dict[str, Any]) -> None:
    with file.open("rb+") as stream:
        stream.truncate(file.read_bytes().rfind(b"\n") + 1)
        stream.seek(0, os.SEEK_END)
        stream.write(json.dumps(step).encode() + b"\n")
        stream.flush()
        os.fsync(stream.fileno())
