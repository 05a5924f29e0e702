"""What gives first: every link of the load path by its reserve, and what a little more of it would buy."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from soapstone.errors import SoapstoneError
from soapstone.finding import Finding, Verdict
from soapstone.parts.layout import Layout, SeatKind
from soapstone.strength.bar_checks import bar_findings
from soapstone.strength.bounds import worse
from soapstone.strength.changes import Change, changes_for, part_of
from soapstone.strength.hangers import hanger_findings
from soapstone.strength.plate_checks import fork_findings
from soapstone.strength.tube_checks import tube_findings
from soapstone.strength.work import Work

STAGES = {
    "boss-burst": "boss",
    "thread": "boss",
    "bolt": "bolt",
    "bolt-bending": "bolt",
    "lug": "plate",
    "lug-lifting": "plate",
    "tab-bending": "plate",
    "tab-weld": "weld",
    "weld": "weld",
    "weld-wall": "weld",
    "plate-joint": "joint",
    "tube-joint": "joint",
    "member-stress": "tube",
    "member-buckling": "tube",
    "bend-stress": "tube",
    "fatigue": "cracks",
    "clamping": "clamping",
    "bearing": "chassis",
    "preload": "chassis",
    "sheet": "chassis",
    "sheet-tear": "chassis",
    "spreader": "chassis",
    "rail-twist": "chassis",
}
"""What sort of link each kind of finding is, in the order from boss to chassis; other kinds carry no load."""
Findings = Iterator[Finding]
Works = tuple[Work, ...]
"""The job's parts and forces, once for each bound of the tabs' stiffness."""
DEEPEST = 8
"""How many of the weakest links are asked what would help."""


@dataclass(frozen=True)
class Buy:
    """A change that was computed.

    Attributes
    ----------
    change : str
    ratio : float
        The finding's ratio after it.
    weakest : str
        The finding that is then the weakest of those that stand beside it in the ranking's head.
    stage : str
        What sort of link that is.
    worst : float
        Its ratio.
    """

    change: str
    ratio: float
    weakest: str
    stage: str
    worst: float


@dataclass(frozen=True)
class Link:
    """One link of the load path.

    Attributes
    ----------
    finding : Finding
    stage : str
        As `stage_of` says.
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


@dataclass(frozen=True)
class Station:
    """One part on the way from boss to chassis.

    Attributes
    ----------
    part : str
    sort : str
        `mount`, `tube`, `bar` or `fork`.
    onto : tuple of str
        What it hands its load to.
    weakest : mapping
        Stage to the ratio of its weakest link there; None where that is open.
    """

    part: str
    sort: str
    onto: tuple[str, ...]
    weakest: Mapping[str, float | None]


def load_path(
    works: Works, findings: Sequence[Finding], reworked: Callable[[Layout], Works], deepest: int = DEEPEST
) -> tuple[Link, ...]:
    """Every link that carries load, weakest first; the first `deepest` of them with what would help.

    Parameters
    ----------
    works : the job as it stands
    reworked : callable
        Cuts the parts and solves the frame of a changed layout: a heavier tube draws more load to itself.
    """
    told = [(f, f.ratio) for f in findings if f.kind in STAGES and f.ratio is not None]
    ranked = sorted(told, key=lambda pair: -pair[1])
    parts = tuple(dict.fromkeys(_part(f) for f, _ in ranked[:deepest]))
    again = _Again(works, reworked, {part: [f for f, _ in told if _part(f) == part] for part in parts})
    return tuple(
        Link(
            finding,
            stage_of(finding),
            ratio,
            1 / ratio if ratio else float("inf"),
            tuple(again.bought(finding)) if rank < deepest else (),
        )
        for rank, (finding, ratio) in enumerate(ranked)
    )


def stations(layout: Layout, findings: Sequence[Finding]) -> tuple[Station, ...]:
    """Mounts, then tubes, then forks, each with its weakest links; pure."""
    weakest: dict[str, dict[str, float | None]] = {}
    for finding in findings:
        if finding.kind not in STAGES:
            continue
        stage = stage_of(finding)
        row = weakest.setdefault(_part(finding), {})
        if finding.verdict is Verdict.OPEN or finding.ratio is None:
            row[stage] = None
        elif row.get(stage, 0.0) is not None:
            row[stage] = max(row.get(stage, 0.0) or 0.0, finding.ratio)
    return tuple(Station(name, sort, onto, weakest.get(name, {})) for name, sort, onto in _in_order(layout))


def stage_of(finding: Finding) -> str:
    """The sort of link; a hanger's bolt bears on its boss, a foot's on the rail."""
    if finding.kind == "bearing" and not finding.about.endswith(" foot"):
        return "boss"
    return STAGES[finding.kind]


def _in_order(layout: Layout) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    for hanger in layout.hangers.values():
        yield hanger.name, "mount", (hanger.host.on,)
    for tube in layout.tubes.values():
        held = [f.name for f in layout.forks.values() if f.tight and f.holds and f.holds[0] == tube.name]
        welded = [seat.on for seat in tube.seats if seat.kind is SeatKind.WELD]
        yield tube.name, "tube", tuple(dict.fromkeys([*welded, *held]))
    for bar in layout.bars.values():
        yield bar.name, "bar", tuple(seat.on for seat in bar.seats if seat.kind is SeatKind.WELD)
    for fork in layout.forks.values():
        yield fork.name, "fork", (fork.host.on,)


def _part(finding: Finding) -> str:
    return part_of(finding.about)


class _Again:
    """Findings of the ranking's foremost parts after a change, each change computed once."""

    def __init__(
        self, works: Works, reworked: Callable[[Layout], Works], before: Mapping[str, list[Finding]]
    ) -> None:
        self.works, self.reworked, self.before = works, reworked, before
        self._known: dict[str, dict[str, Finding]] = {}

    def bought(self, finding: Finding) -> Iterator[Buy]:
        """What helps a finding, and by how much."""
        for change in changes_for(self.works[0].layout, finding):
            if change.words not in self._known:
                self._known[change.words] = self._findings(change)
            after = self._known[change.words]
            other = after.get(finding.id)
            if other is not None and other.ratio is not None:
                worst = max(after.values(), key=lambda f: f.ratio or 0.0)
                yield Buy(change.words, other.ratio, worst.id, stage_of(worst), worst.ratio or 0.0)

    def _findings(self, change: Change) -> dict[str, Finding]:
        try:
            works = self._after(change)
        except SoapstoneError:  # no longer fits together, so it buys nothing
            return {}
        found: dict[str, Finding] = {}
        for part, before in self.before.items():
            mine = part == change.part
            as_it_was = not mine and not change.anew
            after = before if as_it_was else _worst(works, part, change.leg if mine else 0.0)
            found |= {f.id: f for f in after if f.kind in STAGES and f.ratio is not None}
        return found

    def _after(self, change: Change) -> Works:
        if change.anew:
            return self.reworked(change.layout)
        return tuple(replace(work, layout=change.layout) for work in self.works)


def _worst(works: Works, part: str, leg: float) -> Findings:
    """A part's findings, of both bounds the worse."""
    first, *other = (list(_of(work, part, leg)) for work in works)
    return worse(first, other[0], "") if other else iter(first)


def _of(work: Work, part: str, leg: float) -> Findings:
    layout = work.layout
    if part in layout.tubes:
        return tube_findings(work, layout.tubes[part], leg)
    if part in layout.bars:
        return bar_findings(work, layout.bars[part])
    if part in layout.forks:
        return fork_findings(work, layout.forks[part], leg)
    return hanger_findings(work, layout.hangers[part], leg)
