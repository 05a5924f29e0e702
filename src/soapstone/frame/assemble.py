"""From members and springs to one system of equations, still in blocks of 12 x 12."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

from soapstone.frame.element import local_compatibility, natural_stiffness, to_global
from soapstone.frame.model import Frame, Spring
from soapstone.frame.release import Level, condense

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class System:
    """A frame's stiffness in blocks, and the numbering of its N free directions.

    Attributes
    ----------
    local, compatibility : (m, 6, 12) float
        Natural deformations from true local end movements, and from the nodes' global movements.
    stiffness : (m, 6, 6) float
        Natural stiffness of the members, releases taken out.
    levels : list of Level
        The releases.
    pairs : (k, 2) int
        The two nodes of each block: members first, then springs.
    blocks : (k, 12, 12) float
        Their stiffness, global.
    number : (6 n,) int
        Equation of each direction of each node; -1 where held.
    clamped : (k, 12) float
        Diagonals of the blocks as if no end were released.
    reference : (N,) float
        The same of the whole frame: what a pivot is measured against.
    """

    local: Floats
    compatibility: Floats
    stiffness: Floats
    levels: list[Level]
    pairs: Ints
    blocks: Floats
    number: Ints
    clamped: Floats
    reference: Floats

    @property
    def size(self) -> int:
        """Number of equations."""
        return self.reference.size

    @property
    def directions(self) -> Ints:
        """Directions of the nodes that the blocks' rows stand for; (k, 12)."""
        return block_directions(self.pairs)

    @property
    def where(self) -> Ints:
        """Direction of each equation; (N,)."""
        where = np.empty(self.size, dtype=np.int64)
        free = self.number >= 0
        where[self.number[free]] = np.flatnonzero(free)
        return where

    def matrix(self) -> csc_array:
        """The stiffness of the free directions as a sparse matrix."""
        return self.gathered(self.pairs, self.blocks)

    def gathered(self, pairs: Ints, blocks: Floats) -> csc_array:
        """Blocks (k, 12, 12) between pairs of nodes (k, 2) as a sparse matrix of the free directions."""
        rows = self.number[block_directions(pairs)]
        i, j = np.repeat(rows, 12, axis=1).ravel(), np.tile(rows, (1, 12)).ravel()
        free = (i >= 0) & (j >= 0)
        entries = (blocks.ravel()[free], (i[free], j[free]))
        return coo_array(entries, shape=(self.size, self.size)).tocsc()

    def stiffened(self, pairs: Ints, blocks: Floats) -> "System":
        """The same system with more blocks, which do not change its reference."""
        return replace(
            self,
            pairs=np.concatenate([self.pairs, pairs]),
            blocks=np.concatenate([self.blocks, blocks]),
            clamped=np.concatenate([self.clamped, np.zeros((len(pairs), 12))]),
        )

    def levelled(self) -> "System":
        """The same system with every block about equally stiff: it can move freely where this one can."""
        shifts = self.clamped[:, [0, 1, 2, 6, 7, 8]].max(axis=1)
        size = np.where(shifts > 0.0, shifts, self.clamped.max(axis=1))
        size = np.where(size > 0.0, size, 1.0)[:, None]
        clamped = self.clamped / size
        reference = diagonal(self.number, self.pairs, clamped)
        return replace(self, blocks=self.blocks / size[:, :, None], clamped=clamped, reference=reference)


def block_directions(pairs: Ints) -> Ints:
    """Directions 6 i … 6 i + 5 of both nodes of each pair; (k, 12)."""
    return (pairs[:, :, None] * 6 + np.arange(6)).reshape(-1, 12)


def assemble(frame: Frame) -> System:
    """Stiffness and numbering of a frame."""
    geometry = frame.geometry
    local = local_compatibility(geometry.lengths)
    compatibility = to_global(local, geometry, frame.offsets)
    natural = natural_stiffness(frame, geometry)
    if frame.releases:
        stiffness, levels = condense(frame, geometry, natural, local)
        blocks = compatibility.transpose(0, 2, 1) @ (stiffness @ compatibility)
        clamped = np.einsum("mia,mi,mia->ma", compatibility, natural, compatibility)
    else:
        stiffness, levels = natural[:, :, None] * np.eye(6), []
        blocks = compatibility.transpose(0, 2, 1) @ (natural[:, :, None] * compatibility)
        clamped = np.einsum("maa->ma", blocks)
    pairs = frame.ends
    if frame.springs:
        spring_pairs, spring_blocks = spring_stiffness(frame)
        pairs = np.concatenate([pairs, spring_pairs])
        blocks = np.concatenate([blocks, spring_blocks])
        clamped = np.concatenate([clamped, np.einsum("kaa->ka", spring_blocks)])
    number = numbering(frame.held, pairs)
    reference = diagonal(number, pairs, clamped)
    return System(local, compatibility, stiffness, levels, pairs, blocks, number, clamped, reference)


def diagonal(number: Ints, pairs: Ints, parts: Floats) -> Floats:
    """Sum the diagonals (k, 12) of blocks into that of the N equations."""
    total = np.bincount(block_directions(pairs).ravel(), weights=parts.ravel(), minlength=number.size)
    summed = np.empty(int(number.max(initial=-1)) + 1)
    summed[number[number >= 0]] = total[number >= 0]
    return summed


def spring_stiffness(frame: Frame) -> tuple[Ints, Floats]:
    """Node pairs (k, 2) and blocks (k, 12, 12) of the springs; one to the ground names its node twice."""
    pairs = np.array([(s.node, s.node if s.other is None else s.other) for s in frame.springs])
    blocks = np.stack([_spring_block(frame, spring) for spring in frame.springs])
    return pairs, blocks


def _spring_block(frame: Frame, spring: Spring) -> Floats:
    movement = np.zeros((6, 12))
    movement[:, :6] = np.eye(6)
    if spring.other is not None:
        x, y, z = frame.nodes[spring.node] - frame.nodes[spring.other]
        movement[:, 6:] = -np.eye(6)
        movement[:3, 9:] = [[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]]
    block: Floats = movement.T @ spring.stiffness @ movement
    return block


def numbering(held: NDArray[np.bool_], pairs: Ints) -> Ints:
    """Equation numbers of all directions, neighbours close together; (6 n,), -1 where held."""
    free = ~held
    awake = np.flatnonzero(free.any(axis=1))
    if not awake.size:
        return np.full(held.size, -1)
    place = np.full(len(held), -1)
    place[awake] = np.arange(awake.size)
    ends = place[pairs]
    ends = ends[(ends >= 0).all(axis=1)]
    both = np.concatenate([ends, ends[:, ::-1]])
    graph = coo_array((np.ones(len(both), dtype=np.int8), both.T), shape=(awake.size, awake.size)).tocsr()
    order = awake[reverse_cuthill_mckee(graph, symmetric_mode=True)]
    number = np.full(held.shape, -1)
    in_order = np.full((order.size, 6), -1)
    in_order[free[order]] = np.arange(np.count_nonzero(free))
    number[order] = in_order
    return number.ravel()
