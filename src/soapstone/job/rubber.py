"""Rubber mounts, and what a body's inertia and its bolted joint are."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from soapstone.job.fields import (
    Direction,
    Force,
    Mass,
    Moment,
    Number,
    Position,
    Product,
    Ratio,
    Record,
    Size,
    Sizes,
    Stiffness,
    Torque,
)
from soapstone.quantity import Kind, parse


class Rubber(Record):
    """A block of natural rubber between two bonded plates: its hardness, and its shape."""

    hardness: Number = Field(description="IRHD, which reads like Shore A: 30 to 75.")
    round: Sizes | None = Field(default=None, description="Diameter x thickness of the rubber.")
    block: Sizes | None = Field(default=None, description="Length x width x thickness of the rubber.")

    @model_validator(mode="after")
    def _one_shape(self) -> "Rubber":
        sizes, count = (self.round, 2) if self.round is not None else (self.block, 3)
        if (self.round is None) == (self.block is None):
            raise ValueError("one of round or block belongs here")
        if sizes is None or len(sizes) != count or min(sizes) <= 0.0:
            raise ValueError("round has a diameter and a thickness, block a length, a width and a thickness")
        return self

    @property
    def thickness(self) -> float:
        """m of rubber."""
        return (self.round or self.block or (0.0,))[-1]


def _across(value: Any) -> tuple[float, float]:
    texts = value if isinstance(value, list) else [value, value]
    if len(texts) != 2 or not all(isinstance(text, str) for text in texts):
        raise ValueError("one stiffness belongs here or a list of two, like [60 N/mm, 80 N/mm]")
    first, second = (parse(text, Kind.STIFFNESS) for text in texts)
    if min(first, second) <= 0.0:
        raise ValueError("a stiffness must be more than nothing")
    return first, second


Across = Annotated[
    tuple[float, float],
    BeforeValidator(_across),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]


class MountStiffness(Record):
    """The three stiffnesses of a mount under a lasting load, where they are known."""

    along: Stiffness = Field(description="Along its axis.")
    across: Across = Field(
        description="Square to it: one for both, or two: of an upright mount fore and aft, then"
        " sideways; of a leaning one level first."
    )
    source: str = Field(description="Data sheet, or how it was measured.")


class Stop(Record):
    """Where a mount's metal meets metal or a rubber pad."""

    at: Size = Field(description="Movement, from where nothing loads the mount.")
    stiffness: Stiffness = Field(description="What it adds from there on.")


class Stops(Record):
    """Bump stops of a mount; `lifted` makes it captive."""

    pressed: Stop | None = Field(default=None, description="Against its axis: down, of an upright mount.")
    lifted: Stop | None = Field(default=None, description="Along its axis: up, of an upright mount.")
    sideways: Stop | None = Field(default=None, description="Square to its axis, each way.")


class RubberMount(Record):
    """Rubber between a body and what carries it: at a hanger's boss, or straight on a support."""

    at: str | None = Field(default=None, description="The hanger between whose plate and boss it sits.")
    carries: str | None = Field(default=None, description="Without a hanger: the body's point.")
    on: str | None = Field(default=None, description="Without a hanger: the support it stands on.")
    rubber: Rubber | None = Field(default=None, description="Stiffness by hardness and shape.")
    stiffness: MountStiffness | None = Field(default=None, description="Stiffness as measured or listed.")
    along: Direction = Field(
        default=(0.0, 0.0, 1.0), description="Its axis, square to its plates; points to the body's side."
    )
    thickness: Size | None = Field(default=None, description="Of the rubber, where `rubber` does not say.")
    rated: Force | None = Field(default=None, description="What it may carry, of its data sheet.")
    stiffer_shaken: Ratio | None = Field(
        default=None, description="How many times stiffer when shaken; from the table when left out."
    )
    loss: Ratio | None = Field(default=None, description="Loss factor of the rubber; 0.1 when left out.")
    stops: Stops | None = None

    @model_validator(mode="after")
    def _whole(self) -> "RubberMount":
        if (self.at is None) == (self.carries is None) or (self.carries is None) != (self.on is None):
            raise ValueError("either at with a hanger, or carries with on")
        if (self.rubber is None) == (self.stiffness is None):
            raise ValueError("one of rubber or stiffness belongs here")
        return self


class Inertia(Record):
    """Moments of inertia about the centre of mass, in the body's own axes."""

    box: Sizes | None = Field(
        default=None, description="Like an even box, length x width x height; instead of the moments."
    )
    roll: Moment | None = Field(default=None, description="About the axis along.")
    pitch: Moment | None = Field(default=None, description="About the axis across.")
    yaw: Moment | None = Field(default=None, description="About the axis up.")
    roll_pitch: Product = Field(
        default=0.0, description="Product of inertia, mass times forward times left, summed."
    )
    pitch_yaw: Product = Field(default=0.0, description="Mass times left times up, summed.")
    roll_yaw: Product = Field(default=0.0, description="Mass times forward times up, summed.")
    source: str

    @model_validator(mode="after")
    def _one_way(self) -> "Inertia":
        moments = [m for m in (self.roll, self.pitch, self.yaw) if m is not None]
        if (self.box is None) == (not moments) or len(moments) not in (0, 3):
            raise ValueError("either box, or roll, pitch and yaw")
        if self.box is not None and (len(self.box) != 3 or min(self.box) <= 0.0):
            raise ValueError("a box has a length, a width and a height, like 600 x 400 x 350 mm")
        if moments and 2.0 * max(moments) > sum(moments):
            raise ValueError(
                "no body has such an inertia: about one axis it is more than about the two others together"
            )
        return self


class CaseJoint(Record):
    """Where motor and gearbox are bolted together, and what hangs on the motor's side of it."""

    at: str = Field(description="The body's point in the middle of the joint.")
    axis: Direction = Field(description="Of the shaft through it.")
    stands: Torque | None = Field(default=None, description="The moment that the castings stand.")
    mass: Mass = Field(description="Of the motor's side.")
    centre: Position = Field(description="Centre of mass of the motor's side, from the body's own datum.")
    mounts: tuple[str, ...] = Field(default=(), description="The mounts on the motor's side.")
