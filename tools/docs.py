"""Write the generated parts of docs/ anew: `python tools/docs.py [--only outputs|keys|manual|pictures]`.

Outputs of commands, tables of keys and lists of names, the verification manual, and the pictures. A page
runs from its top: ```console blocks are commands with what they print, ```diff blocks edit the file named
behind `diff`, ```python blocks with a name are written to that file. A line `…` stands for lines left out.
"""

import os
import re
import shlex
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import chdir, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from io import StringIO
from pathlib import Path
from typing import Any
from unittest.mock import patch

from soapstone.cli import main as soapstone
from soapstone.examples import copy_example
from soapstone.job.fields import AXES, Record
from soapstone.job.schema import json_schema
from soapstone.tables import bolt_classes, bolt_sizes, fillers, load_factors, materials

DOCS = Path(__file__).resolve().parents[1] / "docs"
PLAYED = ("tutorial.md", "dunlin.md", "how-to.md", "wren.md")
LEFT_OUT = "…"
COLUMNS = "140"

# ---- pages that run -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Block:
    """A fenced block: its kind and name (```kind name), its lines, and the line of the first, from 1."""

    kind: str
    name: str
    lines: tuple[str, ...]
    line: int


def blocks(text: str, first_line: int = 1) -> Iterator[Block]:
    """All fenced blocks of a page."""
    for found in re.finditer(r"^```(\w+)[ ]?(.*)\n((?:.*\n)*?)```$", text, re.MULTILINE):
        line = text.count("\n", 0, found.start(3)) + first_line
        yield Block(found[1], found[2], tuple(found[3].splitlines()), line)


@dataclass(frozen=True)
class Answer:
    """A command of a page, what the page shows for it, and what it really printed."""

    line: int
    command: str
    shown: tuple[str, ...]
    printed: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Whether the lines shown were printed, in order, with nothing between but what `…` stands for."""
        pieces = [re.escape(line) + "\n" if line != LEFT_OUT else r"(?:.*\n)*?" for line in self.shown]
        return re.fullmatch("".join(pieces), "".join(f"{line}\n" for line in self.printed)) is not None

    def refreshed(self) -> tuple[str, ...]:
        """What to show now: all of it, or where lines are left out the nearest to each line shown before."""
        if self.agrees or LEFT_OUT not in self.shown:
            return self.shown if self.agrees else self.printed
        kept: list[str] = []
        rest = list(self.printed)
        for line in self.shown:
            if line == LEFT_OUT or not rest:
                kept.append(line)
                continue
            likeness = [SequenceMatcher(None, line, other).ratio() for other in rest]
            place = likeness.index(max(likeness))
            kept.append(rest[place])
            rest = rest[place + 1 :]
        return tuple(kept)


@dataclass
class Bench:
    """A folder in which a page's blocks are carried out."""

    folder: Path
    code: int = 0
    answers: list[Answer] = field(default_factory=list)

    def play(self, text: str, first_line: int = 1) -> None:
        """Carry out every block."""
        for block in blocks(text, first_line):
            if block.kind == "console":
                self.console(block)
            elif block.kind == "diff":
                self.edit(block)
            elif block.kind == "python" and block.name:
                (self.folder / block.name).write_text("\n".join(block.lines) + "\n", encoding="utf-8")

    def console(self, block: Block) -> None:
        """Run each command; lines up to the next one are what the page shows for it."""
        starts = [row for row, line in enumerate(block.lines) if line.startswith("$ ")]
        for row, after in zip(starts, [*starts[1:], len(block.lines)], strict=True):
            command = block.lines[row][2:]
            printed = tuple(line.rstrip() for line in self.run(command).splitlines())
            self.answers.append(Answer(block.line + row, command, block.lines[row + 1 : after], printed))

    def run(self, command: str) -> str:
        """What a command prints, on both of its outputs."""
        ours = re.fullmatch(r"soapstone (.*?)(?:\s*([|>])\s*(.*))?", command)
        if command == "echo $?":
            return f"{self.code}\n"
        if ours is None:
            return self.shell(command, "")
        printed = self.soapstone(shlex.split(ours[1]))
        if ours[2] is None:
            return printed
        return self.shell(ours[3] if ours[2] == "|" else f"cat > {ours[3]}", printed)

    def shell(self, command: str, given: str) -> str:
        """What another command prints, given what it reads."""
        done = subprocess.run(
            ["bash", "-c", command], cwd=self.folder, input=given, capture_output=True, text=True, check=False
        )
        self.code = done.returncode
        return done.stdout + done.stderr

    def soapstone(self, words: list[str]) -> str:
        """What our own command prints; run in this process, which spares the loading."""
        stream = StringIO()
        with (
            chdir(self.folder),
            redirect_stdout(stream),
            redirect_stderr(stream),
            patch.object(sys, "argv", ["soapstone", *words]),
            patch.dict(os.environ, {"COLUMNS": COLUMNS}),
        ):
            try:
                soapstone()
            except SystemExit as left:
                self.code = left.code if isinstance(left.code, int) else 0
        return stream.getvalue()

    def edit(self, block: Block) -> None:
        """Change the file a ```diff block names; the lines it takes out must stand there once."""
        file = self.folder / block.name
        text = file.read_text(encoding="utf-8")
        old = "".join(f"{line[1:]}\n" for line in block.lines if line[:1] != "+")
        new = "".join(f"{line[1:]}\n" for line in block.lines if line[:1] != "-")
        if text.count(old) != 1:
            raise ValueError(f"line {block.line}: {old!r} stands {text.count(old)} times in {block.name}")
        file.write_text(text.replace(old, new), encoding="utf-8")


