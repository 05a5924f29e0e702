"""The desk page: the floor in the middle, the list left, the card right, the slate at the foot."""

from pathlib import Path

from nicegui import ui
from nicegui.element import Element
from nicegui.events import KeyEventArguments

from soapstone.bench.bench import Bench
from soapstone.bench.desk_state import Desk, off_the_page
from soapstone.bench.edits import value_at
from soapstone.bench.floor import Floor
from soapstone.bench.lists import cell, finding_line, station_list
from soapstone.bench.marks import Said, box, choice, push
from soapstone.bench.rows import Cell
from soapstone.bench.stages import Stage, by_reserve, counts, touches

_CSS = Path(__file__).with_name("look.css").read_text(encoding="utf-8")
KEYS = {
    "1 to 6": "to a station",
    "z": "take the last change back",
    "y": "do it again",
    "f": "everything on the floor",
    "c": "look from the corner",
    "s": "look from the side",
    "v": "look from the front",
    "t": "look from the top",
    "d": "dark or light",
    "Escape": "put away, pick nothing",
    "?": "these keys",
}
_LOOKS = {"f": "fit", "c": "corner", "s": "side", "v": "front", "t": "top"}
_TURN_LIGHT = (
    "const r = document.documentElement; r.dataset.look = r.dataset.look === 'light' ? 'dark' : 'light';"
    "try { localStorage.look = r.dataset.look } catch (e) {}"
)
_TAKE_LIGHT = (
    "<script>document.documentElement.lang = 'en';"
    "try { document.documentElement.dataset.look = localStorage.look || 'dark' } "
    "catch (e) { document.documentElement.dataset.look = 'dark' }</script>"
)


def dress() -> None:
    """The look of every page."""
    ui.add_head_html(_TAKE_LIGHT)
    ui.add_css(_CSS)


def desk(bench: Bench) -> None:
    """Build the page for one browser."""
    dress()
    state = Desk(bench)
    with box("div", "shop"):
        with box("header", "top"):
            head = ui.refreshable(_top)
            head(state)
        with box("nav", "list", aria_label="List"):
            rows = ui.refreshable(station_list)
            rows(state)
        with box("section", "floor", aria_label="Floor"):
            floor = Floor()
            with box("div", "floor-bar"):
                for key, way in _LOOKS.items():
                    push(way, lambda w=way: floor.look(w), title=f"key {key}")
        with box("aside", "card", aria_label="Card"):
            card = ui.refreshable(_card)
            card(state)
        with box("footer", "slate", aria_label="Slate"):
            slate, steps = ui.refreshable(_slate), ui.refreshable(_steps)
            with box("div", "told"):
                slate(state)
            with box("div", "row"):
                steps(state)
            Said("p", "A computed aid, not an approval", "dim")
    over = ui.refreshable(_over)
    over(state)
    floor.on("pick", lambda event: state.pick(event.args))
    seen: list[object] = [bench.state, None, None]

    def refresh() -> None:
        seen[0], seen[2] = bench.state, (bench.worker.version, state.writing)
        for part in (head, rows, card, slate, steps, over):
            part.refresh()

    def turn() -> None:
        for part in (head, rows):
            part.refresh()

    async def tick() -> None:
        await off_the_page(bench.look)
        # the slate first: a list never stays behind what it says
        if (bench.worker.version, state.writing) != seen[2]:
            seen[2] = (bench.worker.version, state.writing)
            slate.refresh()
        if bench.state != seen[0]:
            refresh()
        if bench.answer is not seen[1]:
            seen[1] = bench.answer
            floor.show("/solids")
            floor.single_out(state.picked)

    state.refresh, state.turned, state.asked, state.marked = refresh, turn, over.refresh, floor.single_out
    ui.timer(0.3, tick)
    ui.keyboard(on_key=lambda event: _key(event, state, floor))


async def _key(event: KeyEventArguments, state: Desk, floor: Floor) -> None:
    if not event.action.keydown or event.modifiers.ctrl or event.modifiers.alt or event.modifiers.meta:
        return
    name = event.key.name
    if name in _LOOKS:
        floor.look(_LOOKS[name])
    elif name.isdecimal() and 1 <= int(name) <= len(Stage):
        state.go(list(Stage)[int(name) - 1])
    elif name == "z":
        await state.undo()
    elif name == "y":
        await state.redo()
    elif name == "d":
        turn_light(floor)
    elif name == "?":
        state.keys()
    elif name == "Escape":
        state.keys_shown, state.previewed = False, ""
        state.pick("")


def turn_light(floor: Floor) -> None:
    """From dark to light and back."""
    ui.run_javascript(_TURN_LIGHT)
    floor.repaint()


