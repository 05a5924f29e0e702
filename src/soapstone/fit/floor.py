"""The floor under the vehicle: how well its height is known, and how near the springs let it come."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.job.room import Ground
from soapstone.job.schema import Job
from soapstone.place.envelopes import plane_of
from soapstone.place.shafting import HalfRun
from soapstone.place.shapes import HalfSpace
from soapstone.survey.records import Survey
from soapstone.tables.gaps import tape_accuracy

Array = NDArray[np.float64]

_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class Floor:
    """The plane that heights are taken from.

    Attributes
    ----------
    name : of the plane
    plane : HalfSpace, what lies behind it
    stated : m, one standard deviation of its height, as the job says or a tape gives it; nothing where
        surveyed points alone say where it is
    corners, spread : (3, 3) m and (3, 3) m^2: the points that it is laid through, and the covariance of their
        heights; None where it is not
    assumed : what nobody stated, with its origin
    """

    name: str
    plane: HalfSpace
    stated: float = 0.0
    corners: Array | None = None
    spread: Array | None = None
    assumed: tuple[str, ...] = ()

    def sigma(self, at: Array) -> float:
        """m, one standard deviation of the floor's height under a place (3,) m.

        A plane through three points moves at a place by its shares (barycentric coordinates) of what they
        move by, so far outside of their triangle it is known less well than any of them.
        """
        if self.corners is None or self.spread is None:
            return self.stated
        sides = (self.corners[1:] - self.corners[0]).T
        two = np.linalg.lstsq(sides, at - self.corners[0], rcond=None)[0]
        shares = np.array([1.0 - two.sum(), *two])
        return float(np.sqrt(self.stated**2 + max(float(shares @ self.spread @ shares), 0.0)))


def floor_of(job: Job, survey: Survey) -> Floor | None:
    """The plane that `ground` names, else the first that is `of: floor`; None where there is none."""
    floors = [name for name, plane in job.planes.items() if plane.of == "floor"]
    said = job.ground.plane if job.ground is not None else None
    name = said or (floors[0] if floors else "")
    if not name:
        return None
    plane = plane_of(name, "ground", _UP, job, survey)
    laid = _laid(job.planes[name].through, plane, survey)
    settled = job.planes[name].of == "floor" and job.datum.settling is not None
    stated, assumed = _stated(job.ground, name) if laid is None or settled else (0.0, ())
    corners, spread = (None, None) if laid is None else laid
    return Floor(name, plane, stated, corners, spread, assumed)


def _laid(points: Sequence[str], plane: HalfSpace, survey: Survey) -> tuple[Array, Array] | None:
    """Places of three points, (3, 3) m, and the covariance of their heights; None if no reading says it."""
    if not points or any(point not in survey.index for point in points):
        return None
    rows = np.array([survey.index[point] for point in points])
    first, second = np.meshgrid(rows, rows, indexing="ij")
    blocks = survey.spread.blocks(first.ravel(), second.ravel()).reshape(3, 3, 3, 3)
    spread = np.einsum("ijkl,k,l->ij", blocks, plane.normal, plane.normal)
    return (survey.xyz[rows], spread) if spread.any() else None


def _stated(ground: Ground | None, name: str) -> tuple[float, tuple[str, ...]]:
    if ground is not None and ground.accuracy is not None:
        return ground.accuracy, ()
    tape = tape_accuracy()
    words = f"{name} is known to {1e3 * tape.size:.1f} mm, one standard deviation: {tape.source}"
    return tape.size, (words,)


@dataclass(frozen=True)
class Bump:
    """The vehicle with its wheels at their upper stops.

    Attributes
    ----------
    ends : (along the ground, how far it comes down there), m, of one or two axles
    assumed : what nobody stated
    """

    ends: tuple[tuple[float, float], ...]
    assumed: tuple[str, ...] = ()

    def drop(self, along: Array) -> Array:
        """(n,) m: how far places (n,) m along the ground come down; none is taken to rise."""
        (here, down), (there, other) = self.ends[0], self.ends[-1]
        if here == there:
            return np.full_like(along, max(down, other))
        return np.maximum(down + (other - down) * (along - here) / (there - here), 0.0)


def bump_of(ground: Ground, shafts: Sequence[HalfRun]) -> Bump | None:
    """From the travel of the half-shafts' hubs, each counted to the axle it is nearest to; None without any.

    Both wheels of an axle go as far as the one that goes farther. An axle of unknown travel stays where it
    is. Where fewer than two axles are known the whole comes straight down.
    """
    hubs = [
        (float(run.moves.at[int(np.abs(run.moves.travel).argmin())][0]), float(run.moves.travel[-1]))
        for run in shafts
        if run.moves is not None and run.moves.travel[-1] > 0.0
    ]
    if not hubs:
        return None
    axles = {
        name: axle for name, axle in (("rear", ground.rear), ("front", ground.front)) if axle is not None
    }
    if len(axles) < 2:
        return Bump(((0.0, max(travel for _, travel in hubs)),))
    downs = dict.fromkeys(axles, 0.0)
    for at, travel in hubs:
        name = min(axles, key=lambda one: abs(axles[one].at[0] - at))
        downs[name] = max(downs[name], travel)
    return Bump(
        tuple((axle.at[0], downs[name]) for name, axle in axles.items()),
        tuple(_stays(name) for name, down in downs.items() if down == 0.0),
    )


def _stays(name: str) -> str:
    return f"the travel of the {name} wheels is not given: they are taken to stay at ride height"
