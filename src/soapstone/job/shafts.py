"""Shafts between what is hung and what it drives: half-shafts, and propeller shafts of car and boat."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from soapstone.errors import QuantityError
from soapstone.job.fields import Angle, Direction, Gap, Position, Ratio, Record, Size, Sizes, Spot, quantity
from soapstone.quantity import Kind, parse, parse_directed


def travel_of(value: Any) -> float:
    """`60 mm up` or `-60 mm`; m, up positive."""
    if not isinstance(value, str):
        raise ValueError("a length belongs here, like 60 mm up")
    try:
        axis, way = parse_directed(value)
    except QuantityError:
        return parse(value, Kind.LENGTH)
    if axis != 2:
        raise ValueError(f"{value!r}: a wheel travels up or down")
    return way


Travel = Annotated[
    float, BeforeValidator(travel_of), WithJsonSchema({"type": "string", "examples": ["60 mm up"]})
]
Rotation = Annotated[
    float,
    quantity(Kind.ROTATION, lambda value: value > 0.0, "must be more than nothing"),
    WithJsonSchema({"type": "string", "examples": ["4200 rpm"]}),
]


class Joint(Record):
    """What a half-shaft's joint stands, from its own data sheet."""

    angle: Angle | None = Field(default=None, description="The greatest that it may run at.")
    closes: Gap | None = Field(default=None, description="How far it can slide together from its middle.")
    opens: Gap | None = Field(default=None, description="How far it can draw apart from its middle.")


class Standing(Record):
    """Where the joint at the far end stands in one position of the wheel or axle."""

    name: str | None = Field(default=None, description="What position it is: droop, bump, full lock.")
    travel: Travel = Field(description="Of the wheel, up or down from ride height.")
    at: Position = Field(description="Centre of the joint.")
    axis: Direction | None = Field(default=None, description="Of the hub or pinion there.")


class Wishbones(Record):
    """The points of a double wishbone at ride height, each a point's name or a position."""

    lower_front: Spot
    lower_rear: Spot
    lower_ball: Spot
    upper_front: Spot
    upper_rear: Spot
    upper_ball: Spot
    track_inner: Spot
    track_outer: Spot
    wheel_centre: Spot


class Hub(Record):
    """Where the outer joint goes while the wheel travels: from a table, or from the wishbones."""

    file: str | None = Field(
        default=None, description="A spreadsheet beside the job: travel, x, y, z, unit and the axis."
    )
    positions: tuple[Standing, ...] = Field(default=(), description="The same, written here.")
    wishbones: Wishbones | None = None
    joint: Spot | None = Field(default=None, description="Of wishbones: centre of the joint at ride height.")
    axis: Direction | None = Field(default=None, description="Of wishbones: the hub's axis at ride height.")
    travel: tuple[Travel, Travel] | None = Field(
        default=None, description="Of wishbones: lowest and highest, like [70 mm down, 60 mm up]."
    )

    @model_validator(mode="after")
    def _one_way(self) -> "Hub":
        if sum((self.file is not None, bool(self.positions), self.wishbones is not None)) != 1:
            raise ValueError("one of file, positions or wishbones belongs here")
        beside = [self.joint is not None, self.travel is not None]
        if self.wishbones is not None and not all(beside):
            raise ValueError("wishbones want the joint and the travel beside them")
        if self.wishbones is None and (any(beside) or self.axis is not None):
            raise ValueError("joint, axis and travel go with wishbones; a table has its own")
        if self.travel is not None and not self.travel[0] <= 0.0 <= self.travel[1]:
            raise ValueError("travel goes from the lowest to the highest, ride height between them")
        return self


class HalfShaft(Record):
    """A shaft with a joint at each end, between a flange of a body and a wheel hub."""

    from_: str = Field(description="Centre of the inner joint: `drive_unit.joint_left`.")
    axis: str = Field(description="The body's axis that the inner joint turns about.")
    inner: Joint = Joint()
    outer: Joint = Joint()
    hub: Hub
    length: Size | None = Field(
        default=None,
        description="Between the joints' centres, both in their middle; as at ride height if not given.",
    )
    diameter: Size | None = Field(
        default=None, description="Outside, for its gap to what stands round it; boots are shapes of a body."
    )


