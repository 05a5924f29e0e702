"""A job file to a `Job`, or every fault in it at once, one line each."""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from stat import S_ISDIR, S_ISREG
from typing import Any

from soapstone.errors import JobError
from soapstone.job.crosscheck import crosscheck
from soapstone.job.csv_readings import csv_readings, read_beside
from soapstone.job.faults import Fault, KeyPath, Report, line_at, quote
from soapstone.job.mirror import SECTIONS, expand_mirrors, other_side
from soapstone.job.readings import reading_record, to_centres
from soapstone.job.records import keys_at, to_job
from soapstone.job.schema import Job
from soapstone.job.text import Block, Tree, line_numbers, plain, read_tree
from soapstone.job.travel_csv import travel_rows

FILE = "job.yaml"
LARGEST_MEGABYTES = 1
_LARGEST = LARGEST_MEGABYTES * 1_000_000

# Stands in for a part that could not be read, so that the rest of the file is still checked.
_FILLERS: dict[str, Any] = {
    "soapstone": "1",
    "title": "-",
    "datum": {"origin": "-", "state": "-"},
    "service": {"cases": {"own weight": "from table"}},
}


def load(path: Path | str) -> Job:
    """Read a job.

    Parameters
    ----------
    path : Path or str
        The job's folder, or its file.

    Raises
    ------
    JobError
        Every fault of the file, sorted by line, each one line.
    """
    file = Path(path)
    with suppress(OSError):  # told when it is read
        file = file / FILE if file.is_dir() else file
    return load_text(read_text(file), file.parent, file.name)


