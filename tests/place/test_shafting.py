"""The job's shafts: half-shafts through the travel, propeller shafts, and a rigid coupling."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from soapstone.finding import Verdict

Trial = Callable[..., Any]
CLEAR = (
    ("      - {clear: ground, at least: 110 mm}\n", ""),
    ("      - {clear: all, at least: 15 mm}\n", ""),
)
TUBE = "    tube: 3 in x 0.083 in\n    of: DOM 1020\n"
ALONG = "    along: [C1]\n    pinion: [C1, C2]\n"


def table(unit_text: str) -> str:
    return unit_text[unit_text.index("      positions:\n") : unit_text.index("propeller shafts:\n")]


def angle(first: Any, second: Any) -> float:
    first, second = np.array(first, float), np.array(second, float)
    cosine = abs(first @ second) / (np.linalg.norm(first) * np.linalg.norm(second))
    return float(np.arccos(cosine))


@pytest.fixture(scope="module")
def run(trial: Trial) -> Trial:
    """The small job without its gaps, which the shafts do not ask about."""
    return lambda *edits: trial(*CLEAR, *edits)


# ---- half-shafts


def test_a_half_shaft_by_hand(run: Trial) -> None:
    """Inner joint at (0, 245, 300), hub 80 mm up at (0, 690, 380): 445 across and 80 up."""
    found = run().findings
    inner = found["half-shaft-angle:left.inner"]
    assert inner.demand == pytest.approx(np.arctan(80 / 445), abs=1e-9)
    assert inner.case in ("bump", "droop") and inner.capacity == pytest.approx(np.radians(22.0))
    together = found["half-shaft-plunge:left.together"]
    assert together.demand == pytest.approx(0.455 - np.hypot(0.445, 0.080), abs=1e-9)
    assert found["half-shaft-plunge:left.apart"].case == "ride height"


def test_a_given_length_counts_from_the_middle_of_the_joints(run: Trial) -> None:
    shorter = ("    inner: {angle: 22 deg,", "    length: 440 mm\n    inner: {angle: 22 deg,")
    apart = run(shorter).findings["half-shaft-plunge:left.apart"]
    assert apart.demand == pytest.approx(0.015, abs=1e-9) and apart.case == "ride height"
    assert "middle of the joints" in apart.because[0].words


def test_a_shaft_made_too_short_pulls_apart(run: Trial) -> None:
    """Shortened by guess: the joint that opens 10 mm is 15 mm short at ride height."""
    guess = (
        "    inner: {angle: 22 deg, closes: 20 mm, opens: 20 mm}",
        "    length: 440 mm\n    inner: {opens: 10 mm}",
    )
    found = run(guess).findings
    assert found["half-shaft-plunge:left.apart"].verdict is Verdict.SHORT
    assert "5.0 mm longer" in found["half-shaft-plunge:left.apart"].remedy
    assert found["half-shaft-angle:left.inner"].verdict is Verdict.OPEN
    assert found["half-shaft-plunge:left.together"].verdict is Verdict.OPEN


def test_both_joints_may_slide(run: Trial) -> None:
    found = run(("    outer: {angle: 45 deg}", "    outer: {angle: 45 deg, closes: 5 mm}")).findings
    assert found["half-shaft-plunge:left.together"].capacity == pytest.approx(0.025)
    assert found["half-shaft-plunge:left.apart"].capacity == pytest.approx(0.020)


def test_a_hub_without_an_axis_is_taken_to_run_across(run: Trial) -> None:
    row = "{travel: 0 mm, at: [0 mm fwd, 700 mm left, 300 mm up], axis: across}"
    outer = run((row, row.replace(", axis: across", ""))).findings["half-shaft-angle:left.outer"]
    assert "straight across" in outer.assumed[0]


def test_a_table_that_misses_ride_height_is_asked_for_it(run: Trial) -> None:
    ride = "        - {travel: 0 mm, at: [0 mm fwd, 700 mm left, 300 mm up], axis: across}\n"
    low = "        - {name: droop, travel: 80 mm down,"
    asked = run((ride, ""), (low, low.replace("80 mm down", "10 mm up"))).findings["half-shaft-angle:left"]
    assert asked.verdict is Verdict.OPEN and "ride height" in asked.remedy
    given = ("    inner: {angle: 22 deg,", "    length: 450 mm\n    inner: {angle: 22 deg,")
    assert (
        "half-shaft-angle:left"
        not in run((ride, ""), (low, low.replace("80 mm down", "10 mm up")), given).findings
    )


WISHBONES = """      wishbones:
        lower front: [150 mm fwd, 350 mm left, 200 mm up]
        lower rear: [150 mm aft, 350 mm left, 200 mm up]
        lower ball: [0 mm fwd, 680 mm left, 200 mm up]
        upper front: [150 mm fwd, 350 mm left, 400 mm up]
        upper rear: [150 mm aft, 350 mm left, 400 mm up]
        upper ball: [0 mm fwd, 680 mm left, 400 mm up]
        track inner: [100 mm aft, 350 mm left, 300 mm up]
        track outer: [100 mm aft, 680 mm left, 300 mm up]
        wheel centre: HUB
      joint: [0 mm fwd, 690 mm left, 300 mm up]
      axis: across
      travel: [80 mm down, 80 mm up]
