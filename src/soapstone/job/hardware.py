"""What is to be hung and what it is hung with: bodies, stock, members, bungs, forks, hangers, welds."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from soapstone.errors import QuantityError
from soapstone.job.faults import millimetres, stands
from soapstone.job.fields import (
    Angle,
    Density,
    Direction,
    Expansion,
    Gap,
    Length,
    Mass,
    Position,
    Ratio,
    Record,
    Size,
    Sizes,
    Spot,
    Stiffness,
    Stress,
    Torque,
    Ways,
)
from soapstone.job.measured import Reading
from soapstone.job.posing import Face, FreePlay, Wanted
from soapstone.job.rubber import CaseJoint, Inertia
from soapstone.quantity import Kind, parse


class Box(Record):
    """A box between two opposite corners."""

    from_: Position
    to: Position


class Cylinder(Record):
    """A cylinder between the centres of its two ends."""

    from_: Position
    to: Position
    diameter: Size


HeadForm = Literal["hexagon", "socket"]
GapKind = Literal["fixed", "rotating", "hot", "belt", "steering", "soft"]


class Shape(Record):
    """One solid of an envelope: exactly one of box, cylinder or scan."""

    box: Box | None = None
    cylinder: Cylinder | None = None
    scan: str | None = Field(default=None, description="A mesh file inside the job folder.")
    unit: Literal["mm", "cm", "m", "in"] | None = Field(default=None, description="The scan's unit.")
    name: str | None = Field(default=None, description="What part it is: sump, starter, filter.")
    kind: GapKind | None = Field(default=None, description="What gap it wants; else that of the whole.")
    gap: Gap | None = Field(default=None, description="The gap to keep round it, instead of its kind's.")

    @model_validator(mode="after")
    def _exactly_one(self) -> "Shape":
        given = [name for name in ("box", "cylinder", "scan") if getattr(self, name) is not None]
        if len(given) != 1:
            raise ValueError("one of box, cylinder or scan belongs here")
        if self.scan is not None and self.unit is None:
            raise ValueError("a scan needs its unit: mm, cm, m or in")
        return self


class Boss(Record):
    """A threaded boss of a casting: what its metal stands and how deep the bolt screws in."""

    of: str = Field(description="The material.")
    engaged: Size = Field(description="Length of full thread that the bolt is screwed in.")
    outside: Size = Field(description="Diameter of the boss.")


Dressed = Literal["on", "none", "slack end", "corridor", "missing"]


class Body(Record):
    """A rigid thing to be hung: mass, centre of mass and named points in its own axes."""

    what: str | None = None
    mass: Mass
    centre: Position
    points: dict[str, Position] = Field(default_factory=dict)
    point_accuracy: Gap = Field(
        default=0.0, description="One standard deviation of its points, where no readings tell it."
    )
    readings: tuple[Reading, ...] = Field(
        default=(), description="Taken among its own points on the shop floor, before it is hung."
    )
    envelope: tuple[Shape, ...] = ()
    bosses: dict[str, Boss] = Field(default_factory=dict, description="By the name of their point.")
    axes: dict[str, Direction] = Field(
        default_factory=dict, description="Its shafts by name, each the way it runs in the body's own axes."
    )
    faces: dict[str, Face] = Field(default_factory=dict, description="What a level can be laid on, by name.")
    dressed: dict[str, Dressed] = Field(
        default_factory=dict, description="Whether what belongs on it was on it: starter, filter, belts, …"
    )
    mass_accuracy: Mass | None = Field(default=None, description="One standard deviation of its mass.")
    centre_accuracy: Gap | None = Field(
        default=None, description="One standard deviation of its centre of mass, each way."
    )
    inertia: Inertia | None = None
    joint: CaseJoint | None = Field(default=None, description="Where motor and gearbox are bolted together.")


class Put(Record):
    """Where a body goes: its points matched to points of the vehicle, or one point and three angles."""

    match: dict[str, str] = Field(default_factory=dict, description="Body point: vehicle point.")
    point: str | None = Field(default=None, description="The body point that is put at `at`.")
    at: Spot | None = Field(default=None, description="A point's name or a position.")
    nose_down: Angle = Field(default=0.0, description="Pitch about the axis across, nose down positive.")
    left_up: Angle = Field(default=0.0, description="Roll about the axis along, left side up positive.")
    turned_left: Angle = Field(default=0.0, description="Heading about the axis up, turned left positive.")
    wanted: tuple[Wanted, ...] = Field(
        default=(), description="How it is to sit; match, or point with at, then says where it hangs now."
    )
    rest: Literal["as it hangs"] | None = Field(
        default=None, description="What nothing wanted settles stays as it hangs."
    )
    free_play: FreePlay | None = Field(default=None, description="How far to look for what stops it.")

    @model_validator(mode="after")
    def _one_way(self) -> "Put":
        if bool(self.match) == (self.point is not None):
            raise ValueError("either match (three points or more), or point with at and the angles")
        if (self.point is None) != (self.at is None):
            raise ValueError("point and at belong together")
        return self


class Obstacle(Record):
    """Something that stays in the vehicle and must be cleared."""

    what: str | None = None
    shapes: tuple[Shape, ...]
    kind: GapKind | None = Field(default=None, description="What gap it wants; `fixed` when nothing is said.")
    gap: Gap | None = Field(default=None, description="The gap to keep round it, instead of its kind's.")
    accuracy: Size | None = Field(
        default=None, description="One standard deviation of where it is; else what a tape gives in a bay."
    )


class Material(Record):
    """A material of the job's own, beside the ones of the tables."""

    elastic_modulus: Stress
    shear_modulus: Stress
    density: Density
    yield_: Stress
    ultimate: Stress
    weld_zone_yield: Stress | None = None
    weld_zone_ultimate: Stress | None = None
    expansion: Expansion | None = Field(default=None, description="By warmth; needed where a case is warmer.")
    source: str


