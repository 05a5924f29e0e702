"""The list of each station: what it is made of, as a table with cells that can be changed."""

from collections.abc import Iterable

from soapstone.bench.desk_state import Desk
from soapstone.bench.marks import Said, box, choice, entry, push, verdict_mark
from soapstone.bench.rows import Cell, places, point_rows, reading_cells, section_cells, tube_rows
from soapstone.bench.stages import Stage, Wanted, by_reserve
from soapstone.build import Build
from soapstone.finding import Finding, Verdict
from soapstone.shop.explain import amount, explained

_ANSWERS_FIRST = (Stage.PLACE, Stage.HOLD, Stage.FIT)
_MOST = 100
"""Findings listed at once; the words above the list narrow them down."""


def station_list(desk: Desk) -> None:
    """What stands on the left."""
    answer = desk.bench.answer
    if answer is None:
        Said("h2", desk.stage.value)
        Said("p", "Nothing is computed yet", "dim")
        for fault in desk.bench.worker.faults:
            Said("p", fault, "fault")
        return
    if desk.stage in _ANSWERS_FIRST:
        _findings(desk, answer.build)
    match desk.stage:
        case Stage.MEASURE:
            _points(desk, answer.build)
            _cells(desk, "Readings", reading_cells(desk.bench.session.text))
        case Stage.PLACE:
            _cells(desk, "Place", section_cells(desk.bench.session.text, ("place",)))
        case Stage.DRAW:
            _tubes(desk, answer.build)
            _new_tube(desk, answer.build)
            _cells(desk, "Stock", section_cells(desk.bench.session.text, ("stock",)))
        case Stage.HOLD:
            _cells(desk, "Loads", section_cells(desk.bench.session.text, ("service",)))
        case Stage.FIT:
            _cells(desk, "Bolting up", section_cells(desk.bench.session.text, ("bolt up",)))
        case Stage.MAKE:
            _packet(desk)
    if desk.stage not in _ANSWERS_FIRST:
        _findings(desk, answer.build)


def cell(desk: Desk, one: Cell) -> None:
    """A field for one value; what was refused stays in it, with the reason below."""
    refused = desk.bench.refused.get(one.path)
    wrong = {"aria_invalid": "true"} if refused else {}
    entry(one.label, refused[0] if refused else one.text, lambda new: desk.set(one, new), **wrong)
    if refused:
        Said("p", refused[1], "fault", role="alert")


def _cells(desk: Desk, title: str, cells: Iterable[Cell]) -> None:
    found = list(cells)
    if not found:
        return
    Said("h2", f"{title}: {len(found)}")
    with box("table", aria_label=title), box("tbody"):
        for one in found:
            with box("tr"):
                Said("th", one.label, scope="row")
                with box("td"):
                    cell(desk, one)


def _points(desk: Desk, build: Build) -> None:
    rows = point_rows(build, desk.bench.session.text)
    Said("h2", f"Points: {len(rows)}")
    with box("table", aria_label="Points"), box("tbody"):
        for row in rows:
            with box("tr", "picked" if row.name == desk.picked else ""):
                with box("td"):
                    _name(desk, row.name)
                with box("td"):
                    if row.cell is not None:
                        cell(desk, row.cell)
                    else:
                        Said("span", f"{row.at}  ")
                        Said("span", row.spread, "dim")


def _name(desk: Desk, name: str) -> None:
    push(name, lambda: desk.pick(name), "name")


def _tubes(desk: Desk, build: Build) -> None:
    rows = tube_rows(build)
    Said("h2", f"Tubes: {len(rows)}")
    with box("table", aria_label="Tubes"):
        with box("thead"), box("tr"):
            for head in ("tube", "stock", "mass", "used", "verdict"):
                Said("th", head, scope="col")
        with box("tbody"):
            for row in rows:
                with box("tr", "picked" if row.name == desk.picked else ""):
                    with box("td"):
                        _name(desk, row.name)
                    with box("td"):
                        _stock(desk, build, row.stock)
                    Said("td", row.mass, "number")
                    worst = row.worst
                    Said("td", _ratio(worst) if worst else "", "number")
                    with box("td"):
                        if worst is not None:
                            verdict_mark(worst.verdict)


def _stock(desk: Desk, build: Build, one: Cell) -> None:
    choice(one.label, build.job.stock, one.text, lambda new: desk.set(one, new))


def _ratio(finding: Finding) -> str:
    return "–" if finding.ratio is None else f"{finding.ratio:.2f}"


def _new_tube(desk: Desk, build: Build) -> None:
    Said("h2", "Another tube")
    spots, new = places(build), desk.new_tube
    new.begin(spots, list(build.job.stock))
    with box("div", "row"):
        for label, key, options in (
            ("from", "start", spots),
            ("to", "end", spots),
            ("of", "stock", build.job.stock),
        ):
            with box("label"):
                Said("span", label)
                choice(
                    f"new tube {label}",
                    options,
                    getattr(new, key),
                    lambda value, k=key: setattr(new, k, value),
                )
        push("Add the tube", desk.add_tube, "plain act")


def _packet(desk: Desk) -> None:
    Said("h2", "Packet")
    Said("p", "Every sheet and file of the job as it was computed last.", "dim")
    push("Write the packet", desk.write_packet, "plain act")
    if desk.writing:
        Said("p", f"writing {desk.writing}", role="status")
    folder = desk.bench.packet_folder
    files = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    with box("table", aria_label="Files of the packet"), box("tbody"):
        for name in files:
            with box("tr"):
                with box("td"):
                    if name.endswith(".pdf"):
                        push(name, lambda n=name: desk.preview(n), "name")
                    else:
                        Said("span", name)
                with box("td"):
                    Said(
                        "a",
                        "keep",
                        href=f"/sheets/{name}",
                        download=name.rpartition("/")[2],
                        aria_label=f"keep {name}",
                    )


def _findings(desk: Desk, build: Build) -> None:
    wanted = Wanted(desk.stage, desk.verdict, desk.words)
    found = by_reserve(finding for finding in build.findings if wanted.takes(finding))
    Said("h2", f"{desk.stage.value}: {len(found)} findings" + (" (stale)" if desk.bench.is_stale else ""))
    with box("div", "row"):
        with box("label"):
            Said("span", "part, case or word")
            entry("part, case or word", desk.words, desk.narrow)
        with box("label"):
            Said("span", "verdict")
            choice("verdict", ("all", *Verdict), desk.verdict or "all", desk.only)
    for finding in found[:_MOST]:
        finding_line(desk, build, finding)
    if len(found) > _MOST:
        Said("p", f"{len(found) - _MOST} more; a word above narrows them down", "dim")


def finding_line(desk: Desk, build: Build, finding: Finding) -> None:
    """One finding: its verdict, what it asks, and its formulas when it is opened."""
    line = box("details")
    if finding.id in desk.opened:
        line._props["open"] = True
    line.on(
        "toggle", lambda event: desk.open(finding.id, event.args), js_handler="(e) => emit(e.target.open)"
    )
    with line:
        with box("summary"):
            verdict_mark(finding.verdict)
            Said("span", f" {_ratio(finding)}  {finding.about}: {finding.claim}")
        asked = amount(finding.demand, finding.unit, build.job)
        if asked:
            allowed = amount(finding.capacity, finding.unit, build.job)
            Said("p", f"{asked} asked, {allowed} allowed" + (f" · {finding.case}" if finding.case else ""))
        if finding.id in desk.opened:
            Said("pre", "\n".join(explained(finding, build.job.show)[2:]))
        push("Pick the part", lambda: desk.pick(finding.about))
