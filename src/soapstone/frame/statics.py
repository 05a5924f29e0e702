"""What holds each unit, read off the solved frame, and statics alone as a check on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.frame.idealise import Idealised
from soapstone.frame.model import Frame
from soapstone.frame.on_springs import hook_station
from soapstone.frame.recover import point_displacement
from soapstone.frame.solve import Solution
from soapstone.job.schema import Job
from soapstone.parts.layout import Layout
from soapstone.place.answers import answered
from soapstone.place.bookkeeping import Item, Whole, add_up
from soapstone.place.loads import LoadCase
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed

Array = NDArray[np.float64]

STEEL_DOUBT = 0.03
"""One standard deviation of a tube's mass, as a share: walls and cut ends; common practice, no source."""
_ROUNDING = 1e-6
"""Share of the largest action that rounding in the frame's solution may leave: it leaves some 1e-9, a load
forgotten or turned round leaves all of itself."""


@dataclass(frozen=True, eq=False)
class Held:
    """What holds a body: k places, c cases.

    Attributes
    ----------
    body : str
    names : tuple of str, mounts or hangers
    places : (k, 3) m
    forces : (c, k, 3) N, on the body
    moments : (c, k, 3) N·m, on the body at those places; none of rubber
    """

    body: str
    names: tuple[str, ...]
    places: Array
    forces: Array
    moments: Array


@dataclass(frozen=True, eq=False)
class Statics:
    """Bookkeeping of weights, and of what holds what.

    Attributes
    ----------
    whole : Whole or None
        Mass and centre of everything; None where nothing is built or hung.
    held : body to what holds it
    findings : tuple of Finding, `balance`
    """

    whole: Whole | None
    held: Mapping[str, Held]
    findings: tuple[Finding, ...]

    @property
    def mount_forces(self) -> dict[str, Array]:
        """Body to forces (c, k, 3) N on it."""
        return {name: held.forces for name, held in self.held.items()}


def statics(
    job: Job,
    layout: Layout,
    placed: Mapping[str, Placed],
    cases: Sequence[LoadCase],
    idealised: Idealised,
    solution: Solution,
    rubber: Mapping[str, OnRubber],
) -> Statics:
    """Weigh everything, read off what holds each body, and check both by statics; pure."""
    held = held_bodies(layout, idealised, solution, rubber)
    found = [_balance(placed[name], cases, one) for name, one in held.items()]
    whole = weigh(job, placed, idealised)
    if whole is not None:
        found.append(_whole_balance(whole, layout, cases, idealised, solution, exact_bodies(job, idealised)))
    return Statics(whole, held, tuple(found))


def held_bodies(
    layout: Layout, idealised: Idealised, solution: Solution, rubber: Mapping[str, OnRubber]
) -> dict[str, Held]:
    """What the solved frame says holds each body."""
    found: dict[str, list[tuple[str, Array, Array, Array]]] = {name: [] for name in idealised.bodies}
    frame = idealised.frame
    for name, member in idealised.hangers.items():
        hanger = layout.hangers[name]
        if hanger.body in rubber:
            continue
        ends = solution.end_forces[:, member, 6:].reshape(-1, 2, 3) @ frame.geometry.axes[member]
        found[hanger.body].append((name, hanger.boss, -ends[:, 0], -ends[:, 1]))
    for unit in rubber.values():
        for row, hung in enumerate(unit.mounts):
            force = _spring_force(idealised, solution, unit, row)
            found[unit.suspended.name].append(
                (hung.mount.name, hung.mount.place, force, np.zeros_like(force))
            )
    return {name: _held(name, rows) for name, rows in found.items() if rows}


def _held(body: str, rows: Sequence[tuple[str, Array, Array, Array]]) -> Held:
    names, places, forces, moments = zip(*rows, strict=True)
    return Held(body, names, np.array(places), np.stack(forces, axis=1), np.stack(moments, axis=1))


def _spring_force(idealised: Idealised, solution: Solution, unit: OnRubber, row: int) -> Array:
    """Force (c, 3) N of a mount on its body: its rubber's, and its stop's as it was put on."""
    mount = unit.mounts[row].mount
    spring = idealised.frame.springs[idealised.springs[mount.name]]
    body = idealised.bodies[unit.suspended.name]
    apart = solution.displacements[:, spring.node] - point_displacement(
        idealised.frame, solution, body, mount.place
    )
    stopped = [move.forces[row] + mount.tensor @ (mount.axes @ move.squeezed[row]) for move in unit.moves]
    force: Array = apart[:, :3] @ spring.stiffness[:3, :3] + np.array(stopped)
    return force


def weigh(job: Job, placed: Mapping[str, Placed], idealised: Idealised) -> Whole | None:
    """Mass and centre of mass of everything that is hung and built, with their doubts; None for nothing."""
    items = [_item(job, placed[name]) for name in idealised.bodies]
    frame = idealised.frame
    masses, middles = _members(frame)
    items += [
        Item(
            name.partition("/")[0],
            float(mass),
            middle,
            STEEL_DOUBT * float(mass),
            np.zeros((3, 3)),
            np.zeros((3, 3)),
        )
        for name, mass, middle in zip(frame.member_names, masses, middles, strict=True)
        if mass > 0.0
    ]
    return add_up(items) if items else None


