"""Small pieces that pages are put together from; what a job says is put in as text, never as markup."""

from collections.abc import Callable, Iterable
from typing import Any

from nicegui import ui
from nicegui.element import Element

from soapstone.bench.beads import bead
from soapstone.finding import Verdict

Call = Callable[..., Any]


class Said(Element):
    """An element with a text in it, escaped by the browser."""

    def __init__(self, name: str, text: str, classes: str = "", **attributes: str) -> None:
        super().__init__(name)
        self._text = text
        self.classes(classes)
        dressed(self, **attributes)


def dressed(element: Element, **attributes: str) -> Element:
    """With attributes of the page: `aria_label="…"` is written with a dash."""
    for name, value in attributes.items():
        element._props[name.rstrip("_").replace("_", "-")] = value
    return element


def box(name: str = "div", classes: str = "", **attributes: str) -> Element:
    """An element to put others in."""
    return dressed(ui.element(name).classes(classes), **attributes)


def push(words: str, call: Call, classes: str = "plain", **attributes: str) -> Element:
    """A button."""
    return Said("button", words, classes, type="button", **attributes).on("click", call, [])


def entry(label: str, text: str, changed: Call, **attributes: str) -> Element:
    """A field that calls back with its text when it is left or Enter is pressed."""
    field = box("input", aria_label=label, value=text, autocomplete="off", **attributes)
    return field.on("change", lambda event: changed(event.args), js_handler="(e) => emit(e.target.value)")


def choice(label: str, options: Iterable[str], chosen: str, changed: Call) -> Element:
    """A list to choose one of."""
    field = box("select", aria_label=label)
    with field:
        for option in options:
            mark = {"selected": "selected"} if option == chosen else {}
            Said("option", option, value=option, **mark)
    return field.on("change", lambda event: changed(event.args), js_handler="(e) => emit(e.target.value)")


def verdict_mark(verdict: Verdict) -> None:
    """The bead with its word."""
    with box("span", f"verdict {verdict}"):
        ui.html(bead(verdict), sanitize=False, tag="span")
        Said("span", verdict.value)
