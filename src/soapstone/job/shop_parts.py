"""Parts that the shop makes beside the frame: plates, folded tubes, turned parts."""

from typing import Literal

from pydantic import Field, model_validator

from soapstone.job.fields import Angle, Count, Flat, Gap, Ratio, Record, Size, Sizes, Turn
from soapstone.job.hardware import Plate

Process = Literal["laser", "waterjet", "plasma", "saw"]


class PlateHole(Record):
    """A hole of a plate: round, or a slot."""

    at: Flat = Field(description="Its centre, from the plate's own origin: right, then up.")
    for_: str | None = Field(default=None, description="The bolt that goes through it, freely: `M10`.")
    diameter: Size | None = Field(
        default=None, description="When it is for no bolt, or not its clearance hole."
    )
    slot: Size | None = Field(default=None, description="Length over all, when it is a slot.")
    slot_at: Angle = Field(default=0.0, description="Of the slot's long way, turned left from `right`.")
    countersink: Size | None = Field(default=None, description="Diameter at the face, 90°.")
    leg: Count | None = Field(
        default=None, description="Of a strip: the leg it is in; `at` counts from that leg's outside corner."
    )

    @model_validator(mode="after")
    def _sized(self) -> "PlateHole":
        if (self.for_ is None) == (self.diameter is None):
            raise ValueError("a hole is for a bolt or has a diameter")
        if self.slot is not None and self.diameter is not None and self.slot <= self.diameter:
            raise ValueError("a slot is longer than it is wide")
        if self.countersink is not None and self.slot is not None:
            raise ValueError("a countersink belongs to a round hole")
        return self


class CutOut(Record):
    """An opening in a plate, with a wall round its inside if wanted."""

    at: Flat = Field(description="Its middle.")
    size: Sizes = Field(description="Width x height of a window.")
    corners: Gap = Field(default=0.0, description="Radius of its corners.")
    inner_wall: Size | None = Field(default=None, description="Width of a strip welded in all round.")
    wall: Plate | None = Field(default=None, description="That the strip is cut from: `3 mm S235`.")

    @model_validator(mode="after")
    def _sides(self) -> "CutOut":
        if len(self.size) != 2 or 2.0 * self.corners > min(self.size):
            raise ValueError("a cut-out has two sizes, and corners of at most half the smaller")
        if (self.inner_wall is None) != (self.wall is None):
            raise ValueError("inner wall and wall belong together")
        if self.wall is not None and self.corners < self.wall.thickness:
            raise ValueError("an inner wall bends round the corners: their radius is at least its thickness")
        return self


class PlatePart(Record):
    """A plate: a rectangle, a gusset, a folded strip, or an outline from a DXF file of your own."""

    what: str | None = None
    plate: Plate
    quantity: Count = 1
    sits_on: str | None = Field(
        default=None,
        description="What carries it: something beside this frame, or a body whose mass counts it.",
    )
    rectangle: Sizes | None = Field(default=None, description="Width x height; the origin is its middle.")
    gusset: Sizes | None = Field(default=None, description="Its two legs; the origin is their corner.")
    strip: Size | None = Field(default=None, description="Width of a strip that is folded; see `legs`.")
    outline: str | None = Field(default=None, description="A DXF file beside the job.")
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = Field(
        default=None, description="Of that file, when it says none or a wrong one."
    )
    legs: tuple[Size, ...] = Field(
        default=(), description="Of a strip, each over the outside, to the sharp corners."
    )
    folds: tuple[Turn, ...] = Field(default=(), description="Between the legs: `90 deg up`.")
    inside_radius: Size | None = Field(default=None, description="Of the folds.")
    k_factor: Ratio | None = Field(default=None, description="Where the shop knows its own; else DIN 6935.")
    angle: Angle | None = Field(
        default=None, description="Between a gusset's legs; a right angle if not given."
    )
    corners: Gap = Field(default=0.0, description="Radius of a rectangle's corners.")
    clip: Gap = Field(default=0.0, description="That a gusset's corner is set back, to pass over a weld.")
    nose: Gap = Field(default=0.0, description="Width of a gusset's blunt tips.")
    holes: tuple[PlateHole, ...] = ()
    cut_outs: tuple[CutOut, ...] = ()
    cut_by: Process | None = Field(default=None, description="How it is cut, for the least hole and web.")
    etch: Literal["yes", "no"] = Field(default="yes", description="Whether its name is etched on it.")

    @model_validator(mode="after")
    def _one_shape(self) -> "PlatePart":
        given = [key for key in ("rectangle", "gusset", "strip", "outline") if getattr(self, key) is not None]
        if len(given) != 1:
            raise ValueError("one of rectangle, gusset, strip or outline belongs here")
        if any(len(sizes) != 2 for sizes in (self.rectangle, self.gusset) if sizes is not None):
            raise ValueError("a rectangle and a gusset have two sizes, like 80 x 60 mm")
        if self.unit is not None and self.outline is None:
            raise ValueError("unit belongs to an outline from a file")
        self._strip()
        return self

    def _strip(self) -> None:
        if self.strip is None:
            if self.legs or self.folds or self.inside_radius or self.k_factor:
                raise ValueError("legs, folds, inside radius and k factor belong to a strip")
            if any(hole.leg is not None for hole in self.holes):
                raise ValueError("only the holes of a strip name a leg")
            return
        if len(self.legs) != len(self.folds) + 1 or self.inside_radius is None:
            raise ValueError("a strip has one leg more than folds, and an inside radius")
        if self.k_factor is not None and self.k_factor > 0.5:
            raise ValueError("a k factor lies between 0 and 0.5")
        if any(hole.leg is None or hole.leg > len(self.legs) for hole in self.holes):
            raise ValueError("every hole of a strip names its leg, counted from 1")


