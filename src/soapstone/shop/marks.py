"""Short marks for what the shop makes: tubes T1, bungs B1; plates keep the name of their file."""

from collections.abc import Mapping
from dataclasses import dataclass

from soapstone.job.schema import Job


@dataclass(frozen=True)
class Marks:
    """Marks by the job's names, in the job's order."""

    tubes: Mapping[str, str]
    bungs: Mapping[str, str]


def marks_of(job: Job) -> Marks:
    """Number everything once, so that every sheet calls a part the same."""
    return Marks(
        {name: f"T{number}" for number, name in enumerate(job.members, 1)},
        {name: f"B{number}" for number, name in enumerate(job.bungs, 1)},
    )