"""


def test_wishbones_of_equal_length_swing_on_a_circle(run: Trial, unit_text: str) -> None:
    """Equal and parallel links: the carrier does not turn, and moves in on a circle of 330 mm."""
    found = run((table(unit_text), WISHBONES))
    left = found.driveline.half_shafts[0]
    assert left.moves is not None and left.shaft is not None
    assert len(left.moves.travel) == 11 and left.moves.travel[5] == 0.0
    inward = 0.330 - np.sqrt(0.330**2 - left.moves.travel**2)
    assert left.moves.at[:, 1] == pytest.approx(0.690 - inward, abs=1e-9)
    assert left.moves.at[:, 2] == pytest.approx(0.300 + left.moves.travel, abs=1e-9)
    assert left.moves.axis == pytest.approx(np.tile([0.0, 1.0, 0.0], (11, 1)), abs=1e-9)
    assert left.ride_length == pytest.approx(0.445, abs=1e-9)


def test_wishbones_that_do_not_let_the_wheel_go_so_far(run: Trial, unit_text: str) -> None:
    far = WISHBONES.replace("[80 mm down, 80 mm up]", "[400 mm down, 80 mm up]").replace(
        "      axis: across\n", ""
    )
    asked = run((table(unit_text), far)).findings["half-shaft-angle:left"]
    assert asked.verdict is Verdict.OPEN and "do not let the wheel travel" in asked.remedy


def test_shafts_of_a_unit_that_is_nowhere(trial: Trial, unit_text: str) -> None:
    place = unit_text[unit_text.index("place:\n") : unit_text.index("jacks:\n")]
    found = trial((place, "")).findings
    for id in ("half-shaft-angle:left", "joint-angle:main", "jacks:unit"):
        assert found[id].verdict is Verdict.OPEN and "under place" in found[id].remedy


# ---- propeller shafts


def test_joint_angles_by_hand(run: Trial) -> None:
    """One piece falling 32 mm in a metre between two level shafts: equal angles, nothing left over."""
    found = run().findings
    for joint in ("1", "2"):
        assert found[f"joint-angle:main.joint {joint}"].demand == pytest.approx(np.arctan(0.032), abs=1e-9)
    evenness = found["joint-evenness:main"]
    assert evenness.demand == pytest.approx(0.0, abs=1e-6) and "in phase" in evenness.assumed[0]


def test_yokes_a_quarter_turn_out_double_the_unevenness(run: Trial) -> None:
    found = run((ALONG, ALONG + "    phases: [90 deg]\n")).findings["joint-evenness:main"]
    assert found.demand == pytest.approx(np.sqrt(2.0) * np.arctan(0.032), rel=1e-9)
    assert not found.assumed


def test_two_pieces_with_a_centre_bearing(run: Trial) -> None:
    found = run(
        ("    along: [C1]", "    along: [[800 mm aft, 30 mm left, 290 mm up], C1]"),
        ("    speed: 4000 rpm", "    speed: 3000 rpm"),
    ).findings
    one, two = np.array([-0.5, 0.03, -0.01]), np.array([-0.5, -0.03, -0.022])
    assert found["joint-angle:main.joint 1"].demand == pytest.approx(angle([1, 0, 0], one), abs=1e-9)
    assert found["joint-angle:main.joint 2"].demand == pytest.approx(angle(one, two), abs=1e-9)
    assert found["joint-angle:main.joint 3"].demand == pytest.approx(angle(two, [1, 0, 0]), abs=1e-9)
    assert found["shaft-speed:main"].because[0].value == pytest.approx(
        np.linalg.norm(two)
    )  # the longer piece


def test_an_axle_that_travels_is_judged_at_its_worst(run: Trial) -> None:
    positions = """    along: [C1]
    positions:
      - {name: droop, travel: 60 mm down, at: [1300 mm aft, 0 mm left, 208 mm up], axis: along}
      - {travel: 0 mm, at: [1300 mm aft, 0 mm left, 268 mm up], axis: along}
      - {name: bump, travel: 60 mm up, at: [1300 mm aft, 0 mm left, 328 mm up], axis: along}
