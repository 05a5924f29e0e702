import hashlib
import re
from dataclasses import replace
from pathlib import Path

import pymupdf
import pytest

from soapstone.build import Build
from soapstone.errors import GeometryError, SoapstoneError
from soapstone.finding import Finding, Verdict
from soapstone.shop import packet as packets
from soapstone.shop.packet import write_packet
from soapstone.shop.report import findings_data, in_order
from soapstone.shop.units import METRIC

SHEETS = (
    "report.pdf",
    "templates.pdf",
    "tubes.pdf",
    "cutlist.pdf",
    "drawings.pdf",
    "table.pdf",
    "measure.pdf",
    "network.pdf",
)


def text_of(file: Path) -> str:
    return "\n".join(page.get_text() for page in pymupdf.open(file))


def test_files_and_checksums(heron: Build, packet: Path) -> None:
    index = (packet / "index.txt").read_text(encoding="utf-8")
    files = [path for path in packet.rglob("*") if path.is_file() and path.name != "index.txt"]
    plates = {f"{plate.name}.mm.dxf" for plate in heron.parts.plates}
    lists = {"cutlist.csv", "measure.csv", "model.glb", "model-loaded.glb", "assembly.mm.step"}
    tubes = {file.name for file in files if file.parent.name == "tubes"}
    drawings = {file.name for file in files if file.parent.name == "drawings"}
    assert drawings == {"assembly.mm.dxf", *(f"T{n}.mm.dxf" for n in range(1, 1 + len(heron.parts.tubes)))}
    assert {file.name for file in files} == {*SHEETS, *lists, *plates, *tubes, *drawings}
    assert {f"T{number}.mm.step" for number in range(1, 1 + len(heron.parts.tubes))} <= tubes
    assert not {name for name in tubes if name.endswith(".txt")}
    assert {name.removesuffix(".svg") for name in tubes if name.endswith(".svg")} == {
        name.removesuffix(".mm.dxf") for name in tubes if name.endswith(".dxf")
    }
    for file in files:
        assert hashlib.sha256(file.read_bytes()).hexdigest() in index
        assert file.relative_to(packet).as_posix() in index
    assert "invented example" in index
    assert "50 x 73 mm overall, 6 mm S355" in index


def test_the_same_job_gives_the_same_bytes(heron: Build, packet: Path, tmp_path: Path) -> None:
    told: list[str] = []
    again = write_packet(heron, tmp_path / "again", told.append)
    assert told == [path.relative_to(tmp_path / "again").as_posix() for path in again[1:]]
    for path in again:
        assert path.read_bytes() == (packet / path.relative_to(tmp_path / "again")).read_bytes()


@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_is_marked(packet: Path, name: str) -> None:
    opened = pymupdf.open(packet / name)
    for number, page in enumerate(opened, 1):
        text = " ".join(page.get_text().split())
        assert f"{number} of {opened.page_count}" in text
        assert "invented example" in text
        assert "Computed aid, not an approval" in text
        assert "2026-05-04" in text
        fonts = {font[3].partition("+")[2] for font in page.get_fonts()}
        assert all(font.startswith(("FiraSans", "NewCM")) for font in fonts)


def test_no_sheet_knows_the_time(packet: Path) -> None:
    for name in SHEETS:
        assert not {"creationDate", "modDate"} & {
            k for k, v in pymupdf.open(packet / name).metadata.items() if v
        }


def test_report_names_every_point_reading_and_finding(heron: Build, packet: Path) -> None:
    text = " ".join(text_of(packet / "report.pdf").split())
    for name in heron.layout.points:
        assert re.search(rf"\b{name}\b", text)
    for checked in heron.survey.checked:
        assert checked.reading.label in text
    for finding in heron.findings:
        assert finding.claim.split(",")[0] in text
    for case in heron.cases:
        assert case.name in text
    assert "Never under a drivetrain held only by a jack" in text


