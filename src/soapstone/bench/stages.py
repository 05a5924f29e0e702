"""The stations along the top of the bench, and which of them a finding belongs to."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from soapstone.finding import Finding, Verdict


class Stage(StrEnum):
    """A station, in the order of the work."""

    MEASURE = "Measure"
    PLACE = "Place"
    DRAW = "Draw"
    HOLD = "Hold"
    FIT = "Fit"
    MAKE = "Make"


_KINDS = {
    Stage.MEASURE: "reading point survey ride-height",
    Stage.PLACE: "placed-point placed-sides dressed pose-target pose-limit pose-free jacks half-shaft-angle "
    "half-shaft-plunge joint-angle joint-evenness shaft-speed shaft-alignment",
    Stage.DRAW: "overhang through-hole bend-radius bend-straight bend-wall",
    Stage.FIT: "bolt-up unit-sway mount-broken",
    Stage.MAKE: "outline cut-hole cut-web fold-radius fold-leg fold-hole fold-wedge fit bend-order",
}
STAGE_OF = {kind: stage for stage, kinds in _KINDS.items() for kind in kinds.split()}
"""Kinds of finding by station; what is not listed asks whether it holds."""

_WORST_FIRST = {Verdict.SHORT: 0, Verdict.OPEN: 1, Verdict.HOLDS: 2}


def stage_of(finding: Finding) -> Stage:
    """The station a finding is shown at."""
    return STAGE_OF.get(finding.kind, Stage.HOLD)


@dataclass(frozen=True)
class Wanted:
    """Which findings to list: those with every word of `words` in part, case, claim or kind."""

    stage: Stage | None = None
    verdict: Verdict | None = None
    words: str = ""

    def takes(self, finding: Finding) -> bool:
        """Whether a finding is among them."""
        said = f"{finding.id} {finding.about} {finding.case} {finding.claim}".lower()
        return (
            self.stage in (None, stage_of(finding))
            and self.verdict in (None, finding.verdict)
            and all(word in said for word in self.words.lower().split())
        )


def by_reserve(findings: Iterable[Finding]) -> list[Finding]:
    """Short before open before what holds, the least reserve first."""
    return sorted(findings, key=lambda f: (_WORST_FIRST[f.verdict], -(f.ratio or 0.0), f.id))


def counts(findings: Iterable[Finding]) -> dict[Stage, tuple[int, int]]:
    """Short and open findings of each station."""
    found = {stage: [0, 0] for stage in Stage}
    for finding in findings:
        if finding.verdict is not Verdict.HOLDS:
            found[stage_of(finding)][finding.verdict is Verdict.OPEN] += 1
    return {stage: (short, unknown) for stage, (short, unknown) in found.items()}


def touches(finding: Finding, name: str) -> bool:
    """Whether a finding is about a thing or about an end of it."""
    return finding.about == name or finding.about.startswith(f"{name} ") or finding.id.endswith(f":{name}")
