"""The checks against the outside world, one test for each row of the table that `soapstone verify` prints."""

from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from soapstone.tables import sources as catalogue_sources
from soapstone.verify import checks, run_checks, sources
from soapstone.verify.manual import main, manual_text
from soapstone.verify.run import PROBLEMS
from soapstone.verify.table import AREAS, own_sources

pytestmark = pytest.mark.published

IDS = [check.id for check in checks()]
PAGE = Path(__file__).parents[2] / "docs" / "verification.md"
KEYS = [
    *("id", "area", "what", "published", "computed", "unit"),
    *("relative_error", "tolerance", "source", "from_memory", "holds"),
]


@cache
def results(shifted=False):
    return {result.check.id: result for result in run_checks(shifted=shifted)}


@pytest.mark.parametrize("name", IDS)
def test_holds(name):
    row = results()[name].as_json()
    assert row["holds"], f"{row['published']} {row['unit']} is published, {row['computed']!r} computed"


@pytest.mark.parametrize("name", IDS)
def test_fails_when_shifted(name):
    row = results(shifted=True)[name].as_json()
    assert not row["holds"]
    assert row["published"] != results()[name].as_json()["published"]


def test_every_row_has_its_own_id():
    assert [name for name, count in Counter(IDS).items() if count > 1] == []


def test_the_table_is_wide_enough():
    areas = Counter(check.area for check in checks())
    assert len(IDS) >= 650
    assert set(areas) == set(AREAS)
    assert min(areas[area] for area in ("survey", "frame", "parts", "strength")) >= 25
    assert len({check.source for check in checks()}) >= 55
    assert sum(not check.from_memory for check in checks()) >= 480


def test_the_load_path_is_covered_from_many_sources():
    rooms = {"frame", "movements", "curved", "modes", "buckling", "strength"}
    rooms |= {"members", "tube_joints", "welds", "bolted", "plates", "fatigue"}
    found = [check for check in checks() if check.area in rooms]
    assert len(found) >= 300
    assert len({check.source for check in found}) >= 30
    assert min(Counter(check.area for check in found)[area] for area in rooms) >= 6


def test_every_source_is_known_and_used():
    used = {check.source for check in checks()}
    assert used <= set(sources())
    assert set(own_sources()) <= used
    assert set(own_sources()).isdisjoint(catalogue_sources())


def test_what_is_recalled_is_marked():
    by_memory = {key for key, source in sources().items() if source.read == "memory"}
    assert [check.id for check in checks() if check.source in by_memory and not check.from_memory] == []


def test_sources_are_complete():
    for source in own_sources().values():
        assert source.author and source.title and source.edition and source.publisher
        assert source.read in ("copy", "memory")


def test_every_function_is_used():
    named = {(area, name) for area, problems in PROBLEMS.items() for name in problems}
    assert named == {(check.area, check.by) for check in checks()}


def test_every_wide_tolerance_has_a_reason_and_every_reason_a_need():
    for check in checks():
        assert check.place
        assert bool(check.because) == (check.is_wide or check.scale is not None), check.id


def test_rows_as_printed():
    row = results()["logan-gable-thrust"].as_json()
    assert list(row) == KEYS
    assert {key: row[key] for key in ("id", "area", "what", "published", "unit", "from_memory", "holds")} == {
        "id": "logan-gable-thrust",
        "area": "frame",
        "what": "gable frame with clamped feet: thrust of a foot",
        "published": "11.6877",
        "unit": "kip",
        "from_memory": False,
        "holds": True,
    }
    book = "D. L. Logan, A First Course in the Finite Element Method, 4th ed., 2007"
    assert row["source"] == f"{book}, problem 5.30"
    assert row["tolerance"] == pytest.approx(5e-5 / 11.6877, rel=1e-12)
    assert row["relative_error"] == pytest.approx(abs(row["computed"] - 11.6877) / 11.6877, rel=1e-9)


def test_the_manual_is_fresh():
    assert PAGE.read_text(encoding="utf-8") == manual_text(results().values()), (
        "write it anew: python -m soapstone.verify.manual"
    )


def test_the_manual_is_written_where_asked(tmp_path, monkeypatch):
    monkeypatch.setattr("soapstone.verify.manual.run_checks", lambda: tuple(results().values()))
    main([str(tmp_path / "page.md")])
    monkeypatch.chdir(tmp_path)
    main([])
    assert (tmp_path / "page.md").read_text(encoding="utf-8") == manual_text(results().values())
    assert (tmp_path / "docs" / "verification.md").is_file()


def test_the_manual_does_not_hide_a_failure():
    text = manual_text(results(shifted=True).values())
    assert text.count("**fails**") == len(IDS)
