"""The job's readings as the adjustment takes them: stands, planes, strings, holes, bodies."""

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from soapstone.errors import JobError
from soapstone.job import Job, load_text
from soapstone.survey import CENTRE, ReadingKind, adjust
from soapstone.survey.next_reading import tools_of
from soapstone.survey.of_job import body_network, network_of
from soapstone.survey.reach import obstacles_of

MOUNT = Path(__file__).parents[1] / "mount.yaml"
TEXT = MOUNT.read_text(encoding="utf-8")
ARM = "instruments:\n  arm: {accuracy: 0.1 mm}\n  straight: {accuracy: 1 mm}\n  flush: {accuracy: 1 mm}\n"


def job_with(readings: str, more: str = "") -> Job:
    """The frozen mount with readings, instruments and sections of its own added."""
    text = TEXT.replace("readings:\n", f"{more}readings:\n{readings}").replace("instruments:", ARM, 1)
    return load_text(text, MOUNT.parent)


def test_an_arm_in_a_stand_of_its_own_gives_the_fourth_point():
    """A, B, G and T seen from somewhere: T agrees with its tapes only if the frame was solved along."""
    base = adjust(network_of(load_text(TEXT, MOUNT.parent)))
    turn = Rotation.from_rotvec((0.1, 0.2, 2.5)).as_matrix()
    lines = ""
    for name in "ABGT":
        own = turn.T @ (base.point(name) - [1.0, 2.0, 0.3])
        text = ", ".join(f"{1000 * v:.4f} mm" for v in own)
        lines += f"  - coordinates {name}: {{read: [{text}], with: arm, in: stand_1}}\n"
    network = network_of(job_with(lines))
    assert [frame.name for frame in network.frames] == ["stand_1"]
    survey = adjust(network)
    assert survey.point("T") == pytest.approx(base.point("T"), abs=5e-5)
    assert survey.sigma_of("T").max() < base.sigma_of("T").max() / 2


def test_heights_above_planes_with_names():
    planes = (
        "planes:\n  bench: {at: [0 mm, 0 mm, 200 mm], faces: up}\n"
        "  rails: {through: [A, B, G]}\n  wall: {at: [0 mm, 0.5 m, 0 mm], faces: across}\n"
    )
    lines = (
        "  - height T: {read: 270 mm, plane: bench}\n  - height T: {read: 50 mm, plane: rails}\n"
        "  - offset T: {read: 500 mm right, plane: wall}\n"
    )
    network = network_of(job_with(lines, planes))
    bench, rails, wall = network.readings[:3]
    assert (bench.kind, bench.plane.offset) == (ReadingKind.HEIGHT, pytest.approx(0.2))
    assert (rails.kind, rails.points) == (ReadingKind.FLUSH, ("T", "A", "B", "G"))
    assert (wall.kind, wall.plane.normal, wall.plane.offset) == (ReadingKind.OFFSET, CENTRE.normal, 0.5)
    checked = adjust(network).checked
    assert all(abs(c.residual) < 0.006 for c in checked[:3])  # T stands 470 up and 5.6 left, within 6 mm


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("height T: {read: 1 mm, plane: bnech}", "'bnech' is not in planes; nearest: bench"),
        ("tape A T: {read: 1 m, plane: bench}", "tape is taken from no plane"),
        ("height A: {read: 1 mm, plane: rails}", "plane rails needs three points other than A"),
        ("height T: {read: 1 mm, plane: lost}", "plane lost: 'Z' is not in points"),
        ("height T: {read: 1 mm, in: stand}", "height has no stand"),
        ("straight T A B: 3 mm", "'3 mm': write in line"),
        ("flush T A B G: flat", "'flat': write in plane"),
        ("straight T A A: in line", "A stands in it twice"),
        ("straight T A: in line", "straight is read at 3 points, 2 stand here; write straight A C D"),
    ],
)
def test_what_does_not_belong_to_a_reading(line, says):
    planes = (
        "planes:\n  bench: {at: [0 mm, 0 mm, 200 mm], faces: up}\n  rails: {through: [A, B, G]}\n"
        "  lost: {through: [A, B, Z]}\n"
    )
    with pytest.raises(JobError) as told:
        job_with(f"  - {line}\n", planes)
    assert len(told.value.faults) == 1
    assert says in told.value.faults[0]


@pytest.mark.parametrize("plane", ["{}", "{through: [A, B]}", "{at: [0 mm, 0 mm, 1 mm]}"])
def test_a_plane_is_given_one_way(plane):
    with pytest.raises(JobError, match="either through with three points, or at with faces"):
        job_with("", f"planes:\n  bench: {plane}\n")


def test_strings_straightedges_and_holes():
    network = network_of(
        job_with("  - straight T A B: in line\n  - flush T A B G: in plane\n  - tape U1 U4: 506 mm\n")
    )
    assert [r.kind.value for r in network.readings[:4]] == ["straight", "straight", "flush", "tape"]
    assert network.readings[3].holes == (0.013, 0.013)
    assert network.readings[3].written == "506 mm"


def test_a_body_on_the_shop_floor_gives_its_shape_with_its_spread():
    """Tapes among the bosses: the drawing is laid on what was measured, and the covariance is the tapes'."""
    job = load_text(TEXT, MOUNT.parent)
    given = job.bodies["drive_unit"].points
    names = [*given]
    floor = "".join(
        f"  - tape {a} {b}: {1000 * np.linalg.norm(np.subtract(given[a], given[b])) + 0.5:.3f} mm\n"
        for i, a in enumerate(names)
        for b in names[i + 1 :]
    )
    points = "points:\n" + "".join(f"  {name}: {{}}\n" for name in names)
    read = load_text(
        TEXT.replace("readings:\n", "readings:\n" + floor).replace("points:\n", points, 1), MOUNT.parent
    )
    network = body_network(
        read, {n: given[n] for n in names}, read.readings[: len(names) * (len(names) - 1) // 2]
    )
    survey = adjust(network)
    shifts = np.linalg.norm(survey.xyz - np.array([given[n] for n in names]), axis=1)
    assert 0 < shifts.max() < 0.005  # half a millimetre on every length lifts the flat middle by some
    assert survey.loose == ()
    assert survey.freedom == 15 - (3 * 6 - 6)  # all distances among six points; a shape has no place
    assert all(0 < survey.sigma_of(name).max() < 0.01 for name in names)


def test_the_shop_s_instruments_and_obstacles():
    job = load_text(TEXT, MOUNT.parent)
    assert {tool.kind.value: tool.name for tool in tools_of(job)} == {
        "height": "height",
        "tape": "tape",
        "offset": "offset",
        "level": "level",
    }
    assert len(obstacles_of(job)) == 8  # seven boxes and a pipe
