"""Points of the vehicle that are there before any body is placed."""

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.job.places import parse_place
from soapstone.job.schema import Job
from soapstone.place.pose import rotation_from_angles
from soapstone.survey.records import Survey

Array = NDArray[np.float64]


def known_point(about: str, name: str, job: Job, survey: Survey) -> tuple[Array, Array]:
    """Place (3,) m and covariance (3, 3) m² of a point of the vehicle.

    Parameters
    ----------
    about : what asks for it, for messages: `place.drive_unit`
    name : of the point

    Raises
    ------
    GeometryError
        When it is laid out from something that stands on a placed body.
    """
    spec = job.points[name]
    if spec.from_ is None:
        return survey.point(name), survey.covariance_of(name)
    base = parse_place(spec.from_)
    if base.text not in job.points:
        body = about.partition(".")[2]
        raise GeometryError(
            f"{name} is laid out from {spec.from_}, which is not there before {body} is placed",
            where=about,
            remedy="lay it out from a measured point",
        )
    at, spread = known_point(about, base.name, job, survey)
    return at + np.array(spec.move), spread


def spot_at(about: str, spot: str | tuple[float, float, float], job: Job, survey: Survey) -> Array:
    """Place (3,) m of a point's name or of a position."""
    return known_point(about, spot, job, survey)[0] if isinstance(spot, str) else np.array(spot)


def upright(job: Job) -> Array:
    """What is upright at ride height, (3,) in the axes of the measured vehicle."""
    settling = job.datum.settling
    if settling is None:
        return np.array([0.0, 0.0, 1.0])
    turned = rotation_from_angles(turned_left=0.0, nose_down=settling.nose_down, left_up=settling.left_up)
    up: Array = turned.T @ np.array([0.0, 0.0, 1.0])
    return up
