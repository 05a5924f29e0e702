"""Saving a job file: whole or not at all, never over somebody else's change, the version before kept."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from soapstone.errors import SoapstoneError
from soapstone.job.load import read_text

BEFORE = ".before"


def save(path: Path, text: str, expected_previous: str | None) -> None:
    """Write a job file in one step; the version before stands beside it as `job.yaml.before`.

    Parameters
    ----------
    path : Path
        The file; a link is followed.
    text : str
        Its new text, byte for byte (line ends included).
    expected_previous : str or None
        The text that the change started from; None when there was no file.

    Raises
    ------
    SoapstoneError
        The file has changed meanwhile, or it cannot be written; what stands on disk is untouched.
    JobError
        What stands on disk cannot be read.
    """
    file = path.resolve()
    _unchanged(file, expected_previous)
    try:
        if expected_previous is not None:
            _replace(file.with_name(file.name + BEFORE), expected_previous, file)
        _replace(file, text, file)
        _sync_folder(file.parent)
    except OSError as error:
        raise SoapstoneError(f"cannot be written: {error.strerror}", where=file.name) from None


def _unchanged(file: Path, expected: str | None) -> None:
    found = read_text(file) if file.exists() else None
    if found != expected:
        raise SoapstoneError(
            "has changed since it was opened" if found is not None else "is not there any more",
            where=file.name,
            remedy="nothing was written; look at both versions and save again",
        )


def _replace(file: Path, text: str, like: Path) -> None:
    """Write beside the file, then put it in its place in one step, with the rights of `like`."""
    handle, name = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(text.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(like.stat().st_mode & 0o777 if like.exists() else 0o644)
        Path(name).replace(file)
    finally:
        with suppress(FileNotFoundError):
            Path(name).unlink()


def _sync_folder(folder: Path) -> None:
    with suppress(OSError):  # not every system lets a folder be opened
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
