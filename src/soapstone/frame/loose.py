"""Telling a mechanism from a merely soft frame, and an idle spin from a mechanism.

Everything here works on the scaled stiffness S K S with S = reference^(-1/2), whose diagonal is 1 where no
end is released: an eigenvalue is then the strain energy of a motion relative to what its moving parts would
store if each moved alone, whatever the units and however stiff the neighbours.
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
_SHIFT = 1e-13
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
    """Directions of all nodes scaled: `scale` (6 n,), 0 where held, and the scaled loads (6 n, c)."""

    scale: Floats
    loads: Floats
    loudest: Floats

    def pushed(self, motion: Floats) -> NDArray[np.bool_]:
        """Cases (c,) that push a scaled motion (6 n,) of length 1."""
        pushed: NDArray[np.bool_] = np.abs(motion @ self.loads) > _PUSHED * self.loudest
        return pushed


def settle(frame: Frame, system: System, push: Push) -> tuple[Factor, tuple[str, ...]]:
    """Factor a system whose pivots look suspicious.

    Returns
    -------
    Factor
        Of the system, with idle spins held still.
    tuple of str
        The idle spins in words.

    Raises
    ------
    LooseError
        The frame, or a joint of it, can move; or can spin and is pushed to.
    """
    scaled = _scale(frame, system, push)
    idle, spins = _joints_alone(frame, system, scaled)
    system = _hold_spins(system, spins, scaled.scale)
    motions = _free_motions(system, scaled.scale)
    if motions.shape[1]:
        turning, moving = _split(motions)
        if moving.shape[1]:
            raise loose_motion(frame, moving * scaled.scale[:, None], push.applied, _acting(scaled, moving))
        for motion in turning.T:
            if scaled.pushed(motion).any():
                raise loose_spin(frame, motion * scaled.scale)
            idle += (str(loose_spin(frame, motion * scaled.scale).what),)
        system = _hold_directions(system, turning, scaled.scale)
    factored = factor(system)
    if factored is None:
        factored = factor(system, _SHIFT)
    if factored is None:
        raise LooseError("the frame is all but loose: nothing can be computed from it")
    return factored, idle


def _scale(frame: Frame, system: System, push: Push) -> Scaled:
    reference = np.zeros(system.number.size)
    free = system.number >= 0
    reference[free] = system.reference[system.number[free]]
    scale = np.where(free, 1.0, 0.0)
    touched = reference > 0.0
    scale[touched] = 1.0 / np.sqrt(reference[touched])
    return Scaled(scale, scale[:, None] * push.applied, push.loudest(frame, scale))


def _joints_alone(
    frame: Frame, system: System, scaled: Scaled
) -> tuple[tuple[str, ...], list[tuple[int, Floats]]]:
    """Find what single joints can do without straining anything.

    The stiffness is positive semidefinite, so that a joint's own 6 x 6 block tells it all.
    """
    n = len(frame.node_names)
    own = np.zeros((n, 6, 6))
    for side in (slice(0, 6), slice(6, 12)):
        np.add.at(own, system.pairs[:, side.start // 6], system.blocks[:, side, side])
    scale = scaled.scale.reshape(n, 6)
    own *= scale[:, :, None] * scale[:, None, :]
    own[:, range(6), range(6)] += scale == 0.0
    energies, motions = np.linalg.eigh(own)
    met = np.zeros(n, dtype=bool)
    met[system.pairs.ravel()] = True
    idle: tuple[str, ...] = ()
    spins = []
    for node in np.flatnonzero(energies[:, 0] < _NO_ENERGY_AT_JOINT):
        basis = motions[node][:, energies[node] < _NO_ENERGY_AT_JOINT]
        for local in basis.T:
            motion = np.zeros(6 * n)
            motion[6 * node : 6 * node + 6] = local
            spinning = np.linalg.norm(local[:3]) < _IN_PLACE
            pushed = scaled.pushed(motion).any()
            if pushed and spinning and met[node]:
                raise loose_spin(frame, motion * scaled.scale)
            if pushed or (met[node] and not spinning):
                whole = motion[:, None]
                raise loose_motion(frame, whole * scaled.scale[:, None], scaled.loads, _acting(scaled, whole))
            if met[node]:
                idle += (str(loose_spin(frame, motion * scaled.scale).what),)
            spins.append((int(node), local))
    return idle, spins


def _acting(scaled: Scaled, motions: Floats) -> int | None:
    """The case that pushes the motions hardest; None where none does."""
    power = np.linalg.norm(motions.T @ scaled.loads, axis=0) / np.where(
        scaled.loudest > 0, scaled.loudest, 1.0
    )
    return int(power.argmax()) if power.size and power.max() > _PUSHED else None


def _hold_spins(system: System, spins: list[tuple[int, Floats]], scale: Floats) -> System:
    if not spins:
        return system
    pairs = np.array([(node, node) for node, _ in spins])
    blocks = np.zeros((len(spins), 12, 12))
    for block, (node, local) in zip(blocks, spins, strict=True):
        stiff = local / np.where(scale[6 * node : 6 * node + 6] > 0.0, scale[6 * node : 6 * node + 6], 1.0)
        block[:6, :6] = np.outer(stiff, stiff)
    return system.stiffened(pairs, blocks)


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
    """All motions without strain energy, orthonormal in scaled directions; (6 n, p).

    Subspace iteration on the shifted stiffness, the subspace doubled until one of its motions costs energy.
    """
    free = system.number >= 0
    where = np.empty(system.size, dtype=np.int64)
    where[system.number[free]] = np.flatnonzero(free)
    own = scale[where]
    shifted = factor(system, _SHIFT)
    motions = np.zeros((scale.size, 0))
    if shifted is None:
        return motions
    matrix = system.matrix()
    width = min(8, system.size)
    while True:
        energies, basis = _softest(matrix, shifted, own, width)
        if energies[-1] > _NO_ENERGY or width == system.size:
            break
        width = min(2 * width, system.size)
    motions = np.zeros((scale.size, int(np.count_nonzero(energies < _NO_ENERGY))))
    motions[where] = basis[:, energies < _NO_ENERGY]
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
