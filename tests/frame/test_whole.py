"""The frame as a whole: closed forms for buckling and bent columns, speeds beside known frequencies."""

from typing import Any

import numpy as np
import pytest
from frame_kit import make_frame, make_loads

from soapstone.build import Build
from soapstone.finding import Verdict
from soapstone.frame import LumpedMass, solve
from soapstone.frame.bodies import block_inertia, hung_masses
from soapstone.frame.findings_whole import bent_frame, frame_buckling, plain, resonance, whole_findings
from soapstone.frame.idealise import Idealised
from soapstone.frame.whole import look
from soapstone.job.hardware import Body
from soapstone.job.service import Running
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose

E, SECOND, L = 205e9, 1.79e-7, 2.0
EULER = np.pi**2 * E * SECOND / (2.0 * L) ** 2  # a column clamped at its foot, free at its head


def column(push: float, aside: float = 0.0, masses: tuple[LumpedMass, ...] = ()) -> Idealised:
    frame = make_frame(
        {"foot": (0, 0, 0), "head": (0, 0, L)}, {"post/1": ("foot", "head")}, {"foot": "xyzXYZ"}
    )
    loads = make_loads(frame, nodal={"head": (aside, 0, -push, 0, 0, 0)})
    return Idealised(frame, loads, {}, {}, {}, {}, {}, masses)


def looked(ideal: Idealised, code: str = "AISC 360", fastest: float = 0.0):
    return look(ideal, solve(ideal.frame, ideal.loads), code, fastest)


def test_a_column_may_grow_to_eulers_load() -> None:
    # 4 pieces of a clamped-free column: 0.05 % high at the worst (see `buckling`)
    whole = looked(column(EULER / 40))
    assert whole.factors == pytest.approx([40.0], rel=5e-4)
    finding = frame_buckling(whole)
    assert finding.verdict is Verdict.HOLDS
    assert finding.ratio == pytest.approx(1.67 / 0.877 / 40, rel=6e-4)
    assert not whole.second.any()
    # amplifier of EN 1993-1-1 (5.4) under 1.6 times the load
    assert whole.growth == pytest.approx([1 / (40 / 1.6 - 1)], rel=1e-3)


@pytest.mark.parametrize(("code", "times"), [("AISC 360", 1.6), ("EN 1993", 1.35)])
def test_near_to_buckling_the_checks_get_the_bent_frames_forces(code: str, times: float) -> None:
    """M at the foot is H L tan(u) / u with u = L sqrt(P / EI), at the design loads (Timoshenko and Gere)."""
    push, aside = EULER / (5 * times), 10.0
    whole = looked(column(push, aside), code)
    u = L * np.sqrt(times * push / (E * SECOND))
    expected = aside * L * np.tan(u) / u
    moment = np.abs(whole.solution.end_forces[0, 0, 4:6]).max()
    assert whole.second.all()
    assert moment == pytest.approx(expected, rel=1e-3)  # cubic shapes on 4 pieces
    assert whole.growth == pytest.approx([expected / (aside * L) - 1], rel=5e-3)
    finding = bent_frame(whole, code)
    assert finding.verdict is Verdict.HOLDS
    assert finding.assumed == ("case: every check uses the forces of the bent frame (P-delta)",)
    assert finding.capacity == pytest.approx(5.0, rel=1e-3)


def test_too_near_to_buckling_is_open_and_beyond_it_short() -> None:
    near = looked(column(EULER / (2 * 1.6)))
    assert bent_frame(near, "AISC 360").verdict is Verdict.OPEN
    assert frame_buckling(near).verdict is Verdict.HOLDS  # 3.2 times, 1.9 are needed
    beyond = looked(column(EULER * 1.1))
    assert frame_buckling(beyond).verdict is Verdict.SHORT
    assert "post bows" in frame_buckling(beyond).remedy or "joint head sways" in frame_buckling(beyond).remedy
    assert beyond.loaded is None
    assert np.isinf(beyond.growth).all()
    assert not beyond.second.any()


def test_what_is_pulled_never_buckles() -> None:
    whole = looked(column(-1000.0))
    assert np.isinf(whole.factors).all()
    assert list(whole_findings(whole, "AISC 360", {})) == []


MASS = 100.0
OWN = np.sqrt(3 * E * SECOND / (MASS * L**3)) / (2 * np.pi)  # a heavy head on a light post