class Stock(Record):
    """What members are cut from: a tube (two sizes round, three rectangular) or a bar."""

    tube: Sizes | None = Field(
        default=None,
        description="Outside and wall; a rectangular tube has two outside sizes before the wall.",
    )
    flat: Sizes | None = Field(default=None, description="Flat bar: both sizes.")
    angle: Sizes | None = Field(default=None, description="Upright leg, the other leg, thickness.")
    channel: Sizes | None = Field(
        default=None, description="Height, flange, web thickness; flange thickness when it is another."
    )
    outline: tuple[tuple[Length, Length], ...] | None = Field(
        default=None, description="Corners of any solid outline, once round: to the right, up."
    )
    root: Size | None = Field(
        default=None,
        description="Radius of an angle's or a channel's inside corner; an angle's toes have half of it.",
    )
    of: str = Field(description="The material.")
    corner: Size | None = Field(default=None, description="Outside corner radius of a rectangular tube.")
    least_wall: Size | None = Field(default=None, description="That a rule asks for, outside of bends too.")

    @model_validator(mode="after")
    def _one_sort(self) -> "Stock":
        given = {name: getattr(self, name) for name in _SORTS if getattr(self, name) is not None}
        if len(given) != 1:
            raise ValueError("stock is one of tube, flat, angle, channel and outline")
        ((sort, sizes),) = given.items()
        if sort == "outline":
            return self._plain(sort)
        if len(sizes) not in _SORTS[sort][0]:
            raise ValueError(_SORTS[sort][1])
        if any(size <= 0.0 for size in sizes):
            raise ValueError("every size must be more than nothing")
        return self._tube() if sort == "tube" else self._plain(sort)

    def _tube(self) -> "Stock":
        assert self.tube is not None
        if 2.0 * self.tube[-1] >= min(self.tube[:-1]):
            wall, room = millimetres(self.tube[-1]), millimetres(min(self.tube[:-1]))
            raise ValueError(f"the wall ({wall}) is thicker than the tube has room for ({room} outside)")
        if self.corner is not None and (len(self.tube) == 2 or 2.0 * self.corner > min(self.tube[:-1])):
            raise ValueError("corner belongs to a rectangular tube, and is at most half of its smaller side")
        if self.root is not None:
            raise ValueError("root belongs to an angle or a channel")
        return self

    def _plain(self, sort: str) -> "Stock":
        if self.least_wall is not None:
            raise ValueError("least wall belongs to a tube")
        if self.corner is not None:
            raise ValueError("corner belongs to a rectangular tube, and is at most half of its smaller side")
        if self.root is not None and sort not in ("angle", "channel"):
            raise ValueError("root belongs to an angle or a channel")
        return self


