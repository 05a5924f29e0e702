"""What to measure next, and what a tape cannot pass through."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from surveying import FRAME, KIND, frame, measured, network, reading, tape

from soapstone.survey import adjust
from soapstone.survey.next_reading import ELLIPSOID, Tool, next_readings
from soapstone.survey.reach import Box, Cylinder, in_the_way

SHOP = (
    Tool(KIND.TAPE, "tape", 0.0008, 0.0003, reach=5.0),
    Tool(KIND.HEIGHT, "height gauge", 0.0005),
    Tool(KIND.OFFSET, "plumb bob", 0.001),
    Tool(KIND.LEVEL, "level", 0.002),
)
FLAT = {"A": (0.0, 0.0, 0.0), "B": (1.2, 0.0, 0.0), "C": (1.2, 0.8, 0.0), "D": (0.0, 0.8, 0.0)}
LENGTHS = {"A": 0.58387, "B": 0.76217, "C": 0.86076, "D": 0.70774}


def test_anchors_at_one_height_ask_for_a_height():
    """ntu-aris/ntu_viral_dataset #27: the best next reading is a height."""
    readings = [tape(f"{a} P", v) for a, v in LENGTHS.items()]
    survey = adjust(network(FLAT, readings, sides=[("P", "above", "A")]))
    first, *_ = next_readings(survey, {"P": 0.003}, SHOP)
    assert first.reading.label == "height P"
    assert first.tool == "height gauge"
    assert first.helps == "P"


def test_what_is_promised_is_what_it_brings():
    """The half axes foretold are those of the adjustment with the readings taken (curvature aside: exact)."""
    wanted = [(KIND.TAPE, "A G"), (KIND.TAPE, "B G"), (KIND.TAPE, "E G")]
    base = network({n: FRAME[n] for n in "ABEF"}, measured(FRAME, wanted))
    survey = adjust(base, start=np.array([FRAME[n] for n in base.names]))
    proposals = next_readings(survey, {"G": 0.0015}, SHOP, most=4)
    assert 1 <= len(proposals) <= 4
    halves = [ELLIPSOID * np.sqrt(np.linalg.eigvalsh(survey.covariance_of("G"))[-1])]
    taken = list(base.readings)
    for proposal in proposals:
        taken.append(proposal.reading)
        better = adjust(network({n: FRAME[n] for n in "ABEF"}, taken), start=survey.xyz)
        half = ELLIPSOID * np.sqrt(np.linalg.eigvalsh(better.covariance_of("G"))[-1])
        assert proposal.brings["G"] == pytest.approx(half, rel=1e-6)
        halves.append(half)
    assert halves == sorted(halves, reverse=True)


def test_the_first_proposal_is_the_best_of_all_single_ones():
    survey = adjust(frame())
    alone = [next_readings(survey, {"G": 1e-4}, (tool,), most=1) for tool in SHOP]
    best = min(p[0].brings["G"] for p in alone if p)
    assert next_readings(survey, {"G": 1e-4}, SHOP, most=1)[0].brings["G"] == pytest.approx(best, rel=1e-12)


def test_points_good_enough_ask_for_nothing():
    assert next_readings(adjust(frame()), {"G": 0.1, "C": 0.1}, SHOP) == ()
    assert next_readings(adjust(frame()), {"G": 1e-9}, ()) == ()


def test_a_loose_point_is_held_first():
    readings = [*frame().readings, tape("A H", 0.5), tape("B H", 0.8)]
    survey = adjust(network({n: FRAME[n] for n in "ABEF"}, readings))
    first = next_readings(survey, {"H": 0.003, "C": 0.003}, SHOP, most=1)[0]
    assert first.helps == "H"
    assert first.brings["H"] < 0.05


