"""Pages between two saves: two people at one file, an import from its mapping to what was written."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.register import open_register
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.web.browser.hands import Keyboard, Mouse
from tests.web.browser.looks import shows_well
from tests.web.filled import WHO

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
KEY = "QUR-12"
TYPICAL, STATIC = '[id="v-supply.typical"]', '[id="v-supply.static"]'
SHEET = "station,name,static (bar)\nIMP-1,Brae Gate,12.0\nIMP-2,Pell Gate,high\nIMP-3,Ash Gate,-3\n"


@pytest.fixture(scope="module")
def shared(whole, home) -> str:
    """Return the page of fields of a station that two people change."""
    register = open_register(whole[0])
    try:
        save(register, read("quillenby-row").replace(b"QUR-02", KEY.encode()), WHO)
    finally:
        register.close()
    return f"/stations/{KEY}/fields"


def test_the_second_of_two_people_sees_both_changes_and_chooses_by_keyboard(opens, shared):
    first, second = opens(shared), opens(shared, misses=(409,))
    _change(Mouse(first), TYPICAL, "8.9 bar")
    first.wait_for_url("**/fields?saved=2")
    _change(Mouse(second), TYPICAL, "8.7 bar")
    second.wait_for_selector("table.conflict")
    told = second.inner_text("table.conflict")
    assert "8.9 bar" in told
    assert "8.7 bar" in told
    mine = second.locator('tr.both input[value="mine"]')
    assert mine.get_attribute("required") is not None, "where both changed it, nothing is chosen for them"
    hands = Keyboard(second)
    hands.tick(mine.get_attribute("aria-label"))
    hands.write('[name="why"]', "read at the chamber")
    hands.press("Save what is chosen")
    second.wait_for_url("**/revisions")
    assert "read at the chamber" in second.inner_text("main")


def test_the_page_of_two_changes_shows_to_everybody(opens, shared):
    first, second = opens(shared), opens(shared, misses=(409,))
    _change(Mouse(first), STATIC, "9.9 bar")
    first.wait_for_url("**/fields?saved=*")
    _change(Mouse(second), STATIC, "10.1 bar")
    second.wait_for_selector("table.conflict")
    shows_well(second)


def _change(hands: Mouse, place: str, words: str) -> None:
    hands.unfold("#g-supply")
    hands.write(place, words)
    hands.page.locator("button", has_text="Save as revision").first.click()


def test_an_import_shows_its_mapping_its_refusals_and_what_was_written(opens):
    page = opens("/stations/import")
    sent = {"name": "gates.csv", "mimeType": "text/csv", "buffer": SHEET.encode()}
    page.set_input_files("#f-sheet", sent)
    page.select_option("#f-template", "QHL-01")
    hands = Mouse(page)
    hands.press("Read the headings")
    page.wait_for_selector("#columns")
    assert page.input_value('[id="f-columns.0"]') == "station.id"
    _shows(page)
    hands.press("Read every row")
    page.wait_for_selector("#report")
    report = page.inner_text("main")
    assert "1 new, 0 changed, 0 the same, 2 refused" in report
    _shows(page)
    page.locator("button", has_text="Write only 1 station").click()
    page.wait_for_selector("#done")
    assert "1 stations are new" in page.inner_text("main") or "1 station is new" in page.inner_text("main")
    _shows(page)
    hands.follow("Look at the stations")
    page.wait_for_selector('[href="/stations/IMP-1"]')


def _shows(page: Any) -> None:
    """Look at a page and go on with it on a screen of a desk."""
    shows_well(page)
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 1280, "height": 900})
