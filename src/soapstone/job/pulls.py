"""What else pulls on a unit or its mount: brakes, belts, a propeller, a hook, a hoist, a shaking engine."""

from typing import Literal

from pydantic import Field, model_validator

from soapstone.job.fields import Direction, Force, Gap, Mass, Ratio, Record, Size, Spot, Torque, Turning

Act = Literal["belts", "brakes", "thrust ahead", "thrust astern", "lift", "tow"]
"""What a case can name under `with`."""


class Brakes(Record):
    """Brakes on the unit's own housing, one for each half-shaft."""

    torque: Torque = Field(description="Of each.")


class Belt(Record):
    """A belt from a pulley of the unit to one that is not on the unit."""

    pulley: str = Field(description="The body's point in the middle of the unit's pulley.")
    radius: Size
    other: Spot = Field(description="Middle of the other pulley: a point's name or a position.")
    other_radius: Size
    tight: Force = Field(description="In the strand that pulls.")
    slack: Force = Field(description="In the other.")
    turns: Direction = Field(
        description="Axis of the unit's pulley, right-handed about its turn when it drives the belt."
    )

    @model_validator(mode="after")
    def _tighter(self) -> "Belt":
        if self.slack > self.tight:
            raise ValueError("the slack strand pulls harder than the tight one")
        return self


class Propeller(Record):
    """A propeller whose thrust comes in at the unit."""

    body: str = Field(description="The body that takes thrust and torque.")
    aft: Spot = Field(description="A place on the shaft's line: a point's name or a position.")
    ahead: Spot = Field(description="Another, ahead of it, where the thrust comes into the unit.")
    thrust: Force = Field(description="The most it pushes ahead: bollard pull.")
    torque: Torque = Field(description="Of the propeller shaft at that thrust.")
    turns: Literal["clockwise", "counter-clockwise"] = Field(
        description="Going ahead, seen from behind; clockwise is a right-handed propeller."
    )
    astern: Ratio = Field(description="Share of thrust and torque that comes going astern.")


class Lift(Record):
    """The vehicle lifted by the mount: a force up at a place of it."""

    at: str = Field(description="A place on a member: `cross_1 middle`, `cross_1 at 200 mm`.")
    mass: Mass = Field(description="Of the vehicle, as far as this place lifts it.")
    times: Ratio = Field(description="For the way it is taken up: 1 for a jack raised slowly.")


class Tow(Record):
    """The vehicle pulled backwards by the mount with its wheels against a kerb."""

    at: str = Field(description="A place on a member: `cross_2 middle`, `cross_2 at 200 mm`.")
    mass: Mass = Field(description="On the wheels that climb the kerb.")
    wheel_radius: Size
    kerb: Gap = Field(description="Its height.")
    times: Ratio = Field(description="For the jerk: 1 for a winch.")

    @model_validator(mode="after")
    def _climbs(self) -> "Tow":
        if self.kerb >= self.wheel_radius:
            raise ValueError("no pull takes a wheel over a kerb as high as its axle")
        return self


class Shake(Record):
    """Something that shakes the unit at running speed: one of torque or force."""

    body: str
    speed: Turning
    cylinders: Ratio | None = Field(
        default=None, description="Of an engine: it shakes once a firing; without, once a turn."
    )
    strokes: Literal["2", "4"] = "4"
    torque: Torque | None = Field(default=None, description="Amplitude.")
    force: Force | None = Field(default=None, description="Amplitude, at the centre of mass.")
    about: Direction = Field(description="Axis of the torque, or the way of the force.")
    passed_on: Ratio | None = Field(
        default=None, description="Share that may reach the frame; 1, no worse than bolted down, if left out."
    )

    @model_validator(mode="after")
    def _one_shake(self) -> "Shake":
        if not (self.torque or self.force) or (self.torque and self.force):
            raise ValueError("one of torque or force belongs here, and more than nothing")
        return self
