"""What every check of a job reads: the parts in place, and the forces in each of them."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from soapstone.frame import Solution, internal_forces_at
from soapstone.frame.idealise import SAME_STATION, Idealised, Segment
from soapstone.job.hardware import Weld
from soapstone.job.places import Spot
from soapstone.job.schema import Job
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import ForkPart, Layout, SeatKind, Tube

Array = NDArray[np.float64]

STATIONS = 21
"""Per beam; moments run as parabolas, whose peak between two of 21 stations is missed by at most 1/1600
of the beam's own bow."""
AT_REST = "own weight"
"""The case that a stress range starts from, where the job has it."""


@dataclass(frozen=True)
class Work:
    """A job's parts and the answer of its frame, as the checks read them."""

    job: Job
    layout: Layout
    parts: CutParts
    idealised: Idealised
    solution: Solution

    @property
    def cases(self) -> tuple[str, ...]:
        """Names of the load cases."""
        return self.idealised.loads.case_names

    @cached_property
    def positions(self) -> Array:
        """(m, STATIONS + 2) m: evenly along each beam, then where a bung's weld cuts its start and end."""
        lengths = self.idealised.frame.geometry.lengths
        even = lengths[:, None] * np.linspace(0.0, 1.0, STATIONS)
        at_bung = np.stack([np.zeros_like(lengths), lengths], axis=1)
        for fork, (member, end) in self.idealised.pins.items():
            bung = self.layout.forks[fork].bung
            reach = min(bung.outside / 2.0 if bung else 0.0, lengths[member])
            at_bung[member, end] = lengths[member] - reach if end else reach
        return np.concatenate([even, at_bung], axis=1)

    @cached_property
    def forces(self) -> Array:
        """(c, m, STATIONS + 2, 6) N, N·m."""
        ideal = self.idealised
        return internal_forces_at(ideal.frame, ideal.loads, self.solution, self.positions)

    def segments(self, tube: str) -> tuple[Segment, ...]:
        """The beams of a tube."""
        return self.idealised.segments[tube]

    def stretches(self, tube: str) -> list[tuple[float, float, Array]]:
        """From, to, m, and forces (c, k, 6) of each stretch between joints; a hook's pull parts none.

        Nor do the chords of a bend.
        """
        hooks = self.idealised.hooks.get(tube, ())
        landed = self.idealised.landings.get(tube, ())
        is_bent = self.layout.tubes[tube].path is not None
        found: list[tuple[float, float, Array]] = []
        for segment in self.segments(tube):
            start, forces = segment.start, self.along(segment)
            hooked = any(abs(segment.start - hook) < SAME_STATION for hook in hooks)
            chord = is_bent and not any(abs(segment.start - at) < SAME_STATION for at in landed)
            if found and (hooked or chord):
                start, _, before = found.pop()
                forces = np.concatenate([before, forces], axis=1)
            found.append((start, segment.end, forces))
        return found

    def along(self, segment: Segment) -> Array:
        """(c, STATIONS, 6) forces along one beam."""
        return self.forces[:, segment.member, :STATIONS]

    def at_end(self, tube: Tube, end: int) -> tuple[Array, float]:
        """Forces (c, 6) where a tube's end weld cuts it, and the station m there."""
        segment = self.segments(tube.name)[-end]
        column = STATIONS + end
        station = segment.start + self.positions[segment.member, column]
        return self.forces[:, segment.member, column], float(station)

    def at_station(self, tube: str, station: float) -> Array:
        """(c, 2 or 1, 6) forces on both sides of a station of a tube."""
        near = [s for s in self.segments(tube) if s.start - 1e-3 <= station <= s.end + 1e-3]
        found = []
        for segment in near or self.segments(tube)[:1]:
            share = (station - segment.start) / (segment.end - segment.start)
            column = round(min(max(share, 0.0), 1.0) * (STATIONS - 1))
            found.append(self.forces[:, segment.member, column])
        return np.stack(found, axis=1)

    @cached_property
    def at_rest(self) -> int | None:
        """Index of the case at rest."""
        return self.cases.index(AT_REST) if AT_REST in self.cases else None

    @cached_property
    def cycles(self) -> Array:
        """(c,) how often each case comes; a sideways case's number holds for each side."""
        told = self.job.service.cycles
        found = np.zeros(len(self.cases))
        for i, case in enumerate(self.cases):
            name = case.removesuffix(" to the left").removesuffix(" to the right")
            found[i] = told.get(case, told.get(name, 0.0))  # a case's own name may end so, too
        return found

    def fork_at(self, tube: Tube, end: int) -> ForkPart | None:
        """The fork that holds a tube's end."""
        return self.layout.fork_of(tube.name, Spot.END if end else Spot.START)

    def is_welded(self, tube: Tube, end: int) -> bool:
        """Whether an end is welded: onto a tube, or onto its bung."""
        return tube.seats[end].kind is SeatKind.WELD or self.fork_at(tube, end) is not None

    def weld(self, name: str) -> Weld:
        """How the joint of that name is welded: its own keys over the default's."""
        default = self.job.welds.get("default", Weld())
        own = self.job.welds.get(name, Weld())
        return default.model_copy(update=own.model_dump(exclude_none=True))
