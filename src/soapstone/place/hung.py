"""From the job's rubber mounts and bodies to a unit on elastic mounts, ready to be answered."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.formula import Step
from soapstone.job.hardware import Body, Shape
from soapstone.job.places import parse_place
from soapstone.job.rubber import Inertia, RubberMount
from soapstone.job.rubber import Stop as MetStop
from soapstone.job.schema import Job
from soapstone.place.isolators import Hung, Mount, Stop
from soapstone.place.measures import Clearance, square_to
from soapstone.place.placed import Placed
from soapstone.place.rubber import block_stiffness, dynamic_factors, round_block, rubber, square_block
from soapstone.place.shapes import Box, Cylinder, Solid
from soapstone.tables import sources

Array = NDArray[np.float64]

LOSS = 0.1
"""Loss factor of a mount that the job does not give; common practice for natural rubber, no source."""
_ALIKE = 0.1  # m, radius of gyration that stands in where statics alone are asked; statics never read it


@dataclass(frozen=True, eq=False)
class HungMount:
    """One mount with what the job says of it besides its stiffness.

    Attributes
    ----------
    mount : Mount
    hanger, support : str, what carries it: one of the two
    rated : float or None, N
    thickness : float or None, m of rubber
    because : how its stiffness came about
    origin : where its stiffness is from
    assumed : what stands in for keys left out
    """

    mount: Mount
    hanger: str
    support: str
    rated: float | None
    thickness: float | None
    because: tuple[Step, ...]
    origin: str
    assumed: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Suspended:
    """A body on rubber.

    Attributes
    ----------
    name : str
    body : Hung
        Where the inertia is not known it holds a stand-in that statics never read.
    inertia_known : bool
    mounts : tuple of HungMount
    solids : tuple of (name, Solid), its envelope where it sits, vehicle axes
    watched : tuple of Clearance, each solid to each of the vehicle's, by the obstacle's name, steering first
    unwatched : names of scans, whose gaps are not measured
    """

    name: str
    body: Hung
    inertia_known: bool
    mounts: tuple[HungMount, ...]
    solids: tuple[tuple[str, Solid], ...]
    watched: tuple[Clearance, ...]
    unwatched: tuple[str, ...]

    @property
    def springs(self) -> tuple[Mount, ...]:
        """The mounts alone."""
        return tuple(hung.mount for hung in self.mounts)

    @property
    def size(self) -> float:
        """How far the unit reaches from its centre, m."""
        reach = [np.linalg.norm(solid.middle - self.body.centre) + _round(solid) for _, solid in self.solids]
        reach += [np.linalg.norm(hung.mount.place - self.body.centre) for hung in self.mounts]
        return float(max(reach))


def suspended_bodies(job: Job, placed: Mapping[str, Placed]) -> dict[str, Suspended]:
    """Every placed body that stands on rubber; pure."""
    found: dict[str, list[HungMount]] = {}
    for name, spec in job.mounts.items():
        body, point = carried(job, spec)
        if body in placed:
            found.setdefault(body, []).append(_mount(name, spec, placed[body].points[point]))
    return {name: _suspended(job, placed[name], mounts) for name, mounts in found.items()}


def carried(job: Job, spec: RubberMount) -> tuple[str, str]:
    """Body and point that a mount carries."""
    text = spec.carries or job.hangers[spec.at or ""].carries
    place = parse_place(text)
    return place.name, place.point


def _mount(name: str, spec: RubberMount, at: Array) -> HungMount:
    along = np.array(spec.along)
    stiffness, because, origin = _stiffness(spec)
    assumed = []
    dynamic, loss = spec.stiffer_shaken, spec.loss
    if dynamic is None:
        low, dynamic, source = dynamic_factors()
        assumed.append(
            f"rubber {dynamic:g} times stiffer when shaken, the hard end of {low:g} to {dynamic:g}"
            f" ({sources()[source].title})"
        )
    if loss is None:
        loss = LOSS
        assumed.append(f"loss factor {LOSS:g} of the rubber (common practice, no source)")
    mount = Mount(
        name, at, np.column_stack([*square_to(along), along]), stiffness, dynamic, loss, tuple(_stops(spec))
    )
    thickness = spec.rubber.thickness if spec.rubber is not None else spec.thickness
    return HungMount(
        mount, spec.at or "", spec.on or "", spec.rated, thickness, because, origin, tuple(assumed)
    )


def _stiffness(spec: RubberMount) -> tuple[Array, tuple[Step, ...], str]:
    if spec.stiffness is not None:
        return np.array([*spec.stiffness.across, spec.stiffness.along]), (), spec.stiffness.source
    assert spec.rubber is not None
    sizes = spec.rubber.round or spec.rubber.block or ()
    block = round_block(*sizes) if spec.rubber.round is not None else square_block(*sizes)
    found = block_stiffness(block, rubber(spec.rubber.hardness))
    return np.array([found.shear, found.shear, found.compression]), found.because, found.source


def _stops(spec: RubberMount) -> Iterable[Stop]:
    if spec.stops is None:
        return
    ways: list[tuple[MetStop | None, int, tuple[float, ...]]] = [
        (spec.stops.pressed, 2, (-1.0,)),
        (spec.stops.lifted, 2, (1.0,)),
        (spec.stops.sideways, 0, (-1.0, 1.0)),
        (spec.stops.sideways, 1, (-1.0, 1.0)),
    ]
    for stop, axis, signs in ways:
        if stop is not None:
            yield from (Stop(axis, sign * stop.at, stop.stiffness) for sign in signs)


def inertia_of(spec: Inertia, mass: float) -> Array:
    """Tensor (3, 3) kg·m² in the body's own axes."""
    if spec.box is not None:
        x, y, z = np.square(spec.box)
        return mass / 12.0 * np.diag([y + z, x + z, x + y])
    assert spec.roll is not None and spec.pitch is not None and spec.yaw is not None
    tensor = np.diag([spec.roll, spec.pitch, spec.yaw])
    for (row, column), product in {
        (0, 1): spec.roll_pitch,
        (1, 2): spec.pitch_yaw,
        (0, 2): spec.roll_yaw,
    }.items():
        tensor[row, column] = tensor[column, row] = -product
    return tensor


