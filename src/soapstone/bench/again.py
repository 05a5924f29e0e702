"""Stages run again only where what they read has changed.

A stage is a pure function, so its answer stands as long as everything it read is the same. What it reads of
the job is not declared anywhere but noted while it reads: the first level of its keys. An answer that comes
out the same as before keeps the old object, so that whatever stands to its right is not run either.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from enum import Enum
from pathlib import Path
from types import FunctionType
from typing import Any, ParamSpec, TypeVar, cast

import numpy as np
from pydantic import BaseModel

from soapstone.job.schema import Job

P = ParamSpec("P")
T = TypeVar("T")

_PLAIN = (str, int, float, bool, bytes, type(None), Enum, Path)


def same(one: Any, other: Any) -> bool:
    """Whether two answers are alike in every number and every name; what cannot be looked into is not."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and one.dtype != object and np.array_equal(one, other)
    if isinstance(one, (*_PLAIN, BaseModel)):
        return bool(one == other)
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, Mapping):
        return list(one) == list(other) and all(same(one[key], other[key]) for key in one)
    if is_dataclass(one):
        return all(same(getattr(one, part.name), getattr(other, part.name)) for part in fields(one))
    return False


class Watched:
    """A job that notes which of its keys are read.

    When a stage's answer is kept, the job that it holds is exchanged for the newest: what was read of the old
    one is the same in both, and what is read later is then read of the newest.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.read: set[str] = set()

    def __getattr__(self, name: str) -> Any:
        self.read.add(name)
        return getattr(self.job, name)

    def stands_for(self, job: Job) -> bool:
        """Whether everything read so far is the same in another job."""
        if job is self.job:
            return True
        known = type(job).model_fields
        return all(name in known and _alike(self.job, job, name) for name in self.read)


def _alike(one: Job, other: Job, name: str) -> bool:
    return name != "folder" and bool(getattr(one, name) == getattr(other, name))


@dataclass
class _Kept:
    inputs: tuple[Any, ...]
    answer: Any

    def stands_for(self, inputs: tuple[Any, ...]) -> bool:
        return len(inputs) == len(self.inputs) and all(map(_unchanged, self.inputs, inputs))


def _unchanged(before: Any, now: Any) -> bool:
    if isinstance(before, Watched):
        return isinstance(now, Job) and before.stands_for(now)
    if isinstance(before, FunctionType) and isinstance(now, FunctionType):
        return True  # whom to tell how far it is changes no answer
    return before is now or (isinstance(now, (*_PLAIN, BaseModel)) and same(before, now))


@dataclass
class Remembering:
    """Answers stages for one build after another; hand it to `build` as `run`.

    Attributes
    ----------
    ran : list of str
        Names of the stages that were run in the current build, in order.
    """

    ran: list[str] = field(default_factory=list)
    _kept: dict[tuple[str, int], _Kept] = field(default_factory=dict)
    _seen: Counter[str] = field(default_factory=Counter)

    def begin(self) -> None:
        """A new build starts."""
        self.ran.clear()
        self._seen.clear()

    def __call__(self, stage: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> T:
        """The stage's answer, kept or new."""
        name = stage.__qualname__
        place = (name, self._seen[name])
        self._seen[name] += 1
        inputs = (getattr(stage, "__self__", None), *args, *kwargs.values())
        kept = self._kept.get(place)
        if kept is not None and kept.stands_for(inputs):
            for before, now in zip(kept.inputs, inputs, strict=True):
                if isinstance(before, Watched) and isinstance(now, Job):
                    before.job = now
            return cast(T, kept.answer)
        self.ran.append(name)
        watched = [Watched(part) if isinstance(part, Job) else part for part in args]
        found: Any = stage(*watched, **kwargs)  # type: ignore[arg-type]  # a watched job reads as a job
        answer = tuple(found) if isinstance(found, Iterator) else found
        if kept is not None and same(kept.answer, answer):
            answer = kept.answer
        self._kept[place] = _Kept((inputs[0], *watched, *kwargs.values()), answer)
        return cast(T, answer)
