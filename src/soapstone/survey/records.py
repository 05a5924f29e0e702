"""The records of the survey room: readings in, points with their spread out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

import numpy as np

from soapstone.survey.covariance import Covariance
from soapstone.survey.index import Array


class ReadingKind(StrEnum):
    """What a reading measures."""

    TAPE = "tape"  # straight distance between two points
    PLAN = "plan"  # horizontal distance between two points
    HEIGHT = "height"  # above a floor plane; with two points, of the second above the first
    OFFSET = "offset"  # signed distance from an upright plane; with two points, of the second from the first
    LEVEL = "level"  # slope of the line from the first point to the second, up is positive
    COORDINATE = "coordinate"  # one coordinate of a point
    STRAIGHT = "straight"  # how far the first point lies off the line of the other two, seen one way
    FLUSH = "flush"  # how far the first point lies off the plane of the other three
    FRAMED = "framed"  # one coordinate of the first point in a frame of its own

    @property
    def is_length(self) -> bool:
        """Whether the reading is a distance between two points, which cannot be zero or negative."""
        return self in (ReadingKind.TAPE, ReadingKind.PLAN)

    @property
    def counts(self) -> tuple[int, ...]:
        """How many points it may name; those of a frame count along."""
        return _COUNTS.get(self, (1, 2))


_COUNTS = {
    ReadingKind.TAPE: (2,),
    ReadingKind.PLAN: (2,),
    ReadingKind.LEVEL: (2,),
    ReadingKind.STRAIGHT: (3,),
    ReadingKind.FLUSH: (4,),
    ReadingKind.FRAMED: (4,),
}


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
_USUAL_PLANE = {
    ReadingKind.HEIGHT: FLOOR,
    ReadingKind.OFFSET: CENTRE,
    ReadingKind.STRAIGHT: FLOOR,
    ReadingKind.FLUSH: FLOOR,
}


def usual_plane(kind: ReadingKind) -> Plane | None:
    """The plane of a reading that names none; None for kinds that need none or have to name it."""
    return _USUAL_PLANE.get(kind)


_NODES = (": origin", ": ahead", ": aside")  # no point of a job can have such a name


@dataclass(frozen=True)
class Frame:
    """The frame in which an arm, a scan or a bench gives coordinates; where it stands is solved along.

    Attributes
    ----------
    name : str
    scaled : bool
        Whether its scale is solved along too; it has to be within some percent of one.
    """

    name: str
    scaled: bool = False

    @property
    def nodes(self) -> tuple[str, str, str]:
        """Its origin and two more points that carry its axes, solved like points of the network."""
        origin, ahead, aside = (self.name + node for node in _NODES)
        return origin, ahead, aside


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing measured.

    Attributes
    ----------
    kind : ReadingKind
    points : tuple of str
        Two names for a distance or a level; one (or two, for a difference) for the plane kinds; for straight
        and flush the point and then those of the line or plane; for framed the point and its frame's nodes.
    value, sigma : float
        SI (m, rad): what was read, and one standard deviation of it.
    label : str
        As it stands in the job (`tape A C`).
    written : str
        The number as written (`41-7/8 in`), from which swapped digits are guessed; empty: whole mm.
    holes : tuple of float, m
        Diameters of the holes at the points; 0 where there is none.
    place : str
        Where it stands (`job.yaml:31`).
    plane : Plane or None
        For the plane kinds; None means the floor for a height and the centre plane for an offset.
        Straight: the way the gap is seen, square to the line. Flush: the side that counts as positive.
        Framed: the axis, in the frame.
    """

    kind: ReadingKind
    points: tuple[str, ...]
    value: float
    sigma: float
    label: str
    place: str = ""
    plane: Plane | None = None
    written: str = ""
    holes: tuple[float, ...] = ()

    @property
    def surface(self) -> Plane | None:
        """The plane the reading is taken from; None for kinds that need none."""
        return self.plane or usual_plane(self.kind)

    @property
    def touched(self) -> tuple[str, ...]:
        """The points without those that only carry a frame."""
        return self.points[:1] if self.kind is ReadingKind.FRAMED else self.points


def coordinate_readings(
    point: str, at: tuple[float, float, float], sigma: float, label: str, place: str = ""
) -> tuple[Reading, Reading, Reading]:
    """Three readings for a point whose x, y and z were read off (m); labels get ` x`, ` y`, ` z`."""
    return _three(ReadingKind.COORDINATE, (point,), at, sigma, label, place)