def test_no_tape_through_the_drivetrain_nor_beyond_its_reach():
    """G can be held by tapes to E or F, unless something stands between."""
    readings = measured(FRAME, [(KIND.TAPE, "A G"), (KIND.TAPE, "B G"), (KIND.HEIGHT, "G")])
    net = network({n: FRAME[n] for n in "ABEF"}, readings)
    survey = adjust(net, start=np.array([FRAME[n] for n in net.names]))
    only_tape = (Tool(KIND.TAPE, "tape", 0.0008),)
    free = next_readings(survey, {"G": 0.0012}, only_tape, most=1)[0]
    assert set(free.reading.points) in ({"E", "G"}, {"F", "G"})
    wall = Box(np.array([-1.2, -1.0, 0.0]), np.array([-1.1, 1.0, 1.0]))
    blocked = next_readings(survey, {"G": 0.0012}, only_tape, [wall], most=1)
    assert all(not {"E", "F"} & set(p.reading.points) for p in blocked)
    short = (Tool(KIND.TAPE, "tape", 0.0008, reach=0.2),)
    assert next_readings(survey, {"G": 0.0012}, short) == ()


@pytest.mark.parametrize(
    ("start", "end", "through"),
    [
        ((-1, 0.5, 0.5), (2, 0.5, 0.5), True),
        ((-1, 1.5, 0.5), (2, 1.5, 0.5), False),
        ((-1, 1.0, 0.5), (2, 1.0, 0.5), False),  # along a face
        ((-1, 0.998, 0.5), (2, 0.998, 0.5), False),  # 2 mm deep is a graze
        ((0.5, 0.5, 1.0), (0.5, 0.5, 2.0), False),  # away from a point on its face
        ((0.5, 0.5, 1.0), (0.5, 0.5, -1.0), True),
        ((-1, 0.5, 0.5), (-0.5, 0.5, 0.5), False),
        ((0.4, 0.5, 0.5), (0.6, 0.5, 0.5), True),  # wholly inside
    ],
)
def test_a_line_and_a_box(start, end, through):
    turn = Rotation.from_rotvec((0.3, -0.2, 0.9)).as_matrix()
    shift = np.array([2.0, -1.0, 0.5])
    box = Box(np.zeros(3), np.ones(3))
    moved = Box(np.zeros(3), np.ones(3), turn, shift)
    one, two = np.array(start, dtype=float), np.array(end, dtype=float)
    assert box.blocks(one, two) == box.blocks(two, one) == through
    if abs(one[1] - 1.0) > 1e-9:  # on the face itself rounding decides
        assert moved.blocks(turn @ one + shift, turn @ two + shift) == through


@pytest.mark.parametrize(
    ("start", "end", "through"),
    [
        ((-1, 0, 0.5), (1, 0, 0.5), True),
        ((-1, 0.19, 0.5), (1, 0.19, 0.5), True),
        ((-1, 0.199, 0.5), (1, 0.199, 0.5), False),  # 1 mm deep is a graze
        ((-1, 0, 1.1), (1, 0, 1.1), False),
        ((0, 0, -1), (0, 0, 2), True),
        ((0.3, 0, -1), (0.3, 0, 2), False),
        ((-1, 0, 0.5), (-0.5, 0, 0.5), False),
        ((-1, 0, 2.0), (1, 0, -1.0), True),
    ],
)
def test_a_line_and_a_cylinder(start, end, through):
    pipe = Cylinder(np.zeros(3), np.array([0, 0, 1.0]), 0.2)
    assert in_the_way(np.array(start, dtype=float), np.array(end, dtype=float), [pipe]) == through


def test_a_cylinder_of_no_length_blocks_nothing():
    assert not Cylinder(np.zeros(3), np.zeros(3), 0.2).blocks(np.array([-1.0, 0, 0]), np.array([1.0, 0, 0]))


def test_a_reading_of_no_accuracy_gain_is_not_proposed():
    readings = [*frame().readings, reading(KIND.HEIGHT, "G", FRAME["G"][2], 1e-6)]
    survey = adjust(network({n: FRAME[n] for n in "ABEF"}, readings))
    poor = (Tool(KIND.HEIGHT, "rule", 0.05),)
    assert next_readings(survey, {"G": 1e-7}, poor) == ()
