"""Units on rubber by the job's keys: sag, modes, shares, sway, broken mounts, and their findings."""

from pathlib import Path

import numpy as np
import pytest

from soapstone.build import Build, build
from soapstone.errors import GeometryError, LooseError
from soapstone.finding import KINDS, Finding, Verdict
from soapstone.job.load import load_text
from soapstone.job.rubber import Inertia
from soapstone.place.actions import STANDARD_GRAVITY
from soapstone.place.hung import inertia_of, suspended_bodies
from soapstone.place.loads import load_cases
from soapstone.place.modes import rigid_modes
from soapstone.place.on_rubber import STANDING, answer_on_rubber, load_of
from soapstone.place.placed import place_bodies
from soapstone.survey import adjust
from soapstone.survey.of_job import network_of


def of_kind(answer: Build, kind: str) -> list[Finding]:
    return [finding for finding in answer.findings if finding.kind == kind]


def changed_boat(boat_text: str, *edits: tuple[str, str]) -> Build:
    for old, new in edits:
        assert boat_text.count(old) == 1, old
        boat_text = boat_text.replace(old, new)
    return build(load_text(boat_text, Path("boat")))


def test_rubber_by_hardness_stands_in_its_own_axes(soft_heron: Build) -> None:
    """60 x 40 mm of hardness 55: S 0.375, E 3.25 (1 + 2 0.64 S²) MPa pressed and 0.81 MPa sheared."""
    left, right = soft_heron.rubber["drive_unit"].mounts[:2]
    area, shape = np.pi * 0.06**2 / 4, 60 / (4 * 40)
    pressed = 3.25e6 * (1 + 2 * 0.64 * shape**2) * area / 0.04
    assert left.mount.stiffness == pytest.approx([0.81e6 * area / 0.04] * 2 + [pressed], rel=1e-12)
    assert left.mount.axes[:, 2] == pytest.approx([0, -0.5, 0.866] / np.hypot(0.5, 0.866), rel=1e-12)
    assert right.mount.axes[:, 2] == pytest.approx([0, 0.5, 0.866] / np.hypot(0.5, 0.866), rel=1e-12)
    assert left.hanger == "hanger_front_left" and left.because and any("stiffer" in n for n in left.assumed)
    assert [stop.at for stop in left.mount.stops] == [-0.006, 0.005]


def test_every_case_is_held_in_full(soft_heron: Build, boat: Build) -> None:
    """Mounts and loads cancel about the centre of mass; 1e-9 is what the Newton steps leave, and more."""
    for answer in (soft_heron, boat):
        for name, unit in answer.rubber.items():
            for case, move in zip(answer.cases, unit.moves, strict=True):
                load = load_of(case, name, unit.body)
                arms = np.array([h.mount.place for h in unit.mounts]) - unit.body.centre
                turns = np.cross(arms, move.forces).sum(axis=0)
                assert move.forces.sum(axis=0) == pytest.approx(-load[:3], abs=1e-9 * 1e4)
                assert turns == pytest.approx(-load[3:], abs=1e-9 * 1e4)


def test_standing_weight_and_shares(boat: Build) -> None:
    """Fore and aft by the lever rule: the mass centre is nearer to the rear feet; left like right."""
    unit = boat.rubber["engine"]
    up = unit.rest.forces[:, 2]
    assert up.sum() == pytest.approx(230 * STANDARD_GRAVITY, rel=1e-9)
    assert up[0] == pytest.approx(up[1], rel=1e-9) and up[2] == pytest.approx(up[3], rel=1e-9)
    shares = unit.shares["full ahead"]
    assert sum(share.weight for share in shares) == pytest.approx(1.0, rel=1e-9)
    assert sum(share.torque for share in shares) == pytest.approx(1.0, rel=1e-9)
    assert all(share.torque == 0.0 for share in unit.shares["afloat"])


def test_modes_are_those_of_the_mounts(boat: Build) -> None:
    unit = boat.rubber["engine"]
    assert unit.modes is not None
    again = rigid_modes(unit.body, unit.suspended.springs).frequencies
    assert unit.modes.frequencies == pytest.approx(again, rel=1e-12)
    assert unit.modes.shares.sum(axis=1) == pytest.approx(np.ones(6), rel=1e-9)
    # the engine's own axes lean back with it: its roll inertia is felt about the leaning line
    turn = boat.placed["engine"].pose.rotation
    own = inertia_of(boat.job.bodies["engine"].inertia, 230.0)  # type: ignore[arg-type]
    assert unit.body.inertia == pytest.approx(turn @ own @ turn.T, rel=1e-12)
    assert own[0, 2] == -2.0


def test_inertia_like_a_box() -> None:
    found = inertia_of(Inertia(box="600 x 400 x 300 mm", source="estimate"), 12.0)  # type: ignore[arg-type]
    assert found == pytest.approx(np.diag([0.25, 0.45, 0.52]), rel=1e-12)


