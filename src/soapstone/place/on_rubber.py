"""A unit on rubber answered: sag, sway, modes, shares, what shakes through, and any one mount broken."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.job.hardware import Body
from soapstone.job.pulls import Shake
from soapstone.job.schema import Job
from soapstone.place.actions import STANDARD_GRAVITY, drive_of
from soapstone.place.broken import Broken, one_broken
from soapstone.place.hung import HungMount, Suspended, corners_of
from soapstone.place.isolators import Hung, Rest, arms, come_to_rest, stiffness_at, weight_load
from soapstone.place.loads import LoadCase
from soapstone.place.modes import Modes, Shaken, firing_frequency, rigid_modes, shake, torque_roll_axis
from soapstone.place.placed import Placed
from soapstone.place.pose import Pose
from soapstone.place.reaction import crank_axis, motor_on_gearbox
from soapstone.place.sharing import (
    Half,
    Moved,
    Share,
    Sway,
    Wrung,
    all_cases,
    displaced,
    load_shares,
    sways,
    wrung_through,
)

Array = NDArray[np.float64]

STANDING = np.array([0.0, 0.0, -STANDARD_GRAVITY])
"""m/s², the pull on a unit at rest."""


@dataclass(frozen=True, eq=False)
class Shook:
    """One shake of the job answered.

    Attributes
    ----------
    name : str
    spec : Shake
    frequency : float, Hz
    load : (6,) N and N·m at the centre
    answer : Shaken
    """

    name: str
    spec: Shake
    frequency: float
    load: Array
    answer: Shaken


@dataclass(frozen=True, eq=False)
class RollAxis:
    """About which axis a torque of the motor turns the unit when nothing holds it.

    Attributes
    ----------
    crank, axis : (3,) unit vectors
    angle : float, rad between them
    """

    crank: Array
    axis: Array
    angle: float


@dataclass(frozen=True, eq=False)
class OnRubber:
    """Everything that follows from a body's rubber mounts.

    Attributes
    ----------
    suspended : Suspended
    rest : Rest, standing under its weight
    moves : one Moved per load case, counted from rest
    modes : Modes or None where the inertia is not known
    roll_axis : RollAxis or None
    shaken : one Shook per shake of the job; empty where the inertia is not known
    shares : case to the share of each mount in the standing weight and in the case's torque
    sways : the box that each named point, and each corner of the envelope, keeps within
    broken : every mount broken in every case
    wrung : case to what goes through the joint of motor and gearbox; empty without a joint
    """

    suspended: Suspended
    rest: Rest
    moves: tuple[Moved, ...]
    modes: Modes | None
    roll_axis: RollAxis | None
    shaken: tuple[Shook, ...]
    shares: Mapping[str, tuple[Share, ...]]
    sways: tuple[Sway, ...]
    broken: tuple[Broken, ...]
    wrung: Mapping[str, Wrung]

    @property
    def body(self) -> Hung:
        """The body hung."""
        return self.suspended.body

    @property
    def mounts(self) -> tuple[HungMount, ...]:
        """Its mounts."""
        return self.suspended.mounts

    @property
    def poses(self) -> dict[str, Pose]:
        """Case to how the unit stands in it: what is at rest goes in, where it then is comes out."""
        return {move.case: displaced(self.body, move.displacement) for move in self.moves}


def answer_on_rubber(
    job: Job, hung: Mapping[str, Suspended], placed: Mapping[str, Placed], cases: Sequence[LoadCase]
) -> dict[str, OnRubber]:
    """Every body on rubber; pure.

    Raises
    ------
    LooseError
        When the mounts do not hold a body.
    """
    return {name: _answer(job, one, placed[name], cases) for name, one in hung.items()}


def load_of(case: LoadCase, name: str, body: Hung) -> Array:
    """All that acts on a body in a case, (6,) N and N·m at its centre."""
    return weight_load(body, case.pull) + case.wrench(name, body.centre)


def _answer(job: Job, hung: Suspended, placed: Placed, cases: Sequence[LoadCase]) -> OnRubber:
    body, springs = hung.body, hung.springs
    standing = weight_load(body, STANDING)
    loads = {case.name: load_of(case, hung.name, body) for case in cases}
    moves = all_cases(body, springs, standing, loads)
    by_name = {case.name: case for case in cases}
    rest = come_to_rest(springs, body.centre, standing)
    return OnRubber(
        hung,
        rest,
        moves,
        rigid_modes(body, springs) if hung.inertia_known else None,
        _roll_axis(job, hung),
        tuple(_shakes(job, hung)),
        {case.name: _shares(hung, rest, case) for case in cases},
        sways(body, moves, _swept(hung, placed)),
        one_broken(body, springs, standing, loads, hung.watched, size=hung.size),
        _wrung(job, hung, placed, moves, by_name),
    )


def _swept(hung: Suspended, placed: Placed) -> dict[str, Array]:
    points = dict(placed.points)
    for name, solid in hung.solids:
        points |= {f"{name} corner {number}": at for number, at in enumerate(corners_of(solid), 1)}
    return points


def _roll_axis(job: Job, hung: Suspended) -> RollAxis | None:
    motor = job.service.motor
    if motor is None or motor.body != hung.name or not hung.inertia_known:
        return None
    crank = crank_axis(drive_of(motor, None))
    axis, angle = torque_roll_axis(hung.body.inertia, crank)
    return RollAxis(crank, axis, angle)


def _shakes(job: Job, hung: Suspended) -> list[Shook]:
    found = []
    for name, spec in job.service.shaking.items():
        if spec.body != hung.name or not hung.inertia_known:
            continue
        frequency = spec.speed / (2.0 * np.pi)
        if spec.cylinders is not None:
            frequency = firing_frequency(spec.speed, round(spec.cylinders), strokes=int(spec.strokes))
        load = np.zeros(6)
        part, size = (slice(3, 6), spec.torque) if spec.torque else (slice(0, 3), spec.force)
        load[part] = (size or 0.0) * np.array(spec.about)
        found.append(Shook(name, spec, frequency, load, shake(hung.body, hung.springs, load, frequency)))
    return found


def _shares(hung: Suspended, rest: Rest, case: LoadCase) -> tuple[Share, ...]:
    """Shares in the standing weight, and in the case's torque by itself, short of any stop."""
    springs, centre = hung.springs, hung.body.centre
    torque = case.wrench(hung.name, centre)[3:]
    size = float(np.linalg.norm(torque))
    axis = torque / size if size > 0.0 else np.array([1.0, 0.0, 0.0])
    moved = np.linalg.solve(stiffness_at(springs, centre), np.concatenate([np.zeros(3), torque]))
    twisted = -np.einsum("nij,nja,a->ni", [m.tensor for m in springs], arms(springs, centre), moved)
    standing = load_shares(springs, rest.forces, through=centre, axis=axis)
    turned = load_shares(springs, twisted, through=centre, axis=axis)
    return tuple(replace(turn, weight=stood.weight) for turn, stood in zip(turned, standing, strict=True))


