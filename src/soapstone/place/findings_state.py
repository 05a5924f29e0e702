"""What must be known before a pose means anything: the vehicle's state, and that the unit was dressed."""

from collections.abc import Iterator
from types import MappingProxyType

from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.job.hardware import Body
from soapstone.job.schema import Job
from soapstone.place.answers import PRACTICE, unanswered

DRESS = MappingProxyType(
    {
        "starter": "starter",
        "filter": "filter, with room to take it off",
        "manifolds": "manifolds or cooling pipes",
        "belts": "belts, adjuster at the end of its travel: they stretch",
        "shifter": "shifter or selector, through all gates",
        "hoses": "hoses and cables, as corridors",
    }
)
"""What belongs on a unit before its place is frozen (common practice, no source)."""


def state_findings(job: Job) -> tuple[Finding, ...]:
    """Of a job that sets a body or looks at shafts: how the vehicle stood, and what was on the unit."""
    set_ = [name for name, put in job.place.items() if put.wanted]
    found = [_dressed(name, job.bodies[name]) for name in set_]
    if set_ or job.half_shafts or job.propeller_shafts:
        found.insert(0, _ride_height(job))
    return tuple(found)


def _ride_height(job: Job) -> Finding:
    datum, about, claim = job.datum, "vehicle", "what is measured counts at ride height"
    chain = Chain()
    asks = list(_unknown(job))
    missing = chain.given("n", float(len(asks)), "1", "things not known of its state")
    if asks:
        return unanswered("ride-height", about, claim, "1", ask="; ".join(asks), chain=chain)
    caution = ""
    if datum.measured_on == "stands":
        caution = "measured on stands: level and floor are brought to ride height by datum.settling"
    return Finding(
        id=f"ride-height:{about}",
        about=about,
        claim=claim,
        verdict=Verdict.HOLDS,
        demand=missing,
        capacity=chain.given("n_a", 1.0, "1", "one is too many"),
        ratio=missing,
        because=chain.steps,
        source=PRACTICE,
        caution=caution,
    )


def _unknown(job: Job) -> Iterator[str]:
    datum = job.datum
    if datum.measured_on is None:
        yield "say under datum what it was measured on: wheels, stands or, of a boat, water"
    if datum.measured_on == "stands" and datum.settling is None:
        yield "give datum.settling: how far it comes down and pitches from stands to ride height"
    if datum.aboard is None:
        yield "say under datum what was aboard: driver, fuel, nothing"


def _dressed(name: str, body: Body) -> Finding:
    claim = f"everything that belongs on {name} was on it"
    chain = Chain()
    chain.given("n", float(len(DRESS)), "1", f"things to say: {', '.join(DRESS)}")
    lacking = [f"{thing} ({words})" for thing, words in DRESS.items() if not _is_on(thing, body)]
    lacking += [thing for thing in body.dressed if thing not in DRESS and body.dressed[thing] == "missing"]
    count = chain.given("n_m", float(len(lacking)), "1", "of them missing, or nothing said")
    if lacking:
        ask = f"say under dressed whether they are on, none or slack end: {', '.join(lacking)}"
        return unanswered("dressed", name, claim, "1", ask=ask, chain=chain)
    return Finding(
        id=f"dressed:{name}",
        about=name,
        claim=claim,
        verdict=Verdict.HOLDS,
        demand=count,
        capacity=chain.given("n_a", 1.0, "1", "one is too many"),
        ratio=count,
        because=chain.steps,
        source=PRACTICE,
        caution="" if body.envelope else "without an envelope none of it keeps its distance from anything",
    )


def _is_on(thing: str, body: Body) -> bool:
    said = body.dressed.get(thing)
    if thing == "belts":
        return said in ("none", "slack end")
    return said in ("on", "none", "corridor", "slack end")
