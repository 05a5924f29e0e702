"""All that there is to say of a job's units on rubber."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding
from soapstone.job.schema import Job
from soapstone.place.answers import PRACTICE, unanswered
from soapstone.place.broken import Watched
from soapstone.place.findings_mounts import (
    broken_findings,
    isolation_finding,
    mount_load_findings,
    mount_strain_findings,
    sway_findings,
    wring_finding,
)
from soapstone.place.measures import Clearance
from soapstone.place.on_rubber import OnRubber
from soapstone.place.sharing import Moved, displaced

Array = NDArray[np.float64]

ROOM = 0.015
"""m round a unit that moves, where the job says nothing; a practitioner's go/no-go block."""
_ROOM_NOTE = f"{1e3 * ROOM:.0f} mm must be left round the unit ({PRACTICE})"


def rubber_findings(
    job: Job, rubber: Mapping[str, OnRubber], forces: Mapping[str, Array]
) -> tuple[Finding, ...]:
    """Findings of every unit on rubber.

    Parameters
    ----------
    forces : body to (c, n, 3) N of its mounts on it, as the frame that gives shares them
    """
    return tuple(finding for name, unit in rubber.items() for finding in _unit(job, unit, forces[name]))


def _unit(job: Job, unit: OnRubber, forces: Array) -> Iterator[Finding]:
    hung, springs = unit.suspended, unit.suspended.springs
    moves = tuple(replace(move, forces=forces[row]) for row, move in enumerate(unit.moves))
    rated = {one.mount.name: one.rated for one in unit.mounts if one.rated is not None}
    thick = {one.mount.name: one.thickness for one in unit.mounts if one.thickness is not None}
    notes = {one.mount.name: one.assumed for one in unit.mounts}
    yield from mount_load_findings(springs, moves, rated)
    yield from mount_strain_findings(springs, unit.rest.squeezed, thick)
    for shook in unit.shaken:
        found = isolation_finding(
            f"{hung.name} {shook.name}",
            shook.answer,
            shook.load,
            shook.frequency,
            allowed=shook.spec.passed_on,
        )
        yield _noted(found, dict.fromkeys(note for name in notes for note in notes[name]))
    if not hung.inertia_known and any(s.body == hung.name for s in job.service.shaking.values()):
        ask = f"give {hung.name} its inertia, from its maker or like a box"
        claim = "the mounts keep the shake from the frame"
        yield unanswered("isolation", hung.name, claim, "1", ask=ask)
    yield from _room(job, unit, moves)
    yield from _joint(job, unit)


def _room(job: Job, unit: OnRubber, moves: tuple[Moved, ...]) -> Iterator[Finding]:
    hung = unit.suspended
    least = ROOM if job.service.room is None else job.service.room
    notes = [_ROOM_NOTE] if job.service.room is None else []
    if hung.unwatched:
        notes.append(f"gaps to scans are not measured: {', '.join(hung.unwatched)}")
    tight = _tightest(unit, moves)
    for found in (*sway_findings(unit.body, moves, tight, least), *broken_findings(unit.broken, least)):
        yield _noted(found, notes)
    if not tight:
        claim = f"{hung.name} keeps clear of everything while it moves on its mounts"
        ask = f"give {hung.name} an envelope and name the obstacles round it, steering first"
        yield unanswered("unit-sway", hung.name, claim, "m", ask=ask)


def _tightest(unit: OnRubber, moves: tuple[Moved, ...]) -> tuple[Clearance, ...]:
    """For each obstacle the pair of solids that comes nearest over all cases."""
    found: list[Clearance] = []
    for name in dict.fromkeys(clearance.name for clearance in unit.suspended.watched):
        pairs = tuple(c for c in unit.suspended.watched if c.name == name)
        near = Watched.of(unit.body, pairs, unit.suspended.size)
        nearest = [
            min(
                (gap, row)
                for row, gap in near.gaps(displaced(unit.body, move.displacement), unit.body).items()
            )
            for move in moves
        ]
        found.append(pairs[min(nearest)[1]])
    return tuple(found)


def _joint(job: Job, unit: OnRubber) -> Iterator[Finding]:
    spec = job.bodies[unit.suspended.name].joint
    if spec is None or not unit.wrung:
        return
    case, worst = max(unit.wrung.items(), key=lambda item: float(np.linalg.norm(item[1].moment)))
    axis = np.array(spec.axis)
    yield wring_finding(unit.suspended.name, worst, axis, case=case, allowed=spec.stands)


def _noted(finding: Finding, notes: Iterable[str]) -> Finding:
    return replace(finding, assumed=(*finding.assumed, *notes))