def sections(text: str) -> list[tuple[int, str]]:
    """The page cut before each `## `, with the line each piece begins on."""
    pieces = re.split(r"^(?=## )", text, flags=re.MULTILINE)
    starts = [1 + sum(piece.count("\n") for piece in pieces[:index]) for index in range(len(pieces))]
    return list(zip(starts, pieces, strict=True))


def play(page: str, text: str, folder: Path) -> list[Answer]:
    """Carry out a page; each recipe of the how-to page begins afresh, after what stands above the first."""
    if page != "how-to.md":
        bench = Bench(folder)
        bench.play(text)
        return bench.answers
    answers: list[Answer] = []
    (_, head), *recipes = sections(text)
    for number, (line, recipe) in enumerate(recipes):
        bench = Bench(folder / str(number))
        bench.folder.mkdir()
        bench.play(head)
        bench.play(recipe, line)
        answers += bench.answers
    return answers


def with_answers(text: str, answers: list[Answer]) -> str:
    """The page with what its commands print today."""
    lines = text.splitlines()
    for answer in sorted({one.line: one for one in answers}.values(), key=lambda one: -one.line):
        lines[answer.line : answer.line + len(answer.shown)] = answer.refreshed()
    return "\n".join(lines) + "\n"


# ---- tables of keys and lists of names ------------------------------------------------------------------

ALSO: Mapping[str, Mapping[str, str]] = tomllib.loads(
    Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
)
"""What a key means, by record, where the model itself does not say it."""

_KIND_OF = {"kg": "mass", "N·m": "torque", "deg": "angle", "MPa": "stress", "kg/m3": "density"}
_KIND_OF |= {"kN/mm": "stiffness", "mm": "length", "in": "length"}


def keys(record: str) -> str:
    """Table of the keys of one record of the job file."""
    schema = json_schema()
    form = schema if record == "Job" else schema["$defs"][record]
    needed = form.get("required", [])
    rows = [
        f"| `{key}` | {_stands(part)} | {'yes' if key in needed else _default(record, key, part)} "
        f"| {meaning(record, key, part)} |"
        for key, part in form["properties"].items()
        if key != "note" and not (record == "Job" and _is_section(part))
    ]
    return "\n".join(["| key | what stands there | needed | meaning |", "|---|---|---|---|", *rows])


def meaning(record: str, key: str, part: Mapping[str, Any]) -> str:
    """What a key means: as the model says, or as the list beside this file; nothing where neither does."""
    return str(part.get("description") or ALSO.get(record, {}).get(key, ""))


def section_keys() -> tuple[str, ...]:
    """Top-level keys that have a section of their own."""
    return tuple(key for key, part in json_schema()["properties"].items() if _is_section(part))


def _is_section(part: Mapping[str, Any]) -> bool:
    return part.get("type") in ("object", "array") or "$ref" in part


