"""What there is to say of the job's propeller shafts: joints, evenness, whip."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.job.schema import Job
from soapstone.place.answers import unanswered
from soapstone.place.findings_shafts import evenness_finding, joint_finding, whip_finding
from soapstone.place.propeller_shafts import Line
from soapstone.place.shafting import PropellerRun
from soapstone.tables import material

_SPEED = "give the fastest speed of the shaft"
_PINION = "give the pinion: two points on the axis that the last joint drives"
_IN_PHASE = "the yokes of each piece stand in phase (common practice, no source)"


def jointed_findings(run: PropellerRun, job: Job) -> tuple[Finding, ...]:
    """Of a shaft with joints; where the axle travels each finding is the worst of all positions."""
    if run.joints is None:
        return (unanswered("joint-angle", run.name, "the joints run true", "rad", ask=run.trouble),)
    worst: dict[str, Finding] = {}
    for name, line in zip(run.names, run.lines, strict=True):
        for finding in _joints(run, line):
            before = worst.get(finding.id)
            if before is None or (finding.ratio or 0.0) > (before.ratio or 0.0):
                worst[finding.id] = replace(finding, case=name)
    return (*worst.values(), *whip_findings(run, job))


def _joints(run: PropellerRun, line: Line) -> Iterator[Finding]:
    name, spec = run.name, run.spec
    angles = [float(angle) for angle in line.angles]
    if spec.speed is None:
        yield from (_unasked(name, index, angle, _SPEED) for index, angle in enumerate(angles))
    else:
        for index, angle in enumerate(angles):
            yield joint_finding(name, index, angle, spec.speed, spec.joint_angle)
    if len(line.directions) == len(spec.along) + 1:
        yield _unasked(name, len(angles), None, _PINION)
    claim = "the last shaft turns evenly enough"
    if len(line.directions) == len(spec.along) + 1 or spec.speed is None:
        ask = _SPEED if spec.speed is None else _PINION
        yield unanswered("joint-evenness", name, claim, "rad", ask=ask)
        return
    found = evenness_finding(name, line, spec.speed)
    yield found if spec.phases else replace(found, assumed=(*found.assumed, _IN_PHASE))


def _unasked(name: str, index: int, angle: float | None, ask: str) -> Finding:
    chain = Chain()
    if angle is not None:
        chain.given("b", angle, "rad", "joint angle, from both shafts' directions")
    about, claim = f"{name}.joint {index + 1}", "the joint runs at an angle it stands"
    return unanswered("joint-angle", about, claim, "rad", ask=ask, chain=chain)


def whip_findings(run: PropellerRun, job: Job) -> Iterator[Finding]:
    """Of the longest free length of a shaft."""
    assert run.joints is not None
    spec, claim = run.spec, "the shaft stays well below the speed at which it whips"
    lacking = [
        *([_SPEED] if spec.speed is None else []),
        *(["give its tube, or the diameter of its bar, and of what it is"] if spec.of is None else []),
    ]
    outer = spec.tube[0] if spec.tube else spec.bar
    if lacking or outer is None or spec.of is None or spec.speed is None:
        yield unanswered("shaft-speed", run.name, claim, "rad/s", ask="; ".join(lacking))
        return
    modulus, density = _elastic(job, spec.of)
    longest = float(np.linalg.norm(np.diff(run.joints, axis=1), axis=2).max())
    yield whip_finding(
        run.name,
        spec.speed,
        length=spec.free or longest,
        outer=outer,
        inner=outer - 2.0 * spec.tube[1] if spec.tube else 0.0,
        modulus=modulus,
        density=density,
        share=spec.share_of_critical_speed,
    )


def _elastic(job: Job, name: str) -> tuple[float, float]:
    """Young's modulus Pa and density kg/m³ of the job's own material of that name, or the tables'."""
    own = job.materials.get(name)
    if own is not None:
        return own.elastic_modulus, own.density
    metal = material(name)
    return metal.elastic_modulus, metal.density
