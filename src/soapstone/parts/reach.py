"""How far a tube's face is from its axis."""

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.layout import Tube
from soapstone.parts.sections import RoundTube

Array = NDArray[np.float64]


def face_distance(tube: Tube, direction: Array) -> float:
    """How far along `direction` (3,) the tube's face is from its axis, m; infinite along the axis."""
    flat = direction - (direction @ tube.axis) * tube.axis
    if np.linalg.norm(flat) < 1e-9:
        return float("inf")
    if isinstance(tube.section, RoundTube):
        return float(tube.section.outside_diameter / 2.0 / np.linalg.norm(flat))
    y = tube.width_way
    z = np.cross(tube.axis, y)
    half = np.array([tube.section.width, tube.section.height]) / 2.0
    with np.errstate(divide="ignore"):
        return float(np.min(half / np.abs([flat @ y, flat @ z])))
