"""Readings from a spreadsheet: read right, or refused by row and column."""

from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job import load, value_of
from soapstone.job.csv_readings import csv_readings

INCH = 0.0254
HEAD = b"from,to,reading\n"
PLAIN = "from,to,reading,unit\nA,C,41-7/8,in\nB,C,1350,mm\n"


def items(data: bytes) -> list[dict]:
    rows, refused = csv_readings(data)
    assert [one.text for one in refused] == []
    return [row.item for row in rows]


def test_a_byte_order_mark_and_crlf_change_nothing():
    """community.general #544, mailmerge #93, orange3 #7000."""
    plain = items(PLAIN.encode())
    assert plain == [{"tape A C": {"read": "41-7/8 in"}}, {"tape B C": {"read": "1350 mm"}}]
    assert items(b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode()) == plain
    assert items(PLAIN.encode("utf-16")) == plain
    assert items(PLAIN.replace(",", ";").encode()) == plain
    assert items(PLAIN.replace(",", "\t").encode()) == plain


def test_windows_1252_reads_its_halves_and_degrees():
    """chardet #305: 0xBD is a half, 0xB0 a degree."""
    data = "kind;from;to;reading\ntape;A;C;41½ in\nlevel;C;D;0,2° up\n".encode("cp1252")
    assert data.count(b"\xbd") == data.count(b"\xb0") == 1
    assert items(data) == [{"tape A C": {"read": "41½ in"}}, {"level C D": {"read": "0,2° up"}}]


def test_text_decoded_twice_is_refused_not_read():
    data = "kind,from,to,reading\nlevel,C,D,0.2Â° up\n".encode()
    _, refused = csv_readings(data)
    assert [one.text for one in refused] == [
        "row 2, reading: '0.2Â° up': saved in one encoding and read in another; type it again"
    ]


DATES = ("07-Aug", "7-Aug", "Aug-07", "1/7/2008", "2024-10-03", "2024-10-03 00:00:00", "07.08.2024")


@pytest.mark.parametrize("cell", DATES)
def test_a_fraction_that_became_a_date_is_refused_by_row_and_column(cell):
    """CsvHelper #622, jeveassets #35, rsv #8."""
    rows, refused = csv_readings(f"from,to,reading,unit\nA,C,{cell},in\nB,C,7/8,in\n".encode())
    why = "a spreadsheet turned a fraction into a date; make the column text and type it again"
    assert [one.text for one in refused] == [f"row 2, reading: '{cell}': {why}"]
    assert [row.item for row in rows] == [{"tape B C": {"read": "7/8 in"}}]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "a header belongs in row 1, like from,to,reading,unit"),
        ("\n", "a header belongs in row 1, like from,to,reading,unit"),
        ("from,to,redaing\nA,C,1 m\n", "row 1: 'redaing' is no column here; nearest: reading"),
        ("from,to\nA,C\n", "row 1: a column reading is missing, or x, y and z"),
        ("from,from,reading\nA,C,1 m\n", "row 1: column from stands there more than once"),
        (
            "from,to,reading,unit\nA,C,12,5,mm\n",
            "row 2: 5 cells under 4 columns; a decimal comma needs semicolons between the columns",
        ),
        ("from;to;reading\nA;C;1 m;9\n", "row 2: 4 cells under 3 columns"),
        (
            "point,reading\nC,1 m\n",
            "row 2: a kind is missing: tape, plan, height, offset, level, coordinates",
        ),
        ("kind,from,to,reading\ntape,A,C,\n", "row 2: the reading is missing"),
        ('from,to,reading\nA,C,"1 m\n', "cannot be taken apart"),
    ],
)
def test_what_is_no_table_of_readings_is_refused_in_one_line(text, says):
    rows, refused = csv_readings(text.encode())
    assert rows == []
    assert len(refused) == 1
    assert refused[0].text.startswith(says) or says in refused[0].text


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (
            b"from,to,reading\nA,C,1\x00 m\n",
            "row 2 holds a zero byte, so this is no text; save it as CSV in UTF-8",
        ),
        (
            b"from,to,reading\nA,C,1\x81 m\n",
            "row 2 is neither UTF-8 nor Windows-1252; save the file as UTF-8",
        ),
        (b"\xff\xfefrom\xd8", "begins like UTF-16 but is cut short; save it as UTF-8"),
        (b"x" * 1_000_001, "1 MB is too large for readings, the most is 1 MB"),
    ],
)
def test_bytes_that_are_no_text(data, says):
    assert [one.text for one in csv_readings(data)[1]] == [says]


