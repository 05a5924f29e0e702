"""Places resolved, seats found, tubes cut to what they sit on, plates gathered."""

from collections.abc import Callable

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import GeometryError
from soapstone.finding import Verdict
from soapstone.parts.cuts import EndKind
from soapstone.parts.layout import SeatKind, material_of, section_of
from soapstone.parts.reach import face_distance
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.parts.tabs import hanger_foot

Changed = Callable[..., Build]


def test_seats_of_the_example(heron: Build) -> None:
    tubes = heron.layout.tubes
    assert [seat.kind for seat in tubes["side_left"].seats] == [SeatKind.PIN, SeatKind.PIN]
    cross = tubes["cross_1"].seats
    assert [(seat.kind, seat.on) for seat in cross] == [
        (SeatKind.WELD, "side_left"),
        (SeatKind.WELD, "side_right"),
    ]
    assert cross[0].station == pytest.approx(0.170, abs=1e-12)
    assert tubes["drop_left"].seats[1].station == pytest.approx(tubes["side_left"].length / 2, abs=1e-12)


def test_a_mirrored_station_counts_from_the_other_end(heron: Build) -> None:
    left, right = (heron.layout.tubes[name].seats[1].station for name in ("brace_left", "brace_right"))
    assert left == pytest.approx(0.270, abs=1e-12)
    assert right == pytest.approx(heron.layout.tubes["cross_1"].length - 0.270, abs=1e-12)


def test_a_laid_out_point_follows_its_tube(heron: Build) -> None:
    cross = heron.layout.tubes["cross_1"]
    assert np.allclose(heron.layout.points["T2"], (cross.start + cross.end) / 2 + [0, 0, 0.060], atol=1e-12)


def test_forks_know_their_host_and_their_way(heron: Build) -> None:
    layout = heron.layout
    arm, rail = layout.forks["fork_arm_rear"], layout.forks["fork_front_left"]
    assert arm.on_member and arm.host.on == "cross_1" and not rail.on_member
    assert np.allclose(layout.foot_to_hole(rail), [0, 0, -1])
    assert layout.foot_to_hole(arm)[2] > 0.99  # stands on top of the cross tube


def test_ends_are_cut_to_what_they_sit_on(heron: Build) -> None:
    side, drop = heron.parts.tubes["side_left"], heron.parts.tubes["drop_left"]
    assert (side.end_a.kind, side.end_a.onto) == (EndKind.COPE, "bung_front_left")
    assert (drop.end_b.kind, drop.end_b.onto) == (EndKind.COPE, "side_left")
    # between two bungs of 45 mm, the centre line ends half of one short at each side
    tube = heron.layout.tubes["side_left"]
    assert side.centre_length == pytest.approx(tube.length - 0.045, abs=1e-4)  # axes not quite square


def test_alike_tabs_are_one_plate(heron: Build) -> None:
    tabs = [plate for plate in heron.parts.plates if plate.name.startswith("tab")]
    assert [plate.quantity for plate in tabs] == [8, 4, 2, 2]
    assert set(tabs[0].used_by) == {
        f"fork_{end}_{side}" for end in ("front", "rear") for side in ("left", "right")
    }


def test_a_place_beyond_the_end_is_said(changed: Changed) -> None:
    with pytest.raises(
        GeometryError, match=r"'side_left at 1\.2 m' lies beyond the end of side_left, which is 842"
    ):
        changed(("cross_3: {from: side_left at 31 in", "cross_3: {from: side_left at 1.2 m"))


def test_a_tube_beside_the_axis_lands_where_it_is_told(changed: Changed) -> None:
    build = changed(
        (
            "  T2: {from: cross_1 middle, move: [60 mm up]",
            "  S: {from: side_left at 300 mm, move: [5 mm up]}\n"
            "  T2: {from: cross_1 middle, move: [60 mm up]",
        ),
        (
            "  torque_arm: {",
            "  spur: {from: S, start on: side_left, to: RAILEND, stock: light}\n  torque_arm: {",
        ),
        ("readings:", "  RAILEND: {from: S, move: [150 mm left]}\n\nreadings:"),
    )
    spur = build.layout.tubes["spur"]
    assert spur.seats[0].kind is SeatKind.WELD and spur.seats[0].on == "side_left"
    assert spur.seats[1].kind is SeatKind.FREE
    end = build.parts.tubes["spur"].end_a
    assert end.kind is EndKind.COPE and np.ptp(end.outline.outer) > 1e-3


def test_two_tubes_meet_on_a_mitre(changed: Changed) -> None:
    build = changed(
        (
            "  T2: {from: cross_1 middle, move: [60 mm up]",
            "  Q: {from: side_left at 300 mm, move: [200 mm left]}\n  W: {from: Q, move: [200 mm fwd]}\n"
            "  T2: {from: cross_1 middle, move: [60 mm up]",
        ),
        (
            "  torque_arm: {",
            "  out: {from: side_left at 300 mm, to: Q, stock: light, end cut: mitre}\n"
            "  on: {from: Q, to: W, stock: light, start cut: mitre, end cut: square}\n  torque_arm: {",
        ),
    )
    out, on = build.parts.tubes["out"], build.parts.tubes["on"]
    assert out.end_b.kind is on.end_a.kind is EndKind.MITRE
    # half the angle between the two axes each, so the cuts meet
    between = np.arccos(build.layout.tubes["out"].axis @ build.layout.tubes["on"].axis)
    assert out.end_b.angle == pytest.approx(between / 2, abs=1e-9)
    assert on.end_a.angle == pytest.approx(between / 2, abs=1e-9)
    assert on.end_b.kind is EndKind.SQUARE


