"""The shop packet: every sheet and file of a job, written all or not at all."""

import hashlib
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from soapstone.errors import SoapstoneError
from soapstone.parts.assembly import Sort, Thing
from soapstone.parts.plates import PlateOutline
from soapstone.parts.tabs import Plate
from soapstone.shop import report
from soapstone.shop.bends import bends_csv, bends_data
from soapstone.shop.clear_page import clear_data
from soapstone.shop.clear_picture import closest_data
from soapstone.shop.cutlist import Row, cut_csv, cut_rows, made_rows, page_data
from soapstone.shop.drawing import CORNER, PLAN, draw
from soapstone.shop.drawing_files import drawing_files
from soapstone.shop.dxf import plate_dxf
from soapstone.shop.fold_sheets import folded_pages
from soapstone.shop.frame_sheet import frame_data
from soapstone.shop.gives_first import first_data
from soapstone.shop.index import index_text
from soapstone.shop.loaded_model import loaded_glb
from soapstone.shop.marking import marking_data
from soapstone.shop.marks import Marks, marks_of
from soapstone.shop.measure_sheet import measure_csv, measure_data
from soapstone.shop.model import model_glb
from soapstone.shop.mounts import mounts_data
from soapstone.shop.movement import movement_rows
from soapstone.shop.network_picture import network_data
from soapstone.shop.plate_sheets import plate_pages
from soapstone.shop.printing import at_full_scale
from soapstone.shop.schedule import schedule_data
from soapstone.shop.seat_page import seat_data
from soapstone.shop.shaft_page import shaft_data
from soapstone.shop.sheet import head, paper_of, typeset
from soapstone.shop.table_setup import set_up
from soapstone.shop.table_sheet import table_data
from soapstone.shop.templates import TubeWords, template_pages
from soapstone.shop.tube_cards import tube_cards
from soapstone.shop.tube_files import assembly_files, tube_files
from soapstone.shop.turned_sheets import turned_pages
from soapstone.shop.units import units_of
from soapstone.shop.way_page import way_data
from soapstone.shop.ways import Ways
from soapstone.shop.words import Words
from soapstone.strength.load_path import stations

if TYPE_CHECKING:
    from soapstone.build import Build

Progress = Callable[[str], None]


def write_packet(build: "Build", out: Path, progress: Progress = lambda sheet: None) -> tuple[Path, ...]:
    """Write the packet of a build.

    Everything is made in a folder beside `out` and moved into place when it is complete; an older packet
    is put aside until then and comes back if the move fails.

    Parameters
    ----------
    build : Build
    out : Path
        Folder of the packet; one that holds anything but an older packet is refused.
    progress : called with the name of each file before it is made

    Returns
    -------
    tuple of Path
        Every file, the index first.

    Raises
    ------
    SoapstoneError
        When the folder cannot be written, or holds other things.
    """
    out = Path(out)
    _refuse_foreign(out)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    except OSError as trouble:
        raise _unwritable(out, trouble) from None
    try:
        names = _fill(build, fresh, progress)
        _swap(fresh, out)
    except OSError as trouble:
        raise _unwritable(out, trouble) from None
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return tuple(out / name for name in names)


INDEX = "index.txt"


def _refuse_foreign(out: Path) -> None:
    if out.exists() and not out.is_dir():
        raise SoapstoneError("is a file, and the packet needs a folder", where=str(out))
    if out.is_dir() and any(out.iterdir()) and not (out / INDEX).is_file():
        raise SoapstoneError(
            "holds other things, which the packet would replace",
            where=str(out),
            remedy="name an empty folder",
        )


def _unwritable(out: Path, trouble: OSError) -> SoapstoneError:
    why = (trouble.strerror or str(trouble)).lower()
    return SoapstoneError(
        f"the packet cannot be written: {why}", where=str(out), remedy="name another folder"
    )


def _fill(build: "Build", folder: Path, progress: Progress) -> list[str]:
    written: list[tuple[str, bytes]] = []
    for name, make in _files(build):
        progress(name)
        content = make()
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
        written.append((name, content))
    sums = [(name, len(content), hashlib.sha256(content).hexdigest()) for name, content in written]
    index = index_text(build.job, all_plates(build), sums, Words.of(build.job.show))
    (folder / INDEX).write_text(index, encoding="utf-8", newline="\n")
    folder.chmod(0o755)
    return [INDEX, *(name for name, _ in written)]