def _stands(part: Mapping[str, Any]) -> str:
    """What may stand under a key, with the example of its kind."""
    if "$ref" in part:
        return _link(part["$ref"])
    if "enum" in part:
        return ", ".join(f"`{choice}`" for choice in dict.fromkeys(map(str, part["enum"])))
    if "anyOf" in part:
        return " or ".join(_stands(choice) for choice in part["anyOf"])
    if part.get("examples"):
        example = part["examples"][0]
        return f"`[{', '.join(example)}]`" if isinstance(example, list) else _quantity(example)
    if part["type"] == "array" and "prefixItems" in part:
        return f"two of {_stands(part['prefixItems'][0])}"
    if part["type"] == "array":
        return f"list of {_stands(part['items'])}"
    if part["type"] == "object":
        inner = part["additionalProperties"]
        if not inner:
            return "keys of its own"
        return "name: case, or `from table`" if "oneOf" in inner else f"name: {_stands(inner)}"
    return "text"


def _quantity(example: str) -> str:
    """The kind of a plain quantity; the example itself where the form is one of its own."""
    number, _, unit = example.partition(" ")
    if re.fullmatch(r"[\d.]+", number):
        return _KIND_OF.get(unit, f"`{example}`") if unit else "number"
    return f"`{example}`"


def _link(reference: str) -> str:
    record = reference.rpartition("/")[2]
    # readings are lines, told in a section of their own
    section = "readings" if record == "Reading" else record.lower()
    return f"[{record.lower()}](#{section})"


def _default(record: str, key: str, part: Mapping[str, Any]) -> str:
    """`no`, with the value that stands in when there is one."""
    model = {one.__name__: one for one in Record.__subclasses__()}[record]
    fields = {one.alias or name: one for name, one in model.model_fields.items()}
    value = fields[key].default
    example = str(part.get("examples", [""])[0])
    if isinstance(value, float):
        unit = example.rpartition(" ")[2] if " " in example else ""
        size = value * {"mm": 1e3, "in": 1e3}.get(unit, 1.0)
        return f"no; {size:g} {unit.replace('in', 'mm')}".rstrip()
    if value in AXES.values():
        return f"no; `{next(word for word, axis in AXES.items() if axis == value)}`"
    return f"no; `{value}`" if isinstance(value, str) and value else "no"


def names(of: str) -> str:
    """One of the lists of names that the tables know."""
    lists: Mapping[str, Callable[[], Any]] = {
        "materials": materials,
        "fillers": fillers,
        "bolt sizes": bolt_sizes,
        "bolt classes": bolt_classes,
        "load cases": load_factors,
    }
    return ", ".join(f"`{getattr(one, 'name', one)}`" for one in lists[of]()) + "."


def with_keys(text: str) -> str:
    """The page with all between `<!-- keys: X -->` or `<!-- names: x -->` and `<!-- end -->` written anew."""

    def written(found: re.Match[str]) -> str:
        body = keys(found[2]) if found[1] == "keys" else names(found[2])
        return f"<!-- {found[1]}: {found[2]} -->\n{body}\n<!-- end -->"

    pattern = r"<!-- (keys|names): ([\w ]+) -->\n(?:.*\n)*?<!-- end -->"
    return re.sub(pattern, written, text)


# ---- pictures -------------------------------------------------------------------------------------------

PICTURES = {
    "report.png": ("report.pdf", 0),
    "template.png": ("templates.pdf", 0),
    "table.png": ("table.pdf", 0),
}
DOTS_PER_INCH = 100
GREYS = 16


def picture(packet: Path, name: str) -> Any:
    """One page of the packet as an image of few greys."""
    import pymupdf
    from PIL import Image

    file, page = PICTURES[name]
    with pymupdf.open(packet / file) as sheets:
        pixels = sheets[page].get_pixmap(dpi=DOTS_PER_INCH, alpha=False)
    image = Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples)
    return image.quantize(GREYS, dither=Image.Dither.NONE)


def write_pictures(packet: Path, folder: Path) -> None:
    """All pictures of the pages."""
    folder.mkdir(exist_ok=True)
    for name in PICTURES:
        picture(packet, name).save(folder / name, optimize=True)


TORQUE = "torque.svg"
_LAYOUTS = ("transverse, final drive inside", "longitudinal, final drive inside", "longitudinal")
_WIDTHS = {"thick": 0.7, "thin": 0.35, "grey": 0.18, "hair": 0.18}


