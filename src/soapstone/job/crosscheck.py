"""What no record sees alone: names that lead nowhere, names used twice, loops, missing scans."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath

from soapstone.errors import SoapstoneError
from soapstone.job.bar_faults import bar_faults
from soapstone.job.check_parts import part_faults
from soapstone.job.faults import KeyPath, millimetres, quote, remedy
from soapstone.job.hardware import Fork, Hanger, Member, Shape
from soapstone.job.imposed import imposed_faults
from soapstone.job.loops import loops
from soapstone.job.names import SHARED, Names
from soapstone.job.places import parse_place
from soapstone.job.posing_faults import face_faults, jack_faults, wanted_faults
from soapstone.job.readings import accuracy_of, fault_beside, to_centres, value_of
from soapstone.job.rubber_faults import mount_faults, pull_faults
from soapstone.job.schema import Job
from soapstone.job.shaft_faults import shaft_faults
from soapstone.job.sizes import size_faults
from soapstone.quantity import Kind, Style
from soapstone.tables import filler, load_factor, parse_bolt

Told = Iterator[tuple[KeyPath, str]]
_SAME_TUBE = 2e-4  # m; a die takes tubes whose sizes differ by less than they are drawn to


def crosscheck(
    job: Job, given: Mapping[str, tuple[str, ...] | None], folder: Path
) -> list[tuple[KeyPath, str]]:
    """Key path and fault of everything that does not fit together.

    Parameters
    ----------
    job : Job
        What could be read of the file.
    given : mapping of str to (tuple of str, or None)
        Names in the file by section, also of what could not be read (see `Names`).
    folder : Path
        The job's folder: scans must lie in it.
    """
    names = Names(job, given)
    checks = (
        _shared_names(names),
        _points(job, names),
        _readings(job, names),
        _body_readings(job, names),
        _sides(job, names),
        _placement(job, names),
        _stock(job, names),
        _bosses(job, names),
        _supports(job, names),
        _members(job, names),
        _bungs(job, names),
        _forks(job, names),
        _hangers(job, names),
        _welds(job, names),
        _bolt_up(job, names),
        _ways_in(job, names),
        _service(job, names),
        imposed_faults(job, names),
        _show(job),
        _scans(job, folder),
        _circles(job, names),
        face_faults(job),
        jack_faults(job, names),
        shaft_faults(job, names),
        size_faults(job),
        mount_faults(job, names),
        pull_faults(job, names),
        part_faults(job, names, folder),
        bar_faults(job),
    )
    return [(path, what) for check in checks for path, what in check if what]


def _shared_names(names: Names) -> Told:
    seen: dict[str, str] = {}
    for section in SHARED:
        for name in names.given.get(section) or ():
            if name in seen:
                yield (section, name), f"stands in {seen[name]} too; one name, one thing"
            seen.setdefault(name, section)


def _points(job: Job, names: Names) -> Told:
    for name, point in job.points.items():
        if point.from_ is not None:
            yield ("points", name, "from"), names.misplaced(point.from_)


def _readings(job: Job, names: Names) -> Told:
    instruments_read = names.of("instruments") == tuple(job.instruments)
    for index, reading in enumerate(job.readings):
        path = ("readings", index)
        unknown = [fault for name in reading.points if (fault := names.unknown(name, "points"))]
        yield from ((path, fault) for fault in unknown)
        yield path, fault_beside(reading, job.planes, job.points)
        try:
            value_of(reading)
            if all(name in job.points for name in reading.points):
                to_centres(reading, job.points)
        except ValueError as error:
            yield path, str(error)
        try:
            if instruments_read:
                accuracy_of(reading, job.instruments)
        except ValueError as error:
            yield path, str(error)


def _body_readings(job: Job, names: Names) -> Told:
    """Readings on the shop floor know the body's own points and no planes of the vehicle."""
    instruments_read = names.of("instruments") == tuple(job.instruments)
    taken = [(body, i, one) for body, own in job.bodies.items() for i, one in enumerate(own.readings)]
    for body, index, reading in taken:
        path = ("bodies", body, "readings", index)
        points = job.bodies[body].points
        for name in reading.points:
            if name not in points:
                yield path, f"{quote(name)} is no point of {body}; {remedy(name, points)}"
        if reading.kind == "offset" or reading.plane is not None:
            yield path, "on the shop floor there is no plane of the vehicle; a height counts from the floor"
        if isinstance(reading.read, str) and "edge" in reading.read:
            yield path, "read the points of a body centre to centre"
        yield path, fault_beside(reading, {}, {}) if reading.plane is None else ""
        try:
            value_of(reading)
            if instruments_read:
                accuracy_of(reading, job.instruments)
        except ValueError as error:
            yield path, str(error)