class CouplingRead(Record):
    """What feeler and dial gauge say at a rigid coupling."""

    offset: Gap = Field(description="Between the two centres.")
    rim_gap: Gap = Field(description="Widest less narrowest gap between the faces.")


class PropellerShaft(Record):
    """A shaft that carries the drive on: with universal joints, or rigidly coupled as in a boat."""

    from_: str = Field(description="Centre of the first joint, or of the flange: `engine.output`.")
    axis: str = Field(description="The body's axis that the output turns about, running towards the shaft.")
    coupling: Literal["joint", "rigid"] = "joint"
    along: tuple[Spot, ...] = Field(
        min_length=1,
        description="Centres of the joints that follow; of a rigid shaft two places on it, nearer first.",
    )
    pinion: tuple[Spot, Spot] | None = Field(
        default=None,
        description="Two points on the axis that the last joint drives, along the flow of power.",
    )
    positions: tuple[Standing, ...] = Field(
        default=(), description="Where the last joint and the pinion go, when the axle travels."
    )
    phases: tuple[Angle, ...] = Field(
        default=(), description="Of each piece: its far yoke turned against its near one; 0 deg is in phase."
    )
    joint_angle: Angle | None = Field(
        default=None, description="What the joints stand, from their data sheet."
    )
    speed: Rotation | None = Field(default=None, description="The fastest that the shaft turns.")
    tube: Sizes | None = Field(default=None, description="Outside and wall.")
    bar: Size | None = Field(default=None, description="Diameter of a solid shaft.")
    of: str | None = Field(default=None, description="The material of tube or bar.")
    free: Size | None = Field(
        default=None,
        description="Longest length between bearings or joints, where it is not the piece's own.",
    )
    share_of_critical_speed: Ratio | None = Field(
        default=None, description="Part of the critical speed that may be used; 0.75 is taken when not given."
    )
    flange: Size | None = Field(default=None, description="Diameter of a rigid coupling's flange.")
    offset: Gap | None = Field(default=None, description="Of a rigid coupling: that its maker allows.")
    rim_gap: Gap | None = Field(default=None, description="Of a rigid coupling: that its maker allows.")
    read: CouplingRead | None = Field(default=None, description="Of a rigid coupling: what the gauges say.")

    @model_validator(mode="after")
    def _whole(self) -> "PropellerShaft":
        if self.coupling == "rigid":
            _rigid(self)
        else:
            _jointed(self)
        if self.tube is not None and self.bar is not None:
            raise ValueError("tube or bar, not both")
        if self.tube is not None and (len(self.tube) != 2 or 2.0 * self.tube[1] >= self.tube[0]):
            raise ValueError("the tube has an outside and a wall, like 3 in x 0.083 in")
        if (self.tube or self.bar) and self.of is None:
            raise ValueError("of is missing: the material of the shaft")
        return self


def _rigid(shaft: PropellerShaft) -> None:
    if len(shaft.along) != 2:
        raise ValueError("along wants two places on a rigid shaft's line, the nearer first")
    if shaft.pinion or shaft.positions or shaft.phases or shaft.joint_angle is not None:
        raise ValueError("pinion, positions, phases and joint angle belong to a shaft with joints")


def _jointed(shaft: PropellerShaft) -> None:
    given = (shaft.flange, shaft.offset, shaft.rim_gap, shaft.read)
    if any(one is not None for one in given):
        raise ValueError("flange, offset, rim gap and read belong to coupling: rigid")
    if shaft.pinion is not None and shaft.positions:
        raise ValueError("either pinion, or positions with an axis each")
    if shaft.phases and len(shaft.phases) != len(shaft.along):
        raise ValueError(f"phases: one for each of the {len(shaft.along)} pieces between joints")
