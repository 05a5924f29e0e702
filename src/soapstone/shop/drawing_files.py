"""The dimensioned drawings of a packet: assembly and tubes, on one PDF and each as DXF."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from soapstone.parts.assembly import Thing
from soapstone.shop.assembly_sheet import assembly_data
from soapstone.shop.cutlist import Row
from soapstone.shop.drawing_dxf import drawing_dxf
from soapstone.shop.marks import Marks
from soapstone.shop.sheet import head, is_first_angle, typeset
from soapstone.shop.tube_drawings import tube_drawings
from soapstone.shop.words import Words

if TYPE_CHECKING:
    from soapstone.build import Build

Unit = Literal["mm", "in"]


def drawing_files(
    build: "Build", found: Sequence[Thing], rows: Sequence[Row], marks: Marks, words: Words
) -> Iterator[tuple[str, Callable[[], bytes]]]:
    """Names and makers; nothing where the job makes nothing that has a place."""
    first = is_first_angle(build.job.show)
    assembly = assembly_data(found, build.parts, rows, words, first_angle=first)
    if assembly is None:
        return
    pages = tube_drawings(build.layout, build.parts, marks, words, first_angle=first)
    data = {"head": head(build.job, units=words.names), "assembly": assembly, "tubes": pages}
    yield "drawings.pdf", lambda: typeset("drawings", data)
    unit = build.job.show.dxf
    yield f"drawings/assembly.{unit}.dxf", partial(_dxf, assembly["views"], unit)
    for page in pages:
        yield f"drawings/{page['mark']}.{unit}.dxf", partial(_dxf, page["drawing"], unit)


def _dxf(drawing: dict[str, Any], unit: Unit) -> bytes:
    return drawing_dxf(drawing, unit).encode()
