"""What follows from the bodies' places: the screws they are set with, and the shafts."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from soapstone.finding import Finding
from soapstone.job.schema import Job
from soapstone.place.alignment import alignment_findings
from soapstone.place.findings_propeller import jointed_findings, whip_findings
from soapstone.place.findings_seat import seat_findings
from soapstone.place.findings_state import state_findings
from soapstone.place.jacking import Jacked, jack_findings, jacked
from soapstone.place.placed import Placed, placement_findings
from soapstone.place.shafting import (
    HalfRun,
    PropellerRun,
    half_findings,
    half_runs,
    propeller_run,
    propeller_runs,
)
from soapstone.place.swayed import STILL, Poses, farthest, in_each_case, swayed_half, worst_of
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
    job: Job, survey: Survey, placed: Mapping[str, Placed], found: Driveline, poses: Poses = STILL
) -> tuple[Finding, ...]:
    """All there is to say of how the bodies sit and of their shafts.

    Parameters
    ----------
    poses : how each body on rubber moves in each load case; its shafts are looked at there too
    """
    resting = [name for name, put in job.place.items() if put.rest is not None]
    return (
        *state_findings(job),
        *placement_findings(placed),
        *seat_findings(placed, resting),
        *jack_findings(found.jacked),
        *(finding for run in found.half_shafts for finding in _half(run, job, placed, poses)),
        *(
            finding
            for run in found.propeller_shafts
            for finding in _propeller(run, job, survey, placed, poses)
        ),
    )


def _half(run: HalfRun, job: Job, placed: Mapping[str, Placed], poses: Poses) -> tuple[Finding, ...]:
    cases = in_each_case(run.spec.from_, placed, poses)
    swayed = {
        case: half_findings(swayed_half(run, job, there), on_rubber=True) for case, there in cases.items()
    }
    return worst_of(half_findings(run, on_rubber=bool(cases)), swayed)


def _propeller(
    run: PropellerRun, job: Job, survey: Survey, placed: Mapping[str, Placed], poses: Poses
) -> tuple[Finding, ...]:
    if run.spec.coupling == "joint":
        swayed = {
            case: jointed_findings(propeller_run(run.name, run.spec, job, survey, there), job)
            for case, there in in_each_case(run.spec.from_, placed, poses).items()
        }
        return worst_of(jointed_findings(run, job), swayed)
    whip = whip_findings(run, job) if run.joints is not None else ()
    moved = farthest(run.spec.from_, placed, poses)
    return (*(_bent(one, moved) for one in alignment_findings(run, job, survey, placed)), *whip)


def _bent(finding: Finding, moved: tuple[str, float] | None) -> Finding:
    """What a rigid coupling's shaft must follow is told beside how true it stands at rest."""
    if moved is None:
        return finding
    way = f"{1000.0 * moved[1]:.1f} mm on its mounts ({moved[0]})"
    words = f"at rest; the flange moves {way}, and the shaft with it"
    return replace(finding, caution="; ".join(filter(None, (finding.caution, words))))
