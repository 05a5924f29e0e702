"""A drivetrain on elastic mounts: stiffness, where it comes to rest, what each mount carries.

Displacements are small: (6,) a shift of the body's centre of mass in m, then a turn in rad, vehicle axes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError, LooseError
from soapstone.place.freedom import twist_words

Array = NDArray[np.float64]

_LOOSE = 1e-9
"""Share of the stiffest direction below which a body counts as not held."""
_ROUNDS = 200
_GONE = 1e3  # m; a body that goes so far before anything catches it is not held


@dataclass(frozen=True)
class Stop:
    """A bump stop on one of a mount's own axes.

    Attributes
    ----------
    axis : {0, 1, 2}
    at : float, m
        Movement of the body at which it is met, with its sign.
    stiffness : float, N/m, what it adds from there on
    """

    axis: int
    at: float
    stiffness: float

    def __post_init__(self) -> None:
        if self.axis not in (0, 1, 2) or self.at == 0.0 or not self.stiffness > 0.0:
            raise GeometryError("a bump stop needs an axis, a gap and a stiffness above zero")


@dataclass(frozen=True, eq=False)
class Mount:
    """An elastic mount: three stiffnesses along its own axes, free to turn.

    Attributes
    ----------
    name : str
    place : (3,) m, vehicle axes
    axes : (3, 3)
        Columns are the unit vectors of its own axes, vehicle axes.
    stiffness : (3,) N/m under a lasting load
    dynamic : float
        How many times stiffer it is when shaken.
    loss : float
        Loss factor of the rubber (twice the damping ratio at resonance).
    stops : tuple of Stop
    """

    name: str
    place: Array
    axes: Array
    stiffness: Array
    dynamic: float
    loss: float = 0.0
    stops: tuple[Stop, ...] = ()

    def __post_init__(self) -> None:
        if np.any(np.asarray(self.stiffness) < 0.0) or not self.dynamic > 0.0 or self.loss < 0.0:
            raise GeometryError("a mount needs stiffnesses that are not below zero", where=self.name)

    @property
    def tensor(self) -> Array:
        """(3, 3) N/m in vehicle axes, lasting load, away from its stops."""
        full: Array = (self.axes * self.stiffness) @ self.axes.T
        return full


@dataclass(frozen=True, eq=False)
class Hung:
    """The body on the mounts.

    Attributes
    ----------
    mass : float, kg
    centre : (3,) m, centre of mass, vehicle axes
    inertia : (3, 3) kg·m², about the centre, vehicle axes
        The tensor as it stands: products with the minus sign of the definition `∫ (r² 1 - r r) dm`.
    """

    mass: float
    centre: Array
    inertia: Array

    def __post_init__(self) -> None:
        inertia = np.asarray(self.inertia, float)
        moments = np.linalg.eigvalsh(inertia)
        if not self.mass > 0.0 or not np.allclose(inertia, inertia.T) or moments[0] <= 0.0:
            raise GeometryError("a body needs a mass and a symmetric inertia above zero about every axis")
        if moments[2] > (moments[0] + moments[1]) * (1 + 1e-9):
            raise GeometryError(
                "no body has such an inertia: about one axis it is more than about the two others together",
                remedy="see whether the products of inertia carry the right sign",
            )


@dataclass(frozen=True, eq=False)
class Rest:
    """Where the body comes to rest.

    Attributes
    ----------
    displacement : (6,) m and rad, of the centre, from where nothing loads the mounts
    forces : (n, 3) N, of each mount on the body, vehicle axes
    squeezed : (n, 3) m, movement of the body at each mount along the mount's own axes
    on_stop : tuple of bool, per mount
    """

    displacement: Array
    forces: Array
    squeezed: Array
    on_stop: tuple[bool, ...]


def arms(mounts: Sequence[Mount], centre: Array) -> Array:
    """(n, 3, 6): movement at each mount per displacement of the centre."""
    x, y, z = (np.array([mount.place for mount in mounts]) - centre).T
    zero = np.zeros(len(mounts))
    turn = np.stack([zero, z, -y, -z, zero, x, y, -x, zero], axis=1).reshape(-1, 3, 3)
    rows: Array = np.concatenate([np.broadcast_to(np.eye(3), (len(mounts), 3, 3)), turn], axis=2)
    return rows


def stiffness_at(mounts: Sequence[Mount], centre: Array, *, shaken: bool = False) -> Array:
    """(6, 6) N/m, N, N·m: all mounts together, felt at the centre; shaken, with their dynamic factors."""
    b = arms(mounts, centre)
    tensors = np.array([mount.tensor * (mount.dynamic if shaken else 1.0) for mount in mounts])
    stiffness: Array = np.einsum("nia,nij,njb->ab", b, tensors, b)
    return stiffness


def loose_ways(mounts: Sequence[Mount], centre: Array) -> Array:
    """(k, 6) displacements of the centre that no mount resists."""
    if not mounts:
        return np.eye(6)
    reach = max(float(np.linalg.norm([m.place - centre for m in mounts], axis=1).max()), 1e-9)
    scale = np.array([1.0, 1.0, 1.0, 1 / reach, 1 / reach, 1 / reach])
    values, vectors = np.linalg.eigh(stiffness_at(mounts, centre) * np.outer(scale, scale))
    free: Array = vectors[:, values <= _LOOSE * values[-1]].T * scale
    return free


def weight_load(body: Hung, pull: Array, torque: Array | None = None) -> Array:
    """Load (6,) N and N·m at the centre: `pull` (3,) m/s² on every kilogram and a torque (3,) N·m."""
    load: Array = np.concatenate([body.mass * np.asarray(pull), np.zeros(3) if torque is None else torque])
    return load


def come_to_rest(mounts: Sequence[Mount], centre: Array, load: Array) -> Rest:
    """Balance a load on the mounts, bump stops included.

    Parameters
    ----------
    load : (6,) N and N·m at the centre

    Raises
    ------
    LooseError
        When the mounts do not hold the body; says which way it goes.

    Notes
    -----
    Stops make the elastic energy a convex patchwork of parabolas; Newton steps, each as long as lowers the
    energy most along it, end at its one lowest point.
    """
    free = loose_ways(mounts, centre)
    if len(free) and not any(mount.stops for mount in mounts):
        raise _not_held(free, centre)
    b = np.array([m.axes.T for m in mounts]) @ arms(mounts, centre)
    ridge = _ridge(mounts, centre) if len(free) else np.zeros((6, 6))
    u = np.zeros(6)
    for _ in range(_ROUNDS):
        out_of_balance = load - np.einsum("nia,ni->a", b, _pushes(mounts, b @ u))
        if np.linalg.norm(out_of_balance) <= 1e-12 * (np.linalg.norm(load) + 1e-300):
            break
        rates = _rates(mounts, b @ u)
        step = np.linalg.solve(np.einsum("nia,ni,nib->ab", b, rates, b) + ridge, out_of_balance)
        length = _best_length(mounts, b, u, step, load)
        if length is None:
            raise _not_held(free, centre)
        u = u + length * step
    squeezed = b @ u
    pushes = _pushes(mounts, squeezed)
    forces = np.array([-mount.axes @ push for mount, push in zip(mounts, pushes, strict=True)])
    on_stop = tuple(_stopped(m, s) for m, s in zip(mounts, squeezed, strict=True))
    return Rest(u, forces, squeezed, on_stop)


def _not_held(free: Array, centre: Array) -> LooseError:
    ways = "; ".join(twist_words(way, centre) for way in free)
    return LooseError(f"the mounts do not hold the body: {ways}", remedy="add a mount off that line")


def _ridge(mounts: Sequence[Mount], centre: Array) -> Array:
    """(6, 6): a trace of stiffness for Newton's step alone, where only stops hold; never in the balance."""
    reach = max(float(np.linalg.norm([m.place - centre for m in mounts], axis=1).max()), 1e-9)
    stiffest = max(float(np.max(m.stiffness)) for m in mounts) + max(
        s.stiffness for m in mounts for s in m.stops
    )
    return 1e-4 * stiffest * np.diag([1.0, 1.0, 1.0, reach**2, reach**2, reach**2])


