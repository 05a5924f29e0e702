"""Proof that what acts on the frame and what holds it cancel."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.model import Frame, Loads
from soapstone.frame.solve import Solution

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Balance:
    """Loads plus reactions.

    Attributes
    ----------
    force : (c, 3) float, N
    moment : (c, 3) float, N·m
        About the origin.
    relative : float
        The largest of them against the sum of the sizes of all loads and reactions (moments: of the arms'
        lever too) of its case; rounding leaves about 1e-12.
    """

    force: Floats
    moment: Floats
    relative: float


def balance(frame: Frame, loads: Loads, solution: Solution) -> Balance:
    """Sum of all loads and reactions in every case."""
    lengths = frame.geometry.lengths[:, None]
    middles = frame.geometry.starts + 0.5 * lengths * frame.geometry.axes[:, 0]
    places = np.concatenate([frame.nodes, frame.nodes, middles])
    forces = np.concatenate(
        [loads.nodal[..., :3], solution.reactions[..., :3], loads.line * lengths[None]], axis=1
    )
    couples = np.concatenate([loads.nodal[..., 3:], solution.reactions[..., 3:]], axis=1)
    levers = np.cross(places, forces)
    force = forces.sum(axis=1)
    moment = levers.sum(axis=1) + couples.sum(axis=1)
    force_size = np.abs(forces).sum(axis=(1, 2))
    moment_size = np.abs(levers).sum(axis=(1, 2)) + np.abs(couples).sum(axis=(1, 2))
    return Balance(force, moment, max(_worst(force, force_size), _worst(moment, moment_size)))


def _worst(rest: Floats, size: Floats) -> float:
    largest = np.abs(rest).max(axis=1, initial=0.0)
    return float(np.divide(largest, size, out=np.zeros_like(size), where=size > 0.0).max(initial=0.0))
