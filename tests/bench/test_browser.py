"""The bench as a person uses it: in a browser, by clicks and keys."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from soapstone.examples import copy_example

FLAGS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
]
# a served bench is no part of this test run
ENVIRONMENT = {key: value for key, value in os.environ.items() if not key.startswith("PYTEST")}
PATIENCE = 45_000  # ms; the tests run beside others on few cores
expect.set_options(timeout=PATIENCE)


class Served:
    """A bench in a process of its own."""

    def __init__(self, *job: Path, where: Path | None = None) -> None:
        told = [sys.executable, "-u", "-m", "soapstone", "open", *map(str, job), "--no-browser"]
        self.process = subprocess.Popen(told, stdout=subprocess.PIPE, text=True, cwd=where, env=ENVIRONMENT)
        assert self.process.stdout is not None
        self.address = re.search(r"http://\S+", self.process.stdout.readline())[0]

    def __enter__(self) -> "Served":
        return self

    def __exit__(self, *_: object) -> None:
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    chromium = shutil.which("chromium")
    assert chromium, "tools/prepare installs chromium"
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield one
        one.close()


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return copy_example("blank", tmp_path_factory.mktemp("bench") / "job")


@pytest.fixture(scope="module")
def served(job: Path) -> Iterator[Served]:
    with Served(job) as one:
        yield one


@pytest.fixture
def opened(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens pages that must ask nothing of the network and raise no error in the browser."""
    contexts, foreign, wrong = [], [], []

    def look(address: str, width: int = 1440, height: int = 900) -> Page:
        context = browser.new_context(viewport={"width": width, "height": height})
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda r: foreign.append(r.url) if not _own(r.url) else None)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(address)
        return page

    yield look
    for context in contexts:
        context.close()
    assert foreign == [] and wrong == []


def _own(address: str) -> bool:
    """This machine, or a piece of the browser itself, such as the one that shows sheets."""
    return re.match(r"(http|ws)://127\.0\.0\.1:|data:|blob:|chrome(-extension)?:", address) is not None


@pytest.fixture
def page(opened: Callable[..., Page], served: Served) -> Page:
    one = opened(served.address)
    computed(one)
    return one


def connected(page: Page) -> None:
    """Before this a click finds nobody at the other end."""
    page.wait_for_function("window.did_handshake === true")


def computed(page: Page) -> None:
    connected(page)
    slate = page.get_by_label("Slate")
    expect(slate).to_contain_text(re.compile(r"findings in [\d.]+ s(?!, stale)"))
    expect(page.locator("[data-things]")).to_be_attached()


def station(page: Page, name: str) -> None:
    page.get_by_role("group", name="Stations").get_by_role("button", name=name).click()


def test_the_address_loses_its_key_and_the_job_is_there(page: Page) -> None:
    assert "key" not in page.url
    expect(page.get_by_role("heading", name="Soapstone")).to_be_visible()
    assert int(page.locator("[data-things]").get_attribute("data-things")) > 3
    with page.expect_response("**/solids") as told:
        page.evaluate("fetch('/solids')")
    assert told.value.status == 200


def test_a_stock_is_changed_by_hand_and_taken_back_by_key(page: Page, job: Path) -> None:
    file, before = job, job.read_text()
    station(page, "Draw")
    field = page.get_by_label("main tube")
    field.fill("48.3 x 3 mm")
    field.press("Enter")
    expect(page.get_by_label("Slate")).to_contain_text("stock.main.tube: 48.3 x 3 mm")
    assert file.read_text() == before.replace("42.4 x 2.6 mm", "48.3 x 3 mm")
    computed(page)
    field = page.get_by_label("main tube")
    field.fill("48.3 x thick")
    field.press("Enter")
    expect(page.get_by_role("alert").first).to_contain_text("thick")
    expect(page.get_by_label("main tube")).to_have_attribute("aria-invalid", "true")
    page.get_by_label("Card").click()
    page.keyboard.press("z")
    expect(page.get_by_label("main tube")).to_have_value("42.4 x 2.6 mm")
    assert file.read_text() == before


def test_a_tube_is_added_seen_and_taken_out(page: Page, job: Path) -> None:
    before = job.read_text()
    station(page, "Draw")
    page.get_by_label("new tube from").select_option("L")
    page.get_by_label("new tube to").select_option("R")
    page.get_by_role("button", name="Add the tube").click()
    card = page.get_by_label("Card")
    expect(card.get_by_role("heading", name="tube_1")).to_be_visible()
    assert "tube_1: {from: L, to: R, stock: main}" in job.read_text()
    card.get_by_role("button", name="Take it out").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Nothing else depends on it")
    dialog.get_by_role("button", name="Take it out").click()
    expect(page.get_by_label("Slate")).to_contain_text("members.tube_1 taken out")
    assert job.read_text() == before


