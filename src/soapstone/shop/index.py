"""The packet's index: what each file is for, how large the plates are, a checksum to tell a stale print."""

from collections.abc import Mapping, Sequence

from soapstone.job.schema import Job
from soapstone.parts.tabs import Plate
from soapstone.shop.sheet import CAUTION
from soapstone.shop.tube_files import about_tube_file
from soapstone.shop.words import Words

_FOR = {
    "report.pdf": "what was given, what follows, every formula with its numbers",
    "templates.pdf": "wrap templates at 1:1, print at 100 %",
    "tubes.pdf": "a card for each tube: lengths, clocking, machine settings, centre-punch marks",
    "cutlist.pdf": "the cut list as a page, bolts and welds, marking out",
    "cutlist.csv": "the cut list for a spreadsheet (UTF-8)",
    "bends.pdf": "bend tables: straight, turn, bend, set angle, where each begins",
    "bends.csv": "the same for a bending machine, mm and degrees",
    "plates.pdf": "a card for each plate of the job: drawing, openings, folds",
    "folded.pdf": "folded tubes: wedges in a table, and round the four faces at 1:1, print at 100 %",
    "drawings.pdf": "assembly with balloons and parts list, a dimensioned drawing of each straight tube",
    "turned.pdf": "a dimensioned drawing of each turned part",
    "measure.pdf": "a sheet to measure with, the readings worth taking next first",
    "measure.csv": "the same list to fill in, read back as `- {file: measure.csv}`",
    "network.pdf": "the survey drawn: points with their ellipsoids, readings with their residuals",
    "table.pdf": "set-up of the fixture table",
    "assembly.mm.step": "tubes, bungs, tabs and hangers in their place, exact (STEP AP214), in mm",
    "assembly.in.step": "tubes, bungs, tabs and hangers in their place, exact (STEP AP214), in inches",
    "assembly-no-step.txt": "why there is no STEP file of the whole",
    "model.glb": "the mount in 3-D (glTF, metres, up is +Y)",
    "model-loaded.glb": "its tubes as they bend, coloured by their highest stress",
}


def index_text(job: Job, plates: Sequence[Plate], sums: Sequence[tuple[str, int, str]], words: Words) -> str:
    """The text of index.txt.

    Parameters
    ----------
    job : Job
    plates : sequence of Plate
    sums : sequence of (name, bytes, SHA-256)
    words : Words
    """
    lines = [job.title, f"revision {job.revision}" + (f", {job.date}" if job.date else "")]
    if job.invented == "yes":
        lines.append("invented example: no such vehicle, drive unit or workshop exists")
    lines += ["", CAUTION, "", "files", ""]
    about = _FOR | {
        f"plates/{plate.name}.{job.show.dxf}.dxf": _plate(plate, job.show.dxf) for plate in plates
    }
    wide = max(len(name) for name, _, _ in sums)
    for name, size, digest in sums:
        told = _about(name, about)
        lines.append(f"{name:<{wide}}  {told}")
        lines.append(f"{'':<{wide}}  {size} bytes, sha256 {digest}")
    return "\n".join(lines) + "\n"


def _about(name: str, about: Mapping[str, str]) -> str:
    if name.startswith("tubes/"):
        return about_tube_file(name)
    if name.startswith("drawings/"):
        unit = name.split(".")[-2]
        return f"its drawing at true size, in {unit}; layers OUTLINE, EDGES, DIMENSIONS, CENTRE and WORDS"
    return about[name]


def _plate(plate: Plate, unit: str) -> str:
    left, bottom, right, top = plate.outline.bounds
    per = 1000.0 if unit == "mm" else 1000.0 / 25.4
    across, tall, thick = (
        f"{per * size:.3f}".rstrip("0").rstrip(".")
        for size in (right - left, top - bottom, plate.outline.thickness)
    )
    users = ", ".join(plate.used_by)
    return (
        f"{plate.quantity} off, {across} x {tall} {unit} overall, {thick} {unit} {plate.material},"
        f" for {users}; {_layers(plate)}, coordinates in {unit}"
    )


def _layers(plate: Plate) -> str:
    names = ["CUT", "HOLES"]
    names += ["BEND (not cut)"] if plate.outline.bend_lines else []
    names += ["ETCH (not cut)"] if plate.outline.mark else []
    return f"layers {', '.join(names[:-1])} and {names[-1]}"