def test_a_torque_free_of_its_mounts_turns_it_about_another_line(soft_heron: Build, boat: Build) -> None:
    axis = soft_heron.rubber["drive_unit"].roll_axis
    assert axis is not None and axis.crank == pytest.approx([0, 1, 0])
    turned = np.linalg.solve(soft_heron.rubber["drive_unit"].body.inertia, axis.crank)
    assert axis.axis == pytest.approx(turned / np.linalg.norm(turned), rel=1e-9)
    assert boat.rubber["engine"].roll_axis is None  # the boat's job names no motor


def test_what_shakes_it(soft_heron: Build, boat: Build) -> None:
    """Four cylinders of a four-stroke at 800 rpm fire 26.7 times a second; a rotor shakes once a turn."""
    ripple, idle = soft_heron.rubber["drive_unit"].shaken
    assert (ripple.frequency, idle.frequency) == (pytest.approx(150.0), pytest.approx(80 / 3))
    assert np.flatnonzero(ripple.load).tolist() == [2] and np.flatnonzero(idle.load).tolist() == [4]
    found = {finding.about: finding for finding in of_kind(soft_heron, "isolation")}
    assert found["drive_unit ripple"].verdict is Verdict.HOLDS
    assert found["drive_unit idle"].verdict is Verdict.SHORT and found["drive_unit idle"].capacity == 0.5
    assert any("stiffer when shaken" in note for note in found["drive_unit idle"].assumed)
    # the boat's mounts give both numbers: nothing of them is assumed there
    notes = next(iter(of_kind(boat, "isolation"))).assumed
    assert notes == ("passing on no more than bolted down is the aim (common practice, no source)",)


def test_steering_comes_first(soft_heron: Build) -> None:
    """Whatever its place among the obstacles; each has one finding, of the pair that comes nearest."""
    unit = soft_heron.rubber["drive_unit"]
    names = list(dict.fromkeys(watched.name for watched in unit.suspended.watched))
    assert names[0] == "steering_shaft" and names[1] == "brake_pipe_2"
    assert [finding.about for finding in of_kind(soft_heron, "unit-sway")] == names


def test_the_room_it_sweeps(soft_heron: Build) -> None:
    """Kept for later rooms: every named point and every envelope corner, and the pose of every case."""
    unit = soft_heron.rubber["drive_unit"]
    swept = {sway.point: sway for sway in unit.sways}
    assert {"boss_1", "flange_left", "drive_unit part 1 corner 1"} <= set(swept)
    poses = unit.poses
    assert set(poses) == {case.name for case in soft_heron.cases}
    at = soft_heron.placed["drive_unit"].points["boss_1"]
    moved = np.array([pose.apply(at) - at for pose in poses.values()])
    assert np.minimum(moved.min(axis=0), 0.0) == pytest.approx(swept["boss_1"].low, abs=1e-12)
    assert np.maximum(moved.max(axis=0), 0.0) == pytest.approx(swept["boss_1"].high, abs=1e-12)


def test_stops_take_the_torque(soft_heron: Build) -> None:
    """Full torque lifts the front mounts by more than their stops leave: these take what rubber would not."""
    unit = soft_heron.rubber["drive_unit"]
    torque = next(move for move in unit.moves if move.case == "full torque")
    assert torque.on_stop == (True, True, False, False)
    at_stop = torque.squeezed[0]
    assert at_stop[2] > 0.005  # beyond where the stop is met, by what it gives


def test_broken_mounts_and_their_findings(soft_heron: Build, boat: Build) -> None:
    for answer, name in ((soft_heron, "drive_unit"), (boat, "engine")):
        unit = answer.rubber[name]
        assert len(unit.broken) == 4 * len(answer.cases)
        assert [f.about for f in of_kind(answer, "mount-broken")] == [h.mount.name for h in unit.mounts]
        for finding in of_kind(answer, "mount-broken"):
            gaps = [t.gap for b in unit.broken if b.mount == finding.about for t in b.watched]
            assert finding.capacity == pytest.approx(min(gaps), rel=1e-9)


def test_wrung_through_the_case(soft_heron: Build) -> None:
    """The worst case has a finding; standing still it is the free body of the motor's side by hand."""
    unit = soft_heron.rubber["drive_unit"]
    placed = soft_heron.placed["drive_unit"]
    joint = placed.points["flange_left"]
    row = [case.name for case in soft_heron.cases].index("own weight")
    forces = unit.moves[row].forces[[0, 2]]
    places = np.array([unit.mounts[i].mount.place for i in (0, 2)])
    centre = placed.pose.apply(np.array([0.0, 0.15, 0.0]))
    weight = 50 * STANDING
    moment = np.cross(centre - joint, weight) + np.cross(places - joint, forces).sum(axis=0)
    assert unit.wrung["own weight"].moment == pytest.approx(-moment, abs=1e-9)
    assert unit.wrung["own weight"].force == pytest.approx(-weight - forces.sum(axis=0), abs=1e-9)
    (finding,) = of_kind(soft_heron, "case-wring")
    worst = max(float(np.linalg.norm(wrung.moment)) for wrung in unit.wrung.values())
    assert finding.demand == pytest.approx(worst, rel=1e-9) and finding.capacity == 900.0


