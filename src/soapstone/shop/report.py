"""The report's data: what was given, what was assumed, what follows, every formula with its numbers."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.job.fields import Amount
from soapstone.job.schema import Job
from soapstone.job.service import Case
from soapstone.parts.assembly import Sort, Thing
from soapstone.parts.cutting import CutParts
from soapstone.parts.layout import Layout, SeatKind, material_of
from soapstone.place.loads import STANDARD_GRAVITY, LoadCase
from soapstone.place.placed import Placed
from soapstone.quantity import Kind
from soapstone.shop.cautions import CAUTIONS
from soapstone.shop.directed import with_way
from soapstone.shop.drawing import CORNER, PLAN, SIDE, draw
from soapstone.shop.formulas import chain_rows
from soapstone.shop.marks import Marks
from soapstone.shop.units import UnitSet, figures, units_of
from soapstone.shop.words import Words, millimetres
from soapstone.survey.records import Checked, ReadingKind, Survey
from soapstone.tables import load_factors, sources

_NORMAL_95 = 1.959964
"""Half-width of the middle 95 % of a normal distribution, in standard deviations."""
_ORDER = (Verdict.SHORT, Verdict.OPEN, Verdict.HOLDS)
_WORDS = {
    Verdict.HOLDS: "an unbroken bead: checked, and it holds",
    Verdict.SHORT: "a bead with a crack: more is asked than it can give",
    Verdict.OPEN: "a row of tacks: not enough is known to say",
}
_WORST = 7
_IN_TABLES = frozenset({"reading", "point", "placed-point", "clearance", "reach", "draw-out", "bolt-seat"})
"""Kinds whose every number stands in a table of the report already."""


def in_order(findings: Sequence[Finding]) -> list[Finding]:
    """Short, then open, then holding; within each the highest ratio first."""
    return sorted(
        findings, key=lambda f: (_ORDER.index(f.verdict), -(f.ratio if f.ratio is not None else math.inf))
    )


def findings_data(findings: Sequence[Finding], units: UnitSet) -> dict[str, Any]:
    """Counts, the worst, all findings, and the chains worth printing."""
    ordered = in_order(findings)
    rows = [_finding(number, finding, units) for number, finding in enumerate(ordered, 1)]
    worst = [
        row
        for row, finding in zip(rows, ordered, strict=True)
        if finding.case or finding.verdict is not Verdict.HOLDS
    ]
    count = Counter(finding.verdict for finding in findings)
    return {
        "counts": [
            {"verdict": verdict.value, "count": str(count[verdict]), "words": _WORDS[verdict]}
            for verdict in (Verdict.HOLDS, Verdict.SHORT, Verdict.OPEN)
        ],
        "findings": rows,
        "worst": worst[:_WORST],
        "worked": [rows[leader] | {"also": also} for leader, also in _worked(ordered)],
        "assumed": _assumed(findings),
    }


def _worked(ordered: Sequence[Finding]) -> list[tuple[int, str]]:
    """Which findings' chains are printed, and the numbers of those whose chain is the same to the letter.

    Of what holds by the tables of readings, points and placement alone, only the nearest to its limit is
    worked out, as the example for its kind.
    """
    alike: dict[object, list[int]] = {}
    shown: set[str] = set()
    for row, finding in enumerate(ordered):
        if finding.verdict is Verdict.HOLDS and finding.kind in _IN_TABLES:
            if finding.kind in shown:
                continue
            shown.add(finding.kind)
        same = (finding.kind, finding.verdict, finding.because) if finding.because else row
        alike.setdefault(same, []).append(row)
    return [
        (rows[0], ", ".join(f"{row + 1} {ordered[row].about}" for row in rows[1:])) for rows in alike.values()
    ]


def _finding(number: int, finding: Finding, units: UnitSet) -> dict[str, Any]:
    chain = chain_rows(finding.because, units)
    return {
        "number": str(number),
        "id": finding.id,
        "verdict": finding.verdict.value,
        "about": finding.about,
        "claim": finding.claim,
        "case": finding.case,
        "ratio": "–" if finding.ratio is None else figures(finding.ratio, 3),
        "steps": chain["rows"],
        "units": chain["units"],
        "limit": _limit(finding, units),
        "source": finding.source.rstrip("."),
        "remedy": finding.remedy,
        "caution": finding.caution,
        "assumed": list(finding.assumed),
    }


def _limit(finding: Finding, units: UnitSet) -> str:
    if finding.demand is None or finding.capacity is None or finding.ratio is None:
        return ""
    demand, unit = units.shown(finding.demand, finding.unit)
    capacity, _ = units.shown(finding.capacity, finding.unit)
    shown = f"{figures(demand)} / {figures(capacity)}" + (f" (both {unit})" if unit else "")
    return f"Demand over capacity: {shown} = {figures(finding.ratio)}"


def _assumed(findings: Sequence[Finding]) -> list[dict[str, str]]:
    said = Counter(words for finding in findings for words in finding.assumed)
    return [
        {"words": words, "count": f"in {times} findings" if times > 1 else "in one finding"}
        for words, times in said.items()
    ]


def given_data(
    job: Job, layout: Layout, placed: Mapping[str, Placed], cases: Sequence[LoadCase], words: Words
) -> dict[str, Any]:
    """What the job says, put in words."""
    return {
        "datum": [
            ["coordinates start at", job.datum.origin],
            ["vehicle measured", job.datum.state],
            ["axes", "along: forward and aft; across: left and right; up and down (ISO 8855)"],
        ],
        "instruments": [
            {"name": name, "accuracy": _accuracy(i.accuracy), "reads": _step(i.reads_to)}
            for name, i in job.instruments.items()
        ],
        "bodies": [_body(job, body, words) for body in placed.values()],
        "materials": _materials(job, layout, words),
        "cases": (told := [_case(job, case, words) for case in cases]),
        "torques": [case for case in told if case["steps"]],
        "not_run": not_run(job),
        "exact": _exact(job),
    }


def not_run(job: Job) -> list[str]:
    """Load cases of the table that the job does not run."""
    run = {name for name, case in job.service.cases.items() if not isinstance(case, Case)}
    return [name for name in load_factors() if name not in run]


def _exact(job: Job) -> list[dict[str, str]]:
    """Points whose place the job gives outright, as a line among what is assumed."""
    names = [name for name, point in job.points.items() if point.at is not None]
    if not names:
        return []
    words = f"{', '.join(names)}: taken to be exactly where the job says, without error of their own"
    return [{"words": words, "count": "given by position"}]


def _accuracy(amount: Amount) -> str:
    parts = [
        f"{figures(factor * part, 3)} {unit}"
        for part, factor, unit in (
            (amount.fixed, 1000.0, "mm"),
            (amount.per_length, 1000.0, "mm/m"),
            (math.degrees(amount.angle), 1.0, "°"),
        )
        if part
    ]
    return " + ".join(parts).replace(" °", "°")


def _step(amount: Amount) -> str:
    return _accuracy(amount) or "–"


def _body(job: Job, body: Placed, words: Words) -> dict[str, str]:
    by = "its points" if body.fit is not None else "position and angles"
    return {
        "name": body.name,
        "what": job.bodies[body.name].what or "",
        "mass": words.mass(body.mass),
        "centre": _coordinates(body.centre, words),
        "by": by,
    }


def _coordinates(point: Any, words: Words) -> str:
    return ", ".join(words.side(float(value), axis) for axis, value in enumerate(point))


def _materials(job: Job, layout: Layout, words: Words) -> list[dict[str, str]]:
    used = [part.material.name for part in layout.members]
    used += [fork.spec.plate.of for fork in layout.forks.values()]
    used += [hanger.spec.plate.of for hanger in layout.hangers.values()]
    used += [bung.of for bung in job.bungs.values()]

    def stress(value: float | None) -> str:
        return "not known" if value is None else words.show.text(value, Kind.STRESS)

    rows = []
    for name in dict.fromkeys(used):
        metal = material_of(job, name)
        rows.append(
            {
                "name": name,
                "yield": stress(metal.yield_strength),
                "ultimate": stress(metal.ultimate_strength),
                "weld_yield": stress(metal.weld_zone_yield) if metal.weld_zone_yield else "–",
                "weld_ultimate": stress(metal.weld_zone_ultimate) if metal.weld_zone_ultimate else "–",
                "note": metal.note,
                "elastic": words.show.text(metal.elastic_modulus, Kind.STRESS),
                "source": _source(metal.source, metal.clause),
            }
        )
    return rows


def _source(key: str, clause: str = "") -> str:
    """A table's source by its title, and how it was read; what is no table's key stands as it is."""
    known = sources().get(key)
    if known is None:
        return f"{key}, {clause}" if clause else key
    where = ", ".join(part for part in (known.title, clause) if part)
    return (
        f"{where} (from memory, not looked up)"
        if known.read == "memory" and known.key != "practice"
        else where
    )


def _beside(case: LoadCase, words: Words) -> list[str]:
    """What else acts in a case, each with its force, or its torque where it is nothing but that."""
    said = []
    for action in (action for found in case.others.values() for action in found.actions):
        force, moment = float(np.linalg.norm(action.force)), float(np.linalg.norm(action.moment))
        size = words.force(force) if force else words.show.text(moment, Kind.TORQUE)
        said.append(f"{action.name} {size}")
    return said + [f"{words.force(float(np.linalg.norm(force)))} at {at}" for at, force in case.on_frame]


def _case(job: Job, case: LoadCase, words: Words) -> dict[str, Any]:
    times = case.pull / STANDARD_GRAVITY
    said = [
        f"{figures(abs(value), 3)} × weight {way}"
        for value, way in (
            (-times[2], "down" if times[2] < 0 else "up"),
            (times[0], "forward" if times[0] > 0 else "aft"),
            (times[1], "to the left" if times[1] > 0 else "to the right"),
        )
        if abs(value) > 1e-12
    ]
    torque = float(np.linalg.norm(case.torque))
    if torque:
        said.append(f"{words.show.text(torque, Kind.TORQUE)} on the housing of {case.body}")
    said += _beside(case, words)
    notes = "; ".join(case.assumed)
    chain = chain_rows(case.because, units_of(job.show))
    return {
        "name": case.name,
        "words": ", ".join(said),
        "source": _source(case.source) + (f". Assumed: {notes}" if notes else ""),
        "steps": chain["rows"] if torque else [],
        "units": chain["units"],
    }


def survey_data(
    job: Job, survey: Survey, layout: Layout, placed: Mapping[str, Placed], words: Words
) -> dict[str, Any]:
    """Points with their size, readings with their residuals, what matching the bodies left over."""
    return {
        "points": [_point(job, name, survey, layout, words) for name in layout.points],
        "readings": [_reading(checked, words) for checked in survey.checked],
        "survey": _network(survey),
        "placement": [row for body in placed.values() for row in _placement(body)],
    }


def _point(job: Job, name: str, survey: Survey, layout: Layout, words: Words) -> dict[str, str]:
    x, y, z = (words.side(float(value), axis) for axis, value in enumerate(layout.points[name]))
    loose = next((point for point in survey.loose if point.point == name), None)
    if loose is not None:
        size = f"loose: {loose.words}"
    elif name in survey.names:
        size = ", ".join(f"±{millimetres(_NORMAL_95 * sigma)}" for sigma in survey.sigma_of(name))
    else:
        size = "laid out"
    return {"name": name, "what": job.points[name].what or "", "x": x, "y": y, "z": z, "size": size}


def _reading(checked: Checked, words: Words) -> dict[str, str]:
    reading = checked.reading
    level = reading.kind is ReadingKind.LEVEL
    kind = Kind.ANGLE if level else Kind.LENGTH

    def small(value: float) -> str:
        if not math.isfinite(value):
            return "nothing shows it"
        return figures(math.degrees(value), 2) + "°" if level else f"{1000.0 * value:.2f}".replace("-", "−")

    controlled = checked.redundancy > 1e-9
    return {
        "label": reading.label,
        "read": with_way(reading, reading.value, lambda value: words.show.text(value, kind)),
        "adjusted": with_way(
            reading,
            checked.adjusted,
            lambda value: words.show.plain(value, kind) if level else millimetres(value, 2) + " mm",
        ),
        "residual": small(checked.residual),
        "sigma": small(reading.sigma),
        "redundancy": f"{checked.redundancy:.2f}",
        "detectable": small(checked.detectable),
        "w": f"{checked.standardised:.2f}".replace("-", "−") if controlled else "–",
    }


def _network(survey: Survey) -> str:
    if survey.variance_factor is None:
        return "No reading is left over: nothing checks the readings against each other."
    low, high = survey.variance_bounds
    return (
        f"{survey.freedom} readings more than needed. Variance factor {survey.variance_factor:.2f}; with the"
        f" stated accuracies it lies between {low:.2f} and {high:.2f} in 95 of 100 surveys."
    )


def _placement(body: Placed) -> list[dict[str, str]]:
    if body.fit is None:
        return []
    return [
        {
            "name": f"{body.name}.{name}",
            **{
                axis: f"{1000.0 * value:.2f}".replace("-", "−")
                for axis, value in zip("xyz", miss, strict=True)
            },
            "off": f"{1000.0 * float(np.linalg.norm(miss)):.2f}",
        }
        for name, miss in zip(body.fit.names, body.fit.residuals, strict=True)
    ]


def _widest_free(layout: Layout, name: str) -> Any:
    """The middle of the longest piece of a tube that nothing is welded to: where its mark reads best."""
    tube = layout.tubes[name]
    landed = [fork.host for fork in layout.forks.values() if fork.on_member]
    landed += [hanger.host for hanger in layout.hangers.values()]
    landed += [seat for other in layout.tubes.values() for seat in other.seats if seat.kind is SeatKind.WELD]
    stations = sorted([0.0, tube.length, *(seat.station for seat in landed if seat.on == name)])
    start, end = max(pairwise(stations), key=lambda piece: piece[1] - piece[0])
    return tube.at((start + end) / 2.0)


def picture_data(
    layout: Layout, parts: CutParts, found: Sequence[Thing], marks: Marks, words: Words
) -> dict[str, Any]:
    """The three views and the list of tubes beside them."""
    middles = {name: (marks.tubes[name], _widest_free(layout, name)) for name in layout.tubes}
    middles |= {name: (marks.tubes[name], bar.at(bar.length / 2.0)) for name, bar in layout.bars.items()}
    pins = {name: (name, fork.pin) for name, fork in layout.forks.items()}
    hung = {name: (name, hanger.boss) for name, hanger in layout.hangers.items()}
    cut = parts.both
    plan = draw(PLAN, found, cut, {**middles, **pins, **hung}, (190.0, 218.0))
    side = draw(SIDE, found, cut, pins, (190.0, 130.0), fill=True)
    corner = draw(
        CORNER,
        [thing for thing in found if thing.sort is not Sort.OBSTACLE],
        cut,
        middles,
        (188.0, 66.0),
        fill=True,
    )
    return {
        "cover": corner,
        "plan": plan,
        "side": side,
        "tubes": [
            {
                "mark": marks.tubes[name],
                "name": name,
                "section": f"{words.section(tube.section)}, {tube.material.name}",
                "from": tube.seats[0].on,
                "to": tube.seats[1].on,
            }
            for name, tube in layout.tubes.items()
        ]
        + [
            {
                "mark": marks.tubes[name],
                "name": name,
                "section": f"{words.bar(bar.section)}, {bar.material.name}",
                "from": bar.seats[0].on,
                "to": bar.seats[1].on,
            }
            for name, bar in layout.bars.items()
        ],
    }


def facts(job: Job, cases: Sequence[LoadCase], together: str, words: Words) -> list[list[str]]:
    """The cover's facts."""
    own = [name for name, case in job.service.cases.items() if isinstance(case, Case)]
    return [
        ["datum", job.datum.origin],
        ["vehicle measured", job.datum.state],
        [
            "parts",
            f"{len(job.members)} tubes, {len(job.bungs)} bungs, {len(job.forks)} forks,"
            f" {len(job.hangers)} hangers; {together} together",
        ],
        [
            "hung",
            ", ".join(f"{name}, {words.mass(body.mass)}" for name, body in job.bodies.items()) or "nothing",
        ],
        ["load cases", f"{len(cases)}: {', '.join(case.name for case in cases)}"],
        ["of the job's own choice", ", ".join(own) or "none, all from the table"],
        ["not run", ", ".join(not_run(job)) or "none: every case of the table is run"],
    ]


def cautions() -> list[list[str]]:
    """What to print on the safety page: danger and what to do."""
    return [list(caution) for caution in CAUTIONS]