def test_what_depends_on_a_tube_is_named_first(page: Page, job: Path) -> None:
    before = job.read_text()
    station(page, "Draw")
    page.get_by_label("List").get_by_role("button", name="bar", exact=True).click()
    page.get_by_label("Card").get_by_role("button", name="Take it out").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("bung_left (bungs)")
    dialog.get_by_role("button", name="Leave it").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert job.read_text() == before


def test_a_finding_opens_to_its_formulas_and_picks_its_part(page: Page) -> None:
    expect(page.get_by_role("button", name="Hold", pressed=True)).to_be_visible()
    page.get_by_label("part, case or word").fill("member-stress")
    page.get_by_label("part, case or word").press("Enter")
    lines = page.get_by_label("List").locator("details")
    expect(lines.filter(has_text="washer")).to_have_count(0)
    line = lines.first
    line.locator("summary").click()
    expect(line.locator("pre")).to_contain_text("source:")
    line.get_by_role("button", name="Pick the part").click()
    expect(page.get_by_label("Card").get_by_role("heading", name="bar")).to_be_visible()


def test_a_part_is_picked_on_the_floor(page: Page) -> None:
    box = page.locator(".floor-view canvas").bounding_box()
    across, name = box["x"] + box["width"] / 2, page.locator(".floor-name")
    for down in range(int(box["height"] * 0.2), int(box["height"] * 0.8), 5):
        page.mouse.move(across, box["y"] + down)
        if name.text_content() == "bar":
            break
    expect(name).to_have_text("bar")
    page.mouse.click(across, box["y"] + down)
    expect(page.get_by_label("Card").get_by_role("heading", name="bar")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_label("Card").get_by_role("heading", name="Nothing is picked")).to_be_visible()


def test_two_pages_and_a_hand_edit_show_the_same_job(
    page: Page, opened: Callable[..., Page], served: Served, job: Path
) -> None:
    other = opened(served.address)
    computed(other)
    before = job.read_text()
    job.write_text(before.replace("title: One bar", "title: Another bar"))
    for one in (page, other):
        expect(one.locator("header")).to_contain_text("Another bar")
    other.get_by_role("button", name="Take back").click()
    for one in (page, other):
        expect(one.locator("header")).to_contain_text("One bar")
    assert job.read_text() == before


def test_the_packet_is_written_seen_and_kept(page: Page, job: Path) -> None:
    station(page, "Make")
    page.get_by_role("button", name="Write the packet").click()
    expect(page.get_by_label("Slate")).to_contain_text("files written")
    with page.expect_download() as kept:
        page.get_by_role("link", name="keep templates.pdf").click()
    assert Path(kept.value.path()).read_bytes() == (job.parent / "packet" / "templates.pdf").read_bytes()
    page.get_by_role("button", name="templates.pdf").click()
    expect(page.get_by_role("dialog").locator("iframe")).to_have_attribute("src", "/sheets/templates.pdf")
    page.get_by_role("button", name="Put away").click()


@pytest.mark.parametrize("name", ["Measure", "Draw", "Hold", "Make"])
def test_nothing_serious_stands_in_the_way_of_anyone(page: Page, name: str) -> None:
    station(page, name)
    expect(page.get_by_role("button", name=name, pressed=True)).to_be_visible()
    for _ in ("dark", "light"):
        found = Axe().run(page).response["violations"]
        serious = {f["id"]: f["nodes"][0]["html"] for f in found if f["impact"] in ("serious", "critical")}
        assert serious == {}
        page.keyboard.press("d")
    page.keyboard.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_the_wrong_key_and_no_key_are_refused(opened: Callable[..., Page], served: Served) -> None:
    page = opened(served.address[:-1])
    expect(page.locator("body")).to_contain_text("the key in the address is missing")
    page.goto(served.address.partition("?")[0])
    expect(page.locator("body")).to_contain_text("the key in the address is missing")


def test_a_killed_bench_loses_nothing(opened: Callable[..., Page], tmp_path: Path) -> None:
    job = copy_example("blank", tmp_path / "job")
    before = job.read_text()
    with Served(job) as first:
        page = opened(first.address)
        computed(page)
        station(page, "Draw")
        page.get_by_label("main tube").fill("48.3 x 3 mm")
        page.get_by_label("main tube").press("Enter")
        expect(page.get_by_label("Slate")).to_contain_text("stock.main.tube")
    with Served(job.parent) as again:
        page = opened(again.address)
        computed(page)
        page.get_by_role("button", name="Take back (1)").click()
        expect(page.get_by_role("button", name="Do again (1)")).to_be_visible()
    assert job.read_text() == before


def test_without_a_job_one_begins_from_an_example(opened: Callable[..., Page], tmp_path: Path) -> None:
    with Served(where=tmp_path) as served:
        page = opened(served.address)
        connected(page)
        page.get_by_label("begin from").select_option("blank")
        page.get_by_label("folder").fill("mine")
        page.get_by_label("folder").press("Tab")
        page.get_by_role("button", name="Begin").click()
        computed(page)
    assert (tmp_path / "mine" / "job.yaml").is_file()