def _top(state: Desk) -> None:
    answer = state.bench.answer
    with box("div"):
        Said("h1", "Soapstone")
        title = value_at(state.bench.session.text, ("title",)) or state.bench.session.file.parent.name
        Said("p", f"{title}")
    found = counts(answer.build.findings) if answer else dict.fromkeys(Stage, (0, 0))
    with box("div", "stations", role="group", aria_label="Stations"):
        for stage in Stage:
            short, unknown = found[stage]
            told = [f"{short} short"] * bool(short) + [f"{unknown} open"] * bool(unknown)
            pressed = "true" if stage is state.stage else "false"
            button = push(stage.value, lambda s=stage: state.go(s), "", aria_pressed=pressed)
            with button, box("span", "count"):
                for words, kind in zip(told, ["short"] * bool(short) + ["open"], strict=False):
                    Said("span", f"{words} ", kind)


def _card(state: Desk) -> None:
    name, answer = state.picked, state.bench.answer
    if not name:
        Said("h2", "Nothing is picked")
        Said("p", "Pick a part on the floor or in the list. ? shows all keys.", "dim")
        return
    Said("h2", name)
    path = state.path_of(name)
    if path is not None:
        Said("p", str(path[0]), "dim")
        _values(state, path)
        push("Take it out", lambda: state.ask_delete(path))
    if answer is not None:
        if name in answer.build.layout.tubes:
            tube = answer.build.layout.tubes[name]
            Said("p", f"sits on {tube.seats[0].on} and {tube.seats[1].on}", "dim")
        found = by_reserve(finding for finding in answer.build.findings if touches(finding, name))
        Said("h3", f"{len(found)} findings" + (" (stale)" if state.bench.is_stale else ""))
        for finding in found:
            finding_line(state, answer.build, finding)


def _values(state: Desk, path: tuple[str | int, ...]) -> None:
    whole = value_at(state.bench.session.text, path)
    with box("dl"):
        for key, value in whole.items() if isinstance(whole, dict) else ():
            Said("dt", str(key))
            with box("dd"):
                one = Cell((*path, key), f"{path[-1]} {key}", value) if isinstance(value, str) else None
                if one is not None and key == "stock" and state.bench.answer is not None:
                    stock = state.bench.answer.build.job.stock
                    choice(one.label, stock, one.text, lambda new, c=one: state.set(c, new))
                elif one is not None:
                    cell(state, one)
                else:
                    Said("span", _short(value))


def _short(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(_short, value))
    if isinstance(value, dict):
        return ", ".join(f"{key} {_short(inner)}" for key, inner in value.items())
    return str(value)


def _slate(state: Desk) -> None:
    bench = state.bench
    Said("p", bench.said or "Nothing is changed yet", "said", role="status")
    if bench.worker.busy:
        Said("p", f"computing {bench.worker.stage}", "stale")
        push("Stop", bench.worker.cancel)
    elif bench.worker.faults:
        Said("p", bench.worker.faults[0], "fault", role="alert")
    elif bench.answer is not None:
        words = f"{len(bench.answer.build.findings)} findings in {bench.answer.seconds:.1f} s"
        Said("p", f"{words}, stale" if bench.is_stale else words, "stale" if bench.is_stale else "dim")


def _steps(state: Desk) -> None:
    history = state.bench.session.history
    push(f"Take back ({len(history.done)})", state.undo)
    push(f"Do again ({len(history.undone)})", state.redo)


def _over(state: Desk) -> None:
    """What lies over the page: a conflict, a question, the keys, a sheet."""
    conflict = state.bench.session.conflict
    if conflict is not None:
        with _veil("The file was changed by hand at the same place"):
            Said("p", "Both are kept; the one you do not take stays one step back.")
            with box("div", "two"):
                for title, text, mine in (
                    ("changed here", conflict.mine, True),
                    ("in the file", conflict.theirs, False),
                ):
                    with box("section"):
                        Said("h3", title)
                        Said("pre", differing(conflict.base, text), tabindex="0")
                        push(f"Keep what is {title}", lambda m=mine: state.settle(m), "plain act")
    elif state.deleting is not None:
        path, names = state.deleting
        with _veil(f"Take {path[-1]} out"):
            if names:
                Said("p", "This depends on it and goes too: " + ", ".join(names))
            else:
                Said("p", "Nothing else depends on it.")
            with box("div", "row"):
                push("Take it out", state.delete, "plain act")
                push("Leave it", state.keep)
    elif state.keys_shown:
        with _veil("Keys"):
            with box("dl"):
                for key, words in KEYS.items():
                    with box("dt"):
                        Said("kbd", key)
                    Said("dd", words)
            push("Put away", state.keys)
    elif state.previewed:
        with _veil(state.previewed):
            box("iframe", "sheet", src=f"/sheets/{state.previewed}", title=state.previewed)
            push("Put away", lambda: state.preview(""))


def _veil(title: str) -> Element:
    with box("div", "veil"):
        inner = box("div", "box", role="dialog", aria_modal="true", aria_label=title)
        with inner:
            Said("h2", title)
        return inner


def differing(base: str, text: str) -> str:
    """The lines of a text that are not in the other, with their numbers."""
    before = set(base.splitlines())
    lines = enumerate(text.splitlines(), 1)
    return "\n".join(f"{number}: {line}" for number, line in lines if line not in before)
