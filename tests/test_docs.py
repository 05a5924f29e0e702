"""The pages of docs/: what they show is what happens, and what is generated is not stale."""

import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from soapstone.build import build
from soapstone.errors import QuantityError
from soapstone.finding import KINDS, Verdict
from soapstone.job.load import load_text
from soapstone.job.schema import json_schema
from soapstone.quantity import Kind, parse

ROOT = Path(__file__).resolve().parents[1]
PAGES = sorted((ROOT / "docs").glob("*.md"))


@pytest.fixture(scope="session")
def docs() -> Iterator[object]:
    sys.path.insert(0, str(ROOT / "tools"))
    import docs as tool

    yield tool
    sys.path.remove(str(ROOT / "tools"))


def page(name: str) -> str:
    return (ROOT / "docs" / name).read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def played(docs, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[list, Path]]:  # type: ignore[no-untyped-def]
    """The answers of a page and the folder it was carried out in; once a run."""
    done: dict[str, tuple[list, Path]] = {}

    def carried_out(name: str) -> tuple[list, Path]:
        if name not in done:
            folder = tmp_path_factory.mktemp(name.removesuffix(".md"))
            done[name] = (docs.play(name, page(name), folder), folder)
        return done[name]

    return carried_out


@pytest.mark.parametrize(("name", "least"), [("tutorial.md", 11), ("how-to.md", 11), ("wren.md", 2)])
def test_every_command_prints_what_the_page_shows(played, name: str, least: int) -> None:  # type: ignore[no-untyped-def]
    answers, _ = played(name)
    wrong = {f"{name}:{one.line} {one.command}": one.printed for one in answers if not one.agrees}
    assert not wrong, "written anew by: make docs"
    assert len(answers) >= least


@pytest.mark.parametrize("name", ["tutorial.md", "how-to.md", "wren.md"])
def test_a_page_shows_more_than_lines_left_out(docs, name: str) -> None:  # type: ignore[no-untyped-def]
    """A command whose whole answer is left out would agree with anything."""
    for block in docs.blocks(page(name)):
        if block.kind == "console":
            assert {line for line in block.lines if not line.startswith("$ ")} != {docs.LEFT_OUT}, block.line


@pytest.mark.parametrize(
    ("shown", "agrees"),
    [
        (("one", "two", "three"), True),
        (("one", "…", "three"), True),
        (("…",), True),
        (("one", "…", "two", "three", "…"), True),
        (("one", "two"), False),
        (("two", "…"), False),
        (("one", "three"), False),
        (("three", "…", "one"), False),
        (("one", "two.", "three"), False),
    ],
)
def test_lines_left_out_stand_for_any_and_nothing_else_does(  # type: ignore[no-untyped-def]
    docs, shown: tuple[str, ...], agrees: bool
) -> None:
    assert docs.Answer(1, "", shown, ("one", "two", "three")).agrees is agrees


def test_refreshing_keeps_what_was_left_out(docs) -> None:  # type: ignore[no-untyped-def]
    answer = docs.Answer(2, "", ("length 4", "…", "width 7"), ("length 5", "depth 1", "width 9", "end"))
    assert answer.refreshed() == ("length 5", "…", "width 9")
    text = "```console\n$ x\nlength 4\n…\nwidth 7\n```\n"
    assert docs.with_answers(text, [answer]) == "```console\n$ x\nlength 5\n…\nwidth 9\n```\n"


def test_an_edit_that_does_not_fit_is_refused(docs, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "f").write_text("a\nb\nb\n")
    bench = docs.Bench(tmp_path)
    bench.edit(docs.Block("diff", "f", ("-a", "+c"), 1))
    assert (tmp_path / "f").read_text() == "c\nb\nb\n"
    with pytest.raises(ValueError, match="stands 2 times"):
        bench.edit(docs.Block("diff", "f", ("-b", "+c"), 1))


def test_the_tutorial_quotes_the_example(docs, heron_text: str) -> None:  # type: ignore[no-untyped-def]
    quoted = [block for block in docs.blocks(page("tutorial.md")) if block.kind == "yaml"]
    assert len(quoted) >= 5
    for block in quoted:
        assert "\n".join(block.lines) + "\n" in heron_text, block.line
    assert "invented" in page("tutorial.md").split("\n\n")[1]


def test_the_page_of_the_wren_quotes_it(docs) -> None:  # type: ignore[no-untyped-def]
    text = (ROOT / "src/soapstone/examples/wren/job.yaml").read_text(encoding="utf-8")
    quoted = [block for block in docs.blocks(page("wren.md")) if block.kind == "yaml"]
    assert len(quoted) >= 5
    for block in quoted:
        assert "\n".join(block.lines) + "\n" in text, block.line
    assert "invented" in page("wren.md").split("\n\n")[1]


def test_the_key_tables_are_not_stale(docs) -> None:  # type: ignore[no-untyped-def]
    assert docs.with_keys(page("job-file.md")) == page("job-file.md"), "written anew by: make docs"


