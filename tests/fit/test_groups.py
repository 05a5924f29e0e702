"""What moves as one: tubes welded together, and the shafts as far as they sweep."""

from itertools import permutations
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.fit.clearances import Pair, Setting
from soapstone.fit.groups import Group, Piece, Role, groups_of
from soapstone.fit.near import rod
from soapstone.fit.patterns import welded_groups
from soapstone.fit.unsure import Known
from soapstone.job.shafts import HalfShaft
from soapstone.parts.layout import Layout, SeatKind
from soapstone.place.shafting import HalfRun, Travelled


def tube(name: str, *seats: tuple[SeatKind, str], through: tuple[str, ...] = ()) -> Any:
    return SimpleNamespace(
        name=name,
        seats=tuple(SimpleNamespace(kind=kind, on=on) for kind, on in seats),
        passages=tuple(SimpleNamespace(host=host) for host in through),
    )


def groups(*tubes: Any) -> dict[str, str]:
    layout = SimpleNamespace(tubes={one.name: one for one in tubes}, bars={}, members=tubes)
    return dict(welded_groups(cast("Layout", layout)))


WELD = SeatKind.WELD
FREE = next(kind for kind in SeatKind if kind is not WELD)
SIDE, CROSS, ARM = tube("side"), tube("cross", (WELD, "side"), (WELD, "other")), tube("arm", (FREE, "side"))
OTHER = tube("other")


def test_a_weld_joins_and_a_pin_does_not() -> None:
    assert groups(SIDE, CROSS, OTHER, ARM) == {"side": "side", "cross": "side", "other": "side", "arm": "arm"}


def test_a_tube_that_passes_through_another_goes_with_it() -> None:
    assert groups(SIDE, tube("bar", (FREE, "x"), through=("side",))) == {"side": "side", "bar": "side"}
    assert groups(SIDE, tube("bar", (FREE, "x"))) == {"side": "side", "bar": "bar"}


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_the_same_groups_in_whatever_order_they_stand(order: tuple[int, ...]) -> None:
    """Named after the first of the group in the job's order."""
    tubes = [(SIDE, CROSS, OTHER, ARM)[place] for place in order]
    first = next(one.name for one in tubes if one is not ARM)
    assert groups(*tubes) == {one.name: "arm" if one is ARM else first for one in tubes}


def test_a_welded_frame_is_one_group_with_its_bungs_and_hangers(heron: Build) -> None:
    found = groups_of(heron.job, heron.layout, heron.assembly, heron.driveline.half_shafts)
    frame, *others = [group for group in found if group.role is Role.FRAME]
    own = {piece.owner for piece in frame.pieces}
    welded = {name for name, first in welded_groups(heron.layout).items() if first == "side_left"}
    assert {"side_left", "side_right", "drop_left"} <= welded <= own
    assert {"hanger_front_left", "bung_rear_left"} <= own
    for other in others:
        assert not own & {piece.owner for piece in other.pieces}


# --- shafts as far as they sweep ---------------------------------------------------------------------------

INNER = np.array([0.0, 0.245, 0.330])


def shaft(*heights: float, diameter: float | None = 0.028) -> HalfRun:
    """From the inner joint to a hub 405 mm outside of it, in some heights."""
    at = np.array([[0.0, 0.650, height] for height in heights])
    names = tuple(f"{1e3 * height:.0f} mm" for height in heights)
    moves = Travelled(names, np.array(heights) - heights[0], at, np.tile([0.0, 1.0, 0.0], (len(at), 1)))
    return HalfRun("left", HalfShaft.model_construct(diameter=diameter, from_="unit.joint"), INNER, moves)


def bar(height: float) -> Group:
    """A tube of 40 mm along the vehicle, 85 mm outside of the inner joint."""
    ends = [np.array([x, 0.330, height]) for x in (-0.5, 0.5)]
    return Group("bar", Role.OBSTACLE, (Piece("bar", "bar", rod(*ends, 0.040), "fixed"),))


def between(heron: Build, run: HalfRun, other: Group) -> Pair:
    (*_, own) = groups_of(heron.job, heron.layout, heron.assembly, (run,))
    known = Known(heron.job, heron.survey, heron.placed, heron.assembly)
    (pair,) = Setting(heron.layout, (own, other), known).pairs()
    return pair


def test_the_position_that_comes_nearest_counts(heron: Build) -> None:
    """The shaft crosses under the bar square to it: how high it runs there, by like triangles, tells all."""
    for heights, highest in (((0.2, 0.3), 0.3), ((0.2, 0.3, 0.4), 0.4), ((0.4, 0.3, 0.2), 0.4)):
        pair = between(heron, shaft(*heights), bar(0.400))
        rise = (highest - INNER[2]) / 0.405
        by_hand = (0.400 - INNER[2] - 0.085 * rise) / np.hypot(1.0, rise) - 0.014 - 0.020
        assert pair.rest is not None and pair.rest.gap == pytest.approx(by_hand, abs=1e-6)
        assert f"left half-shaft, {1e3 * highest:.0f} mm" in (pair.rest.first, pair.rest.second)
        assert pair.rest.wanted.size == pytest.approx(0.020, rel=1e-12)  # it turns


def test_a_bar_in_the_sweep_is_short_and_one_far_over_it_holds(heron: Build) -> None:
    run = shaft(0.2, 0.3, 0.4)
    for height, verdict in ((0.345, Verdict.SHORT), (0.372, Verdict.SHORT), (0.430, Verdict.HOLDS)):
        pair = between(heron, run, bar(height))
        assert pair.rest is not None and pair.rest.verdict is verdict


def test_a_shaft_without_a_diameter_is_not_measured_and_says_so(heron: Build) -> None:
    pair = between(heron, shaft(0.3, diameter=None), bar(0.4))
    assert pair.rest is None and "give the diameter of half shafts.left" in pair.skipped
