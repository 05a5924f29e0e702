"""Bodies measured on the shop floor: their shape, its findings, and the pose that follows from both sides."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from scipy.stats import chi2
from surveying import KIND, shown

import soapstone.examples
from soapstone.build import build
from soapstone.errors import JobError
from soapstone.finding import Verdict
from soapstone.job import Job, load_text
from soapstone.place.placed import place_bodies
from soapstone.survey import Network, adjust
from soapstone.survey.bodies import body_network, body_shape, body_shapes, shape_findings
from soapstone.survey.motions import rigid_motions
from soapstone.survey.of_job import network_of

HERON = Path(soapstone.examples.__file__).parent / "heron"
TEXT = (Path(__file__).parents[1] / "mount.yaml").read_text(encoding="utf-8")
AT = {name: np.array(at) for name, at in load_text(TEXT, HERON).bodies["drive_unit"].points.items()}
BOSSES = [*AT]
MARK = "  drive_unit:\n"


def with_floor(lines: list[str], own: str = "drive_unit") -> Job:
    """The frozen example with readings among the unit's points."""
    floor = "    readings:\n" + "".join(f"      - {line}\n" for line in lines)
    return load_text(TEXT.replace(f"  {own}:\n", f"  {own}:\n{floor}", 1), HERON)


def lying(turn=(0.0, 0.0, 0.0), up=0.0) -> dict[str, np.ndarray]:
    """The unit on the floor, turned by a turn vector."""
    return {name: Rotation.from_rotvec(turn).apply(at) + np.array((0, 0, up)) for name, at in AT.items()}


def tapes(at=AT, more: dict[str, float] | None = None) -> list[str]:
    """All distances among the unit's points, mm."""
    lines = []
    for i, a in enumerate(BOSSES):
        for b in BOSSES[i + 1 :]:
            label = f"tape {a} {b}"
            length = 1000 * np.linalg.norm(at[a] - at[b]) + (more or {}).get(label, 0.0)
            lines.append(f"{label}: {length:.4f} mm")
    return lines


def test_exact_readings_give_the_drawing_back():
    shape = body_shapes(with_floor(tapes()))["drive_unit"]
    # readings are written to 0.1 um; points nearly in one plane feel that 30 times at most
    np.testing.assert_allclose(shape.xyz, [AT[name] for name in shape.names], atol=3e-6)
    assert shape.survey.loose == ()
    count = len(BOSSES)
    assert shape.survey.freedom == count * (count - 1) // 2 - (3 * count - 6)
    moved = shape.covariance @ np.tile(np.eye(3), (count, 1))
    np.testing.assert_allclose(moved, 0, atol=1e-12)  # a shape has no place: nothing along any shift


@pytest.mark.parametrize("turn", [(0.1, -0.2, 2.0), (np.pi / 2, 0.1, 0.0), (0.0, 3.0, 0.1)])
def test_heights_above_the_floor_help_however_it_lies(turn):
    """On its feet, on its side, upside down: the heights are taken as it lies."""
    at = lying(turn, up=0.7)
    heights = [f"height {name}: {1000 * at[name][2]:.4f} mm" for name in BOSSES]
    shape = body_shapes(with_floor([*tapes(at), *heights]))["drive_unit"]
    np.testing.assert_allclose(shape.xyz, [AT[name] for name in shape.names], atol=3e-6)
    alone = body_shapes(with_floor(tapes(at)))["drive_unit"]
    assert np.trace(shape.covariance) < np.trace(alone.covariance)


def test_a_measured_shape_is_placed_instead_of_the_drawing():
    """One boss stands 6 mm off the drawing: measured, it is carried where it is."""
    at = {**AT, "boss_1": AT["boss_1"] + [0.0, 0.0, 0.006]}
    job = with_floor(tapes(at))
    survey = adjust(network_of(job))
    placed = place_bodies(job, survey, body_shapes(job))["drive_unit"]
    own = {name: placed.pose.rotation.T @ (p - placed.pose.origin) for name, p in placed.points.items()}
    for a, b in (("boss_1", "boss_2"), ("boss_1", "boss_4")):
        assert np.linalg.norm(own[a] - own[b]) == pytest.approx(np.linalg.norm(at[a] - at[b]), abs=1e-5)


