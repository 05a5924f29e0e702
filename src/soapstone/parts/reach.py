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


def face_towards(tube: Tube, direction: Array) -> tuple[Array, float, float]:
    """The face of a tube that `direction` (3,) leaves through.

    Returns
    -------
    normal : (3,), unit, outward
    distance : float, m from the axis
    flat : float, m, how wide it is flat across the tube; infinite for a round tube, whose face bends
    """
    across = direction - (direction @ tube.axis) * tube.axis
    if isinstance(tube.section, RoundTube):
        unit: Array = across / np.linalg.norm(across)
        return unit, tube.section.outside_diameter / 2.0, float("inf")
    y = tube.width_way
    sides = (y, np.cross(tube.axis, y))
    sizes = (tube.section.width, tube.section.height)
    which = int(np.argmax([abs(across @ side) / size for side, size in zip(sides, sizes, strict=True)]))
    normal: Array = sides[which] * np.sign(across @ sides[which])
    return normal, sizes[which] / 2.0, sizes[1 - which] - 2.0 * tube.section.outside_corner_radius
