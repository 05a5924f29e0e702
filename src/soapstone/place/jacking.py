"""The job's screws under a body: how to turn them from where it hangs to where it has to sit."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import LooseError
from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.job.posing import Jack
from soapstone.job.schema import Job
from soapstone.place.answers import GEOMETRY, unanswered
from soapstone.place.jacks import Lift, Screw, lift_to
from soapstone.place.placed import Placed

Array = NDArray[np.float64]

NOTICED = (0.001, float(np.radians(0.1)))
"""m and rad: a shift and a turn by hand smaller than a tape and a level show are not told."""


@dataclass(frozen=True, eq=False)
class Jacked:
    """A body on its screws.

    Attributes
    ----------
    body : str
    jacks : the screws as the job has them
    lift : Lift or None
        None when they cannot carry it.
    trouble : why not, and the way out
    """

    body: str
    jacks: Mapping[str, Jack]
    lift: Lift | None
    trouble: str = ""


def jacked(job: Job, placed: Mapping[str, Placed]) -> tuple[Jacked, ...]:
    """Every body that the job sets on screws; pure."""
    return tuple(_jacked(name, jacks, job, placed) for name, jacks in job.jacks.items())


def _jacked(name: str, jacks: Mapping[str, Jack], job: Job, placed: Mapping[str, Placed]) -> Jacked:
    body = placed.get(name)
    if body is None or body.seat is None:
        return Jacked(name, jacks, None, f"say under place.{name} where it hangs, and what is wanted of it")
    own = job.bodies[name].points
    screws = [
        Screw(screw, np.array(own[jack.point]), np.array(jack.lifts), jack.pitch or 1.0, jack.raises)
        for screw, jack in jacks.items()
    ]
    try:
        lift = lift_to(screws, body.seat.now, body.pose, np.array(job.bodies[name].centre), noticed=NOTICED)
    except LooseError as error:
        return Jacked(name, jacks, None, str(error))
    return Jacked(name, jacks, lift)


def jack_findings(jacked: tuple[Jacked, ...]) -> tuple[Finding, ...]:
    """One for each body on screws; its chain holds the turns."""
    return tuple(_finding(one) for one in jacked)


def _finding(one: Jacked) -> Finding:
    claim = f"the screws carry {one.body} to where it has to sit"
    if one.lift is None:
        return unanswered("jacks", one.body, claim, "1", ask=one.trouble)
    chain = Chain()
    for number, turn in enumerate(one.lift.turns, 1):
        pitch = one.jacks[turn.screw].pitch
        way = "up" if turn.lift >= 0.0 else "down"
        chain.given(f"h_{number}", abs(turn.lift), "m", f"{turn.screw} goes {way}")
        if pitch is not None:
            chain.given(f"p_{number}", pitch, "m", f"pitch of {turn.screw}")
            words = f"turns of {turn.screw}, {turn.way or 'none'} seen from its tip"
            chain.step(f"t_{number}", f"h_{number} / p_{number}", "1", words)
    loose = chain.given("n", 0.0, "1", "ways to tip on them: three screws or more, not in one line")
    allowed = chain.given("n_a", 1.0, "1", "one is too many")
    unsaid = [
        screw for screw, jack in one.jacks.items() if jack.pitch and "raises" not in jack.model_fields_set
    ]
    assumed = f"{', '.join(unsaid)}: a turn clockwise lifts (right-hand thread, common practice, no source)"
    return Finding(
        id=f"jacks:{one.body}",
        about=one.body,
        claim=claim,
        verdict=Verdict.HOLDS,
        demand=loose,
        capacity=allowed,
        ratio=loose / allowed,
        because=chain.steps,
        source=GEOMETRY,
        caution="; ".join(("never under it while it hangs", *one.lift.words)),
        assumed=(assumed,) if unsaid else (),
    )
