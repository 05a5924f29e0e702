"""Turned parts: limits of size from the standard, drills, volumes, fits."""

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import GeometryError, JobError, SoapstoneError
from soapstone.finding import Verdict
from soapstone.job.load import load_text
from soapstone.job.schema import Job
from soapstone.parts.turned import fit_findings, turned_parts, weld_words
from soapstone.tables import bolt_sizes, thread_limits
from soapstone.tables.fits import fold_rule, limits, process, tapping_drill
from soapstone.tables.rows import table

HEAD = """
soapstone: 1
title: Turned parts (invented)
invented: yes
datum: {origin: anywhere, state: standing}
points: {A: {at: [0 mm fwd, 0 mm left, 0 mm up]}}
stock:
  main: {tube: 42.4 x 2.6 mm, of: S235}
  box: {tube: 40 x 40 x 3 mm, of: S235}
service: {cases: {own weight: from table}}
turned:
"""


def job(*lines: str) -> Job:
    return load_text(HEAD + "".join(f"  {line}\n" for line in lines), Path())


def test_25_h7_g6() -> None:
    """ISO 286: hole +21/0, shaft −7/−20 µm, clearance 7 to 41."""
    hole, shaft = limits(0.025, "H7", hole=True), limits(0.025, "g6", hole=False)
    assert [round(1e6 * (x - 0.025)) for x in (hole.least, hole.largest)] == [0, 21]
    assert [round(1e6 * (x - 0.025)) for x in (shaft.least, shaft.largest)] == [-20, -7]
    assert round(1e6 * (hole.least - shaft.largest)) == 7
    assert round(1e6 * (hole.largest - shaft.least)) == 41


@pytest.mark.parametrize(
    ("size", "text", "hole", "low", "high"),
    [
        (0.020, "h6", False, -13, 0),
        (0.020, "k6", False, 2, 15),
        (0.020, "p6", False, 22, 35),
        (0.020, "js6", False, -6.5, 6.5),
        (0.010, "F8", True, 13, 35),
        (0.012, "JS9", True, -21.5, 21.5),
        (0.120, "e8", False, -126, -72),
        (0.003, "H11", True, 0, 60),
    ],
)
def test_other_classes(size: float, text: str, hole: bool, low: float, high: float) -> None:
    """ISO 286-2 tables (from memory), microns."""
    found = limits(size, text, hole=hole)
    assert 1e6 * (found.least - size) == pytest.approx(low, abs=1e-6)
    assert 1e6 * (found.largest - size) == pytest.approx(high, abs=1e-6)


def test_grades_grow_as_their_formula() -> None:
    """IT6 = 10 i, i = 0.45 D^⅓ + 0.001 D at the geometric mean of the range: within 9 % or 1.5 µm.

    The range up to 3 mm, rounded its own way, is left to the rows above.
    """
    rows = table("fits")
    edges = [1, *rows["upto"]]
    for column, (low, high) in enumerate(zip(edges, rows["upto"], strict=False)):
        if column == 0:
            continue
        mean = math.sqrt(low * high)
        unit = 0.45 * mean ** (1 / 3) + 0.001 * mean
        for grade, times in ((6, 10), (7, 16), (8, 25), (9, 40), (10, 64), (11, 100)):
            printed = rows["grade"][str(grade)][column]
            assert printed == pytest.approx(times * unit, rel=0.09, abs=1.5)


@pytest.mark.parametrize(
    ("size", "text", "hole"),
    [(0.02, "H7", False), (0.02, "q6", False), (0.5, "h6", False), (0.02, "k9", False)],
)
def test_what_the_table_has_not_is_said(size: float, text: str, hole: bool) -> None:
    with pytest.raises(SoapstoneError):
        limits(size, text, hole=hole)


def test_tapping_drills_leave_a_thread() -> None:
    """Between the tapped hole's least and most minor diameter: 60 % of a thread's depth or more."""
    tried = 0
    for size in bolt_sizes():
        drill, found = tapping_drill(size), thread_limits(size)
        if drill is None or found is None:
            continue
        tried += 1
        assert size.diameter - 1.0826 * size.pitch <= drill + 1e-9
        # ASME drills are a few hundredths larger than the most minor diameter allows at full length
        assert drill <= found.internal_minor * 1.008
    assert tried >= 20


def test_a_spacer_by_hand() -> None:
    (made,) = turned_parts(job("s: {kind: spacer, of: S235, outside: 20 mm, bore: 10 mm, length: 30 mm}"))
    assert made.volume == pytest.approx(math.pi / 4 * (0.02**2 - 0.01**2) * 0.03, rel=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.floats(12, 80), st.floats(10, 90), st.floats(0, 4))
