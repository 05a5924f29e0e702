"""Readings: `- tape A C: 41-7/8 in` to a record, and a record to its value and standard deviation in SI."""

import math
import re
from collections.abc import Callable, Mapping
from typing import Any

from soapstone.job.faults import Report, quote, remedy, stands
from soapstone.job.fields import Amount, Vector
from soapstone.job.measured import KINDS, Instrument, NamedPlane, Point, Reading
from soapstone.job.schema import Job
from soapstone.quantity import Kind, parse, parse_directed, parse_directed_angle, parse_position

_INSTRUMENTS = {"plan": ("plan", "tape"), "offset": ("offset", "tape")}
_LONG = ("read", "accuracy", "with", "in", "plane", "note")
_FORM = "write a reading like tape A C: 41-7/8 in"
_EDGES = re.compile(
    r"(?P<length>.+?),\s+(?P<first>near edge|far edge|centre|centre edge) to "
    r"(?P<second>near edge|far edge|centre|centre edge)"
)
_WAY = re.compile(r"\b(up|down|left|right|forward|fwd|aft|back)\s*$")
_OUTWARD = {"far": -0.5, "near": 0.5, "centre": 0.0}


def reading_record(item: Any, place: str, report: Report) -> tuple[str, dict[str, Any]] | None:
    """The key as it stands, and the record's fields; None when it is no reading, which is reported.

    Parameters
    ----------
    item : mapping of one key
        `{"tape A C": "41-7/8 in"}` or `{"tape A C": {"read": …, "accuracy": …, "with": …}}`.
    place : str
        Where it stands, for messages.
    report : callable
        Takes the path below the reading and what is wrong.
    """
    if not isinstance(item, Mapping) or len(item) != 1:
        report((), f"{_FORM}; {stands(item)}")
        return None
    ((key, value),) = item.items()
    words = key.split()
    fault = _key_fault(words)
    if fault:
        report((key,), fault)
        return None
    record = {"kind": words[0], "points": words[1:], "place": place}
    if not isinstance(value, Mapping):
        return key, record | {"read": value}
    unknown = [name for name in value if name not in _LONG]
    for name in unknown:
        report((key, name), f"{name!r} is no key here; {remedy(name, _LONG)}")
    if "read" not in value:
        report((key,), "read is missing")
    return None if unknown or "read" not in value else (key, record | dict(value))


def _key_fault(words: list[str]) -> str:
    kind = words[0] if words else ""
    if kind not in KINDS:
        return f"{quote(kind)} is no kind of reading; {remedy(kind, KINDS)}"
    wanted, given = KINDS[kind], len(words) - 1
    if given != wanted:
        example = " ".join([words[0], *"ACDE"[:wanted]])
        return (
            f"{words[0]} is read at {wanted} point{'s' * (wanted > 1)}, {given} stand here; write {example}"
        )
    again = next((word for word in words[1:] if words[1:].count(word) > 1), "")
    if again:
        return f"read from {again} to itself" if wanted == 2 else f"{again} stands in it twice"
    return ""


def value_of(reading: Reading) -> float | Vector:
    """What was read, in SI.

    Returns
    -------
    float or tuple of three floats
        m for tape and plan (between centres), height (up positive) and offset (left positive); rad for
        level (up from the first to the second point positive); m, m, m for coordinates.

    Raises
    ------
    ValueError
        The text is not what this kind of reading reads.
    """
    text = reading.read
    if reading.kind == "coordinates":
        if isinstance(text, str):
            raise ValueError("a list in brackets belongs here, like [0 in aft, 16-1/2 in left, 12 in up]")
        return parse_position(text)
    if not isinstance(text, str):
        raise ValueError("one value belongs here, a list stands here")
    return _VALUES[reading.kind](text) + reading.to_centres


def _distance(text: str) -> float:
    edges = _EDGES.fullmatch(text)
    if edges is None and "edge" in text:
        raise ValueError(f"{quote(text)}: say near edge, far edge or centre, as seen from the other hole")
    length = parse(edges["length"] if edges else text, Kind.LENGTH)
    if length <= 0.0:
        raise ValueError(f"{text!r}: a distance is more than nothing")
    return length


def _height(text: str) -> float:
    if text.split()[-1:] not in (["up"], ["down"]):
        return parse(text, Kind.LENGTH)
    return parse_directed(text)[1]


def _offset(text: str) -> float:
    axis, distance = parse_directed(text)
    if axis != 1:
        raise ValueError(f"{text!r}: an offset is to the left or to the right")
    return distance


def _touching(text: str, words: str) -> float:
    if " ".join(text.split()) != words:
        raise ValueError(f"{quote(text)}: write {words}")
    return 0.0


_VALUES: Mapping[str, Callable[[str], float]] = {
    "tape": _distance,
    "plan": _distance,
    "height": _height,
    "offset": _offset,
    "level": parse_directed_angle,
    "straight": lambda text: _touching(text, "in line"),
    "flush": lambda text: _touching(text, "in plane"),
}


