"""Linear buckling: by what factor a case may grow before the frame, still straight, gives way sideways."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.eigen import largest
from soapstone.frame.geometric import geometric_blocks
from soapstone.frame.model import Frame, Loads
from soapstone.frame.motion import name_shape
from soapstone.frame.refine import refine
from soapstone.frame.solve import Prepared, prepare, solve_prepared

Floats = NDArray[np.float64]

# A factor above 1e10 is rounding, not buckling.
_NEVER = 1e-10


@dataclass(frozen=True, eq=False)
class Buckling:
    """The lowest ways in which one case buckles a frame.

    Attributes
    ----------
    case : str
    factors : (k,) float
        Of the whole case, ascending, all positive; empty where it never buckles.
    shapes : (k, n, 6) float
        At the nodes of the whole frame; the largest entry of each over all its pieces is 1.
    words : tuple of str
        How each goes: what bows, sways or turns over.
    """

    case: str
    factors: Floats
    shapes: Floats
    words: tuple[str, ...]


def buckling(frame: Frame, loads: Loads, count: int = 3, pieces: int = 4) -> tuple[Buckling, ...]:
    """The lowest buckling factors of every case.

    Parameters
    ----------
    count : int
        How many of each case.
    pieces : int
        Into which every member is cut. The factor of a column that is clamped at both ends is then 0.8 %
        high with 4 and 0.05 % with 8; it falls with the fourth power.

    Raises
    ------
    LooseError, GeometryError
        As `solve`.
    """
    cut = refine(frame, loads, pieces)
    prepared = prepare(cut.frame, cut.loads)
    solution = solve_prepared(cut.frame, prepared, cut.loads)
    stiffness = prepared.firm.matrix()
    found = []
    for index, name in enumerate(loads.case_names):
        blocks = geometric_blocks(
            cut.frame, prepared.system, solution.end_forces[index], cut.loads.line[index]
        )
        against = -prepared.system.gathered(cut.frame.ends, blocks)
        mu, x = largest(against, stiffness, prepared.factored, count)
        kept = mu > _NEVER
        shapes = _on_nodes(prepared, x[:, kept])
        words = tuple(name_shape(cut, prepared.system, shape) for shape in shapes)
        found.append(Buckling(name, 1.0 / mu[kept], shapes[:, : len(frame.nodes)], words))
    return tuple(found)


def _on_nodes(prepared: Prepared, x: Floats) -> Floats:
    """Motions (N, k) as (k, n, 6), the largest entry of each 1."""
    system = prepared.system
    motions = np.zeros((system.number.size, x.shape[1]))
    motions[system.where] = x
    peaks = motions[np.abs(motions).argmax(axis=0), np.arange(x.shape[1])]
    return np.ascontiguousarray((motions / peaks).T).reshape(x.shape[1], len(system.number) // 6, 6)
