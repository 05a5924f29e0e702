from dataclasses import replace
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
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout
from soapstone.parts.sections import RoundTube
from soapstone.parts.solids import tube_solid
from soapstone.shop.sheet import head, typeset
from soapstone.shop.table_places import RISER, places_of
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
    setup = set_up(heron.layout, heron.parts, heron.job.table)
    low = min(station.at[2] for station in setup.stations)
    assert low == pytest.approx(heron.job.table.lowest, abs=1e-12)
    for station in setup.stations:
        hole = setup.hole_at(station.column, station.row)
        assert hole + station.offset == pytest.approx(station.at[:2], abs=1e-12)
        assert np.abs(station.offset).max() <= setup.pitch / 2 + 1e-12
        if station.stacked:
            assert sum(station.risers) + station.shim == pytest.approx(station.height, abs=1e-12)
            assert 0.0 <= station.shim < 0.001 + 1e-9  # the smallest riser of the job is 1 mm
        # all of a stack stands on the table
        assert (station.at[:2] >= RISER / 2 - 1e-9).all()
        assert (station.at[:2] <= np.array(setup.size) - RISER / 2 + 1e-9).all()
    named = {station.name: station for station in setup.stations}
    for name, fork in heron.layout.forks.items():
        assert named[name].centre == pytest.approx(setup.pose.apply(fork.pin), abs=1e-12)
        assert named[name].height == pytest.approx(named[name].centre[2], abs=1e-12)
    for name, hanger in heron.layout.hangers.items():
        assert named[name].centre == pytest.approx(setup.pose.apply(hanger.boss), abs=1e-12)
    for check in setup.checks:
        pins = heron.layout.forks[check.first].pin, heron.layout.forks[check.second].pin
        assert check.length == pytest.approx(float(np.linalg.norm(pins[0] - pins[1])), rel=1e-12)


def test_every_tube_is_carried_on_what_its_cuts_leave(heron: Build) -> None:
    """Against the meshes of the cut tubes: metal over all of the stack, its underside at the height said."""
    setup = set_up(heron.layout, heron.parts, heron.job.table)
    for name, part in heron.parts.tubes.items():
        mine = [station for station in setup.stations if station.name.startswith(f"{name} ")]
        if name.startswith("drop"):
            assert not mine
            assert any(name in line for line in setup.left_out)
            continue
        assert len(mine) == 2
        for station in mine:
            point = (station.centre - setup.pose.origin) @ setup.pose.rotation
            along = float((point - part.axes.origin) @ part.axes.x)
            assert along - part.end_a.outline.outer.max() >= 0.030 - 1e-5
            assert part.end_b.outline.outer.min() - along >= 0.030 - 1e-5
            under = point - np.array([0.0, 0.0, station.centre[2] - station.height])
            if isinstance(part.shape, RoundTube):
                off = np.linalg.norm(np.cross(under - part.axes.origin, part.axes.x))
                assert off == pytest.approx(part.shape.outside_diameter / 2, rel=1e-9)
            else:
                lines = part.shape.outline.generators(
                    np.linspace(0.0, part.shape.outline.perimeter, 721), 0.0
                )
                ring = part.axes.to_world(np.column_stack([np.full(len(lines), along), lines]))
                # these lie level to a quarter of a degree and stand as much off square, over 20 mm
                assert under[2] == pytest.approx(ring[:, 2].min(), abs=1e-4)


def test_no_stack_stands_in_another_or_in_a_tube(heron: Build) -> None:
    """Against the meshes of the cut tubes: nothing of another tube over a stack is lower than its top."""
    setup = set_up(heron.layout, heron.parts, heron.job.table)
    stacks = [station for station in setup.stations if station.stacked]
    for one, other in combinations(stacks, 2):
        assert np.hypot(*(one.at - other.at)[:2]) >= RISER - 1e-9
    points = {
        name: setup.pose.apply(_along(tube_solid(part), part)) for name, part in heron.parts.tubes.items()
    }
    holds = {fork.name: fork.holds[0] for fork in heron.layout.forks.values() if fork.holds}
    for station in stacks:
        own = holds.get(station.name, station.name.split()[0])
        for name, cloud in points.items():
            if name != own:
                over = np.hypot(*(cloud - station.at)[:, :2].T) < RISER / 2 - 1e-6
                assert not (cloud[over, 2] < station.height - 1e-6).any(), (station.name, name)


def _along(solid, part):  # type: ignore[no-untyped-def]
    """Points of the surface every four millimetres along the tube, from a fifth of its mesh's edges."""
    corners = solid.vertices[solid.triangles][::5]
    share = np.linspace(0.0, 1.0, max(2, round(part.saw_length / 0.004)))[:, None, None, None]
    edges = corners[:, [1, 2, 0]] * share + corners * (1.0 - share)
    return edges.reshape(-1, 3)


def test_a_pin_over_a_tube_is_held_beside_it_or_by_a_gauge(heron: Build) -> None:
    setup = set_up(heron.layout, heron.parts, heron.job.table)
    named = {station.name: station for station in setup.stations}
    middle = named["fork_middle_left"]
    beside = np.linalg.norm(middle.at - middle.centre)
    # half a riser and half of 1-3/4 in are 52.2 mm: no nearer can it clear the side tube below
    assert 0.050 < beside < 0.075
    assert f"{1000 * beside:.0f} mm beside its middle" in middle.note
    arm = named["fork_arm_rear"]
    assert not arm.stacked
    assert (arm.risers, arm.shim) == ((), 0.0)
    assert "cross_1 below it" in arm.note


