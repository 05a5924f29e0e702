"""The mass of what is hung, with the inertia that resists its turning."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.model import LumpedMass
from soapstone.job.hardware import Body
from soapstone.place.placed import Placed

Array = NDArray[np.float64]


def hung_masses(
    bodies: Mapping[str, Body], placed: Mapping[str, Placed], nodes: Mapping[str, int]
) -> tuple[tuple[LumpedMass, ...], tuple[str, ...]]:
    """One mass for each body that the frame carries, and what is assumed about them.

    Parameters
    ----------
    nodes : body name to its node, which stands at its centre of mass
    """
    masses, notes = [], []
    for name, node in nodes.items():
        size, words = _block(bodies[name])
        inertia = block_inertia(placed[name].mass, size)
        turn = placed[name].pose.rotation
        masses.append(LumpedMass(node, placed[name].mass, np.zeros(3), turn @ inertia @ turn.T))
        notes.append(f"{name} turns as heavily as {words}")
    return tuple(masses), tuple(notes)


def block_inertia(mass: float, size: Array) -> Array:
    """(3, 3) kg·m² of an even block of `size` (3,) m about its middle: m (b² + c²) / 12."""
    square = mass / 12.0 * size**2
    return np.diag(square.sum() - square)


def _block(body: Body) -> tuple[Array, str]:
    corners = [corner for shape in _corners(body) for corner in shape]
    if corners:
        size = np.ptp(np.array(corners), axis=0)
        return size, "an even block of its envelope's size, centred on its mass (assumed, no inertia given)"
    if len(body.points) > 1:
        size = np.ptp(np.array(list(body.points.values())), axis=0)
        return size, "an even block between its points (assumed, neither inertia nor envelope given)"
    return np.zeros(3), "a point (assumed, neither inertia nor envelope given)"


def _corners(body: Body) -> Iterator[list[Array]]:
    """Opposite corners of the box round each shape, in the body's axes; a scan is not opened."""
    for shape in body.envelope:
        if shape.box is not None:
            yield [np.array(shape.box.from_), np.array(shape.box.to)]
        elif shape.cylinder is not None:
            ends = np.array(shape.cylinder.from_), np.array(shape.cylinder.to)
            axis = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
            reach = shape.cylinder.diameter / 2.0 * np.sqrt(np.maximum(1.0 - axis**2, 0.0))
            yield [end + sign * reach for end in ends for sign in (-1.0, 1.0)]
