"""How parts are made to meet: how true they are, and where each hole's error is taken up."""

from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from soapstone.job.faults import stands
from soapstone.job.fields import Gap, Ratio, Record, Size

Way = Literal[
    "made in place",
    "drilled after",
    "slot and weld washer",
    "slot",
    "shim",
    "adjustable end",
    "compliant mount",
]
_ALONE = ("made in place", "drilled after", "slot and weld washer", "shim", "adjustable end")


class TakeUp(Record):
    """Where the error of one hole goes."""

    ways: tuple[Way, ...] = Field(min_length=1)
    along: Literal["along", "across", "up"] | None = Field(default=None, description="The way a slot runs.")
    by: Size | None = Field(
        default=None,
        description="How much longer a slot is than wide, or what a compliant mount gives each way.",
    )

    @model_validator(mode="after")
    def _complete(self) -> "TakeUp":
        if ("slot" in self.ways) != (self.along is not None):
            raise ValueError("along belongs to a slot, and a slot needs it: along, across or up")
        if bool({"slot", "compliant mount"} & {*self.ways}) != (self.by is not None):
            raise ValueError("by belongs to a slot or a compliant mount, and both need it")
        return self


def _spelt_out(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    ways = [way.strip() for way in value.split(",")]
    if all(way in _ALONE for way in ways):
        return {"ways": ways}
    raise ValueError(
        f"one or more of {', '.join(_ALONE)} belong here, or {{ways: [slot], along: up, by: 6 mm}}; "
        + stands(value)
    )


TakeUpText = Annotated[
    TakeUp,
    BeforeValidator(_spelt_out),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": ["made in place, shim"]},
                {
                    "type": "object",
                    "properties": {
                        "ways": {"type": "array", "items": {"enum": list(get_args(Way))}, "minItems": 1},
                        "along": {"enum": ["along", "across", "up"]},
                        "by": {"type": "string", "examples": ["6 mm"]},
                        "note": {"type": "string"},
                    },
                    "required": ["ways"],
                    "additionalProperties": False,
                },
            ]
        }
    ),
]


class BoltUp(Record):
    """How true the parts are made, and how each hole's error is taken up."""

    chance: Ratio = Field(default=0.95, description="Wanted: that every bolt of a pattern goes in.")
    made_to: Literal["A", "B", "C", "D"] = Field(
        default="A",
        description="Class of welded tolerances; the tolerance counts as two standard deviations.",
    )
    made: Gap | None = Field(
        default=None, description="Instead of the class: one standard deviation of where a hole comes to be."
    )
    after_welding: Gap = Field(
        default=0.0005,
        description="How far finish welding moves a hole made in place: one standard deviation.",
    )
    take_up: dict[str, TakeUpText] = Field(default_factory=dict, description="By fork or hanger.")

    @model_validator(mode="after")
    def _possible(self) -> "BoltUp":
        if self.chance >= 1.0:
            raise ValueError("chance: no chance is ever whole; write 0.95 or the like")
        return self
