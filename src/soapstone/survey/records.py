"""The records of the survey room: readings in, points with their spread out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class ReadingKind(StrEnum):
    """What a reading measures."""

    TAPE = "tape"  # straight distance between two points
    PLAN = "plan"  # horizontal distance between two points
    HEIGHT = "height"  # above a floor plane; with two points, of the second above the first
    OFFSET = "offset"  # signed distance from an upright plane; with two points, of the second from the first
    LEVEL = "level"  # slope of the line from the first point to the second, up is positive
    COORDINATE = "coordinate"  # one coordinate of a point

    @property
    def is_length(self) -> bool:
        """Whether the reading is a distance between two points, which cannot be zero or negative."""
        return self in (ReadingKind.TAPE, ReadingKind.PLAN)


class Datum(StrEnum):
    """How the network is tied down."""

    FIXED = "fixed"  # the known points are held
    FREE = "free"  # nothing is held; the whole is laid onto the known points with least corrections


@dataclass(frozen=True)
class Plane:
    """A named plane `normal . p = offset`.

    Attributes
    ----------
    normal : tuple of 3 float
        Unit vector; readings on its side are positive.
    offset : float, m
        Distance of the plane from the datum origin along the normal.
    """

    normal: tuple[float, float, float]
    offset: float = 0.0


FLOOR = Plane((0.0, 0.0, 1.0))
CENTRE = Plane((0.0, 1.0, 0.0))
CROSS = Plane((1.0, 0.0, 0.0))
_USUAL_PLANE = {ReadingKind.HEIGHT: FLOOR, ReadingKind.OFFSET: CENTRE}


@dataclass(frozen=True)
class Reading:
    """One thing measured.

    Attributes
    ----------
    kind : ReadingKind
    points : tuple of str
        Two names for a distance or a level; one (or two, for a difference) for the plane kinds.
    value, sigma : float
        SI (m, rad): what was read, and one standard deviation of it.
    label : str
        As it stands in the job (`tape A C`).
    place : str
        Where it stands (`job.yaml:31`).
    plane : Plane or None
        For the plane kinds; None means the floor for a height and the centre plane for an offset.
    """

    kind: ReadingKind
    points: tuple[str, ...]
    value: float
    sigma: float
    label: str
    place: str = ""
    plane: Plane | None = None

    @property
    def surface(self) -> Plane | None:
        """The plane the reading is taken from; None for kinds that need none."""
        return self.plane or _USUAL_PLANE.get(self.kind)


def coordinate_readings(
    point: str, at: tuple[float, float, float], sigma: float, label: str, place: str = ""
) -> tuple[Reading, Reading, Reading]:
    """Three readings for a point whose x, y and z were read off (m); labels get ` x`, ` y`, ` z`."""
    planes = ((CROSS, "x"), (CENTRE, "y"), (FLOOR, "z"))
    x, y, z = (
        Reading(ReadingKind.COORDINATE, (point,), value, sigma, f"{label} {axis}", place, plane)
        for value, (plane, axis) in zip(at, planes, strict=True)
    )
    return x, y, z


@dataclass(frozen=True)
class Network:
    """Everything that is known before the adjustment.

    Attributes
    ----------
    names : tuple of str
        All points, in the order of the answer.
    known : mapping of name to (3,) m
        Points given by position; with a free datum, where the network is to be laid.
    readings : tuple of Reading
    sides : tuple of (str, str, str)
        Side-telling statements, `("P", "below", "A")`; see `soapstone.survey.sides`.
    known_covariance : mapping of name to (3, 3) m^2
        For known points that are not exact; they take part in the adjustment.
    datum : Datum
    """

    names: tuple[str, ...]
    known: Mapping[str, Array]
    readings: tuple[Reading, ...]
    sides: tuple[tuple[str, str, str], ...] = ()
    known_covariance: Mapping[str, Array] = field(default_factory=dict)
    datum: Datum = Datum.FIXED


@dataclass(frozen=True)
class Checked:
    """One reading after the adjustment.

    Attributes
    ----------
    reading : Reading
    adjusted, residual : float
        SI; residual = adjusted - read.
    redundancy : float
        0 (nothing else controls the reading) to 1 (wholly controlled).
    standardised : float
        residual / (sigma sqrt(redundancy)); 0 where nothing controls the reading.
    detectable : float
        SI; smallest error that the others would show, infinite where nothing controls the reading.
    """

    reading: Reading
    adjusted: float
    residual: float
    redundancy: float
    standardised: float
    detectable: float

    @property
    def error(self) -> float:
        """What the reading is off by if it alone is wrong, read minus true (SI)."""
        return -self.residual / self.redundancy if self.redundancy > 0 else 0.0


@dataclass(frozen=True)
class Loose:
    """A point that the readings leave free to move.

    Attributes
    ----------
    point : str
    direction : (3,)
        Unit vector of the loosest direction.
    words : str
        The same in words, and what moves along.
    directions : (k, 3)
        All independent loose directions, k = 1 to 3.
    cure : str
        One reading that would tie it down.
    """

    point: str
    direction: Array
    words: str
    directions: Array
    cure: str


@dataclass(frozen=True)
class Ambiguity:
    """A second position that the readings cannot tell from the first.

    Attributes
    ----------
    point : str
        The point that moves most between the two.
    here, there : (3,) m
        Its place in this answer, and in the other.
    question : str
        Asks for the one statement that settles it.
    moves : tuple of str
        Every point that would move along.
    """

    point: str
    here: Array
    there: Array
    question: str
    moves: tuple[str, ...]


@dataclass(frozen=True)
class Survey:
    """The adjusted network.

    Attributes
    ----------
    names : tuple of str
    xyz : (n, 3) m
    covariance : (3n, 3n) m^2
        From the stated accuracies (not scaled by the variance factor). In a loose direction it is the
        square of the size of the network.
    checked : tuple of Checked
        One for each reading of the network, in its order.
    freedom : int
        Readings more than needed.
    variance_factor : float or None
        A posteriori; None when nothing is left over to judge by.
    variance_bounds : tuple of float
        Within these the variance factor lies in 95 of 100 surveys of the stated accuracy.
    loose : tuple of Loose
    ambiguous : tuple of Ambiguity
    """

    names: tuple[str, ...]
    xyz: Array
    covariance: Array
    checked: tuple[Checked, ...]
    freedom: int
    variance_factor: float | None
    variance_bounds: tuple[float, float]
    loose: tuple[Loose, ...]
    ambiguous: tuple[Ambiguity, ...]

    def point(self, name: str) -> Array:
        """Position of a point, (3,) m."""
        at: Array = self.xyz[self.names.index(name)]
        return at

    def covariance_of(self, name: str) -> Array:
        """Covariance of a point, (3, 3) m^2."""
        start = 3 * self.names.index(name)
        block: Array = self.covariance[start : start + 3, start : start + 3]
        return block

    def sigma_of(self, name: str) -> Array:
        """Standard deviation of x, y and z of a point, (3,) m."""
        return np.sqrt(np.diag(self.covariance_of(name)))
