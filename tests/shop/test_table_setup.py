from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.build import Build
from soapstone.errors import GeometryError
from soapstone.job.service import Table
from soapstone.parts.layout import Layout
from soapstone.shop.sheet import head, typeset
from soapstone.shop.table_setup import riser_stack, set_up
from soapstone.shop.table_sheet import table_data
from soapstone.shop.words import Words

TABLE = {"holes": "16 mm every 50 mm", "size": "1200 x 800 mm", "risers": ["100 mm", "50 mm", "10 mm x 2"]}


def table(**other: object) -> Table:
    return Table.model_validate({**TABLE, **other})


@settings(deadline=None, max_examples=60)
@given(st.floats(0.0, 0.3), st.lists(st.integers(1, 120).map(lambda mm: mm / 1000.0), max_size=7))
def test_no_other_stack_comes_nearer(height: float, risers: list[float]) -> None:
    stack = riser_stack(height, risers)
    sums = {round(1e6 * sum(c)) for n in range(len(risers) + 1) for c in combinations(risers, n)}
    # heights are compared in whole micrometres
    assert round(1e6 * sum(stack)) == max(total for total in sums if total <= round(1e6 * height))
    left = list(risers)
    for riser in stack:
        left.remove(riser)


def test_the_fewest_pieces_are_taken() -> None:
    assert riser_stack(0.1004, [0.05, 0.05, 0.1]) == (0.1,)


def test_example_on_its_table(heron: Build) -> None:
    setup = set_up(heron.layout, heron.job.table)
    low = min(station.at[2] for station in setup.stations)
    assert low == pytest.approx(heron.job.table.lowest, abs=1e-12)
    for station in setup.stations:
        hole = setup.hole_at(station.column, station.row)
        assert hole + station.offset == pytest.approx(station.at[:2], abs=1e-12)
        assert np.abs(station.offset).max() <= setup.pitch / 2 + 1e-12
        assert sum(station.risers) + station.shim == pytest.approx(station.height, abs=1e-12)
        assert 0.0 <= station.shim < 0.001 + 1e-9  # the smallest riser of the job is 1 mm
    named = {station.name: station.at for station in setup.stations}
    for name, fork in heron.layout.forks.items():
        if name in named:
            assert named[name] == pytest.approx(setup.pose.apply(fork.pin), abs=1e-12)
    for check in setup.checks:
        pins = heron.layout.forks[check.first].pin, heron.layout.forks[check.second].pin
        assert check.length == pytest.approx(float(np.linalg.norm(pins[0] - pins[1])), rel=1e-12)


def test_its_length_runs_along_the_table(heron: Build) -> None:
    turned = Layout({}, *_turned(heron.layout))
    for layout, quarters in ((heron.layout, 0), (turned, 1)):
        setup = set_up(layout, heron.job.table)
        span = np.ptp(np.array([station.at for station in setup.stations]), axis=0)
        assert span[0] > span[1]
        assert setup.quarter_turns == quarters


def _turned(layout: Layout) -> tuple[dict, dict, dict]:  # type: ignore[type-arg]
    turn = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    forks = {
        name: SimpleNamespace(
            name=name, pin=turn @ fork.pin, holds=fork.holds, on_member=fork.on_member, host=fork.host
        )
        for name, fork in layout.forks.items()
    }
    return {}, forks, {}


def test_too_small_a_table_is_said_with_both_sizes(heron: Build) -> None:
    with pytest.raises(GeometryError, match=r"span 915 mm and the table is 600 mm long"):
        set_up(heron.layout, table(size="600 x 600 mm"))
    with pytest.raises(GeometryError, match=r"the table is 300 mm wide"):
        set_up(heron.layout, table(size="1200 x 300 mm"))


def test_nothing_to_set_up() -> None:
    with pytest.raises(GeometryError, match="nothing to set up"):
        set_up(Layout({}, {}, {}, {}), table())


def test_sheet_data_tells_what_the_record_holds(heron: Build) -> None:
    setup = set_up(heron.layout, heron.job.table)
    data = table_data(setup, Words.of(heron.job.show))
    assert len(data["stations"]) == len(setup.stations)
    assert ["front of the vehicle", "to the right of the plan"] in data["facts"]
    first, station = data["stations"][0], setup.stations[0]
    assert first["height_mm"] == f"{1000 * station.height:.1f}"
    assert first["across"].lstrip("+−") == f"{abs(1000 * station.offset[0]):.1f}"


def test_too_few_risers_are_said(heron: Build) -> None:
    few = table(risers=["100 mm", "50 mm"])
    data = table_data(set_up(heron.layout, few), Words.of(heron.job.show))
    described = {"head": head(heron.job, units="mm"), "table": data}
    text = "".join(page.get_text() for page in pymupdf.open(stream=typeset("table", described)))
    short = [row for row in data["risers"] if int(row[1]) > int(row[2])]
    assert short
    assert text.count("too few") == len(short)
