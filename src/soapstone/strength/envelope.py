"""The frame with its tabs stiff and with its tabs giving: of every question the worse answer."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import pi

import numpy as np

from soapstone.finding import Finding
from soapstone.frame.findings_whole import whole_findings
from soapstone.frame.idealise import Idealised
from soapstone.frame.movements import movements
from soapstone.frame.solve import Solution
from soapstone.frame.tabs import Bound, giving
from soapstone.frame.whole import Whole, bent_again, look
from soapstone.job.schema import Job
from soapstone.job.service import Running, Service
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout, material_of
from soapstone.place.placed import Placed
from soapstone.strength.answers import unanswered
from soapstone.strength.bounds import worse
from soapstone.strength.checks import strength_findings
from soapstone.strength.shapes import Array
from soapstone.strength.work import Work

STIFF = "tabs stiff"


@dataclass(frozen=True)
class Bounds:
    """Both bounds.

    Attributes
    ----------
    stiff, soft : (Idealised, Whole)
        The second is None where the frame has no forks.
    words : what the soft one assumes
    loose : what moves freely unless forks hold a turn
    """

    stiff: tuple[Idealised, Whole]
    soft: tuple[Idealised, Whole] | None
    words: str
    loose: str

    def findings(self, job: Job) -> Iterator[Finding]:
        """Of the frame as a whole, the worse of both bounds."""
        yield from self._worse([list(_whole(job, *bound)) for bound in self._each()])
        if self.loose:
            yield self._standing()

    def _standing(self) -> Finding:
        return unanswered(
            "tab-stiffness:frame",
            "the frame stands though a bolt in its hole holds no turn",
            f"it stands only because forks hold a turn, which a bolt's play gives away: {self.loose}",
            source="statics of the frame, tabs as bending bars",
        )

    def strength(self, job: Job, layout: Layout, parts: CutParts) -> Iterator[Finding]:
        """Of every part, the worse of both bounds."""
        yield from self._worse([list(strength_findings(job, layout, parts, *one)) for one in self.solved])

    @property
    def solved(self) -> list[tuple[Idealised, Solution]]:
        """One or both bounds with the solution that the checks use."""
        return [(ideal, whole.solution) for ideal, whole in self._each()]

    def works(self, job: Job, layout: Layout, parts: CutParts) -> tuple[Work, ...]:
        """What the checks of every part read, once for each bound."""
        return tuple(Work(job, layout, parts, ideal, whole.solution) for ideal, whole in self._each())

    def works_after(
        self, job: Job, layout: Layout, parts: CutParts, ideal: Idealised, solution: Solution
    ) -> tuple[Work, ...]:
        """The same of a job changed a little; bending is fed back in the cases where it is here.

        Parameters
        ----------
        ideal, solution : of the changed job with its tabs stiff, of first order
        """
        found, other = [(ideal, solution)], _giving(job, layout, ideal)
        if other is not None:
            found.append((other.idealised, other.solution))
        again = [
            (one, bent_again(one, plain, job.service.code, whole.second))
            for (one, plain), (_, whole) in zip(found, self._each(), strict=True)
        ]
        return tuple(Work(job, layout, parts, *one) for one in again)

    def _each(self) -> list[tuple[Idealised, Whole]]:
        return [self.stiff] if self.soft is None else [self.stiff, self.soft]

    def _worse(self, both: list[list[Finding]]) -> Iterator[Finding]:
        yield from both[0] if len(both) == 1 else worse(both[0], both[1], self.words)

    def movements(self, layout: Layout, placed: Mapping[str, Placed]) -> dict[str, Array]:
        """Movement (c, 3) m of every named place: each case by the bound that moves farthest."""
        found = [movements(layout, placed, *one) for one in self.solved]
        if len(found) == 1:
            return found[0]
        farther = np.greater(*(_farthest(moves) for moves in reversed(found)))[:, None]
        return {name: np.where(farther, found[1].get(name, one), one) for name, one in found[0].items()}

    @property
    def governing(self) -> tuple[Idealised, Whole, str]:
        """The bound that swings slower, with its words."""
        if self.soft is None or self.stiff[1].swing.frequencies[0] <= self.soft[1].swing.frequencies[0]:
            return (*self.stiff, STIFF)
        return (*self.soft, self.words)


def _farthest(moves: Mapping[str, Array]) -> Array:
    """(c,) m, of whatever moves farthest in each case."""
    sizes: Array = np.linalg.norm(np.array(list(moves.values())), axis=2).max(axis=0)
    return sizes


def _whole(job: Job, ideal: Idealised, whole: Whole) -> Iterator[Finding]:
    return whole_findings(whole, job.service.code, shaking_speeds(job.service), ideal.assumed)


def shaking_speeds(service: Service) -> dict[str, Running]:
    """Speeds that are kept up, and those at which a unit shakes."""
    running = dict(service.running)
    for name, shake in service.shaking.items():
        own = f"{name} shaking" if name in running else name
        running[own] = Running.model_construct(speed=shake.speed, shakes=shake.shakes)
    return running


def both_bounds(job: Job, layout: Layout, ideal: Idealised, solution: Solution) -> Bounds:
    """Look at the frame with its tabs stiff, as given, and giving."""
    code = job.service.code
    fastest = max(
        (r.speed * r.shakes / (2.0 * pi) for r in shaking_speeds(job.service).values()), default=0.0
    )
    stiff = ideal, look(ideal, solution, code, fastest)
    other = _giving(job, layout, ideal)
    if other is None:
        return Bounds(stiff, None, "", "")
    soft = other.idealised, look(other.idealised, other.solution, code, fastest)
    return Bounds(stiff, soft, other.words, other.loose)


def _giving(job: Job, layout: Layout, ideal: Idealised) -> Bound | None:
    metals = {name: material_of(job, fork.spec.plate.of) for name, fork in layout.forks.items()}
    return giving(layout, metals, ideal)
