"""Coordinates from readings alone, point by point, without starting values.

A point (or, where that fails, the smallest group of points) is placed as soon as its readings to points
already placed determine it. Where two places fit alike both are followed until a later reading decides;
what is never decided is kept as an alternative.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.survey import sides
from soapstone.survey.descent import descend, fit_sum, lay_out
from soapstone.survey.index import Array, Index
from soapstone.survey.model import Model, size_of
from soapstone.survey.motions import null_basis, rigid_motions, unheld_motions
from soapstone.survey.records import Network
from soapstone.survey.scatter_search import Function, descend_together, distinct
from soapstone.survey.shown import evaluate

_RANK = 1e-3  # relative singular value: three anchors in line within 1 mm per metre do not place a point
FAR_OFF = 400.0  # sum of squares (20 standard deviations) that a candidate may always show while placing
NEAR = 0.02  # part of the size of what a point is read from: a best fit worse than this is no second answer
_ROUGH = 1e-6  # part of the size of the job to which a partly built network is adjusted
_BEAM = 8
_STARTS = 16  # for one point; a group gets more
_GROUP_STARTS = 96
_LARGEST_GROUP = 8
_ALL = 1_000_000


@dataclass(frozen=True)
class Decision:
    """A placing that could have gone otherwise: (k,) points, their places and the others, (k, 3) m each."""

    points: tuple[int, ...]
    others: tuple[Array, ...]


@dataclass(frozen=True)
class Candidate:
    """A place for a group, (k, 3) m, and whether it is likely enough to be followed at once."""

    at: Array
    likely: bool = True


@dataclass(frozen=True)
class State:
    """A partly built network: (n, 3) m with NaN for what is not placed yet.

    `stride` points at most are placed before the whole is adjusted; twice as many next time.
    """

    xyz: Array
    decisions: tuple[Decision, ...] = ()
    parents: dict[int, frozenset[int]] = field(default_factory=dict)
    sum: float = 0.0
    seen: dict[int, tuple[frozenset[int], list[Candidate]]] = field(default_factory=dict)
    stride: int = _ALL

    @property
    def placed(self) -> NDArray[np.bool_]:
        """Which points have a place; (n,)."""
        return np.isfinite(self.xyz[:, 0])


class Builder:
    """Places the points of one network.

    Parameters
    ----------
    network : Network
    model : Model
    held : (n,) bool
    start : (n, 3) m
        Held points; NaN for the others.
    size : float, m
    """

    def __init__(
        self, network: Network, model: Model, held: NDArray[np.bool_], start: Array, size: float
    ) -> None:
        self.network, self.model, self.held, self.start, self.size = network, model, held, start, size
        self.chance = np.random.default_rng(1)
        somewhere = np.where(np.isfinite(start), start, self._anywhere(start, start.shape))
        self.twists = unheld_motions(model, held, somewhere, size)

    def run(self, state: State, worth: Callable[[State], bool] = lambda _: True) -> list[State]:
        """Place everything; returns the survivors, best first: none when none is `worth` going on with."""
        beam = [state]
        while not all(s.placed.all() for s in beam):
            beam = [s for s in beam if worth(s)]
            if not beam:
                break
            grown = [after for s in beam for after in ([s] if s.placed.all() else self._advance(s))]
            grown.sort(key=lambda s: s.sum)
            least = grown[0].sum
            beam = [s for s in grown[:_BEAM] if s.sum <= max(FAR_OFF * len(s.xyz), 4 * least)]
        return beam

    def _advance(self, state: State) -> list[State]:
        single = self._single_steps(state)
        if single:
            return single
        group = self._smallest_group(state)
        if group is None:
            return [self._leave_loose(state)]
        return self._branch(state, group, self._candidates(state, group))

    def _single_steps(self, state: State) -> list[State]:
        ready = [int(p) for p in self._within_reach(state) if self._determined(state, (int(p),))]
        firm = [p for p in ready if not self._drifts(state, (p,))]
        if not firm:
            return self._seed(state, ready)
        doubtful: list[tuple[int, list[Candidate]]] = []
        grown, number = state, 0
        for p in sorted(firm, key=lambda p: -len(self._rows(state, (p,)))):
            if number >= state.stride:
                break
            candidates = self._remembered(state, p)
            if sum(c.likely for c in candidates) == 1 or not self._onward(state, p):
                grown, number = self._with(grown, (p,), candidates), number + 1
            else:
                doubtful.append((p, candidates))
        if grown is not state:
            return [self.settled(grown)]
        point, candidates = max(doubtful, key=lambda d: len(self._rows(state, (d[0],))))
        return self._branch(state, (point,), candidates)

    def _within_reach(self, state: State) -> Index:
        """Points without a place that have readings enough to placed ones to be held by them."""
        waiting = ~state.placed
        open_ends = self.model.used & waiting[self.model.ends]
        alone = open_ends.sum(axis=1) == 1
        points = self.model.ends[alone][open_ends[alone]]
        counts = np.bincount(points, minlength=len(waiting))
        return np.flatnonzero(waiting & (counts >= 3 - self.twists.shape[1]))

    def _remembered(self, state: State, point: int) -> list[Candidate]:
        """Candidates of one point, searched again only when more of its neighbours have a place."""
        anchors = frozenset(self._anchors(state, (point,)))
        before, candidates = state.seen.get(point, (None, []))
        if before != anchors:
            candidates = self._candidates(state, (point,))
            state.seen[point] = (anchors, candidates)
        return candidates

    def _seed(self, state: State, ready: Sequence[int]) -> list[State]:
        """Nothing holds the whole yet: put down one point of a network that may drift."""
        if not ready:
            return []
        point = int(max(ready, key=lambda p: (len(self._rows(state, (p,))), self._degree(p))))
        return [self.settled(self._with(state, (point,), self._candidates(state, (point,))[:1]))]

    def _branch(self, state: State, group: tuple[int, ...], candidates: list[Candidate]) -> list[State]:
        ways = [
            self._with(state, group, [chosen, *(c for c in candidates if c is not chosen)])
            for chosen in candidates[:6]
            if chosen.likely
        ]
        return [self.settled(way) for way in ways]

    def _with(self, state: State, group: tuple[int, ...], candidates: list[Candidate]) -> State:
        xyz = state.xyz.copy()
        xyz[list(group)] = candidates[0].at
        anchors = frozenset(self._anchors(state, group))
        parents = {**state.parents, **dict.fromkeys(group, anchors)}
        decisions = state.decisions
        if len(candidates) > 1:
            decisions = (*decisions, Decision(group, tuple(c.at for c in candidates[1:])))
        return replace(state, xyz=xyz, decisions=decisions, parents=parents, seen=dict(state.seen))

    def settled(self, state: State) -> State:
        """Adjust what is placed so far, so that errors do not add up along the way."""
        placed = state.placed
        rows = np.flatnonzero(self.model.within(placed))
        model = self.model.subset(rows)
        fixed = self.held | ~placed
        begin = np.where(placed[:, None], state.xyz, 0.0)
        xyz = descend(model, lay_out(model, fixed), begin, self.size, _ROUGH)
        done = np.where(placed[:, None], xyz, np.nan)
        return replace(state, xyz=done, sum=fit_sum(model, xyz), stride=2 * state.stride)

    def _rows(self, state: State, group: Sequence[int]) -> Index:
        """Rows that touch the group and otherwise only placed points."""
        usable = state.placed.copy()
        usable[list(group)] = True
        inside = np.zeros_like(usable)
        inside[list(group)] = True
        return np.flatnonzero(self.model.touching(inside) & self.model.within(usable))

    def _anchors(self, state: State, group: Sequence[int]) -> set[int]:
        rows = self._rows(state, group)
        return {int(p) for p in np.unique(self.model.ends[rows])} - set(group)

    def _degree(self, point: int) -> int:
        return int(np.count_nonzero((self.model.ends == point).any(axis=1)))

    def _onward(self, state: State, point: int) -> bool:
        """Whether a point has readings to points that are not placed yet."""
        return bool(np.any(~state.placed[self.model.neighbours(point)]))

    def _anywhere(self, start: Array, shape: tuple[int, ...], size: float | None = None) -> Array:
        there = start[np.isfinite(start[:, 0])]
        centre = there.mean(axis=0) if len(there) else np.zeros(3)
        box: Array = centre + (size or self.size) * self.chance.uniform(-1.0, 1.0, shape)
        return box

    def _drift(self, state: State, group: Sequence[int], xyz: Array) -> Array:
        """Displacements of the group by motions that neither readings nor placed points hold, (3k, g)."""
        if self.twists.shape[1] == 0:
            return np.zeros((3 * len(group), 0))
        motions = rigid_motions(xyz, self.size) @ self.twists
        placed = motions[state.placed].reshape(-1, motions.shape[2])
        left = null_basis(placed)
        moved: Array = motions[list(group)].reshape(-1, motions.shape[2]) @ left
        return moved

    def _drifts(self, state: State, group: Sequence[int]) -> bool:
        return self._rank(self._drift(state, group, self._generic(state))) > 0

    def _generic(self, state: State) -> Array:
        return np.where(state.placed[:, None], state.xyz, self._anywhere(self.start, state.xyz.shape))

    @staticmethod
    def _rank(matrix: Array) -> int:
        if matrix.size == 0:
            return 0
        return int(np.count_nonzero(np.linalg.svd(matrix, compute_uv=False) > _RANK))

    def _determined(self, state: State, group: Sequence[int]) -> bool:
        """Whether the readings among the group and the placed points leave it no freedom of its own."""
        rows = self._rows(state, group)
        if len(rows) < 3 * len(group) - self.twists.shape[1]:
            return False
        xyz = self._generic(state)
        drift = self._rank(self._drift(state, group, xyz))
        needed = 3 * len(group) - drift
        if len(rows) < needed:
            return False
        return needed == 0 or self._rank(self._slopes(self.model.subset(rows), xyz, group)) >= needed

    def _slopes(self, model: Model, xyz: Array, group: Sequence[int]) -> Array:
        place = np.full(len(xyz), len(group))
        place[list(group)] = np.arange(len(group))
        _, by_end = evaluate(model, xyz)
        slopes = np.zeros((model.rows, len(group) + 1, 3))
        rows = np.arange(model.rows)
        for end, by in zip(model.ends.T, by_end.swapaxes(0, 1), strict=True):
            slopes[rows, place[end]] += by
        slopes[model.rows_of["level"]] *= self.size
        flat: Array = slopes[:, :-1].reshape(model.rows, -1)
        return flat

    def _smallest_group(self, state: State) -> tuple[int, ...] | None:
        best: tuple[int, ...] | None = None
        for seed in np.flatnonzero(~state.placed):
            limit = len(best) - 1 if best else _LARGEST_GROUP
            grown = self._grown(state, int(seed), limit)
            if grown is not None:
                best = grown
        return best

    def _grown(self, state: State, seed: int, limit: int) -> tuple[int, ...] | None:
        group = [seed]
        while len(group) < limit:
            near = {p for q in group for p in self._neighbours(q)} - set(group)
            near = {p for p in near if not state.placed[p]}
            if not near:
                return None
            group.append(max(near, key=lambda p: (len(self._rows(state, [*group, p])), -p)))
            if self._determined(state, group):
                return tuple(group)
        return None

    def _neighbours(self, point: int) -> set[int]:
        return {int(p) for p in self.model.neighbours(point)}

    def _leave_loose(self, state: State) -> State:
        """Place what cannot be determined anywhere that suits the readings."""
        rest = tuple(int(p) for p in np.flatnonzero(~state.placed))
        return self.settled(self._with(state, rest, self._candidates(state, rest)[:1]))

    def _candidates(self, state: State, group: tuple[int, ...]) -> list[Candidate]:
        """Places of a group that suit its readings, best first, (k, 3) m each."""
        rows = self._rows(state, group)
        if not len(rows):
            return [Candidate(self._anywhere(state.xyz, (len(group), 3)))]
        model, points = self.model.narrowed(rows)
        around = np.setdiff1d(points, group)
        size = min(self.size, len(group) * size_of(model, state.xyz[around]))
        starts = self._starts(state, around, len(group), size)
        base = np.where(state.placed[points, None], state.xyz[points], 0.0)
        function = _misfits(model, base, np.searchsorted(points, group))
        steps = 25 if len(group) == 1 else 150
        ends, sums = descend_together(function, starts, steps=steps, still=1e-4 * size)
        ends = ends.reshape(len(ends), -1, 3)
        if self._rank(self._drift(state, group, self._generic(state))):
            best = ends[int(np.argmin(sums))]
            mirrored = best * np.array([-1.0, 1.0, 1.0])  # heights, levels and distances stay the same
            alone = state.placed.any() or len(group) == 1
            return [Candidate(best)] if alone else [Candidate(best), Candidate(mirrored)]
        order = distinct(ends.reshape(len(ends), -1), sums, 1e-2 * size)
        least = float(sums[order[0]])
        likely = max(FAR_OFF, 4 * least)
        possible = max(likely, len(rows) * (NEAR * size / float(np.median(model.sigma))) ** 2)
        fitting = [Candidate(ends[i], bool(sums[i] <= likely)) for i in order if sums[i] <= possible]
        return self._on_the_told_side(state, group, fitting)

    def _starts(self, state: State, around: Index, count: int, size: float) -> Array:
        """Places to search from, (s, 3 count), about what a group is read from."""
        near = state.xyz[around] if len(around) else state.xyz
        number = _STARTS if count == 1 else _GROUP_STARTS
        return self._anywhere(near, (number, count, 3), size).reshape(number, -1)

    def _on_the_told_side(
        self, state: State, group: tuple[int, ...], candidates: list[Candidate]
    ) -> list[Candidate]:
        def suits(candidate: Candidate) -> bool:
            xyz = state.xyz.copy()
            xyz[list(group)] = candidate.at
            return sides.kept(self.network, xyz)

        return [c for c in candidates if suits(c)] or candidates


def _misfits(model: Model, base: Array, members: Index) -> Function:
    """Misfits and derivatives of rows by the places of some points, (s, 3k), all others as in `base`."""
    place = np.full(len(base), len(members))
    place[members] = np.arange(len(members))
    rows = np.arange(model.rows)

    def function(unknown: Array) -> tuple[Array, Array]:
        xyz = np.broadcast_to(base, (len(unknown), *base.shape)).copy()
        xyz[:, members] = unknown.reshape(len(unknown), -1, 3)
        shown, by_end = evaluate(model, xyz)
        slopes = np.zeros((len(unknown), model.rows, len(members) + 1, 3))
        for k, end in enumerate(model.ends.T):
            slopes[:, rows, place[end]] += by_end[:, :, k]
        misfit = (shown - model.value) / model.sigma
        by_place = slopes[:, :, :-1] / model.sigma[:, None, None]
        return misfit, by_place.reshape(len(unknown), model.rows, -1)

    return function
