"""The one shape of an answer."""

import re
from pathlib import Path

import pytest

from soapstone.finding import KINDS, Finding, Verdict, judge

PAGE = Path(__file__).parents[1] / "docs" / "findings.md"


def test_the_docs_page_lists_the_same_kinds_in_the_same_order() -> None:
    assert re.findall(r"^## `([a-z-]+)`$", PAGE.read_text(encoding="utf-8"), re.MULTILINE) == list(KINDS)


def test_a_kind_off_the_list_is_refused() -> None:
    with pytest.raises(ValueError, match="not on the list"):
        Finding("hunch:bar", "bar", "it will be all right", Verdict.HOLDS)


@pytest.mark.parametrize(
    ("demand", "verdict"), [(0.99, Verdict.HOLDS), (1.0, Verdict.HOLDS), (1.01, Verdict.SHORT)]
)
def test_the_verdict_is_the_ratio(demand: float, verdict: Verdict) -> None:
    assert judge(2 * demand, 2.0) == (demand, verdict)


def test_the_marks_tell_verdicts_apart_without_colour() -> None:
    assert len({verdict.mark for verdict in Verdict}) == 3
