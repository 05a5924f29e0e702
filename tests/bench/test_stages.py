from soapstone.bench.beads import bead
from soapstone.bench.rows import places, point_rows, reading_cells, section_cells, tube_rows, worst_of
from soapstone.bench.stages import STAGE_OF, Stage, Wanted, by_reserve, counts, stage_of, touches
from soapstone.build import Build
from soapstone.finding import KINDS, Finding, Verdict


def one(identifier: str, verdict: Verdict, ratio: float | None = None, case: str = "") -> Finding:
    return Finding(identifier, identifier.partition(":")[2], "so it is", verdict, case, ratio=ratio)


SOME = (
    one("weld:a", Verdict.HOLDS, 0.9, "bump"),
    one("weld:b", Verdict.SHORT, 1.1),
    one("weld:c", Verdict.SHORT, 1.4),
    one("reading:d", Verdict.OPEN),
)


def test_every_station_asks_only_what_there_is() -> None:
    assert set(STAGE_OF) <= set(KINDS)
    assert stage_of(SOME[0]) is Stage.HOLD and stage_of(SOME[3]) is Stage.MEASURE


def test_the_least_reserve_stands_first() -> None:
    assert [finding.about for finding in by_reserve(SOME)] == ["c", "b", "d", "a"]


def test_counts_are_of_short_and_open_by_station() -> None:
    found = counts(SOME)
    assert (found[Stage.HOLD], found[Stage.MEASURE], found[Stage.FIT]) == ((2, 0), (0, 1), (0, 0))


def test_findings_are_narrowed_by_station_verdict_part_and_case() -> None:
    def left(**wanted: object) -> list[str]:
        return [finding.about for finding in SOME if Wanted(**wanted).takes(finding)]

    assert left() == ["a", "b", "c", "d"]
    assert left(stage=Stage.HOLD, verdict=Verdict.SHORT) == ["b", "c"]
    assert left(words="WELD bump") == ["a"]
    assert left(words="weld nothing") == []


def test_what_touches_a_part() -> None:
    assert touches(one("weld:side end", Verdict.HOLDS), "side")
    assert not touches(one("weld:side_left", Verdict.HOLDS), "side")


def test_tubes_stand_with_stock_mass_and_worst_finding(heron: Build) -> None:
    rows = {row.name: row for row in tube_rows(heron)}
    assert list(rows) == list(heron.layout.tubes)
    row = rows["side_left"]
    assert row.stock.path == ("members", "side_left", "stock") and row.stock.text == "main"
    assert row.mass.endswith(" lb") and " in" in row.length
    about = [f.ratio for f in heron.findings if touches(f, "side_left") and f.ratio is not None]
    assert row.worst is not None and row.worst.ratio == max(about)
    assert worst_of(heron, "nobody") is None


def test_points_stand_with_place_and_spread_and_only_given_ones_can_be_set(
    heron: Build, heron_text: str
) -> None:
    rows = {row.name: row for row in point_rows(heron, heron_text)}
    assert rows["A"].cell is not None and rows["A"].cell.text == "0 mm fwd, 440 mm left, 420 mm up"
    assert rows["FL"].cell is None and rows["FL"].spread.startswith("± ")
    assert "left" in rows["FL"].at and "up" in rows["FL"].at


def test_readings_and_loads_are_cells(heron_text: str) -> None:
    cells = list(reading_cells(heron_text))
    assert cells[0].path == ("readings", 0, "tape A FL") and cells[0].label == "tape A FL"
    long = "readings:\n  - tape A B: {read: 5 mm, with: tape}\n  - {file: r.csv}\n  - point A: [1 mm, 2 mm]\n"
    assert [(c.path[-1], c.text) for c in reading_cells(long)] == [("read", "5 mm")]
    loads = {cell.label: cell.text for cell in section_cells(heron_text, ("service",))}
    assert loads["motor torque"] == "230 N·m"
    assert list(reading_cells("title: x\n")) == []


def test_a_tube_can_go_between_points_forks_and_tubes(heron: Build) -> None:
    assert {"A", "fork_front_left", "cross_1 middle"} <= set(places(heron))


def test_each_bead_has_a_shape_of_its_own() -> None:
    assert len({bead(verdict).replace(verdict, "") for verdict in Verdict}) == 3