def test_every_column():
    text = (
        "Kind;From;To;Point;Of;Reading;Unit;From_edge;To edge;Accuracy;With;In;Plane;Note;x;y;z\n"
        "tape;C;D;;;715;mm;far;far edge;2 mm;tape;;;by Jo;;;\n"
        "tape;C;A;;;715 mm;;far;;;;;;;;;\n"
        "offset;;;C;;14-1/4 left;in;;;;;;;;;;\n"
        "height;;;C;;40;mm;;;;;;bench;;;;\n"
        "coordinates;;;C;;;mm;;;;arm;stand_1;;;1,5;-2;3\n"
        "straight;;;C;A B;in line;;;;1 mm;;;;;;;\n"
        ";;;;;;;;;;;;;;;;\n"
    )
    assert items(text.encode()) == [
        {
            "tape C D": {
                "read": "715 mm, far edge to far edge",
                "accuracy": "2 mm",
                "with": "tape",
                "note": "by Jo",
            }
        },
        {"tape C A": {"read": "715 mm, far edge to centre edge"}},
        {"offset C": {"read": "14-1/4 in left"}},
        {"height C": {"read": "40 mm", "plane": "bench"}},
        {"coordinates C": {"read": ["1,5 mm", "-2 mm", "3 mm"], "with": "arm", "in": "stand_1"}},
        {"straight C A B": {"read": "in line", "accuracy": "1 mm"}},
    ]


def with_file(folder: Path, small: str, text: str | bytes, name: str = "second-day.csv") -> Path:
    data = text if isinstance(text, bytes) else text.encode()
    (folder / "second-day.csv").write_bytes(data)
    (folder / "job.yaml").write_text(
        small.replace("readings:\n", f"readings:\n  - {{file: {name}}}\n"), encoding="utf-8"
    )
    return folder


def test_a_file_of_readings_stands_among_the_readings(folder: Path, small: str) -> None:
    job = load(
        with_file(
            folder, small, "from,to,reading,unit,from edge,to edge\nA,D,41-7/8,in,,\nC,D,715,mm,far,far\n"
        )
    )
    first, second = job.readings[:2]
    assert (first.label, first.place) == ("tape A D", "second-day.csv:2")
    assert value_of(first) == pytest.approx(41.875 * INCH, rel=1e-14)
    assert value_of(second) == pytest.approx(0.700, rel=1e-14)  # 715 less half of 13 and half of 17
    assert len(job.readings) == 9


def test_faults_of_a_file_name_its_rows(folder: Path, small: str) -> None:
    text = (
        "kind,from,to,reading,unit,accuracy\n"
        "tape,A,C,07-Aug,,\n"
        "tape,A,Z,1,m,\n"
        "tape,A,C,1,mm/m,\n"
        "tepe,A,C,1,m,\n"
        "tape,A,C,45383,,\n"
        "tape,B,C,1,m,soon\n"
        "plan,B,C,1,m,\n"
    )
    with pytest.raises(JobError) as told:
        load(with_file(folder, small, text))
    lines = told.value.faults
    assert all(line.startswith("job.yaml:19 readings") for line in lines)
    faults = {
        2: "into a date",
        3: "'Z' is not in points",
        4: "is not a length",
        5: "no kind",
        6: "bare number",
        7: "“soon”",
    }
    for row, words in faults.items():
        assert any(f"second-day.csv row {row}" in line and words in line for line in lines), (row, lines)
    assert not any("row 8" in line for line in lines)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("../second-day.csv", "leaves the job's folder"),
        ("/etc/passwd", "leaves the job's folder"),
        ("C:\\second.csv", "leaves the job's folder"),
        ("third-day.csv", "there is no file 'third-day.csv' in the job's folder"),
    ],
)
def test_a_file_that_is_not_there_or_elsewhere(name, says, folder: Path, small: str) -> None:
    with pytest.raises(JobError, match=says):
        load(with_file(folder, small, PLAIN, name))