def _item(job: Job, body: Placed) -> Item:
    spec = job.bodies[body.name]
    spread = (spec.centre_accuracy or 0.0) ** 2 * np.eye(3)
    return Item(body.name, body.mass, body.centre, spec.mass_accuracy or 0.0, spread, np.zeros((3, 3)))


def _members(frame: Frame) -> tuple[Array, Array]:
    """Mass kg and middle (m, 3) of every beam."""
    geometry = frame.geometry
    middles = geometry.starts + 0.5 * geometry.lengths[:, None] * geometry.axes[:, 0]
    return frame.density * frame.area * geometry.lengths, middles


def _balance(body: Placed, cases: Sequence[LoadCase], held: Held) -> Finding:
    loads = np.array(
        [np.concatenate([body.mass * c.pull, np.zeros(3)]) + c.wrench(body.name, body.centre) for c in cases]
    )
    arms = held.places - body.centre
    turns = np.cross(arms, held.forces) + held.moments
    return _judged(
        body.name,
        f"what holds {body.name} balances what pulls on it",
        cases,
        (held.forces, loads[:, None, :3]),
        (turns, loads[:, None, 3:]),
        "",
    )


def exact_bodies(job: Job, idealised: Idealised) -> str:
    """Bodies of which the job gives no accuracy of mass or centre, in a sentence; empty when it gives all."""
    silent = [
        name
        for name in idealised.bodies
        if job.bodies[name].mass_accuracy is None or job.bodies[name].centre_accuracy is None
    ]
    if not silent:
        return ""
    return (
        f"no accuracy of mass and centre is given for {', '.join(silent)}: what is not given counts as exact"
    )


def _whole_balance(
    whole: Whole,
    layout: Layout,
    cases: Sequence[LoadCase],
    idealised: Idealised,
    solution: Solution,
    exact: str,
) -> Finding:
    """`balance:whole`: the vehicle's reactions against the weight of everything at its common centre."""
    pushes = solution.reactions[..., :3]
    turns = np.cross(idealised.frame.nodes - whole.centre, pushes) + solution.reactions[..., 3:]
    loads = np.array([_acting(whole, layout, case, idealised) for case in cases])
    doubt = 1e3 * float(np.linalg.norm(whole.centre_sigma))
    steel = f"steel by its drawing to {100 * STEEL_DOUBT:.0f} % (common practice, no source)"
    return _judged(
        "whole",
        "what holds the whole balances its weight and all that pulls on it",
        cases,
        (pushes, loads[:, None, :3]),
        (turns, loads[:, None, 3:]),
        f"the whole is {whole.mass:.1f} kg +/- {whole.mass_sigma:.1f} kg, its centre known within"
        f" {doubt:.0f} mm; {whole.largest_doubt} adds most to that doubt",
        (
            steel,
            *([exact] if exact else []),
        ),
    )


def _acting(whole: Whole, layout: Layout, case: LoadCase, idealised: Idealised) -> Array:
    """All that acts in a case, (6,) N and N·m at the common centre of mass."""
    total = np.concatenate([whole.mass * case.pull, np.zeros(3)])
    for name in set(case.bodies) & idealised.bodies.keys():
        total += case.wrench(name, whole.centre)
    for text, force in case.on_frame:
        tube, station = hook_station(layout, text)
        arm = layout.tubes[tube].at(station) - whole.centre
        total += np.concatenate([force, np.cross(arm, force)])
    return total


def _judged(
    about: str,
    claim: str,
    cases: Sequence[LoadCase],
    forces: tuple[Array, Array],
    turns: tuple[Array, Array],
    caution: str,
    assumed: tuple[str, ...] = (),
) -> Finding:
    """What is left of forces (c, k, 3) and turns (c, k, 3), holding and acting, against their sizes."""
    left_f, size_f = _left(*forces)
    left_t, size_t = _left(*turns)
    shares = np.maximum(left_f / size_f, left_t / size_t)
    worst = int(shares.argmax())
    chain = Chain()
    chain.given("R_F", float(left_f[worst]), "N", "force that is left over")
    chain.given("S_F", float(size_f[worst]), "N", "sum of the sizes of all forces")
    chain.given("R_M", float(left_t[worst]), "N*m", "moment that is left over, about the centre of mass")
    chain.given("S_M", float(size_t[worst]), "N*m", "sum of the sizes of all moments")
    demand = chain.step("e", "max(R_F / S_F, R_M / S_M)", "1", "share that is left over")
    return answered(
        "balance",
        about,
        claim,
        chain,
        demand,
        chain.given("e_a", _ROUNDING, "1", "what rounding may leave"),
        "1",
        case=cases[worst].name,
        source="statics of a free body, no source needed",
        remedy="the frame's answer is not to be trusted: tell the makers of the program, with this job",
        caution=caution,
        assumed=assumed,
    )


def _left(holding: Array, acting: Array) -> tuple[Array, Array]:
    """(c,) size of the sum, and sum of the sizes."""
    rest = np.linalg.norm(holding.sum(axis=1) + acting.sum(axis=1), axis=1)
    size = np.linalg.norm(holding, axis=2).sum(axis=1) + np.linalg.norm(acting, axis=2).sum(axis=1)
    return rest, np.maximum(size, 1e-9)
