"""Second answers: positions that the readings cannot tell apart."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import SoapstoneError
from soapstone.survey import sides
from soapstone.survey.build_up import FAR_OFF, NEAR, Builder, Decision, State
from soapstone.survey.descent import descend, lay_out
from soapstone.survey.index import Array
from soapstone.survey.model import size_of
from soapstone.survey.records import Ambiguity, Network
from soapstone.survey.shown import evaluate

ALIKE = 10.83  # chi-square of one degree of freedom at 0.001: a smaller gain in fit decides nothing
_ROUNDS = 4
_FEW = 1  # points placed on a way that is being tried before it is looked at again
_SAME = 1e-4  # of the size of the job: places this close are one


@dataclass(frozen=True)
class Answer:
    """One least-squares answer: (n, 3) m, its weighted sum of squares, whether it keeps the statements."""

    xyz: Array
    sum: float
    kept: bool


class Explorer:
    """Follows every decision of the building-up the other way.

    Parameters
    ----------
    builder : Builder
    finish : callable
        Takes (n, 3) coordinates to the least-squares answer nearest downhill, and its sum.
    """

    def __init__(self, builder: Builder, finish: Callable[[Array], tuple[Array, float]]) -> None:
        self.builder, self.finish = builder, finish
        self.answers: list[Answer] = []

    def run(self, states: list[State]) -> list[Answer]:
        """All different answers found, the best that keeps the statements first."""
        for state in states:
            self._consider(state.xyz)
        leading = states[0]
        for _ in range(_ROUNDS):
            best = self._ranked()[0]
            better = self._flip_all(leading, best)
            if better is None:
                break
            leading = better
        self._mirror_points()
        return self._ranked()

    def _ranked(self) -> list[Answer]:
        return sorted(self.answers, key=lambda a: (not a.kept, a.sum))

    def _consider(self, xyz: Array) -> Answer:
        finished, total = self.finish(xyz)
        answer = Answer(finished, total, sides.kept(self.builder.network, finished))
        for old in self.answers:
            if np.abs(old.xyz - finished).max() < 1e-6 * self.builder.size:
                return old
        self.answers.append(answer)
        return answer

    def _flip_all(self, state: State, best: Answer) -> State | None:
        """Try every other way; returns the state that led to a better answer, if one did."""
        better: State | None = None
        for decision in state.decisions:
            for other in decision.others:
                flipped = self._flipped(state, best, decision, other)
                if flipped is None:
                    continue
                answer = self._consider(flipped.xyz)
                if (answer.kept, -answer.sum) > (best.kept, -best.sum + 1e-6):
                    best, better = answer, flipped
        return better

    def _mirror_points(self) -> None:
        """Try each point on the other side of the plane, and of the upright plane, through its neighbours."""
        best = self._ranked()[0].xyz
        model = self.builder.model
        for point in np.flatnonzero(~self.builder.held):
            rows = np.flatnonzero((model.ends == point).any(axis=1))
            if not len(rows):
                continue
            near = model.neighbours(int(point))
            limit = NEAR * min(self.builder.size, size_of(model.subset(rows), best[near]))
            part, points = model.narrowed(rows)
            alone = points != point
            layout = lay_out(part, alone)
            for mirrored in _reflections(best, int(point), near):
                shown, _ = evaluate(part, mirrored[points])
                misfit = (shown - part.value) / part.sigma * np.median(part.sigma)
                if np.sqrt(np.mean(misfit**2)) >= limit:
                    continue
                mirrored[points] = descend(part, layout, mirrored[points], self.builder.size, _SAME)
                if np.abs(mirrored[point] - best[point]).max() > 2 * _SAME * self.builder.size:
                    self._consider(mirrored)

    def _flipped(self, state: State, best: Answer, decision: Decision, other: Array) -> State | None:
        gone = _followers(state, decision.points)
        start = best.xyz.copy()
        start[sorted(gone)] = np.nan
        start[list(decision.points)] = other
        parents = {p: a for p, a in state.parents.items() if p not in gone}
        rest = tuple(d for d in state.decisions if not gone & set(d.points))
        turned, limit = list(decision.points), best.sum + FAR_OFF
        same = _SAME * self.builder.size

        def worth(grown: State) -> bool:
            """Readings added only raise the sum; and what went back to its place leads to the same answer."""
            back = np.abs(grown.xyz[turned] - best.xyz[turned]).max() < same
            return grown.sum <= limit and not back

        begun = self.builder.settled(State(start, rest, parents, stride=_FEW))
        grown = self.builder.run(begun, worth)
        return grown[0] if grown else None


def _reflections(xyz: Array, point: int, near: NDArray[np.intp]) -> Iterator[Array]:
    """One point mirrored in its neighbours' plane, and in their upright plane."""
    centre = xyz[near].mean(axis=0) if len(near) else xyz[point]
    for axes in (3, 2):
        apart = (xyz[near] - centre)[:, :axes]
        if len(near) >= axes:
            normal = np.linalg.svd(apart)[2][-1]
            mirrored = xyz.copy()
            mirrored[point, :axes] -= 2 * normal * (normal @ (xyz[point] - centre)[:axes])
            yield mirrored


def _followers(state: State, points: tuple[int, ...]) -> set[int]:
    """The points and all that were placed from them."""
    gone = set(points)
    while True:
        more = {p for p, anchors in state.parents.items() if p not in gone and anchors & gone}
        if not more:
            return gone
        gone |= more


def demand_kept(answers: list[Answer], freedom: int, network: Network) -> None:
    """Refuse statements that the readings contradict."""
    best, least = answers[0], min(a.sum for a in answers)
    allowed = ALIKE * max(1.0, least / max(freedom, 1))
    if not best.kept or best.sum > least + allowed:
        told = "; ".join(
            " is ".join((first, f"{relation} {second}")) for first, relation, second in network.sides
        )
        raise SoapstoneError(
            f"no position that suits the readings agrees with: {told}",
            remedy="check which side was meant, or the readings of those points",
        )


def ambiguities(
    network: Network, answers: list[Answer], loose: set[str], size: float
) -> tuple[Ambiguity, ...]:
    """The answers that fit like the first, smallest change first; combinations of smaller ones left out."""
    best = answers[0]
    alike = [a for a in answers[1:] if a.kept and a.sum <= best.sum + ALIKE]
    changes = []
    for answer in alike:
        gap = np.linalg.norm(answer.xyz - best.xyz, axis=1)
        moved = frozenset(int(i) for i in np.flatnonzero(gap > 1e-6 * size) if network.names[i] not in loose)
        if moved:
            changes.append((moved, gap, answer))
    told: list[frozenset[int]] = []
    found: list[Ambiguity] = []
    for moved, gap, answer in sorted(changes, key=lambda c: (len(c[0]), c[2].sum)):
        if moved == frozenset().union(*(t for t in told if t < moved)):
            continue
        told.append(moved)
        point = max(moved, key=lambda i: (gap[i], -i))
        found.append(
            Ambiguity(
                network.names[point],
                best.xyz[point],
                answer.xyz[point],
                sides.question(network.names, point, best.xyz, answer.xyz),
                tuple(network.names[i] for i in sorted(moved)),
            )
        )
    return tuple(found)
