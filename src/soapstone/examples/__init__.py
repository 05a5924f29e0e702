"""Example jobs, all invented; each is tutorial and regression test at once."""

import shutil
from importlib.resources import as_file, files
from pathlib import Path

from soapstone.errors import SoapstoneError


def examples() -> tuple[str, ...]:
    """Names of the examples, the blank job among them."""
    return tuple(sorted(entry.name for entry in files(__name__).iterdir() if (entry / "job.yaml").is_file()))


def copy_example(name: str, folder: Path) -> Path:
    """Copy an example into a new or empty folder; returns the job file's path.

    Raises
    ------
    SoapstoneError
        When there is no such example, or the folder has something in it.
    """
    if name not in examples():
        raise SoapstoneError(f"no example is called {name!r}", remedy=f"there are {', '.join(examples())}")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise SoapstoneError(f"{folder} is there already", remedy="name a new or an empty folder")
    folder.mkdir(parents=True, exist_ok=True)
    with as_file(files(__name__) / name) as source:
        for entry in sorted(source.iterdir()):
            if entry.name.startswith(("_", ".")) or not entry.is_file():
                continue
            shutil.copyfile(entry, folder / entry.name)
            (folder / entry.name).chmod(0o644)
    return folder / "job.yaml"