def test_short_tubes_get_one_stack_or_none(heron: Build) -> None:
    fork = replace(heron.layout.forks["fork_front_left"], holds=None)
    for short, count, word in ((0.200, 2, "near"), (0.100, 1, "middle"), (0.079, 0, "")):
        tube, part = _lone(heron, short)
        found, left_out = places_of(Layout({}, {"t": tube}, {"f": fork}, {}), CutParts({"t": part}, ()))
        assert len(found) == count
        assert all(word in place.name for place in found)
        assert bool(left_out) == (count == 0)
        if count == 1:
            assert tube.station_of(found[0].centre) == pytest.approx(0.010 + short / 2, abs=1e-12)
        if count == 2:
            stations = [tube.station_of(place.centre) for place in found]
            assert stations == pytest.approx([0.040, 0.010 + short - 0.030], abs=1e-12)


def _lone(heron: Build, short: float):  # type: ignore[no-untyped-def]
    """A round level tube whose short points are 10 mm in from its start and `short` on from there."""
    tube = replace(
        heron.layout.tubes["side_left"], name="t", start=np.zeros(3), end=np.array([short + 0.02, 0.0, 0.0])
    )
    ends = [
        SimpleNamespace(
            outline=SimpleNamespace(
                short_point=SimpleNamespace(station=at), long_point=SimpleNamespace(station=at + out)
            )
        )
        for at, out in ((0.010, -0.005), (0.010 + short, 0.005))
    ]
    return tube, SimpleNamespace(name="t", end_a=ends[0], end_b=ends[1], shape=tube.section)


def test_a_crowded_tube_is_left_without(heron: Build) -> None:
    tube, part = _lone(heron, 0.2)
    below = replace(tube, name="u", start=tube.start - [0, 0, 0.1], end=tube.end - [0, 0, 0.1])
    parts = CutParts({"t": part, "u": SimpleNamespace(**{**vars(part), "name": "u"})}, ())
    found, left_out = places_of(Layout({}, {"t": tube, "u": below}, {}, {}), parts)
    assert [place.name for place in found] == ["u near start", "u near end"]
    assert left_out == tuple(
        f"t {word}: no room for a stack beside what stands there" for word in ("near start", "near end")
    )


def test_an_upright_pin_is_not_moved_along_itself(heron: Build) -> None:
    tube, part = _lone(heron, 0.2)
    fork = replace(
        heron.layout.forks["fork_front_left"],
        pin=np.array([0.1, 0.0, 0.2]),
        axis=np.array([0.0, 0.0, 1.0]),
        holds=("other", "start"),
    )
    found, _ = places_of(Layout({}, {"t": tube}, {fork.name: fork}, {}), CutParts({"t": part}, ()))
    assert not found[0].stacked
    assert found[0].note.startswith("no stack: t below it")
    twin = replace(fork, name="twin", pin=fork.pin + np.array([0.0, 0.01, 0.0]))
    found, _ = places_of(Layout({}, {}, {fork.name: fork, "twin": twin}, {}), CutParts({}, ()))
    assert [place.stacked for place in found] == [True, False]
    assert "another stack" in found[1].note


def test_its_length_runs_along_the_table(heron: Build) -> None:
    turn = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    forks = {
        name: replace(fork, pin=turn @ fork.pin, axis=turn @ fork.axis)
        for name, fork in heron.layout.forks.items()
        if not fork.on_member
    }
    straight = Layout({}, {}, {k: v for k, v in heron.layout.forks.items() if k in forks}, {})
    for layout, quarters in ((straight, 0), (Layout({}, {}, forks, {}), 1)):
        setup = set_up(layout, CutParts({}, ()), heron.job.table)
        span = np.ptp(np.array([station.at for station in setup.stations]), axis=0)
        assert span[0] > span[1]
        assert setup.quarter_turns == quarters


def test_too_small_a_table_is_said_with_both_sizes(heron: Build) -> None:
    # 914.8 mm from the arm's pin to the rear pins, and half a riser at either end
    with pytest.raises(GeometryError, match=r"stacks span 975 mm and the table is 600 mm long"):
        set_up(heron.layout, heron.parts, table(size="600 x 600 mm"))
    with pytest.raises(GeometryError, match=r"the table is 300 mm wide"):
        set_up(heron.layout, heron.parts, table(size="1200 x 300 mm"))


def test_nothing_to_set_up() -> None:
    with pytest.raises(GeometryError, match="nothing to set up"):
        set_up(Layout({}, {}, {}, {}), CutParts({}, ()), table())


def test_sheet_data_tells_what_the_record_holds(heron: Build) -> None:
    setup = set_up(heron.layout, heron.parts, heron.job.table)
    data = table_data(setup, Words.of(heron.job.show))
    assert len(data["stations"]) == len(setup.stations)
    assert ["front of the vehicle", "to the right of the plan"] in data["facts"]
    first, station = data["stations"][0], setup.stations[0]
    assert first["height_mm"] == f"{1000 * station.height:.1f}"
    assert first["across"].lstrip("+−") == f"{abs(1000 * station.offset[0]):.1f}"


def test_too_few_risers_are_said(heron: Build) -> None:
    few = table(risers=["100 mm", "50 mm"])
    data = table_data(set_up(heron.layout, heron.parts, few), Words.of(heron.job.show))
    described = {"head": head(heron.job, units="mm"), "table": data}
    text = "".join(page.get_text() for page in pymupdf.open(stream=typeset("table", described)))
    short = [row for row in data["risers"] if int(row[1]) > int(row[2])]
    assert short
    assert text.count("too few") == len(short)
