"""What does not fit together among plates, folded tubes and turned parts."""

from collections.abc import Iterator
from pathlib import Path

from soapstone.errors import SoapstoneError
from soapstone.job.csv_readings import read_beside
from soapstone.job.faults import KeyPath
from soapstone.job.names import Names
from soapstone.job.schema import Job
from soapstone.job.shop_parts import TurnedPart
from soapstone.tables import bolt_size, clearance_hole
from soapstone.tables.fits import limits

Told = Iterator[tuple[KeyPath, str]]


def part_faults(job: Job, names: Names, folder: Path) -> Told:
    """Key path and fault of each."""
    yield from _plates(job, names, folder)
    for name, tube in job.folded.items():
        yield ("folded", name, "stock"), names.unknown(tube.stock, "stock")
        stock = job.stock.get(tube.stock)
        if stock is not None and (stock.tube is None or len(stock.tube) != 3):
            other = "a bar" if stock.tube is None else "round"
            yield ("folded", name, "stock"), f"only rectangular tube is folded, and {tube.stock} is {other}"
    for name, turned in job.turned.items():
        yield from _turned(job, names, ("turned", name), turned)


def _plates(job: Job, names: Names, folder: Path) -> Told:
    for name, spec in job.plates.items():
        path = ("plates", name)
        yield (*path, "plate"), names.unknown_material(spec.plate.of)
        if spec.outline is not None:
            yield (*path, "outline"), _missing(folder, spec.outline)
        for index, hole in enumerate(spec.holes):
            if hole.for_ is not None:
                yield (*path, "holes", index, "for"), _no_hole(hole.for_)
        for index, cut in enumerate(spec.cut_outs):
            if cut.wall is not None:
                yield (*path, "cut outs", index, "wall"), names.unknown_material(cut.wall.of)


def _missing(folder: Path, name: str) -> str:
    try:
        read_beside(folder, name, 1)
    except ValueError as error:
        return str(error)
    return ""


def _no_hole(bolt: str) -> str:
    try:
        clearance_hole(bolt_size(bolt))
    except SoapstoneError as error:
        return str(error)
    return ""


def _turned(job: Job, names: Names, path: KeyPath, spec: TurnedPart) -> Told:
    yield (*path, "of"), names.unknown_material(spec.of)
    if spec.thread is not None:
        yield (*path, "thread"), _no_hole(spec.thread)
    for key, size, text, hole in (
        ("outside fit", spec.outside, spec.outside_fit, False),
        ("bore fit", spec.bore, spec.bore_fit, True),
    ):
        if text is not None and size is not None:
            try:
                limits(size, text, hole=hole)
            except SoapstoneError as error:
                yield (*path, key), str(error)
    if spec.mates is not None:
        yield (*path, "mates"), names.unknown(spec.mates, "turned")
    if spec.into is not None:
        yield (*path, "into"), names.unknown(spec.into, "stock")
