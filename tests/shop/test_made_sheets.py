"""Sheets of bent tubes, plates, folded tubes and turned parts: data, scale on paper, files that read back."""

import csv
import io
import math
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pymupdf
import pytest

from soapstone.build import Build, build
from soapstone.errors import GeometryError
from soapstone.job.load import load_text
from soapstone.parts.folded_tube import fold_tube, layout_lines
from soapstone.parts.sections import RectangularTube
from soapstone.shop.bends import bends_csv, bends_data, bent_saw_length, corner_points
from soapstone.shop.fold_sheets import _strips, folded_pages
from soapstone.shop.marks import marks_of
from soapstone.shop.packet import write_packet
from soapstone.shop.plate_sheets import plate_pages
from soapstone.shop.sheet import PAPERS
from soapstone.shop.turned_sheets import turned_pages
from soapstone.shop.words import Words

TEXT = (Path(__file__).parents[1] / "shop_parts.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("job")
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    corners = [(0, 0), (100, 0), (100, 60), (0, 60), (0, 0)]
    for one, other in pairwise(corners):
        space.add_line(one, other)
    space.add_line((0, 0), (100, 0))
    space.add_circle((20, 30), 6)
    space.add_lwpolyline([(60, 35, 0), (80, 35, -1), (80, 25, 0), (60, 25, -1)], format="xyb", close=True)
    document.saveas(place / "cover.dxf")
    return place


@pytest.fixture(scope="module")
def made(folder: Path) -> Build:
    return build(load_text(TEXT, folder))


@pytest.fixture(scope="module")
def packet(made: Build, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("out") / "packet"
    write_packet(made, out)
    return out


def words(made: Build) -> Words:
    return Words.of(made.job.show)


def test_every_sheet_and_file_is_in_the_packet(packet: Path) -> None:
    names = {path.relative_to(packet).as_posix() for path in packet.rglob("*") if path.is_file()}
    wanted = {
        "bends.pdf",
        "bends.csv",
        "plates.pdf",
        "folded.pdf",
        "turned.pdf",
        "plates/carrier-wall-1.mm.dxf",
    }
    assert wanted <= names
    index = (packet / "index.txt").read_text(encoding="utf-8")
    assert "layers CUT, HOLES, BEND (not cut) and ETCH (not cut)" in index
    for path in (packet / "plates").iterdir():
        document = ezdxf.readfile(path)
        assert document.audit().errors == [] and document.header["$INSUNITS"] == 4
        closed = [e.closed for e in document.modelspace().query("LWPOLYLINE")]
        assert closed and all(closed)


def test_the_cut_list_has_everything(packet: Path) -> None:
    rows = list(csv.DictReader(io.StringIO((packet / "cutlist.csv").read_text(encoding="utf-8"))))
    by_name = {row["name"]: row for row in rows}
    hoop = by_name["hoop"]
    assert float(hoop["saw length mm"]) > 1000.0 and "bends first" in hoop["end A"]
    assert by_name["cradle"]["saw length mm"] == "737.28" and by_name["pin"]["quantity"] == "1"
    assert {row["mark"] for row in rows} >= {
        "gusset",
        "foot",
        "bracket",
        "carrier",
        "carrier-wall-1",
        "cover",
    }


def test_the_bend_file_holds_the_table(made: Build) -> None:
    rows = list(csv.DictReader(io.StringIO(bends_csv(made.job, made.parts, marks_of(made.job)))))
    table = made.parts.bent["hoop"].table()
    assert [float(row["set to degrees"]) for row in rows] == pytest.approx(
        [math.degrees(row.set_angle) for row in table.rows], abs=0.006
    )
    assert [float(row["bend begins mm from that end"]) for row in rows] == pytest.approx(
        [1e3 * row.mark for row in table.rows], abs=0.006
    )


def test_bend_pages_say_what_the_table_says(made: Build) -> None:
    (page,) = bends_data(made.job, made.layout, made.parts, marks_of(made.job), words(made))
    assert [row["number"] for row in page["rows"]] == ["1", "2"]
    assert page["rows"][1]["turn"] == "none, same plane" and page["ends"][0]["end"] == "A"
    points = corner_points(made.parts.bent["hoop"])
    assert points[1] == pytest.approx([0.060, 0.330, 0.250], abs=1e-9)
    assert points[2] == pytest.approx([0.060, -0.330, 0.250], abs=1e-9)


def test_spare_length_is_left_on_for_clamp_and_tail(folder: Path) -> None:
    text = TEXT.replace("clamp: 90 mm, tail: 60 mm", "clamp: 200 mm, tail: 180 mm")
    changed = build(load_text(text, folder))
    part, bender = changed.parts.bent["hoop"], changed.job.benders["big"]
    raw, first, last = bent_saw_length(part, bender)
    rows = part.table().rows
    assert (first, last) == pytest.approx((0.2 - rows[0].straight, 0.18 - part.table().last))
    assert raw == pytest.approx(part.finished_length + first + last)
    (page,) = bends_data(changed.job, changed.layout, changed.parts, marks_of(changed.job), words(changed))
    assert "cut off after bending" in page["facts"][1][1]
    assert page["rows"][0]["straight"] == "200.0 mm"


def test_a_tube_that_only_clears_from_the_other_end_is_read_from_there(folder: Path) -> None:
    """One leg stands out of the plane at one end: from that end first, it hangs down at the other bend."""
    text = TEXT.replace(
        "K2: {at: [60 mm fwd, 330 mm right, 250 mm up]}",
        "K2: {at: [60 mm fwd, 330 mm right, 250 mm up]}\n  K3: {at: [600 mm aft, 330 mm right, "
        "150 mm up]}\n  K4: {at: [500 mm aft, 390 mm right, 800 mm up]}",
    )
    text = text.replace("through: [K1, K2], to", "through: [K1, K2, K3, K4], to")
    firsts = set()
    for turns in ("left", "right"):
        changed = build(
            load_text(
                text.replace("turns: right, room below: 900 mm", f"turns: {turns}, room below: 300 mm"),
                folder,
            )
        )
        (page,) = bends_data(
            changed.job, changed.layout, changed.parts, marks_of(changed.job), words(changed)
        )
        firsts.add(page["first"])
        numbers = sorted(row["number"] for row in page["rows"])
        assert numbers == ["1", "2", "3", "4"]
    assert firsts <= {"A", "B"}


def strokes_of(page: pymupdf.Page, width: float) -> list[tuple[float, float]]:
    """Points of all lines of a width (mm) on a page, mm."""
    found = []
    for path in page.get_drawings():
        if path["width"] is not None and abs(path["width"] * 25.4 / 72 - width) < 0.02:
            for item in path["items"]:
                found += [
                    (p.x * 25.4 / 72, p.y * 25.4 / 72) for p in item[1:] if isinstance(p, pymupdf.Point)
                ]
    return found


def test_wedges_are_printed_at_full_scale(made: Build, packet: Path) -> None:
    """Thick lines of wedge 2 on its sheet: as far apart, and as long round, as the tube says, to 0.1 mm."""
    part = made.made.folded[0]
    with pymupdf.open(packet / "folded.pdf") as sheets:
        pages = [page for page in sheets if "wedge 2" in page.get_text() and "wedge 1" not in page.get_text()]
        points = np.array([p for p in strokes_of(pages[0], 0.7) if p[1] < 240.0])
    rows, low, high = layout_lines(part.shape, part.wedges[1], 0.0012)
    assert np.ptp(points[:, 1]) == pytest.approx(1e3 * (high - low).max(), abs=0.1)
    assert np.ptp(points[:, 0]) == pytest.approx(1e3 * rows[-1], abs=0.1)
    assert b"/PrintScaling/None" in (packet / "folded.pdf").read_bytes()


def test_a_wrap_wider_than_the_sheet_is_parted_not_shrunk() -> None:
    big = RectangularTube(0.080, 0.060, 0.003, 0.006)
    part = fold_tube("big", big, (0.3, 0.3), [(0.6, "down")], 0.001)
    strips = _strips(part, 0.001, PAPERS["A4"])
    assert len(strips) == 2
    assert sum(s["drawing"]["width"] for s in strips) == pytest.approx(1e3 * big.outline.perimeter)
    assert all(s["drawing"]["width"] <= 190.0 for s in strips)
    steep = fold_tube("steep", RectangularTube(0.15, 0.15, 0.004, 0.008), (0.9, 0.9), [(2.0, "up")], 0.001)
    with pytest.raises(GeometryError, match=r"steep.*too long for one sheet"):
        _strips(steep, 0.001, PAPERS["A4"])


@pytest.mark.parametrize("way", ["up", "down", "left", "right"])
def test_nothing_is_cut_across_the_wall_that_stays(way: str) -> None:
    part = fold_tube("l", RectangularTube(0.03, 0.05, 0.0025, 0.005), (0.3, 0.3), [(0.6, way)], 0.001)
    strips = _strips(part, 0.001, PAPERS["A4"])
    stays = {"up": "below", "down": "above", "left": "right", "right": "left"}[way]
    thick = [line["points"] for line in strips[0]["drawing"]["lines"] if line["stroke"] == "thick"]
    drawn = sum(abs(line[-1][0] - line[0][0]) for line in thick) / 2
    flat = {"up": 20.0, "down": 20.0, "left": 40.0, "right": 40.0}[way]
    assert drawn == pytest.approx(1e3 * part.shape.outline.perimeter - flat, abs=0.01)
    labels = [label["text"] for label in strips[0]["drawing"]["labels"]]
    assert any(text == f"{stays}: stays" for text in labels)


def test_pages_of_plates_folds_and_turned_parts(made: Build) -> None:
    pages = {page["name"]: page for page in plate_pages(made.job, made.made.plates, words(made))}
    assert [row[1] for row in pages["foot"]["holes"]] == [
        "round 9 mm",
        "round 9 mm, countersunk 90° to 17 mm",
        "cut-out 24 mm by 9 mm",
    ]
    assert [row[0] for row in pages["bracket"]["folds"]] == ["1", "2"]
    assert pages["bracket"]["side"] is not None and pages["foot"]["side"] is None
    assert any("copy" in note for note in pages["cover"]["notes"])
    cradle, horn = folded_pages(made.job, made.made.folded, words(made))
    assert [row[0] for row in cradle["rows"]] == ["1", "2"] and cradle["view"] is not None
    assert horn["nose"][0][1] == "95.0 mm" and horn["view"] is None
    blocks = {page["name"]: page for page in turned_pages(made.job, made.made.turned, words(made))}
    assert "20.000 to 20.021 mm" in str(blocks["sleeve"]["facts"])
    assert "M16x1.5" in str(blocks["screw_bung"]["facts"]) and "plug holes" in blocks["screw_bung"]["weld"]
    for page in blocks.values():
        for line in page["drawing"]["lines"]:
            for x, y in line["points"]:
                assert 0.0 <= x <= page["drawing"]["width"] and 0.0 <= y <= page["drawing"]["height"]


def test_inches_stand_beside_millimetres(folder: Path) -> None:
    text = TEXT.replace("length: mm", "length: in 1/32")
    changed = build(load_text(text, folder))
    (page,) = bends_data(changed.job, changed.layout, changed.parts, marks_of(changed.job), words(changed))
    assert page["inches"] and page["rows"][0]["straight"].endswith("in")
