"""A small job whose unit is set and whose shafts are run, without its frame."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from soapstone.finding import Finding
from soapstone.job.load import load_text
from soapstone.job.schema import Job
from soapstone.place.placed import Placed, place_bodies
from soapstone.place.seating import Seat
from soapstone.place.stage import Driveline, driveline, driveline_findings
from soapstone.survey import adjust
from soapstone.survey.of_job import network_of
from soapstone.survey.records import Survey


@dataclass(frozen=True)
class Trial:
    job: Job
    survey: Survey
    placed: dict[str, Placed]
    driveline: Driveline
    findings: dict[str, Finding]

    @property
    def seat(self) -> Seat:
        seat = self.placed["unit"].seat
        assert seat is not None
        return seat


@pytest.fixture(scope="session")
def unit_text() -> str:
    return Path(__file__).with_name("unit.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def edited(unit_text: str) -> Callable[..., str]:
    """The small job's text with pieces exchanged; each must stand in it exactly once."""

    def make(*edits: tuple[str, str]) -> str:
        text = unit_text
        for old, new in edits:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        return text

    return make


@pytest.fixture(scope="session")
def trial(edited: Callable[..., str]) -> Callable[..., Trial]:
    """The small job with pieces exchanged, placed and run."""

    def make(*edits: tuple[str, str]) -> Trial:
        job = load_text(edited(*edits), Path())
        survey = adjust(network_of(job))
        placed = place_bodies(job, survey)
        found = driveline(job, survey, placed)
        findings = driveline_findings(job, survey, placed, found)
        assert len({finding.id for finding in findings}) == len(findings)
        return Trial(job, survey, placed, found, {finding.id: finding for finding in findings})

    return make
