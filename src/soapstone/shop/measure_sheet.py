"""The sheet to measure with: where the points are, what to take, blanks to write in; and the same as CSV."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from soapstone.job.csv_readings import COLUMNS
from soapstone.job.hardware import Body
from soapstone.job.measured import Reading as JobReading
from soapstone.job.schema import Job
from soapstone.shop.network_picture import network_data
from soapstone.shop.words import Words
from soapstone.survey.next_reading import Proposal
from soapstone.survey.records import Network, Survey

_HOW = {
    "tape": "straight, centre to centre",
    "plan": "between plumb marks on the floor",
    "height": "plumb, above the floor datum",
    "offset": "square to the centreline",
    "level": "on a straightedge, from the first to the second",
    "coordinates": "x, y, z",
    "straight": "on a string from the second to the third",
    "flush": "in the plane of the other three",
}
_HEAD = tuple(name for name in COLUMNS if name not in ("x", "y", "z"))


def measure_data(
    job: Job, survey: Survey, network: Network, proposals: Sequence[Proposal], words: Words
) -> dict[str, Any]:
    """Plain data for the `measure` template.

    Parameters
    ----------
    proposals : sequence of Proposal
        Readings not in the job yet that would help; they come first, with what each would bring.
    """
    drawn = network_data(survey, network)
    return {
        "views": drawn["views"],
        "scale": drawn["scale"],
        "state": [["origin", job.datum.origin], ["state", job.datum.state]],
        "points": [[name, point.what or ""] for name, point in job.points.items() if point.from_ is None],
        "next": [_proposed(number, one, words) for number, one in enumerate(proposals, 1)],
        "again": [_again(number, one) for number, one in enumerate(job.readings, len(proposals) + 1)],
        "bodies": [_body(name, body) for name, body in job.bodies.items() if body.readings],
        "unit": words.names.partition(",")[0],
    }


def _body(name: str, body: Body) -> dict[str, Any]:
    """What is read among a body's own points on the shop floor."""
    readings = [_again(number, one) for number, one in enumerate(body.readings, 1)]
    for row in readings:
        row["how"] = row["how"].replace("the floor datum", "the shop floor")
    return {"name": name, "what": body.what or "", "readings": readings}


def _proposed(number: int, proposal: Proposal, words: Words) -> dict[str, str]:
    reading = proposal.reading
    brought = proposal.brings[proposal.helps]
    return {
        "number": str(number),
        "label": reading.label,
        "how": _HOW[reading.kind.value],
        "with": proposal.tool,
        "brings": f"{proposal.helps} to ±{1000 * brought:.1f} mm",
    }


def _again(number: int, reading: JobReading) -> dict[str, str]:
    how = _HOW[reading.kind]
    if isinstance(reading.read, str) and "edge" in reading.read:
        how = reading.read.partition(",")[2].strip()
    return {"number": str(number), "label": reading.label, "how": how, "with": reading.with_ or reading.kind}


def measure_csv(job: Job, proposals: Sequence[Proposal]) -> str:
    """The same list to fill in at the bench or on a phone; the job takes it back as `{file: …}`.

    The unit stands in its column as the job shows lengths, or degrees for a level.
    """
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, _HEAD, lineterminator="\r\n")
    writer.writeheader()
    length = job.show.length.split()[0]
    for proposal in proposals:
        reading = proposal.reading
        with_ = "" if proposal.tool == reading.kind.value else proposal.tool
        writer.writerow(_csv_row(reading.kind.value, reading.touched, length) | {"with": with_})
    for one in job.readings:
        beside = {"with": one.with_ or "", "in": one.in_ or "", "plane": one.plane or ""}
        writer.writerow(_csv_row(one.kind, one.points, length) | beside | _edges(one))
    return out.getvalue()


def _csv_row(kind: str, points: Sequence[str], length: str) -> dict[str, str]:
    row = {"kind": kind, "unit": "deg" if kind == "level" else length}
    if len(points) == 2:
        return row | {"from": points[0], "to": points[1]}
    return row | {"point": points[0], "of": " ".join(points[1:])}


def _edges(reading: JobReading) -> dict[str, str]:
    said = reading.read.partition(",")[2] if isinstance(reading.read, str) else ""
    first, _, second = said.partition(" to ")
    named = {"from edge": first, "to edge": second}
    return {name: edge.replace("edge", "").strip() for name, edge in named.items()}
