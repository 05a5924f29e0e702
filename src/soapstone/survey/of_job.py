"""The job's points and readings as a network to adjust."""

import numpy as np

from soapstone.job.measured import Reading as JobReading
from soapstone.job.readings import sigma_of, value_of
from soapstone.job.schema import Job
from soapstone.survey.records import Network, Reading, ReadingKind, coordinate_readings


def network_of(job: Job) -> Network:
    """Points that are given or found by readings (laid-out ones follow later), and all readings.

    A given point is taken as exact: it says where the coordinates start.
    """
    names = tuple(name for name, point in job.points.items() if point.from_ is None)
    known = {name: np.array(point.at) for name, point in job.points.items() if point.at is not None}
    readings = tuple(one for reading in job.readings for one in _read(job, reading))
    return Network(names, known, readings, tuple(job.sides))


def _read(job: Job, reading: JobReading) -> tuple[Reading, ...]:
    value = value_of(reading)
    if isinstance(value, tuple):
        sigma = sigma_of(reading, job, max(abs(part) for part in value))
        return coordinate_readings(reading.points[0], value, sigma, reading.label, reading.place)
    sigma = sigma_of(reading, job, abs(value))
    return (Reading(ReadingKind(reading.kind), reading.points, value, sigma, reading.label, reading.place),)