@pytest.mark.parametrize(
    ("cut", "words"), [("mitre", "no other tube ends there"), ("cope", "lands on nothing")]
)
def test_a_cut_that_cannot_be_is_said(changed: Changed, cut: str, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        changed(
            (
                "  T2: {from: cross_1 middle, move: [60 mm up]",
                "  Q: {from: side_left at 300 mm, move: [200 mm left]}\n"
                "  T2: {from: cross_1 middle, move: [60 mm up]",
            ),
            (
                "  torque_arm: {",
                f"  out: {{from: side_left at 300 mm, to: Q, stock: light, end cut: {cut}}}\n"
                "  torque_arm: {",
            ),
        )


def test_sections_and_metals_come_from_the_stock(heron: Build) -> None:
    stock = heron.job.stock
    assert section_of(stock["main"]) == RoundTube(0.04445, 0.003048)
    cross = section_of(stock["cross"])
    assert isinstance(cross, RectangularTube) and cross.outside_corner_radius == pytest.approx(0.006)
    assert material_of(heron.job, "S355").yield_strength == pytest.approx(355e6)


def test_the_jobs_own_metal_comes_first(changed: Changed) -> None:
    own = (
        "materials:\n  Yard tube: {elastic modulus: 205 GPa, shear modulus: 79 GPa, density: 7850 kg/m3, "
        "yield: 300 MPa, ultimate: 400 MPa, source: own test}\n\nstock:\n"
        "  light: {tube: 1-1/4 in x 0.095 in, of: Yard tube}"
    )
    build = changed(
        ("  light: {tube: 1-1/4 in x 0.095 in, of: DOM 1020}\n", ""),
        ("\nstock:", "\n" + own),
    )
    metal = build.layout.tubes["drop_left"].material
    assert metal.yield_strength == pytest.approx(300e6) and metal.source == "own test"


def test_the_face_of_a_tube(heron: Build) -> None:
    round_, square = heron.layout.tubes["side_left"], heron.layout.tubes["cross_1"]
    assert face_distance(round_, np.array([0.0, 0.0, 1.0])) == pytest.approx(0.02223, abs=1e-5)
    assert face_distance(square, np.array([0.0, 0.0, 1.0])) == pytest.approx(0.020, abs=1e-5)
    slanting = np.array([1.0, 0.0, 1.0]) / np.sqrt(2.0)
    assert face_distance(square, slanting) == pytest.approx(0.020 * np.sqrt(2.0), abs=1e-4)
    assert face_distance(square, square.axis) == float("inf")


def test_an_end_beside_the_axis_is_told_how_far_it_overhangs(changed: Changed) -> None:
    """A tube of 31.75 mm whose axis runs 7 mm above that of a 44.45 mm one reaches 0.65 mm past its side."""
    build = changed(
        (
            "  T2: {from: cross_1 middle, move: [60 mm up]",
            "  S: {from: side_left at 300 mm, move: [7 mm up]}\n  Q: {from: S, move: [150 mm left]}\n"
            "  T2: {from: cross_1 middle, move: [60 mm up]",
        ),
        ("  torque_arm: {", "  spur: {from: S, start on: side_left, to: Q, stock: light}\n  torque_arm: {"),
    )
    told = build.finding("overhang:spur start")
    assert told and told.demand == pytest.approx(0.007 + (0.03175 - 0.04445) / 2, abs=2e-6)
    assert told.verdict is Verdict.HOLDS and "side_left" in told.caution


def test_a_hanger_plate_stands_flat_on_its_tube(heron: Build) -> None:
    """Both ends of its edge lie on the face, its hole is at the boss, and it is no wider than the flat."""
    for hanger in heron.layout.hangers.values():
        foot = hanger_foot(heron.layout, hanger)
        tube = heron.layout.tubes[hanger.host.on]
        plate = next(p for p in heron.parts.plates if hanger.name in p.used_by)
        shift, reach = plate.outline.holes[0].centre
        middle = hanger.boss - reach * foot.normal - shift * foot.run
        for end in (-0.5, 0.5):
            corner = middle + end * foot.base * foot.run - hanger.foot
            assert corner @ foot.normal == pytest.approx(0.020, abs=1e-9)  # half of 40 mm
            assert abs(corner @ foot.run) <= 0.014 + 1e-9  # 40 mm less two corners of 6 mm, halved
        assert abs(foot.run @ tube.axis) < 0.01 and foot.base == pytest.approx(0.028)


def test_a_plate_along_a_round_tube_keeps_its_width(changed: Changed) -> None:
    build = changed(
        ("  cross: {tube: 40 x 40 x 3 mm, of: S355}", "  cross: {tube: 1-1/2 in x 0.120 in, of: DOM 1020}"),
        (
            "carries: drive_unit.boss_1, plate: 10 mm S355, width: 70 mm,",
            "carries: drive_unit.boss_1, plate: 10 mm S355, width: 60 mm, axis: up,",
        ),
    )
    foot = hanger_foot(build.layout, build.layout.hangers["hanger_front_left"])
    assert foot.base == pytest.approx(0.060)
