"""Job to Build: the one place that knows the order of the stages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding, Verdict
from soapstone.fit.bolt_up import BoltedUp, bolt_up
from soapstone.fit.findings_bolt_up import bolt_up_findings
from soapstone.fit.patterns import patterns_of
from soapstone.frame import Solution, solve
from soapstone.frame.idealise import Idealised, idealise
from soapstone.frame.modes import Modes
from soapstone.frame.statics import Statics, statics
from soapstone.frame.unit_modes import unit_modes
from soapstone.job.bolting import BoltUp
from soapstone.job.schema import Job
from soapstone.parts.bend_findings import bend_findings
from soapstone.parts.cutting import CutParts, cut_parts, overhang_findings
from soapstone.parts.layout import Layout, lay_out
from soapstone.parts.shop_parts import ShopParts, shop_findings, shop_parts
from soapstone.parts.unplaced import unplaced_findings
from soapstone.place.findings_rubber import rubber_findings
from soapstone.place.hung import suspended_bodies
from soapstone.place.loads import LoadCase, load_cases
from soapstone.place.on_rubber import OnRubber, answer_on_rubber
from soapstone.place.placed import Placed, place_bodies
from soapstone.place.stage import Driveline, driveline, driveline_findings
from soapstone.strength.envelope import Bounds, both_bounds
from soapstone.strength.load_path import Link, load_path
from soapstone.strength.misfits import misfit_findings
from soapstone.strength.work import Work
from soapstone.survey import Survey, adjust
from soapstone.survey import findings as survey_findings
from soapstone.survey.next_reading import Proposal
from soapstone.survey.of_job import network_of
from soapstone.survey.proposals import proposals
from soapstone.survey.records import Network

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Build:
    """Everything that follows from a job; each field is the record of one stage.

    Attributes
    ----------
    job : Job
    network, survey : what was read, and the points with their spread
    next_readings : what is worth measuring next
    placed : bodies in their place
    driveline : the screws they are set with, and the shafts between them and what they drive
    cases : load cases
    rubber : bodies on rubber mounts: how they sag, sway, shake, and what room they sweep
    layout : tubes, forks and hangers in place
    parts : the same cut to shape, ready for paper
    made : plates, folded tubes and turned parts that the job lists
    idealised, solution : the frame and how it answers the loads, tabs stiff and bending not fed back
    bounds : the same with tabs stiff and with tabs giving, bending fed back where it matters
    movements : how far every named place moves, (c, 3) m
    bolted : how each pattern of bolts goes in
    statics : weight of the whole, and what holds each body, with the check by statics alone
    unit_modes : how units on rubber swing on the frame that gives; None without rubber or without inertia
    findings : of all stages, in the order of the stages
    """

    job: Job
    network: Network
    survey: Survey
    next_readings: tuple[Proposal, ...]
    placed: Mapping[str, Placed]
    driveline: Driveline
    cases: tuple[LoadCase, ...]
    rubber: Mapping[str, OnRubber]
    layout: Layout
    parts: CutParts
    made: ShopParts
    idealised: Idealised
    solution: Solution
    bounds: Bounds
    movements: Mapping[str, Array]
    bolted: tuple[BoltedUp, ...]
    statics: Statics
    unit_modes: Modes | None
    findings: tuple[Finding, ...]

    def finding(self, identifier: str) -> Finding | None:
        """The finding of that id, if there is one."""
        return next((f for f in self.findings if f.id == identifier), None)

    @property
    def work(self) -> Work:
        """What the strength checks read."""
        return Work(self.job, self.layout, self.parts, self.idealised, self.solution)

    def reworked(self, layout: Layout) -> tuple[Work, ...]:
        """The same with other parts, cut and solved anew, once for each bound; errors as `build`."""
        idealised = idealise(self.job, layout, self.placed, self.cases, self.rubber)
        solution = solve(idealised.frame, idealised.loads)
        return self.bounds.works_after(self.job, layout, cut_parts(layout), idealised, solution)

    @cached_property
    def links(self) -> tuple[Link, ...]:
        """The load path, weakest link first, with what would help the first of them."""
        return load_path(self.works, self.findings, self.reworked)

    @property
    def works(self) -> tuple[Work, ...]:
        """What the strength checks read, once for each bound of the tabs' stiffness."""
        return self.bounds.works(self.job, self.layout, self.parts)

    @property
    def verdict(self) -> Verdict:
        """The worst verdict: short before open before holds."""
        verdicts = {finding.verdict for finding in self.findings}
        for worst in (Verdict.SHORT, Verdict.OPEN):
            if worst in verdicts:
                return worst
        return Verdict.HOLDS


Progress = Callable[[str], None]


def build(job: Job, progress: Progress = lambda stage: None) -> Build:
    """Run every stage.

    Parameters
    ----------
    job : Job
    progress : called with the name of each stage as it starts

    Raises
    ------
    SoapstoneError
        When a stage cannot answer: a shape that cannot be cut, a frame that can move.
    """
    progress("points")
    network = network_of(job)
    survey = adjust(network)
    progress("place")
    placed = place_bodies(job, survey)
    shafts = driveline(job, survey, placed)
    proposed = proposals(
        job, survey, {name: (body.pose.rotation, body.pose.origin) for name, body in placed.items()}
    )
    progress("parts")
    layout = lay_out(job, survey, placed)
    cases = load_cases(job, placed, layout.points)
    rubber = answer_on_rubber(job, suspended_bodies(job, placed), placed, cases)
    parts, made = cut_parts(layout, job.shop.gap if job.shop else 0.0), shop_parts(job)
    progress("frame")
    idealised = idealise(job, layout, placed, cases, rubber)
    solution = solve(idealised.frame, idealised.loads)
    bounds = both_bounds(job, layout, idealised, solution)
    moved = bounds.movements(layout, placed)
    balanced = statics(job, layout, placed, cases, idealised, solution, rubber)
    swinging = unit_modes(job, placed, idealised, rubber)
    progress("fit")
    wanted = (job.bolt_up or BoltUp()).chance
    bolted = tuple(bolt_up(pattern, wanted) for pattern in patterns_of(job, layout, survey))
    progress("strength")
    findings = (
        *survey_findings(survey, network),
        *driveline_findings(job, survey, placed, shafts),
        *rubber_findings(job, rubber, balanced.mount_forces),
        *balanced.findings,
        *overhang_findings(parts),
        *bend_findings(job, layout, parts),
        *shop_findings(made),
        *unplaced_findings(job, made),
        *bounds.findings(job),
        *bounds.strength(job, layout, parts),
        *misfit_findings(layout, idealised, job.misfit),
        *bolt_up_findings(bolted),
    )
    return Build(
        job=job,
        network=network,
        survey=survey,
        next_readings=proposed,
        placed=placed,
        driveline=shafts,
        cases=cases,
        rubber=rubber,
        layout=layout,
        parts=parts,
        made=made,
        idealised=idealised,
        solution=solution,
        bounds=bounds,
        movements=moved,
        bolted=bolted,
        statics=balanced,
        unit_modes=swinging,
        findings=findings,
    )
