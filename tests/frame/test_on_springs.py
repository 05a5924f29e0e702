"""A unit on rubber in the frame, against the same unit on a stiff frame and against statics."""

from pathlib import Path

import numpy as np
import pytest

from soapstone.build import Build, build
from soapstone.errors import GeometryError
from soapstone.finding import Verdict
from soapstone.frame.balance import balance
from soapstone.frame.on_springs import ground_stiffness, hook_station, spring_stiffness
from soapstone.frame.statics import Held, _judged
from soapstone.frame.statics import _left as left_over
from soapstone.job.load import load_text
from soapstone.place.bookkeeping import Support, out_of_balance, reactions
from soapstone.place.isolators import Mount
from soapstone.place.on_rubber import load_of


@pytest.fixture(scope="module")
def stiff_boat(boat_text: str) -> Build:
    """Both stringers stiff, so that nothing gives but the rubber; and stops that the thrust runs into."""
    stops = "stops: {sideways: {at: 1 mm, stiffness: 3 kN/mm}, lifted"
    text = boat_text.replace(", stiffness: 8 kN/mm}", "}").replace("stops: {lifted", stops)
    return build(load_text(text, Path("boat")))


def test_on_stiff_supports_the_frame_gives_the_stiff_answer(stiff_boat: Build) -> None:
    """Movements and mount forces, stops included, in every case; 1e-9 of the largest."""
    unit, answer = stiff_boat.rubber["engine"], stiff_boat
    node = answer.idealised.bodies["engine"]
    assert any(any(move.on_stop) for move in unit.moves)  # else the stops would not be put to the test
    for row, move in enumerate(unit.moves):
        from_rest = move.displacement + unit.rest.displacement
        assert answer.solution.displacements[row, node] == pytest.approx(from_rest, abs=1e-9 * 1e-2)
        assert answer.statics.held["engine"].forces[row] == pytest.approx(move.forces, abs=1e-9 * 1e4)


def test_statics_alone_agree(stiff_boat: Build) -> None:
    """Least-energy reactions by another solve are the rubber's, where no stop is met."""
    unit = stiff_boat.rubber["engine"]
    held = [
        Support(hung.mount.name, hung.mount.place, way, stiffness)
        for hung in unit.mounts
        for way, stiffness in zip(hung.mount.axes.T, hung.mount.stiffness, strict=True)
    ]
    compared = 0
    for row, (case, move) in enumerate(zip(stiff_boat.cases, unit.moves, strict=True)):
        load = load_of(case, "engine", unit.body)
        sizes = reactions(held, load, unit.body.centre)
        assert out_of_balance(held, sizes, load, unit.body.centre) < 1e-10
        if not any(move.on_stop):
            forces = (sizes[:, None] * np.array([one.direction for one in held])).reshape(4, 3, 3).sum(axis=1)
            assert stiff_boat.statics.held["engine"].forces[row] == pytest.approx(forces, abs=1e-9 * 1e4)
            compared += 1
    assert compared >= 1


def test_modes_on_stiff_supports_are_the_six(stiff_boat: Build, boat: Build, soft_heron: Build) -> None:
    """To 1e-6 by the frame's own eigenvalue solver; a frame that gives only lowers them."""
    found, rigid = stiff_boat.unit_modes, stiff_boat.rubber["engine"].modes
    assert found is not None and rigid is not None
    assert found.frequencies == pytest.approx(rigid.frequencies, rel=1e-6)
    for answer in (boat, soft_heron):
        (unit,) = answer.rubber.values()
        assert answer.unit_modes is not None and unit.modes is not None
        # 1e-9: rounding of a mode that the give does not reach
        assert (answer.unit_modes.frequencies <= unit.modes.frequencies * (1 + 1e-9)).all()
        assert answer.unit_modes.frequencies[-1] < unit.modes.frequencies[-1]


def test_rubber_and_support_in_a_row() -> None:
    turn = np.array([[1.0, 0, 0], [0, 0.6, 0.8], [0, -0.8, 0.6]])
    mount = Mount("m", np.zeros(3), turn, np.array([1e5, 2e5, 4e5]), 1.3)
    together = ground_stiffness(mount, 4e5)[:3, :3]
    apart = np.linalg.inv(mount.tensor) + np.eye(3) / 4e5
    assert np.linalg.inv(together) == pytest.approx(apart, abs=1e-18)
    assert spring_stiffness(mount, shaken=True) == pytest.approx(1.3 * spring_stiffness(mount), rel=1e-12)
    assert not spring_stiffness(mount)[3:].any()