_SORTS: dict[str, tuple[tuple[int, ...], str]] = {
    "tube": ((2, 3), "a round tube has two sizes (outside x wall), a rectangular one three"),
    "flat": ((2,), "a flat bar has two sizes, like 50 x 8 mm"),
    "angle": ((3,), "an angle has three sizes, like 40 x 40 x 4 mm"),
    "channel": ((3, 4), "a channel has height, flange and thickness, like 80 x 40 x 5 mm"),
    "outline": ((), ""),
}


Cut = Literal["cope", "mitre", "square", "flat", "capped", "crushed"]


class Slot(Record):
    """A slot across a tube's square end, to sit over a plate."""

    plate: Size = Field(description="Thickness of the plate.")
    deep: Size = Field(description="From the finished end.")
    faces: Direction = Field(description="The way that is square to the plate.")
    clearance: Gap = Field(default=0.0, description="That much wider than the plate.")


class Member(Record):
    """A tube between two places: straight, bent round corners, or one arch."""

    from_: str = Field(description="A place: a point, a fork, `side_left start`, `cross_1 at 6 in`.")
    to: str
    stock: str
    through: tuple[str, ...] = Field(
        default=(), description="Corners between `from` and `to` that it is bent round, in order."
    )
    bend_radius: Size | None = Field(default=None, description="Of the axis, as the bend comes off the die.")
    bender: str | None = Field(default=None, description="One of `benders`, whose die gives the radius.")
    arch: Literal["yes", "no"] = Field(
        default="no", description="One bend over the one place in `through`, which lies on the tube's axis."
    )
    effective_length: Size | None = Field(
        default=None, description="For buckling, when it is not the distance between landings."
    )
    deep: Literal["up", "across", "along"] | None = Field(
        default=None,
        description="The way that the larger size of a rectangular tube, or the first of a bar, points.",
    )
    heel: Ways | None = Field(
        default=None, description="Where an angle's heel points (two ways), or a channel's back (one)."
    )
    start_on: str | None = Field(
        default=None,
        description="The member that the start lands on, when `from` is a point beside its axis.",
    )
    end_on: str | None = None
    start_cut: Cut | None = Field(default=None, description="When it is not what the place asks for.")
    end_cut: Cut | None = None
    start_face: Direction | None = Field(
        default=None, description="Square to the flat face that a `flat` start lies on."
    )
    end_face: Direction | None = None
    start_slot: Slot | None = Field(default=None, description="A slot across its start, over a plate.")
    end_slot: Slot | None = None
    passes_through: dict[str, Gap] = Field(
        default_factory=dict,
        description="Members that it passes right through, with the clearance all round in their holes.",
    )

    @model_validator(mode="after")
    def _flat_on_a_face(self) -> "Member":
        for word, cut, face in (
            ("start", self.start_cut, self.start_face),
            ("end", self.end_cut, self.end_face),
        ):
            if (cut == "flat") != (face is not None):
                raise ValueError(f"{word} cut: flat and {word} face belong together")
        return self

    @model_validator(mode="after")
    def _bent_how(self) -> "Member":
        told = self.bend_radius is not None or self.bender is not None
        if self.arch == "yes":
            if len(self.through) != 1 or self.bend_radius is not None:
                raise ValueError("an arch has one place in through, and takes its radius from it")
        elif bool(self.through) != told:
            raise ValueError("through and the radius of its bends (bend radius or bender) belong together")
        if self.bend_radius is not None and self.bender is not None:
            raise ValueError("bend radius or bender, not both: a bender's die gives the radius")
        return self