"""
    found = run((ALONG, positions)).findings["joint-angle:main.joint 1"]
    assert found.case == "droop" and found.verdict is Verdict.SHORT
    assert found.demand == pytest.approx(np.arctan(0.092), abs=1e-9)


@pytest.mark.parametrize(
    ("edit", "id", "words"),
    [
        (("    pinion: [C1, C2]\n", ""), "joint-angle:main.joint 2", "give the pinion"),
        (("    pinion: [C1, C2]\n", ""), "joint-evenness:main", "give the pinion"),
        (("    speed: 4000 rpm\n", ""), "joint-angle:main.joint 1", "fastest speed"),
        (("    speed: 4000 rpm\n", ""), "joint-evenness:main", "fastest speed"),
        (("    speed: 4000 rpm\n", ""), "shaft-speed:main", "fastest speed"),
        ((TUBE, ""), "shaft-speed:main", "give its tube"),
        (("    speed: 4000 rpm\n", "    speed: 6000 rpm\n"), "joint-angle:main.joint 1", "data sheet"),
        (("    along: [C1]", "    along: [C1, C1]"), "joint-angle:main", "same place"),
    ],
)
def test_what_a_shaft_lacks_is_asked_for(run: Trial, edit: tuple[str, str], id: str, words: str) -> None:
    asked = run(edit).findings[id]
    assert asked.verdict is Verdict.OPEN and words in asked.remedy


def test_a_joint_of_its_own_data_sheet(run: Trial) -> None:
    found = run(("    speed: 4000 rpm\n", "    speed: 6000 rpm\n    joint angle: 1.5 deg\n")).findings
    assert found["joint-angle:main.joint 1"].verdict is Verdict.SHORT
    assert found["joint-angle:main.joint 1"].capacity == pytest.approx(np.radians(1.5))


def test_a_solid_bar_whips_by_its_own_material(run: Trial) -> None:
    """ω = (π / L)² (D / 4) √(E / ρ) for a solid bar."""
    found = run(
        (
            "    tube: 3 in x 0.083 in\n    of: DOM 1020\n",
            "    bar: 25 mm\n    of: bronze\n    free: 900 mm\n",
        ),
        (
            "stock:\n",
            "materials:\n  bronze: {elastic modulus: 105 GPa, shear modulus: 40 GPa, density: 8800 kg/m3,"
            " yield: 200 MPa, ultimate: 400 MPa, source: invented}\nstock:\n",
        ),
    ).findings["shaft-speed:main"]
    whips = (np.pi / 0.9) ** 2 * 0.025 / 4 * np.sqrt(105e9 / 8800)
    assert found.capacity == pytest.approx(0.75 * whips, rel=1e-9)


# ---- rigid couplings

RIGID = """  main:
    from: unit.output
    axis: crank
    coupling: rigid
    along: [C1, C2]
    flange: 100 mm
    speed: 1400 rpm
    bar: 30 mm
    of: '304'
