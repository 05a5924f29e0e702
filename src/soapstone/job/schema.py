"""The whole job file, as one record."""

import json
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints

from soapstone.job.bolting import BoltUp
from soapstone.job.fields import Record, Shift
from soapstone.job.hardware import (
    Bender,
    Body,
    Bung,
    Fork,
    Hanger,
    Material,
    Member,
    Obstacle,
    Put,
    Stock,
    Support,
    Weld,
)
from soapstone.job.measured import KINDS, Datum, Instrument, NamedPlane, Point, Reading, Side
from soapstone.job.mirror import SECTIONS
from soapstone.job.places import NAME
from soapstone.job.posing import Jack
from soapstone.job.room import Ground, ServicePoint
from soapstone.job.rubber import RubberMount
from soapstone.job.service import Service, Show, Table
from soapstone.job.shafts import HalfShaft, PropellerShaft
from soapstone.job.shop_parts import FoldedTube, PlatePart, TurnedPart
from soapstone.job.ways import WayIn
from soapstone.job.workshop import Shop

Name = Annotated[str, StringConstraints(pattern=f"^{NAME}$")]


class Job(Record):
    """A job: what was measured, what is hung, what it hangs on, what pulls on it.

    `folder` is where it was read from; it stands in no file.
    """

    soapstone: Literal["1"] = Field(description="Version of this file's format.")
    title: str
    revision: str = "A"
    date: str | None = Field(default=None, description="Printed on the sheets; no clock is read.")
    invented: Literal["yes", "no"] = Field(default="no", description="Demo data says so on every sheet.")
    show: Show = Show()
    datum: Datum
    instruments: dict[Name, Instrument] = Field(default_factory=dict)
    planes: dict[Name, NamedPlane] = Field(default_factory=dict)
    points: dict[Name, Point] = Field(min_length=1)
    readings: tuple[Reading, ...] = ()
    sides: tuple[Side, ...] = Field(default=(), description="Where two answers fit: `P is left of Q`.")
    bodies: dict[Name, Body] = Field(default_factory=dict)
    place: dict[Name, Put] = Field(default_factory=dict)
    jacks: dict[Name, dict[str, Jack]] = Field(default_factory=dict)
    obstacles: dict[Name, Obstacle] = Field(default_factory=dict)
    half_shafts: dict[Name, HalfShaft] = Field(default_factory=dict)
    propeller_shafts: dict[Name, PropellerShaft] = Field(default_factory=dict)
    materials: dict[str, Material] = Field(default_factory=dict)
    stock: dict[Name, Stock] = Field(default_factory=dict)
    benders: dict[Name, Bender] = Field(default_factory=dict)
    supports: dict[Name, Support] = Field(default_factory=dict)
    members: dict[Name, Member] = Field(default_factory=dict)
    bungs: dict[Name, Bung] = Field(default_factory=dict)
    forks: dict[Name, Fork] = Field(default_factory=dict)
    hangers: dict[Name, Hanger] = Field(default_factory=dict)
    mounts: dict[Name, RubberMount] = Field(default_factory=dict)
    welds: dict[str, Weld] = Field(default_factory=dict)
    bolt_up: BoltUp | None = None
    way_in: tuple[WayIn, ...] = ()
    misfit: dict[Name, Shift] = Field(
        default_factory=dict,
        description="Holes that do not meet: where a tube's (or hanger's) lies from the one it is bolted to.",
    )
    plates: dict[Name, PlatePart] = Field(default_factory=dict)
    folded: dict[Name, FoldedTube] = Field(default_factory=dict)
    turned: dict[Name, TurnedPart] = Field(default_factory=dict)
    ground: Ground | None = None
    service_points: dict[Name, ServicePoint] = Field(
        default_factory=dict, description="Filter, plug, belt, filler: the room that hands and tools need."
    )
    service: Service
    shop: Shop | None = None
    table: Table | None = None
    folder: Path = Field(default=Path(), exclude=True)


def json_schema() -> dict[str, Any]:
    """The published JSON Schema of the file, as editors use it to complete and check.

    It describes the file's form: a reading is one key (`tape A C`) with its value, a thing may be the
    mirror of another, and what reads as a number may stand without quotes.
    """
    schema: dict[str, Any] = _file_form(Job.model_json_schema(by_alias=True))
    del schema["properties"]["folder"]
    schema["description"] = schema["description"].partition("\n")[0]
    schema["$defs"]["Reading"] = _reading(schema["$defs"]["Reading"])
    for section in SECTIONS:
        things = schema["properties"][section]["patternProperties"]
        for pattern, thing in things.items():
            things[pattern] = {"anyOf": [thing, _mirror(schema, thing)]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Soapstone job"}


def _file_form(part: Any) -> Any:
    """Without what only stands in memory: nulls, and defaults that are no text."""
    if isinstance(part, list):
        return [_file_form(inner) for inner in part]
    if not isinstance(part, dict):
        return part
    form = {
        key: _file_form(value) for key, value in part.items() if key != "title" or isinstance(value, dict)
    }
    if not isinstance(form.get("default", ""), str):
        del form["default"]
    if "patternProperties" in form:
        form["additionalProperties"] = False
    if form.get("type") == "string" and "".join(form.get("examples", ["0"])).replace(".", "").isdecimal():
        form["type"] = ["string", "number"]
    choices = [choice for choice in form.get("anyOf", []) if choice != {"type": "null"}]
    if len(choices) == 1:
        form = choices[0] | {key: value for key, value in form.items() if key != "anyOf"}
    elif choices:
        form["anyOf"] = choices
    return _unquoted(form)


def _unquoted(form: dict[str, Any]) -> dict[str, Any]:
    """Choices that YAML takes for a number, as they stand without quotes."""
    choices = [form.pop("const")] if isinstance(form.get("const"), str) else form.get("enum")
    if choices:
        more = {"1": 1, "2": 2}
        form["enum"] = [*choices, *(more[choice] for choice in choices if choice in more)]
        form.pop("type", None)
    return form


_BESIDE = ("accuracy", "with", "in", "plane", "note")  # what may stand beside the value of a reading


def _reading(record: dict[str, Any]) -> dict[str, Any]:
    read = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
    keys = {"read": read} | {
        key: record["properties"][key] for key in ("accuracy", "with", "in", "plane", "note")
    }
    long = {"type": "object", "properties": keys, "required": ["read"], "additionalProperties": False}
    names = "|".join(kind + count * r"\s+\S+" for kind, count in KINDS.items())
    one = {
        "type": "object",
        "description": "One reading: tape A C: 41-7/8 in",
        "minProperties": 1,
        "maxProperties": 1,
        "propertyNames": {"pattern": rf"^\s*({names})\s*$"},
        "additionalProperties": {"anyOf": [*read["anyOf"], long]},
    }
    file = {
        "type": "object",
        "description": "A CSV file of readings, beside the job file",
        "properties": {"file": {"type": "string"}},
        "required": ["file"],
        "additionalProperties": False,
    }
    return {"anyOf": [one, file]}


def _mirror(schema: dict[str, Any], thing: dict[str, str]) -> dict[str, Any]:
    """The mirror of another thing, with the keys that differ."""
    keys = schema["$defs"][thing["$ref"].rpartition("/")[2]]["properties"]
    mirror = {"type": "string", "description": "The thing on the other side, left and right swapped."}
    return {
        "type": "object",
        "properties": {"mirror": mirror, **keys},
        "required": ["mirror"],
        "additionalProperties": False,
    }


def json_schema_text() -> str:
    """The same as text, stable from run to run."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False, sort_keys=False) + "\n"