class Bender(Record):
    """A draw bender with one die, as measured in the shop."""

    tube: Size = Field(description="Outside diameter that the die takes.")
    radius: Size = Field(description="Of the die, to the middle of its groove.")
    clamp: Size = Field(description="Straight tube that the clamp needs ahead of a bend.")
    tail: Gap = Field(default=0.0, description="Straight tube that must stay behind the last bend.")
    springback: Angle | None = Field(
        default=None, description="Measured: what a bend set to 90° comes back by; else computed."
    )
    mandrel: Literal["yes", "no"] = Field(default="no", description="Whether a mandrel supports the bend.")
    turns: Literal["left", "right"] | None = Field(
        default=None, description="The way its die turns, seen from above."
    )
    room_below: Size | None = Field(
        default=None, description="From the die's plane down to the floor or the bench."
    )

    @model_validator(mode="after")
    def _together(self) -> "Bender":
        if (self.turns is None) != (self.room_below is None):
            raise ValueError("turns and room below belong together")
        if self.springback is not None and not 0.0 <= self.springback < 0.8:
            raise ValueError("springback is what a bend set to 90° comes back by, from 0 to 45 deg")
        return self


class Bung(Record):
    """A bored bush welded across a tube's end, for the bolt to pass through."""

    in_: str = Field(description="The tube end: `side_left start`.")
    length: Size = Field(description="Between the tabs of its fork.")
    outside: Size = Field(description="Outside diameter.")
    bore: Size | None = Field(default=None, description="When it is not the bolt's own clearance hole.")
    of: str = Field(description="The material.")


def _split_plate(value: Any) -> Any:
    if isinstance(value, Mapping):
        return value
    words = value.split() if isinstance(value, str) else []
    for count in range(len(words) - 1, 0, -1):
        try:
            parse(" ".join(words[:count]), Kind.LENGTH)
        except QuantityError:
            continue
        return {"thickness": " ".join(words[:count]), "of": " ".join(words[count:])}
    raise ValueError(f"a plate is written with its thickness and material, like 5 mm S235; {stands(value)}")


class PlateStock(Record):
    """Thickness and material."""

    thickness: Size
    of: str


Plate = Annotated[
    PlateStock,
    BeforeValidator(_split_plate),
    WithJsonSchema({"type": "string", "examples": ["5 mm S235"]}),
]


class Fork(Record):
    """A pair of tabs (or one tab) on a rail or on a member, with one bolt through."""

    at: str = Field(description="The point where the bolt's axis and the bung's middle meet.")
    on: str = Field(description="The support or the member that the tabs are welded to.")
    holds: str | None = Field(default=None, description="The bung between the tabs.")
    bolt: str | None = Field(default=None, description="Size and class: `M12 10.9`.")
    head: HeadForm = Field(default="hexagon", description="Of its bolt; `socket` is turned by a hexagon key.")
    axis: Direction = (0.0, 1.0, 0.0)
    tabs: Literal["1", "2"] = "2"
    plate: Plate
    width: Size = Field(description="Of each tab, across the load.")
    reach: Size = Field(description="From the foot of the tab to the centre of its hole.")
    end: Size | None = Field(default=None, description="From the hole's centre to the free end.")
    hole: Size | None = Field(default=None, description="When it is not the bolt's own clearance hole.")
    gap: Gap = Field(default=0.0, description="Between tab and bung, each side.")
    torque: Torque | None = Field(default=None, description="The bolt is tightened with; oiled threads.")
    points: Literal["up", "down", "forward", "aft", "left", "right"] = Field(
        default="down", description="The way from its foot to its hole, on a support."
    )


