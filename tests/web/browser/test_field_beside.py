"""What is entered beside the plan on the field page: acts, corrections, swings, second looks, mornings."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from steadyhead.records.entry import VERBS
from tests.web.browser.conftest import until
from tests.web.browser.field_hands import (
    OVER,
    SIZES,
    SMALL,
    STREAM,
    Opens,
    kept,
    on,
    opening_field,
    press,
    seen,
    type_in,
    until_step,
    waits_for,
    walked,
)

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
T1 = {
    "input": "T1",
    "tap": "T1",
    "value": 3e3,
    "typed": "0.03",
    "unit": "bar",
    "steady_for": 60.0,
    "steady_within": 1e3,
}
WIDE = (1280, 800)


def days_after(hours: float) -> float:
    """Return how many days after today the walked visit lies, and some hours."""
    last = max(one.time for one in walked())
    return (last - datetime.now(UTC).timestamp()) / 86400.0 + hours / 24.0


@pytest.fixture(scope="module")
def opens(browser: Any) -> Iterator[Opens]:
    """What opens a visit on a device."""
    with opening_field(browser) as opened:
        yield opened


def choose(page: Any, *words: str) -> None:
    """Touch keys one after the other, reading on until each is there."""
    for one in words:
        for _ in range(8):
            found = page.locator("button", has_text=one)
            if found.count():
                break
            press(page, "right")
        found.first.click()
        page.wait_for_function("() => true")


def mine(page: Any, kind: str) -> list[dict[str, Any]]:
    return [one for one in kept(page, kind) if one["who"] in ("Tam Oduya", "Isla Brandt")]


def test_a_swing_is_noted_by_lowest_highest_and_time(opens: Opens):
    page = opens("B2", until_step("B2", T1))
    page.evaluate(
        "desk.keepWay({ tools: { pressure: 'TG-1' } }).then(() => desk.show('watch', { input: 'T2' }))"
    )
    until(page, "desk.at.screen === 'watch'")
    press(page, "moved")
    choose(page, "It swings to and fro")
    for digits in ("2", "6", "40"):
        type_in(page, digits)
        press(page, "take")
    until(page, "desk.at.screen === 'step'")
    (made,) = mine(page, "reading")
    assert made["payload"]["input"] == "T2"
    assert made["payload"]["typed"] == "0.04"
    assert made["payload"]["swing"] == {"mean": 4000, "peak_to_peak": 4000, "period": 4}
    assert "It swings: mean told." in seen(page)


def test_what_stands_beside_a_reading_is_chosen_and_goes_with_it(opens: Opens):
    page = opens("B2")
    page.evaluate("desk.keepWay({ tools: { pressure: 'TG-07' } }).then(() => desk.show('more'))")
    until(page, "desk.at.screen === 'more'")
    page.evaluate(
        "desk.enter(() => [{ kind: 'instrument', payload: { name: 'TG-07', quantity: 'pressure', low: 0, "
        "high: 1e6, class: 0.006, due: '2030-09-30' }, node: '' }])"
    )
    until(page, "'TG-07' in desk.view.instruments && !desk.isBusy")
    page.evaluate("desk.show('more')")
    choose(page, "Beside the reading", "What it is", "as found", "Zero taken off")
    press(page, "number")
    type_in(page, "1")
    press(page, "take")
    choose(page, "Height of the gauge")
    type_in(page, "14200")
    press(page, "take")
    choose(page, "Flow at that time")
    type_in(page, "400")
    press(page, "take")
    assert "as found" in seen(page)
    page.evaluate("desk.draft.stood = { typed: '60', unit: 's' }")
    press(page, "right")
    assert "as found" in seen(page), "the reading says what goes with it"
    type_in(page, "3")
    press(page, "take")
    until(page, "desk.at.screen === 'step'")
    (made,) = mine(page, "reading")
    payload = made["payload"]
    assert payload["as"] == "as found"
    assert payload["corrected_by"] < 0
    assert payload["read_at_height"] > 0
    assert payload["flow"] > 0


def test_every_act_of_the_list_can_be_chosen(opens: Opens):
    page = opens("B2")
    offered: set[str] = set()
    for group in ("moves", "touches", "guards", "tells"):
        page.evaluate(f"desk.show('doing', {{ group: '{group}' }})")
        while True:
            offered |= {one.lower() for one in page.locator("main button span").all_inner_texts()}
            if not page.inner_text('[data-key="right"]').startswith("Read on"):
                break
            press(page, "right")
    assert set(VERBS) - offered == {"tick", "nothing touched"}, (
        "done is its own key; the second answers a note"
    )


def test_a_touch_beside_the_plan_tells_what_falls_with_it_before_it_is_entered(opens: Opens):
    page = opens("K1", until_step("K1"), later=days_after(1))
    page.evaluate("desk.show('more')")
    choose(page, "Something was done", "Touch a screw or part", "raise", "SO", "setting", "¼ turn")
    assert "this falls with it" in seen(page)
    assert "trip of SO: goes stale. Do again: " in seen(page)
    assert "F3.SO" not in seen(page), "a step is told by its title"
    assert mine(page, "action") == []
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    (made,) = mine(page, "action")
    assert (made["payload"]["do"], made["payload"]["thing"], made["payload"]["amount"]) == (
        "raise",
        "SO.setting",
        0.25,
    )
    assert page.evaluate("desk.view.proofs.find((one) => one.name === 'SO.trip').state") == "stale"
    page.evaluate("desk.show('proofs')")
    assert "stale" in seen(page)


def test_an_entry_is_found_in_its_order_and_corrected_or_made_void_with_a_reason_that_is_chosen(opens: Opens):
    page = opens("B2", until_step("B2", T1), later=days_after(1))
    page.evaluate("desk.show('more')")
    choose(page, "Entries", "0.03 bar", "Correct it", "The figure")
    type_in(page, "5")
    press(page, "take")
    choose(page, "typed wrong")
    assert "falls with it" in seen(page)
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    (made,) = mine(page, "correction")
    assert made["payload"]["reason"] == "typed wrong"
    assert made["payload"]["payload"]["typed"] == "0.05"
    assert "T1: 0.05 bar" in seen(page)
    page.evaluate("desk.show('entries', { step: 'B2' })")
    choose(page, "0.03 bar", "Make it void", "entered twice")
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    assert [one["payload"]["reason"] for one in mine(page, "void")] == ["entered twice"]
    assert "T1:" not in seen(page)


def test_another_person_is_one_touch_away_and_each_value_says_who_noted_it(opens: Opens):
    page = opens("B2", until_step("B2", T1))
    assert "Ilse Marrow" in seen(page)
    was = page.evaluate("desk.who")
    press(page, "person")
    until(page, f"desk.who !== '{was}'")
    assert page.evaluate("desk.at.screen") == "step"


def test_the_second_look_is_by_somebody_else_and_names_the_entry_it_stands_on(opens: Opens):
    page = opens("K1", until_step("K1"), later=days_after(1))
    page.evaluate("desk.show('lastLook')")
    assert "Looks again at:" in seen(page)
    first = page.evaluate("desk.book.standing.findLast((one) => ['J4', 'K1'].includes(one.node)).id")
    choose(page, "Isla Brandt")
    until(page, "desk.at.by === 'Isla Brandt' && document.body.innerText.includes('1 of ')")
    rows = page.evaluate("(desk.pack.cocks?.length || desk.plan.left.length)")
    for at in range(rows):
        until(page, f"(desk.at.index ?? 0) === {at} && document.body.innerText.includes('{at + 1} of ')")
        page.locator("main .choice button").first.click()  # as it is to be left
    until(page, f"(desk.at.index ?? 0) === {rows}")
    assert "All were looked at" in seen(page)
    press(page, "right")
    until(page, "desk.at.screen === 'final'")
    (look,) = [one for one in mine(page, "action") if one["payload"]["do"] == "second look"]
    assert look["who"] == "Isla Brandt"
    assert look["payload"]["to"] == first
    assert len(mine(page, "position")) == rows


def test_what_was_taken_back_of_the_protection_waits_for_somebody_else(opens: Opens):
    page = opens("K1", until_step("K1"), later=days_after(1))
    touch = "[{ kind: 'action', payload: { do: 'raise', thing: 'SO.setting' }, node: 'K1' }]"
    page.evaluate(f"desk.enter(() => {touch})")
    until(page, "!desk.isBusy && desk.book.standing.at(-1).payload.thing === 'SO.setting'")
    page.evaluate("desk.show('entries', { step: 'K1' })")
    choose(page, "raise setting of SO", "Make it void", "it was not done")
    assert "falls with it" in seen(page)
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    page.evaluate("desk.show('final')")
    choose(page, "Second look", "raise setting of SO")
    assert "Not Tam Oduya." in seen(page)
    choose(page, "Isla Brandt")
    until(page, "desk.at.screen === 'final'")
    (look,) = [one for one in mine(page, "action") if one["payload"]["do"] == "second look"]
    assert look["payload"]["to"] == mine(page, "void")[0]["id"]
    assert "Second look" not in page.inner_text("footer")


def test_the_next_morning_begins_with_where_the_work_stood_and_the_cocks_again(opens: Opens):
    page = opens("", until_step("F1.SO"), later=days_after(24))
    page.evaluate("desk.keepWay({ isThrough: true, who: 'Tam Oduya' }).then(() => desk.open(desk.pack))")
    until(page, "desk.at.screen === 'morning'")
    for words in (
        "A night lies between",
        "Here the work stood",
        "To be put back before the end",
        "zero on a live gauge",
    ):
        assert words in seen(page)
    assert "A4" in seen(page) or page.inner_text('[data-key="right"]').startswith("Read on")
    on(page)
    press(page, "right")
    assert "Does each stand as it was left?" in seen(page)
    on(page)
    press(page, "right")
    until(page, "desk.at.screen === 'today'")
    assert [one["payload"]["do"] for one in mine(page, "action")] == ["look"]
    choose(page, "A4")
    until(page, "desk.at.screen === 'again'")
    assert "answer again" in seen(page)
    page.evaluate("desk.open(desk.pack)")
    until(page, "desk.at.screen === 'step'")
    page.evaluate("desk.show('more')")
    choose(page, "Again today")
    until(page, "desk.at.screen === 'today'")


def test_the_way_out_is_the_one_of_where_something_was_done_last(opens: Opens):
    page = opens("A2", until_step("F1.SO", {"input": "T1", "tap": "T1", "value": 8e5}))
    press(page, "left")
    assert "Raised" in seen(page)
    assert "the outlet stands above duty" in seen(page)


def test_the_causes_follow_what_was_chosen_and_it_is_said_where_none_fits(opens: Opens):
    at = {"input": "flow.2", "quantity": "flow", "value": 4e-4}
    page = opens(STREAM, until_step(STREAM, at, {"input": "T3.2", "tap": "T3", "value": 9e7}))
    page.evaluate("desk.show('causes')")
    on(page)
    page.evaluate("desk.show('causes')")
    assert "None of these fits" in seen(page) or "none of these fits" in seen(page).lower()


@pytest.mark.parametrize("size", [SIZES[0], (800, 1280), WIDE])
def test_the_proofs_are_read_without_scrolling_and_on_a_tablet_all_at_once(
    opens: Opens, size: tuple[int, int]
):
    page = opens("K1", until_step("K1"), size=size, later=days_after(1))
    page.evaluate("desk.show('proofs')")
    assert page.evaluate(OVER) == []
    assert page.evaluate(SMALL, 116) == []
    many = page.evaluate("desk.view.proofs.length")
    if size == SIZES[0]:
        assert page.locator("svg.whole").count() == 0
        return
    texts = page.locator("svg.whole text").all_text_contents()
    assert len(texts) == many + 1
    assert not any("…" in one for one in texts)
    edge = page.evaluate(
        "Math.max(...[...document.querySelectorAll('svg.whole text')]"
        ".map((one) => one.getBoundingClientRect().right))"
    )
    assert edge <= size[0]


NEW = (
    "'beside', { input: 'T1', entry: '' }", "'besideAs', { about: { input: 'T1' } }",
    "'unsteady', { input: 'T1' }",
    "'doing'", "'doing', { group: 'moves' }", "'doing', { group: 'touches', verb: 'raise', part: 'RV' }",
    "'doing', { group: 'touches', verb: 'raise', part: 'RV', thing: 'RV.setting' }", "'standing'",
    "'entries', { isAll: true }", "'entries', { step: 'B1' }", "'lastLook'", "'agree', {}", "'morning'",
    "'cocksAgain'", "'today'", "'again'", "'gauge', { input: 'T1', kind: 'flow' }", "'proofs'", "'steps'",
    "'signature', { asks: 'provisional' }", "'who', { then: 'lastLook', but: ['Isla Brandt'] }",
    "'lastLook', { by: 'Isla Brandt', to: desk.book.standing.at(-1).id }",
    "'steps', { letter: 'A' }", "'why', { id: '', make: () => () => [] }",
)  # fmt: skip


@pytest.mark.parametrize("size", [SIZES[0], WIDE])
def test_every_screen_beside_the_plan_fits_every_page_of_it(opens: Opens, size: tuple[int, int]):
    page = opens("B2", until_step("B2"), size=size, later=days_after(1))
    for screen in NEW:
        page.evaluate(f"desk.show({screen})")
        for _ in range(12):
            assert (screen, page.evaluate(SMALL, 116)) == (screen, [])
            assert (screen, page.evaluate(OVER)) == (screen, [])
            right = page.query_selector('[data-key="right"]')
            if right is None or not right.inner_text().startswith("Read on"):
                break
            press(page, "right")


def test_a_device_that_takes_a_visit_over_on_a_later_day_begins_with_the_night_too(opens: Opens):
    page = opens("", until_step("F1.SO"), later=days_after(24))
    waits_for(page, "a trial entry was written and read back")
    page.evaluate("desk.show('who')")
    choose(page, "Isla Brandt")
    until(page, "desk.at.screen === 'morning'")
    assert "A night lies between" in seen(page)
    page.evaluate("desk.go('B2')")
    on(page)
    assert re.search(r", \d{1,2} [A-Z][a-z]{2} \d\d:\d\d", seen(page)), "what was read yesterday says its day"
