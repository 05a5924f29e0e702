"""Points that the readings leave free, and readings that cannot be one."""

from dataclasses import replace

import numpy as np
import pytest
from surveying import FRAME, KIND, WELL_MEASURED, frame, measured, network, reading, shown, tape

from soapstone.errors import JobError
from soapstone.survey import Datum, Network, Reading, adjust, findings
from soapstone.survey.loose import direction_words

KNOWN = {p: FRAME[p] for p in "ABEF"}


def test_a_point_without_a_height_is_loose_up_and_down_and_the_others_are_solved():
    readings = [r for r in frame().readings if "G" not in r.points]
    flat = [
        reading(KIND.PLAN, f"{a} H", shown(KIND.PLAN, {**FRAME, "H": (0.5, 0.2, 0.1)}, f"{a} H"))
        for a in "ABE"
    ]
    net = network(KNOWN, [*readings, *flat])
    survey = adjust(net)
    (loose,) = survey.loose
    assert loose.point == "H"
    assert "up and down" in loose.words
    assert loose.cure == "a height of H would hold it"
    np.testing.assert_allclose(loose.direction, (0, 0, 1), atol=1e-9)
    assert survey.point("H")[:2] == pytest.approx((0.5, 0.2), abs=1e-9)
    assert survey.point("C") == pytest.approx(FRAME["C"], abs=1e-9)
    alone = adjust(network(KNOWN, readings))
    np.testing.assert_allclose(survey.covariance_of("C"), alone.covariance_of("C"), rtol=1e-6)
    by_id = {f.id: f for f in findings(survey, net)}
    assert by_id["point:H"].verdict == "open"
    assert by_id["point:C"].verdict == "holds"


def test_two_tapes_let_a_point_swing():
    survey = adjust(network(KNOWN, [tape("A P", 0.7), tape("B P", 0.7)]))
    (loose,) = survey.loose
    assert "it can swing about the line through A and B" in loose.words
    line = np.subtract(FRAME["A"], FRAME["B"])
    assert abs(loose.direction @ line) < 1e-9  # square to the line it swings about


def test_one_tape_leaves_two_directions_and_no_reading_leaves_three():
    readings = [tape("A P", 0.7)]
    net = Network(("A", "P", "Q"), {"A": np.zeros(3)}, tuple(readings))
    one, none = adjust(net).loose
    assert one.directions.shape == (2, 3)
    assert "square to the line" in one.words
    assert "held only by tape A P" in one.words
    assert none.directions.shape == (3, 3)
    assert none.words == "Q can move in every direction; no reading reaches it"


def test_points_that_move_together_say_so():
    """C and D hang on plan distances and one level: their heights move together."""
    wanted = [(KIND.PLAN, f"{a} {b}") for a in "ABE" for b in "CD"] + [(KIND.LEVEL, "C D")]
    survey = adjust(network(KNOWN, measured(FRAME, wanted)))
    words = {item.point: item.words for item in survey.loose}
    assert set(words) == {"C", "D"}
    assert "up and down, together with D" in words["C"]


@pytest.mark.parametrize(
    ("direction", "words"),
    [
        ((0, 0, 1), "up and down"),
        ((0, -1, 0), "side to side"),
        ((1, 0, 0.01), "fore and aft"),
        ((1, 1, 0), "along a line 45 deg left of forward"),
        ((-1, 1, 0), "along a line 45 deg right of forward"),
        ((1, 0, 1), "along a line 45 deg up from forward"),
        ((0, 1, -1), "along a line 90 deg left of forward, 45 deg down"),
        ((0.02, 0, 1), "up and down"),
    ],
)
def test_directions_in_words(direction, words):
    unit = np.array(direction, dtype=float)
    assert direction_words(unit / np.linalg.norm(unit)) == words


def test_a_network_held_nowhere_is_solved_in_its_own_frame():
    wanted = [(KIND.TAPE, f"{a} {b}") for i, a in enumerate("ABCEG") for b in "ABCEG"[i + 1 :]]
    net = network({}, measured(FRAME, wanted), datum=Datum.FREE)
    survey = adjust(net)
    assert survey.loose == ()
    np.testing.assert_allclose(survey.point("A"), (0, 0, 0), atol=1e-9)
    assert survey.point("B") == pytest.approx((0.84, 0, 0), abs=1e-9)
    for kind, pair in wanted:
        a, b = (survey.point(p) for p in pair.split())
        assert np.linalg.norm(a - b) == pytest.approx(shown(kind, FRAME, pair), abs=1e-9)
    assert len(survey.ambiguous) == 1  # its mirror image has the same lengths
    trace_rows = survey.covariance.reshape(5, 3, 15).sum(axis=0)
    np.testing.assert_allclose(trace_rows, 0, atol=1e-12)  # inner constraints: the centre does not move


