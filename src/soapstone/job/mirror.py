"""`{mirror: side_left}`: the same thing on the other side, with left and right swapped in every name.

The vehicle's own middle plane is the mirror: a place on a thing that is its own mirror image (a cross
tube) changes ends, so `cross_1 at 6 in` becomes `cross_1 at 6 in from end`.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from soapstone.job.faults import Report, quote, remedy
from soapstone.job.places import NAME

SECTIONS = ("members", "bungs", "forks", "hangers", "mounts")
_PLACES = ("from", "to", "in", "at")
_NAMES = ("on", "start on", "end on", "points", "holds", "carries", "heel")
_DIRECTIONS = ("axis", "along", "start face", "end face", "faces")
_SLOTS = ("start slot", "end slot")
_SIDE = re.compile(r"(?<![^\W_])(left|right)(?![^\W_])", re.IGNORECASE)
_OTHER = {
    "left": "right",
    "right": "left",
    "Left": "Right",
    "Right": "Left",
    "LEFT": "RIGHT",
    "RIGHT": "LEFT",
}
_SPOT = re.compile(
    rf"\s*(?P<name>{NAME})\s+(?P<spot>start|end|middle|at\s+(?P<distance>.+?)(?P<origin>\s+from\s+(?:start|end))?)\s*"
)
MOST_MIRRORS = 8

Section = Mapping[str, Any]


def other_side(name: str) -> str:
    """`rail_left` to `rail_right`: whole words between joints, not the letters inside `cleft`."""
    return _SIDE.sub(lambda found: _OTHER.get(found[0], _OTHER[found[0].lower()]), name)


def expand_mirrors(data: dict[str, Any], report: Report) -> dict[str, Any]:
    """The job with every mirror written out; one that cannot be is reported and left out.

    Parameters
    ----------
    data : dict
        The file as plain dicts, lists and texts; not changed.
    report : callable
        Takes a key path and what is wrong there.
    """
    members = data.get("members")
    expander = _Mirrors(members if isinstance(members, dict) else {}, report)
    return data | {
        name: expander.section(name, data[name]) for name in SECTIONS if isinstance(data.get(name), dict)
    }


class _Mirrors:
    def __init__(self, members: Section, report: Report) -> None:
        self.members = members
        self.report = report
        self.loops: set[frozenset[str]] = set()

    def section(self, section: str, things: Section) -> dict[str, Any]:
        written = {name: self.written(section, name, things) for name in things}
        return {name: thing for name, thing in written.items() if thing is not None}

    def written(self, section: str, name: str, things: Section) -> Any:
        """The thing written out; None when its mirror leads nowhere."""
        chain = [name]
        while _is_mirror(things[chain[-1]]):
            of = things[chain[-1]]["mirror"]
            fault = self.fault(section, chain, of, things)
            if fault is not None:
                if fault:
                    self.report((section, name, "mirror"), fault)
                return None
            chain.append(of)
        thing = things[chain.pop()]
        if chain and not isinstance(thing, dict):
            return None
        for copy in reversed(chain):
            own = {key: value for key, value in things[copy].items() if key != "mirror"}
            thing = {key: self.value(key, value) for key, value in thing.items() if key != "note"} | own
        return thing

    def fault(self, section: str, chain: list[str], of: Any, things: Section) -> str | None:
        """What is wrong with the next step; empty when it is told elsewhere, None when all is well."""
        if not isinstance(of, str) or of not in things:
            others = [name for name in things if name not in chain]
            told = f"{quote(of)} is not in {section}; {remedy(str(of), others)}"
            return told if len(chain) == 1 else ""
        if of in chain:
            loop = frozenset(chain[chain.index(of) :])
            fresh = of == chain[0] and loop not in self.loops
            if not fresh:
                return ""
            self.loops.add(loop)
            return f"mirrors that go round in a loop: {' -> '.join([*chain, of])}"
        return (
            "a mirror of a mirror of a mirror; name the thing itself" if len(chain) > MOST_MIRRORS else None
        )

    def value(self, key: str, value: Any) -> Any:
        if key in _PLACES and isinstance(value, str):
            return self.place(value)
        if key == "through" and isinstance(value, list):
            return [self.place(part) if isinstance(part, str) else part for part in value]
        if key in _NAMES and isinstance(value, str):
            return other_side(value)
        if key in _DIRECTIONS and isinstance(value, list) and len(value) == 3:
            return [value[0], _negative(value[1]), value[2]]
        if key in _SLOTS and isinstance(value, dict):
            return {inner: self.value(inner, part) for inner, part in value.items()}
        if key == "passes through" and isinstance(value, dict):
            return {other_side(str(name)): part for name, part in value.items()}
        return value

    def place(self, text: str) -> str:
        swapped = other_side(text)
        found = _SPOT.fullmatch(text)
        if swapped != text or not found or not self.crosses(found["name"]):
            return swapped
        name, spot = found["name"], found["spot"]
        if spot == "middle":
            return text
        if spot in ("start", "end"):
            return f"{name} {'end' if spot == 'start' else 'start'}"
        from_end = (found["origin"] or "").endswith("end")
        return f"{name} at {found['distance']}" + ("" if from_end else " from end")

    def crosses(self, name: str) -> bool:
        """Whether a member runs from side to side; one between two middles lies in the mirror itself."""
        member = self.members.get(name)
        if not isinstance(member, dict):
            return False
        ends: Iterable[str] = (str(member.get("from", "")), str(member.get("to", "")))
        return not all(end.split()[1:] == ["middle"] for end in ends)


def _is_mirror(thing: Any) -> bool:
    return isinstance(thing, dict) and "mirror" in thing


def _negative(part: Any) -> Any:
    if not isinstance(part, str) or part.strip() in ("0", "0.0"):
        return part
    return part.strip()[1:] if part.strip().startswith("-") else f"-{part.strip().removeprefix('+')}"
