"""How a body is to sit: faces a level goes on, what is wanted of its pose, the screws it is set with."""

import re
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema, model_validator

from soapstone.errors import QuantityError
from soapstone.job.faults import quote, stands
from soapstone.job.fields import Angle, Direction, Gap, Record, Size
from soapstone.quantity import Kind, parse, parse_directed


class Lean(NamedTuple):
    """A slope in words: about which axis, and rad; nose down and left side up are positive."""

    about: Literal["across", "along"]
    angle: float


_LEANS: dict[str, tuple[Literal["across", "along"], float]] = {
    **{"nose down": ("across", 1.0), "nose up": ("across", -1.0)},
    **{"tail up": ("across", 1.0), "tail down": ("across", -1.0)},
    **{"left up": ("along", 1.0), "left down": ("along", -1.0)},
    **{"right down": ("along", 1.0), "right up": ("along", -1.0)},
}


def _lean(value: Any) -> Lean:
    text = " ".join(value.split()) if isinstance(value, str) else ""
    for words, (about, sign) in _LEANS.items():
        if text.endswith(f" {words}"):
            angle = parse(text.removesuffix(words), Kind.ANGLE)
            if angle < 0.0:
                raise ValueError(f"{text!r}: the words carry the sign; write it without a minus")
            return Lean(about, sign * angle)
    said = "say which way: nose down, nose up, left up or left down, like 1.5 deg nose down"
    raise ValueError(f"{said}; {stands(value)}")


LeanText = Annotated[
    Lean,
    PlainValidator(_lean),
    WithJsonSchema({"type": "string", "examples": ["1.5 deg nose down"]}),
]


class Bounded(NamedTuple):
    """A length that is wanted, or that must not be less or more."""

    sort: Literal["", "at least", "at most"]
    value: float


def _bounded(value: Any) -> Bounded:
    text = " ".join(value.split()) if isinstance(value, str) else ""
    found = re.fullmatch(r"(at least |at most )?(.*)", text)
    if not text or found is None:
        raise ValueError(f"a length belongs here, like 286 mm or at least 150 mm; {stands(value)}")
    sort: Any = (found[1] or "").strip()
    return Bounded(sort, parse(found[2], Kind.LENGTH))


Height = Annotated[
    Bounded,
    PlainValidator(_bounded),
    WithJsonSchema({"type": "string", "examples": ["at least 150 mm"]}),
]


class Tolerance(NamedTuple):
    """How much a wanted value may be missed by; `unit` is m or rad."""

    unit: Literal["m", "rad"]
    value: float


def _tolerance(value: Any) -> Tolerance:
    if not isinstance(value, str):
        raise ValueError(f"a length or an angle belongs here, like 3 mm or 0.1 deg; {stands(value)}")
    try:
        found = Tolerance("rad", parse(value, Kind.ANGLE))
    except QuantityError:
        found = Tolerance("m", parse(value, Kind.LENGTH))
    if not found.value > 0.0:
        raise ValueError(f"{quote(value)}: must be more than nothing")
    return found


Within = Annotated[
    Tolerance,
    PlainValidator(_tolerance),
    WithJsonSchema({"type": "string", "examples": ["0.1 deg"]}),
]


def _spot(value: Any) -> str | tuple[tuple[int, float], ...]:
    """A point's name, or one to three lengths with their direction words."""
    if isinstance(value, str):
        return value
    if not isinstance(value, list) or not value or not all(isinstance(part, str) for part in value):
        raise ValueError(f"a point, or a list like [286 mm up, 12 mm left], belongs here; {stands(value)}")
    parts = tuple(parse_directed(part) for part in value)
    if len({axis for axis, _ in parts}) < len(parts):
        raise ValueError("two of these run along the same axis")
    return parts


PartlyAt = Annotated[
    str | tuple[tuple[int, float], ...],
    PlainValidator(_spot),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]


def _names(value: Any) -> tuple[str, ...]:
    given = [value] if isinstance(value, str) else value
    if not isinstance(given, list) or not all(isinstance(name, str) for name in given) or len(given) > 2:
        raise ValueError(f"one point, or two in brackets, belong here; {stands(value)}")
    return tuple(given)


OneOrTwo = Annotated[
    tuple[str, ...],
    PlainValidator(_names),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]


class Face(Record):
    """A face of a body that a level can be laid on."""

    level_to: str = Field(description="The axis of the body that it is levelled for.")
    angle: LeanText | None = Field(
        default=None,
        description="How the face lies when that axis is level; not known, and levelling on it stays open.",
    )


_HEADS: dict[str, tuple[str, ...]] = {
    "level": ("slope", "between", "within"),
    "heading": ("toward", "within"),
    "point": ("at", "height", "above", "on_line", "within"),
    "flange": ("axis", "in_line_with", "within", "angle_within"),
    "clear": ("at_least", "part"),
}
_WAYS = re.compile(r"(?P<name>.*?)\s*,\s*(?P<way>fore-aft|side to side)")


def _split_way(value: Any) -> Any:
    """`level: crank, fore-aft` says the way beside the name."""
    found = _WAYS.fullmatch(value.strip()) if isinstance(value, str) else None
    return value if found is None else (found["name"], found["way"])