class Hanger(Record):
    """A plate between a member and a body's boss."""

    on: str = Field(description="The member it is welded to.")
    carries: str = Field(description="The body's point: `drive_unit.boss_1`.")
    plate: Plate
    width: Size
    bolt: str | None = None
    head: HeadForm = Field(default="hexagon", description="Of its bolt; `socket` is turned by a hexagon key.")
    axis: Direction = (0.0, 1.0, 0.0)
    hole: Size | None = None
    end: Size | None = Field(default=None, description="From the hole's centre to the free end.")
    torque: Torque | None = Field(default=None, description="The bolt is tightened with; oiled threads.")


class Weld(Record):
    """How a joint is welded."""

    fillet: Size | None = Field(default=None, description="Leg of the fillet.")
    filler: str | None = None
    process: str | None = None
    hot_spot: Ratio | None = Field(
        default=None,
        description="Stress at a tube end's toe over the tube's nominal one, from a model or gauges.",
    )


class Support(Record):
    """A part of the vehicle that forks are welded to; rigid unless a stiffness is given."""

    what: str | None = None
    is_: str | None = Field(
        default=None, description="The obstacle that has its shape: every foot on it must land on that."
    )
    stiffness: Stiffness | None = Field(default=None, description="Each way, at each fork on it.")
    hollow: Literal["yes", "no"] | None = None
    wall: Plate | None = Field(default=None, description="Of a hollow rail: `2.5 mm S235`.")
    bolted: "Bolted | None" = Field(default=None, description="When forks are bolted on, not welded.")
    sheet: "Sheet | None" = Field(default=None, description="When it is a floor or a bulkhead.")


class Bolted(Record):
    """How a fork's foot is bolted through a rail."""

    bolt: str = Field(description="Size and class: `M10 8.8`.")
    count: Literal["1", "2", "3", "4", "6"]
    torque: Torque
    friction: Ratio = Field(description="Of the thread and under the head: 0.10 oiled to 0.20 dry.")
    scatter: Ratio = Field(description="Largest over smallest preload: 1.6 with a torque wrench.")
    grip: Ratio = Field(description="Friction of the clamped faces: 0.15 painted to 0.3 clean.")
    edge: Size | None = Field(
        default=None,
        description="From a hole's centre to the rail's edge; else twice the bolt is taken.",
    )
    countersink: Size | None = Field(
        default=None, description="Depth of a countersunk head in the rail's wall."
    )
    crush_tube: Sizes | None = Field(default=None, description="Outside x wall, inside a hollow rail.")
    crush_tube_of: str | None = Field(default=None, description="Its material.")

    @model_validator(mode="after")
    def _crush_tube(self) -> "Bolted":
        if (self.crush_tube is None) != (self.crush_tube_of is None):
            raise ValueError("crush tube and crush tube of belong together")
        if self.crush_tube is not None and (
            len(self.crush_tube) != 2 or 2.0 * self.crush_tube[1] >= self.crush_tube[0]
        ):
            raise ValueError("a crush tube has an outside and a wall, like 18 mm x 3 mm")
        return self


class Sheet(Record):
    """A thin floor or bulkhead, and what spreads the load on it."""

    plate: Plate = Field(description="Thickness and material: `1.2 mm S235`.")
    free: Size = Field(description="Smallest clear width between what holds the sheet stiff.")
    spreader: Plate | None = Field(default=None, description="A plate between tab and sheet.")
    spreader_size: Size | None = Field(default=None, description="Its smaller side.")

    @model_validator(mode="after")
    def _spreader(self) -> "Sheet":
        if (self.spreader is None) != (self.spreader_size is None):
            raise ValueError("spreader and spreader size belong together")
        return self
