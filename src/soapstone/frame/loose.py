"""Telling a mechanism from a merely soft frame, and an idle spin from a mechanism.

Whether something moves freely does not depend on how stiff the members are. Motions are therefore sought in
the frame with all members made about equally stiff, scaled to S K S with S = reference^(-1/2), whose diagonal
is 1 where no end is released: an eigenvalue is then the strain energy of a motion relative to what its moving
parts would store if each moved alone, whatever the units and however stiff the neighbours.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr
from scipy.sparse import csc_array

from soapstone.errors import LooseError
from soapstone.frame.assemble import System
from soapstone.frame.factor import Factor, factor
from soapstone.frame.model import Frame, Loads
from soapstone.frame.words import loose_motion, loose_spin

Floats = NDArray[np.float64]

# Rounding leaves a true mechanism an energy of some 1e-15. A sound chain of N beams in line has about 1 / N⁴:
# a thousand of them still lie above this.
_NO_ENERGY = 1e-13
# One joint by itself: its own 6 x 6 block is summed from a few members, rounding stays near 1e-16.
_NO_ENERGY_AT_JOINT = 1e-12
_SHIFTS = (1e-13, 1e-11, 1e-9)
# The least power of the loads on a motion, relative to the largest load, that counts as pushing it. The
# remainder that a released end leaves by rounding is near 1e-16.
_PUSHED = 1e-9
# Movement of the joints, in a motion of length 1, below which the motion is a spin in place.
_IN_PLACE = 1e-6
_SWEEPS = 4


@dataclass(frozen=True, eq=False)
class Push:
    """What drives the frame.

    The loads, their sum on all directions (6 n, c), and the clamped-end forces (m, 12, c).
    """

    loads: Loads
    applied: Floats
    clamped: Floats

    def loudest(self, frame: Frame, scale: Floats) -> Floats:
        """Largest scaled load of each case, before releases made any of it vanish; (c,)."""
        nodal = np.abs(self.loads.nodal.reshape(len(self.loads.nodal), -1).T)
        total = np.maximum(nodal, np.abs(self.applied))
        np.maximum.at(
            total.reshape(-1, 6, total.shape[1]),
            frame.ends.ravel(),
            np.abs(self.clamped).reshape(-1, 6, total.shape[1]),
        )
        largest: Floats = (scale[:, None] * total).max(axis=0, initial=0.0)
        return largest


@dataclass(frozen=True, eq=False)
class Scaled:
    """The loads on all directions of the nodes, scaled.

    `scale` (6 n,) is 0 where held; the loads are (6 n, c), the largest of each case (c,).
    """

    scale: Floats
    loads: Floats
    loudest: Floats

    def of(self, motions: Floats) -> Floats:
        """Free motions (6 n, p) in scaled directions, orthonormal."""
        free = self.scale > 0.0
        scaled = np.zeros_like(motions)
        scaled[free] = np.linalg.qr(motions[free] / self.scale[free, None])[0]
        return scaled

    def pushed(self, motion: Floats) -> bool:
        """Whether any case pushes a scaled motion (6 n,) of length 1."""
        return bool((np.abs(motion @ self.loads) > _PUSHED * self.loudest).any())


def settle(frame: Frame, system: System, push: Push) -> tuple[System, Factor, tuple[str, ...]]:
    """Factor a system whose pivots look suspicious.

    Returns
    -------
    System, Factor
        With idle spins held still.
    tuple of str
        The idle spins in words.

    Raises
    ------
    LooseError
        The frame, or a joint of it, can move; or can spin and is pushed to.
    """
    scale = _scale(system)
    scaled = Scaled(scale, scale[:, None] * push.applied, push.loudest(frame, scale))
    even = system.levelled()
    spins = _joints_alone(frame, even, scaled)
    idle = _idle_joints(frame, even, spins, scaled, push)
    motions = _free_motions(_hold_spins(even, spins, _scale(even)), _scale(even))
    system = _hold_spins(system, spins, scale)
    if motions.shape[1]:
        turning, moving = _split(scaled.of(motions))
        if moving.shape[1]:
            raise loose_motion(frame, moving * scale[:, None], push.applied, _acting(scaled, moving))
        idle += _idle_members(frame, turning, scaled)
        system = _hold_directions(system, turning, scale)
    return system, factor(system) or _shifted(system), idle


def _shifted(system: System) -> Factor:
    """A factor of the system made firm by a hair's breadth, or by the least that rounding asks for."""
    for shift in _SHIFTS:
        factored = factor(system, shift)
        if factored is not None:
            return factored
    raise LooseError("the frame is all but loose: nothing can be computed from it")


def _scale(system: System) -> Floats:
    """S of all directions (6 n,); 0 where held, 1 where nothing is met."""
    reference = np.zeros(system.number.size)
    free = system.number >= 0
    reference[free] = system.reference[system.number[free]]
    scale = np.where(free, 1.0, 0.0)
    touched = reference > 0.0
    scale[touched] = 1.0 / np.sqrt(reference[touched])
    return scale


