"""The list of stations: find, filter, sort, by keyboard and on a phone; and problems beside fields."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from tests.web.browser.hands import Keyboard, Mouse
from tests.web.browser.looks import shows_well

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
ROWS = "[data-row]"


def _names(page) -> list[str]:
    return [one.inner_text() for one in page.locator(ROWS).all()]


@pytest.mark.parametrize("width", [1280, 360])
def test_a_station_is_found_filtered_and_opened_by_keyboard(opens, width):
    page = opens("/stations", width)
    everyone = _names(page)
    hands = Keyboard(page)
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.id") == "find"
    page.keyboard.insert_text("gate")
    page.keyboard.press("Enter")
    page.wait_for_url("**/stations?q=gate*")
    assert "Fenwarren Gate" in _names(page)
    assert len(_names(page)) < len(everyone)
    hands.go('.choices a[href*="show=needs"]')
    page.wait_for_url("**show=needs**")
    assert "q=gate" in page.url, "what was found stays found"
    page.keyboard.press("j")
    page.keyboard.press("Enter")
    page.wait_for_url("**/stations/*")
    assert page.inner_text("h1")


@pytest.mark.parametrize("width", [1280, 360])
def test_the_list_is_sorted_and_shows_who_is_shut(opens, width):
    page = opens("/stations", width)
    hands = Mouse(page)
    hands.follow("name")
    page.wait_for_url("**by=name**")
    assert _names(page) == sorted(_names(page))
    hands.go('.choices a[href*="show=shut"]')
    page.wait_for_url("**show=shut**")
    assert "Mesquill Flat 7" in _names(page)
    assert page.locator(".choices a[aria-current]").count() == 2
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_find_without_a_hit_leads_back_to_all(opens):
    page = opens("/stations?q=nowhere", 360)
    assert _names(page) == []
    Mouse(page).follow("Show all stations")
    page.wait_for_url("**/stations")
    assert _names(page)


@dataclass(frozen=True)
class Slip:
    """What is typed wrongly: on which page, into which fields, sent by which button; what is chosen first."""

    path: str
    typed: dict[str, str]
    button: str
    wrong: str
    fold: str = ""
    choice: str = ""


SLIPS = {
    "study": Slip("/stations/{key}/surge", {"#f-within": "5"}, "Run the study", "#f-within"),
    "members": Slip(
        "/stations/{key}/surge", {"#f-members": "2"}, "Look at stability", "#f-members",
        "Over how many stations",
    ),
    "upkeep": Slip(
        "/stations/{key}/upkeep?act=done&activity=look", {"#f-on": "2999-01-01"}, "Keep it", "#f-on"
    ),
    "interval": Slip(
        "/stations/{key}/upkeep?act=interval&activity=look",
        {"#f-months": "many", "#f-reason": "sand"}, "Set it", "#f-months",
    ),
    "plan": Slip(
        "/stations/{key}/plans", {"#f-item": "the roof"}, "Make the plan", "#f-item", choice="after-repair"
    ),
    "trip": Slip(
        "/stations/{key}/runs", {"#f-since": "last week"}, "Report it", "#f-since", "Report a trip"
    ),
    "entry": Slip("/stations/{yard}/runs/{run}", {"#f-words": "dance"}, "Enter", "#f-words"),
    "sheet": Slip("/library", {"#f-sheet": "none: of this"}, "Keep it", "#f-sheet"),
}  # fmt: skip


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.share(3)) for name in SLIPS])
def test_what_is_wrong_stands_beside_its_field_and_what_was_typed_stays(opens, facts, name):
    slip = SLIPS[name]
    page = opens(slip.path.format(key=facts.key, yard=facts.yard, run=facts.run), misses=(422,))
    hands = Mouse(page)
    if slip.fold:
        page.locator("summary", has_text=slip.fold).first.click()
    if slip.choice:
        page.select_option("#f-visit", slip.choice)
    for place, words in slip.typed.items():
        hands.write(place, words)
    page.locator(f"form:has({slip.wrong})").get_by_role("button", name=slip.button, exact=True).click()
    wrong = page.locator(f"{slip.wrong}[aria-invalid]")
    wrong.wait_for()
    assert wrong.input_value() == slip.typed[slip.wrong]
    ids = wrong.get_attribute("aria-describedby").split()
    assert any(page.locator(f'[id="{one}"].problem').is_visible() for one in ids)
    shows_well(page)
