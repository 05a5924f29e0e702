"""Every strength check of a job, fed with what the frame found."""

from collections.abc import Iterator

from soapstone.finding import Finding
from soapstone.frame import Solution
from soapstone.frame.idealise import Idealised
from soapstone.job.schema import Job
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout
from soapstone.strength.answers import unanswered
from soapstone.strength.bar_checks import bar_findings
from soapstone.strength.hangers import boss_gaps, hanger_findings
from soapstone.strength.passing import passing_findings
from soapstone.strength.plate_checks import fork_findings, loose, loose_fork
from soapstone.strength.tube_checks import tube_findings
from soapstone.strength.work import Work


def strength_findings(
    job: Job, layout: Layout, parts: CutParts, idealised: Idealised, solution: Solution
) -> tuple[Finding, ...]:
    """All findings of this room, part by part in the job's order; pure."""
    return tuple(_all(Work(job, layout, parts, idealised, solution)))


def _all(work: Work) -> Iterator[Finding]:
    for tube in work.layout.tubes.values():
        yield from tube_findings(work, tube)
        yield from passing_findings(work, tube)
    for bar in work.layout.bars.values():
        yield from bar_findings(work, bar)
    if work.layout.tubes and not work.cycles.any():
        yield unanswered(
            "fatigue:frame",
            "no weld cracks from the to-and-fro of service",
            "say how often each case comes in the frame's life: service cycles, like {bump: 200000}",
            source="EN 1993-1-9",
        )
    for fork in work.layout.forks.values():
        yield from fork_findings(work, fork) if fork.tight else loose_fork(fork)
    for hanger in work.layout.hangers.values():
        yield from hanger_findings(work, hanger)
    yield from boss_gaps(work)
    for name in work.job.bodies:
        if name not in work.idealised.bodies:
            yield loose(name, f"{name} hangs on something", f"give {name} hangers with bolts")
