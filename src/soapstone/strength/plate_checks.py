"""The checks of forks: their bolts, their tabs and their feet."""

from collections.abc import Iterator

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.parts.layout import ForkPart, material_of
from soapstone.parts.tabs import foot_width
from soapstone.strength.bolts import bolt
from soapstone.strength.feet import foot_findings
from soapstone.strength.foot_forces import fork_foot, fork_load
from soapstone.strength.pins import bolt_bending
from soapstone.strength.rails import rail_findings
from soapstone.strength.tab_checks import bolt_torque, foot_weld, noted, on_tube, round_the_hole
from soapstone.strength.tabs import tab_bending
from soapstone.strength.work import Work

_THREADS_NOTE = "threads are taken to lie in the shear plane"
_SHARE_NOTE = "the more loaded tab's share is taken for both"
_TABS_NOTE = "tabs count as stiff in the frame"


def loose_fork(fork: ForkPart) -> Iterator[Finding]:
    """`loose`, for a fork without a bolt or with nothing in it."""
    held = f"{fork.holds[0]} {fork.holds[1]}" if fork.holds else "anything"
    missing = "a bolt, like M12 10.9" if fork.bolt is None else "a bung to hold"
    remedy = f"give {fork.name} {missing}; without it {held} is loose"
    yield loose(fork.name, f"{fork.name} holds {held}", remedy)


def loose(name: str, claim: str, remedy: str) -> Finding:
    """`loose:NAME`, open."""
    return Finding(
        id=f"loose:{name}", about=name, claim=claim, verdict=Verdict.OPEN, source="statics", remedy=remedy
    )


def fork_findings(work: Work, fork: ForkPart, leg: float = 0.0) -> Iterator[Finding]:
    """Everything about a fork, its bolt and its foot; `leg` m is added to its fillets."""
    assert fork.bolt is not None and fork.bung is not None
    size, grade = fork.bolt
    spec, load = fork.spec, fork_load(work, fork)
    tabs = 1 if spec.tabs == "1" else 2
    worst = np.linalg.norm(load.on_tabs.reshape(2, -1, 3), axis=2).max(axis=0)
    yield noted(
        bolt(
            name=fork.name,
            size=size,
            grade=grade,
            shear_per_bolt=tabs * worst,
            tension=np.abs(load.thrust),
            planes=tabs,
            threads_in_plane=True,
            cases=work.cases,
        ),
        _THREADS_NOTE,
        _SHARE_NOTE,
        _TABS_NOTE,
    )
    yield noted(
        bolt_bending(
            name=fork.name,
            size=size,
            grade=grade,
            force=2.0 * worst if tabs == 2 else worst,
            outer=spec.plate.thickness,
            gap=spec.gap,
            inner=fork.bung.length,
            threads_in_span=True,
            cases=work.cases,
        ),
        _TABS_NOTE,
    )
    yield from bolt_torque(fork)
    yield from _tabs(work, fork, leg)


def _tabs(work: Work, fork: ForkPart, leg: float) -> Iterator[Finding]:
    """The plates of a fork and what they stand on."""
    spec, load = fork.spec, fork_load(work, fork)
    outward = work.layout.foot_to_hole(fork)
    names = tuple(f"{case}, {side} tab" for side in ("one", "other") for case in work.cases)
    yield from round_the_hole(work, fork, load.on_tabs, outward, names)
    foot = fork_foot(work, fork, load)
    yield tab_bending(
        name=fork.name,
        thickness=spec.plate.thickness,
        width=foot_width(work.layout, fork),
        arm=spec.reach,
        material=material_of(work.job, spec.plate.of),
        force_out=foot.tip[: len(work.cases)] / spec.reach,
        cases=work.cases,
    )
    support = work.job.supports.get(spec.on)
    if support is None or support.bolted is None:
        yield from foot_weld(work, fork, foot, names, leg)
    if fork.on_member:
        yield on_tube(work, fork, foot, names)
    if support is not None:
        yield from foot_findings(work, fork, support, load, outward)
        yield from rail_findings(work, fork, support, load, outward)
