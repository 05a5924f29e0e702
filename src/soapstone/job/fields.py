"""Field types of the job file: text as a fabricator writes it, SI after reading.

Each type takes the text that stands in the file and gives the SI value; the JSON Schema shows the
text form. A bare number is refused by the quantity parser, which says which units would do.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainValidator, WithJsonSchema

from soapstone.errors import QuantityError
from soapstone.job.faults import stands
from soapstone.quantity import (
    Kind,
    parse,
    parse_accuracy,
    parse_directed,
    parse_position,
    parse_sizes,
)

Vector = tuple[float, float, float]


class Amount(NamedTuple):
    """How well something is read: of lengths a fixed part (m) and a part per length, or an angle (rad)."""

    fixed: float = 0.0
    per_length: float = 0.0
    angle: float = 0.0


AXES = {"along": (1.0, 0.0, 0.0), "across": (0.0, 1.0, 0.0), "up": (0.0, 0.0, 1.0)}


class Record(BaseModel):
    """Base of everything in the file: unknown keys refused, `reads_to` written as `reads to`."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        populate_by_name=True,
        alias_generator=lambda name: name.rstrip("_").replace("_", " "),
    )

    note: str | None = None


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"a text with its unit belongs here; {stands(value)}")
    return value


def _list(value: Any) -> Sequence[str]:
    if isinstance(value, str) or not isinstance(value, Sequence):
        like = "[0 in aft, 16-1/2 in left, 12 in up]"
        raise ValueError(f"a list in brackets belongs here, like {like}; {stands(value)}")
    return [_text(part) for part in value]


def _schema(example: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "examples": [example]})


def quantity(kind: Kind, check: Callable[[float], bool], rule: str) -> BeforeValidator:
    """Validator for one kind of quantity that must also obey a rule, told in words."""

    def read(value: Any) -> float:
        number = parse(_text(value), kind)
        if not check(number):
            raise ValueError(f"{value!r}: {rule}")
        return number

    return BeforeValidator(read)


def _any(_: float) -> bool:
    return True


def _positive(value: float) -> bool:
    return value > 0.0


def _not_negative(value: float) -> bool:
    return value >= 0.0


def _axis(value: Any) -> Vector:
    if isinstance(value, str):
        if value not in AXES:
            raise ValueError(f"{value!r} is no direction; write along, across, up or a list like [1, 0, 1]")
        return AXES[value]
    x, y, z = (parse(part, Kind.NUMBER) for part in _three(value))
    length = (x * x + y * y + z * z) ** 0.5
    if length == 0.0:
        raise ValueError("a direction of no length; write along, across, up or a list like [1, 0, 1]")
    return (x / length, y / length, z / length)


def _three(value: Any) -> Sequence[str]:
    parts = _list(value)
    if len(parts) != 3:
        raise ValueError(f"three parts belong here, {len(parts)} stand here")
    return parts


def _two(value: Any) -> tuple[float, float]:
    parts = _list(value)
    if len(parts) != 2:
        raise ValueError(f"two parts belong here, like [20 mm, 35 mm]; {len(parts)} stand here")
    return parse(parts[0], Kind.LENGTH), parse(parts[1], Kind.LENGTH)


def _count(value: Any) -> int:
    text = _text(value).strip()
    if not text.isdecimal() or not 1 <= int(text) <= 9999:
        raise ValueError(f"a whole number from 1 up belongs here; {text!r} stands here")
    return int(text)


def _fold(value: Any) -> float:
    """`90 deg up`: rad, up positive."""
    words = _text(value).split()
    if len(words) < 2 or words[-1] not in ("up", "down"):
        raise ValueError(f"a fold is written with its angle and its way, like 90 deg up; {stands(value)}")
    angle = parse(" ".join(words[:-1]), Kind.ANGLE)
    if not 0.0 < angle <= 3.15:
        raise ValueError(f"{value!r}: a fold is more than nothing and at most 180 deg")
    return angle if words[-1] == "up" else -angle


def _move(value: Any) -> Vector:
    moved = [0.0, 0.0, 0.0]
    seen: set[int] = set()
    for part in _list(value):
        axis, distance = parse_directed(part)
        if axis in seen:
            raise ValueError(f"{part!r}: a second move along the same axis")
        seen.add(axis)
        moved[axis] = distance
    return (moved[0], moved[1], moved[2])


def _shift(value: Any) -> Vector:
    return _move([value] if isinstance(value, str) else value)


_SENSES = ("up", "down", "left", "right", "forward", "aft")
_DEGREES = {"K": 1.0, "°C": 1.0, "C": 1.0, "°F": 5.0 / 9.0, "F": 5.0 / 9.0}


def _warmth(value: Any) -> float:
    text = " ".join(_text(value).split())
    unit = next((unit for unit in _DEGREES if text.endswith(unit)), None)
    if unit is None:
        raise ValueError(f"{text!r}: how much warmer is written with K, °C or °F, like 60 K")
    return parse(text.removesuffix(unit).strip(), Kind.NUMBER) * _DEGREES[unit]


def _warmths(value: Any) -> dict[str, float]:
    if isinstance(value, str):
        return {"all": _warmth(value)}
    if not isinstance(value, Mapping) or not value:
        raise ValueError(f"write 60 K, or tubes with their own like {{torque_arm: 90 K}}; {stands(value)}")
    return {str(name): _warmth(part) for name, part in value.items()}


