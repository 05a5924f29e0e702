"""What pulls on it, what it is built on, and how it is shown."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema, model_validator

from soapstone.job.faults import quote
from soapstone.job.fields import Gap, Mass, Number, Ratio, Record, Shift, Size, Torque, Turning, Warmth
from soapstone.job.pulls import Act, Belt, Brakes, Lift, Propeller, Shake, Tow
from soapstone.quantity import Kind, parse, parse_sizes

MOST_RISERS = 200


class Motor(Record):
    """The torque that the unit puts out, and how its housing feels it."""

    body: str = Field(description="The body whose housing takes the reaction.")
    torque: Torque
    ratio: Ratio | None = Field(
        default=None, description="Motor turns for one turn of the output that leaves the housing."
    )
    gear: Ratio | None = Field(
        default=None,
        description="Instead of ratio: motor turns for one of the gearbox's output; final drive beside it.",
    )
    efficiency: Ratio = 1.0
    layout: Literal["transverse, final drive inside", "longitudinal, final drive inside", "longitudinal"]
    final_drive: Ratio = Field(
        default=1.0, description="Turns of the gearbox's output for one of the wheels; with ratio, elsewhere."
    )
    final_drive_efficiency: Ratio = Field(default=1.0, description="Share that arrives at the wheels.")
    turns: Literal["clockwise", "counter-clockwise"] = Field(
        default="clockwise",
        description="The output of a longitudinal unit, seen from in front of the vehicle.",
    )
    crank: Literal["with the wheels", "against the wheels"] = Field(
        default="with the wheels", description="The way a transverse motor turns, driving forward."
    )
    reverse: Ratio = Field(default=1.0, description="Share of the torque that comes when it holds back.")
    shock: Ratio = Field(default=1.0, description="Times the torque, for the way it comes on.")
    flanges: tuple[str, ...] = Field(
        default=(), description="The body's points where its shafts leave: two for half-shafts, or one."
    )

    @model_validator(mode="after")
    def _gears(self) -> "Motor":
        if (self.ratio is None) == (self.gear is None):
            raise ValueError("one of ratio or gear belongs here")
        inside = self.layout != "longitudinal"
        if inside and self.ratio is not None and "final_drive" in self.model_fields_set:
            raise ValueError(
                "ratio holds the final drive inside already; write gear with final drive, or leave it out"
            )
        if max(self.efficiency, self.final_drive_efficiency) > 1.0:
            raise ValueError("an efficiency is not above 1")
        if len(self.flanges) not in (0, 2 if inside else 1):
            raise ValueError("two flanges for half-shafts, one for a propeller shaft")
        return self


class Grip(Record):
    """What the tyres can hold: the drive torque cannot be more."""

    mass_on_axle: Mass
    tyre: Ratio = Field(description="Friction of tyre on road.")
    rolling_radius: Size


class Case(Record):
    """One load case: how many times its own weight pulls each way, and the torque with it."""

    down: Number = 1.0
    aft: Number = Field(default=0.0, description="Times weight, pulling aft (speeding up).")
    forward: Number = Field(default=0.0, description="Times weight, pulling forward (braking).")
    sideways: Number = Field(default=0.0, description="Times weight, to either side in turn.")
    torque: Literal["none", "drive", "reverse", "towed back"] = "none"
    with_: tuple[Act, ...] = Field(default=(), description="What else acts, of the things given beside.")
    warmer: Warmth = Field(
        default_factory=dict,
        description="Than when it was bolted up: `60 K` for all of the frame, or tubes and hangers by name.",
    )
    moves: dict[str, Shift] = Field(
        default_factory=dict,
        description="What the vehicle does to a fork: `{fork_rear_left: 3 mm up}` when its rail twists.",
    )
    source: str


class Running(Record):
    """A speed that something runs at for long, and shakes the frame with."""

    speed: Turning
    shakes: Ratio = Field(default=1.0, description="Times per turn: 2 for four cylinders in line.")


CaseOrTable = Annotated[
    Annotated[Literal["from table"], Tag("<text>")] | Annotated[Case, Tag("<case>")],
    Discriminator(lambda value: "<text>" if isinstance(value, str) else "<case>"),
]


class Service(Record):
    """Loads in service."""

    motor: Motor | None = None
    grip: Grip | None = None
    brakes: Brakes | None = None
    belts: dict[str, Belt] = Field(default_factory=dict)
    propeller: Propeller | None = None
    lift: Lift | None = None
    tow: Tow | None = None
    shaking: dict[str, Shake] = Field(
        default_factory=dict, description="What shakes the unit at running speed."
    )
    room: Gap | None = Field(
        default=None,
        description="What must be left round a unit that moves on its mounts; 15 mm if left out.",
    )
    cases: dict[str, CaseOrTable] = Field(min_length=1)
    cycles: dict[str, Ratio] = Field(
        default_factory=dict, description="How often each case comes in the frame's life, for fatigue."
    )
    running: dict[str, Running] = Field(
        default_factory=dict, description="Speeds that are kept up, by name, to be clear of the frame's own."
    )
    code: Literal["AISC 360", "EN 1993"] = Field(
        default="AISC 360", description="By which tubes and their joints are judged."
    )

    @model_validator(mode="after")
    def _cycles_of_cases(self) -> "Service":
        for name in self.cycles:
            if name not in self.cases:
                raise ValueError(f"cycles: no case is called {name!r}; there are {', '.join(self.cases)}")
        return self


def _holes(value: Any) -> tuple[float, float]:
    text = value if isinstance(value, str) else ""
    hole, every, pitch = text.partition(" every ")
    if not every:
        raise ValueError(f"{quote(value)}: write the hole and its pitch, like 16 mm every 50 mm")
    sizes = parse(hole, Kind.LENGTH), parse(pitch, Kind.LENGTH)
    if not 0.0 < sizes[0] < sizes[1]:
        raise ValueError(f"{quote(value)}: the hole is more than nothing and less than the pitch")
    return sizes


def _risers(value: Any) -> tuple[float, ...]:
    """`10 mm x 2` is two risers of 10 mm."""
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        raise ValueError("a list of risers belongs here, like [100 mm, 50 mm, 10 mm x 2]")
    return tuple(sorted((riser for text in value for riser in _riser(text)), reverse=True))


def _riser(text: str) -> list[float]:
    height, times, count = text.rpartition(" x ")
    counted = times and count.strip().isdecimal()
    size = parse(height if counted else text, Kind.LENGTH)
    number = int(count) if counted and len(count) < 5 else 1 + bool(counted) * MOST_RISERS
    if size <= 0.0 or not 1 <= number <= MOST_RISERS:
        raise ValueError(f"{text!r}: a riser has a height, and there are 1 to {MOST_RISERS} of one kind")
    return [size] * number


def _pair(value: Any) -> tuple[float, ...]:
    sizes = parse_sizes(value) if isinstance(value, str) else ()
    if len(sizes) != 2:
        raise ValueError(f"{quote(value)}: a table has a length and a width, like 1200 x 800 mm")
    return sizes


def _text_schema(example: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "examples": [example]})


class Table(Record):
    """The fixture table: holes on a square grid, and the risers at hand."""

    holes: Annotated[tuple[float, float], BeforeValidator(_holes), _text_schema("16 mm every 50 mm")]
    size: Annotated[tuple[float, float], BeforeValidator(_pair), _text_schema("1200 x 800 mm")]
    risers: Annotated[
        tuple[float, ...],
        BeforeValidator(_risers),
        WithJsonSchema({"type": "array", "items": {"type": "string"}}),
    ]
    lowest: Size = Field(default=0.1, description="Height of the lowest axis over the table's face.")


class Show(Record):
    """Units that the faces show."""

    length: str = "mm"
    force: str = "N"
    torque: str = "N·m"
    mass: str = "kg"
    stress: str = "MPa"
    angle: str = "deg"
    paper: Literal["A4", "Letter"] = "A4"
    dxf: Literal["mm", "in"] = "mm"
    projection: Literal["first angle", "third angle"] | None = Field(
        default=None, description="Of the drawings; first angle on A4, third angle on Letter where not said."
    )
