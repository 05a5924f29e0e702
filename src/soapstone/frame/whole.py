"""The frame as a whole: how it swings, by how much a case may grow before it buckles, what bending adds."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import LooseError
from soapstone.frame.buckle import Buckling, buckling
from soapstone.frame.idealise import Idealised
from soapstone.frame.modes import Modes, modes
from soapstone.frame.refine import refine
from soapstone.frame.second import second_order
from soapstone.frame.solve import Solution

Array = NDArray[np.float64]

STRAIGHT = 10.0
"""Forces may be found on the straight frame where the design loads may grow this often before it buckles:
EN 1993-1-1 5.2.1(3), elastic analysis."""
BENT = 3.0
"""Below this a bent frame must be followed more closely than here: EN 1993-1-1 5.2.2(5)."""
DESIGN: Mapping[str, tuple[float, str]] = {
    "AISC 360": (1.6, "loads of second-order work times 1.6 for ASD, AISC 360-22 C2.1"),
    "EN 1993": (1.35, "load factor, EN 1990 table A1.2(B)"),
}
"""What working loads are multiplied by before second-order work, by the job's code."""
_PIECES = 4
_MODES = 8
_MOST = 64


@dataclass(frozen=True)
class Whole:
    """What the frame does as one.

    Attributes
    ----------
    swing : Modes
        Of the unloaded frame.
    loaded : Modes or None
        Under the case that comes nearest to buckling it; None where that case buckles it.
    under : str
        That case.
    buckling : tuple of Buckling
        Of every case.
    growth : (c,) float
        By what share bending feeds on itself: of the largest moment where `second`, else by EN 1993-1-1
        (5.4), 1 / (1 - 1 / alpha) - 1 with the design loads' factor alpha. Infinite where it buckles.
    second : (c,) bool
        Whether `solution` counts what bending adds.
    solution : Solution
        What the checks use.
    """

    swing: Modes
    loaded: Modes | None
    under: str
    buckling: tuple[Buckling, ...]
    growth: Array
    second: NDArray[np.bool_]
    solution: Solution

    @property
    def factors(self) -> Array:
        """(c,) by which each case may grow; infinite where it never buckles the frame."""
        return np.array([b.factors[0] if b.factors.size else np.inf for b in self.buckling])


def look(ideal: Idealised, solution: Solution, code: str, fastest: float = 0.0) -> Whole:
    """Modes, buckling and second order of an idealised frame.

    Parameters
    ----------
    solution : Solution
        Of first order.
    code : key of `DESIGN`
    fastest : float, Hz
        Modes are sought until one lies well above.
    """
    frame, loads = ideal.frame, ideal.loads
    if not frame.member_names:
        return _nothing(loads.case_names, solution)
    found = buckling(frame, loads, 1, _PIECES)
    factors = np.array([b.factors[0] if b.factors.size else np.inf for b in found])
    nearest = int(factors.argmin())
    times = DESIGN[code][0]
    margin = np.maximum(factors / times - 1.0, 0.0)
    growth = np.divide(1.0, margin, out=np.full_like(margin, np.inf), where=margin > 0.0)
    second, chosen = np.zeros(len(factors), dtype=np.bool_), solution
    for case in np.flatnonzero(factors < STRAIGHT * times).tolist():
        other = _bent(ideal, case, times)
        if other is not None:
            growth[case] = _growth(solution, case, other)
            second[case], chosen = True, _exchanged(chosen, case, other)
    swing, loaded = _swings(ideal, nearest, fastest)
    return Whole(swing, loaded, loads.case_names[nearest], found, growth, second, chosen)


def bent_again(ideal: Idealised, solution: Solution, code: str, cases: NDArray[np.bool_]) -> Solution:
    """What the checks use of a frame changed a little: bending fed back in the `cases` (c,) alone."""
    chosen = solution
    for case in np.flatnonzero(cases).tolist():
        other = _bent(ideal, case, DESIGN[code][0])
        chosen = chosen if other is None else _exchanged(chosen, case, other)
    return chosen


def _nothing(cases: tuple[str, ...], solution: Solution) -> Whole:
    """Points alone: nothing that could swing or buckle."""
    still = Modes(np.zeros(0), np.zeros((0, 0, 6)), np.zeros((0, 3)), ())
    none = tuple(Buckling(case, np.zeros(0), np.zeros((0, 0, 6)), ()) for case in cases)
    return Whole(still, None, "", none, np.zeros(len(cases)), np.zeros(len(cases), np.bool_), solution)


def _bent(ideal: Idealised, case: int, times: float) -> Solution | None:
    """Second order under `times` the loads, divided by it again; None where that buckles the frame."""
    frame, n = ideal.frame, len(ideal.frame.nodes)
    loads = ideal.loads.case(case)
    parts = {
        name: None if (part := getattr(loads, name)) is None else times * part
        for name in ("nodal", "line", "settled", "misfit", "strain")
    }
    cut = refine(frame, replace(loads, **parts), _PIECES)  # type: ignore[arg-type]
    try:
        found = second_order(cut.frame, cut.loads)
    except LooseError:
        return None
    pieces = found.end_forces.reshape(1, len(frame.member_names), _PIECES, 12)
    ends = np.concatenate([pieces[:, :, 0, :6], pieces[:, :, -1, 6:]], axis=2)
    return Solution(
        found.displacements[:, :n] / times,
        found.reactions[:, :n] / times,
        ends / times,
        found.residual,
        found.idle,
    )


def _growth(solution: Solution, case: int, bent: Solution) -> float:
    before, after = (
        np.abs(forces.reshape(-1, 2, 6)[..., 4:]).max(initial=0.0)
        for forces in (solution.end_forces[case], bent.end_forces[0])
    )
    return float(after / before - 1.0) if before > 0.0 else 0.0


def _exchanged(solution: Solution, case: int, other: Solution) -> Solution:
    """The solution with one case taken from another."""
    parts = {}
    for name in ("displacements", "reactions", "end_forces"):
        values = getattr(solution, name).copy()
        values[case] = getattr(other, name)[0]
        parts[name] = values
    return replace(solution, **parts)


def _swings(ideal: Idealised, nearest: int, fastest: float) -> tuple[Modes, Modes | None]:
    count = _MODES
    while True:
        free = modes(ideal.shaken_frame, ideal.masses, count, _PIECES)
        if count >= _MOST or len(free.frequencies) < count or free.frequencies[-1] > 1.5 * fastest:
            break
        count *= 2
    try:
        under = ideal.loads.case(nearest)
        return free, modes(ideal.shaken_frame, ideal.masses, count, _PIECES, under=under)
    except LooseError:
        return free, None
