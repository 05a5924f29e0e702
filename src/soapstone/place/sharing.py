"""How the mounts share a load, what that wrings through the case, and how far the unit sways."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from soapstone.errors import GeometryError
from soapstone.place.isolators import Array, Hung, Mount, come_to_rest
from soapstone.place.pose import Pose, rotation_from_vector


@dataclass(frozen=True)
class Share:
    """What one mount takes of a load.

    Attributes
    ----------
    mount : str
    force : (3,) N, of the mount on the body
    weight : float, part of the upright force that all mounts give
    torque : float, part of the moment that all mounts give about the axis asked for
    """

    mount: str
    force: Array
    weight: float
    torque: float


def load_shares(mounts: Sequence[Mount], forces: Array, *, through: Array, axis: Array) -> tuple[Share, ...]:
    """Share of each mount in the upright force and in the moment about a line.

    Parameters
    ----------
    forces : (n, 3) N, of each mount on the body
    through, axis : (3,) m and unit vector, the line

    Notes
    -----
    A part is nought over nought where the mounts together give nothing; it is returned as 0 then.
    """
    places = np.array([mount.place for mount in mounts])
    upright = forces[:, 2]
    moments = np.cross(places - through, forces) @ axis
    weight, torque = _parts(upright), _parts(moments)
    return tuple(Share(m.name, forces[i], weight[i], torque[i]) for i, m in enumerate(mounts))


def _parts(values: Array) -> list[float]:
    total = float(values.sum())
    if abs(total) <= 1e-9 * float(np.abs(values).sum()):
        return [0.0] * len(values)
    return [float(value) / total for value in values]


@dataclass(frozen=True, eq=False)
class Half:
    """One side of a unit that is bolted together: motor, or gearbox.

    Attributes
    ----------
    name : str
    mass : float, kg
    centre : (3,) m
    mounts : tuple of str, the mounts on this side
    torque : (3,) N·m, all torques from outside on this side (shafts, brakes)
    forces : tuple of ((3,) m, (3,) N), forces from outside other than weight and mounts
    """

    name: str
    mass: float
    centre: Array
    mounts: tuple[str, ...]
    torque: Array
    forces: tuple[tuple[Array, Array], ...] = ()


@dataclass(frozen=True, eq=False)
class Wrung:
    """What the other side gives this side through the bolted joint, about the joint's middle.

    Attributes
    ----------
    force : (3,) N
    moment : (3,) N·m
    """

    force: Array
    moment: Array

    def twist(self, axis: Array) -> float:
        """Part of the moment about the shaft line, N·m."""
        return float(self.moment @ axis)

    def bending(self, axis: Array) -> float:
        """Part of the moment square to the shaft line, N·m."""
        return float(np.linalg.norm(np.cross(axis, self.moment)))


def wrung_through(half: Half, mounts: Sequence[Mount], forces: Array, *, pull: Array, joint: Array) -> Wrung:
    """Free body of one side: what the joint must give so that all of its loads cancel.

    Parameters
    ----------
    forces : (n, 3) N, of each mount on the body
    pull : (3,) m/s², force on every kilogram
    joint : (3,) m, middle of the joint

    Raises
    ------
    GeometryError
        When the side names a mount that is not there.
    """
    by_name = {mount.name: (mount.place, forces[i]) for i, mount in enumerate(mounts)}
    unknown = [name for name in half.mounts if name not in by_name]
    if unknown:
        raise GeometryError(f"no mount is called {unknown[0]!r}", where=half.name)
    acting = [(half.centre, half.mass * np.asarray(pull)), *half.forces]
    acting += [by_name[name] for name in half.mounts]
    force = np.sum([f for _, f in acting], axis=0)
    moment = np.sum([np.cross(place - joint, f) for place, f in acting], axis=0) + half.torque
    return Wrung(-force, -moment)


@dataclass(frozen=True, eq=False)
class Sway:
    """How far a point moves from where it stands at rest, over all cases.

    Attributes
    ----------
    point : str
    low, high : (3,) m
        Least and greatest movement forward, left and up; rest itself is one of the cases.
    low_by, high_by : tuple of 3 str, the case that does it; empty for rest
    """

    point: str
    low: Array
    high: Array
    low_by: tuple[str, ...]
    high_by: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Moved:
    """The body in one case: displacement (6,) of its centre from rest, and the mounts' forces (n, 3) N."""

    case: str
    displacement: Array
    forces: Array
    squeezed: Array = field(repr=False)
    on_stop: tuple[bool, ...] = ()


def displaced(body: Hung, displacement: Array) -> Pose:
    """The displacement (6,) of the centre as a pose: points at rest in, points in the case out."""
    rotation = rotation_from_vector(displacement[3:])
    return Pose(rotation, body.centre + displacement[:3] - rotation @ body.centre)


def all_cases(
    body: Hung, mounts: Sequence[Mount], standing: Array, cases: Mapping[str, Array]
) -> tuple[Moved, ...]:
    """Every case on the mounts, its movement counted from where the unit stands under its weight.

    Parameters
    ----------
    standing : (6,) N and N·m at the centre, of the unit at rest
    cases : name to (6,) N and N·m, each in full, weight included
    """
    rest = come_to_rest(mounts, body.centre, standing)
    moves = []
    for name, load in cases.items():
        there = come_to_rest(mounts, body.centre, load)
        moves.append(
            Moved(name, there.displacement - rest.displacement, there.forces, there.squeezed, there.on_stop)
        )
    return tuple(moves)


def sways(body: Hung, moves: Sequence[Moved], points: Mapping[str, Array]) -> tuple[Sway, ...]:
    """The box that each named point (3,) m keeps within, over all cases."""
    found = []
    names = ("", *(move.case for move in moves))
    for name, point in points.items():
        at = np.array([np.zeros(3)] + [displaced(body, m.displacement).apply(point) - point for m in moves])
        low, high = at.argmin(axis=0), at.argmax(axis=0)
        found.append(
            Sway(
                name,
                at.min(axis=0),
                at.max(axis=0),
                tuple(names[i] for i in low),
                tuple(names[i] for i in high),
            )
        )
    return tuple(found)
