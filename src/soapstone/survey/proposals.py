"""What a job should measure next: the next readings, with what stands in a tape's way."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.job.schema import Job
from soapstone.survey.next_reading import Proposal, next_readings, tools_of
from soapstone.survey.reach import obstacles_of, solids
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

WANTED = 0.003
"""m, the half axis that a found point's 95 % ellipsoid should not exceed: the working tolerance of body and
frame readings (collision-repair practice)."""


def proposals(job: Job, survey: Survey, poses: Mapping[str, tuple[Array, Array]]) -> tuple[Proposal, ...]:
    """The readings worth taking next so that every found point is known to `WANTED`.

    Parameters
    ----------
    job : Job
    survey : Survey
    poses : mapping of body to ((3, 3) rotation, (3,) m origin)
        Where what is hung sits: a tape does not pass through it either.
    """
    given = {name for name, point in job.points.items() if point.at is not None}
    wanted = {name: WANTED for name in survey.names if name not in given}
    in_the_way = obstacles_of(job)
    for body, (rotation, origin) in poses.items():
        in_the_way += solids(job.bodies[body].envelope, rotation, origin)
    return next_readings(survey, wanted, tools_of(job), in_the_way) if wanted else ()
