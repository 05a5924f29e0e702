import csv
import io
from pathlib import Path

import pytest

from soapstone.build import Build
from soapstone.parts.assembly import assembled
from soapstone.shop.cutlist import HEADER, Row, cut_csv, cut_rows, page_data
from soapstone.shop.marks import marks_of
from soapstone.shop.words import Words


@pytest.fixture(scope="module")
def rows(heron: Build) -> tuple[Row, ...]:
    found = assembled(heron.job, heron.layout, heron.parts, heron.placed).things
    return cut_rows(
        heron.job, heron.layout, heron.parts, found, marks_of(heron.job), Words.of(heron.job.show)
    )


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_every_part_is_listed_once(heron: Build, rows: tuple[Row, ...]) -> None:
    marks = [row.mark for row in rows]
    assert len(set(marks)) == len(marks)
    assert [row.name for row in rows if row.is_tube] == list(heron.job.members)
    assert sum(row.stock == "bar" for row in rows) == len(heron.job.bungs)
    tabs = sum(int(fork.tabs) for fork in heron.job.forks.values())
    assert sum(row.quantity for row in rows if row.stock == "plate") == tabs + len(heron.job.hangers)


def test_csv_reads_back(heron: Build, rows: tuple[Row, ...]) -> None:
    text = cut_csv(rows, Words.of(heron.job.show))
    back = read(text)
    assert tuple(back[0]) == HEADER
    assert text.count("\r\n") == len(rows) + 1
    for cells, part in zip(back, heron.parts.tubes.values(), strict=False):
        # written to a hundredth of a millimetre
        assert float(cells["saw length mm"]) == pytest.approx(1000 * part.saw_length, abs=0.005001)
        assert float(cells["finished centre length mm"]) == pytest.approx(
            1000 * part.centre_length, abs=0.005001
        )
        density = heron.layout.tubes[part.name].material.density
        assert float(cells["mass each kg"]) == pytest.approx(part.mass(density), abs=0.0005001)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_no_cell_starts_a_formula(start: str) -> None:
    row = Row(
        "T1",
        f"{start}HYPERLINK(1)",
        "main",
        'a "quoted", listed',
        "S355",
        1,
        0.5,
        clocking=-0.5,
        is_tube=True,
    )
    (cells,) = read(cut_csv((row,), Words.of(_show())))
    assert cells["name"] == f"'{start}HYPERLINK(1)"
    assert cells["section"] == 'a "quoted", listed'
    assert cells["clocking degrees, clockwise seen from end A"] == "-28.65"


def _show():  # type: ignore[no-untyped-def]
    from soapstone.job.service import Show

    return Show()


def test_page_adds_up(heron: Build, rows: tuple[Row, ...]) -> None:
    words = Words.of(heron.job.show)
    data = page_data(rows, words)
    assert data["together"] == words.mass(sum(row.quantity * row.mass for row in rows))
    assert {entry["stock"] for entry in data["stock"]} == {
        member.stock for member in heron.job.members.values()
    }
    pieces = sum(int(entry["pieces"]) for entry in data["stock"])
    assert pieces == len(heron.job.members)


def test_csv_in_the_packet_is_utf8(packet: Path) -> None:
    raw = (packet / "cutlist.csv").read_bytes()
    assert raw.decode("utf-8").startswith("item,mark,name")
    assert not raw.startswith(b"\xef\xbb\xbf")
