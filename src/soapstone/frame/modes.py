"""Natural frequencies and mode shapes, of the stress-free frame or of one under load."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array

from soapstone.errors import LooseError
from soapstone.frame.assemble import System, assemble
from soapstone.frame.eigen import largest
from soapstone.frame.factor import Factor, factor
from soapstone.frame.geometric import geometric_blocks
from soapstone.frame.mass import lumped_masses, member_masses
from soapstone.frame.model import Frame, Loads, LumpedMass
from soapstone.frame.motion import name_shape
from soapstone.frame.refine import Refined, refine
from soapstone.frame.solve import Solution, prepare, solve_prepared

Floats = NDArray[np.float64]

# A free body gets springs to the ground that follow its mass, this much softer than its stiffest direction;
# they are taken off the result again. Rounding then leaves a rigid motion the square root of some 1e-16 of
# the highest frequency.
_FREE = 1e-8

# Motions that carry no mass come out near 1e-16 of the largest.
_MASSLESS = 1e-14


@dataclass(frozen=True, eq=False)
class Modes:
    """The lowest modes of a frame.

    Attributes
    ----------
    frequencies : (k,) float, Hz
        Ascending; 0 for a rigid motion of a free body.
    shapes : (k, n, 6) float, m, rad
        At the nodes of the whole frame, scaled to a modal mass of 1 kg.
    shares : (k, 3) float
        Of the mass that is free to move along x, y and z, how much each mode carries.
    words : tuple of str
    """

    frequencies: Floats
    shapes: Floats
    shares: Floats
    words: tuple[str, ...]


def modes(
    frame: Frame,
    masses: Sequence[LumpedMass] = (),
    count: int = 6,
    pieces: int = 4,
    *,
    under: Loads | None = None,
    free: bool = False,
) -> Modes:
    """The lowest modes.

    Parameters
    ----------
    masses : sequence of LumpedMass
        Carried by nodes of the frame, besides the members' own mass.
    pieces : int
        Into which every member is cut.
    under : Loads of one case, optional
        What the frame bears while it swings; left out it is free of stress.
    free : bool
        Whether rigid motions are welcome: their frequencies are 0.

    Raises
    ------
    LooseError
        The frame is a mechanism, or what it bears has buckled it.
    """
    cut = refine(frame, Loads.none(frame, ["swing"]) if under is None else under.case(0), pieces)
    places, lumps = lumped_masses(frame, masses)
    own = member_masses(cut.frame, assemble(cut.frame))
    pairs, blocks = np.concatenate([cut.frame.ends, places]), np.concatenate([own, lumps])
    system, factored, shift = _firm(cut, pairs, blocks, under is not None, free)
    inertia = system.gathered(pairs, blocks)
    mu, x = largest(inertia, system.matrix(), factored, count)
    kept = mu > _MASSLESS * mu.max(initial=0.0)
    mu, x = mu[kept], x[:, kept]
    squares = np.maximum(1.0 / mu - shift, 0.0)
    squares[squares < _FREE * shift] = 0.0
    shapes = np.zeros((system.number.size, len(mu)))
    shapes[system.where] = x / np.sqrt(mu)
    moved = shapes.T.reshape(len(mu), len(cut.frame.nodes), 6)
    words = tuple(name_shape(cut, system, shape) for shape in moved)
    shares = _shares(system, inertia, shapes)
    return Modes(np.sqrt(squares) / (2.0 * np.pi), moved[:, : len(frame.nodes)], shares, words)


def _firm(
    cut: Refined, pairs: NDArray[np.int64], blocks: Floats, loaded: bool, free: bool
) -> tuple[System, Factor, float]:
    """The system to be solved, factored, and the shift by which its squares are too high."""
    if free:
        system, shift = _with_followers(assemble(cut.frame), pairs, blocks)
        solution: Solution | None = None
    else:
        prepared = prepare(cut.frame, cut.loads)
        system, shift = prepared.firm, 0.0
        solution = solve_prepared(cut.frame, prepared, cut.loads) if loaded else None
        if solution is None:
            return system, prepared.factored, shift
    if solution is not None:
        stress = geometric_blocks(cut.frame, system, solution.end_forces[0], cut.loads.line[0])
        system = system.stiffened(cut.frame.ends, stress)
    factored = factor(system)
    if factored is None:
        raise LooseError(
            f"what it bears in {cut.loads.case_names[0]} has buckled the frame: it cannot swing about that",
            remedy="look at its buckling factors first",
        )
    return system, factored, shift


def _with_followers(system: System, pairs: NDArray[np.int64], blocks: Floats) -> tuple[System, float]:
    inertia = system.gathered(pairs, blocks).diagonal()
    heavy = inertia > 0.0
    shift = _FREE * float((system.reference[heavy] / inertia[heavy]).max(initial=1.0))
    return system.stiffened(pairs, shift * blocks), shift


def _shares(system: System, inertia: csc_array, shapes: Floats) -> Floats:
    """Effective mass of each mode along x, y, z against all that is free to move that way; (k, 3)."""
    rigid = np.tile(np.eye(6, 3), (system.number.size // 6, 1))[system.where]
    carried = inertia @ rigid
    whole = np.einsum("na,na->a", rigid, carried)
    part: Floats = (shapes[system.where].T @ carried) ** 2
    share: Floats = np.divide(part, whole, out=np.zeros_like(part), where=whole > 0.0)
    return share
