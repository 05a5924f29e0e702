"""Load cases: what pulls on every kilogram, and what torque the unit's housing feels."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from soapstone.formula import Chain, Step
from soapstone.job.pulls import Lift
from soapstone.job.schema import Job
from soapstone.job.service import Case
from soapstone.place.actions import STANDARD_GRAVITY, lifted, other_actions, shaft_reaction, towed
from soapstone.place.placed import Placed
from soapstone.place.reaction import Action, FreeBody
from soapstone.tables import load_factor

__all__ = ["STANDARD_GRAVITY", "LoadCase", "from_table", "load_cases"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LoadCase:
    """One load case.

    Attributes
    ----------
    name : str
    pull : (3,) m/s², force on every kilogram, vehicle axes
    torque : (3,) N·m on the housing of `body`, vehicle axes
    body : str, empty where no torque acts
    because : how torque and pull come about
    source : of the factors
    assumed : every assumed value with its origin
    warmer : K by tube or hanger, or `all`, above the warmth at which it was bolted up
    moves : (3,) m by fork, what the vehicle does to it
    shafts : what makes up the torque, shaft by shaft
    others : body to what else acts on it from outside: belts, brakes, a propeller
    on_frame : places of the frame with the force (3,) N there
    """

    name: str
    pull: Array
    torque: Array
    body: str
    because: tuple[Step, ...]
    source: str
    assumed: tuple[str, ...] = ()
    warmer: Mapping[str, float] = field(default_factory=dict)
    moves: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    shafts: tuple[Action, ...] = ()
    others: Mapping[str, FreeBody] = field(default_factory=dict)
    on_frame: tuple[tuple[str, Array], ...] = ()

    def wrench(self, body: str, centre: Array) -> Array:
        """All but the pull on its mass, (6,) N and N·m, that acts on a body, at a place (3,) m of it."""
        found = self.others[body].about(centre) if body in self.others else np.zeros(6)
        if body == self.body:
            found[3:] += self.torque
        return found

    @property
    def bodies(self) -> tuple[str, ...]:
        """Bodies that feel more than the pull on their mass."""
        return tuple(dict.fromkeys((*([self.body] if self.body else []), *self.others)))


def load_cases(
    job: Job, placed: Mapping[str, Placed] | None = None, points: Mapping[str, Array] | None = None
) -> tuple[LoadCase, ...]:
    """All cases of the job, in its order, a sideways one to both sides; pure.

    Parameters
    ----------
    placed : bodies in their place; torques alone do without
    points : vehicle points (3,) m by name, for belts and propellers
    """
    where = _Where(job, placed or {}, points or {})
    cases: list[LoadCase] = []
    for name, spec in job.service.cases.items():
        case = from_table(name) if isinstance(spec, str) else spec
        if case.sideways == 0.0:
            cases.append(_case(where, name, case, 0.0))
        else:
            cases.append(_case(where, f"{name}, pulled to the left", case, -case.sideways))
            cases.append(_case(where, f"{name}, pulled to the right", case, case.sideways))
    return tuple(cases)


@dataclass(frozen=True)
class _Where:
    job: Job
    placed: Mapping[str, Placed]
    points: Mapping[str, Array]


def _case(where: _Where, name: str, case: Case, right: float) -> LoadCase:
    service = where.job.service
    chain = Chain()
    g = chain.given("g", STANDARD_GRAVITY, "m/s**2", "standard gravity")
    chain.given("n_down", case.down, "1", "times weight, down")
    chain.given("n_forward", case.forward - case.aft, "1", "times weight, forward")
    chain.given("n_right", right, "1", "times weight, to the right")
    pull = g * np.array([case.forward - case.aft, -right, -case.down])
    drive, body = FreeBody(()), ""
    if case.torque != "none" and service.motor is not None:
        drive, body = (
            shaft_reaction(service.motor, service.grip, where.placed, case.torque),
            service.motor.body,
        )
    others = other_actions(where.job, case.with_, where.placed, where.points)
    on_frame, steps = [], [*chain.steps, *drive.because]
    for word, spec in (("lift", service.lift), ("tow", service.tow)):
        if word in case.with_ and spec is not None:
            at, force, told = lifted(spec) if isinstance(spec, Lift) else towed(spec)
            on_frame.append((at, force))
            steps += told
    steps += [step for acted in others.values() for step in acted.because]
    assumed = [*drive.assumed, *(note for acted in others.values() for note in acted.assumed)]
    if case.warmer:
        assumed.append("what is hung, and the vehicle, keep their size while the frame grows warmer")
    return LoadCase(
        name,
        pull,
        np.sum([action.moment for action in drive.actions], axis=0) if drive.actions else np.zeros(3),
        body,
        _once(steps),
        case.source,
        tuple(dict.fromkeys(assumed)),
        dict(case.warmer),
        dict(case.moves),
        drive.actions,
        others,
        tuple(on_frame),
    )


def _once(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Each symbol once: chains made one by one repeat what they share."""
    kept: dict[str, Step] = {}
    for step in steps:
        kept.setdefault(step.symbol, step)
    return tuple(kept.values())


def from_table(name: str) -> Case:
    """The table's factors of that name, as a case."""
    row = load_factor(name)
    return Case.model_construct(
        down=row.vertical,
        aft=0.0,
        forward=row.fore_aft,
        sideways=row.lateral,
        torque="none",
        warmer={},
        moves={},
        with_=(),
        source=row.source,
        note=None,
    )
