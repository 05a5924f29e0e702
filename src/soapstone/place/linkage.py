"""A wheel carrier on rigid links: where it goes through the wheel's travel."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError, LooseError
from soapstone.place.pose import Pose, rotation_from_vector

Array = NDArray[np.float64]

_ROUNDS = 60
_STRIDE = 0.02  # m of travel from one closed pose to the next, so that the linkage never jumps over
_LOOSE = 1e10
"""Condition above which the links leave a second freedom."""


@dataclass(frozen=True, eq=False)
class Linkage:
    """A carrier held by five links of fixed length, ball joints at both ends.

    A double wishbone is two links to its lower ball, two to its upper and the track link. All points in
    vehicle axes at ride height.

    Attributes
    ----------
    vehicle_ends : (5, 3) m
    carrier_ends : (5, 3) m
    centre : (3,) m, wheel centre
    """

    vehicle_ends: Array
    carrier_ends: Array
    centre: Array

    def __post_init__(self) -> None:
        if self.vehicle_ends.shape != (5, 3) or self.carrier_ends.shape != (5, 3):
            raise GeometryError("a wheel carrier is led by five links, no more and no fewer")

    @property
    def lengths(self) -> Array:
        """(5,) m."""
        run: Array = np.linalg.norm(self.carrier_ends - self.vehicle_ends, axis=1)
        return run


def double_wishbone(points: Mapping[str, Array]) -> Linkage:
    """A linkage from the usual points.

    Parameters
    ----------
    points : `lower front`, `lower rear`, `lower ball`, `upper front`, `upper rear`, `upper ball`,
        `track inner`, `track outer`, `wheel centre`; each (3,) m in vehicle axes

    Raises
    ------
    GeometryError
        Naming what is missing.
    """
    ends = (
        ("lower front", "lower ball"),
        ("lower rear", "lower ball"),
        ("upper front", "upper ball"),
        ("upper rear", "upper ball"),
        ("track inner", "track outer"),
    )
    needed = dict.fromkeys([name for pair in ends for name in pair] + ["wheel centre"])
    missing = [name for name in needed if name not in points]
    if missing:
        raise GeometryError(f"the wishbones lack {', '.join(missing)}")
    inner = np.array([points[a] for a, _ in ends], float)
    outer = np.array([points[b] for _, b in ends], float)
    return Linkage(inner, outer, np.asarray(points["wheel centre"], float))


def carrier_at(linkage: Linkage, travel: Array) -> tuple[Pose, ...]:
    """Pose of the carrier (identity at ride height) for each wheel-centre height above ride height.

    Parameters
    ----------
    travel : (n,) m, up is positive; in any order

    Raises
    ------
    GeometryError
        When the links do not let the wheel go that far.
    LooseError
        When they leave more than the travel free.
    """
    ride = Pose(np.eye(3), np.zeros(3))
    if np.linalg.cond(_rates(linkage, ride)) > _LOOSE:
        raise LooseError("the links leave the wheel carrier more freedoms than its travel")
    found: dict[float, Pose] = {0.0: ride}
    for side in (1.0, -1.0):
        pose, at = ride, 0.0
        for height in sorted({float(t) for t in travel if t * side > 0.0}, key=abs):
            steps = int(np.ceil(abs(height - at) / _STRIDE))
            for between in np.linspace(at, height, steps + 1)[1:]:
                pose = _closed(linkage, pose, float(between))
            found[height], at = pose, height
    return tuple(found[float(t) + 0.0] for t in travel)


def _rates(linkage: Linkage, pose: Pose) -> Array:
    """(6, 6): rate of the five lengths and the centre's height per twist about the centre."""
    outer, centre = pose.apply(linkage.carrier_ends), pose.apply(linkage.centre)
    links = outer - linkage.vehicle_ends
    units = links / np.linalg.norm(links, axis=1)[:, None]
    rows = np.hstack([units, np.cross(outer - centre, units)])
    return np.vstack([rows, [0.0, 0.0, 1.0, 0.0, 0.0, 0.0]])


def _closed(linkage: Linkage, start: Pose, height: float) -> Pose:
    """Newton on five lengths and one height, from a pose not far off."""
    pose, short = start, np.ones(6)
    for _ in range(_ROUNDS):
        centre = pose.apply(linkage.centre)
        run = np.linalg.norm(pose.apply(linkage.carrier_ends) - linkage.vehicle_ends, axis=1)
        short = np.append(linkage.lengths - run, linkage.centre[2] + height - centre[2])
        step: Array = np.asarray(np.linalg.lstsq(_rates(linkage, pose), short, rcond=1e-12)[0], float)
        rotation = rotation_from_vector(step[3:]) @ pose.rotation
        pose = Pose(rotation, centre + step[:3] - rotation @ linkage.centre)
        if np.linalg.norm(step) < 1e-14:
            break
    if float(np.abs(short).max()) > 1e-9:
        raise GeometryError(f"the links do not let the wheel travel by {1000 * height:.0f} mm")
    return pose