def read_text(file: Path) -> str:
    """The text of a job file; size and kind are looked at before it is read.

    Raises
    ------
    JobError
        No such file, no plain file, too large, or no UTF-8 text.
    """
    try:
        state = file.stat()
        if S_ISDIR(state.st_mode):
            raise _refused(file, f"a folder stands here; the job is a text file called {FILE}")
        if not S_ISREG(state.st_mode):
            raise _refused(file, "this is no plain file")
        if state.st_size > _LARGEST:
            size = f"{state.st_size / 1e6:.0f} MB"
            raise _refused(file, f"{size} is too large for a job, the most is {LARGEST_MEGABYTES} MB")
        return decode(file.read_bytes()[: _LARGEST + 1], file.name)
    except FileNotFoundError:
        raise _refused(file, f"there is no such file; a job is a folder with a {FILE} in it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no file can have such a name"
        raise _refused(file, f"cannot be read: {reason}") from None


def _refused(file: Path, what: str) -> JobError:
    return JobError([Fault(0, (), what).text(file.name or str(file))])


def decode(data: bytes, file: str = FILE) -> str:
    """Bytes of a file to text.

    Raises
    ------
    JobError
        Names the first byte that is no UTF-8, with its line.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise JobError([Fault(0, (), "the text is UTF-16; save it as UTF-8").text(file)])
    nul = data.find(b"\0")
    if nul >= 0:
        line = data.count(b"\n", 0, nul) + 1
        raise JobError([Fault(line, (), "a zero byte stands here, so this is no text file").text(file)])
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - (data.rfind(b"\n", 0, error.start) + 1) + 1
        byte = f"byte {data[error.start]:#04x} at place {column} of the line"
        what = f"{byte} is not UTF-8; save the file as UTF-8"
        raise JobError([Fault(line, (), what).text(file)]) from None


def load_text(text: str, folder: Path, file: str = FILE) -> Job:
    """Read a job from its text; scans are looked for in `folder`.

    Raises
    ------
    JobError
        Every fault of the text, sorted by line, each one line.
    """
    tree = read_tree(text)
    if not isinstance(tree.root, Block):
        raise _error([*tree.faults, *_no_keys(tree)], file)
    reader = _Reader(file, folder, tree, line_numbers(tree.root))
    job = reader.job(plain(tree.root))  # type: ignore[arg-type]  # a Block gives a dict
    if job is None or reader.faults:
        raise _error(reader.told(), file)
    return job


def _no_keys(tree: Tree) -> list[Fault]:
    if tree.faults:
        return []
    if tree.root is None:
        return [Fault(0, (), "the file is empty")]
    return [Fault(tree.root.line, (), "a job begins with keys, like title: Tail subframe")]


def _error(faults: list[Fault], file: str) -> JobError:
    told = dict.fromkeys(fault.text(file) for fault in sorted(faults, key=lambda fault: fault.line))
    return JobError(list(told))


@dataclass
class _Reader:
    """Takes one file through its stages and gathers the faults."""

    file: str
    folder: Path
    tree: Tree
    lines: Mapping[KeyPath, int]
    faults: list[Fault] = field(default_factory=list)
    labels: dict[KeyPath, list[tuple[int, str, str]]] = field(default_factory=dict)
    copies: Mapping[KeyPath, KeyPath] = field(default_factory=dict)

    def job(self, data: dict[str, Any]) -> Job | None:
        self.faults = list(self.tree.faults)
        broken: set[KeyPath] = set(self.tree.silent)
        given = _given_names(data)
        self.copies = _copies(data)
        data = self.prepared(data, broken)
        job, refused = to_job(data)
        for path, what in refused:
            self.report(path, what)
            broken.add(path)
        if job is None:
            job = to_job(self.pruned(data, broken))[0]
        given |= {str(path[0]): None for path in broken if len(path) == 1 and path[0] in given}
        if job is None or () in self.tree.silent:
            return None
        for path, what in crosscheck(job, given, self.folder):
            self.report(path, what)
        return None if self.faults else self.finished(job)

    def told(self) -> list[Fault]:
        """The faults found; one that a mirror only takes over from its source is told at the source."""
        said = {(fault.path, fault.what) for fault in self.faults}
        mirrored = {(path, other_side(what)) for path, what in said}
        return [fault for fault in self.faults if not self.taken_over(fault, said | mirrored)]

    def taken_over(self, fault: Fault, said: set[tuple[KeyPath, str]]) -> bool:
        source = self.copies.get(fault.path[:2])
        own = len(fault.path) > 2 and fault.path in self.lines
        return source is not None and not own and ((*source, *fault.path[2:]), fault.what) in said

    def prepared(self, data: dict[str, Any], broken: set[KeyPath]) -> dict[str, Any]:
        """Mirrors written out, readings split, and keys that the file must not have taken out."""

        def report(path: KeyPath, what: str) -> None:
            self.report(path, what)
            broken.add(path)

        if "folder" in data:
            report(("folder",), f"{quote('folder')} is no key here")
            data = {key: value for key, value in data.items() if key != "folder"}
        data = expand_mirrors(data, report)
        if isinstance(data.get("readings"), list):
            data = data | {"readings": self.readings(("readings",), data["readings"])}
        bodies = data.get("bodies")
        if isinstance(bodies, dict):
            data = data | {"bodies": {name: self.body(name, body) for name, body in bodies.items()}}
        if isinstance(data.get("half shafts"), dict):
            shafts = {name: self.with_travel(name, shaft) for name, shaft in data["half shafts"].items()}
            data = data | {"half shafts": shafts}
        return data

    def body(self, name: str, body: Any) -> Any:
        if not isinstance(body, dict) or not isinstance(body.get("readings"), list):
            return body
        return body | {"readings": self.readings(("bodies", name, "readings"), body["readings"])}

    def with_travel(self, name: str, shaft: Any) -> Any:
        """A half-shaft with the positions of its hub's file in place of the file's name."""
        hub = shaft.get("hub") if isinstance(shaft, dict) else None
        if not isinstance(hub, dict) or not isinstance(hub.get("file"), str) or "positions" in hub:
            return shaft
        path = ("half shafts", name, "hub", "file")
        try:
            rows, refused = travel_rows(read_beside(self.folder, hub["file"]))
        except ValueError as error:
            self.tell(path, str(error))
            return shaft
        for fault in refused:
            self.tell(path, f"{hub['file']} {fault.text}")
        kept = {key: value for key, value in hub.items() if key != "file"}
        return shaft if refused else shaft | {"hub": kept | {"positions": rows}}

    def readings(self, base: KeyPath, items: list[Any]) -> list[dict[str, Any]]:
        labels = self.labels.setdefault(base, [])
        records: list[dict[str, Any]] = []
        for index, item in enumerate(items):
            if isinstance(item, Mapping) and [*item] == ["file"] and isinstance(item["file"], str):
                records += self.from_file((*base, index), item["file"])
                continue
            report = self.below((*base, index))
            place = f"{self.file}:{line_at(self.lines, (*base, index))}"
            record = reading_record(item, place, report)
            if record is not None:
                labels.append((index, record[0], ""))
                records.append(record[1])
        return records

    def from_file(self, path: KeyPath, name: str) -> Iterator[dict[str, Any]]:
        """The readings of a CSV file in the job's folder; its faults name its rows."""
        try:
            rows, refused = csv_readings(read_beside(self.folder, name))
        except ValueError as error:
            self.tell((*path, "file"), str(error))
            return
        for fault in refused:
            self.tell((*path, "file"), f"{name} {fault.text}")
        for row in rows:
            origin = f"{name} row {row.number}: "
            told = len(self.faults)
            record = reading_record(row.item, f"{name}:{row.number}", self.below(path, origin))
            if record is not None and len(self.faults) == told:
                self.labels[path[:-1]].append((int(path[-1]), record[0], origin))
                yield record[1]

    def below(self, path: KeyPath, origin: str = "") -> Report:
        return lambda inner, what: self.tell((*path, *inner), origin + what)

    def report(self, path: KeyPath, what: str) -> None:
        """Take a fault of a record: a reading's path is turned into where it stands in the file."""
        base = _readings_in(path)
        if base and len(path) > len(base) and isinstance(at := path[len(base)], int):
            index, key, origin = self.labels[base][at]
            path, what = (*base, index, key, *path[len(base) + 1 :]), origin + what
        self.tell(path, what)

    def tell(self, path: KeyPath, what: str) -> None:
        if any(path[: len(silent)] == silent for silent in self.tree.silent):
            return
        base = _readings_in(path)
        shown = (*base, *path[len(base) + 1 :]) if base and len(path) > len(base) + 1 else path
        self.faults.append(Fault(line_at(self.lines, path), shown, what))

    def pruned(self, data: dict[str, Any], broken: set[KeyPath]) -> dict[str, Any]:
        """The file without the things that could not be read."""
        kept: dict[str, Any] = {}
        for key, value in data.items():
            bad = {path[1] for path in broken if len(path) > 1 and path[0] == key}
            if (key,) in broken or key not in [*keys_at(()), "note"]:
                continue
            if bad and key == "readings":
                labels = self.labels[key,]
                self.labels[key,] = [label for index, label in enumerate(labels) if index not in bad]
                kept[key] = [item for index, item in enumerate(value) if index not in bad]
            elif bad and key not in _FILLERS and isinstance(value, dict):
                kept[key] = {name: thing for name, thing in value.items() if name not in bad}
            elif not bad:
                kept[key] = value
        return _FILLERS | kept

    def finished(self, job: Job) -> Job:
        readings = tuple(
            reading.model_copy(update={"to_centres": to_centres(reading, job.points)})
            for reading in job.readings
        )
        return job.model_copy(update={"folder": self.folder, "readings": readings})


def _readings_in(path: KeyPath) -> KeyPath:
    """The list of readings that a path leads into: the vehicle's, or a body's own; empty for neither."""
    if path[:1] == ("readings",):
        return path[:1]
    return path[:3] if path[:1] == ("bodies",) and path[2:3] == ("readings",) else ()


def _copies(data: Mapping[str, Any]) -> dict[KeyPath, KeyPath]:
    """Section and name of each mirror, and of what it mirrors."""
    return {
        (section, name): (section, thing["mirror"])
        for section in SECTIONS
        if isinstance(data.get(section), dict)
        for name, thing in data[section].items()
        if isinstance(thing, dict) and isinstance(thing.get("mirror"), str)
    }


def _given_names(data: Mapping[str, Any]) -> dict[str, tuple[str, ...] | None]:
    """Names in the file by section; None for a section that holds no names where it should."""
    sections = [key for key in keys_at(()) if key not in (*_FILLERS, "show", "readings", "sides", "table")]
    return {
        key: tuple(value) if isinstance(value, dict) else None
        for key in sections
        if (value := data.get(key, {})) is not None
    }