Side = Literal["up", "down", "left", "right"]


class TubeFold(Record):
    """One fold of a rectangular tube about a wall that stays."""

    angle: Angle
    to: Side = Field(description="The way the tube turns; the wall on the other side stays.")


class FoldedTube(Record):
    """A rectangular tube with wedges cut out, folded shut and welded."""

    what: str | None = None
    stock: str
    quantity: Count = 1
    sits_on: str | None = Field(
        default=None,
        description="What carries it: something beside this frame, or a body whose mass counts it.",
    )
    legs: tuple[Size, ...] = Field(description="Along the tube's axis, from corner to corner.")
    folds: tuple[TubeFold, ...] = Field(default=(), description="Between the legs.")
    kerf: Gap = Field(description="Width of the cut.")
    deep: Literal["up", "across"] = Field(default="up", description="How the larger size stands.")
    nose: Literal["yes", "no"] = Field(
        default="no",
        description="Whether the wall above is wrapped round the far end, down to the one below.",
    )

    @model_validator(mode="after")
    def _as_many(self) -> "FoldedTube":
        if len(self.legs) != len(self.folds) + 1:
            raise ValueError("a folded tube has one leg more than folds")
        if any(not 0.0 < fold.angle <= 2.1 for fold in self.folds):
            raise ValueError("a fold is more than nothing and at most 120 deg")
        if not self.folds and self.nose == "no":
            raise ValueError("nothing is folded; give it folds or a nose")
        return self


class TurnedPart(Record):
    """A turned part: bung, sleeve, spacer, pin."""

    what: str | None = None
    kind: Literal["bung", "sleeve", "spacer", "pin"]
    of: str = Field(description="The material.")
    outside: Size
    length: Size
    quantity: Count = 1
    sits_on: str | None = Field(
        default=None,
        description="What carries it: something beside this frame, or a body whose mass counts it.",
    )
    bore: Size | None = Field(default=None, description="Through it; a pin may have none.")
    thread: str | None = Field(default=None, description="Tapped instead of a bore: `M12`, `7/16-20`.")
    outside_fit: str | None = Field(default=None, description="ISO 286 class of the outside: `g6`.")
    bore_fit: str | None = Field(default=None, description="ISO 286 class of the bore: `H7`.")
    mates: str | None = Field(default=None, description="A turned part that goes into this one's bore.")
    into: str | None = Field(default=None, description="The tube stock that a bung's spigot goes into.")
    spigot: Size | None = Field(default=None, description="Length of that spigot.")
    clearance: Gap | None = Field(default=None, description="Of the spigot in the tube, on diameter.")
    chamfer: Gap = Field(default=0.0, description="At 45° on its outside edges.")

    @model_validator(mode="after")
    def _goes_together(self) -> "TurnedPart":
        if self.bore is not None and self.thread is not None:
            raise ValueError("bore or thread, not both")
        if self.bore is None and self.thread is None and self.kind != "pin":
            raise ValueError(f"a {self.kind} has a bore or a thread")
        if self.bore is not None and self.bore >= self.outside:
            raise ValueError("the bore is larger than the outside")
        if len({self.into is None, self.spigot is None, self.clearance is None}) != 1:
            raise ValueError("into, spigot and clearance belong together")
        if self.spigot is not None and self.spigot >= self.length:
            raise ValueError("the spigot is shorter than the whole part")
        if self.bore_fit is not None and self.bore is None:
            raise ValueError("a bore fit belongs to a bore")
        if 2.0 * self.chamfer >= min(self.outside, self.length):
            raise ValueError("the chamfer is larger than the part has room for")
        return self
