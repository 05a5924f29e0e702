"""Numbers as the sheets write them: in the job's units, and in millimetres beside inches."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.job.service import Show as Units
from soapstone.parts.bars import Bar
from soapstone.parts.sections import FlatBar, RectangularTube, RoundBar, RoundTube, Shape
from soapstone.quantity import Kind, Show

WAYS = (("forward", "aft"), ("left", "right"), ("up", "down"))
"""The positive and the negative way along x, y and z."""
_SIXTEENTH = 0.0254 / 16.0
_SIXTEENTHS = Show.of({"length": "in 1/16"})
_SIDEWAYS = math.sin(math.radians(22.5))
"""Below it a direction leans too little that way to be called after it."""


@dataclass(frozen=True)
class Words:
    """Writes SI numbers for one job.

    Attributes
    ----------
    show : Show
        In the job's units.
    inches : bool
        Whether lengths are in inches or feet, so that millimetres are worth having beside them.
    """

    show: Show
    inches: bool

    @classmethod
    def of(cls, units: Units) -> "Words":
        """The words of a job."""
        kinds = {
            name: getattr(units, name) for name in ("length", "force", "torque", "mass", "stress", "angle")
        }
        return cls(Show.of(kinds), units.length.split()[0] in ("in", "ft"))

    @property
    def names(self) -> str:
        """The units for the title block: `in, lbf, lb` with millimetres named where both stand."""
        kinds = (Kind.LENGTH, Kind.FORCE, Kind.MASS)
        own = ", ".join(self.show.unit(kind) for kind in kinds)
        return f"{own}; mm beside" if self.inches else own

    def length(self, metres: float) -> str:
        """A length with its unit."""
        return self.show.text(metres, Kind.LENGTH)

    def both(self, metres: float) -> str:
        """A length with its unit, and in millimetres where the job works in inches."""
        return f"{self.length(metres)} ({millimetres(metres)} mm)" if self.inches else self.length(metres)

    def side(self, metres: float, axis: int) -> str:
        """A coordinate in words: `14-1/8 in up`."""
        positive, negative = WAYS[axis]
        shown = self.length(abs(metres))
        return f"{shown} {positive if metres >= 0.0 else negative}"

    def mass(self, kilograms: float) -> str:
        """A mass with its unit."""
        return self.show.text(kilograms, Kind.MASS)

    def force(self, newtons: float) -> str:
        """A force with its unit."""
        return self.show.text(newtons, Kind.FORCE)

    def angle(self, radians: float) -> str:
        """An angle with its unit."""
        return self.show.text(radians, Kind.ANGLE)

    def degrees(self, radians: float) -> str:
        """An angle in degrees whatever the job shows: the scale on a saw."""
        text = f"{math.degrees(radians):.1f}"
        return (text.replace("-", "−") if float(text) else text.lstrip("-")) + "°"

    def section(self, shape: Shape) -> str:
        """`round 1-1/4 in, wall 0.120 in`: what to look for on the rack."""
        match shape:
            case RoundTube(outside_diameter=outside, wall=wall):
                return f"round {self.size(outside)} × {self.size(wall)}"
            case RectangularTube(width=width, height=height, wall=wall):
                return f"rectangular {self.size(width)} × {self.size(height)} × {self.size(wall)}"
            case RoundBar(diameter=diameter):
                return f"round bar {self.size(diameter)}"
            case FlatBar(width=width, thickness=thickness):
                return f"flat {self.size(width)} × {self.size(thickness)}"
        return "own section"

    def bar(self, bar: Bar) -> str:
        """`angle 40 mm × 40 mm × 4 mm`: the same of a bar."""
        return f"{bar.words} {' × '.join(self.size(size) for size in bar.sizes)}".strip()

    def size(self, metres: float) -> str:
        """A size of stock or hole as it is sold: even sixteenths, else even millimetres, else thousandths."""
        sixteenths = metres / _SIXTEENTH
        if self.inches and sixteenths >= 4.0 and abs(sixteenths - round(sixteenths)) < 1e-6:
            return _SIXTEENTHS.text(metres, Kind.LENGTH)
        mm = 1000.0 * metres
        if not self.inches or abs(mm - round(mm, 1)) < 1e-6:
            return f"{mm:.2f}".rstrip("0").rstrip(".") + " mm"
        return f"{mm / 25.4:.3f} in"


def millimetres(metres: float, places: int = 1) -> str:
    """Millimetres without the unit."""
    text = f"{1000.0 * metres:.{places}f}"
    return text.replace("-", "−") if float(text) else text.lstrip("-")


def direction(vector: NDArray[np.float64]) -> str:
    """A direction in the vehicle in words: `up`, `aft and down`; the strongest part first."""
    unit = vector / np.linalg.norm(vector)
    parts = [axis for axis in np.argsort(-np.abs(unit), kind="stable") if abs(unit[axis]) > _SIDEWAYS]
    return " and ".join(WAYS[axis][0 if unit[axis] > 0.0 else 1] for axis in parts)
