"""Names in what is forced on a frame: warmth, movements of the vehicle, holes that do not meet."""

from collections.abc import Iterator

from soapstone.job.faults import KeyPath, quote
from soapstone.job.names import Names
from soapstone.job.schema import Job
from soapstone.job.service import Case

Told = Iterator[tuple[KeyPath, str]]


def imposed_faults(job: Job, names: Names) -> Told:
    """Key path and fault of every name that leads nowhere or cannot be moved or warmed."""
    for name, case in job.service.cases.items():
        if isinstance(case, Case):
            yield from _warmed(job, names, ("service", "cases", name, "warmer"), case)
            for fork in case.moves:
                yield ("service", "cases", name, "moves"), _on_vehicle(job, names, fork)
    for name in job.misfit:
        yield ("misfit", name), names.unknown(name, "forks", "hangers") or _bolted(job, name)


def _warmed(job: Job, names: Names, path: KeyPath, case: Case) -> Told:
    for name in case.warmer:
        if name != "all":
            yield path, names.unknown(name, "members", "hangers")
    for name, material in job.materials.items():
        if case.warmer and material.expansion is None and _used(job, name, case):
            yield path, f"{name} has no expansion; give its material one, like 12 µm/(m·K)"


def _used(job: Job, material: str, case: Case) -> bool:
    """Whether anything that grows warmer is made of it."""
    of = {name: job.stock[tube.stock].of for name, tube in job.members.items() if tube.stock in job.stock}
    of |= {name: hanger.plate.of for name, hanger in job.hangers.items()}
    warmed = [metal for part, metal in of.items() if {"all", part} & set(case.warmer)]
    return material in warmed


def _on_vehicle(job: Job, names: Names, name: str) -> str:
    fork = job.forks.get(name)
    if fork is None:
        return names.unknown(name, "forks")
    if fork.on in job.members:
        return f"{name} stands on {fork.on}, which moves by itself; name a fork on the vehicle"
    return _bolted(job, name)


def _bolted(job: Job, name: str) -> str:
    fork, hanger = job.forks.get(name), job.hangers.get(name)
    if fork is not None and (fork.bolt is None or fork.holds is None):
        return f"{quote(name)} has no bolt and bung yet, so nothing is pulled into line there"
    if hanger is not None and hanger.bolt is None:
        return f"{quote(name)} has no bolt yet, so nothing is pulled into line there"
    return ""