def to_centres(reading: Reading, points: Mapping[str, Point]) -> float:
    """What makes a length between two edges of holes one between their centres, m.

    `far edge to far edge` of holes d1 and d2 is half of d1 + d2 too long, and so on: near and far as
    seen from the other hole.

    Raises
    ------
    ValueError
        A point is no hole of known diameter.
    """
    edges = _EDGES.fullmatch(reading.read) if isinstance(reading.read, str) else None
    if edges is None or reading.kind not in ("tape", "plan"):
        return 0.0
    total = 0.0
    for name, edge in zip(reading.points, (edges["first"], edges["second"]), strict=True):
        point = points.get(name)
        if edge.startswith("centre"):
            continue
        if point is None or point.hole is None:
            raise ValueError(f"read at an edge, so the diameter of {name} is needed; give points.{name}.hole")
        total += _OUTWARD[edge.split()[0]] * point.hole
    return total


def fault_beside(reading: Reading, planes: Mapping[str, NamedPlane], points: Mapping[str, Point]) -> str:
    """What is wrong with the plane or the stand of a reading; nothing where all is well."""
    if reading.in_ is not None and reading.kind != "coordinates":
        return f"{reading.kind} has no stand; in belongs to coordinates"
    if reading.plane is None:
        return ""
    if reading.kind not in ("height", "offset"):
        return f"{reading.kind} is taken from no plane; plane belongs to a height or an offset"
    plane = planes.get(reading.plane)
    if plane is None:
        return f"{quote(reading.plane)} is not in planes; {remedy(reading.plane, planes)}"
    lost = [name for name in plane.through if name not in points]
    if lost:
        return f"plane {reading.plane}: {quote(lost[0])} is not in points; {remedy(lost[0], points)}"
    if reading.points[0] in plane.through or len({*plane.through}) < len(plane.through):
        return f"plane {reading.plane} needs three points other than {reading.points[0]}"
    return ""


def written_number(reading: Reading) -> str:
    """The number of a reading with its unit as it was written; without edges and words of direction."""
    if not isinstance(reading.read, str):
        return ""
    edges = _EDGES.fullmatch(reading.read)
    return _WAY.sub("", edges["length"] if edges else reading.read).strip()


def instrument_of(reading: Reading, instruments: Mapping[str, Instrument]) -> str:
    """Name of the instrument: the one named `with`, else the one of this kind of reading.

    Raises
    ------
    ValueError
        The job has no such instrument.
    """
    wanted = (reading.with_,) if reading.with_ else _INSTRUMENTS.get(reading.kind, (reading.kind,))
    found = next((name for name in wanted if name in instruments), None)
    if found is None:
        raise ValueError(f"no instrument called {' or '.join(wanted)}; {remedy(wanted[0], instruments)}")
    return found


def accuracy_of(reading: Reading, instruments: Mapping[str, Instrument]) -> tuple[Amount, Amount]:
    """Accuracy and step of a reading; its own accuracy comes before the instrument's.

    Raises
    ------
    ValueError
        No instrument, or one that reads angles where a length is read, or the other way round.
    """
    name = ""
    if reading.accuracy is None or reading.with_ or _has_instrument(reading, instruments):
        name = instrument_of(reading, instruments)
    step = instruments[name].reads_to if name else Amount()
    accuracy = reading.accuracy or instruments[name].accuracy
    of = "this reading" if reading.accuracy else name
    if reading.kind == "level" and (accuracy.fixed or step.fixed):
        raise ValueError(f"a level reads angles, but the accuracy of {of} is a length; write it like 0.1 deg")
    if reading.kind != "level" and (accuracy.angle or step.angle or step.per_length):
        raise ValueError(
            f"{reading.kind} reads lengths, but the accuracy of {of} is an angle; write it like 1 mm"
        )
    return accuracy, step


def _has_instrument(reading: Reading, instruments: Mapping[str, Instrument]) -> bool:
    return any(name in instruments for name in _INSTRUMENTS.get(reading.kind, (reading.kind,)))


def sigma_of(reading: Reading, job: Job, length: float) -> float:
    """One standard deviation of a reading.

    The accuracy (fixed + per length · length) and the step it is read to, whose error is uniform over
    the step and so has the standard deviation step / √12, added in quadrature.

    Parameters
    ----------
    length : float
        m, the distance measured; of no account for a level.

    Returns
    -------
    float
        m, or rad for a level. A slope is small: its rise over run is taken as the angle.
    """
    accuracy, step = accuracy_of(reading, job.instruments)
    if reading.kind == "level":
        return math.hypot(
            accuracy.angle + accuracy.per_length, (step.angle + step.per_length) / math.sqrt(12.0)
        )
    return math.hypot(accuracy.fixed + accuracy.per_length * abs(length), step.fixed / math.sqrt(12.0))