"""
LINE = (
    "      - {point: output, at: [300 mm aft, 0 mm left, 300 mm up], within: 3 mm}\n",
    "      - {point: output, at: [300 mm aft, 0 mm left, 268 mm up], within: 3 mm}\n",
)


def rigid(unit_text: str, more: str = "") -> tuple[str, str]:
    main = unit_text[unit_text.index("  main:\n    from: unit.output") : unit_text.index("stock:\n")]
    return main, RIGID + more


def test_a_coupling_in_line_holds(run: Trial, unit_text: str) -> None:
    found = run(rigid(unit_text), LINE).findings
    assert found["shaft-alignment:main.offset"].verdict is Verdict.HOLDS
    assert found["shaft-alignment:main.offset"].capacity == pytest.approx(0.00013)
    gap = found["shaft-alignment:main.rim gap"]
    assert gap.verdict is Verdict.HOLDS and gap.capacity == pytest.approx(0.0001)
    assert found["shaft-speed:main"].because[0].value == pytest.approx(1.0)
    assert not any(id.startswith("joint-") for id in found)


def test_offset_and_rim_gap_by_hand(run: Trial, unit_text: str) -> None:
    """The shaft lies 0.2 mm to the side and falls 1 mm in its 500: 0.2 mm in 100 at the rim."""
    shaft = (
        (
            "  C1: {at: [1300 mm aft, 0 mm left, 268 mm up]}",
            "  C1: {at: [1300 mm aft, 0.2 mm left, 266 mm up]}",
        ),
        (
            "  C2: {at: [1800 mm aft, 0 mm left, 268 mm up]}",
            "  C2: {at: [1800 mm aft, 0.2 mm left, 265 mm up]}",
        ),
    )
    found = run(rigid(unit_text), LINE, *shaft).findings
    offset, gap = found["shaft-alignment:main.offset"], found["shaft-alignment:main.rim gap"]
    assert offset.verdict is gap.verdict is Verdict.SHORT
    assert offset.demand == pytest.approx(0.0002, abs=1e-9)
    assert gap.demand == pytest.approx(0.1 * np.sin(np.arctan(0.002)), rel=1e-9)
    assert "0.07 mm" in offset.remedy


def test_a_coupling_known_by_tape_alone_stays_open(run: Trial, unit_text: str) -> None:
    """In line on paper, but the stern tube is known to millimetres: only gauges can say."""
    measured = (
        ("  C1: {at: [1300 mm aft, 0 mm left, 268 mm up]}", "  C1: {what: near end of the stern tube}"),
        (
            "bodies:\n",
            "instruments: {coordinates: {accuracy: 1 mm}}\n"
            "readings:\n  - coordinates C1: [1300 mm aft, 0 mm left, 268 mm up]\nbodies:\n",
        ),
    )
    found = run(rigid(unit_text), LINE, *measured).findings
    for id in ("shaft-alignment:main.offset", "shaft-alignment:main.rim gap"):
        assert found[id].verdict is Verdict.OPEN and "feeler gauge" in found[id].remedy
    by_gauge = rigid(unit_text, "    read: {offset: 0.05 mm, rim gap: 0.12 mm}\n")
    found = run(by_gauge, LINE, *measured).findings
    assert found["shaft-alignment:main.offset"].verdict is Verdict.HOLDS
    assert found["shaft-alignment:main.rim gap"].verdict is Verdict.SHORT


@pytest.mark.parametrize(
    ("more", "id", "capacity"),
    [
        ("    offset: 0.2 mm\n", "shaft-alignment:main.offset", 0.0002),
        ("    rim gap: 0.05 mm\n", "shaft-alignment:main.rim gap", 0.00005),
    ],
)
def test_the_coupling_makers_own_limits(
    run: Trial, unit_text: str, more: str, id: str, capacity: float
) -> None:
    found = run(rigid(unit_text, more), LINE).findings[id]
    assert found.capacity == pytest.approx(capacity)


@pytest.mark.parametrize(
    ("edit", "id", "words"),
    [
        (("    flange: 100 mm\n", ""), "shaft-alignment:main.rim gap", "diameter of the flange"),
        (("    speed: 1400 rpm\n", ""), "shaft-alignment:main.offset", "speed of the shaft"),
        (("    speed: 1400 rpm\n", "    speed: 6000 rpm\n"), "shaft-alignment:main.offset", "from its maker"),
    ],
)
def test_what_a_coupling_lacks(
    run: Trial, unit_text: str, edit: tuple[str, str], id: str, words: str
) -> None:
    old, new = rigid(unit_text)
    assert new.count(edit[0]) == 1
    asked = run((old, new.replace(*edit)), LINE).findings[id]
    assert asked.verdict is Verdict.OPEN and words in asked.remedy


def test_a_coupling_of_a_unit_that_is_nowhere(trial: Trial, unit_text: str) -> None:
    place = unit_text[unit_text.index("place:\n") : unit_text.index("jacks:\n")]
    asked = trial(rigid(unit_text), (place, "")).findings["shaft-alignment:main"]
    assert asked.verdict is Verdict.OPEN and "under place" in asked.remedy