def test_the_motor_s_own_torque_goes_through_the_joint(soft_heron: Build) -> None:
    """With all mounts on the gearbox's side the joint carries the motor's torque and weight, nothing else."""
    job, placed = soft_heron.job, soft_heron.placed
    body = job.bodies["drive_unit"]
    assert body.joint is not None and job.service.grip is not None
    lone = body.model_copy(update={"joint": body.joint.model_copy(update={"mounts": ()})})
    job = job.model_copy(update={"bodies": {"drive_unit": lone}})
    unit = answer_on_rubber(job, suspended_bodies(job, placed), placed, soft_heron.cases)["drive_unit"]
    centre = placed["drive_unit"].pose.apply(np.array([0.0, 0.15, 0.0]))
    weight = np.cross(centre - placed["drive_unit"].points["flange_left"], 50 * STANDING)
    # the tyres slip: the motor gives what they hold through 9.3 and 0.97, about the crank (+y); the gearbox
    # holds its shaft back by that, and the joint gives it back
    held = 0.9 * 900 * STANDARD_GRAVITY * 0.3 / (9.3 * 0.97)
    assert held < 1.2 * 230
    assert unit.wrung["full torque"].moment == pytest.approx(np.array([0, held, 0]) - weight, rel=1e-9)
    assert unit.wrung["own weight"].moment == pytest.approx(-weight, rel=1e-9)
    back = unit.wrung["holding back"].moment + weight
    assert back == pytest.approx([0, -0.6 * 1.2 * 230, 0], abs=1e-9)


def test_nothing_known_is_asked_for(boat_text: str) -> None:
    """Without inertia, envelope and rated load: open, and no modes."""
    answer = changed_boat(
        boat_text,
        (
            "    inertia: {roll: 9 kg·m², pitch: 22 kg·m², yaw: 20 kg·m², roll yaw: 2 kg·m²,"
            " source: like boxes of its parts}\n",
            "",
        ),
        ("    envelope:\n", ""),
        (
            "      - box: {from: [0 mm fwd, 180 mm right, 150 mm down], to: [850 mm fwd, 180 mm left,"
            " 450 mm up]}\n",
            "",
        ),
        (", thickness: 40 mm, rated: 2.5 kN, stiffer shaken: 1.3, loss: 0.12", ""),
        ("  room: 12 mm\n", ""),
    )
    unit = answer.rubber["engine"]
    assert unit.modes is None and unit.shaken == () and answer.unit_modes is None
    for kind in ("isolation", "unit-sway", "mount-broken", "mount-load", "mount-strain"):
        found = of_kind(answer, kind)
        assert found and all(f.verdict is Verdict.OPEN and f.remedy for f in found), kind


def test_room_and_scans_are_said(boat_text: str) -> None:
    answer = changed_boat(boat_text, ("  room: 12 mm\n", ""))
    notes = [note for finding in of_kind(answer, "unit-sway") for note in finding.assumed]
    assert any("15 mm must be left" in note for note in notes)
    assert of_kind(answer, "unit-sway")[0].demand == 0.015
    assert {f.kind for f in answer.findings} <= set(KINDS)


def test_a_body_that_nothing_holds_is_refused(boat_text: str) -> None:
    """Two mounts alone leave it free to turn about the line through them."""
    edits = [
        ("  rear_left: {mirror: front_left, carries: engine.foot_1, on: stringer_left}\n", ""),
        ("  rear_right: {mirror: front_left, carries: engine.foot_2}\n", ""),
        (", stops: {lifted: {at: 5 mm, stiffness: 3 kN/mm}}", ""),
    ]
    with pytest.raises(LooseError, match="do not hold the body"):
        changed_boat(boat_text, *edits)


def test_an_inertia_that_no_body_has_is_refused(boat_text: str) -> None:
    job = load_text(boat_text.replace("roll yaw: 2 kg·m²", "roll yaw: 30 kg·m²"), Path())
    placed = place_bodies(job, adjust(network_of(job)))
    with pytest.raises(GeometryError, match=r"bodies\.engine\.inertia"):
        suspended_bodies(job, placed)


def test_pure(boat_text: str) -> None:
    """The same job gives the same answer, and a body without rubber none."""
    job = load_text(boat_text, Path())
    survey = adjust(network_of(job))
    placed = place_bodies(job, survey)
    points = {name: survey.point(name) for name in job.points}
    cases = load_cases(job, placed, points)
    first, second = (
        answer_on_rubber(job, suspended_bodies(job, placed), placed, cases)["engine"] for _ in range(2)
    )
    assert [move.displacement.tolist() for move in first.moves] == [
        move.displacement.tolist() for move in second.moves
    ]
    assert suspended_bodies(job.model_copy(update={"mounts": {}}), placed) == {}
