"""From data to a PDF: one typst template, one record of plain data, fonts from packages, no clock."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typst

from soapstone.job.schema import Job
from soapstone.job.service import Show
from soapstone.shop.fonts import fonts

TEMPLATES = Path(__file__).parent / "typst"

CAUTION = (
    "Computed aid, not an approval. Local vehicle codes, licensed engineers and qualified welders decide. "
    "Never work under a drivetrain held only by a jack."
)


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, mm, upright."""

    name: str
    width: float
    height: float


PAPERS = {"A4": Paper("A4", 210.0, 297.0), "Letter": Paper("Letter", 215.9, 279.4)}
MARGIN = 10.0
"""mm; what any desk printer leaves free at least (common practice, no source)."""
TITLE_BLOCK = 26.0
"""mm, from the lower margin up."""


def paper_of(show: Show) -> Paper:
    """The paper a job is printed on."""
    return PAPERS[show.paper]


def is_first_angle(show: Show) -> bool:
    """Whether drawings are in first angle: as the job says, else as is usual where its paper is."""
    return (show.projection or ("first angle" if show.paper == "A4" else "third angle")) == "first angle"


def head(job: Job, *, units: str) -> dict[str, Any]:
    """What the title block of every sheet says."""
    paper = paper_of(job.show)
    return {
        "title": job.title,
        "revision": job.revision,
        "date": job.date or "",
        "invented": job.invented == "yes",
        "units": units,
        "paper": {"name": paper.name, "width": paper.width, "height": paper.height},
        "margin": MARGIN,
        "block": TITLE_BLOCK,
        "caution": CAUTION,
        "first_angle": is_first_angle(job.show),
    }


def typeset(template: str, data: Mapping[str, Any]) -> bytes:
    """Compile `shop/typst/<template>.typ` over the data.

    Text in the data stays text: the templates get it as strings, which typst never reads as markup.

    Returns
    -------
    bytes
        A PDF, the same byte for byte for the same data.
    """
    return typst.compile(
        TEMPLATES / f"{template}.typ",
        root=TEMPLATES,
        font_paths=fonts(),
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False, allow_nan=False)},
        timestamp=0,
        pdf_standards="1.7",
        pdf_tags=False,
    )
