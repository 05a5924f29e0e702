"""Warmth, a moving vehicle and holes that do not meet, from the job to the frame."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import JobError
from soapstone.finding import Verdict
from soapstone.frame import pull_in
from soapstone.job.load import load_text
from soapstone.strength.misfits import a_millimetre, strain

Changed = Callable[..., Build]


def with_case(text: str) -> tuple[str, str]:
    return "  cases:\n", f"  cases:\n    odd: {{source: own, {text}}}\n"


def extra(built: Build) -> np.ndarray:
    """End forces of `odd` less those of `own weight`."""
    names = built.idealised.loads.case_names
    forces = built.solution.end_forces
    return forces[names.index("odd")] - forces[names.index("own weight")]


def test_a_warm_bar_between_its_forks_pushes_by_its_stiffness(changed: Changed) -> None:
    """torque_arm alone warm by 50 K: the push is alpha dT L over the flexibility of bar and all behind it.

    Behind a bar of L / EA lies at least the crossmember's 1 / 25 kN/mm: the push is less than with that
    alone, and more than none; the pull of the frame on both its ends is equal and opposite.
    """
    built = changed(with_case("warmer: {torque_arm: 50 K}"))
    member = built.idealised.segments["torque_arm"][0].member
    frame = built.idealised.frame
    length, area = frame.geometry.lengths[member], frame.area[member]
    expansion = 6.5e-6 * 1.8  # of the table's carbon steel, per °F
    free = expansion * 50.0 * length
    most = free / (length / (frame.elastic_modulus[member] * area) + 1 / 25e6)
    push = extra(built)[member, 0]
    assert 0.3 * most < push < most
    assert extra(built)[member, 6] == pytest.approx(-push, rel=1e-9)


def test_all_warm_and_one_warmer(changed: Changed) -> None:
    built = changed(with_case("warmer: {all: 36 °F, torque_arm: 50 K}"))
    strain_ = built.idealised.loads.strain[built.idealised.loads.case_names.index("odd"), :, 0]
    arm = built.idealised.segments["torque_arm"][0].member
    side = built.idealised.segments["side_left"][0].member
    assert strain_[arm] == pytest.approx(2.5 * strain_[side], rel=1e-12)
    assert strain_[side] == pytest.approx(6.5e-6 * 36, rel=1e-12)
    assert built.idealised.loads.strain[built.idealised.loads.case_names.index("own weight")].max() == 0.0
    (case,) = [case for case in built.cases if case.name == "odd"]
    assert any("keep their size" in note for note in case.assumed)


def test_a_fork_goes_where_the_vehicle_takes_it(changed: Changed) -> None:
    built = changed(with_case("moves: {fork_rear_left: 3 mm up}"))
    case = built.idealised.loads.case_names.index("odd")
    node = built.idealised.frame.node_names.index("fork_rear_left")
    assert built.solution.displacements[case, node, :3] == pytest.approx([0, 0, 0.003], abs=1e-15)
    assert np.abs(extra(built)).max() > 1.0


def test_a_hole_out_of_line_strains_every_case_alike(changed: Changed, heron: Build) -> None:
    built = changed(("service:\n", "misfit: {fork_rear_left: 0.4 mm left}\nservice:\n"))
    more = built.solution.end_forces - heron.solution.end_forces
    member, end = heron.idealised.pins["fork_rear_left"]
    alone = pull_in(heron.idealised.frame, member, end, [0, 4e-4, 0, 0, 0, 0]).solution.end_forces[0]
    for case in more:
        assert case == pytest.approx(alone, abs=1e-6 * np.abs(alone).max())
    finding = built.finding("misfit:fork_rear_left")
    assert finding is not None
    values = {step.symbol: step.value for step in finding.because}
    force = alone[member, 6 * end : 6 * end + 3]
    assert values["F"] == pytest.approx(float(np.linalg.norm(force)), rel=1e-9)


def test_the_remedy_says_how_much_may_be_pulled(changed: Changed) -> None:
    built = changed(("service:\n", "misfit: {fork_rear_left: 4 mm left}\nservice:\n"))
    finding = built.finding("misfit:fork_rear_left")
    assert finding is not None
    assert finding.verdict is Verdict.SHORT
    most = 4.0 / finding.ratio
    assert f"no more than {most:.1f} mm" in finding.remedy


def test_stress_and_force_grow_with_the_gap(heron: Build) -> None:
    gap = np.array([0.0, 1e-3, 0.0])
    one, two = (strain(heron.layout, heron.idealised, "fork_rear_left", k * gap) for k in (1.0, 2.0))
    assert two.force == pytest.approx(2 * one.force, rel=1e-9)
    assert two.stress == pytest.approx(2 * one.stress, rel=1e-9)
    assert two.work == pytest.approx(4 * one.work, rel=1e-9)


def test_every_bolted_hole_has_its_millimetre(heron: Build) -> None:
    rows = a_millimetre(heron.layout, heron.idealised)
    assert {row[0] for row in rows} == set(heron.layout.forks) | set(heron.layout.hangers)
    assert all((forces >= 0.0).all() and tube in heron.layout.tubes for _, forces, _, tube in rows)


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (with_case("warmer: 60"), "how much warmer is written with K"),
        (with_case("warmer: {torqe_arm: 60 K}"), "'torqe_arm' is not in members or hangers"),
        (with_case("warmer: [60 K]"), "write 60 K, or tubes with their own"),
        (with_case("moves: {fork_arm_rear: 1 mm up}"), "stands on cross_1, which moves by itself"),
        (with_case("moves: {fork_nowhere: 1 mm up}"), "'fork_nowhere' is not in forks"),
        (("service:\n", "misfit: {fork_reer_left: 1 mm up}\nservice:\n"), "is not in forks or hangers"),
        (("service:\n", "misfit: {fork_rear_left: 1 mm}\nservice:\n"), "has no direction word"),
        (("holds: bung_rear_left, bolt: M12 10.9,", "holds: bung_rear_left,"), None),
    ],
)
def test_slips_are_told(heron_text: str, edit: tuple[str, str], says: str | None) -> None:
    assert edit[0] in heron_text
    text = heron_text.replace(edit[0], edit[1], 1)
    if says is None:
        text = text.replace("service:\n", "misfit: {fork_rear_left: 1 mm up}\nservice:\n", 1)
        says = "has no bolt and bung yet"
    with pytest.raises(JobError, match=says):
        load_text(text, Path("heron"))


def test_a_metal_of_the_jobs_own_needs_its_expansion(heron_text: str) -> None:
    own = (
        "materials:\n  bought: {elastic modulus: 205 GPa, shear modulus: 79 GPa, density: 7850 kg/m3,"
        " yield: 355 MPa, ultimate: 470 MPa, source: certificate}\n"
    )
    text = heron_text.replace("stock:\n", own + "stock:\n", 1).replace("of: S355}", "of: bought}", 1)
    text = text.replace(*with_case("warmer: 60 K"), 1)
    assert "of: bought" in text
    with pytest.raises(JobError, match="bought has no expansion"):
        load_text(text, Path("heron"))
    known = text.replace("yield: 355 MPa", "expansion: 12 µm/(m·K), yield: 355 MPa")
    assert load_text(known, Path("heron")).materials["bought"].expansion == pytest.approx(12e-6)
