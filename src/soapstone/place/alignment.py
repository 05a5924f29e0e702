"""A rigid coupling: how true the unit's flange stands to a shaft that cannot give way."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import SoapstoneError
from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.place.answers import GEOMETRY, answered, cited, unanswered
from soapstone.place.driveline import rigid_offset_allowed, rim_gap_allowed
from soapstone.place.half_shafts import angle_between
from soapstone.place.known import known_point
from soapstone.place.placed import Placed
from soapstone.place.shafting import PropellerRun
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

_NORMAL_95 = 1.959964
"""Half-width of the middle 95 % of a normal distribution, in standard deviations."""
_READ = "read it at the coupling with dial and feeler gauge, and put that under read"


@dataclass(frozen=True)
class Alignment:
    """How two flanges stand to each other.

    Attributes
    ----------
    offset : m, of the flange's centre from the shaft's line
    angle : rad, between the flange's axis and that line
    offset_known, angle_known : m and rad, what 95 of 100 surveys stay within
    """

    offset: float
    angle: float
    offset_known: float
    angle_known: float


def alignment(run: PropellerRun, job: Job, survey: Survey, placed: Mapping[str, Placed]) -> Alignment:
    """From the pose of the unit and two places on the shaft's line."""
    assert run.joints is not None and run.flange is not None
    flange, near, far = run.joints[0]
    along = (far - near) / np.linalg.norm(far - near)
    share = float((flange - near) @ along / np.linalg.norm(far - near))
    square = flange - near - ((flange - near) @ along) * along
    spreads = [_variance(run, spot, job, survey) for spot in run.spec.along]
    body, turn = _body_variance(placed[parse_place(run.spec.from_).name])
    line = (1.0 - share) ** 2 * spreads[0] + share**2 * spreads[1]
    lean = sum(spreads) / float(np.linalg.norm(far - near)) ** 2 + turn
    return Alignment(
        float(np.linalg.norm(square)),
        float(angle_between(run.flange, along)),
        _NORMAL_95 * float(np.sqrt(line + body)),
        _NORMAL_95 * float(np.sqrt(lean)),
    )


def _variance(run: PropellerRun, spot: str | tuple[float, float, float], job: Job, survey: Survey) -> float:
    """m², in the direction in which a place is known worst; none of a place that is given."""
    if not isinstance(spot, str):
        return 0.0
    _, spread = known_point(f"propeller shafts.{run.name}", spot, job, survey)
    return float(np.linalg.eigvalsh(spread)[-1])


def _body_variance(body: Placed) -> tuple[float, float]:
    """m² and rad² of a body that is left where it was matched; none of one that is set or given."""
    if body.fit is None or body.seat is not None:
        return 0.0, 0.0
    spread = body.fit.covariance
    return float(np.linalg.eigvalsh(spread[:3, :3])[-1]), float(np.linalg.eigvalsh(spread[3:, 3:])[-1])


def alignment_findings(
    run: PropellerRun, job: Job, survey: Survey, placed: Mapping[str, Placed]
) -> tuple[Finding, ...]:
    """Offset and rim gap of a rigid coupling: as read, or as it is drawn."""
    claim = "the coupling's two halves stand true to each other"
    if run.joints is None:
        return (unanswered("shaft-alignment", run.name, claim, "m", ask=run.trouble),)
    as_drawn = alignment(run, job, survey, placed)
    return (_offset(run, as_drawn), _rim_gap(run, as_drawn))


def _offset(run: PropellerRun, drawn: Alignment) -> Finding:
    spec, about, chain = run.spec, f"{run.name}.offset", Chain()
    claim = "the flange's centre stands on the shaft's line"
    read = spec.read.offset if spec.read else None
    known = 0.0 if read is not None else drawn.offset_known
    words = "offset as read by dial gauge" if read is not None else "flange's centre from the shaft's line"
    demand = chain.given("e", drawn.offset if read is None else read, "m", words)
    if spec.offset is not None:
        capacity, source = (
            chain.given("e_a", spec.offset, "m", "what the coupling stands, from the job"),
            GEOMETRY,
        )
    elif spec.speed is None:
        ask = "give the coupling's offset from its maker, or the fastest speed of the shaft"
        return unanswered("shaft-alignment", about, claim, "m", ask=ask, chain=chain)
    else:
        try:
            allowed = rigid_offset_allowed(spec.speed)
        except SoapstoneError as error:
            return unanswered("shaft-alignment", about, claim, "m", ask=str(error), chain=chain)
        chain.given("w", spec.speed, "rad/s", "speed of the shaft")
        capacity = chain.given("e_a", allowed.value, "m", f"at that speed; {allowed.note}")
        source = cited(allowed.source)
    return _judged(about, claim, chain, demand, capacity, known, source)


def _rim_gap(run: PropellerRun, drawn: Alignment) -> Finding:
    spec, about, chain = run.spec, f"{run.name}.rim gap", Chain()
    claim = "the flange's face stands square to the shaft"
    if spec.flange is None:
        return unanswered("shaft-alignment", about, claim, "m", ask="give the diameter of the flange")
    chain.given("D", spec.flange, "m", "diameter of the flange")
    known = 0.0
    if spec.read is not None:
        demand = chain.given("g", spec.read.rim_gap, "m", "widest less narrowest gap, as read")
    else:
        chain.given("b", drawn.angle, "rad", "between the output's axis and the shaft's line")
        demand = chain.step("g", "D * sin(b)", "m", "widest less narrowest gap between the faces")
        known = spec.flange * drawn.angle_known
    if spec.rim_gap is not None:
        capacity, source = (
            chain.given("g_a", spec.rim_gap, "m", "what the coupling stands, from the job"),
            GEOMETRY,
        )
    else:
        allowed = rim_gap_allowed()
        chain.given("k", allowed.value, "1", f"of the flange's diameter; {allowed.note}")
        capacity, source = chain.step("g_a", "k * D", "m", "what is stood"), cited(allowed.source)
    return _judged(about, claim, chain, demand, capacity, known, source)


def _judged(
    about: str, claim: str, chain: Chain, demand: float, capacity: float, known: float, source: str
) -> Finding:
    """Short when it is too much; open when it is known no better than what is allowed."""
    if demand <= capacity < demand + known:
        worse = f"it is known to {1000 * known:.2f} mm, and {1000 * capacity:.2f} mm is allowed"
        return unanswered("shaft-alignment", about, claim, "m", ask=f"{worse}: {_READ}", chain=chain)
    return answered(
        "shaft-alignment",
        about,
        claim,
        chain,
        demand,
        capacity,
        "m",
        source=source,
        remedy=f"shim or shift the unit by {1000 * (demand - capacity):.2f} mm there, and read it again",
        caution="read it again as it will run: afloat or on its wheels, mounts settled",
    )
