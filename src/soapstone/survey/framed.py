"""Coordinates in frames of their own: how a frame starts, and what it says while points are built up."""

from collections import defaultdict
from itertools import combinations

import numpy as np

from soapstone.survey.index import Array
from soapstone.survey.model import frame_length
from soapstone.survey.records import Frame, Network, Reading, ReadingKind

_ALL_PAIRS = 10  # points; a larger frame is braced from a few of its points
_BASES = 4
_SCALE_WITHIN = 0.05  # how far from one a scale that is solved along may lie


def coordinates_in(network: Network, frame: Frame) -> dict[str, Array]:
    """Points with all three coordinates in a frame, the mean where one was taken twice, (3,) m each."""
    read: dict[str, list[list[float]]] = defaultdict(lambda: [[], [], []])
    for reading in network.readings:
        if reading.points[1:] == frame.nodes and reading.plane is not None:
            read[reading.points[0]][int(np.argmax(reading.plane.normal))].append(reading.value)
    return {point: np.array([np.mean(axis) for axis in axes]) for point, axes in read.items() if all(axes)}


def without_frames(network: Network) -> Network:
    """The same with the distances within each frame in place of the coordinates, for a first building up."""
    if not network.frames:
        return network
    kept = [r for r in network.readings if r.kind is not ReadingKind.FRAMED]
    kept += [tape for frame in network.frames for tape in _braces(network, frame)]
    return Network(
        network.names, network.known, tuple(kept), network.sides, network.known_covariance, network.datum
    )


def _braces(network: Network, frame: Frame) -> list[Reading]:
    at = coordinates_in(network, frame)
    sigmas = [r.sigma for r in network.readings if r.points[1:] == frame.nodes]
    names = list(at)
    bases = names if len(names) <= _ALL_PAIRS else _apart(at)
    pairs = {tuple(sorted(pair)) for pair in combinations(names, 2) if set(pair) & set(bases)}
    rows = []
    for one, two in sorted(pairs):
        length = float(np.linalg.norm(at[one] - at[two]))
        sigma = 2**0.5 * max(sigmas) + frame.scaled * _SCALE_WITHIN * length
        if length > 0:
            rows.append(Reading(ReadingKind.TAPE, (one, two), length, sigma, frame.name))
    return rows


def _apart(at: dict[str, Array]) -> list[str]:
    """A few points that stand as far from one another as they can."""
    names, xyz = list(at), np.array(list(at.values()))
    chosen = [int(np.argmax(np.linalg.norm(xyz - xyz.mean(axis=0), axis=1)))]
    while len(chosen) < _BASES:
        gaps = np.linalg.norm(xyz[:, None] - xyz[None, chosen], axis=2).min(axis=1)
        chosen.append(int(np.argmax(gaps)))
    return [names[i] for i in chosen]


def nodes_at(network: Network, xyz: Array) -> Array:
    """Where the nodes of all frames stand for given points, (3 f, 3) m.

    The proper rotation of least squares: S. Umeyama, IEEE PAMI 13(4), 1991.
    """
    index = {name: i for i, name in enumerate(network.names)}
    nodes = np.zeros((3 * len(network.frames), 3))
    for k, frame in enumerate(network.frames):
        own = coordinates_in(network, frame)
        here = np.array([xyz[index[name]] for name in own]).reshape(-1, 3)
        there = np.array(list(own.values())).reshape(-1, 3)
        length = frame_length(network, frame)
        corners = length * np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
        nodes[3 * k : 3 * k + 3] = _carried(there, here, corners, frame.scaled)
    return nodes


def _carried(own: Array, here: Array, corners: Array, scaled: bool) -> Array:
    if not len(own):
        return corners
    left, sizes, right = np.linalg.svd((here - here.mean(axis=0)).T @ (own - own.mean(axis=0)))
    proper = np.array([1.0, 1.0, np.sign(np.linalg.det(left @ right))])
    rotation = (left * proper) @ right
    spread = float(np.sum((own - own.mean(axis=0)) ** 2))
    scale = float(sizes @ proper) / spread if scaled and spread > 0 else 1.0
    origin = here.mean(axis=0) - scale * rotation @ own.mean(axis=0)
    moved: Array = origin + corners @ rotation.T * np.array([[1.0], [scale], [1.0]])
    return moved