def _sides(job: Job, names: Names) -> Told:
    for index, (first, _, second) in enumerate(job.sides):
        yield ("sides", index), names.unknown(first, "points") or names.unknown(second, "points")


def _placement(job: Job, names: Names) -> Told:
    for name, put in job.place.items():
        path = ("place", name)
        yield path, names.unknown(name, "bodies")
        body = job.bodies.get(name)
        for own in (*put.match, *([put.point] if put.point else [])):
            if body is not None and own not in body.points:
                yield path, f"{quote(own)} is no point of {name}; {remedy(own, body.points)}"
        for own, point in put.match.items():
            yield (*path, "match", own), names.misplaced(point, "points")
        if isinstance(put.at, str):
            yield (*path, "at"), names.misplaced(put.at, "points")
        if body is not None:
            yield from wanted_faults(name, body, put, names)
        if put.match and len(set(put.match.values())) < 3:
            count = len(set(put.match.values()))
            yield (*path, "match"), f"three points or more are needed to place a body, {count} stand here"


def _stock(job: Job, names: Names) -> Told:
    for name, stock in job.stock.items():
        yield ("stock", name, "of"), names.unknown_material(stock.of)


def _bosses(job: Job, names: Names) -> Told:
    for name, body in job.bodies.items():
        for point, boss in body.bosses.items():
            path = ("bodies", name, "bosses", point)
            if point not in body.points:
                yield path, f"{quote(point)} is no point of {name}; {remedy(point, body.points)}"
            yield (*path, "of"), names.unknown_material(boss.of)


def _supports(job: Job, names: Names) -> Told:
    for name, support in job.supports.items():
        path = ("supports", name)
        if support.wall is not None:
            yield (*path, "wall"), names.unknown_material(support.wall.of)
        if support.is_ is not None:
            yield (*path, "is"), names.unknown(support.is_, "obstacles")
        if support.bolted is not None:
            yield (*path, "bolted", "bolt"), _refused(parse_bolt, support.bolted.bolt)
            if support.bolted.crush_tube_of is not None:
                unknown = names.unknown_material(support.bolted.crush_tube_of)
                yield (*path, "bolted", "crush tube of"), unknown
        if support.sheet is not None:
            yield (*path, "sheet", "plate"), names.unknown_material(support.sheet.plate.of)
            if support.sheet.spreader is not None:
                yield (*path, "sheet", "spreader"), names.unknown_material(support.sheet.spreader.of)


def _members(job: Job, names: Names) -> Told:
    for name, member in job.members.items():
        path = ("members", name)
        yield (*path, "from"), names.misplaced(member.from_)
        yield (*path, "to"), names.misplaced(member.to)
        for index, corner in enumerate(member.through):
            yield (*path, "through", index), names.misplaced(corner)
        yield (*path, "stock"), names.unknown(member.stock, "stock")
        yield from _bent(job, names, path, member)
        for key, other in (("start on", member.start_on), ("end on", member.end_on)):
            if other == name:
                yield (*path, key), "a tube cannot land on itself"
            elif other is not None:
                yield (*path, key), names.unknown(other, "members")
        for other in member.passes_through:
            told = "a tube cannot pass through itself" if other == name else names.unknown(other, "members")
            yield (*path, "passes through", other), told