def _met(stop: Stop, moved: float) -> float:
    """How far the body is beyond the stop, with its sign; zero before it."""
    beyond = moved - stop.at
    return beyond if beyond * stop.at > 0.0 else 0.0


def _stopped(mount: Mount, moved: Array) -> bool:
    return any(_met(stop, float(moved[stop.axis])) != 0.0 for stop in mount.stops)


def _pushes(mounts: Sequence[Mount], moved: Array) -> Array:
    """(n, 3) N, against the movement, along own axes."""
    pushes: Array = moved * np.array([mount.stiffness for mount in mounts])
    for row, mount in enumerate(mounts):
        for stop in mount.stops:
            pushes[row, stop.axis] += stop.stiffness * _met(stop, float(moved[row, stop.axis]))
    return pushes


def _rates(mounts: Sequence[Mount], moved: Array) -> Array:
    rates: Array = np.array([mount.stiffness for mount in mounts], float)
    for row, mount in enumerate(mounts):
        for stop in mount.stops:
            if _met(stop, float(moved[row, stop.axis])) != 0.0:
                rates[row, stop.axis] += stop.stiffness
    return rates


def _best_length(mounts: Sequence[Mount], b: Array, u: Array, step: Array, load: Array) -> float | None:
    """Length at which the energy's slope along the step vanishes; the slope only grows, so halving finds it.

    None when it never does: nothing catches the body that way.
    """

    def slope(length: float) -> float:
        pushes = _pushes(mounts, b @ (u + length * step))
        return float(step @ (np.einsum("nia,ni->a", b, pushes) - load))

    if abs(slope(1.0)) <= 1e-9 * abs(slope(0.0)):
        return 1.0
    low, high = 0.0, 1.0
    while slope(high) < 0.0:
        low, high = high, 2 * high
        if high * float(np.linalg.norm(step)) > _GONE:
            return None
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if slope(middle) < 0.0 else (low, middle)
    return (low + high) / 2
