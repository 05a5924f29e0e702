"""Things placed on each other in a circle: `A -> brace -> A`."""

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from soapstone.job.places import parse_place
from soapstone.job.schema import Job


def loops(job: Job) -> Iterator[list[str]]:
    """Every loop of things that are placed on each other, its first name (in the file's order) repeated
    at the end; loops that share a thing are told one at a time."""
    graph = dict(_leans_on(job))
    order = {name: rank for rank, name in enumerate(graph)}
    while loop := _one_loop(graph):
        first = loop.index(min(loop, key=lambda name: order[name]))
        yield [*loop[first:], *loop[:first], loop[first]]
        for name in loop:
            graph[name] = set()


def _one_loop(graph: Mapping[str, set[str]]) -> list[str]:
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(reversed(error.args[1][1:]))
    return []


def _leans_on(job: Job) -> Iterator[tuple[str, set[str]]]:
    """Each thing and the things whose place must be known before its own."""
    placed: dict[str, list[str]] = {name: [] for name in (*job.points, *job.bodies, *job.forks, *job.members)}
    for name, point in job.points.items():
        placed[name] += [point.from_] if point.from_ else []
    for name, put in job.place.items():
        placed.setdefault(name, []).extend(
            [*put.match.values(), *([put.at] if isinstance(put.at, str) else [])]
        )
    for name, fork in job.forks.items():
        placed[name].append(fork.at)
    for name, member in job.members.items():
        placed[name] += [member.from_, *member.through, member.to]
    for name, texts in placed.items():
        yield name, set(_names(texts)) & placed.keys()


def _names(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        try:
            yield parse_place(text).name
        except ValueError:  # told where the place itself is checked
            continue