def test_a_wrong_reading_of_a_body_is_named_with_the_body():
    a, b = BOSSES[:2]
    job = with_floor(tapes(more={f"tape {a} {b}": 25.4}))
    told = {f.id: f for f in shape_findings(body_shapes(job))}
    (short,) = [f for f in told.values() if f.kind == "reading" and f.verdict is Verdict.SHORT]
    assert short.about == f"tape drive_unit.{a} drive_unit.{b}"
    assert "25.4 mm (too much)" in short.claim
    assert told["survey:drive_unit"].verdict is Verdict.SHORT


def test_a_loose_point_of_a_body_is_named_with_the_body():
    last = BOSSES[-1]
    kept = [line for line in tapes() if last not in line] + [line for line in tapes() if last in line][:2]
    done = build(with_floor(kept))
    told = done.finding(f"point:drive_unit.{last}")
    assert told.verdict is Verdict.OPEN
    assert "can move" in told.claim
    assert len({f.id for f in done.findings}) == len(done.findings)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("tape boss_1 bos_2: 300 mm", "'bos_2' is no point of drive_unit; nearest: boss_2"),
        ("offset boss_1: 3 mm left", "there is no plane of the vehicle"),
        ("height boss_1: {read: 3 mm, plane: rails}", "there is no plane of the vehicle"),
        ("tape boss_1 boss_2: 300 mm, far edge to far edge", "read the points of a body centre to centre"),
        ("tape boss_1 boss_1: 300 mm", "read from boss_1 to itself"),
        ("tape boss_1 boss_2: -300 mm", "a distance is more than nothing"),
        ("tap boss_1 boss_2: 300 mm", "is no kind of reading"),
        ("tape boss_1 boss_2: {read: 300 mm, acuracy: 1 mm}", "'acuracy' is no key here"),
        ("file: floor.csv", "floor.csv"),
    ],
)
def test_what_a_body_s_reading_cannot_be(line, says):
    with pytest.raises(JobError) as told:
        with_floor([*tapes(), line])
    (fault,) = told.value.faults
    assert says in fault
    assert "bodies.drive_unit.readings" in fault or "bodies → drive_unit" in fault or "drive_unit" in fault


def test_readings_of_a_body_from_a_spreadsheet(tmp_path):
    rows = ["kind,from,to,reading,unit"]
    for line in tapes():
        label, _, value = line.partition(": ")
        rows.append(",".join([*label.split(), *value.split()]))
    (tmp_path / "floor.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    floor = "    readings:\n      - file: floor.csv\n"
    job = load_text(TEXT.replace(MARK, MARK + floor, 1), tmp_path)
    assert len(job.bodies["drive_unit"].readings) == len(tapes())
    assert job.bodies["drive_unit"].readings[0].place == "floor.csv:2"


LYING = lying((0.1, 0.2, 0.3), 0.5)
HEIGHTS = [f"height {name}: {1000 * at[2]:.4f} mm" for name, at in LYING.items()]
COPIES = 60


def test_the_pose_scatters_as_stated():
    """Noisy copies of both surveys: the pose, all six unknowns at once, stands out as its covariance says.

    The square of the normalised pose has the mean 6, which scatters by sqrt(12 / 60) = 0.45; four times that
    is allowed. 95 of 100 stay within the 95 % ellipsoid, give or take four times sqrt(.95 * .05 / 60).
    """
    squares, _ = _scattered([*tapes(LYING), *HEIGHTS])
    assert np.mean(squares) == pytest.approx(6, abs=4 * 0.45)
    share = np.mean(squares < chi2.ppf(0.95, 6))
    assert share == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / COPIES))