def _suspended(job: Job, placed: Placed, mounts: list[HungMount]) -> Suspended:
    spec = job.bodies[placed.name]
    solids = tuple(_solids(spec, placed))
    watched, scans = _surroundings(job)
    unwatched = [shape.scan for shape in spec.envelope if shape.scan is not None]
    try:
        body = _hung(spec, placed)
    except GeometryError as error:
        raise GeometryError(error.what, where=f"bodies.{placed.name}.inertia", remedy=error.remedy) from None
    return Suspended(
        placed.name,
        body,
        spec.inertia is not None,
        tuple(mounts),
        solids,
        tuple(Clearance(name, solid, obstacle) for name, obstacle in watched for _, solid in solids),
        (*unwatched, *scans),
    )


def _hung(spec: Body, placed: Placed) -> Hung:
    if spec.inertia is None:
        return Hung(placed.mass, placed.centre, placed.mass * _ALIKE**2 * np.eye(3))
    turn = placed.pose.rotation
    return Hung(placed.mass, placed.centre, turn @ inertia_of(spec.inertia, placed.mass) @ turn.T)


def _solids(spec: Body, placed: Placed) -> Iterable[tuple[str, Solid]]:
    for number, shape in enumerate(spec.envelope, 1):
        solid = solid_of(shape)
        if solid is not None:
            yield f"{placed.name} part {number}", solid.moved(placed.pose)


def solid_of(shape: Shape) -> Solid | None:
    """A box or a cylinder of the job as a solid in its own axes; None for a scan."""
    if shape.box is not None:
        low, high = np.array(shape.box.from_), np.array(shape.box.to)
        return Box((low + high) / 2.0, np.abs(high - low), np.eye(3))
    if shape.cylinder is not None:
        start, end = np.array(shape.cylinder.from_), np.array(shape.cylinder.to)
        return Cylinder(start, end, shape.cylinder.diameter / 2.0)
    return None


def _surroundings(job: Job) -> tuple[list[tuple[str, Solid]], list[str]]:
    """The vehicle's solids, what has to do with steering first, then as the job has them; and scans."""
    found: list[tuple[str, Solid]] = []
    scans = []
    for name, obstacle in sorted(
        job.obstacles.items(), key=lambda item: "steer" not in f"{item[0]} {item[1].what}".lower()
    ):
        for shape in obstacle.shapes:
            solid = solid_of(shape)
            if solid is None:
                scans.append(f"{name} ({shape.scan})")
            else:
                found.append((name, solid))
    return found, scans


def _round(solid: Solid) -> float:
    """Radius m, about its middle, of a ball that holds a box or a cylinder."""
    if isinstance(solid, Cylinder):
        return float(np.hypot(solid.round_radius, np.linalg.norm(solid.end - solid.start) / 2.0))
    return float(np.linalg.norm(solid.deepest(np.array([0.0, 0.0, 1.0])) - solid.middle, axis=1).max())


def corners_of(solid: Solid) -> Array:
    """Extreme points (14, 3) m of a solid."""
    ways = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])
    return solid.support(np.concatenate([ways, np.eye(3), -np.eye(3)]))
