"""The checks of this room wired to a job: what a change in the job does to them."""

from collections.abc import Callable

import numpy as np
import pytest

from soapstone.build import Build
from soapstone.errors import JobError
from soapstone.finding import Verdict
from soapstone.strength.changes import heavier_wall
from soapstone.strength.landings import brace_forces, landing_of
from soapstone.strength.load_path import STAGES, load_path, stations
from soapstone.strength.tube_checks import seam
from soapstone.strength.work import Work

Changed = Callable[..., Build]
SERVICE = "  grip: {mass on axle: 900 kg"
CROSSMEMBER = "crossmember_3: {what: crossmember 3, stiffness: 25 kN/mm}"
BOLTED = "bolted: {bolt: M10 8.8, count: 2, torque: 40 N·m, friction: 0.14, scatter: 1.6, grip: 0.2"


def work(build: Build) -> Work:
    return Work(build.job, build.layout, build.parts, build.idealised, build.solution)


def kinds(build: Build) -> set[str]:
    return {finding.kind for finding in build.findings}


@pytest.fixture(scope="module")
def fuller(changed: Changed) -> Build:
    """Heron told more: cycles, bosses, a bolted hollow rail, a floor of sheet, the European code."""
    return changed(
        (SERVICE, "  code: EN 1993\n  cycles: {bump: 20000, kerb: 500, full torque: 100000}\n" + SERVICE),
        (
            "    mass: 92 kg\n",
            "    mass: 92 kg\n    bosses: {boss_1: {of: 6061-T6, engaged: 22 mm, outside: 32 mm}}\n",
        ),
        (
            "rail_left:     {what: left rail of the ladder frame}",
            f"rail_left: {{what: left rail, hollow: 'yes', wall: 2.5 mm S235, {BOLTED}}}}}",
        ),
        (
            "rail_right:    {what: right rail of the ladder frame}",
            "rail_right: {what: right rail, hollow: 'yes', wall: 2.5 mm S235, "
            f"{BOLTED}, crush tube: 18 mm x 3 mm, crush tube of: S355}}}}",
        ),
        (CROSSMEMBER, CROSSMEMBER[:-1] + ", sheet: {plate: 1.5 mm S235, free: 300 mm}}"),
    )


@pytest.fixture(scope="module")
def vaguer(changed: Changed) -> Build:
    """Heron with rails that are bolted but not described, feet that run together, a long torque arm."""
    return changed(
        (
            "rail_left:     {what: left rail of the ladder frame}",
            f"rail_left: {{what: left rail, {BOLTED}}}}}",
        ),
        (
            "rail_right:    {what: right rail of the ladder frame}",
            f"rail_right: {{what: right rail, hollow: 'yes', {BOLTED}}}}}",
        ),
        (
            "cross_2: {from: side_left at 712 mm, to: side_right at 711 mm,",
            "cross_2: {from: side_left at 760 mm, to: side_right at 760 mm,",
        ),
        (
            "torque_arm: {from: fork_arm_front, to: fork_arm_rear, stock: light}",
            "torque_arm: {from: fork_arm_front, to: fork_arm_rear, stock: light, effective length: 2000 mm}",
        ),
    )


def test_heron_says_what_it_does_not_know(heron: Build) -> None:
    opened = {
        f.id for f in heron.findings if f.verdict is Verdict.OPEN and f.kind not in ("reading", "point")
    }
    assert opened == {
        "weld:brace_left end",
        "weld:brace_right end",
        "tube-joint:brace_left end",
        "tube-joint:brace_right end",
        "fatigue:frame",
        "boss:drive_unit",
        *(f"draw-out:hanger_{end}_{side}" for end in ("front", "rear") for side in ("left", "right")),
    }


def test_every_welded_end_has_its_joint_and_every_tube_its_column(heron: Build) -> None:
    found = {f.id for f in heron.findings}
    for tube in heron.layout.tubes.values():
        assert f"member-buckling:{tube.name}" in found
        for seat, word in zip(tube.seats, ("start", "end"), strict=True):
            assert (f"tube-joint:{tube.name} {word}" in found) is (seat.kind.value == "weld")
    for fork in heron.layout.forks:
        assert {f"lug-lifting:{fork}", f"tab-weld:{fork}"} <= found


