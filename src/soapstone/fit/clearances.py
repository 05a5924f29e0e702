"""How near every two groups come, at rest and as far as they move, against the gap they want."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Verdict
from soapstone.fit.apart import Joined, hung_on, looked_at
from soapstone.fit.groups import Group, Piece, Role
from soapstone.fit.moves import Moved, Moves, shift_of
from soapstone.fit.near import HERE, Near, Nearest, at_least, nearest
from soapstone.fit.unsure import Known, Unsure
from soapstone.parts.layout import Layout
from soapstone.place.pose import Pose
from soapstone.tables.gaps import STANDING, WantedGap, gap_between, gap_in, gap_of

Array = NDArray[np.float64]

SPREAD = 1.959964
"""Standard deviations either way that 95 in 100 normal errors keep within."""
_CHORDS = 2e-4
"""m; round tubes and holes are drawn with straight sides, each within a tenth of a millimetre."""
_CLOSE_RIVALS = 0.02
"""m; pieces whose room is within this of the least are judged too: theirs may be the less well known."""


@dataclass(frozen=True, eq=False)
class Reach:
    """The nearest that two pieces come in one state.

    Attributes
    ----------
    first, second : names of the pieces
    state : `at rest`, a load case, or a broken mount with its case
    apart : where they are nearest
    sway : m, how far bending brings them together beside that
    wanted : the gap to keep
    unsure : of the two groups there
    clash : whether they overlap however the uncertainty turns out
    """

    first: str
    second: str
    state: str
    apart: Nearest
    sway: float
    wanted: WantedGap
    unsure: tuple[Unsure, Unsure]
    clash: bool = False
    blind: bool = False

    @property
    def gap(self) -> float:
        """m, what is left of the gap once all has moved."""
        return max(self.apart.size - self.sway, 0.0)

    @property
    def sigma(self) -> float:
        """m, one standard deviation of the gap."""
        return float(np.hypot(self.unsure[0].sigma, self.unsure[1].sigma))

    @property
    def within(self) -> float:
        """m, how far the gap can be off: 95 in 100, and the chords of round things."""
        return SPREAD * self.sigma + _CHORDS

    @property
    def slack(self) -> float:
        """m, what is surely left over of the gap that is wanted."""
        return self.gap - self.within - self.wanted.size

    @property
    def verdict(self) -> Verdict:
        """Proven clear, proven too near, or neither."""
        if self.slack >= 0.0:
            return Verdict.HOLDS
        return Verdict.SHORT if self.clash or self.gap + self.within < self.wanted.size else Verdict.OPEN


@dataclass(frozen=True, eq=False)
class Pair:
    """Two groups of the matrix.

    Attributes
    ----------
    first, second : names
    skipped : why nothing is measured; empty when it is
    rest : at rest, the state with the least room
    moved : the same of all states in which something moved; None when nothing does
    joined : what was left out because it is joined, and how
    """

    first: str
    second: str
    skipped: str = ""
    rest: Reach | None = None
    moved: Reach | None = None
    joined: tuple[str, ...] = ()

    @property
    def worst(self) -> Reach:
        """The state with the least room left."""
        assert self.rest is not None
        return min((one for one in (self.rest, self.moved) if one is not None), key=lambda reach: reach.slack)


@dataclass(frozen=True, eq=False)
class Setting:
    """All that the pairs are measured with."""

    layout: Layout
    groups: Sequence[Group]
    known: Known
    moves: Moves = field(default_factory=Moves)

    def pairs(self) -> tuple[Pair, ...]:
        """Every two groups, once."""
        obstacles = tuple(group for group in self.groups if group.role is Role.OBSTACLE)
        joined = Joined(self.known.job, self.layout, obstacles)
        return tuple(self._pair(one, other, joined) for one, other in combinations(self.groups, 2))

    def _pair(self, first: Group, second: Group, joined: Joined) -> Pair:
        for group in (first, second):
            if not group.pieces:
                return Pair(first.name, second.name, group.missing or f"{group.name} has no shape in the job")
        if skipped := looked_at(first, second):
            return Pair(first.name, second.name, skipped)
        if second.role is Role.BODY:  # a body's poses are known; what it is measured to stands
            first, second = second, first
        reasons: dict[str, None] = {}
        meeting = []
        for one in first.pieces:
            for other in second.pieces:
                if why := joined.why(one, other):
                    reasons[why] = None
                else:
                    meeting.append((one, other))
        if not meeting:
            return Pair(first.name, second.name, "; ".join(reasons))
        rest = self._least(first, second, meeting, (Moved("at rest", HERE),), 0.0)
        assert rest is not None
        return Pair(first.name, second.name, "", rest, self._moved(first, second, meeting), tuple(reasons))

    def _moved(self, first: Group, second: Group, meeting: Sequence[tuple[Piece, Piece]]) -> Reach | None:
        states = self.moves.bodies.get(first.name, ()) if first.role is Role.BODY else ()
        sway, case = self.moves.farthest(second)
        if first.role is not Role.BODY:
            own, own_case = self.moves.farthest(first)
            case = own_case if own > sway else case
            sway += own
        if not states and sway == 0.0:
            return None
        return self._least(first, second, meeting, states or (Moved(case, HERE),), sway)

    def _least(
        self,
        first: Group,
        second: Group,
        meeting: Sequence[tuple[Piece, Piece]],
        states: Sequence[Moved],
        sway: float,
    ) -> Reach | None:
        """The least room over pieces and states; what cannot be the least is not measured."""
        tried = []
        for state in states:
            shift = 0.0 if state.pose is HERE else shift_of(state.pose, first)
            for one, other in meeting:
                wanted = self._wanted(first, second, one, other, state)
                room = at_least(one.near, other.near) - shift - wanted.size
                tried.append((room, shift, wanted, state, one, other))
        tried.sort(key=lambda row: row[0])
        best: float = np.inf
        found = []
        rests: dict[tuple[int, int], float] = {}
        for room, shift, wanted, state, one, other in tried:
            if room > best + _CLOSE_RIVALS:
                break
            pair = id(one), id(other)
            if shift and pair not in rests:
                rests[pair] = nearest(one.near, other.near).size
            if shift and rests[pair] - shift - wanted.size > best + _CLOSE_RIVALS:
                continue
            apart = nearest(one.near, other.near, state.pose)
            best = min(best, apart.size - wanted.size)
            found.append((apart.size - wanted.size, apart, wanted, state, one, other))
        near = [row for row in found if row[0] <= best + _CLOSE_RIVALS]
        reaches = [self._reach(first, second, *row[1:], sway) for row in near]
        return min(reaches, key=lambda reach: reach.slack, default=None)

    def _reach(
        self,
        first: Group,
        second: Group,
        apart: Nearest,
        wanted: WantedGap,
        state: Moved,
        one: Piece,
        other: Piece,
        sway: float,
    ) -> Reach:
        unsure = (
            self.known.unsure(first, apart.here, apart.way),
            self.known.unsure(second, apart.there, apart.way),
        )
        blind = one.blind or other.blind
        reach = Reach(one.name, other.name, state.state, apart, sway, wanted, unsure, blind=blind)
        if apart.size > 0.0 or reach.gap + reach.within < wanted.size:
            return reach
        clash = state.broken or _clashes(one.near, other.near, state.pose, reach.within)
        return Reach(one.name, other.name, state.state, apart, sway, wanted, unsure, clash, blind)

    def _wanted(self, first: Group, second: Group, one: Piece, other: Piece, state: Moved) -> WantedGap:
        if state.broken:
            return gap_in("broken")
        if state.state != "at rest":
            return gap_in("moving")
        said = [gap for gap in (one.gap, other.gap) if gap is not None]
        if said:
            return WantedGap(max(said), "the job says so", "the job")
        if one.kind in (None, "fixed") and other.kind in (None, "fixed"):
            return gap_of("fixed" if self._goes(first, second) else STANDING)
        return gap_between(one.kind or STANDING, other.kind or STANDING)

    def _goes(self, first: Group, second: Group) -> bool:
        """Whether one of the two is a unit or a shaft that goes its own way."""
        for one, other in ((first, second), (second, first)):
            if one.role is Role.SHAFT:
                return True
            carried = other.role is Role.FRAME and hung_on(self.layout, one.name, other)
            if one.role is Role.BODY and (one.name in self.moves.soft or not carried):
                return True
        return False


def _clashes(one: Near, other: Near, pose: Pose, by: float) -> bool:
    """Whether two overlap even when the first is shifted by so much, along each axis and each way."""
    shifts = by * np.vstack([np.eye(3), -np.eye(3)])
    return all(nearest(one, other, Pose(pose.rotation, pose.origin + shift)).size == 0.0 for shift in shifts)


def matrix(pairs: Sequence[Pair]) -> Iterator[tuple[str, Mapping[str, Pair]]]:
    """Each group with its pairs by the other's name, in the order they stand in."""
    names = list(dict.fromkeys(name for pair in pairs for name in (pair.first, pair.second)))
    for name in names:
        yield (
            name,
            {
                (pair.second if pair.first == name else pair.first): pair
                for pair in pairs
                if name in (pair.first, pair.second)
            },
        )
