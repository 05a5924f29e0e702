"""Names in half-shafts and propeller shafts that lead nowhere."""

from collections.abc import Iterable, Iterator

from soapstone.job.faults import KeyPath
from soapstone.job.names import Names
from soapstone.job.places import parse_place
from soapstone.job.posing_faults import unknown_axis
from soapstone.job.schema import Job

Told = Iterator[tuple[KeyPath, str]]


def shaft_faults(job: Job, names: Names) -> Told:
    """Bodies, axes, points and materials of shafts that are not there."""
    for name, shaft in job.half_shafts.items():
        path: KeyPath = ("half shafts", name)
        yield from _output(path, shaft.from_, shaft.axis, job, names)
        if shaft.hub.wishbones is not None:
            spots = shaft.hub.wishbones.model_dump(by_alias=True, exclude={"note"})
            yield from _points((*path, "hub", "wishbones"), spots.values(), names)
            yield from _points((*path, "hub", "joint"), [shaft.hub.joint], names)
    for name, propeller in job.propeller_shafts.items():
        path = ("propeller shafts", name)
        yield from _output(path, propeller.from_, propeller.axis, job, names)
        yield from _points((*path, "along"), propeller.along, names)
        yield from _points((*path, "pinion"), propeller.pinion or (), names)
        if propeller.of is not None:
            yield (*path, "of"), names.unknown_material(propeller.of)


def _output(path: KeyPath, place: str, axis: str, job: Job, names: Names) -> Told:
    fault = names.misplaced(place, "bodies")
    yield (*path, "from"), fault
    body = job.bodies.get(parse_place(place).name) if not fault else None
    if body is not None:
        yield (*path, "axis"), unknown_axis(axis, parse_place(place).name, body)


def _points(path: KeyPath, spots: Iterable[object], names: Names) -> Told:
    for spot in spots:
        if isinstance(spot, str):
            yield path, names.misplaced(spot, "points")
