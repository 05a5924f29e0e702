"""What follows from the bodies' places: the screws they are set with, and the shafts."""

from collections.abc import Mapping
from dataclasses import dataclass

from soapstone.finding import Finding
from soapstone.job.schema import Job
from soapstone.place.alignment import alignment_findings
from soapstone.place.findings_propeller import jointed_findings, whip_findings
from soapstone.place.findings_seat import seat_findings
from soapstone.place.findings_state import state_findings
from soapstone.place.jacking import Jacked, jack_findings, jacked
from soapstone.place.placed import Placed, placement_findings
from soapstone.place.shafting import HalfRun, PropellerRun, half_findings, half_runs, propeller_runs
from soapstone.survey.records import Survey


@dataclass(frozen=True)
class Driveline:
    """The screws and shafts of a job."""

    jacked: tuple[Jacked, ...] = ()
    half_shafts: tuple[HalfRun, ...] = ()
    propeller_shafts: tuple[PropellerRun, ...] = ()


def driveline(job: Job, survey: Survey, placed: Mapping[str, Placed]) -> Driveline:
    """Turn the screws and run the shafts; pure."""
    return Driveline(jacked(job, placed), half_runs(job, survey, placed), propeller_runs(job, survey, placed))


def driveline_findings(
    job: Job, survey: Survey, placed: Mapping[str, Placed], found: Driveline
) -> tuple[Finding, ...]:
    """All there is to say of how the bodies sit and of their shafts."""
    resting = [name for name, put in job.place.items() if put.rest is not None]
    return (
        *state_findings(job),
        *placement_findings(placed),
        *seat_findings(placed, resting),
        *jack_findings(found.jacked),
        *(finding for run in found.half_shafts for finding in half_findings(run)),
        *(finding for run in found.propeller_shafts for finding in _propeller(run, job, survey, placed)),
    )


def _propeller(
    run: PropellerRun, job: Job, survey: Survey, placed: Mapping[str, Placed]
) -> tuple[Finding, ...]:
    if run.spec.coupling == "joint":
        return jointed_findings(run, job)
    whip = whip_findings(run, job) if run.joints is not None else ()
    return (*alignment_findings(run, job, survey, placed), *whip)