def test_tube_axes_and_beam_axes_agree(heron: Build) -> None:
    """A seam lies in the tube's axes, the forces in the beam's: they must be the same."""
    told = work(heron)
    for tube in heron.layout.tubes.values():
        for segment in told.segments(tube.name):
            beam = heron.idealised.frame.geometry.axes[segment.member]
            assert np.abs(beam - heron.parts.tubes[tube.name].axes.rotation).max() < 1e-12


def test_a_seam_starts_where_the_beam_ends(heron: Build) -> None:
    """The middle of the seam is within the host's own radius of the station that the forces are taken at."""
    told = work(heron)
    for tube in heron.layout.tubes.values():
        for end in (0, 1):
            if told.is_welded(tube, end):
                _, station = told.at_end(tube, end)
                middle = seam(told, tube, end).points[:, 0].mean()
                assert abs(middle - station) < 0.03, (tube.name, end)


def test_brace_moments_keep_their_size(heron: Build) -> None:
    told = work(heron)
    tube = heron.layout.tubes["cross_1"]
    forces, _ = told.at_end(tube, 1)
    _, inside, outside = brace_forces(told, tube, 1)
    assert np.hypot(inside, outside) == pytest.approx(np.hypot(forces[:, 4], forces[:, 5]), rel=1e-9)
    landing = landing_of(told, tube, 1)
    # its sides stand within a degree of the plane of the two axes: 40 (cos + sin) of that
    assert 0.040 <= landing.brace_across < 0.041
    assert landing.offset < 1e-3 and not landing.clash


def test_more_in_the_job_more_in_the_answer(heron: Build, fuller: Build) -> None:
    assert {
        "engagement",
        "thread",
        "tightening",
        "clamping",
        "preload",
        "bearing",
        "sheet",
        "sheet-tear",
    } <= (kinds(fuller) - kinds(heron))
    assert fuller.finding("fatigue:frame") is None
    assert fuller.finding("fatigue:side_left") is not None
    buckling = fuller.finding("member-buckling:side_left")
    assert buckling is not None and "EN 1993-1-1" in buckling.source
    joint = fuller.finding("tube-joint:drop_left end")
    assert joint is not None and "EN 1993" in joint.source


def test_a_hollow_rail_wants_its_crush_tube(fuller: Build) -> None:
    without, inside = (fuller.finding(f"preload:fork_front_{side} foot") for side in ("left", "right"))
    assert without is not None and without.verdict is Verdict.SHORT and "crush tube" in without.remedy
    assert inside is not None and inside.verdict is Verdict.HOLDS
    assert fuller.finding("tab-weld:fork_front_left") is None  # bolted on, not welded
    boss = fuller.finding("boss:drive_unit")
    assert boss is not None and "boss_1" not in boss.remedy and "boss_2" in boss.remedy


def test_what_is_not_said_of_a_bolted_rail_is_open(vaguer: Build) -> None:
    unsaid, wall = (vaguer.finding(f"preload:fork_front_{side} foot") for side in ("left", "right"))
    assert unsaid is not None and unsaid.verdict is Verdict.OPEN and "hollow" in unsaid.remedy
    assert wall is not None and wall.verdict is Verdict.OPEN and "wall" in wall.remedy


def test_what_gives_first_is_ranked_and_what_helps_is_computed(heron: Build) -> None:
    links = heron.links
    ratios = [link.ratio for link in links]
    assert ratios == sorted(ratios, reverse=True) and len(links) > 50
    assert {link.stage for link in links} >= {"bolt", "plate", "weld", "joint", "tube"}
    assert links[0].reserve == pytest.approx(1 / links[0].ratio)
    told = [link for link in links if link.buys]
    assert told and all(buy.worst >= buy.ratio for link in told for buy in link.buys)
    assert all(link.finding.kind in STAGES for link in links)


def test_a_longer_leg_buys_what_its_throat_says(heron: Build) -> None:
    links = {link.finding.id: link for link in load_path(heron.works, heron.findings, heron.reworked, 40)}
    end = next(link for link in links.values() if link.finding.kind == "weld" and link.buys)
    leg = next(step.value for step in end.finding.because if step.symbol == "w")
    assert end.buys[0].ratio == pytest.approx(end.ratio * leg / (leg + 1e-3), rel=1e-9)