class Wanted(Record):
    """One thing wanted of a body's pose: aimed at within a tolerance, or kept whatever else is asked."""

    level: (
        Annotated[
            str | tuple[str, Literal["fore-aft", "side to side"]],
            BeforeValidator(_split_way),
            WithJsonSchema({"type": "string", "examples": ["crank, fore-aft"]}),
        ]
        | None
    ) = Field(default=None, description="An axis, or a face, of the body that is to lie level.")
    slope: LeanText | None = Field(default=None, description="Of level: not level but this much off it.")
    between: tuple[LeanText, LeanText] | None = Field(
        default=None, description="Of level: kept between two slopes."
    )
    heading: str | None = Field(default=None, description="An axis of the body, as seen from above.")
    toward: Literal["forward", "aft", "left", "right"] | None = Field(
        default=None, description="Of heading: where that axis points."
    )
    point: str | None = Field(default=None, description="A point of the body.")
    at: PartlyAt | None = Field(
        default=None,
        description="Of point: a point of the vehicle, or one to three lengths with their words.",
    )
    height: Height | None = Field(
        default=None, description="Of point: above the origin; with at least or at most it is kept."
    )
    above: str | None = Field(default=None, description="Of height: a plane to take it from.")
    on_line: tuple[str, str] | None = Field(default=None, description="Of point: two points of the vehicle.")
    flange: str | None = Field(default=None, description="A point of the body on a shaft's axis.")
    axis: str | None = Field(default=None, description="Of flange: that axis of the body.")
    in_line_with: OneOrTwo | None = Field(
        default=None,
        description="Of flange: a hub's point that the axis aims at, or two points of a shaft it continues.",
    )
    clear: str | None = Field(default=None, description="An obstacle, a plane, or all of the obstacles.")
    at_least: Gap | None = Field(default=None, description="Of clear: the gap that is kept.")
    part: str | None = Field(default=None, description="Of clear: one named part of the envelope alone.")
    within: Within | None = Field(default=None, description="By how much it may be missed.")
    angle_within: Angle | None = Field(
        default=None, description="Of flange: by how much the axis may lean off the line of two points."
    )

    @property
    def head(self) -> str:
        """Which of the five it is: level, heading, point, flange or clear."""
        return next(name for name in _HEADS if getattr(self, name) is not None)

    @property
    def face(self) -> str:
        """The axis or face that is levelled, without the way."""
        return self.level[0] if isinstance(self.level, tuple) else str(self.level)

    @property
    def way(self) -> str:
        """`fore-aft`, `side to side` or nothing."""
        return self.level[1] if isinstance(self.level, tuple) else ""

    @model_validator(mode="after")
    def _whole(self) -> "Wanted":
        heads = [name for name in _HEADS if getattr(self, name) is not None]
        if len(heads) != 1:
            raise ValueError("one of level, heading, point, flange or clear belongs here")
        strange = [
            name.replace("_", " ")
            for name in self.model_fields_set - {"note", heads[0], *_HEADS[heads[0]]}
            if getattr(self, name) is not None
        ]
        if strange:
            raise ValueError(f"{', '.join(sorted(strange))} does not go with {heads[0]}")
        lacking = _lacking(self, heads[0])
        if lacking:
            raise ValueError(lacking)
        return self


def _lacking(wanted: Wanted, head: str) -> str:
    unit = "rad" if head in ("level", "heading") else "m"
    if wanted.within is not None and wanted.within.unit != unit:
        return f"within is {'an angle' if unit == 'rad' else 'a length'} here"
    if head == "level" and wanted.slope is not None and wanted.between is not None:
        return "slope or between, not both"
    if head == "heading" and wanted.toward is None:
        return "toward is missing: forward, aft, left or right"
    ways = [wanted.at, wanted.height, wanted.on_line]
    if head == "point" and sum(way is not None for way in ways) != 1:
        return "one of at, height or on line belongs to a point"
    if wanted.above is not None and wanted.height is None:
        return "above belongs to a height"
    if head == "flange" and (wanted.axis is None or wanted.in_line_with is None):
        return "a flange wants its axis, and what it is in line with"
    if wanted.angle_within is not None and not wanted.angle_within > 0.0:
        return "angle within must be more than nothing"
    if head == "clear" and wanted.at_least is None:
        return "at least is missing: the gap that is kept"
    return ""


class FreePlay(Record):
    """How far to look for what stops a body."""

    shift: Size
    turn: Angle


class Settling(Record):
    """What changes when a vehicle that was measured on stands comes down to ride height."""

    down: Size = Field(description="How far its origin sinks towards the ground.")
    nose_down: Angle = Field(default=0.0, description="How much it pitches, nose down positive.")
    left_up: Angle = Field(default=0.0, description="How much it rolls, left side up positive.")


class Jack(Record):
    """A screw that a body stands or hangs on while it is set."""

    point: str = Field(description="The point of the body that it carries.")
    pitch: Size | None = Field(
        default=None, description="Way for one turn; without it the way alone is told."
    )
    raises: Literal["clockwise", "counter-clockwise"] = Field(
        default="clockwise", description="The turn that lifts, seen from the tip of the screw."
    )
    lifts: Direction = Field(default=(0.0, 0.0, 1.0), description="The way it lifts: along, across, up, …")
