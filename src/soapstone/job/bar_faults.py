"""What a bar cannot do here: be landed on, be pinned, be coped or mitred."""

from collections.abc import Iterator

from soapstone.job.faults import KeyPath
from soapstone.job.hardware import Member
from soapstone.job.places import Spot, parse_place
from soapstone.job.schema import Job

Told = Iterator[tuple[KeyPath, str]]
_WAY_OUT = "make it a tube"
_SORTS = {
    "flat": "flat bar",
    "angle": "an angle",
    "channel": "a channel",
    "outline": "an outline of its own",
}


def bar_faults(job: Job) -> Told:
    """Key path and fault of every place where a bar is asked for what only tubes do."""
    bars = {name: sort for name in job.members if (sort := _sort(job, name))}
    for name, member in job.members.items():
        path = ("members", name)
        for key, text in (("from", member.from_), ("to", member.to)):
            yield (*path, key), _landed(job, bars, text)
            if name in bars and _name(text) in job.forks:
                yield (*path, key), f"a bolt pins a tube by its bung, and {name} is {bars[name]}; {_WAY_OUT}"
        for key, host in (("start on", member.start_on), ("end on", member.end_on)):
            if host in bars:
                yield (*path, key), _onto(host, bars[host])
        for key, cut in (("start cut", member.start_cut), ("end cut", member.end_cut)):
            if name in bars and cut not in (None, "square"):
                yield (
                    (*path, key),
                    f"{bars[name]} is cut square or to the face it lands on, not {cut}; {_WAY_OUT}",
                )
        if name in bars:
            yield from _of_tubes_alone(path, member, bars[name])
        for host in member.passes_through:
            if host in bars:
                yield (*path, "passes through"), f"{host} is {bars[host]}: holes are for tubes; {_WAY_OUT}"
        if member.heel is not None and name not in bars:
            yield (*path, "heel"), "a tube has no heel; this key belongs to an angle, a channel or an outline"
    for section in ("forks", "hangers"):
        for name, part in getattr(job, section).items():
            if part.on in bars:
                yield (section, name, "on"), _onto(part.on, bars[part.on])
    for name, bung in job.bungs.items():
        held = _name(bung.in_)
        if held in bars:
            yield (
                ("bungs", name, "in"),
                f"a bung sits in a tube, and {held} is {bars[held]}; {_WAY_OUT}",
            )
    for key, pull in (("lift", job.service.lift), ("tow", job.service.tow)):
        if pull is not None and (held := _name(pull.at)) in bars:
            yield ("service", key, "at"), f"{held} is {bars[held]}: a hook here wants a tube"


def _of_tubes_alone(path: KeyPath, member: Member, sort: str) -> Told:
    for key in ("through", "start slot", "end slot", "passes through"):
        if getattr(member, key.replace(" ", "_")):
            yield (*path, key), f"{sort} is straight and whole here, this is for tubes; {_WAY_OUT}"


def _sort(job: Job, name: str) -> str:
    stock = job.stock.get(job.members[name].stock)
    if stock is None or stock.tube is not None:
        return ""
    return next(words for key, words in _SORTS.items() if getattr(stock, key) is not None)


def _name(text: str) -> str:
    try:
        return parse_place(text).name
    except ValueError:  # told where the place itself is checked
        return ""


def _landed(job: Job, bars: dict[str, str], text: str) -> str:
    try:
        place = parse_place(text)
    except ValueError:
        return ""
    if place.name in bars and place.spot is not Spot.ITSELF and place.name not in job.points:
        return _onto(place.name, bars[place.name])
    return ""


def _onto(host: str, sort: str) -> str:
    return f"{host} is {sort}: nothing can be welded onto one here; {_WAY_OUT}, or land on a tube"
