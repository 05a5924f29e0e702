"""Room that must stay free: under the vehicle, and round what hands and tools have to reach."""

from pydantic import Field, model_validator

from soapstone.job.fields import Angle, Position, Record, Size
from soapstone.job.hardware import Box, Cylinder


class Axle(Record):
    """A pair of wheels."""

    at: Position = Field(description="Middle of the axle at ride height.")
    rolling_radius: Size = Field(description="From the axle to the ground, under load.")


class Ground(Record):
    """What has to stay free under the vehicle, and the wheels that carry it."""

    plane: str | None = Field(default=None, description="The floor's name; else the one that is `of: floor`.")
    accuracy: Size | None = Field(
        default=None,
        description="Of the floor's height, one standard deviation, where it is not surveyed; else a tape's.",
    )
    at_least: Size | None = Field(default=None, description="Ground clearance that is wanted.")
    at_full_bump: Size | None = Field(
        default=None, description="The same with the wheels at their upper stops; else it must not strike."
    )
    front: Axle | None = None
    rear: Axle | None = None
    approach: Angle | None = Field(default=None, description="Wanted: ramp that the front drives onto.")
    departure: Angle | None = Field(default=None, description="Wanted: the same behind the rear wheels.")
    ramp: Angle | None = Field(
        default=None, description="Wanted: crest that goes through between the axles, both slopes together."
    )


class Cone(Record):
    """A cone, or a piece of one: what a hand or a funnel needs."""

    from_: Position
    to: Position
    diameter: Size = Field(description="At `from`.")
    widens_to: Size = Field(description="Diameter at `to`.")


class ServicePoint(Record):
    """Room for service: exactly one of box, cylinder or cone, that nothing else may stand in."""

    of: str | None = Field(
        default=None, description="The body in whose axes it is given; else the vehicle's."
    )
    box: Box | None = None
    cylinder: Cylinder | None = None
    cone: Cone | None = None
    past: tuple[str, ...] = Field(default=(), description="What may stand in it: it comes off first.")

    @model_validator(mode="after")
    def _exactly_one(self) -> "ServicePoint":
        if sum(one is not None for one in (self.box, self.cylinder, self.cone)) != 1:
            raise ValueError("one of box, cylinder or cone belongs here")
        return self
