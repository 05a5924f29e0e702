"""What was measured in the vehicle: datum, instruments, points and readings."""

import re
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, WithJsonSchema, model_validator

from soapstone.job.faults import quote
from soapstone.job.fields import Accuracy, Amount, Direction, Move, Position, Record, Size, Step
from soapstone.job.posing import Settling

KINDS = {  # points of each
    **{"tape": 2, "plan": 2, "height": 1, "offset": 1, "level": 2, "coordinates": 1},
    **{"straight": 3, "flush": 4},
}


class Datum(Record):
    """Where the coordinates start, and the state the vehicle was in when it was measured."""

    origin: str = Field(description="The place that all coordinates start from, in words.")
    state: str = Field(description="What the vehicle stood on and what was aboard.")
    measured_on: Literal["wheels", "stands", "water"] | None = Field(
        default=None, description="What carried the vehicle while it was measured."
    )
    aboard: str | None = Field(default=None, description="What load was aboard: driver, full tank, nothing.")
    settling: Settling | None = Field(
        default=None, description="Measured on stands: how it comes down to ride height."
    )

    @model_validator(mode="after")
    def _settles(self) -> "Datum":
        if self.settling is not None and self.measured_on != "stands":
            raise ValueError("settling belongs to measured on: stands")
        return self


class Instrument(Record):
    """How well an instrument reads; `accuracy` is one standard deviation."""

    accuracy: Accuracy = Field(description="A fixed part and, with a plus, a part per length.")
    reads_to: Step = Field(default=Amount(), description="The smallest step it is read to.")
    scale: Literal["true", "solved"] = Field(
        default="true",
        description="Solved: its coordinates may be some percent too large or small throughout.",
    )


class NamedPlane(Record):
    """A plane that heights or offsets are taken from: through three points, or where it is and faces."""

    through: tuple[str, ...] = ()
    at: Position | None = None
    faces: Direction | None = None
    of: Literal["vehicle", "floor"] | None = Field(
        default=None, description="Floor: it stays behind when a vehicle comes down from stands."
    )

    @model_validator(mode="after")
    def _one_way(self) -> "NamedPlane":
        through, placed = len(self.through) == 3, self.at is not None and self.faces is not None
        if through == placed or (self.through and not through):
            raise ValueError("either through with three points, or at with faces")
        return self


class Point(Record):
    """A point: given (`at`), laid out from another (`from` and `move`), or found by the readings."""

    what: str | None = Field(default=None, description="What it is, so that it is found again.")
    at: Position | None = None
    from_: str | None = Field(default=None, description="The place it is laid out from.")
    move: Move | None = None
    hole: Size | None = Field(default=None, description="Diameter, where the point is a hole.")

    @model_validator(mode="after")
    def _one_way(self) -> "Point":
        if self.at is not None and (self.from_ is not None or self.move is not None):
            raise ValueError("either at, or from with move, not both")
        if (self.from_ is None) != (self.move is None):
            raise ValueError("from and move belong together")
        return self


class Reading(Record):
    """One reading, written `tape A C: 41-7/8 in`; or with more to say:
    `tape A C: {read: 41-7/8 in, accuracy: 2 mm, with: long_tape}`.

    The loader splits the key (`tape A C`) into `kind` and `points`.
    """

    kind: str
    points: tuple[str, ...]
    read: str | tuple[str, ...] = Field(description="The value as read; coordinates are a list of three.")
    accuracy: Accuracy | None = Field(default=None, description="Overrides the instrument's.")
    with_: str | None = Field(default=None, description="The instrument, when not the one of this kind.")
    in_: str | None = Field(
        default=None, description="Of coordinates: the stand of the arm or scan, any name."
    )
    plane: str | None = Field(default=None, description="Of a height or offset: the plane it is taken from.")
    place: str = Field(default="", description="Where it stands: `job.yaml:31`.")
    to_centres: float = Field(default=0.0, description="m, added to a length read between edges of holes.")

    @property
    def label(self) -> str:
        """As it stands in the file: `tape A C`."""
        return " ".join((self.kind, *self.points))


RELATIONS = ("above", "below", "left of", "right of", "forward of", "ahead of", "aft of", "behind")
_SIDE = re.compile(rf"(\S+) is ({'|'.join(RELATIONS)}) (\S+)")


def _side(value: Any) -> tuple[str, str, str]:
    found = _SIDE.fullmatch(" ".join(value.split())) if isinstance(value, str) else None
    if found is None:
        raise ValueError(
            f"{quote(value)} tells no side; write it like P is left of Q, with {', '.join(RELATIONS)}"
        )
    return found[1], found[2], found[3]


Side = Annotated[
    tuple[str, str, str],
    PlainValidator(_side),
    WithJsonSchema({"type": "string", "examples": ["P is left of Q"]}),
]