def test_frame_and_vehicle_balance(soft_heron: Build, boat: Build) -> None:
    for answer in (soft_heron, boat):
        assert balance(answer.idealised.frame, answer.idealised.loads, answer.solution).relative < 1e-9
        found = [finding for finding in answer.findings if finding.kind == "balance"]
        assert [finding.about for finding in found] == [*answer.rubber, "whole"]
        assert all(finding.verdict is Verdict.HOLDS for finding in found)


def test_a_hanger_with_rubber_has_no_moment_at_its_boss(soft_heron: Build) -> None:
    member = soft_heron.idealised.hangers["hanger_front_left"]
    tip = soft_heron.solution.end_forces[:, member, 6:]
    assert np.abs(tip[:, 3:]).max() < 1e-7 * np.abs(tip[:, :3]).max()


def test_bolted_hangers_balance_too(heron: Build) -> None:
    found = {finding.id: finding for finding in heron.findings if finding.kind == "balance"}
    assert set(found) == {"balance:drive_unit", "balance:whole"}
    assert all(finding.verdict is Verdict.HOLDS for finding in found.values())
    assert any("exact" in note for note in found["balance:whole"].assumed)


def test_a_forgotten_load_does_not_pass(heron: Build) -> None:
    """What holds the unit against its weight alone, where a torque acts too."""
    held: Held = heron.statics.held["drive_unit"]
    centre = heron.placed["drive_unit"].centre
    loads = np.array([np.concatenate([92.0 * case.pull, np.zeros(3)]) for case in heron.cases])
    turns = np.cross(held.places - centre, held.forces) + held.moments
    finding = _judged(
        "x", "x", heron.cases, (held.forces, loads[:, None, :3]), (turns, loads[:, None, 3:]), ""
    )
    assert finding.verdict is Verdict.SHORT and finding.case in ("holding back", "full torque")
    assert left_over(held.forces, loads[:, None, :3])[0].max() < 1e-6


def test_the_whole_is_bodies_and_steel(soft_heron: Build) -> None:
    whole = soft_heron.statics.whole
    frame = soft_heron.idealised.frame
    assert whole is not None
    steel = float((frame.density * frame.area * frame.geometry.lengths).sum())
    assert whole.mass == pytest.approx(92 + steel, rel=1e-12)
    assert whole.mass_sigma > 2.0 and whole.largest_doubt == "drive_unit"


def test_a_hook_pulls_where_it_is_and_parts_no_stretch(soft_heron: Build) -> None:
    """Its node is on the tube at its station; buckling still looks at the tube from joint to joint."""
    from soapstone.strength.work import Work

    tube, station = hook_station(soft_heron.layout, "cross_2 middle")
    length = soft_heron.layout.tubes["cross_2"].length
    assert (tube, station) == ("cross_2", pytest.approx(length / 2))
    assert hook_station(soft_heron.layout, "cross_2 at 100 mm from end")[1] == pytest.approx(length - 0.1)
    with pytest.raises(GeometryError, match="beyond the end of cross_2"):
        hook_station(soft_heron.layout, "cross_2 at 9 m")
    work = Work(
        soft_heron.job, soft_heron.layout, soft_heron.parts, soft_heron.idealised, soft_heron.solution
    )
    stretches = work.stretches("cross_2")
    starts = [start for start, _, _ in stretches]
    assert len(starts) == len(work.segments("cross_2")) - 2
    assert not any(abs(start - at) < 1e-3 for start in starts for at in (length / 2, 0.1))
    assert stretches[0][1] == pytest.approx(stretches[1][0])
    assert max(forces.shape[1] for _, _, forces in stretches) > 21
    assert work.stretches("cross_1")[0][2].shape[1] == 21


def test_a_lift_bends_the_tube_that_it_hooks(soft_heron: Build) -> None:
    """The vehicle's forks take 400 kg less 1.2 times: reactions follow, minus what is hung."""
    row = [case.name for case in soft_heron.cases].index("lifted")
    whole = soft_heron.statics.whole
    assert whole is not None
    up = soft_heron.solution.reactions[row, :, 2].sum()
    assert up == pytest.approx((whole.mass - 480) * 9.80665, rel=1e-9)
