"""What the lists of the bench show, as plain rows."""

from collections.abc import Iterator
from dataclasses import dataclass

from soapstone.bench.edits import value_at
from soapstone.bench.stages import by_reserve, touches
from soapstone.build import Build
from soapstone.finding import Finding
from soapstone.job.faults import KeyPath
from soapstone.shop.words import Words


@dataclass(frozen=True)
class Cell:
    """A value that can be changed: where it stands in the job, what it is called, its text."""

    path: KeyPath
    label: str
    text: str


@dataclass(frozen=True)
class TubeRow:
    """A tube with its stock, its length and mass, and its worst finding (None without one)."""

    name: str
    stock: Cell
    length: str
    mass: str
    worst: Finding | None


@dataclass(frozen=True)
class PointRow:
    """A point: where it is, how well that is known, and its given place if it has one."""

    name: str
    at: str
    spread: str
    cell: Cell | None


def tube_rows(build: Build) -> list[TubeRow]:
    """The tubes in the job's order."""
    words = Words.of(build.job.show)
    return [
        TubeRow(
            name,
            Cell(("members", name, "stock"), f"stock of {name}", tube.stock),
            words.length(tube.length),
            words.mass(build.parts.both[name].mass(tube.material.density)),
            worst_of(build, name),
        )
        for name, tube in build.layout.tubes.items()
    ]


def worst_of(build: Build, name: str) -> Finding | None:
    """The worst finding about a thing."""
    found = by_reserve(finding for finding in build.findings if touches(finding, name))
    return found[0] if found else None


def point_rows(build: Build, text: str) -> list[PointRow]:
    """The job's points."""
    words = Words.of(build.job.show)
    rows = []
    for name, at in build.layout.points.items():
        place = ", ".join(words.side(float(part), axis) for axis, part in enumerate(at))
        spread = ""
        if name in build.survey.names:
            spread = "± " + words.length(float(max(build.survey.sigma_of(name))))
        given = value_at(text, ("points", name, "at"))
        cell = None
        if isinstance(given, list):
            cell = Cell(("points", name, "at"), f"place of {name}", ", ".join(map(str, given)))
        rows.append(PointRow(name, place, spread, cell))
    return rows


def reading_cells(text: str) -> Iterator[Cell]:
    """The readings of the file that are one text each, in its order."""
    for index, item in enumerate(value_at(text, ("readings",)) or ()):
        if not isinstance(item, dict) or len(item) != 1:
            continue
        ((key, value),) = item.items()
        if isinstance(value, str) and key != "file":
            yield Cell(("readings", index, key), key, value)
        elif isinstance(value, dict) and isinstance(value.get("read"), str):
            yield Cell(("readings", index, key, "read"), key, value["read"])


def section_cells(text: str, sections: tuple[str, ...]) -> Iterator[Cell]:
    """Every single text of some sections, as deep as it stands: `service.cases.bump`."""
    for section in sections:
        yield from _leaves((section,), value_at(text, (section,)))


def _leaves(path: KeyPath, value: object) -> Iterator[Cell]:
    if isinstance(value, str):
        yield Cell(path, " ".join(map(str, path[1:])), value)
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves((*path, key), inner)


def places(build: Build) -> list[str]:
    """Places that a tube can start or end at: points, forks, and the middles of tubes."""
    tubes = [f"{name} middle" for name in build.layout.tubes]
    return [*build.layout.points, *build.layout.forks, *tubes]
