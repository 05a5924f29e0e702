"""What a hole leaves of a section, by hand; the finding and the weld that is left open, in a job."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import GeometryError, JobError
from soapstone.finding import Verdict
from soapstone.frame.balance import balance
from soapstone.parts.layout import Passage, Seat, SeatKind, Tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.strength.passing import section_left
from soapstone.tables import material

Changed = Callable[..., Build]
FREE = Seat(SeatKind.FREE, "A")
POINTS = (
    "  # laid out from the tubes\n",
    "  # laid out from the tubes\n  TP: {from: side_right at 365 mm, move: [120 mm right]}\n",
)
TIE = (
    "  torque_arm: {",
    "  tie: {from: side_left at 350 mm, to: TP, stock: light, passes through: {side_right: 0.4 mm}}\n"
    "  torque_arm: {",
)


def _tube(section: object, start: tuple[float, ...], end: tuple[float, ...], up: tuple[float, ...]) -> Tube:
    metal = material("S235")
    return Tube("t", "s", section, metal, np.array(start), np.array(end), np.array(up), (FREE, FREE))


def test_what_is_left_of_a_box_by_hand() -> None:
    # 60 wide, 40 high, 3 thick, sharp: a hole of 20 + 2·1 mm through top and bottom wall
    host = _tube(RectangularTube(60e-3, 40e-3, 3e-3, 0.0), (0, 0, 0), (1, 0, 0), (0, 0, 1))
    pin = _tube(RoundTube(20e-3, 2e-3), (0.5, 0, -0.2), (0.5, 0, 0.2), (1, 0, 0))
    left = section_left(host, pin, Passage("t", 1e-3, 0.2, 0.5))
    assert left.area == pytest.approx((60 * 40 - 54 * 34 - 2 * 22 * 3) * 1e-6, rel=1e-9)
    about_y = (60 * 40**3 - 54 * 34**3) / 12 - 2 * (22 * 3**3 / 12 + 22 * 3 * 18.5**2)
    about_z = (40 * 60**3 - 34 * 54**3) / 12 - 2 * 3 * 22**3 / 12
    assert left.modulus_y == pytest.approx(about_y / 20 * 1e-9, rel=1e-9)
    assert left.modulus_z == pytest.approx(about_z / 30 * 1e-9, rel=1e-9)


def test_what_is_left_of_a_round_tube_by_hand() -> None:
    # strips of ±10 mm out of R 30, r 27: area of a strip is 2(h√(R²−h²) + R² asin(h/R))
    def strip(radius: float) -> float:
        return 2 * (10 * math.sqrt(radius**2 - 100) + radius**2 * math.asin(10 / radius))

    host = _tube(RoundTube(60e-3, 3e-3), (0, 0, 0), (1, 0, 0), (0, 0, 1))
    pin = _tube(RoundTube(20e-3, 2e-3), (0.5, 0, -0.2), (0.5, 0, 0.2), (1, 0, 0))
    left = section_left(host, pin, Passage("t", 0.0, 0.2, 0.5))
    gone = strip(30) - strip(27)
    # polygons of 720 corners: 13 parts in a million
    assert left.gross == pytest.approx(math.pi * (900 - 729) * 1e-6, rel=3e-5)
    assert left.area == pytest.approx((math.pi * (900 - 729) - gone) * 1e-6, rel=1e-4)
    assert left.modulus_z > left.modulus_y


def test_a_tube_through_a_tube_in_a_job(changed: Changed) -> None:
    job = changed(POINTS, TIE)
    found = job.finding("through-hole:side_right at tie")
    assert found is not None and found.verdict in (Verdict.HOLDS, Verdict.SHORT)
    whole = job.finding("member-stress:side_right")
    assert whole is not None and whole.capacity == pytest.approx(found.capacity, rel=0.35)
    weld = job.finding("weld:tie in side_right")
    assert weld is not None and weld.verdict is Verdict.OPEN
    (opening,) = job.parts.tubes["side_right"].openings
    assert opening.of == "tie"
    passage = job.layout.tubes["tie"].passages[0]
    host = job.layout.tubes["side_right"]
    # where the axes are nearest, both stations name one place to within the tubes' distance
    gap = host.at(passage.host_station) - job.layout.tubes["tie"].at(passage.station)
    assert abs(gap @ host.axis) < 1e-9 and abs(gap @ job.layout.tubes["tie"].axis) < 1e-9
    # the frame joins them there: a node on the host, and two beams of the tie that reach it
    assert len(job.idealised.segments["tie"]) == 2
    assert any(abs(at - passage.host_station) < 1e-9 for at in job.idealised.landings["side_right"])


def test_forces_go_over_where_a_tube_passes_through(changed: Changed) -> None:
    """Reactions and loads balance with the passage in the frame."""
    job = changed(POINTS, TIE)
    # rounding leaves 1e-12 of the loads
    assert balance(job.idealised.frame, job.idealised.loads, job.solution).relative < 1e-9


@pytest.mark.parametrize(
    ("tie", "words"),
    [
        (
            "{from: side_left at 350 mm, to: side_left at 400 mm, stock: light, "
            "passes through: {side_right: 0 mm}}",
            "does not reach",
        ),
        (
            "{from: side_left at 350 mm, to: side_right at 365 mm, stock: light, "
            "passes through: {side_right: 0 mm}}",
            "does not reach",
        ),
    ],
)
def test_a_tube_that_does_not_come_out_on_the_other_side(changed: Changed, tie: str, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        changed(("  torque_arm: {", f"  tie: {tie}\n  torque_arm: {{"))


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("passes through: {side_wrong: 1 mm}", "side_wrong"),
        ("passes through: {tie: 1 mm}", "a tube cannot pass through itself"),
        ("end cut: flat", "end cut: flat and end face belong together"),
        ("end face: [1, 0, 0]", "end cut: flat and end face belong together"),
    ],
)
def test_keys_that_make_no_sense(changed: Changed, keys: str, words: str) -> None:
    tie = f"  tie: {{from: side_left at 350 mm, to: TP, stock: light, {keys}}}\n  torque_arm: {{"
    with pytest.raises(JobError, match=words):
        changed(POINTS, ("  torque_arm: {", tie))


@pytest.mark.parametrize("cut", ["capped", "crushed"])
def test_caps_and_crushed_ends_are_refused_by_name(changed: Changed, cut: str) -> None:
    tie = f"  tie: {{from: side_left at 350 mm, to: TP, stock: light, end cut: {cut}}}\n  torque_arm: {{"
    with pytest.raises(GeometryError, match=f"tie: its end is to be {cut}"):
        changed(POINTS, ("  torque_arm: {", tie))


def test_flats_slots_and_the_shops_gap_reach_the_parts(changed: Changed) -> None:
    tie = (
        "  tie: {from: side_left at 350 mm, to: TP, stock: light, "
        "end slot: {plate: 5 mm, deep: 30 mm, faces: up, clearance: 0.3 mm}}\n"
    )
    kick = "  kick: {from: side_left at 500 mm, to: TP, stock: light, end cut: flat, end face: [0, 1, 0]}\n"
    job = changed(
        POINTS,
        ("  torque_arm: {", tie + kick + "  torque_arm: {"),
        ("\ntable:", "\nshop: {cutter: mill, gap: 0.4 mm}\n\ntable:"),
    )
    (opening,) = job.parts.tubes["tie"].openings
    assert opening.what == "slot" and 2 * opening.bar.core_z == pytest.approx(5.3e-3)
    kicked = job.parts.tubes["kick"].end_b
    assert kicked.kind.value == "flat"
    end = job.parts.tubes["tie"].end_a
    host = job.layout.tubes["side_left"]
    part = job.parts.tubes["tie"]
    lines = part.shape.outline.generators(end.outline.abscissa, 0.0)
    world = part.axes.to_world(np.column_stack((end.outline.outer, lines))) - host.start
    off = np.linalg.norm(world - np.outer(world @ host.axis, host.axis), axis=1)
    np.testing.assert_allclose(off - host.section.outside_diameter / 2, 0.4e-3, atol=1e-9)


def test_a_mirrored_tube_passes_through_the_other_side(changed: Changed) -> None:
    points = (POINTS[0], POINTS[1] + "  TQ: {from: side_left at 365 mm, move: [120 mm left]}\n")
    tie = (
        "  tie_left: {from: side_left at 350 mm, to: TP, stock: light, passes through: {side_right: 0.4 mm}, "
        "end slot: {plate: 5 mm, deep: 30 mm, faces: [0, 0.005, 1]}}\n"
    )
    other = "  tie_right: {mirror: tie_left, from: side_right at 420 mm, to: TQ}\n"
    job = changed(points, ("  torque_arm: {", tie + other + "  torque_arm: {"))
    assert job.layout.tubes["tie_right"].passages[0].host == "side_left"
    slot = job.layout.tubes["tie_right"].slots[1]
    assert slot is not None and slot.faces[1] == pytest.approx(
        -job.layout.tubes["tie_left"].slots[1].faces[1]
    )