def test_a_partly_placed_free_network_lies_best_on_what_is_given():
    given = {"A": FRAME["A"], "B": FRAME["B"], "E": FRAME["E"], "F": FRAME["F"]}
    wanted = [(KIND.TAPE, f"{a} {b}") for i, a in enumerate("ABEFG") for b in "ABEFG"[i + 1 :]]
    survey = adjust(network(given, measured(FRAME, wanted), datum=Datum.FREE, sides=[("G", "above", "A")]))
    assert survey.point("G") == pytest.approx(FRAME["G"], abs=1e-6)


def test_known_points_with_an_accuracy_take_part():
    covariance = np.array([[4.0, 1, 0], [1, 3, 0], [0, 0, 2]]) * 1e-6
    net = network({"A": (1, 2, 3)}, [], known_covariance={"A": covariance})
    np.testing.assert_allclose(adjust(net).covariance_of("A"), covariance, rtol=1e-12)
    held = network(KNOWN, frame().readings, known_covariance={"A": covariance})
    poorer, exact = adjust(held), adjust(frame())
    assert poorer.freedom == exact.freedom
    assert np.trace(poorer.covariance_of("C")) > np.trace(exact.covariance_of("C"))


def bad(kind, points, value, sigma=0.001):
    return Reading(kind, points, value, sigma, f"{kind} {' '.join(points)}", "job.yaml:7")


@pytest.mark.parametrize(
    ("one", "message"),
    [
        (
            bad(KIND.TAPE, ("A", "C"), 0.0),
            "job.yaml:7: tape A C: the reading is 0 mm, a distance is more than zero",
        ),
        (bad(KIND.PLAN, ("A", "C"), -0.5), "plan A C: the reading is -500 mm, a distance is more than zero"),
        (bad(KIND.TAPE, ("A", "C"), np.nan), "tape A C: the reading is not a number"),
        (bad(KIND.TAPE, ("A", "Z"), 1.0), "tape A Z: no point is called Z"),
        (bad(KIND.TAPE, ("A", "A"), 1.0), "tape A A: both ends are A"),
        (bad(KIND.TAPE, ("A",), 1.0), "tape A: a tape reading needs two points"),
        (bad(KIND.HEIGHT, ("A", "B", "C"), 1.0), "a height reading needs one point, or two"),
        (bad(KIND.LEVEL, ("A", "B"), 1.6), "a slope lies between -90 and 90 deg"),
        (bad(KIND.TAPE, ("A", "C"), 1.0, 0.0), "the accuracy has to be more than zero"),
        (bad(KIND.COORDINATE, ("C",), 1.0), "a coordinate reading needs a plane"),
        (bad(KIND.TAPE, ("A", "C"), 45.383), "45383 mm is longer than the way round by other readings"),
        (bad(KIND.PLAN, ("B", "C"), 9.0), "plan B C: 9000 mm is longer than the way round"),
    ],
)
def test_a_reading_that_cannot_be_one_is_refused(one, message):
    readings = [*measured(FRAME, WELL_MEASURED), one]
    net = Network(tuple(FRAME), {k: np.array(v) for k, v in KNOWN.items()}, tuple(readings))
    with pytest.raises(JobError) as caught:
        adjust(net)
    assert len(caught.value.faults) == 1
    assert message in caught.value.faults[0]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"names": ("A", "B", "A")}, "points: A stands 2 times in the list"),
        ({"known": {"Z": np.zeros(3)}}, "points: Z has a position but is not in the list of points"),
        ({"known": {"A": np.array([0, np.inf, 0])}}, "points: the position of A is not a number"),
        ({"known_covariance": {"B": np.eye(3)}}, "points: B has an accuracy but no position"),
        ({"sides": (("A", "under", "B"),)}, '"A is under B": the side can be above, below'),
        ({"sides": (("A", "above", "Z"),)}, '"A is above Z": two different points of the list are needed'),
    ],
)
def test_a_network_that_contradicts_itself_is_refused(change, message):
    whole = {"names": ("A", "B"), "known": {"A": np.zeros(3)}, "readings": ()} | change
    with pytest.raises(JobError) as caught:
        adjust(Network(**whole))
    assert message in str(caught.value)