def test_a_heavier_tube_is_the_rebuilt_job_with_that_tube(changed: Changed) -> None:
    """The same number as a job that is built with that tube: 12 BWG in place of 13."""
    before = changed()
    (link,) = load_path(before.works, [before.finding("member-stress:drop_right")], before.reworked)
    wall = heavier_wall(before.layout.tubes["drop_right"].section.wall)
    assert wall == pytest.approx(0.109 * 0.0254, rel=1e-12)  # 12 BWG after 13 BWG (0.095 in)
    bought = changed(
        (
            "  light: {tube: 1-1/4 in x 0.095 in, of: DOM 1020}",
            "  light: {tube: 1-1/4 in x 0.095 in, of: DOM 1020}\n"
            "  thick: {tube: 1-1/4 in x 0.109 in, of: DOM 1020}",
        ),
        ("  drop_right: {mirror: drop_left}", "  drop_right: {mirror: drop_left, stock: thick}"),
    )
    same = bought.finding("member-stress:drop_right")
    assert same is not None and link.buys[0].ratio == pytest.approx(same.ratio, rel=1e-9)


def test_walls_of_both_scales() -> None:
    assert heavier_wall(0.120 * 0.0254) == pytest.approx(0.134 * 0.0254, rel=1e-12)
    assert heavier_wall(2e-3) == pytest.approx(2.5e-3, rel=1e-12)
    assert heavier_wall(0.05) is None


def test_every_sort_of_link_knows_what_helps(fuller: Build) -> None:
    one_of_each = {finding.kind: finding for finding in fuller.findings if finding.ratio is not None}
    links = load_path(fuller.works, list(one_of_each.values()), fuller.reworked, deepest=1000)
    helped = {link.finding.kind for link in links if link.buys}
    assert {"bolt", "lug", "tab-bending", "weld", "tube-joint", "member-stress", "member-buckling"} <= helped
    for link in links:
        # forces as they are: more metal never carries less of them
        if link.finding.kind in ("weld", "tab-weld"):
            assert link.buys[0].ratio <= link.ratio * (1 + 1e-9), link.finding.id


def test_stations_run_from_boss_to_chassis(fuller: Build) -> None:
    rows = {station.part: station for station in stations(fuller.layout, fuller.findings)}
    assert list(rows) == [*fuller.job.hangers, *fuller.job.members, *fuller.job.forks]
    front = rows["hanger_front_left"]
    assert front.onto == ("cross_1",) and front.sort == "mount"
    lug = max(
        f.ratio
        for f in fuller.findings
        if f.about == "hanger_front_left" and STAGES.get(f.kind) == "plate" and f.ratio is not None
    )
    assert front.weakest["plate"] == lug
    assert set(rows["cross_1"].onto) == {"side_left", "side_right"}
    assert rows["fork_front_left"].onto == ("rail_left",) and "chassis" in rows["fork_front_left"].weakest
    assert rows["cross_2"].weakest["joint"] is not None


def test_feet_that_run_together_are_a_clash(vaguer: Build) -> None:
    joint = vaguer.finding("tube-joint:cross_2 end")
    assert joint is not None and joint.verdict is Verdict.OPEN and "cross_3" in joint.remedy


def test_an_effective_length_of_the_job_s_own_counts(vaguer: Build) -> None:
    finding = vaguer.finding("member-buckling:torque_arm")
    assert finding is not None and not any("K = 1.0" in note for note in finding.assumed)
    assert next(step.value for step in finding.because if step.symbol == "L_c") == 2.0


def test_cycles_belong_to_a_case_of_the_job(changed: Changed) -> None:
    with pytest.raises(JobError, match="no case is called 'bmup'"):
        changed((SERVICE, "  cycles: {bmup: 20000}\n" + SERVICE))


@pytest.mark.parametrize(
    ("keys", "word"),
    [
        (f"{BOLTED}, crush tube: 18 mm x 3 mm}}", "belong together"),
        (f"{BOLTED}, crush tube: 6 mm x 3 mm, crush tube of: S355}}", "crush tube has an outside"),
        ("sheet: {plate: 1.5 mm S235, free: 300 mm, spreader: 4 mm S235}", "belong together"),
    ],
)
def test_half_told_supports_are_refused(changed: Changed, keys: str, word: str) -> None:
    with pytest.raises(JobError, match=word):
        changed((CROSSMEMBER, CROSSMEMBER[:-1] + f", {keys}}}"))