def test_chamfers_take_a_ring_each(outside: float, length: float, chamfer: float) -> None:
    """Pappus: a triangle of c²/2 whose centroid runs at r − c/3."""
    text = (
        f"p: {{kind: pin, of: S235, outside: {outside:.3f} mm, length: {length:.3f} mm, "
        f"chamfer: {chamfer:.3f} mm}}"
    )
    (made,) = turned_parts(job(text))
    r, c, long = (round(x, 3) / 1e3 for x in (outside, chamfer, length))
    r /= 2
    ring = 2 * math.pi * (r - c / 3) * c * c / 2
    assert made.volume == pytest.approx(math.pi * r * r * long - 2 * ring, rel=1e-9)


def test_a_bung_fits_its_tube() -> None:
    (made,) = turned_parts(
        job(
            "b: {kind: bung, of: S355, outside: 42.4 mm, length: 50 mm, thread: M16x1.5, into: "
            "main, spigot: 30 mm, clearance: 0.1 mm}"
        )
    )
    assert made.spigot == pytest.approx(0.0371) and made.hole == pytest.approx(0.0145)
    assert made.thread == "M16x1.5"
    words = weld_words(made)
    assert "two plug holes of 6 mm" in words and "0.5 mm" in words
    ends = [radius for _, radius in made.profile]
    assert max(ends) == pytest.approx(0.0212) and min(ends) == pytest.approx(0.01855)


@pytest.mark.parametrize(
    ("shaft", "verdict"), [("g6", Verdict.HOLDS), ("h6", Verdict.HOLDS), ("p6", Verdict.SHORT)]
)
def test_fits_of_a_pair(shaft: str, verdict: Verdict) -> None:
    parts = turned_parts(
        job(
            "sleeve: {kind: sleeve, of: S235, outside: 30 mm, bore: 20 mm, bore fit: H7, "
            "length: 40 mm, mates: pin}",
            f"pin: {{kind: pin, of: S235, outside: 20 mm, outside fit: {shaft}, length: 60 mm}}",
        )
    )
    (finding,) = fit_findings(parts)
    assert finding.verdict is verdict and finding.id == "fit:sleeve"
    assert bool(finding.remedy) is (verdict is Verdict.SHORT)


def test_a_fit_that_nobody_gives_is_open() -> None:
    parts = turned_parts(
        job(
            "sleeve: {kind: sleeve, of: S235, outside: 30 mm, bore: 20 mm, length: 40 mm, mates: pin}",
            "pin: {kind: pin, of: S235, outside: 20 mm, length: 60 mm}",
        )
    )
    assert fit_findings(parts)[0].verdict is Verdict.OPEN


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("b: {kind: bung, of: S235, outside: 30 mm, length: 50 mm}", "has a bore or a thread"),
        ("b: {kind: bung, of: S235, outside: 30 mm, bore: 40 mm, length: 50 mm}", "larger than the outside"),
        (
            "b: {kind: bung, of: S235, outside: 30 mm, bore: 10 mm, length: 50 mm, into: main}",
            "belong together",
        ),
        ("b: {kind: bung, of: S235, outside: 30 mm, thread: M13, length: 50 mm}", "M13"),
        (
            "b: {kind: sleeve, of: S235, outside: 30 mm, bore: 20 mm, bore fit: g6, length: 50 mm}",
            "no class of a hole",
        ),
        (
            "b: {kind: sleeve, of: S235, outside: 30 mm, bore: 20 mm, length: 50 mm, mates: c}",
            "'c' is not in turned",
        ),
        ("b: {kind: sleeve, of: Cheese, outside: 30 mm, bore: 20 mm, length: 50 mm}", "no material"),
        ("b: {kind: pin, of: S235, outside: 30 mm, length: 50 mm, quantity: 2.5}", "a whole number"),
    ],
)
def test_faults_are_told(line: str, told: str) -> None:
    with pytest.raises(JobError, match=told):
        job(line)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            "b: {kind: bung, of: S235, outside: 30 mm, bore: 10 mm, length: 50 mm, into: main, "
            "spigot: 20 mm, clearance: 0.1 mm}",
            "no shoulder",
        ),
        (
            "b: {kind: bung, of: S235, outside: 50 mm, bore: 10 mm, length: 50 mm, into: box, "
            "spigot: 20 mm, clearance: 0.1 mm}",
            "box is not",
        ),
        (
            "b: {kind: bung, of: S235, outside: 50 mm, bore: 40 mm, length: 50 mm, into: main, "
            "spigot: 20 mm, clearance: 0.1 mm}",
            "leaves no wall",
        ),
    ],
)
def test_shapes_that_cannot_be_are_told(line: str, told: str) -> None:
    with pytest.raises(GeometryError, match=told):
        turned_parts(job(line))


def test_what_a_cutter_holds() -> None:
    assert process("laser").hole == 1.0 and process("plasma").kerf == pytest.approx(0.0015)
    assert fold_rule().leg == 4.0
