"""The first page when no job is open: an example, or a blank job."""

from collections.abc import Callable
from pathlib import Path

from nicegui import ui

from soapstone.bench.bench import start_job
from soapstone.bench.desk import dress
from soapstone.bench.desk_state import off_the_page
from soapstone.bench.marks import Said, box, choice, entry, push
from soapstone.errors import SoapstoneError
from soapstone.examples import examples


def first_page(take: Callable[[Path], None]) -> None:
    """Build the page; `take` opens the job that was made."""
    dress()
    chosen = {"example": "blank", "folder": "my-job"}
    with box("div", "shop start"):
        Said("h1", "Soapstone")
        Said("p", "From what you measured to the paper you cut by. A computed aid, not an approval.")
        Said("h2", "Begin a job")
        with box("label"):
            Said("span", "begin from")
            choice("begin from", examples(), "blank", lambda value: chosen.update(example=value))
        with box("label"):
            Said("span", "in a new folder, below the one that the bench was opened in")
            entry("folder", chosen["folder"], lambda value: chosen.update(folder=value))
        told = Said("p", "", "fault", role="alert")

        async def begin() -> None:
            try:
                take(await off_the_page(start_job, chosen["example"], Path(chosen["folder"])))
            except SoapstoneError as error:
                told._text = str(error)
                told.update()
                return
            ui.navigate.reload()

        push("Begin", begin, "plain act")
        Said("h2", "The first ten minutes")
        with box("ol"):
            for step in (
                "Measure: put your own readings in place; each point shows how well it is known.",
                "Draw: add tubes between points and choose their stock.",
                "Hold: see what is short, open a finding to see its formulas, change a tube and look again.",
                "Make: write the packet and print the wrap templates at full scale.",
            ):
                Said("li", step)
