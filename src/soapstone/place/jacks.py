"""From a wanted pose to turns of the screws that a body stands or hangs on."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError, LooseError
from soapstone.place.pose import Pose, rotation_from_vector
from soapstone.survey.loose import direction_words

Array = NDArray[np.float64]

_ROUNDS = 50


@dataclass(frozen=True, eq=False)
class Screw:
    """A screw that lifts one point of a body and lets it slide sideways.

    Attributes
    ----------
    name : str
    point : (3,) m, the point it carries, in the body's axes
    axis : (3,) unit vector, the way it lifts, vehicle axes
    pitch : float, m per turn
    raises : {'clockwise', 'counter-clockwise'}
        Which turn, seen along the axis from its tip, lifts.
    """

    name: str
    point: Array
    axis: Array
    pitch: float
    raises: str = "clockwise"

    def __post_init__(self) -> None:
        if not self.pitch > 0.0:
            raise GeometryError("a screw needs a pitch above zero", where=self.name)


@dataclass(frozen=True)
class Turn:
    """What to do at one screw.

    Attributes
    ----------
    screw : str
    lift : float, m; below zero it goes down
    turns : float, without a sign
    way : str, `clockwise`, `counter-clockwise` or empty when nothing is to be turned
    """

    screw: str
    lift: float
    turns: float
    way: str


@dataclass(frozen=True, eq=False)
class Lift:
    """How to get from one pose towards another by screws alone.

    Attributes
    ----------
    turns : tuple of Turn
    reached : Pose
        Where the screws leave the body when it neither slides nor turns more than they make it.
    shift_left : (3,) m
        What the body must still be shifted by hand, at its pivot, after the screws.
    turn_left : (3,) rad
        What it must still be turned by hand, vehicle axes.
    words : tuple of str
        The same in words, only what is more than `noticed`.
    """

    turns: tuple[Turn, ...]
    reached: Pose
    shift_left: Array
    turn_left: Array
    words: tuple[str, ...]


def lift_to(
    screws: Sequence[Screw], now: Pose, wanted: Pose, pivot: Array, *, noticed: tuple[float, float]
) -> Lift:
    """Turns of each screw from the pose `now` to the pose `wanted`, and what screws cannot do.

    Parameters
    ----------
    screws : at least three, not in one line
    now, wanted : Pose
    pivot : (3,) m in the body's axes
        Where the shift left over is counted.
    noticed : (m, rad)
        Smallest shift and turn left over that is worth words.

    Raises
    ------
    LooseError
        When the body can still tip on its screws.
    """
    _stands(screws, now)
    rises = [float(s.axis @ (wanted.apply(s.point) - now.apply(s.point))) for s in screws]
    reached = _follow(screws, now, np.array(rises), pivot)
    left = wanted.rotation @ reached.rotation.T
    turn = _turn_vector(left)
    shift = wanted.apply(pivot) - reached.apply(pivot)
    turns = tuple(_turn(screw, rise) for screw, rise in zip(screws, rises, strict=True))
    return Lift(turns, reached, shift, turn, _left_words(shift, turn, noticed))


def reached_by(screws: Sequence[Screw], now: Pose, turns: Sequence[float], pivot: Array) -> Pose:
    """Where the body comes to when each screw is turned, lifting counted positive: to see what rounding does.

    With more than three screws the body rests on them as well as it can.

    Raises
    ------
    LooseError
        When the body can still tip on its screws.
    """
    _stands(screws, now)
    rises = np.array([turn * screw.pitch for turn, screw in zip(turns, screws, strict=True)])
    return _follow(screws, now, rises, pivot)


def _turn(screw: Screw, rise: float) -> Turn:
    other = {"clockwise": "counter-clockwise", "counter-clockwise": "clockwise"}
    way = "" if rise == 0.0 else screw.raises if rise > 0.0 else other[screw.raises]
    return Turn(screw.name, rise, abs(rise) / screw.pitch, way)


def _rows(screws: Sequence[Screw], pose: Pose, pivot: Array) -> Array:
    """(n, 6) lift of each carried point per twist."""
    arms = np.array([pose.apply(s.point) - pose.apply(pivot) for s in screws])
    axes = np.array([s.axis for s in screws])
    return np.hstack([axes, np.cross(arms, axes)])


def _stands(screws: Sequence[Screw], pose: Pose) -> None:
    if len(screws) < 3:
        raise LooseError(f"a body on {len(screws)} screws tips over", remedy="give it three or more")
    at = np.array([pose.apply(s.point) for s in screws])
    middle = at.mean(axis=0)
    axes = np.array([s.axis for s in screws])
    rows = np.hstack([axes, np.cross(at - middle, axes)])
    reach = float(np.linalg.norm(at - middle, axis=1).max())
    rows[:, 3:] /= max(reach, 1e-300)
    values = np.linalg.svd(rows, compute_uv=False)
    if values[2] < 1e-6 * values[0]:
        line = np.linalg.svd(at - middle)[2][0]
        raise LooseError(
            f"the screws stand in one line, {direction_words(line)}; the body tips about it",
            remedy="set one screw off that line",
        )


def _follow(screws: Sequence[Screw], now: Pose, rises: Array, pivot: Array) -> Pose:
    """Least movement that lifts every carried point by its rise along its axis."""
    goal = np.array([s.axis @ now.apply(s.point) for s in screws]) + rises
    pose = now
    for _ in range(_ROUNDS):
        short = goal - np.array([s.axis @ pose.apply(s.point) for s in screws])
        step = np.linalg.lstsq(_rows(screws, pose, pivot), short, rcond=1e-9)[0]
        at = pose.apply(pivot) + step[:3]
        rotation = rotation_from_vector(step[3:]) @ pose.rotation
        pose = Pose(rotation, at - rotation @ pivot)
        if np.linalg.norm(step) < 1e-14:
            break
    return pose


def _turn_vector(rotation: Array) -> Array:
    """Turn vector (3,) rad of a rotation of less than half a turn."""
    axis = np.array(
        [
            rotation[2, 1] - rotation[1, 2],
            rotation[0, 2] - rotation[2, 0],
            rotation[1, 0] - rotation[0, 1],
        ]
    )
    sine = float(np.linalg.norm(axis)) / 2
    angle = float(np.arctan2(sine, (np.trace(rotation) - 1) / 2))
    vector: Array = axis / 2 if sine < 1e-12 else axis * (angle / (2 * sine))
    return vector


_SHIFTS = (("forward", "aft"), ("left", "right"), ("up", "down"))
_TURNS = (("left side up", "left side down"), ("nose down", "nose up"), ("to the left", "to the right"))


def _left_words(shift: Array, turn: Array, noticed: tuple[float, float]) -> tuple[str, ...]:
    words = []
    for value, (plus, minus) in zip(shift, _SHIFTS, strict=True):
        if abs(value) > noticed[0]:
            words.append(f"shift it {1000 * abs(value):.1f} mm {plus if value > 0 else minus} by hand")
    for value, (plus, minus) in zip(turn, _TURNS, strict=True):
        if abs(value) > noticed[1]:
            words.append(f"turn it {np.degrees(abs(value)):.2f} deg {plus if value > 0 else minus} by hand")
    return tuple(words)