def test_every_fault_is_listed_at_once():
    readings = (bad(KIND.TAPE, ("A", "C"), 0.0), bad(KIND.TAPE, ("A", "B"), -1.0))
    with pytest.raises(JobError) as caught:
        adjust(Network(("A", "B", "C"), {}, readings))
    assert len(caught.value.faults) == 2


def test_a_contradictory_datum_names_the_reading_between_known_points():
    net = network(KNOWN, [*frame().readings, tape("A B", 0.87)])
    short = [f for f in findings(adjust(net), net) if f.kind == "reading" and f.verdict == "short"]
    assert [f.id for f in short] == ["reading:tape A B"]
    assert "30.0 mm (too much)" in short[0].claim


def test_two_names_for_one_place():
    """A second name for the same hole comes out at the same place."""
    twin = [
        Reading(r.kind, tuple("H" if p == "C" else p for p in r.points), r.value, r.sigma, "twin " + r.label)
        for r in frame().readings
        if "C" in r.points and r.kind is not KIND.LEVEL
    ]
    survey = adjust(network(KNOWN, [*frame().readings, *twin]))
    np.testing.assert_allclose(survey.point("H"), survey.point("C"), atol=1e-9)


def test_no_readings_at_all():
    net = Network(("A",), {"A": np.array([1.0, 2.0, 3.0])}, ())
    survey = adjust(net)
    assert survey.point("A") == pytest.approx((1, 2, 3), rel=1e-15)
    assert survey.variance_factor is None
    assert findings(survey, net) == ()


def test_an_uncontrolled_reading_is_open_not_good():
    net = network(
        KNOWN,
        [
            *frame().readings,
            *measured(
                {**FRAME, "H": (0.5, 0.2, 0.1)}, [(KIND.TAPE, "A H"), (KIND.HEIGHT, "H"), (KIND.OFFSET, "H")]
            ),
        ],
        sides=[("H", "forward of", "A")],
    )
    by_id = {f.id: f for f in findings(adjust(net), net)}
    for label in ("tape A H", "height H", "offset H"):
        assert by_id[f"reading:{label}"].verdict == "open"
        assert "uncontrolled" in by_id[f"reading:{label}"].claim
    assert by_id["reading:tape A C"].verdict == "holds"


def test_two_points_at_one_place_between_which_a_tape_is_read():
    """They cannot be: the tape between them, and no other reading, is named."""
    true = {**FRAME, "H": FRAME["C"]}
    both = [
        (kind, points.replace("C", name))
        for kind, points in WELL_MEASURED[:15]
        for name in "CH"
        if "C" in points
    ]
    wanted = dict.fromkeys([*both, (KIND.HEIGHT, "C"), (KIND.HEIGHT, "H")])
    between = tape("C H", 0.030)
    net = network(KNOWN, [*measured(true, wanted, np.random.default_rng(3)), between])
    survey = adjust(net, start=np.array([true[name] for name in net.names]))
    short = [f for f in findings(survey, net) if f.kind == "reading" and f.verdict == "short"]
    assert [f.about for f in short] == ["tape C H"]


def test_a_serial_number_for_a_fraction_is_not_taken_quietly():
    """JoshClose/CsvHelper #622: a spreadsheet's 45383 with mm beside it is a length no car has."""
    serial = replace(tape("A C", 45.383), label="tape A C", place="day2.csv:4")
    net = network(KNOWN, [*frame().readings, serial])
    with pytest.raises(JobError) as caught:
        adjust(net)
    (fault,) = caught.value.faults
    assert fault.startswith("day2.csv:4: tape A C: 45383 mm is longer than the way round by other readings")


def test_ten_thousand_readings_on_one_point():
    """All of them count: the point is known sqrt(10,000 / 4) times better than by four of them."""
    four = [(KIND.TAPE, f"{name} C") for name in KNOWN]
    chance = np.random.default_rng(4)
    many = [replace(r, label=f"{r.label} {k}") for k in range(2500) for r in measured(FRAME, four, chance)]
    net = network({**KNOWN}, many, sides=[("C", "below", "A")])
    survey, few = adjust(net), adjust(network({**KNOWN}, measured(FRAME, four), sides=[("C", "below", "A")]))
    assert survey.freedom == 9997
    off = survey.point("C") - FRAME["C"]
    assert off @ np.linalg.solve(survey.covariance_of("C"), off) < 16.3  # chi-square, 3 degrees, 0.999
    np.testing.assert_allclose(survey.sigma_of("C") * 50, few.sigma_of("C"), rtol=0.02)
