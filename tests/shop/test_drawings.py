"""Drawings: lengths from one datum, each once; what is hidden is out; the same in DXF at true size."""

import io
from collections import Counter
from pathlib import Path

import ezdxf
import numpy as np
import pymupdf
import pytest

from soapstone.build import Build, build
from soapstone.job.load import load_text
from soapstone.job.schema import Job
from soapstone.parts.assembly import Sort
from soapstone.shop.assembly_sheet import assembly_data, three_views
from soapstone.shop.cutlist import cut_rows
from soapstone.shop.drawing_dxf import LAYERS, drawing_dxf, visible
from soapstone.shop.drawing_files import drawing_files
from soapstone.shop.labels import balloons
from soapstone.shop.marks import marks_of
from soapstone.shop.sheet import is_first_angle
from soapstone.shop.tube_drawings import tube_drawing, tube_drawings
from soapstone.shop.words import Words

WREN = Path(__file__).parents[2] / "src/soapstone/examples/wren/job.yaml"


@pytest.fixture(scope="module")
def wren() -> Build:
    return build(load_text(WREN.read_text(encoding="utf-8"), WREN.parent))


def _told(drawing: dict) -> list[str]:
    return [label["text"].replace("\u00a0", " ") for label in drawing["labels"]]


@pytest.mark.parametrize("first", [True, False])
def test_each_length_once_from_the_long_point_of_end_a(wren: Build, first: bool) -> None:
    part, words = wren.parts.tubes["run_left"], Words.of(wren.job.show)
    drawing = tube_drawing(part, words, first_angle=first)
    told = Counter(text for text in _told(drawing) if text.endswith(" mm"))
    datum = part.end_a.outline.long_point.station
    expected = [
        0.0,
        part.end_a.outline.short_point.station - datum,
        part.openings[0].station - datum,
        part.end_b.outline.short_point.station - datum,
        part.saw_length,
    ]
    assert told == Counter(words.length(size) for size in expected)
    scale = float(drawing["scale"].partition(":")[2])
    axes = [np.ptp(np.array(line["points"])[:, 0]) for line in drawing["lines"] if line["stroke"] == "centre"]
    # the axis stands out 4 mm at both ends
    assert (max(axes) - 8.0) * scale == pytest.approx(1e3 * part.saw_length, abs=2e-3 * scale)


def test_projection_says_which_side_the_views_lie(wren: Build) -> None:
    """From above: over the main view in third angle, under it in first; end A's look changes sides too."""
    part, words = wren.parts.tubes["run_left"], Words.of(wren.job.show)
    for first in (True, False):
        drawing = tube_drawing(part, words, first_angle=first)
        at = {label["text"].replace("\u00a0", " "): label for label in drawing["labels"]}
        assert (at["0° line in front"]["y"] < at["90° line in front"]["y"]) is first
        assert (at["seen from A"]["x"] > at["B"]["x"]) is first


def test_the_job_says_the_projection(wren: Build) -> None:
    text = WREN.read_text(encoding="utf-8")
    show = Job.model_fields["show"].annotation
    assert show is not None
    assert is_first_angle(wren.job.show)
    assert not is_first_angle(show(paper="Letter"))
    assert is_first_angle(show(paper="Letter", projection="first angle"))
    assert not is_first_angle(show(projection="third angle"))
    assert "projection" not in text


def test_a_page_says_what_it_is_made_of(wren: Build) -> None:
    pages = tube_drawings(
        wren.layout, wren.parts, marks_of(wren.job), Words.of(wren.job.show), first_angle=True
    )
    facts = dict(tuple(pair) for pair in pages[0]["facts"])
    assert {"material", "section", "quantity", "mass", "end A", "end B", "tolerance"} <= set(facts)
    assert facts["material"] == wren.layout.tubes[pages[0]["name"]].material.name
    assert [d["name"] for d in pages[0]["details"]] == ["end A", "end B"]


def test_a_long_part_behind_a_short_one_is_cut_where_it_is_hidden() -> None:
    behind = {"points": [[0.0, 5.0], [30.0, 5.0]], "stroke": "thick"}
    front = {
        "points": [[10.0, 0.0], [20.0, 0.0], [20.0, 10.0], [10.0, 10.0]],
        "stroke": "thick",
        "closed": True,
        "fill": True,
    }
    seen = visible([behind, front])
    lengths = sorted(float(np.ptp(np.array(item["points"])[:, 0])) for item in seen)
    # the hiding square is 0.02 mm smaller all round, so that its own outline stays
    assert lengths == pytest.approx([10.0, 10.02, 10.02], abs=1e-9)
    assert len(visible([front, behind])) == 2


