"""Sizes that cannot be: a tube of no length, a hole with no metal around it, a bolt too thick for it."""

from collections.abc import Iterator

from soapstone.errors import SoapstoneError
from soapstone.job.faults import KeyPath, millimetres
from soapstone.job.fields import Vector
from soapstone.job.hardware import Bung, Fork, Hanger, Member
from soapstone.job.places import Place, Spot, parse_place
from soapstone.job.schema import Job
from soapstone.tables import clearance_hole, parse_bolt

Told = Iterator[tuple[KeyPath, str]]


def size_faults(job: Job) -> Told:
    """Key path and fault of every size that does not go with another."""
    for name, member in job.members.items():
        if _same_place(job, member):
            yield ("members", name), f"has no length: from and to are the same place ({member.from_.strip()})"
    for name, fork in job.forks.items():
        yield from _tab(("forks", name), fork)
        if fork.hole is not None or fork.bolt is not None:
            yield from _short_side(("forks", name), "reach", fork.reach, _hole(fork.bolt, fork.hole))
    for name, hanger in job.hangers.items():
        yield from _tab(("hangers", name), hanger)
    bolts = {fork.holds: fork.bolt for fork in job.forks.values()}
    for name, bung in job.bungs.items():
        yield ("bungs", name), _no_wall(bung, bolts.get(name))


def _same_place(job: Job, member: Member) -> bool:
    try:
        places = [_settled(job, parse_place(text)) for text in (member.from_, member.to)]
    except ValueError:  # told where the place itself is checked
        return False
    if places[0] == places[1]:
        return True
    given = [_given(job, place) for place in places]
    return given[0] is not None and given[0] == given[1]


def _settled(job: Job, place: Place) -> Place:
    """A fork is where its point is; `at 0 in` is the start, or the end when measured from there."""
    fork = job.forks.get(place.name)
    if fork is not None and place.spot is Spot.ITSELF:
        return parse_place(fork.at)
    if place.spot is Spot.AT and place.distance == 0.0:
        return Place(place.name, place.point, Spot.END if place.from_end else Spot.START)
    return place


def _given(job: Job, place: Place) -> Vector | None:
    point = job.points.get(place.name)
    return point.at if point is not None else None


def _bolt_diameter(bolt: str | None) -> float:
    try:
        return parse_bolt(bolt)[0].diameter if bolt else 0.0
    except SoapstoneError:  # told where the bolt itself is checked
        return 0.0


def _hole(bolt: str | None, hole: float | None) -> float:
    """The hole as given, else the bolt's clearance hole (at least its diameter); 0 without either."""
    if hole is not None:
        return hole
    try:
        return clearance_hole(parse_bolt(bolt)[0]).diameter if bolt else 0.0
    except SoapstoneError:
        return _bolt_diameter(bolt)


def _tab(path: KeyPath, part: Fork | Hanger) -> Told:
    hole, bolt = _hole(part.bolt, part.hole), _bolt_diameter(part.bolt)
    if hole >= part.width:
        wide = millimetres(part.width)
        yield path, f"the hole ({millimetres(hole)}) is larger than the plate is wide ({wide})"
    if part.end is not None:
        yield from _short_side(path, "end", part.end, hole)
    if bolt > hole:
        yield path, f"the bolt ({millimetres(bolt)}) does not go through the hole ({millimetres(hole)})"


def _short_side(path: KeyPath, key: str, size: float, hole: float) -> Told:
    if hole / 2.0 >= size:
        told = f"the hole ({millimetres(hole)}) reaches past the edge, {millimetres(size)} from its centre"
        yield (*path, key), told


def _no_wall(bung: Bung, bolt: str | None) -> str:
    bore, diameter = _hole(bolt, bung.bore), _bolt_diameter(bolt)
    if bore >= bung.outside:
        return f"the bore ({millimetres(bore)}) is larger than the outside ({millimetres(bung.outside)})"
    if diameter > bore:
        return f"the bolt ({millimetres(diameter)}) does not go through the bore ({millimetres(bore)})"
    return ""