def test_a_flat_unit_with_tapes_alone_is_placed_on_the_safe_side():
    """The derivatives alone say nothing across the flat: they would leave some copies off by a metre.

    The mean square stays at or below what chance gives. A point stands off the flat by 30 mm at most: three
    of the ten that the curvature leaves.
    """
    squares, shifts = _scattered(tapes(LYING))
    assert np.mean(squares) < 6 + 4 * 0.45
    assert np.max(shifts) < 0.030


def test_a_body_that_its_tapes_hardly_hold_across_its_flat_is_told():
    (flat,) = [f for f in shape_findings(body_shapes(with_floor(tapes(LYING)))) if f.kind == "body-shape"]
    assert flat.verdict is Verdict.OPEN
    assert "heights" in flat.remedy
    assert flat.id == "body-shape:drive_unit"
    better = shape_findings(body_shapes(with_floor([*tapes(LYING), *HEIGHTS])))
    assert not [f for f in better if f.kind == "body-shape"]


def test_a_spread_without_curvature_is_the_linear_one():
    """Heights beside the tapes leave the square terms a hundredth of a reading: the spread is `adjust`'s."""
    shape = body_shapes(with_floor([*tapes(LYING), *HEIGHTS]))["drive_unit"]
    assert shape.bent.max() < 0.01
    count = len(shape.names)
    moves = rigid_motions(shape.survey.xyz, 1.0).reshape(-1, 6)
    kept = np.eye(3 * count) - moves @ np.linalg.pinv(moves)
    linear = kept @ shape.survey.covariance @ kept.T
    assert np.trace(shape.covariance) == pytest.approx(np.trace(linear), rel=1e-3)


def _scattered(lines: list[str]) -> tuple[np.ndarray, np.ndarray]:
    """Squares of the normalised pose and shifts of the bosses' middle (m) over noisy copies."""
    job, chance = with_floor(lines), np.random.default_rng(7)
    vehicle, floor = network_of(job), body_network(job, "drive_unit")
    truth = adjust(vehicle)
    there = dict(zip(truth.names, truth.xyz, strict=True))
    vehicle = replace(vehicle, readings=tuple(_exact(r, there) for r in vehicle.readings))
    unit = {f"drive_unit.{name}": at for name, at in LYING.items()}
    floor = replace(floor, readings=tuple(_exact(r, unit) for r in floor.readings))
    exact = place_bodies(job, adjust(vehicle, truth.xyz), {"drive_unit": body_shape(floor)})["drive_unit"]
    start = np.array([unit[name] for name in floor.names])
    squares, shifts = [], []
    for _ in range(COPIES):
        survey = adjust(_noisy(vehicle, chance), truth.xyz)
        one = place_bodies(job, survey, {"drive_unit": body_shape(_noisy(floor, chance), start)})[
            "drive_unit"
        ]
        squares.append(_square(exact, one))
        shifts.append(max(np.linalg.norm(one.points[name] - exact.points[name]) for name in exact.fit.names))
    return np.array(squares), np.array(shifts)


def _exact(reading, there):
    if reading.kind not in (KIND.TAPE, KIND.PLAN, KIND.LEVEL, KIND.HEIGHT, KIND.OFFSET):
        return reading
    value = shown(reading.kind, there, " ".join(reading.points))
    return replace(reading, value=value)


def _noisy(net: Network, chance) -> Network:
    rows = tuple(replace(r, value=r.value + r.sigma * float(chance.normal())) for r in net.readings)
    return replace(net, readings=rows)


def _square(exact, one) -> float:
    """How far a pose is off in units of its own spread: at the middle of the matched points, and the turn."""
    covariance = one.fit.covariance
    middle = np.mean([exact.points[name] for name in exact.fit.names], axis=0)
    own = exact.pose.rotation.T @ (middle - exact.pose.origin)
    turn = Rotation.from_matrix(one.pose.rotation @ exact.pose.rotation.T).as_rotvec()
    off = np.concatenate([one.pose.apply(own) - middle, turn])
    return float(off @ np.linalg.solve(covariance, off))
