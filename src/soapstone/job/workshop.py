"""The workshop: what cuts the tube ends, and how much is left for fitting and welding."""

from typing import Literal

from pydantic import Field

from soapstone.job.fields import Gap, Record, Size

Cutter = Literal["grinder", "hole saw", "mill", "belt", "tube laser"]


class Shop(Record):
    """How this shop cuts its tube ends."""

    cutter: Cutter = Field(description="What cuts the tube ends.")
    gap: Gap = Field(default=0.0, description="Left all round between an end and what it sits on.")
    trim: Gap = Field(default=0.0, description="Left on the end that is fitted last, to creep up on.")
    paper: Gap | None = Field(
        default=None, description="Thickness of the templates' paper; 0.1 mm where it is not said."
    )
    cutters: tuple[Size, ...] = Field(
        default=(), description="Diameters at hand: of hole saws, milling cutters or a belt's rollers."
    )
    cutter_depth: Size | None = Field(
        default=None, description="How deep a hole saw or milling cutter goes in before its back touches."
    )
    vent: Size | None = Field(default=None, description="Diameter of the vent hole of a closed tube.")
