"""A valid job: values in SI, scalars as they stand in the file, mirrors written out."""

from pathlib import Path

import pytest

from soapstone.errors import JobError
from soapstone.job import Job, load, load_text
from soapstone.job.places import Place, Spot, parse_place
from soapstone.job.text import plain, read_tree

INCH = 0.0254


def test_values_are_in_si(folder: Path) -> None:
    job = load(folder)
    assert job.points["A"].at == pytest.approx((0.0, 16.5 * INCH, 12 * INCH), rel=1e-15)
    assert job.points["E"].move == pytest.approx((-0.1, 0.0, -0.05), rel=1e-15)
    assert job.stock["main"].tube == pytest.approx((1.25 * INCH, 0.12 * INCH), rel=1e-15)
    assert job.table is not None
    assert job.table.risers == pytest.approx((0.1, 0.05, 0.01, 0.01), rel=1e-15)
    assert job.forks["fork_left"].plate.of == "S235"
    assert job.hangers["hanger_left"].plate.of == "house plate"
    assert job.folder == folder


def test_a_direction_may_be_a_list(small: str, folder: Path) -> None:
    job = load_text(small.replace("    gap: 1 mm", "    axis: [3, 0, -4]"), folder)
    assert job.forks["fork_left"].axis == pytest.approx((0.6, 0.0, -0.8), rel=1e-15)
    assert job.forks["fork_right"].axis == job.forks["fork_left"].axis


def test_a_body_may_be_put_at_a_point_or_a_position(small: str, folder: Path) -> None:
    match = "{match: {boss_left: A, boss_right: B, boss_rear: C}}"
    job = load_text(small.replace(match, "{point: boss_left, at: A, nose down: 1.5 deg}"), folder)
    assert job.place["unit"].at == "A"
    job = load_text(small.replace(match, "{point: boss_left, at: [1 m, 2 m, 3 m]}"), folder)
    assert job.place["unit"].at == (1.0, 2.0, 3.0)


def test_a_section_that_cannot_be_read_makes_no_other_fault(small: str, folder: Path) -> None:
    for section in ("points", "bodies", "stock", "supports", "bungs", "forks", "members", "instruments"):
        start = small.index(f"\n{section}:\n") + 1
        text = small[:start] + f"{section}: gone\nold " + small[start:]
        with pytest.raises(JobError) as told:
            load_text(text, folder)
        line = small.count("\n", 0, start) + 1
        assert [fault.partition(" ")[0] for fault in told.value.faults] == [
            f"job.yaml:{line}",
            f"job.yaml:{line + 1}",
        ]


def test_the_file_or_its_folder(folder: Path) -> None:
    assert load(folder) == load(folder / "job.yaml") == load(str(folder))


def test_a_byte_order_mark_and_other_line_ends_change_nothing(small: str, folder: Path) -> None:
    plain_job = load_text(small, folder)
    (folder / "job.yaml").write_bytes(b"\xef\xbb\xbf" + small.replace("\n", "\r\n").encode())
    assert load(folder) == plain_job


def test_scalars_stay_the_text_in_the_file(small: str, folder: Path) -> None:
    text = "slope: 1:12\nbias: 12:30\nserial: 0123\npart: 02142\nload: 1e3\nyes: no\nnothing: null\nwave: ~\n"
    root = read_tree(text).root
    assert root is not None
    assert plain(root) == {
        "slope": "1:12",
        "bias": "12:30",
        "serial": "0123",
        "part": "02142",
        "load": "1e3",
        "yes": "no",
        "nothing": "null",
        "wave": "~",
    }
    assert load_text(small.replace("Small test frame (invented)", "0123"), folder).title == "0123"


def test_an_alias_is_read_like_its_anchor(small: str, folder: Path) -> None:
    text = small.replace("width: 40 mm", "width: &w 40 mm").replace("width: 50 mm", "width: *w")
    job = load_text(text, folder)
    assert job.hangers["hanger_left"].width == job.forks["fork_left"].width == 0.04


def test_readings_know_where_they_stand(folder: Path) -> None:
    readings = load(folder).readings
    assert [reading.place for reading in readings] == [f"job.yaml:{line}" for line in range(19, 26)]
    assert readings[0].label == "tape A C"


def test_unused_things_and_a_fork_without_a_bolt_are_no_faults(small: str, folder: Path) -> None:
    text = small.replace("    bolt: M12 10.9\n", "").replace("  D: {", "  spare: {what: not used}\n  D: {")
    job = load_text(text, folder)
    assert job.forks["fork_left"].bolt is None


def test_names_of_things_that_cannot_be_read_still_count(small: str, folder: Path) -> None:
    with pytest.raises(JobError) as told:
        load_text(small.replace("of: DOM 1020}", "of: DOM 1020, corner: 1}"), folder)
    assert told.value.faults == [
        "job.yaml:51 stock.main.corner: “1” is a bare number; write 1 mm, 1 cm, 1 m, 1 in or 1 ft"
    ]


def test_an_aluminium_material_may_come_from_the_table_in_any_case(small: str, folder: Path) -> None:
    job = load_text(small.replace("of: DOM 1020", "of: dom 1020"), folder)
    assert job.stock["main"].of == "dom 1020"


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("C", Place("C")),
        (" unit.boss_1 ", Place("unit", "boss_1")),
        ("side_left  end", Place("side_left", spot=Spot.END)),
        ("cross_1 middle", Place("cross_1", spot=Spot.MIDDLE)),
        ("cross_1 at 100 mm", Place("cross_1", spot=Spot.AT, distance=0.1)),
        ("cross_1 at\t100 mm from start", Place("cross_1", spot=Spot.AT, distance=0.1)),
        ("cross_1 at 100 mm from end", Place("cross_1", spot=Spot.AT, distance=0.1, from_end=True)),
    ],
)
def test_places(text: str, place: Place) -> None:
    assert parse_place(text) == place


def test_place_text_leaves_the_spot_out() -> None:
    assert parse_place("unit.boss_1").text == "unit.boss_1"
    assert parse_place("side_left end").text == "side_left"


def test_the_job_is_frozen(folder: Path) -> None:
    job: Job = load(folder)
    with pytest.raises(ValueError, match="frozen"):
        job.title = "other"  # type: ignore[misc]