def test_every_record_has_its_table_and_every_key_its_meaning(docs) -> None:  # type: ignore[no-untyped-def]
    shown = set(re.findall(r"<!-- keys: (\w+) -->", page("job-file.md")))
    schema = json_schema()
    records = {"Job": schema, **schema["$defs"]}
    assert shown == set(records) - {"Reading"}  # a reading is a line, told in words
    silent = [
        f"{record}.{key}"
        for record in shown
        for key, part in records[record]["properties"].items()
        if key != "note" and key not in docs.section_keys() and not docs.meaning(record, key, part)
    ]
    assert silent == [], "say it in the model's description, or in tools/docs.toml"


def test_no_meaning_is_kept_for_a_key_that_says_its_own(docs) -> None:  # type: ignore[no-untyped-def]
    schema = json_schema()
    for record, meanings in docs.ALSO.items():
        form = schema if record == "Job" else schema["$defs"][record]
        for key in meanings:
            assert "description" not in form["properties"][key], f"{record}.{key}"


def test_the_examples_of_the_reference_are_one_job(docs) -> None:  # type: ignore[no-untyped-def]
    text = page("job-file.md")
    parts = [block for block in docs.blocks(text) if block.kind == "yaml"]
    given = [line.partition(":")[0] for block in parts for line in block.lines if re.match(r"\w", line)]
    assert set(docs.section_keys()) <= set(given) and len(given) == len(set(given))
    job = load_text("\n".join(line for block in parts for line in block.lines) + "\n", Path())
    answer = build(job)
    assert answer.verdict is not Verdict.SHORT and len(answer.findings) > 50
    assert job.points["L"].hole is not None and job.readings[0].to_centres < 0.0


def rows(text: str, width: int) -> list[tuple[str, ...]]:
    return [
        cells
        for line in text.splitlines()
        if len(cells := tuple(cell.strip() for cell in line.strip("|").split(" | "))) == width
    ]


def quoted(cell: str) -> list[str]:
    return re.findall(r"`([^`]+)`", cell)


def test_quantities_read_or_are_refused_as_the_reference_says() -> None:
    kinds = {kind.value for kind in Kind}
    section = page("job-file.md").partition("### Quantities")[2].partition("### Positions")[0]
    read = [(kind, text) for kind, texts in rows(section, 2) if kind in kinds for text in quoted(texts)]
    refused = [(kind, text) for kind, texts, _ in rows(section, 3) if kind in kinds for text in quoted(texts)]
    assert len(read) > 20 and len(refused) > 5
    for kind, text in read:
        assert parse(text, Kind(kind)) > 0.0
    for kind, text in refused:
        with pytest.raises(QuantityError):
            parse(text, Kind(kind))


def test_every_kind_of_finding_has_its_page_and_no_other() -> None:
    assert re.findall(r"^## `([\w-]+)`$", page("findings.md"), re.MULTILINE) == list(KINDS)


def anchor(heading: str) -> str:
    return re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-")


@pytest.mark.parametrize("file", [*PAGES, ROOT / "README.md"], ids=lambda file: file.name)
def test_every_link_leads_somewhere(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if target.startswith("https://"):
            continue
        name, _, part = target.partition("#")
        other = file if not name else (file.parent / name).resolve()
        assert other.exists(), target
        if part:
            headings = re.findall(r"^#+ (.+)$", other.read_text(encoding="utf-8"), re.MULTILINE)
            assert part in {anchor(heading) for heading in headings}, target


@pytest.mark.parametrize("name", ["tutorial.md", "how-to.md", "job-file.md", "explanation.md"])
def test_pages_keep_their_voice(name: str) -> None:
    prose = re.sub(r"^```.*?^```$", "", page(name), flags=re.DOTALL | re.MULTILINE)
    assert "!" not in re.sub(r"!\[|<!--", "", prose)
    long = [line for line in prose.splitlines() if len(line) > 140 and line[:1] not in "|`"]
    assert long == []


@pytest.mark.parametrize("name", ["report.png", "template.png", "table.png"])
def test_pictures_show_todays_packet(docs, played, name: str) -> None:  # type: ignore[no-untyped-def]
    from PIL import Image

    file = ROOT / "docs" / "pictures" / name
    assert file.stat().st_size < 250_000
    _, folder = played("tutorial.md")
    fresh = docs.picture(folder / "heron" / "packet", name).convert("L")
    with Image.open(file) as stored:
        assert stored.convert("L").tobytes() == fresh.tobytes(), "written anew by: make docs"


def test_the_figure_of_three_layouts_is_not_stale(docs) -> None:  # type: ignore[no-untyped-def]
    stored = (ROOT / "docs" / "pictures" / docs.TORQUE).read_text(encoding="utf-8")
    assert docs.torque_figure() == stored, "written anew by: make docs"
    assert all(
        layout in stored for layout in ("transverse, final drive inside", "longitudinal: from in front")
    )


def test_a_command_that_fails_is_seen_to_fail(docs, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    bench = docs.Bench(tmp_path)
    assert "no such file" in bench.run("soapstone check nowhere") and bench.run("echo $?") == "2\n"
    assert bench.run("soapstone schema | wc -c").strip().isdecimal() and bench.code == 0
    bench.run("soapstone schema > schema.json")
    assert (tmp_path / "schema.json").read_text(encoding="utf-8").startswith("{")