def torque_figure() -> str:
    """The torque reaction of the three layouts, of one invented unit on four bosses, as an SVG."""
    drawings = [_torque_drawing(layout) for layout in _LAYOUTS]
    tall = max(drawing["drawing"]["height"] for drawing in drawings) + 10.0
    parts, left = [], 0.0
    for layout, drawing in zip(_LAYOUTS, drawings, strict=True):
        parts.append(f'<g transform="translate({left:.1f} 0)">{_svg(drawing, layout, tall - 10.0)}</g>')
        left += drawing["drawing"]["width"] + 4.0
    head = f'viewBox="0 0 {left:.1f} {tall:.1f}" width="{3.6 * left:.0f}" height="{3.6 * tall:.0f}"'
    paper = '<rect width="100%" height="100%" fill="white"/>'
    page = f'<svg xmlns="http://www.w3.org/2000/svg" {head} font-family="sans-serif">{paper}'
    return f"{page}{''.join(parts)}</svg>\n"


def _torque_drawing(layout: str) -> dict[str, Any]:
    from soapstone.build import build
    from soapstone.job.load import load_text
    from soapstone.shop.free_body import free_bodies, free_body_data
    from soapstone.shop.words import Words

    page = (DOCS / "job-file.md").read_text(encoding="utf-8")
    text = "\n".join(line for block in blocks(page) if block.kind == "yaml" for line in block.lines) + "\n"
    text = re.sub(
        r"^  motor: .*$",
        f"  motor: {{body: reducer, torque: 20 N·m, ratio: 12, efficiency: 0.96,"
        f' layout: "{layout}", shock: 1, reverse: 0.5}}',
        text,
        flags=re.MULTILINE,
    )
    answer = build(load_text(text, Path()))
    unit, body = answer.rubber["reducer"], answer.placed["reducer"]
    shown = free_bodies(answer.layout, answer.placed, answer.cases, unit, "reducer")
    pull = next(picture for picture in shown if picture.case.name == "pulling away")
    return free_body_data(answer.job, body, pull, Words.of(answer.job.show))[0]


def _svg(drawing: Mapping[str, Any], layout: str, tall: float) -> str:
    """One drawing with its layout and view below it, millimetres as units."""
    data = drawing["drawing"]
    high = data["height"]
    parts = []
    for line in data["lines"]:
        points = " ".join(f"{x:.2f},{high - y:.2f}" for x, y in line["points"])
        shape = "polygon" if line.get("closed") else "polyline"
        width = _WIDTHS.get(line["stroke"], 0.18)
        parts.append(f'<{shape} points="{points}" fill="none" stroke="black" stroke-width="{width}"/>')
    ends = {"left": "start", "right": "end", "center": "middle"}
    for label in data["labels"]:
        anchor = ends[label.get("anchor", "left-horizon").split("-")[0]]
        at = f'x="{label["x"]:.2f}" y="{high - label["y"] + 0.8:.2f}"'
        parts.append(f'<text {at} font-size="2.3" text-anchor="{anchor}">{label["text"]}</text>')
    said = f"{layout}: {drawing['view']}"
    parts.append(f'<text x="2" y="{tall + 5.0:.1f}" font-size="2.8" font-weight="bold">{said}</text>')
    return "".join(parts)


def _write(page: str, change: Callable[[str], str]) -> None:
    file = DOCS / page
    file.write_text(change(file.read_text(encoding="utf-8")), encoding="utf-8")


def _outputs() -> None:
    for page in PLAYED:
        with tempfile.TemporaryDirectory() as folder:
            place = Path(folder)
            _write(page, lambda text, page=page, place=place: with_answers(text, play(page, text, place)))


def _manual() -> None:
    from soapstone.verify.manual import manual_text

    (DOCS / "verification.md").write_text(manual_text(), encoding="utf-8")


def _pictures() -> None:
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        copy_example("heron", bench.folder / "heron")
        bench.run("soapstone packet heron")
        write_pictures(bench.folder / "heron" / "packet", DOCS / "pictures")
    (DOCS / "pictures" / TORQUE).write_text(torque_figure(), encoding="utf-8")


def main(arguments: list[str]) -> None:
    """Write everything, or only the kind named."""
    kinds = {
        "outputs": _outputs,
        "keys": lambda: _write("job-file.md", with_keys),
        "manual": _manual,
        "pictures": _pictures,
    }
    for kind in arguments[1:] if arguments[:1] == ["--only"] else kinds:
        kinds[kind]()


if __name__ == "__main__":
    main(sys.argv[1:])
