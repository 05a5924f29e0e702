"""The job's points and readings as a network to adjust."""

from collections.abc import Iterable, Mapping

import numpy as np

from soapstone.job.measured import Instrument, NamedPlane
from soapstone.job.measured import Reading as JobReading
from soapstone.job.readings import sigma_of, value_of, written_number
from soapstone.job.schema import Job
from soapstone.survey.records import (
    CENTRE,
    FLOOR,
    Frame,
    Network,
    Plane,
    Reading,
    ReadingKind,
    coordinate_readings,
    framed_readings,
    straight_readings,
)

_KINDS = {
    kind.value: kind
    for kind in (
        ReadingKind.TAPE,
        ReadingKind.PLAN,
        ReadingKind.HEIGHT,
        ReadingKind.OFFSET,
        ReadingKind.LEVEL,
        ReadingKind.FLUSH,
    )
}
_FACING = {"height": FLOOR, "offset": CENTRE}


def network_of(job: Job) -> Network:
    """Points that are given or found by readings (laid-out ones follow later), and all readings.

    A given point is taken as exact: it says where the coordinates start.
    """
    names = tuple(name for name, point in job.points.items() if point.from_ is None)
    known = {name: np.array(point.at) for name, point in job.points.items() if point.at is not None}
    readings = tuple(one for reading in job.readings for one in read_as(job, reading))
    return Network(names, known, readings, tuple(job.sides), frames=frames_of(job.readings, job.instruments))


def frames_of(readings: Iterable[JobReading], instruments: Mapping[str, Instrument]) -> tuple[Frame, ...]:
    """A frame for each stand of an arm or scan that coordinates were read in."""
    stands: dict[str, bool] = {}
    for reading in readings:
        if reading.in_ is not None:
            stands[reading.in_] = stands.get(reading.in_, False) or _scaled(reading, instruments)
    return tuple(Frame(name, scaled) for name, scaled in stands.items())


def _scaled(reading: JobReading, instruments: Mapping[str, Instrument]) -> bool:
    instrument = instruments.get(reading.with_ or reading.kind)
    return instrument is not None and instrument.scale == "solved"


def read_as(job: Job, reading: JobReading) -> tuple[Reading, ...]:
    """One reading of the job as the one, two or three that the adjustment takes."""
    value = value_of(reading)
    if isinstance(value, tuple):
        sigma = sigma_of(reading, job, max(abs(part) for part in value))
        if reading.in_ is None:
            return coordinate_readings(reading.points[0], value, sigma, reading.label, reading.place)
        frame = Frame(reading.in_)
        return framed_readings(reading.points[0], frame, value, sigma, reading.label, reading.place)
    sigma = sigma_of(reading, job, abs(value))
    if reading.kind == "straight":
        point, start, end = reading.points
        return straight_readings(point, (start, end), sigma, reading.label, reading.place)
    kind, points, plane = _KINDS[reading.kind], reading.points, None
    if reading.plane is not None:
        kind, points, plane = _above(reading, job.planes[reading.plane])
    return (
        Reading(
            kind,
            points,
            value,
            sigma,
            reading.label,
            reading.place,
            plane,
            written=written_number(reading),
            holes=_holes(job, points) if kind.is_length else (),
        ),
    )


def _above(reading: JobReading, plane: NamedPlane) -> tuple[ReadingKind, tuple[str, ...], Plane]:
    """From which plane a height or an offset is taken: one of three points, or one that is given."""
    facing = _FACING[reading.kind]
    if plane.at is None or plane.faces is None:
        return ReadingKind.FLUSH, (*reading.points, *plane.through), facing
    offset = float(np.dot(plane.faces, plane.at))
    return _KINDS[reading.kind], reading.points, Plane(plane.faces, offset)


def _holes(job: Job, points: tuple[str, ...]) -> tuple[float, ...]:
    return tuple((job.points[p].hole or 0.0) if p in job.points else 0.0 for p in points)
