"""Entry and ladder in a real browser: what is typed is told beside it, steps go back, the ladder moves."""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterator

import pytest
import uvicorn

from steadyhead.web.app import make_app
from tests.conftest import BROWSERS

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(3)]
KEY = "QHL-01"


@pytest.fixture
def home(filled) -> Iterator[str]:
    """Serve the filled register on a free port and return the address of its first station."""
    server = uvicorn.Server(uvicorn.Config(make_app(filled), port=0, log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    until = time.monotonic() + 20
    while not server.started and time.monotonic() < until:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}/stations/{KEY}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    program = next(path for path in map(shutil.which, BROWSERS) if path)
    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture
def open_page(home, browser):
    """Return what opens a page of the station; anything told on the console fails the test."""
    told: list[str] = []
    contexts = []

    def opened(path: str, width: int = 1280, **more):
        context = browser.new_context(viewport={"width": width, "height": 900}, **more)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda one: told.append(one.text) if one.type == "error" else None)
        page.on("pageerror", lambda one: told.append(str(one)))
        page.goto(f"{home}/{path}")
        return page

    yield opened
    for context in contexts:
        context.close()
    assert told == []


def until(page, words: str, seconds: float = 20.0) -> None:
    """Wait until something is so on a page; the page itself allows no evaluating."""
    end = time.monotonic() + seconds
    while not page.evaluate(words):
        assert time.monotonic() < end, words
        time.sleep(0.05)


def test_what_is_typed_is_told_beside_its_field_and_steps_go_back_one_by_one(open_page):
    page = open_page("fields")
    page.fill("#find", "supply inlet")
    page.fill('[id="v-supply.typical"]', "9 bra")
    page.wait_for_selector(".line.wrong .problem")
    assert "bra" in page.inner_text(".line.wrong .problem")
    assert page.get_attribute('[id="v-supply.typical"]', "aria-invalid") == "true"
    page.fill('[id="v-supply.typical"]', "9 bar")
    page.keyboard.press("Tab")
    until(page, "!document.querySelector('.problem') && said.innerText.includes('can be used')")
    page.fill('[id="v-supply.night"]', "10 bar")
    page.keyboard.press("Tab")
    assert page.inner_text("#step-words") == "2 changes, not saved"
    page.keyboard.press("Control+z")
    until(page, "document.getElementById('step-words').innerText === 'one change, not saved'")
    assert page.input_value('[id="v-supply.night"]') == "11.4 bar"
    assert page.input_value('[id="v-supply.typical"]') == "9 bar"
    page.fill("#why", "read again")
    page.click('button[value="save"]')
    page.wait_for_url("**/fields?saved=2")
    assert "Saved as revision 2." in page.inner_text("#said")


def test_a_part_is_added_by_keyboard_and_its_first_empty_field_has_the_focus(open_page):
    page = open_page("fields")
    page.focus("#g-line > summary")
    page.keyboard.press("Enter")
    page.select_option('[id="part-line"]', "vent")
    page.focus('button[value="add:line"]')
    page.keyboard.press("Enter")
    until(page, "document.activeElement.id === 'v-line.12.id'")
    page.keyboard.type("V1")
    page.keyboard.press("Tab")
    until(page, "said.innerText.includes('can be used.')")


def test_the_ladder_moves_and_goes_back_and_the_map_follows(open_page):
    page = open_page("pressures", reduced_motion="reduce")
    trip = '[id="v-line.5.trip"]'
    page.fill(trip, "5.2 bar")
    until(page, "document.querySelector('#ladder .desk svg').ariaLabel.includes('trip 5.20')")
    assert "One change, not saved" in page.inner_text("#said")
    until(page, "document.getElementById('map-words').innerText.startsWith('of the values above')")
    page.fill(trip, "5.2 bra")
    page.wait_for_selector(".number.wrong .problem")
    assert "5.20" in page.get_attribute("#ladder .desk svg", "aria-label")
    page.click("#undo")
    until(page, "document.querySelector('#ladder .desk svg').ariaLabel.includes('trip 5.10')")
    assert page.input_value(trip) == "5.1 bar"


@pytest.mark.parametrize("width", [360, 1024])
def test_the_ladder_stays_in_sight_while_one_types_and_never_covers_the_field(open_page, width):
    page = open_page("pressures", width)
    page.evaluate("document.querySelectorAll('.few').forEach((one) => { one.open = true; })")
    last = page.locator(".number input").last
    last.focus()
    for _ in range(12):
        page.keyboard.press("Shift+Tab")
    page.wait_for_timeout(100)
    tall = page.evaluate("innerHeight")
    ladder, field = page.locator("#ladder").bounding_box(), page.locator(":focus").bounding_box()
    assert ladder["y"] >= 0
    assert ladder["y"] + ladder["height"] <= field["y"], "the field in focus lies below the ladder"
    assert 100 < ladder["height"] <= 0.45 * tall + 1
    assert field["y"] + field["height"] <= tall


@pytest.mark.share(2)
@pytest.mark.parametrize("width", [360, 1280])
def test_every_page_fits_and_breaks_no_rule_of_access(open_page, width):
    from axe_playwright_python.sync_playwright import Axe

    for path in ("fields", "pressures", "design", "revisions", "file"):
        page = open_page(path, width)
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        broken = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["target"]) for one in broken] == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path


@pytest.mark.parametrize("width", [360, 720])
@pytest.mark.parametrize("page", ["fields", "pressures"])
def test_what_saves_stays_in_sight_on_a_narrow_screen(home, browser, page, width):
    shown = browser.new_page(viewport={"width": width, "height": 740})
    shown.goto(f"{home}/{page}")
    for down in (0, 600, 1200):
        shown.evaluate(f"window.scrollTo(0, {down})")
        box = shown.locator("button[value=save]").bounding_box()
        assert box is not None
        assert 0 <= box["x"] <= box["x"] + box["width"] <= width
        assert 0 <= box["y"] <= box["y"] + box["height"] <= 740
    shown.close()
