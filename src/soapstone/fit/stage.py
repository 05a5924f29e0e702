"""What the whole job says of room: gaps, reach, ground."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.finding import Finding
from soapstone.fit.clearances import Pair, Setting
from soapstone.fit.fasteners import fasteners_of
from soapstone.fit.findings_clear import clearance_findings
from soapstone.fit.findings_ground import ground_findings
from soapstone.fit.findings_reach import reach_findings, service_findings
from soapstone.fit.findings_scan import scan_doubts, scan_findings
from soapstone.fit.floor import Floor, bump_of, floor_of
from soapstone.fit.ground import Low, lows_of
from soapstone.fit.groups import groups_of
from soapstone.fit.moves import moves_of, on_rubber
from soapstone.fit.reach import Reached, reached
from soapstone.fit.service import served
from soapstone.fit.unsure import Known
from soapstone.job.room import Ground
from soapstone.job.schema import Job
from soapstone.parts.assembly import Assembly
from soapstone.parts.layout import Layout
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed
from soapstone.place.shafting import HalfRun
from soapstone.survey.records import Survey

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Room:
    """How much room everything has.

    Attributes
    ----------
    pairs : the matrix of clearances
    reached : every bolt with the tools on it
    lows : everything over the ground, lowest first
    findings : all that follows
    """

    pairs: tuple[Pair, ...]
    reached: tuple[Reached, ...]
    lows: tuple[Low, ...]
    findings: tuple[Finding, ...]


def room_of(
    job: Job,
    survey: Survey,
    layout: Layout,
    placed: Mapping[str, Placed],
    assembly: Assembly,
    shafts: Sequence[HalfRun],
    movements: Mapping[str, Array],
    cases: Sequence[str],
    rubber: Mapping[str, OnRubber],
) -> Room:
    """Measure it all; pure.

    Parameters
    ----------
    movements, cases : of the frame's bending, (c, 3) m by place, and the c names
    rubber : bodies on rubber mounts
    """
    groups = groups_of(job, layout, assembly, shafts)
    moves = moves_of(job, placed, groups, movements, cases, on_rubber(rubber))
    known = Known(job, survey, placed, assembly)
    pairs = Setting(layout, groups, known, moves).pairs()
    points = np.array(list(layout.points.values()))
    bolts = fasteners_of(job, layout, placed)
    pieces = [piece for group in groups for piece in group.pieces]
    tooled = tuple(reached(bolt, pieces) for bolt in bolts)
    serviced = served(job, placed, groups)
    floor = floor_of(job, survey)
    lows = () if floor is None else lows_of(floor, groups, bolts, known, moves)
    findings = (
        *scan_findings(job, assembly, points),
        *clearance_findings(pairs, scan_doubts(job, assembly, points)),
        *reach_findings(tooled),
        *service_findings(serviced),
        *_ground(job.ground, lows, floor, shafts),
    )
    return Room(pairs, tooled, lows, findings)


def _ground(
    ground: Ground | None, lows: Sequence[Low], floor: Floor | None, shafts: Sequence[HalfRun]
) -> tuple[Finding, ...]:
    if ground is None:
        return ()
    return tuple(ground_findings(ground, lows, floor.name if floor else "", bump_of(ground, shafts)))