def _is_angle(text: str) -> bool:
    """Degrees or radians; a slope counts as a part per length."""
    try:
        parse_accuracy(text)
    except QuantityError:
        try:
            parse(text, Kind.ANGLE)
        except QuantityError:
            return False
        return True
    return False


def _amount(value: Any) -> Amount:
    text = _text(value)
    amount = Amount(angle=parse(text, Kind.ANGLE)) if _is_angle(text) else Amount(*parse_accuracy(text))
    if min(amount) < 0.0:
        raise ValueError(f"{text!r}: must not be negative")
    return amount


def _accuracy(value: Any) -> Amount:
    amount = _amount(value)
    if max(amount) == 0.0:
        raise ValueError(f"{value!r}: nothing reads exactly; write the standard deviation, like 0.5 mm")
    return amount


def _sizes(value: Any) -> tuple[float, ...]:
    return parse_sizes(_text(value))


def _ways(value: Any) -> str:
    words = _text(value).replace(" and ", " ").split()
    unknown = [word for word in words if word not in _SENSES]
    if unknown or not 1 <= len(set(words)) <= 2:
        raise ValueError(f"one or two of {', '.join(_SENSES)} belong here; {stands(value)}")
    return " ".join(words)


_POSITION_SCHEMA = WithJsonSchema(
    {
        "type": "array",
        "items": {"type": "string"},
        "examples": [["0 in aft", "16-1/2 in left", "12 in up"]],
    }
)

Length = Annotated[float, quantity(Kind.LENGTH, _any, ""), _schema("23-7/16 in")]
Size = Annotated[float, quantity(Kind.LENGTH, _positive, "must be more than nothing"), _schema("40 mm")]
Gap = Annotated[float, quantity(Kind.LENGTH, _not_negative, "must not be negative"), _schema("1 mm")]
Mass = Annotated[float, quantity(Kind.MASS, _positive, "a mass must be more than nothing"), _schema("92 kg")]
Torque = Annotated[float, quantity(Kind.TORQUE, _not_negative, "must not be negative"), _schema("230 N·m")]
Angle = Annotated[float, quantity(Kind.ANGLE, _any, ""), _schema("1.5 deg")]
Stress = Annotated[float, quantity(Kind.STRESS, _positive, "must be more than nothing"), _schema("235 MPa")]
Density = Annotated[
    float, quantity(Kind.DENSITY, _positive, "must be more than nothing"), _schema("7850 kg/m3")
]
Expansion = Annotated[
    float, quantity(Kind.EXPANSION, _positive, "must be more than nothing"), _schema("12 µm/(m·K)")
]
Stiffness = Annotated[
    float, quantity(Kind.STIFFNESS, _positive, "must be more than nothing"), _schema("20 kN/mm")
]
Force = Annotated[float, quantity(Kind.FORCE, _not_negative, "must not be negative"), _schema("1.2 kN")]
Turning = Annotated[
    float, quantity(Kind.ROTATION, _positive, "must be more than nothing"), _schema("800 rpm")
]
Moment = Annotated[
    float, quantity(Kind.INERTIA, _positive, "must be more than nothing"), _schema("2.1 kg·m²")
]
Product = Annotated[float, quantity(Kind.INERTIA, _any, ""), _schema("0.2 kg·m²")]
Number = Annotated[float, quantity(Kind.NUMBER, _any, ""), _schema("1.75")]
Ratio = Annotated[float, quantity(Kind.NUMBER, _positive, "must be more than nothing"), _schema("9.3")]
Position = Annotated[Vector, BeforeValidator(lambda v: parse_position(_three(v))), _POSITION_SCHEMA]
Spot = Annotated[
    str | Vector,
    BeforeValidator(lambda v: v if isinstance(v, str) else parse_position(_three(v))),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]
Move = Annotated[Vector, BeforeValidator(_move), _POSITION_SCHEMA]
Shift = Annotated[
    Vector,
    BeforeValidator(_shift),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": ["2 mm left"]},
                {"type": "array", "items": {"type": "string"}},
            ]
        }
    ),
]
Warmth = Annotated[
    dict[str, float],
    PlainValidator(_warmths),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": ["60 K"]},
                {"type": "object", "additionalProperties": {"type": "string"}},
            ]
        }
    ),
]
Direction = Annotated[
    Vector,
    BeforeValidator(_axis),
    WithJsonSchema({"anyOf": [{"enum": list(AXES)}, {"type": "array", "items": {"type": "string"}}]}),
]
Flat = Annotated[
    tuple[float, float],
    BeforeValidator(_two),
    WithJsonSchema({"type": "array", "items": {"type": "string"}, "examples": [["20 mm", "35 mm"]]}),
]
Count = Annotated[int, BeforeValidator(_count), _schema("2")]
Turn = Annotated[float, BeforeValidator(_fold), _schema("90 deg up")]
Ways = Annotated[str, BeforeValidator(_ways), _schema("down left")]
Sizes = Annotated[tuple[float, ...], BeforeValidator(_sizes), _schema("1-1/4 in x 0.120 in")]
Accuracy = Annotated[Amount, PlainValidator(_accuracy), _schema("1 mm + 0.3 mm/m")]
Step = Annotated[Amount, PlainValidator(_amount), _schema("1/32 in")]