def _bent(job: Job, names: Names, path: KeyPath, member: Member) -> Told:
    stock = job.stock.get(member.stock)
    sizes = None if stock is None else stock.tube
    if member.through and sizes is not None and len(sizes) == 3:
        yield (*path, "through"), "only round tube is bent on a die; a rectangular one is folded"
    if member.bender is None:
        return
    yield (*path, "bender"), names.unknown(member.bender, "benders")
    bender = job.benders.get(member.bender)
    if bender is not None and sizes is not None and abs(sizes[0] - bender.tube) > _SAME_TUBE:
        die, tube = millimetres(bender.tube), millimetres(sizes[0])
        yield (*path, "bender"), f"the die of {member.bender} takes {die} and {member.stock} is {tube}"


def _bungs(job: Job, names: Names) -> Told:
    held = {fork.holds for fork in job.forks.values()}
    forks_known = names.of("forks") == tuple(job.forks)
    ends: dict[str, str] = {}
    for name, bung in job.bungs.items():
        path = ("bungs", name)
        fault = names.misplaced(bung.in_, "members") or _no_end(bung.in_)
        yield (*path, "in"), fault
        yield (*path, "of"), names.unknown_material(bung.of)
        end = " ".join(bung.in_.split())
        if not fault and end in ends:
            yield (*path, "in"), f"{end} has the bung {ends[end]} already"
        ends.setdefault(end, name)
        if forks_known and name not in held:
            yield path, f"no fork holds it; give one of the forks holds: {name}"


def _no_end(text: str) -> str:
    place = parse_place(text)
    ends = f"{place.name} start or {place.name} end"
    return "" if place.spot in ("start", "end") else f"{quote(text)} is no end of a tube; write {ends}"


def _forks(job: Job, names: Names) -> Told:
    holders: dict[str, str] = {}
    for name, fork in job.forks.items():
        path = ("forks", name)
        yield (*path, "at"), names.misplaced(fork.at)
        yield (*path, "on"), names.unknown(fork.on, "supports", "members")
        yield from _plate_and_bolt(path, fork, names)
        if fork.holds is None:
            continue
        yield (*path, "holds"), names.unknown(fork.holds, "bungs")
        if fork.holds in holders:
            yield (*path, "holds"), f"{fork.holds} is held by {holders[fork.holds]} already"
        holders.setdefault(fork.holds, name)
        yield (*path, "holds"), _elsewhere(job, name, fork)


def _elsewhere(job: Job, name: str, fork: Fork) -> str:
    """A fork's bung sits where the fork is: the tube end with the bung must go to the fork or its point."""
    bung = job.bungs.get(fork.holds or "")
    tube, _, end = (bung.in_ if bung else "").partition(" ")
    member = job.members.get(tube)
    if member is None or end.strip() not in ("start", "end"):
        return ""
    goes_to = member.from_ if end.strip() == "start" else member.to
    if goes_to.strip() in (name, fork.at.strip()):
        return ""
    return f"{fork.holds} is in {tube} {end.strip()}, which goes to {goes_to} and not to {name}"


def _plate_and_bolt(path: KeyPath, part: Fork | Hanger, names: Names) -> Told:
    yield (*path, "plate"), names.unknown_material(part.plate.of)
    if part.bolt is not None:
        yield (*path, "bolt"), _refused(parse_bolt, part.bolt)


def _refused(read: object, text: str) -> str:
    try:
        read(text)  # type: ignore[operator]
    except SoapstoneError as error:
        return str(error)
    return ""


