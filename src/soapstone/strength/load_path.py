"""What gives first: every link of the load path by its reserve, and what a little more of it would buy."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from soapstone.finding import Finding
from soapstone.job.hardware import PlateStock
from soapstone.parts.layout import ForkPart, HangerPart, Tube
from soapstone.strength.members import with_wall
from soapstone.strength.plate_checks import fork_findings, hanger_findings
from soapstone.strength.shapes import RectangularTubeLike
from soapstone.strength.tube_checks import tube_findings
from soapstone.strength.work import Work
from soapstone.tables import BoltSize, bolt_sizes

STAGES = {
    "boss": "casting boss",
    "thread": "casting boss",
    "bolt": "bolt",
    "bolt-bending": "bolt",
    "lug": "plate",
    "lug-lifting": "plate",
    "tab-bending": "plate",
    "tab-weld": "weld",
    "weld": "weld",
    "weld-wall": "weld",
    "tube-joint": "joint",
    "member-stress": "tube",
    "member-buckling": "tube",
    "fatigue": "weld",
    "clamping": "chassis",
    "bearing": "chassis",
    "preload": "chassis",
    "sheet": "chassis",
    "sheet-tear": "chassis",
}
"""What sort of link each kind of finding is; other kinds carry no load."""
Findings = Iterator[Finding]
THICKER = 1.25
MORE = 1e-3
"""m more of a fillet's leg or a plate's thickness."""


@dataclass(frozen=True)
class Buy:
    """A change that was computed: what, and the finding's ratio after it, for the same forces."""

    change: str
    ratio: float


@dataclass(frozen=True)
class Link:
    """One link of the load path.

    Attributes
    ----------
    finding : Finding
    stage : str
        One of the values of `STAGES`.
    ratio : float
        Share of its strength that is used.
    reserve : float
        Its inverse. It is how much more load the link stands where stress runs with load; where shares
        are squared or damage is summed it only ranks.
    buys : tuple of Buy
    """

    finding: Finding
    stage: str
    ratio: float
    reserve: float
    buys: tuple[Buy, ...]


def load_path(work: Work, findings: Sequence[Finding], deepest: int = 12) -> tuple[Link, ...]:
    """Every link that carries load, weakest first; the first `deepest` of them with what would help."""
    told = [(f, f.ratio) for f in findings if f.kind in STAGES and f.ratio is not None]
    again = _Again(work)
    ranked = sorted(told, key=lambda pair: -pair[1])
    return tuple(
        Link(
            finding,
            STAGES[finding.kind],
            ratio,
            1 / ratio if ratio else float("inf"),
            tuple(_buys(again, finding)) if rank < deepest else (),
        )
        for rank, (finding, ratio) in enumerate(ranked)
    )


class _Again:
    """Findings of changed parts, each change computed once."""

    def __init__(self, work: Work) -> None:
        self.work = work
        self._known: dict[tuple[str, str], dict[str, Finding]] = {}

    def bought(
        self, finding: Finding, part: str, change: str, again: Callable[[], Findings]
    ) -> Iterator[Buy]:
        """What `change` makes of a finding about `part`."""
        key = (part, change)
        if key not in self._known:
            self._known[key] = {other.id: other for other in again()}
        other = self._known[key].get(finding.id)
        if other is not None and other.ratio is not None:
            yield Buy(change, other.ratio)


def _buys(again: _Again, finding: Finding) -> Iterator[Buy]:
    name = finding.about.removesuffix(" start").removesuffix(" end")
    layout = again.work.layout
    if name in layout.tubes:
        yield from _tube_buys(again, finding, layout.tubes[name])
    elif name in layout.forks:
        yield from _plate_buys(again, finding, layout.forks[name])
    elif name in layout.hangers:
        yield from _plate_buys(again, finding, layout.hangers[name])


def _tube_buys(again: _Again, finding: Finding, tube: Tube) -> Iterator[Buy]:
    work = again.work
    if finding.kind == "weld":
        yield from again.bought(finding, tube.name, "1 mm more leg", lambda: tube_findings(work, tube, MORE))
    elif finding.kind == "tube-joint":
        yield from _chord_buys(again, finding, tube)
    else:
        thicker = _thicker(tube)
        words = f"a wall of {1e3 * thicker.section.wall:.1f} mm in {tube.name}"
        yield from again.bought(finding, tube.name, words, lambda: tube_findings(work, thicker))


def _chord_buys(again: _Again, finding: Finding, tube: Tube) -> Iterator[Buy]:
    seat = tube.seats[int(finding.about.endswith(" end"))]
    work = again.work
    host = _thicker(work.layout.tubes[seat.on])
    layout = replace(work.layout, tubes={**work.layout.tubes, host.name: host})
    words = f"a wall of {1e3 * host.section.wall:.1f} mm in {host.name}"
    yield from again.bought(
        finding, tube.name, words, lambda: tube_findings(replace(work, layout=layout), tube)
    )


def _thicker(tube: Tube) -> Tube:
    section = tube.section
    if isinstance(section, RectangularTubeLike):
        most = 0.49 * min(section.width, section.height)
        most /= max(1.0, section.outside_corner_radius / section.wall)
    else:
        most = 0.49 * section.outside_diameter
    return replace(tube, section=with_wall(section, min(THICKER * section.wall, most)))  # type: ignore[arg-type]


def _plate_buys(again: _Again, finding: Finding, part: ForkPart | HangerPart) -> Iterator[Buy]:
    work = again.work
    if finding.kind in ("bolt", "bolt-bending"):
        yield from _bolt_buys(again, finding, part)
        return
    if finding.kind == "tab-weld":
        yield from again.bought(finding, part.name, "1 mm more leg", lambda: _of_plate(work, part, MORE))
    if STAGES[finding.kind] in ("plate", "weld"):
        plate = part.spec.plate
        thicker = _with_plate(part, plate.model_copy(update={"thickness": plate.thickness + MORE}))
        words = f"a plate of {1e3 * (plate.thickness + MORE):.1f} mm"
        yield from again.bought(finding, part.name, words, lambda: _of_plate(work, thicker))


def _with_plate(part: ForkPart | HangerPart, plate: PlateStock) -> ForkPart | HangerPart:
    if isinstance(part, ForkPart):
        return replace(part, spec=part.spec.model_copy(update={"plate": plate}))
    return replace(part, spec=part.spec.model_copy(update={"plate": plate}))


def _bolt_buys(again: _Again, finding: Finding, part: ForkPart | HangerPart) -> Iterator[Buy]:
    assert part.bolt is not None
    size, grade = part.bolt
    larger = _next_size(size)
    if larger is not None:
        changed = replace(part, bolt=(larger, grade))
        words = f"{larger.name} {grade.name}"
        yield from again.bought(finding, part.name, words, lambda: _of_plate(again.work, changed))


def _next_size(size: BoltSize) -> BoltSize | None:
    larger = [s for s in bolt_sizes() if s.metric == size.metric and s.coarse and s.diameter > size.diameter]
    return min(larger, key=lambda s: s.diameter, default=None)


def _of_plate(work: Work, part: ForkPart | HangerPart, leg: float = 0.0) -> Findings:
    if isinstance(part, ForkPart):
        return fork_findings(work, part, leg)
    return hanger_findings(work, part, leg)