def _joints_alone(frame: Frame, even: System, scaled: Scaled) -> list[Floats]:
    """Motions (6 n,) of single joints that strain nothing.

    The stiffness is positive semidefinite, so that a joint's own 6 x 6 block tells it all.
    """
    n = len(frame.node_names)
    own = np.zeros((n, 6, 6))
    for side in (0, 1):
        part = slice(6 * side, 6 * side + 6)
        np.add.at(own, even.pairs[:, side], even.blocks[:, part, part])
    scale = _scale(even).reshape(n, 6)
    own *= scale[:, :, None] * scale[:, None, :]
    own[:, range(6), range(6)] += scale == 0.0
    energies, motions = np.linalg.eigh(own)
    found = []
    for node, mode in np.argwhere(energies < _NO_ENERGY_AT_JOINT):
        motion = np.zeros((6 * n, 1))
        motion[6 * node : 6 * node + 6, 0] = motions[node, :, mode] * scale[node]
        found.append(scaled.of(motion)[:, 0])
    return found


def _idle_joints(
    frame: Frame, even: System, spins: list[Floats], scaled: Scaled, push: Push
) -> tuple[str, ...]:
    """Refuse what single joints cannot be allowed; the rest in words, points that nothing meets left out."""
    met = np.zeros(len(frame.node_names), dtype=bool)
    met[even.pairs.ravel()] = True
    idle: tuple[str, ...] = ()
    for spin in spins:
        node = int(np.abs(spin).argmax()) // 6
        turning = float(np.linalg.norm(spin[6 * node : 6 * node + 3])) < _IN_PLACE
        if met[node] and turning:
            idle += _idle_members(frame, spin[:, None], scaled)
        elif met[node] or scaled.pushed(spin):
            whole = spin[:, None]
            acting = _acting(scaled, whole)
            raise loose_motion(frame, whole * scaled.scale[:, None], push.applied, acting)
    return idle


def _idle_members(frame: Frame, turning: Floats, scaled: Scaled) -> tuple[str, ...]:
    """Spins in place (6 n, p), in words; refused where something turns them."""
    idle: tuple[str, ...] = ()
    for motion in turning.T:
        found = loose_spin(frame, motion * scaled.scale)
        if scaled.pushed(motion):
            raise found
        idle += (found.what,)
    return idle


def _acting(scaled: Scaled, motions: Floats) -> int | None:
    """The case that pushes the motions hardest; None where none does."""
    power = np.linalg.norm(motions.T @ scaled.loads, axis=0) / np.where(
        scaled.loudest > 0, scaled.loudest, 1.0
    )
    return int(power.argmax()) if power.size and power.max() > _PUSHED else None


def _hold_spins(system: System, spins: list[Floats], scale: Floats) -> System:
    """Hold motions of single joints; unpushed, what holds them carries nothing."""
    if not spins:
        return system
    nodes = np.array([int(np.abs(spin).argmax()) // 6 for spin in spins])
    blocks = np.zeros((len(spins), 12, 12))
    for block, node, spin in zip(blocks, nodes, spins, strict=True):
        part = slice(6 * node, 6 * node + 6)
        stiff = spin[part] / np.where(scale[part] > 0.0, scale[part], 1.0)
        block[:6, :6] = np.outer(stiff, stiff)
    return system.stiffened(np.stack([nodes, nodes], axis=1), blocks)


def _hold_directions(system: System, motions: Floats, scale: Floats) -> System:
    """Hold one direction per motion, chosen so that they stay independent; unpushed, it carries nothing."""
    _, _, order = qr(motions.T, mode="economic", pivoting=True)
    chosen = order[: motions.shape[1]]
    pairs = np.repeat(chosen[:, None] // 6, 2, axis=1).astype(np.int64)
    blocks = np.zeros((len(chosen), 12, 12))
    blocks[range(len(chosen)), chosen % 6, chosen % 6] = scale[chosen] ** -2.0
    return system.stiffened(pairs, blocks)


def _split(motions: Floats) -> tuple[Floats, Floats]:
    """Split orthonormal motions (6 n, p) into spins in place and the others."""
    shifts = motions.reshape(-1, 6, motions.shape[1])[:, :3].reshape(-1, motions.shape[1])
    _, strength, combinations = np.linalg.svd(shifts, full_matrices=True)
    strength = np.concatenate([strength, np.zeros(motions.shape[1] - strength.size)])
    basis = motions @ combinations.T
    return basis[:, strength < _IN_PLACE], basis[:, strength >= _IN_PLACE]


def _free_motions(system: System, scale: Floats) -> Floats:
    """All motions without strain energy, m and rad; (6 n, p).

    Subspace iteration on the shifted stiffness, the subspace doubled until one of its motions costs energy.
    """
    where = system.where
    own = scale[where]
    shifted, matrix = _shifted(system), system.matrix()
    width = min(8, system.size)
    while True:
        energies, basis = _softest(matrix, shifted, own, width)
        if energies[-1] > _NO_ENERGY or width == system.size:
            break
        width = min(2 * width, system.size)
    motions = np.zeros((scale.size, int(np.count_nonzero(energies < _NO_ENERGY))))
    motions[where] = own[:, None] * basis[:, energies < _NO_ENERGY]
    return motions


def _softest(matrix: csc_array, shifted: Factor, own: Floats, width: int) -> tuple[Floats, Floats]:
    """The `width` softest motions and their energies, ascending."""
    basis = np.random.default_rng(0).standard_normal((own.size, width))
    energies = np.zeros(width)
    for _ in range(_SWEEPS):
        basis = np.linalg.qr(shifted.solve(basis / own[:, None]) / own[:, None])[0]
        energies, mix = np.linalg.eigh(basis.T @ (own[:, None] * (matrix @ (own[:, None] * basis))))
        basis = basis @ mix
    return energies, basis
