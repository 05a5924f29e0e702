"""Job to Build: the one place that knows the order of the stages."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ParamSpec, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding, Verdict
from soapstone.fit.bolt_up import BoltedUp, bolt_up
from soapstone.fit.findings_bolt_up import bolt_up_findings
from soapstone.fit.patterns import patterns_of
from soapstone.fit.stage import Room, room_of
from soapstone.fit.ways_in import WaysIn, ways_in
from soapstone.frame import Solution, solve
from soapstone.frame.idealise import Idealised, idealise
from soapstone.frame.modes import Modes
from soapstone.frame.statics import Statics, statics
from soapstone.frame.unit_modes import unit_modes
from soapstone.job.bolting import BoltUp
from soapstone.job.schema import Job
from soapstone.parts.assembly import Assembly, assembled
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
from soapstone.survey.bodies import Shape, as_measured, body_shapes, shape_findings
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
    shapes : bodies that were measured on the shop floor
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
    assembly : every part as a solid, and the scans
    bolted : how each pattern of bolts goes in
    ways : how each body goes in, stage after stage, and how all of it comes apart
    statics : weight of the whole, and what holds each body, with the check by statics alone
    unit_modes : how units on rubber swing on the frame that gives; None without rubber or without inertia
    room : how near everything comes to everything
    findings : of all stages, in the order of the stages
    """

    job: Job
    network: Network
    survey: Survey
    shapes: Mapping[str, Shape]
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
    assembly: Assembly
    bolted: tuple[BoltedUp, ...]
    ways: WaysIn
    statics: Statics
    unit_modes: Modes | None
    room: Room
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
_P = ParamSpec("_P")
_T = TypeVar("_T")


class Run(Protocol):
    """Answers one stage: by running it, or with what it answered before to the same inputs."""

    def __call__(self, stage: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
        """What the stage gives for these inputs."""
        ...


def at_once(stage: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
    """Run it, whatever ran before."""
    return stage(*args, **kwargs)


def build(job: Job, progress: Progress = lambda stage: None, run: Run = at_once) -> Build:
    """Run every stage.

    Parameters
    ----------
    job : Job
    progress : called with the name of each stage as it starts
    run : answers each stage; a face that builds again and again hands in one that remembers

    Raises
    ------
    SoapstoneError
        When a stage cannot answer: a shape that cannot be cut, a frame that can move.
    """
    progress("points")
    network = run(network_of, job)
    survey = run(adjust, network)
    progress("place")
    shapes = run(body_shapes, job)
    job = as_measured(job, shapes)
    placed = run(place_bodies, job, survey, shapes)
    shafts = run(driveline, job, survey, placed)
    proposed = run(_proposals, job, survey, placed)
    progress("parts")
    layout = run(lay_out, job, survey, placed)
    cases = run(load_cases, job, placed, layout.points)
    rubber = run(answer_on_rubber, job, run(suspended_bodies, job, placed), placed, cases)
    parts, made = run(cut_parts, layout, job.shop.gap if job.shop else 0.0), run(shop_parts, job)
    progress("frame")
    idealised = run(idealise, job, layout, placed, cases, rubber)
    solution = run(solve, idealised.frame, idealised.loads)
    bounds = run(both_bounds, job, layout, idealised, solution)
    moved = run(bounds.movements, layout, placed)
    balanced = run(statics, job, layout, placed, cases, idealised, solution, rubber)
    swinging = run(unit_modes, idealised, rubber)
    progress("fit")
    wanted = (job.bolt_up or BoltUp()).chance
    bolted = tuple(run(bolt_up, pattern, wanted) for pattern in run(patterns_of, job, layout, survey))
    assembly = run(assembled, job, layout, parts, placed)
    room = run(_room, job, survey, layout, placed, assembly, shafts, moved, cases, rubber)
    ways = run(ways_in, job, layout, placed, progress)
    progress("strength")
    findings = (
        *run(survey_findings, survey, network),
        *run(shape_findings, shapes),
        *run(_driveline_findings, job, survey, placed, shafts, rubber),
        *run(rubber_findings, job, rubber, balanced.mount_forces),
        *balanced.findings,
        *run(overhang_findings, parts),
        *run(bend_findings, job, layout, parts),
        *run(shop_findings, made),
        *run(unplaced_findings, job, made),
        *run(bounds.findings, job),
        *run(bounds.strength, job, layout, parts),
        *run(misfit_findings, layout, idealised, job.misfit),
        *run(bolt_up_findings, bolted),
        *room.findings,
        *ways.findings,
    )
    return Build(
        job=job,
        network=network,
        survey=survey,
        shapes=shapes,
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
        assembly=assembly,
        bolted=bolted,
        ways=ways,
        statics=balanced,
        unit_modes=swinging,
        room=room,
        findings=findings,
    )


def _proposals(job: Job, survey: Survey, placed: Mapping[str, Placed]) -> tuple[Proposal, ...]:
    poses = {name: (body.pose.rotation, body.pose.origin) for name, body in placed.items()}
    return proposals(job, survey, poses)


def _driveline_findings(
    job: Job, survey: Survey, placed: Mapping[str, Placed], shafts: Driveline, rubber: Mapping[str, OnRubber]
) -> tuple[Finding, ...]:
    return driveline_findings(job, survey, placed, shafts, {name: one.poses for name, one in rubber.items()})


def _room(
    job: Job,
    survey: Survey,
    layout: Layout,
    placed: Mapping[str, Placed],
    assembly: Assembly,
    shafts: Driveline,
    moved: Mapping[str, Array],
    cases: Sequence[LoadCase],
    rubber: Mapping[str, OnRubber],
) -> Room:
    named = [case.name for case in cases]
    return room_of(job, survey, layout, placed, assembly, shafts.half_shafts, moved, named, rubber)