def test_counts_on_the_cover(heron: Build, packet: Path) -> None:
    cover = " ".join(pymupdf.open(packet / "report.pdf")[0].get_text().split())
    for verdict in Verdict:
        count = sum(finding.verdict is verdict for finding in heron.findings)
        assert f"{count} {verdict} " in cover


def test_weld_fume_caution_is_where_the_welding_is(packet: Path) -> None:
    assert "Weld fume" in text_of(packet / "table.pdf")


def test_an_older_packet_is_replaced_whole(heron: Build, tmp_path: Path) -> None:
    out = tmp_path / "packet"
    out.mkdir()
    (out / "index.txt").write_text("old")
    (out / "stale.pdf").write_text("old")
    bare = replace(heron, job=heron.job.model_copy(update={"table": None}), findings=heron.findings[:2])
    bare = replace(bare, room=replace(heron.room, pairs=(), reached=()))
    files = write_packet(bare, out)
    assert not (out / "stale.pdf").exists()
    assert "table.pdf" not in {path.name for path in files}
    assert [path.name for path in tmp_path.iterdir()] == ["packet"]


def test_a_failure_leaves_the_older_packet(
    heron: Build, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "packet"
    out.mkdir()
    (out / "index.txt").write_text("old")

    def fails(*_: object) -> bytes:
        raise GeometryError("a sheet could not be made")

    monkeypatch.setattr(packets, "typeset", fails)
    with pytest.raises(GeometryError):
        write_packet(heron, out)
    assert [path.name for path in tmp_path.iterdir()] == ["packet"]
    assert (out / "index.txt").read_text() == "old"


def test_a_move_that_fails_brings_the_older_packet_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fresh, out = tmp_path / "fresh", tmp_path / "packet"
    for folder in (fresh, out):
        folder.mkdir()
    (out / "index.txt").write_text("old")
    real = Path.rename

    def rename(self: Path, target: Path) -> Path:
        if self == fresh:
            raise OSError("device is full")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(OSError, match="device is full"):
        packets._swap(fresh, out)
    assert (out / "index.txt").read_text() == "old"


def test_a_folder_with_other_things_is_left_alone(heron: Build, tmp_path: Path) -> None:
    (tmp_path / "holiday.jpg").write_text("precious")
    with pytest.raises(SoapstoneError, match="holds other things"):
        write_packet(heron, tmp_path)
    with pytest.raises(SoapstoneError, match="needs a folder"):
        write_packet(heron, tmp_path / "holiday.jpg")
    assert (tmp_path / "holiday.jpg").read_text() == "precious"


def test_a_folder_that_cannot_be_made(heron: Build, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(SoapstoneError, match=r"cannot be written: (not a directory|file exists)"):
        write_packet(heron, tmp_path / "file" / "packet")

    def fails(*_: object) -> bytes:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(packets, "typeset", fails)
    with pytest.raises(SoapstoneError, match="cannot be written: no space left"):
        write_packet(heron, tmp_path / "packet")


def test_short_comes_first_then_open_then_the_nearest_to_its_limit() -> None:
    def finding(name: str, verdict: Verdict, ratio: float | None) -> Finding:
        return Finding(f"weld:{name}", name, "it holds", verdict, ratio=ratio)

    found = [
        finding("a", Verdict.HOLDS, 0.2),
        finding("b", Verdict.OPEN, None),
        finding("c", Verdict.SHORT, 1.2),
        finding("d", Verdict.HOLDS, 0.9),
        finding("e", Verdict.SHORT, 3.0),
    ]
    assert [f.about for f in in_order(found)] == ["e", "c", "b", "d", "a"]
    data = findings_data(found, METRIC)
    assert [count["count"] for count in data["counts"]] == ["2", "2", "1"]
    assert [row["ratio"] for row in data["findings"]] == ["3.00", "1.20", "–", "0.900", "0.200"]
