"""The command line: thin; every command calls `build` and shows what it says."""

import dataclasses
import json
import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from soapstone import __version__
from soapstone.errors import JobError, SoapstoneError
from soapstone.finding import Finding, Verdict

if TYPE_CHECKING:
    from soapstone.build import Array, Build
    from soapstone.strength.load_path import Link

app = typer.Typer(
    name="soapstone",
    help="From what you measured to the paper you cut by: where every point is, whether the mount holds, "
    "and the sheets for the saw, the table and the engineer.\n\n"
    "A computed aid, not an approval: local vehicle codes, licensed engineers and qualified welders decide.",
    no_args_is_help=True,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
)

_WORTH_A_LOOK = 0.5
"""Share of the allowed from which a finding that holds is worth a line without being asked for."""

EXIT = {Verdict.HOLDS: 0, Verdict.SHORT: 1, Verdict.OPEN: 3}
UNREADABLE = 2

_JobPath = Annotated[Path, typer.Argument(metavar="JOB", help="The job's folder, or its job.yaml.")]
_Json = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]

_messages = Console(stderr=True)


def main() -> None:
    """Run the command line; no traceback reaches a user."""
    try:
        app()
    except JobError as error:
        for fault in error.faults:
            _messages.print(escape(fault), soft_wrap=True, highlight=False)
        sys.exit(UNREADABLE)
    except SoapstoneError as error:
        _messages.print(escape(str(error)), soft_wrap=True, highlight=False)
        sys.exit(UNREADABLE)
    except OSError as error:
        _messages.print(escape(f"{error.filename or 'a file'}: {error.strerror}"), soft_wrap=True)
        sys.exit(UNREADABLE)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"soapstone {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Options that stand before the command."""


@contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """Show the running stage on standard error, where it can be seen and does no harm to a pipe."""
    if not _messages.is_terminal:
        yield lambda stage: None
        return
    with _messages.status("reading the job") as status:
        yield status.update


def _built(path: Path) -> "Build":
    from soapstone.build import build
    from soapstone.job.load import load

    with _progress() as progress:
        return build(load(path), progress)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make.")],
    example: Annotated[
        str, typer.Option("--example", metavar="NAME", help="Start from an example instead of a blank job.")
    ] = "blank",
) -> None:
    """Start a job folder, blank or from an example (heron)."""
    from soapstone.examples import copy_example

    made = copy_example(example, folder)
    typer.echo(f"{made} is ready; look at it with: soapstone check {folder}")


@app.command()
def check(
    job: _JobPath,
    as_json: _Json = False,
    everything: Annotated[
        bool, typer.Option("--all", help=f"Also list what holds with less than {_WORTH_A_LOOK:.0%} used.")
    ] = False,
) -> None:
    """Run everything and print what holds, what is short and what is still open.

    Ends with 0 when all holds, 1 when something is short, 2 when the job could not be read or solved,
    3 when something is open and nothing is short.
    """
    build = _built(job)
    if as_json:
        typer.echo(json.dumps(_json_report(build), ensure_ascii=False, indent=2))
    else:
        _print_findings(build, everything=everything)
    raise typer.Exit(EXIT[build.verdict])


@app.command()
def packet(
    job: _JobPath,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Where to put it; beside the job by default.")
    ] = None,
) -> None:
    """Write the shop packet: report, wrap templates, cut list, table set-up, plates and model."""
    from soapstone.build import build
    from soapstone.job.load import load
    from soapstone.shop.packet import write_packet

    with _progress() as progress:
        built = build(load(job), progress)
        folder = out or built.job.folder / "packet"
        files = write_packet(built, folder, progress)
    for file in files:
        typer.echo(str(file))
    _messages.print(f"{_counts(built)} The packet is in {escape(str(folder))}", highlight=False)


@app.command("open")
def open_(
    job: Annotated[
        Path | None,
        typer.Argument(
            metavar="JOB", help="The job's folder, or its job.yaml; without one, begin a new job."
        ),
    ] = None,
    port: Annotated[int, typer.Option("--port", help="Where to listen; a free port by default.")] = 0,
    browser: Annotated[bool, typer.Option(help="Open a browser at the address.")] = True,
) -> None:
    """Open the bench in a browser on this machine: see the job, change it, know at once."""
    from soapstone.bench.server import open_bench

    open_bench(job, port=port, show=browser, told=lambda address: typer.echo(f"The bench is at {address}"))


@app.command()
def explain(
    job: _JobPath,
    finding: Annotated[
        str, typer.Argument(metavar="ID", help="As `check` prints it: member-stress:side_left.")
    ],
) -> None:
    """Show one finding, formula by formula, with the numbers put in."""
    from soapstone.shop.explain import explained
    from soapstone.tables import nearest

    build = _built(job)
    found = build.finding(finding)
    if found is None:
        close = nearest(finding, [f.id for f in build.findings])
        raise SoapstoneError(
            f"no finding is called {finding!r}",
            remedy=f"nearest: {close}" if close else "see soapstone check",
        )
    typer.echo("\n".join(explained(found, build.job.show)))


