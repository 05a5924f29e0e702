"""What a comparison allows, and the comparisons it refuses because they could never fail."""

from decimal import Decimal

import pytest

from soapstone.errors import SoapstoneError
from soapstone.verify import Check, run_checks
from soapstone.verify.compare import compare
from soapstone.verify.manual import computed_text
from soapstone.verify.table import check_of, source_text


def row(published="32.99", **more):
    given = {
        "id": "row",
        "area": "quantity",
        "what": "a gauge",
        "published": published,
        "unit": "in",
        "source": "shigley",
        "place": "p. 1",
        "by": "wall_gauges",
        "pick": "11 BWG",
    }
    return Check(**{**given, **more})


@pytest.mark.parametrize(
    ("published", "computed", "holds"),
    [
        ("32.99", 32.995, True),
        ("32.99", 32.985, True),
        ("32.99", 32.9951, False),
        ("32.990", 32.9906, False),
        ("4.89e4", 48949.0, True),
        ("4.89e4", 48951.0, False),
        ("-0.014", -0.01399513, True),
        ("-0.014", 0.01399513, False),
        ("2415776.9044", 2415776.90444, True),
        ("2415776.9044", 2415776.90446, False),
        ("30", float("nan"), False),
        ("30", float("inf"), False),
    ],
)
def test_the_printed_digits_set_the_tolerance(published, computed, holds):
    assert compare(row(published), computed).holds is holds


def test_figures_are_relative():
    result = compare(row("40.0"), 40.02)
    assert result.relative_error == pytest.approx(0.0005, rel=1e-9)
    assert result.tolerance == pytest.approx(0.00125, rel=1e-12)


def test_a_wider_tolerance_has_a_reason():
    cut = row(units_of_last_digit=1.0, because="cut short in print")
    assert compare(cut, 32.9956).holds
    assert not compare(row(), 32.9956).holds
    share = row(relative=1e-3, because="made of chords")
    assert compare(share, 33.02).holds and not compare(share, 33.03).holds
    for more in ({"units_of_last_digit": 1.0}, {"relative": 1e-3}):
        with pytest.raises(SoapstoneError, match="row: a tolerance wider than half a unit"):
            row(**more)


@pytest.mark.parametrize("published", ["32.99", "-0.014", "1e-9", "2415776.9044"])
@pytest.mark.parametrize("edge", [-1, 0, 1])
def test_shifted_by_three_tolerances_even_the_edge_of_what_held_fails(published, edge):
    step = Decimal(1).scaleb(Decimal(published).as_tuple().exponent) / 2
    computed = float(Decimal(published) + edge * step * Decimal("0.999"))
    assert compare(row(published), computed).holds
    shifted = compare(row(published), computed, shifted=True)
    assert not shifted.holds
    assert float(shifted.published_text) == pytest.approx(float(Decimal(published) + 3 * step), rel=1e-11)


def test_a_zero_is_compared_on_a_scale():
    zero = row("0", scale=2.5e-10, relative=1e-9, because="rounding of the solver")
    assert compare(zero, 2e-19).holds
    assert not compare(zero, 3e-19).holds
    assert not compare(zero, 0.0, shifted=True).holds
    with pytest.raises(SoapstoneError, match="row: a published zero needs a scale"):
        compare(row("0"), 0.0)


@pytest.mark.parametrize(
    "never",
    [
        row("0.3", units_of_last_digit=3.0, because="none"),
        row("5", relative=1.0, because="none"),
        row("0", scale=0.4),
        row("5", relative=0.0, because="none"),
    ],
)
def test_a_comparison_that_could_never_fail_is_refused(never):
    with pytest.raises(SoapstoneError, match=r"could never (fail|hold)"):
        compare(never, 0.0)


def test_a_published_value_is_text_and_a_number():
    with pytest.raises(SoapstoneError, match="row: the published value is kept as text"):
        check_of("parts", {"id": "row", "published": 32.99})
    with pytest.raises(SoapstoneError, match="Infinity is no published value"):
        compare(row("inf"), 1.0)


def test_a_row_names_what_is_there():
    with pytest.raises(SoapstoneError, match="row: the source 'nobody' is not in the list of sources"):
        row(source="nobody")
    with pytest.raises(SoapstoneError, match="row: no function 'nothing' sets this problem up"):
        run_checks(only=[row(by="nothing")])
    with pytest.raises(SoapstoneError, match=r"row: 'wall_gauges' answers 9 BWG, .*, 20 BWG, not '17 BWG'"):
        run_checks(only=[row(pick="17 BWG")])


def test_each_problem_is_solved_once(monkeypatch):
    solved = []

    def problem():
        solved.append(1)
        return {"11 BWG": 0.12, "13 BWG": 0.095}

    monkeypatch.setattr("soapstone.verify.run.PROBLEMS", {"quantity": {"wall_gauges": problem}})
    results = run_checks(only=[row("0.120"), row("0.095", pick="13 BWG"), row("0.121")])
    assert [result.holds for result in results] == [True, True, False]
    assert len(solved) == 1


def test_a_source_without_author_or_edition_is_cited_without_them():
    assert source_text(row(source="vehicle_loads", place="table")) == (
        "course text after Brown, Robertson and Serpento, Loads on vehicle structures, table"
    )
    assert source_text(row(source="practice", place="")) == "common practice, no source"


@pytest.mark.parametrize(
    ("published", "computed", "text"),
    [
        ("32.99", 32.9955679, "32.9956"),
        ("58", 57.9895969, "57.99"),
        ("0", -1e-20, "0.00"),
        ("4.89e4", 48874.592, "4.8875e4"),
        ("-2.352e-3", -2.351889335e-3, "-2.35189e-3"),
    ],
)
def test_computed_values_are_shown_in_the_manner_of_the_published(published, computed, text):
    assert computed_text(published, computed) == text
