"""Where heat has softened a tube: the feet of its welds, and 25 mm beyond each weld's toe."""

from collections.abc import Iterator

import numpy as np

from soapstone.frame import internal_forces_at
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.layout import SeatKind, Tube
from soapstone.parts.tabs import foot_width
from soapstone.strength.landings import bar_foot
from soapstone.strength.work import STATIONS, Array, Work

WELD_ZONE = 0.025
"""m beyond the toe of a weld (common practice, no source)."""
ZONE_NOTE = "metal counts as softened as far as 25 mm beyond the toe of a weld (common practice, no source)"
Zone = tuple[float, float]


def weld_zones(work: Work, tube: Tube) -> list[Zone]:
    """Stretches (from, to) of a tube, m from its start, softened by its end welds and by what lands on it."""
    found = list(_at_ends(work, tube))
    found += _of_tubes(work, tube)
    for bar in work.layout.bars.values():
        half = bar_foot(bar, tube) / 2.0
        seats = [seat for seat in bar.seats if seat.kind is SeatKind.WELD and seat.on == tube.name]
        found += [(seat.station - half, seat.station + half) for seat in seats]
    for fork in work.layout.forks.values():
        if fork.on_member and fork.host.on == tube.name:
            apart = (fork.bung.length if fork.bung else 0.0) / 2.0 + fork.spec.gap + fork.spec.plate.thickness
            found.append(
                _foot(tube, fork.host.station, fork.axis, foot_width(work.layout, fork) / 2.0, apart)
            )
    for hanger in work.layout.hangers.values():
        if hanger.host.on == tube.name:
            half = foot_width(work.layout, hanger) / 2.0
            thick = hanger.spec.plate.thickness / 2.0
            found.append(_foot(tube, hanger.host.station, hanger.axis, half, thick))
    return [(toe - WELD_ZONE, far + WELD_ZONE) for toe, far in found]


def _at_ends(work: Work, tube: Tube) -> Iterator[Zone]:
    """The weld runs round the cut end; its deepest place along the tube counts."""
    for end in (0, 1):
        if work.is_welded(tube, end):
            part, begin = work.parts.at_end(tube.name, end)
            stations = begin + (part.end_b if end else part.end_a).outline.outer
            yield float(stations.min()), float(stations.max())


def _of_tubes(work: Work, tube: Tube) -> Iterator[Zone]:
    for other in work.layout.tubes.values():
        for end, seat in enumerate(other.seats):
            if seat.kind is SeatKind.WELD and seat.on == tube.name:
                part, _ = work.parts.at_end(other.name, end)
                line = weld_line(part, part.end_b if end else part.end_a)
                stations = [tube.station_of(point) for point in line]
                yield min(stations), max(stations)


def weld_line(part: TubePart, end: TubeEnd) -> Array:
    """The outside edge of a cut end, (n, 3) m in the vehicle."""
    lines = part.shape.outline.generators(end.outline.abscissa, 0.0)
    return part.axes.to_world(np.column_stack([end.outline.outer, lines]))


def _foot(tube: Tube, station: float, axis: Array, half: float, apart: float) -> Zone:
    """A plate's foot: `half` m along it, `apart` m across it along the bolt's `axis`."""
    along = min(1.0, abs(float(axis @ tube.leg(station).axis)))
    reach = apart * along + half * float(np.sqrt(1.0 - along**2))
    return station - reach, station + reach


def forces_along(work: Work, tube: Tube, zones: list[Zone]) -> tuple[Array, Array]:
    """Stations (s,) m and forces (c, s, 6) along a tube, with a station at the edge of every zone."""
    segments = work.segments(tube.name)
    frame = work.idealised.frame
    rows = []
    for segment in segments:
        edges = [edge - segment.start for zone in zones for edge in zone]
        length = float(frame.geometry.lengths[segment.member])
        inside = [edge for edge in edges if 0.0 < edge < length]
        rows.append(np.sort(np.append(np.linspace(0.0, length, STATIONS), inside)))
    positions = np.zeros((len(frame.member_names), max(map(len, rows))))
    for segment, row in zip(segments, rows, strict=True):
        positions[segment.member, : len(row)] = row
    forces = internal_forces_at(frame, work.idealised.loads, work.solution, positions)
    parts = [forces[:, s.member, : len(row)] for s, row in zip(segments, rows, strict=True)]
    stations = [s.start + row for s, row in zip(segments, rows, strict=True)]
    return np.concatenate(stations), np.concatenate(parts, axis=1)