def _hangers(job: Job, names: Names) -> Told:
    for name, hanger in job.hangers.items():
        path = ("hangers", name)
        yield (*path, "on"), names.unknown(hanger.on, "members")
        yield (*path, "carries"), names.misplaced(hanger.carries, "bodies")
        yield from _plate_and_bolt(path, hanger, names)


def _welds(job: Job, names: Names) -> Told:
    for name, weld in job.welds.items():
        if name != "default":
            yield ("welds", name), _no_joint(name, names)
        if weld.filler is not None:
            yield ("welds", name, "filler"), _refused(filler, weld.filler)


def _no_joint(name: str, names: Names) -> str:
    sections = ("members", "bungs", "forks", "hangers")
    if names.section_of(name, sections):
        return ""
    return names.misplaced(name, *sections)


def _bolt_up(job: Job, names: Names) -> Told:
    for name in job.bolt_up.take_up if job.bolt_up else ():
        yield ("bolt up", "take up", name), names.unknown(name, "forks", "hangers")


def _ways_in(job: Job, names: Names) -> Told:
    seen: set[str] = set()
    for number, stage in enumerate(job.way_in):
        for name in stage.move.split(" with "):
            path = ("way in", str(number), "move")
            if name in seen:
                yield path, f"{name} is brought in twice"
            elif name != "frame":
                yield path, names.unknown(name, "members", "bodies")
            seen.add(name)


def _service(job: Job, names: Names) -> Told:
    motor = job.service.motor
    if motor is not None:
        yield ("service", "motor", "body"), names.unknown(motor.body, "bodies")
    for name, case in job.service.cases.items():
        if case == "from table":
            yield ("service", "cases", name), _refused(load_factor, name)
        elif not isinstance(case, str) and case.torque != "none" and motor is None:
            yield ("service", "cases", name, "torque"), "service.motor is missing, so there is no torque"


def _show(job: Job) -> Told:
    for kind in (Kind.LENGTH, Kind.FORCE, Kind.TORQUE, Kind.MASS, Kind.STRESS, Kind.ANGLE):
        yield (
            ("show", kind.value),
            _refused(lambda text, kind=kind: Style.read(kind, text), getattr(job.show, kind)),
        )


def _scans(job: Job, folder: Path) -> Told:
    for path, shape in _shapes(job):
        if shape.scan is not None:
            yield (*path, "scan"), _no_scan(shape.scan, folder)


def _shapes(job: Job) -> Iterator[tuple[KeyPath, Shape]]:
    for name, body in job.bodies.items():
        yield from _numbered(("bodies", name, "envelope"), body.envelope)
    for name, obstacle in job.obstacles.items():
        yield from _numbered(("obstacles", name, "shapes"), obstacle.shapes)


def _numbered(path: KeyPath, shapes: Iterable[Shape]) -> Iterator[tuple[KeyPath, Shape]]:
    for index, shape in enumerate(shapes):
        yield (*path, index), shape


def _no_scan(text: str, folder: Path) -> str:
    inside = "a scan lies in the job's folder; copy it there and give its name"
    windows = PureWindowsPath(text)
    if PurePosixPath(text).is_absolute() or windows.drive or windows.root or ".." in windows.parts:
        return f"{quote(text)} leaves the job's folder; {inside}"
    try:
        if not (folder / text).resolve().is_relative_to(folder.resolve()):
            return f"{quote(text)} leaves the job's folder; {inside}"
        if (folder / text).is_file():
            return ""
        near = remedy(
            text, sorted(p.name for p in folder.iterdir() if p.suffix in (".stl", ".ply", ".obj", ".glb"))
        )
    except (OSError, RuntimeError, ValueError):  # a name no file can have, a link to itself
        near = inside
    return f"{quote(text)} is no file in the job's folder; {near}"


def _circles(job: Job, names: Names) -> Told:
    for loop in loops(job):
        section = names.section_of(loop[0], ("points", "members", "forks", "bodies"))
        yield (section, loop[0]), f"a loop of places, none of which comes first: {' -> '.join(loop)}"