@app.command()
def verify(
    as_json: _Json = False,
    red: Annotated[
        bool, typer.Option("--red", help="Shift every published value and demand that each check fails.")
    ] = False,
) -> None:
    """Run the published checks on this machine and print the table."""
    from soapstone.verify import run_checks

    results = run_checks(shifted=red)
    if as_json:
        typer.echo(json.dumps({"checks": [r.as_json() for r in results]}, ensure_ascii=False, indent=2))
    else:
        _print_checks([r.as_json() for r in results])
    good = all(r.holds is not red for r in results)
    if not as_json:
        word = "fail when shifted, as they must" if red else "hold"
        _messages.print(f"{sum(r.holds is not red for r in results)} of {len(results)} checks {word}.")
    raise typer.Exit(0 if good else 1)


@app.command()
def schema() -> None:
    """Print the JSON Schema of job.yaml, for editors that complete and check it."""
    from soapstone.job.schema import json_schema_text

    typer.echo(json_schema_text(), nl=False)


def _counts(build: "Build") -> str:
    count = {v: sum(f.verdict is v for f in build.findings) for v in Verdict}
    return f"{len(build.findings)} findings: " + ", ".join(f"{n} {v}" for v, n in count.items()) + "."


def _print_findings(build: "Build", *, everything: bool) -> None:
    from soapstone.shop.explain import amount

    table = Table(title=escape(build.job.title), title_justify="left", box=None, pad_edge=False)
    for head in ("", "finding", "asked", "allowed", "share", "case"):
        table.add_column(head, justify="right" if head in ("asked", "allowed", "share") else "left")
    order = {Verdict.SHORT: 0, Verdict.OPEN: 1, Verdict.HOLDS: 2}
    listed = [
        finding
        for finding in sorted(
            build.findings, key=lambda f: (order[f.verdict], not f.case, -(f.ratio or 0.0), f.id)
        )
        if everything or finding.verdict is not Verdict.HOLDS or (finding.ratio or 0.0) >= _WORTH_A_LOOK
    ]
    for finding in listed:
        table.add_row(
            f"{finding.verdict.mark} {finding.verdict}",
            escape(finding.id),
            amount(finding.demand, finding.unit, build.job),
            amount(finding.capacity, finding.unit, build.job),
            "" if finding.ratio is None else f"{finding.ratio:.2f}",
            escape(finding.case),
        )
    console = Console(width=None if sys.stdout.isatty() else 140, highlight=False)
    console.print(table)
    for finding in build.findings:
        if finding.verdict is not Verdict.HOLDS:
            console.print(_todo(finding), soft_wrap=True)
    if unlisted := len(build.findings) - len(listed):
        console.print(f"{unlisted} more hold with less than {_WORTH_A_LOOK:.0%} used; --all lists them.")
    console.print(_counts(build))


def _todo(finding: Finding) -> str:
    return escape(f"{finding.verdict.mark} {finding.id}: {finding.remedy or finding.claim}")


def _print_checks(rows: list[dict[str, Any]]) -> None:
    table = Table(box=None, pad_edge=False)
    for head in ("", "check", "published", "computed", "unit", "off by", "allowed", "source"):
        table.add_column(head)
    for row in rows:
        table.add_row(
            "holds" if row["holds"] else "fails",
            escape(f"{row['id']}  {row['what']}"),
            escape(str(row["published"])),
            f"{row['computed']:.8g}",
            escape(row["unit"]),
            f"{row['relative_error']:.1e}",
            f"{row['tolerance']:.1e}",
            escape(row["source"]) + (" (from memory)" if row["from_memory"] else ""),
        )
    Console(width=None if sys.stdout.isatty() else 200, highlight=False).print(table)


def _json_report(build: "Build") -> dict[str, Any]:
    return {
        "soapstone": __version__,
        "job": {"title": build.job.title, "revision": build.job.revision, "file": build.job.folder.name},
        "points": [_json_point(build, name, at) for name, at in _named(build)],
        "findings": [_json_finding(finding) for finding in build.findings],
        "load_path": [_json_link(link) for link in build.links],
    }


def _json_link(link: "Link") -> dict[str, Any]:
    return {
        "finding": link.finding.id,
        "stage": link.stage,
        "ratio": link.ratio,
        "reserve": link.reserve if math.isfinite(link.reserve) else None,
        "buys": [dataclasses.asdict(buy) for buy in link.buys],
    }


def _named(build: "Build") -> Iterator[tuple[str, "Array"]]:
    """Every named point: the job's, then those of the bodies."""
    yield from build.layout.points.items()
    for body in build.placed.values():
        yield from ((f"{body.name}.{point}", at) for point, at in body.points.items())


def _json_point(build: "Build", name: str, at: "Array") -> dict[str, Any]:
    measured = name in build.survey.names
    moves = build.movements.get(name)
    return {
        "name": name,
        "at_m": at.tolist(),
        "sigma_m": build.survey.sigma_of(name).tolist() if measured else None,
        "moves_m": None
        if moves is None
        else {case.name: move.tolist() for case, move in zip(build.cases, moves, strict=True)},
    }


def _json_finding(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id,
        "about": finding.about,
        "claim": finding.claim,
        "case": finding.case,
        "demand": finding.demand,
        "capacity": finding.capacity,
        "unit": finding.unit,
        "ratio": finding.ratio,
        "verdict": finding.verdict.value,
        "because": [
            {
                "symbol": step.symbol,
                "formula": step.formula,
                "numbers": [{"symbol": s, "value": v, "unit": u} for s, v, u in step.numbers],
                "value": step.value,
                "unit": step.unit,
                "words": step.words,
            }
            for step in finding.because
        ],
        "source": finding.source,
        "remedy": finding.remedy,
        "caution": finding.caution,
        "assumed": list(finding.assumed),
    }