def heavy(push: float = 1.0) -> Idealised:
    ideal = column(push, masses=(LumpedMass(1, MASS, np.zeros(3)),))
    ideal.frame.density[:] = 1e-6
    return ideal


@pytest.mark.parametrize(
    ("share", "verdict"),
    [(0.79, "holds"), (0.81, "short"), (1.0, "short"), (1.24, "short"), (1.26, "holds")],
)
def test_a_speed_keeps_clear_of_the_frames_own(share: float, verdict: str) -> None:
    spec = Running.model_validate({"speed": f"{60 * OWN * share / 2:.9f} rpm", "shakes": "2"})
    finding = resonance("idle", spec, looked(heavy()), ())
    assert finding.verdict == verdict
    assert finding.assumed == ()


def test_shaking_once_a_turn_is_an_assumption() -> None:
    spec = Running.model_validate({"speed": "900 rpm"})
    assert "once a turn" in resonance("idle", spec, looked(heavy()), ()).assumed[0]


def test_the_load_lowers_the_swing() -> None:
    whole = looked(heavy(EULER / 2))
    assert whole.loaded is not None
    # a post half way to buckling swings at sqrt(1 - 1/2) of its own, within 1 % (its shapes nearly agree)
    assert whole.loaded.frequencies[0] == pytest.approx(OWN * np.sqrt(0.5), rel=1e-2)
    assert whole.swing.frequencies[0] == pytest.approx(OWN, rel=1e-4)


def test_modes_are_sought_beyond_the_fastest_speed() -> None:
    assert looked(column(1.0), fastest=2000.0).swing.frequencies[-1] > 3000.0


def test_a_block_turns_as_the_handbook_says() -> None:
    assert np.diag(block_inertia(12.0, np.array([1.0, 2.0, 3.0]))) == pytest.approx([13.0, 10.0, 5.0])


def turned(keys: dict[str, Any]) -> tuple[LumpedMass, tuple[str, ...]]:
    body = Body.model_validate({"mass": "12 kg", "centre": ["0 mm", "0 mm", "0 mm"], **keys})
    quarter = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    put = Placed("unit", 12.0, Pose(quarter, np.zeros(3)), np.zeros(3), {})
    masses, notes = hung_masses({"unit": body}, {"unit": put}, {"unit": 3})
    return masses[0], notes


def test_what_is_hung_has_the_inertia_of_its_envelope_turned_with_it() -> None:
    box = {"from": ["-500 mm", "-1000 mm", "-1500 mm"], "to": ["500 mm", "1000 mm", "1500 mm"]}
    mass, notes = turned({"envelope": [{"box": box}]})
    assert np.diag(mass.inertia) == pytest.approx([10.0, 13.0, 5.0])
    assert mass.node == 3
    assert "envelope" in notes[0]
    assert "assumed" in notes[0]


def test_a_cylinder_is_as_wide_as_its_diameter() -> None:
    rod = {"from": ["-500 mm", "0 mm", "0 mm"], "to": ["500 mm", "0 mm", "0 mm"], "diameter": "1 m"}
    mass, _ = turned({"envelope": [{"cylinder": rod}]})
    assert np.diag(mass.inertia) == pytest.approx([2.0, 2.0, 2.0])  # a cube of 1 m, 12 kg


def test_without_an_envelope_its_points_and_without_points_none() -> None:
    points = {"a": ["0 m", "0 m", "0 m"], "b": ["1 m", "0 m", "0 m"]}
    mass, notes = turned({"points": points})
    assert np.diag(mass.inertia) == pytest.approx([1.0, 0.0, 1.0])
    assert "between its points" in notes[0]
    mass, notes = turned({})
    assert not mass.inertia.any()
    assert "a point" in notes[0]


def test_words_name_tubes_not_beams() -> None:
    assert plain("cross_1/6 bows and side_left/2 twists") == "cross_1 bows and side_left twists"


def test_the_example_is_looked_at(heron: Build) -> None:
    kinds = {finding.kind for finding in heron.findings}
    assert {"frame-buckling", "second-order"} <= kinds
    ideal, whole, words = heron.bounds.governing
    assert whole.swing.frequencies[0] < heron.bounds.stiff[1].swing.frequencies[0]
    assert "bending bars" in words
    assert ideal.masses[0].mass == 92.0
