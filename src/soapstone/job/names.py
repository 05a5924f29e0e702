"""Which names the job gives to what, and whether a place or a name in it leads to something."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from soapstone.job.faults import quote, remedy
from soapstone.job.places import Place, Spot, parse_place
from soapstone.job.schema import Job
from soapstone.tables import materials

# One name, one thing: these share one list of names, because places and findings use the bare name.
SHARED = (
    "points",
    "bodies",
    "obstacles",
    "supports",
    "members",
    "bungs",
    "forks",
    "hangers",
    "mounts",
    "plates",
    "folded",
    "turned",
)
_PLACES = ("points", "forks", "members", "bodies")
_ONE = {
    "points": "a point",
    "bodies": "a body",
    "obstacles": "an obstacle",
    "supports": "a support",
    "members": "a member",
    "bungs": "a bung",
    "forks": "a fork",
    "hangers": "a hanger",
    "mounts": "a mount",
    "plates": "a plate",
    "folded": "a folded tube",
    "turned": "a turned part",
}


@dataclass(frozen=True)
class Names:
    """The names that stand in the file, also of things that could not be read.

    Attributes
    ----------
    job : Job
        What could be read.
    given : mapping of str to (tuple of str, or None)
        By section; None for a section that could not be read at all, where any name may be right.
    """

    job: Job
    given: Mapping[str, tuple[str, ...] | None]

    def of(self, *sections: str) -> tuple[str, ...] | None:
        """All names of some sections; None when one of them could not be read."""
        found: list[str] = []
        for section in sections:
            names = self.given.get(section, ())
            if names is None:
                return None
            found += names
        return tuple(found)

    def unknown(self, name: str, *sections: str) -> str:
        """What is wrong with a name that belongs to one of the sections; nothing when it is there."""
        names = self.of(*sections)
        if names is None or name in names:
            return ""
        return f"{quote(name)} is not in {' or '.join(sections)}; {remedy(name, names)}"

    def section_of(self, name: str, sections: Iterable[str] = SHARED) -> str:
        """The section that has a name, or nothing."""
        return next((s for s in sections if name in (self.given.get(s) or ())), "")

    def misplaced(self, text: str, *sections: str) -> str:
        """What is wrong with a place, of certain sections when some are given; else nothing."""
        try:
            place = parse_place(text)
        except ValueError as error:
            return str(error)
        allowed = sections or _PLACES
        section = self.section_of(place.name, allowed)
        if not section:
            names = self.of(*allowed)
            words = " nor ".join(_ONE[s] for s in allowed if s != "bodies")
            either = "neither " if len(allowed) > 1 else "not "
            told = f"{quote(place.name)} is {either}{words}; {remedy(place.name, names or ())}"
            return "" if names is None else told
        return self._wrong_spot(place, section)

    def _wrong_spot(self, place: Place, section: str) -> str:
        if section == "bodies":
            return self._wrong_body_point(place)
        if place.point:
            return f"{place.name} is {_ONE[section]} and has no points of its own"
        if section != "members" and place.spot is not Spot.ITSELF:
            return f"{place.name} is {_ONE[section]}; only members have a start, a middle and an end"
        if section == "members" and place.spot is Spot.ITSELF:
            name = place.name
            return f"say where on {name}: {name} start, {name} end, {name} middle or {name} at 6 in"
        if place.distance < 0.0:
            return "a distance along a member is measured from its start or its end, and is not negative"
        return ""

    def _wrong_body_point(self, place: Place) -> str:
        body = self.job.bodies.get(place.name)
        if not place.point:
            example = next(iter(body.points), "") if body else ""
            return f"{place.name} is a body; name a point of it, like {place.name}.{example or 'boss'}"
        if body is None or place.point in body.points:
            return "" if place.spot is Spot.ITSELF else "only members have a start, a middle and an end"
        return f"{quote(place.point)} is no point of {place.name}; {remedy(place.point, body.points)}"

    def unknown_material(self, name: str) -> str:
        """What is wrong with a material: it is neither the job's own nor in the table."""
        own = self.of("materials")
        known = (*(own or ()), *materials())
        spelled = {" ".join(one.split()).casefold() for one in materials()}
        if own is None or name in own or " ".join(name.split()).casefold() in spelled:
            return ""
        return f"{quote(name)} is no material of the job or of the table; {remedy(name, known)}"