@pytest.mark.parametrize("first", [True, False])
def test_three_views_are_as_large_as_the_solids(wren: Build, first: bool) -> None:
    found = wren.assembly.things
    own = [thing for thing in found if thing.sort not in (Sort.OBSTACLE, Sort.BODY)]
    words = Words.of(wren.job.show)
    size = np.ptp(np.vstack([thing.solid.vertices for thing in own]), axis=0)
    drawing = three_views(own, wren.parts.both, words, first_angle=first)
    told = [text for text in _told(drawing) if text.endswith(" mm")]
    assert Counter(told) == Counter([words.length(0.0)] * 3 + [words.length(one) for one in size])
    at = {label["text"]: label for label in drawing["labels"]}
    assert (at["from above"]["y"] < at["from the left"]["y"]) is first
    assert (at["from the front"]["x"] > at["from the left"]["x"]) is first


def test_every_placed_part_has_one_balloon_with_its_number(wren: Build) -> None:
    words, marks = Words.of(wren.job.show), marks_of(wren.job)
    found = wren.assembly.things
    rows = cut_rows(wren.job, wren.layout, wren.parts, found, marks, words)
    data = assembly_data(found, wren.parts, rows, words, first_angle=True)
    assert data is not None
    assert sorted(_told(data["view"]), key=int) == [str(number) for number in range(1, len(rows) + 1)]
    assert [row[0] for row in data["rows"]] == [str(number) for number in range(1, len(rows) + 1)]
    assert not any("no place" in row[2] for row in data["rows"])


def test_balloons_keep_apart() -> None:
    labels, lines = balloons([(str(n), (50.0 + n, 50.0)) for n in range(8)], room=(100.0, 100.0))
    spots = np.array([(label["x"], label["y"]) for label in labels])
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=2)[np.triu_indices(8, 1)]
    assert apart.min() > 2 * 3.2
    assert len(lines) == 3 * 8


def test_dxf_of_every_drawing_is_sound_and_at_true_size(wren: Build) -> None:
    words, marks = Words.of(wren.job.show), marks_of(wren.job)
    found = wren.assembly.things
    rows = cut_rows(wren.job, wren.layout, wren.parts, found, marks, words)
    files = dict(drawing_files(wren, found, rows, marks, words))
    dxf = {name: make() for name, make in files.items() if name.endswith(".dxf")}
    assert set(dxf) == {"drawings/assembly.mm.dxf", *(f"drawings/T{n}.mm.dxf" for n in (3, 4, 5))}
    for content in dxf.values():
        document = ezdxf.read(io.StringIO(content.decode()))
        assert not document.audit().errors
        assert document.units == ezdxf.units.MM
        space = document.modelspace()
        assert {entity.dxf.layer for entity in space} <= {name for name, _ in LAYERS}
        lines = [np.round(np.array(e.get_points())[:, :2], 4).tobytes() for e in space.query("LWPOLYLINE")]
        assert len(lines) == len(set(lines))
    outline = ezdxf.read(io.StringIO(dxf["drawings/T5.mm.dxf"].decode())).modelspace()
    points = np.vstack([e.get_points()[:] for e in outline.query('LWPOLYLINE[layer=="OUTLINE"]')])
    ends = [e for e in outline.query('LWPOLYLINE[layer=="OUTLINE"]') if not e.closed]
    along = np.vstack([np.array(e.get_points())[:, 0:1] for e in ends])
    peg = wren.parts.tubes["peg"]
    assert len(points) > 8
    assert np.ptp(along) == pytest.approx(1e3 * peg.saw_length, abs=0.02)


def test_pdf_has_a_sheet_for_the_whole_and_for_each_straight_tube(wren: Build) -> None:
    words, marks = Words.of(wren.job.show), marks_of(wren.job)
    found = wren.assembly.things
    rows = cut_rows(wren.job, wren.layout, wren.parts, found, marks, words)
    name, make = next(drawing_files(wren, found, rows, marks, words))
    assert name == "drawings.pdf"
    pages = [page.get_text() for page in pymupdf.open(stream=make(), filetype="pdf")]
    assert len(pages) == 2 + len(wren.parts.tubes)
    assert "run_left" in pages[2] and "ISO 2768-m" in pages[2]


def test_inches_are_written_in_inches() -> None:
    line = {"points": [[0.0, 0.0], [25.4, 0.0]], "stroke": "thick"}
    text = drawing_dxf({"lines": [line], "scale": "1 : 2"}, "in")
    (entity,) = ezdxf.read(io.StringIO(text)).modelspace()
    assert np.array(entity.get_points())[1, 0] == pytest.approx(2.0, abs=1e-12)