def _wrung(
    job: Job, hung: Suspended, placed: Placed, moves: Sequence[Moved], cases: Mapping[str, LoadCase]
) -> dict[str, Wrung]:
    spec: Body = job.bodies[hung.name]
    if spec.joint is None:
        return {}
    joint, motor = spec.joint, job.service.motor
    centre = placed.pose.apply(np.array(joint.centre))
    found = {}
    for move in moves:
        case = cases[move.case]
        shaft = np.zeros(3)
        if motor is not None and motor.body == hung.name:
            shaft = _shaft_torque(job, case)
        half = Half("motor", joint.mass, centre, joint.mounts, shaft)
        found[move.case] = wrung_through(
            half, hung.springs, move.forces, pull=case.pull, joint=placed.points[joint.at]
        )
    return found


def _shaft_torque(job: Job, case: LoadCase) -> Array:
    """What the gearbox's resistance to the motor's shaft puts on the motor's side, N·m.

    As much of the motor's torque as the housing's reaction of the case has, so that grip bounds both.
    """
    motor = job.service.motor
    assert motor is not None
    steps = {step.symbol: step.value for step in case.because}
    if "T_s" not in steps or case.body != motor.body:
        return np.zeros(3)
    reverse = "k_r" in steps
    part = steps.get("T", steps["T_s"]) / steps["T_s"]
    found: Array = part * motor_on_gearbox(drive_of(motor, None), reverse=reverse)
    return found