def _swap(fresh: Path, out: Path) -> None:
    aside = fresh.with_name(fresh.name + "-before")
    if out.exists():
        out.rename(aside)
    try:
        fresh.rename(out)
    except OSError:
        if aside.exists():
            aside.rename(out)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def _files(build: "Build") -> Iterator[tuple[str, Callable[[], bytes]]]:
    """Names and makers, in the order of the index."""
    job, words, marks = build.job, Words.of(build.job.show), marks_of(build.job)
    found = build.assembly.things
    rows = cut_rows(job, build.layout, build.parts, found, marks, words)
    rows = (*rows, *made_rows(job, build.made, words))
    yield "report.pdf", lambda: _report(build, found, rows, marks, words)
    yield "templates.pdf", lambda: _templates(build, marks, words)
    ways = Ways.of(job.shop)
    cards = tube_cards(build.layout, build.parts, marks, words, ways)
    if cards:
        yield "tubes.pdf", lambda: _sheet(build, words, "tubes", cards=cards)
    yield "cutlist.pdf", lambda: _cutlist(build, found, rows, marks, words)
    yield "cutlist.csv", lambda: cut_csv(rows, words).encode()
    if build.parts.bent:
        yield "bends.pdf", lambda: _bends(build, marks, words)
        yield "bends.csv", lambda: bends_csv(job, build.parts, marks).encode()
    yield from drawing_files(build, found, rows, marks, words)
    made = build.made
    if made.plates:
        yield (
            "plates.pdf",
            lambda: _sheet(build, words, "plates", plates=plate_pages(job, made.plates, words)),
        )
    if made.folded:
        yield "folded.pdf", lambda: _folded(build, words)
    if made.turned:
        yield (
            "turned.pdf",
            lambda: _sheet(build, words, "turned", turned=turned_pages(job, made.turned, words)),
        )
    if job.readings:
        yield "measure.pdf", lambda: _measure(build, words)
        yield "measure.csv", lambda: measure_csv(job, build.next_readings).encode()
        yield "network.pdf", lambda: _network(build, words)
    if job.table is not None:
        table = job.table
        yield (
            "table.pdf",
            lambda: _sheet(
                build, words, "table", table=table_data(set_up(build.layout, build.parts, table), words)
            ),
        )
    for plate in all_plates(build):
        yield f"plates/{plate.name}.{job.show.dxf}.dxf", partial(_plate, plate.outline, job.show.dxf)
    yield from tube_files(build.parts, marks, ways, job.show.dxf)
    yield from assembly_files(build.layout, build.parts, job.title, job.show.dxf)
    yield "model.glb", lambda: model_glb(found)
    if build.idealised.frame.member_names and build.cases:
        yield "model-loaded.glb", lambda: loaded_glb(build)


def all_plates(build: "Build") -> tuple[Plate, ...]:
    """Tabs and hangers of the frame, then the job's own plates."""
    return (*build.parts.plates, *(made.plate for made in build.made.plates))


def _folded(build: "Build", words: Words) -> bytes:
    pages = folded_pages(build.job, build.made.folded, words)
    return at_full_scale(_sheet(build, words, "folded", folded=pages))


def _plate(outline: PlateOutline, unit: Literal["mm", "in"]) -> bytes:
    return plate_dxf(outline, unit).encode()


def _sheet(build: "Build", words: Words, template: str, **data: Any) -> bytes:
    return typeset(template, {"head": head(build.job, units=words.names), **data})


def _measure(build: "Build", words: Words) -> bytes:
    data = measure_data(build.job, build.survey, build.network, build.next_readings, words)
    return _sheet(build, words, "measure", measure=data)


def _network(build: "Build", words: Words) -> bytes:
    return _sheet(build, words, "network", network=network_data(build.survey, build.network))


def _cutlist(
    build: "Build", found: tuple[Thing, ...], rows: tuple[Row, ...], marks: Marks, words: Words
) -> bytes:
    """The cut list, what is bolted and welded, and the marking out."""

    def picture(spots: Mapping[str, Any]) -> list[dict[str, Any]]:
        labels = {name: (name, at) for name, at in spots.items()}
        return [
            draw(view, own, build.parts.both, labels, room, fill=True)
            for view, room in ((CORNER, (188.0, 108.0)), (PLAN, (188.0, 118.0)))
        ]

    own = [thing for thing in found if thing.sort not in (Sort.OBSTACLE, Sort.BODY)]
    data = page_data(rows, words) | {
        "schedule": schedule_data(build.job, build.layout, marks, words, picture),
        "marking": marking_data(build.layout, build.parts, marks, words, Ways.of(build.job.shop)),
    }
    return _sheet(build, words, "cutlist", list=data)


def _bends(build: "Build", marks: Marks, words: Words) -> bytes:
    return _sheet(build, words, "bends", bends=bends_data(build.job, build.layout, build.parts, marks, words))


def _templates(build: "Build", marks: Marks, words: Words) -> bytes:
    said = {
        name: TubeWords(
            marks.tubes[name],
            tube.material.name,
            build.parts.both[name].mass(tube.material.density),
            (tube.seats[0].on, tube.seats[1].on),
        )
        for name, tube in build.layout.tubes.items()
    }
    ways = Ways.of(build.job.shop)
    cut = tuple(build.parts.both[name] for name in said)
    pages = template_pages(cut, said, words, paper_of(build.job.show), ways)
    return at_full_scale(_sheet(build, words, "templates", pages=pages))


def _report(
    build: "Build", found: tuple[Thing, ...], rows: tuple[Row, ...], marks: Marks, words: Words
) -> bytes:
    job, units = build.job, units_of(build.job.show)
    together = words.mass(sum(row.quantity * row.mass for row in rows))
    data = {
        "facts": report.facts(job, build.cases, together, words),
        "cautions": report.cautions(),
        **report.findings_data(build.findings, units),
        "first": first_data(build.links, stations(build.layout, build.findings), build.findings),
        **report.given_data(job, build.layout, build.placed, build.cases, words),
        "seats": seat_data(job, tuple(build.placed.values()), build.driveline.jacked, words),
        "shafts": shaft_data(job, build.survey, build.placed, build.driveline),
        "frame": frame_data(build, marks, words),
        "mounts": mounts_data(build, words),
        "room": clear_data(build.room, build.findings),
        "ways": way_data(build.ways, build.findings),
        "closest": closest_data(build.room.pairs, found, build.parts, build.driveline.half_shafts),
        "movements": movement_rows(build.movements, build.cases, build.placed),
        **report.survey_data(job, build.survey, build.layout, build.placed, words),
        **report.picture_data(build.layout, build.parts, found, marks, words),
    }
    return _sheet(build, words, "report", report=data)
