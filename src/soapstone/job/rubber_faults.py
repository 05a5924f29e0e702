"""What does not fit together in mounts, and in what acts on a unit."""

from collections.abc import Iterator

from soapstone.job.faults import KeyPath, quote, remedy
from soapstone.job.names import Names
from soapstone.job.places import Spot, parse_place
from soapstone.job.pulls import Act
from soapstone.job.schema import Job
from soapstone.job.service import Case
from soapstone.tables.rows import table

Told = Iterator[tuple[KeyPath, str]]


def mount_faults(job: Job, names: Names) -> Told:
    """Key path and fault of every mount and joint."""
    holders: dict[str, str] = {}
    for name, mount in job.mounts.items():
        path = ("mounts", name)
        if mount.at is not None:
            yield (*path, "at"), names.unknown(mount.at, "hangers")
            if mount.at in holders:
                yield (*path, "at"), f"{mount.at} has the mount {holders[mount.at]} already"
            holders.setdefault(mount.at, name)
            yield (*path, "at"), _no_bolt(job, mount.at)
        else:
            yield (*path, "on"), names.unknown(mount.on or "", "supports")
            yield (*path, "carries"), names.misplaced(mount.carries or "", "bodies")
        if mount.rubber is not None:
            yield (*path, "rubber", "hardness"), _no_rubber(mount.rubber.hardness)
    yield from _half_on_rubber(job, holders)
    yield from _joints(job)


def _no_bolt(job: Job, hanger: str) -> str:
    spec = job.hangers.get(hanger)
    return f"{hanger} has no bolt, so that nothing hangs on it" if spec is not None and not spec.bolt else ""


def _no_rubber(hardness: float) -> str:
    known = [row["hardness"] for row in table("rubber")["grade"]]
    if min(known) <= hardness <= max(known):
        return ""
    return f"no rubber of hardness {hardness:g} is known; the table runs from {min(known)} to {max(known)}"


def _half_on_rubber(job: Job, holders: dict[str, str]) -> Told:
    """A body on rubber stands on rubber everywhere: a stiff tie beside it would take the load."""
    soft = {_body_of(job, name) for name in job.mounts}
    for name, hanger in job.hangers.items():
        body = hanger.carries.partition(".")[0]
        if body in soft and hanger.bolt is not None and name not in holders:
            told = (
                f"{body} stands on rubber, and {name} holds it without; give it a mount (a stiff bush is one)"
            )
            yield ("hangers", name), told


def _body_of(job: Job, mount: str) -> str:
    spec = job.mounts[mount]
    hanger = job.hangers.get(spec.at or "")
    text = spec.carries or (hanger.carries if hanger else "")
    return text.partition(".")[0].strip()


def _joints(job: Job) -> Told:
    for name, body in job.bodies.items():
        if body.joint is None:
            continue
        path: KeyPath = ("bodies", name, "joint")
        if body.joint.at not in body.points:
            told = f"{quote(body.joint.at)} is no point of {name}; {remedy(body.joint.at, body.points)}"
            yield (*path, "at"), told
        if body.joint.mass >= body.mass:
            yield (*path, "mass"), "one side of the joint is no heavier than the whole"
        for mount in body.joint.mounts:
            if mount not in job.mounts:
                yield (*path, "mounts"), f"{quote(mount)} is not in mounts; {remedy(mount, job.mounts)}"
            elif _body_of(job, mount) != name:
                yield (*path, "mounts"), f"{mount} carries {_body_of(job, mount)}"


def pull_faults(job: Job, names: Names) -> Told:
    """Key path and fault of everything that acts on a unit or its mount."""
    service = job.service
    if service.motor is not None:
        body = job.bodies.get(service.motor.body)
        for flange in service.motor.flanges:
            if body is not None and flange not in body.points:
                told = f"{quote(flange)} is no point of {service.motor.body}; {remedy(flange, body.points)}"
                yield ("service", "motor", "flanges"), told
    for name, belt in service.belts.items():
        path: KeyPath = ("service", "belts", name)
        yield (*path, "pulley"), names.misplaced(belt.pulley, "bodies") or _not_placed(job, belt.pulley)
        yield (*path, "other"), _no_point(names, belt.other)
    if service.propeller is not None:
        path = ("service", "propeller")
        told = names.unknown(service.propeller.body, "bodies") or _not_placed(job, service.propeller.body)
        yield (*path, "body"), told
        for key in ("aft", "ahead"):
            yield (*path, key), _no_point(names, getattr(service.propeller, key))
    for name, shake in service.shaking.items():
        path = ("service", "shaking", name, "body")
        yield path, names.unknown(shake.body, "bodies") or _not_placed(job, shake.body)
    for key in ("lift", "tow"):
        hook = getattr(service, key)
        if hook is not None:
            yield ("service", key, "at"), names.misplaced(hook.at, "members") or _no_hook(hook.at)
    for name, case in service.cases.items():
        if isinstance(case, Case):
            yield from _case(job, name, case)


def _not_placed(job: Job, text: str) -> str:
    body = text.partition(".")[0].strip()
    return (
        "" if body in job.place else f"{body} has no line in place, so that nothing is known of where it is"
    )


def _no_point(names: Names, spot: object) -> str:
    return names.unknown(spot, "points") if isinstance(spot, str) else ""


def _no_hook(text: str) -> str:
    place = parse_place(text)
    if place.spot in (Spot.MIDDLE, Spot.AT):
        return ""
    return f"{quote(text)}: a hook sits along a tube, like {place.name} middle or {place.name} at 200 mm"


def _case(job: Job, name: str, case: Case) -> Told:
    service = job.service
    path: KeyPath = ("service", "cases", name)
    given: dict[Act, object] = {
        "belts": service.belts,
        "brakes": service.brakes,
        "thrust ahead": service.propeller,
        "thrust astern": service.propeller,
        "lift": service.lift,
        "tow": service.tow,
    }
    for act in case.with_:
        if not given[act]:
            key = "propeller" if act.startswith("thrust") else act
            yield (*path, "with"), f"service.{key} is missing, so there is no {act}"
    if case.torque == "towed back" and service.grip is None:
        yield (*path, "torque"), "service.grip is missing, and nothing else bounds a locked wheel"
    motor, propeller = service.motor, service.propeller
    if "brakes" in case.with_ and (motor is None or motor.layout == "longitudinal"):
        yield (*path, "with"), "brakes sit on the half-shafts of service.motor, and there are none"
    thrust = any(act.startswith("thrust") for act in case.with_)
    if {"thrust ahead", "thrust astern"} <= set(case.with_):
        yield (*path, "with"), "a propeller does not push ahead and astern at once"
    if thrust and case.torque != "none" and motor and propeller and motor.body == propeller.body:
        yield (*path, "torque"), "the propeller's torque is the motor's; leave torque out, or it counts twice"
