"""What a plate puts on its own foot: the forces and moments there, in the plate's own directions."""

from dataclasses import dataclass

import numpy as np

from soapstone.parts.layout import ForkPart, HangerPart
from soapstone.parts.tabs import foot_width, hanger_foot
from soapstone.strength.work import Array, Work


@dataclass(frozen=True, eq=False)
class FootForces:
    """Forces on one plate's foot, each (n,); sizes only where the sign does not matter.

    Attributes
    ----------
    pull : N along the plate, away from its foot
    aside : N in the plate's plane, along its foot
    out : N square to the plate's face
    bend : N·m in the plate's plane
    tip : N·m that bends the plate out of its plane
    twist : N·m about the plate's own length
    """

    pull: Array
    aside: Array
    out: Array
    bend: Array
    tip: Array
    twist: Array


@dataclass(frozen=True, eq=False)
class ForkLoad:
    """What a fork's bolt puts on its tabs, vehicle axes.

    Attributes
    ----------
    across : (n, 3) N, the whole force square to the bolt
    thrust : (n,) N, the part along it
    on_tabs : (2 n, 3) N, the shares of both tabs, one after the other
    moment : (n, 3) N·m, what a single tab has to take as a moment; zero for a pair, whose shares hold it
    """

    across: Array
    thrust: Array
    on_tabs: Array
    moment: Array


def fork_load(work: Work, fork: ForkPart) -> ForkLoad:
    """Forces at a fork's bolt."""
    assert fork.bung is not None
    member, end = work.idealised.pins[fork.name]
    axes = work.idealised.frame.geometry.axes[member]
    six = -work.solution.end_forces[:, member, 6 * end : 6 * end + 6]
    force, moment = six[:, :3] @ axes, six[:, 3:] @ axes
    thrust = force @ fork.axis
    across = force - thrust[:, None] * fork.axis
    if fork.spec.tabs == "1":
        return ForkLoad(across, thrust, np.concatenate([across, across]), moment)
    apart = fork.bung.length + 2.0 * fork.spec.gap + fork.spec.plate.thickness
    couple = np.cross(fork.axis, moment) / apart
    shares = np.concatenate([across / 2 + couple, across / 2 - couple])
    return ForkLoad(across, thrust, shares, np.zeros_like(moment))


def fork_foot(work: Work, fork: ForkPart, load: ForkLoad) -> FootForces:
    """Forces (2 n,) at the feet of both tabs; each takes the whole thrust, as either may touch first."""
    outward = work.layout.foot_to_hole(fork)
    run = np.cross(outward, fork.axis)
    pull, aside = load.on_tabs @ outward, load.on_tabs @ run
    out = np.tile(load.thrust, 2)
    tip = np.abs(out) * fork.spec.reach + np.tile(np.abs(load.moment @ run), 2)
    twist = np.tile(np.abs(load.moment @ outward), 2)
    return FootForces(pull, aside, out, np.abs(aside) * fork.spec.reach, tip, twist)


def hanger_force(work: Work, hanger: HangerPart) -> tuple[Array, Array]:
    """Force N and moment N·m of the body on a hanger at its boss, each (n, 3), vehicle axes."""
    member = work.idealised.hangers[hanger.name]
    axes = work.idealised.frame.geometry.axes[member]
    six = work.solution.end_forces[:, member, 6:12]
    return six[:, :3] @ axes, six[:, 3:] @ axes


def hanger_foot_forces(work: Work, hanger: HangerPart) -> FootForces:
    """Forces (n,) at a hanger's foot, by statics from what the body puts on it at the boss.

    Out of its plane a plate whose bolt has no stated torque counts as a cantilever where that is worse: the
    bolt may not hold it square.
    """
    foot = hanger_foot(work.layout, hanger)
    force, moment = hanger_force(work, hanger)
    at_foot = moment + np.cross(foot.reach * foot.normal + foot.shift * foot.run, force)
    pull, aside, out = force @ foot.normal, force @ foot.run, force @ hanger.axis
    tip, twist = np.abs(at_foot @ foot.run), np.abs(at_foot @ foot.normal)
    if hanger.spec.torque is None:
        tip = np.maximum(tip, np.abs(out) * foot.reach)
        twist = np.maximum(twist, np.abs(out * foot.shift))
    return FootForces(pull, aside, out, np.abs(at_foot @ hanger.axis), tip, twist)


def plate_way(work: Work, part: ForkPart | HangerPart) -> tuple[float, float]:
    """How a plate stands on its tube: share of its foot that runs along it (0 to 1), and its width m."""
    tube = work.layout.tubes[part.host.on].leg(part.host.station)
    if isinstance(part, HangerPart):
        run = hanger_foot(work.layout, part).run
    else:
        run = np.cross(work.layout.foot_to_hole(part), part.axis)
    return abs(float(run @ tube.axis) / float(np.linalg.norm(run))), foot_width(work.layout, part)