def _three(
    kind: ReadingKind,
    points: tuple[str, ...],
    at: tuple[float, float, float],
    sigma: float,
    label: str,
    place: str,
) -> tuple[Reading, Reading, Reading]:
    planes = ((CROSS, "x"), (CENTRE, "y"), (FLOOR, "z"))
    x, y, z = (
        Reading(kind, points, value, sigma, f"{label} {axis}", place, plane)
        for value, (plane, axis) in zip(at, planes, strict=True)
    )
    return x, y, z


def framed_readings(
    point: str, frame: Frame, at: tuple[float, float, float], sigma: float, label: str, place: str = ""
) -> tuple[Reading, Reading, Reading]:
    """Three readings for a point's coordinates (m) in a frame; labels get ` x`, ` y`, ` z`."""
    return _three(ReadingKind.FRAMED, (point, *frame.nodes), at, sigma, label, place)


def straight_readings(
    point: str, line: tuple[str, str], sigma: float, label: str, place: str = ""
) -> tuple[Reading, Reading]:
    """Two readings that a point lies on the line of two others, seen from above and from the side."""
    points = (point, *line)
    return (
        Reading(ReadingKind.STRAIGHT, points, 0.0, sigma, f"{label} sideways", place, CENTRE),
        Reading(ReadingKind.STRAIGHT, points, 0.0, sigma, f"{label} up", place, FLOOR),
    )


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
    frames : tuple of Frame
        Of the framed readings.
    """

    names: tuple[str, ...]
    known: Mapping[str, Array]
    readings: tuple[Reading, ...]
    sides: tuple[tuple[str, str, str], ...] = ()
    known_covariance: Mapping[str, Array] = field(default_factory=dict)
    datum: Datum = Datum.FIXED
    frames: tuple[Frame, ...] = ()


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
class Residuals:
    """How each reading stands after the adjustment; arrays of the number of readings, as in `Checked`."""

    adjusted: Array
    residual: Array
    redundancy: Array
    standardised: Array
    detectable: Array


@dataclass(frozen=True)
class Survey:
    """The adjusted network.

    Attributes
    ----------
    names : tuple of str
    xyz : (n, 3) m
    spread : Covariance
        From the stated accuracies (not scaled by the variance factor). In a loose direction it is the
        square of the size of the network.
    readings : tuple of Reading
    residuals : Residuals
        One entry for each reading, in their order.
    freedom : int
        Readings more than needed.
    variance_factor : float or None
        A posteriori; None when nothing is left over to judge by.
    variance_bounds : tuple of float
        Within these the variance factor lies in 95 of 100 surveys of the stated accuracy.
    loose : tuple of Loose
    ambiguous : tuple of Ambiguity
    nodes : (k, 3) m
        Points that carry the frames, three each in the order of the network's frames.
    unrest : float
        By how much one more step would lower the weighted sum of squares: 0 when the points are at rest.
    """

    names: tuple[str, ...]
    xyz: Array
    spread: Covariance
    readings: tuple[Reading, ...]
    residuals: Residuals
    freedom: int
    variance_factor: float | None
    variance_bounds: tuple[float, float]
    loose: tuple[Loose, ...]
    ambiguous: tuple[Ambiguity, ...]
    nodes: Array = field(default_factory=lambda: np.zeros((0, 3)))
    unrest: float = 0.0

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Place of each name in the arrays."""
        return {name: i for i, name in enumerate(self.names)}

    @cached_property
    def checked(self) -> tuple[Checked, ...]:
        """One for each reading of the network, in its order."""
        of = self.residuals
        columns = (of.adjusted, of.residual, of.redundancy, of.standardised, of.detectable)
        return tuple(
            Checked(*row) for row in zip(self.readings, *(column.tolist() for column in columns), strict=True)
        )

    @cached_property
    def covariance(self) -> Array:
        """Covariance of all coordinates of the points, (3n, 3n) m^2; large for a large network."""
        return self.spread.dense()[: self.xyz.size, : self.xyz.size]

    def point(self, name: str) -> Array:
        """Position of a point, (3,) m."""
        at: Array = self.xyz[self.index[name]]
        return at

    def covariance_of(self, name: str) -> Array:
        """Covariance of a point, (3, 3) m^2."""
        at = np.array([self.index[name]])
        block: Array = self.spread.blocks(at, at)[0]
        return block

    def sigma_of(self, name: str) -> Array:
        """Standard deviation of x, y and z of a point, (3,) m."""
        return np.sqrt(np.diag(self.covariance_of(name)))
