"""How well it is known where a group is, along one way."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.groups import Group, Role
from soapstone.job.bolting import BoltUp
from soapstone.job.schema import Job
from soapstone.parts.assembly import Assembly
from soapstone.place.placed import Placed
from soapstone.survey.records import Survey
from soapstone.tables.gaps import tape_accuracy
from soapstone.tables.tolerances import welded_tolerance

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Unsure:
    """One standard deviation of where a group is.

    Attributes
    ----------
    sigma : m
    settle : the reading that would make it smaller
    assumed : what nobody stated, with its origin
    """

    sigma: float
    settle: str
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Known:
    """What the answers are taken from."""

    job: Job
    survey: Survey
    placed: Mapping[str, Placed]
    assembly: Assembly

    @cached_property
    def spreads(self) -> Mapping[str, Array]:
        """(3, 3) m^2 of every surveyed point."""
        every = np.arange(len(self.survey.names))
        return dict(zip(self.survey.names, self.survey.spread.blocks(every, every), strict=True))

    def unsure(self, group: Group, at: Array, way: Array) -> Unsure:
        """Of a group, at a place (3,) m, along a unit vector (3,)."""
        match group.role:
            case Role.BODY:
                return self._body(group, at, way)
            case Role.FRAME | Role.BRACKETS:
                return self._made(group, way)
        return self._given(group, way)

    def _points(self, names: tuple[str, ...], way: Array) -> tuple[float, str]:
        """The largest standard deviation of some points along a way, and which."""
        spread = {name: float(way @ self.spreads[name] @ way) for name in names if name in self.survey.index}
        worst = max(spread, key=lambda name: spread[name], default="")
        return max(spread.get(worst, 0.0), 0.0) ** 0.5, worst

    def _made(self, group: Group, way: Array) -> Unsure:
        """Points that it is made to, and how true it is made."""
        measured, point = self._points(group.points, way)
        low, high = group.box
        size = float(np.linalg.norm(high - low))
        said = self.job.bolt_up or BoltUp()
        made = said.made
        assumed: tuple[str, ...] = ()
        if made is None:
            made = welded_tolerance(said.made_to, size) / 2.0
            words = f"{group.name} is made to class {said.made_to} of ISO 13920, two standard deviations"
            assumed = (words,)
        settle = f"take a further reading to {point}" if measured > made else f"measure {group.name} as made"
        return Unsure(float(np.hypot(measured, made)), settle, assumed)

    def _body(self, group: Group, at: Array, way: Array) -> Unsure:
        body = self.placed[group.name]
        own = self.job.bodies[group.name].point_accuracy
        scans = self._step(group)
        if body.fit is None:
            sigma, point = self._points(group.points, way)
            settle = f"take a further reading to {point or group.name}"
            return Unsure(float(np.sqrt(sigma**2 + own**2 + scans**2)), settle)
        names = [self.job.place[group.name].match[one] for one in body.fit.names]
        middle = np.mean([body.points[one] for one in body.fit.names], axis=0)
        arm = at - middle
        row = np.concatenate([way, np.cross(arm, way)])
        variance = float(row @ body.fit.covariance @ row)
        _, point = self._points(tuple(names), way)
        return Unsure(
            float(np.sqrt(max(variance, 0.0) + scans**2)), f"take a further reading to {point or names[0]}"
        )

    def _step(self, group: Group) -> float:
        """The steps of its scans' numbers: a spread evenly over one step has a deviation of step/sqrt(12)."""
        return max(
            (scan.step for owner, scan in self.assembly.scans if owner == group.name), default=0.0
        ) / float(np.sqrt(12.0))

    def _given(self, group: Group, way: Array) -> Unsure:
        """An obstacle, or the far end of a shaft: as the job says, else as a tape gives it in a bay."""
        obstacle = self.job.obstacles.get(group.name)
        settle = f"measure where {group.name} is, and give its accuracy"
        if obstacle is not None and obstacle.accuracy is not None:
            return Unsure(float(np.hypot(obstacle.accuracy, self._step(group))), settle)
        tape = tape_accuracy()
        words = f"{group.name} is known to {1e3 * tape.size:.1f} mm, one standard deviation: {tape.source}"
        return Unsure(float(np.hypot(tape.size, self._step(group))), settle, (words,))
