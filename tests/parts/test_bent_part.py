"""Bent members: cut at both ends, their solid, their frame, what the bender says to them."""

import math
from collections.abc import Callable
from pathlib import Path

import netgen.occ as occ
import numpy as np
import pytest

from soapstone.build import Build, build
from soapstone.errors import GeometryError, JobError, LooseError
from soapstone.finding import Verdict
from soapstone.job.load import load_text
from soapstone.parts.bend_findings import heel_from_bend, inside_from_clocking
from soapstone.parts.bent_part import bent_part, bent_solid, outside_rings
from soapstone.parts.centreline import Bend
from soapstone.parts.cuts import square
from soapstone.parts.hosts import _bent
from soapstone.parts.solids import intersection, tube_solid

TEXT = (Path(__file__).parents[1] / "bent.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def hoop() -> Build:
    return build(load_text(TEXT, Path()))


@pytest.fixture(scope="module")
def changed() -> Callable[..., Build]:
    def make(*edits: tuple[str, str]) -> Build:
        text = TEXT
        for old, new in edits:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        return build(load_text(text, Path()))

    return make


def test_the_radius_opens_as_the_bend_springs_back(hoop: Build) -> None:
    tube = hoop.layout.tubes["hoop"]
    assert tube.path is not None
    assert tube.springback == pytest.approx(3.5 / 90)
    for _, bend in tube.path.bends:
        assert bend.radius * (1 - 3.5 / 90) == pytest.approx(0.130)
    row = hoop.parts.bent["hoop"].table().rows[0]
    assert row.radius * row.angle == pytest.approx(0.130 * row.set_angle)  # the arc keeps its length


def test_its_mesh_is_closed_and_its_volume_comes_nearer_with_the_chord(hoop: Build) -> None:
    """Halving chords in the bend quarters what they miss; 97 lines round stay short by (2π/97)²/6, 7e-4."""
    part = hoop.parts.bent["hoop"]
    misses = []
    for error in (1e-3, 2.5e-4, 6.25e-5):
        solid = bent_solid(part, error)
        assert solid.is_closed()
        misses.append(1 - solid.volume / part.volume)
    steps = np.diff(misses)
    assert misses[-1] < 1e-3 and abs(misses[-1]) < abs(misses[0])
    assert steps[1] / steps[0] == pytest.approx(0.25, abs=0.12)


def test_volume_and_length_agree_with_an_exact_solid(hoop: Build) -> None:
    """Square ends, netgen's kernel: two straights and a turned ring each; both are exact."""
    tube = hoop.layout.tubes["hoop"]
    part = bent_part(tube, square(0.0), square(0.0))
    outer, inner = tube.section.outside_diameter / 2, tube.section.outside_diameter / 2 - tube.section.wall
    volume = 0.0
    assert tube.path is not None
    for piece in tube.path.pieces:
        start = occ.Pnt(*(1e3 * piece.origin))
        if isinstance(piece, Bend):
            plane = occ.WorkPlane(occ.Axes(start, n=occ.Vec(*piece.along)))
            face = plane.Circle(1e3 * outer).Face() - plane.Circle(1e3 * inner).Face()
            centre = occ.Pnt(*(1e3 * (piece.origin + piece.radius * piece.side)))
            solid = face.Revolve(occ.Axis(centre, occ.Vec(*piece.normal)), math.degrees(piece.angle))
        else:
            bars = [
                occ.Cylinder(start, occ.Vec(*piece.along), r=1e3 * radius, h=1e3 * piece.length)
                for radius in (outer, inner)
            ]
            solid = bars[0] - bars[1]
        volume += 1e-9 * solid.mass
    assert part.volume == pytest.approx(volume, rel=1e-9)
    assert part.finished_length == pytest.approx(tube.path.length, rel=1e-12)


def test_ends_go_onto_what_they_meet(hoop: Build) -> None:
    """Nothing of the tie reaches more than the mesh's own chord into the hoop."""
    part, tie = hoop.parts.bent["hoop"], hoop.parts.tubes["tie"]
    assert (tie.end_a.onto, tie.end_b.onto) == ("hoop", "hoop")
    common = intersection(bent_solid(part), tube_solid(tie)).volume
    assert common < 2e-3 * tie.volume
    ends = part.ends
    assert ends[0] is not None and ends[0].onto == "bung_left"


def test_rings_are_round_and_square_to_the_axis(hoop: Build) -> None:
    part = hoop.parts.bent["hoop"]
    rings = outside_rings(part)
    middles = rings.mean(axis=1)
    radii = np.linalg.norm(rings - middles[:, None], axis=2)
    assert np.abs(radii - part.shape.outside_diameter / 2).max() < 1e-12
    stations = [part.path.station_of(middle) for middle in middles]
    tangents = part.path.direction(stations)
    assert np.abs(np.einsum("kij,kj->ki", rings - middles[:, None], tangents)).max() < 1e-9


def test_heels_of_a_symmetric_hoop_mirror_each_other(hoop: Build) -> None:
    part = hoop.parts.bent["hoop"]
    one, other = heel_from_bend(part, 0), heel_from_bend(part, 1)
    assert one is not None and other is not None
    assert one == pytest.approx(-other, abs=1e-9)


def test_the_inside_of_the_bend_is_where_the_clocking_says(hoop: Build) -> None:
    part = hoop.parts.bent["hoop"]
    for end, leg in ((0, part.leg_a), (1, part.leg_b)):
        assert leg is not None
        angle = inside_from_clocking(part, end)
        inside = math.cos(angle) * leg.axes.y + math.sin(angle) * leg.axes.z
        middle = part.path.point(part.path.length / 2)
        here = leg.axes.origin + leg.length / 2 * leg.axes.x
        assert inside @ (middle - here) > 0.0


def test_the_frame_follows_the_bend(hoop: Build) -> None:
    """Chords of at most 7.5°, and the reactions carry what hangs: 40 kg and the tubes and plates."""
    ideal = hoop.idealised
    frame = ideal.frame
    members = [segment.member for segment in ideal.segments["hoop"]]
    ways = frame.geometry.axes[members, 0]
    turns = np.degrees(np.arccos(np.clip(np.einsum("ij,ij->i", ways[1:], ways[:-1]), -1, 1)))
    assert 0.1 < turns.max() < 7.6
    rest = [case.name for case in hoop.cases].index("own weight")
    weight = 9.80665 * (40.0 + sum(part.mass(7850.0) for part in hoop.parts.both.values()))
    # the frame counts plates and axes between joints, the parts count what is cut: within 8 %
    assert hoop.solution.reactions[rest, :, 2].sum() == pytest.approx(weight, rel=0.08)


def test_a_bend_is_more_limber_than_its_section(hoop: Build) -> None:
    """h = t R / r² = 0.888, k = 1.65 / h: by hand from ASME B31.3 appendix D (from memory)."""
    frame, tube = hoop.idealised.frame, hoop.layout.tubes["hoop"]
    whole = tube.section.section.second_moment_y
    in_bend = [s for s in hoop.idealised.segments["hoop"] if tube.in_bend((s.start + s.end) / 2)]
    h = 2.6 * (130 / (1 - 3.5 / 90)) / 19.9**2
    for segment in in_bend:
        assert frame.second_moment_y[segment.member] == pytest.approx(whole * h / 1.65, rel=1e-9)


def test_buckling_counts_the_whole_length_between_landings(hoop: Build) -> None:
    finding = hoop.finding("member-buckling:hoop")
    assert finding is not None
    length = next(step.value for step in finding.because if step.symbol == "L")
    assert length > 0.1  # a chord of the bend is 17 mm


def test_bend_stress_by_hand(hoop: Build) -> None:
    finding = hoop.finding("bend-stress:hoop")
    assert finding is not None and finding.verdict is Verdict.HOLDS
    numbers = {step.symbol: step.value for step in finding.because}
    thin = 2.6 * numbers["R"] / (numbers["R"] + 0.0212)
    bore = 42.4 - 2 * thin
    area = math.pi / 4 * (42.4**2 - bore**2)
    modulus = math.pi / 32 * (42.4**4 - bore**4) / 42.4
    along = abs(numbers["N"]) / area + numbers["i"] * 1e3 * numbers["M"] / modulus
    round_it = abs(numbers["T"]) * 1e3 / (2 * modulus) + 2 * numbers["V"] / area
    assert finding.demand == pytest.approx(1e6 * math.hypot(along, math.sqrt(3) * round_it), rel=1e-9)
    assert numbers["i"] > 1.0


def test_tight_bends_close_bends_and_thin_walls_are_told(changed: Callable[..., Build]) -> None:
    tight = changed(("radius: 130 mm", "radius: 80 mm"), ("clamp: 90 mm", "clamp: 600 mm"))
    for name in ("bend-radius:hoop", "bend-straight:hoop"):
        finding = tight.finding(name)
        assert finding is not None and finding.verdict is Verdict.SHORT and finding.remedy
    thin = changed(("least wall: 2 mm", "least wall: 2.4 mm")).finding("bend-wall:hoop")
    assert thin is not None and thin.verdict is Verdict.SHORT
    assert thin.capacity == pytest.approx(0.0026 * 135.26 / (135.26 + 21.2), rel=1e-3)


def test_a_mandrel_allows_a_tighter_bend(changed: Callable[..., Build]) -> None:
    finding = changed(("radius: 130 mm, clamp", "radius: 80 mm, mandrel: yes, clamp")).finding(
        "bend-radius:hoop"
    )
    assert finding is not None and finding.verdict is Verdict.HOLDS


def test_without_a_bender_the_clamp_is_open(changed: Callable[..., Build]) -> None:
    made = changed(("bender: big", "bend radius: 135 mm"))
    finding = made.finding("bend-straight:hoop")
    assert finding is not None and finding.verdict is Verdict.OPEN
    assert made.finding("bend-order:hoop") is None
    radius = made.finding("bend-radius:hoop")
    assert radius is not None and "computed" in radius.assumed[0]


def test_no_room_below_the_bender_is_told(changed: Callable[..., Build]) -> None:
    bent = (
        "K2: {at: [60 mm fwd, 330 mm right, 250 mm up]}",
        "K2: {at: [260 mm fwd, 330 mm right, 250 mm up]}",
    )
    roomy = changed(bent).finding("bend-order:hoop")
    low = changed(bent, ("room below: 900 mm", "room below: 60 mm")).finding("bend-order:hoop")
    assert roomy is not None and low is not None
    assert roomy.verdict is Verdict.HOLDS
    assert low.ratio is not None and roomy.ratio is not None and low.ratio > roomy.ratio


def test_an_arch_that_nothing_holds_is_loose(changed: Callable[..., Build]) -> None:
    edits = (
        (
            "hoop: {from: fork_left, through: [K1, K2], to: fork_right, stock: main, bender: big}",
            "arm_1: {from: fork_left, through: [K1, K2], to: fork_right, stock: main, bender: big}\n"
            "  hoop: {from: C1, through: [K1], to: C2, arch: yes, stock: main}",
        ),
        ("hoop at 90 mm, to: hoop at 90 mm from end", "arm_1 at 90 mm, to: arm_1 at 90 mm from end"),
        ("in: hoop start", "in: arm_1 start"),
        ("bung_right: {mirror: bung_left, in: hoop end}", "bung_right: {mirror: bung_left, in: arm_1 end}"),
        ("plate: {on: hoop", "plate: {on: arm_1"),
        ("plate_2: {on: hoop", "plate_2: {on: arm_1"),
        (
            "R: {at: [0 mm fwd, 390 mm right, 500 mm up]}",
            "R: {at: [0 mm fwd, 390 mm right, 500 mm up]}\n  S: {at: [900 mm fwd, 0 mm left, 0 mm up]}",
        ),
    )
    with pytest.raises(LooseError, match="hoop"):  # an arch that nothing holds is loose, and named
        changed(*edits)


def test_an_end_that_lands_in_a_bend_sits_on_it_all_round(changed: Callable[..., Build]) -> None:
    build = changed(
        (
            "from: hoop at 90 mm, to: hoop at 90 mm from end",
            "from: hoop at 200 mm, to: hoop at 200 mm from end",
        )
    )
    part, hoop = build.parts.tubes["tie"], build.layout.tubes["hoop"]
    assert hoop.in_bend(0.2) and hoop.path is not None
    for end in (part.end_a, part.end_b):
        lines = part.shape.outline.generators(end.outline.abscissa, 0.0)
        points = part.axes.to_world(np.column_stack([end.outline.outer, lines]))
        near = hoop.path.at([hoop.path.station_of(point) for point in points])
        # the outside edge lies on the hoop's outside: a radius, 42.4 mm / 2, from its axis
        np.testing.assert_allclose(np.linalg.norm(points - near, axis=1), 21.2e-3, atol=1e-9)
    joint = build.finding("tube-joint:tie start")
    assert joint is not None and joint.verdict is Verdict.OPEN and "a bend of hoop" in joint.remedy
    weld = build.finding("weld:tie start")
    assert weld is not None and weld.ratio is not None


def test_an_end_over_two_bends_is_refused_by_name(changed: Callable[..., Build]) -> None:
    with pytest.raises(GeometryError, match="tie: lands over two bends of hoop at once"):
        changed(
            ("K1: {at: [60 mm fwd, 330 mm left", "K1: {at: [60 mm fwd, 60 mm left"),
            ("K2: {at: [60 mm fwd, 330 mm right", "K2: {at: [60 mm fwd, 60 mm right"),
            ("from: hoop at 90 mm, to: hoop at 90 mm from end", "from: hoop middle, to: C1"),
        )


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (", bender: big}", "}", "through and the radius of its bends"),
        (", bender: big}", ", bender: big, bend radius: 90 mm}", "not both"),
        (", bender: big}", ", bender: bif}", "'bif' is not in benders"),
        ("through: [K1, K2]", "through: [K1, K9]", "'K9' is neither"),
        ("tube: 42.4 mm, radius", "tube: 38.1 mm, radius", "takes 38.1 mm and main is 42.4 mm"),
        ("tube: 42.4 x 2.6 mm,", "tube: 40 x 40 x 3 mm,", "only round tube is bent"),
        (", turns: right", "", "belong together"),
        ("springback: 3.5 deg", "springback: 60 deg", "from 0 to 45 deg"),
        (
            "through: [K1, K2], to: fork_right, stock: main, bender: big",
            "through: [K1, K2], arch: yes, to: fork_right, stock: main",
            "an arch has one place",
        ),
    ],
)
def test_faults_of_a_bent_member_are_one_line(old: str, new: str, told: str) -> None:
    assert TEXT.count(old) == 1
    with pytest.raises(JobError, match=told):
        load_text(TEXT.replace(old, new), Path())


def test_a_mirrored_hoop_goes_through_the_other_side() -> None:
    text = TEXT.replace(
        "  tie: {from",
        "  left_1: {from: L, through: [C1_left], to: K1, stock: main, bend radius: 140 mm}\n"
        "  right_1: {mirror: left_1, from: R, to: K2}\n  tie: {from",
    )
    text = text.replace("  C1: {", "  C1_left: {").replace("  C2: {", "  C1_right: {")
    assert load_text(text, Path()).members["right_1"].through == ("C1_right",)


def test_straights_beside_a_bend_count_for_as_far_as_they_run(hoop: Build) -> None:
    """To the next bend or the tube's end, and a foot's reach more."""
    tube, foot = hoop.layout.tubes["hoop"], 0.03
    assert tube.path is not None
    (start, first), (second_start, second) = tube.path.bends
    legs = [_bent(tube, bend, foot).legs for bend in (first, second)]
    between = second_start - start - first.length
    assert legs[0] == pytest.approx((start + foot, between + foot), abs=1e-12)
    end = tube.path.length - second_start - second.length
    assert legs[1] == pytest.approx((between + foot, end + foot), abs=1e-12)
