"""How each body is brought into the vehicle, stage after stage."""

from typing import Literal

from pydantic import Field

from soapstone.job.fields import Angle, Gap, Record, Size

From = Literal["below", "above", "front", "behind", "left", "right"]


class WayIn(Record):
    """One stage: what is moved, from where, and what the jack or hoist can do."""

    move: str = Field(
        description="`frame` (the largest welded group), another group by its first member, or a unit; "
        "`frame with drive_unit` moves both as one."
    )
    from_: From = Field(description="The side it comes from.")
    gap: Gap = Field(description="To be kept on the way from everything that stands.")
    travel: Size | None = Field(
        default=None,
        description="How far the jack or hoist goes; without it, as far as it takes to be past everything.",
    )
    shift: Size = Field(default=0.3, description="How far it can be moved to either side on the way.")
    tilt: Angle = Field(default=0.0, description="How far it may be turned or leant on the way.")
    steps: int = Field(
        default=600, gt=0, description="How long a way is searched for where none is straight."
    )
