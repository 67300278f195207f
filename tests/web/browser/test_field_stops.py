"""A Stop of another device turns the page amid typing, and gives the figure back; saved is what surely is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from steadyhead.records.entry import plain_entry
from steadyhead.station.canonical import canonical
from tests.procedure.walking import Device
from tests.web.browser.field_hands import (
    OVER,
    SMALL,
    Opens,
    kept,
    on,
    opening_field,
    press,
    seen,
    until_step,
    waits_for,
)
from tests.web.browser.test_field_store import FULL
from tests.web.field.field_js import RUN

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]


@pytest.fixture(scope="module")
def opens(browser: Any) -> Iterator[Opens]:
    """What opens a visit on a device."""
    with opening_field(browser) as opened:
        yield opened


def says_stop(page: Any, device: Device, words: str) -> None:
    """Let a Stop of another device come in."""
    entry = device.make("note", {"text": f"Stop: {words}"}, "B2")
    line = canonical(plain_entry(entry)).decode()
    page.evaluate(f"desk.kept.takeIn('{RUN}', [{json.dumps(line)}], 'server', 1)")


def test_every_stop_is_shown_the_newest_first_and_each_is_recorded_by_itself(opens: Opens):
    page = opens("B2", until_step("B2"))
    other, third = Device("tab-9", RUN, start=1e6), Device("tab-8", RUN, start=2e6)
    says_stop(page, other, "The gas alarm sounds.")
    waits_for(page, "The gas alarm sounds.")
    press(page, "right")
    press(page, "choice Everybody is out and safe, it is over")
    waits_for(page, "Who agreed to go on?")
    says_stop(page, third, "Water rises.")
    waits_for(page, "Water rises.")
    told = seen(page)
    assert told.index("Water rises.") < told.index("Also: The gas alarm sounds.")
    assert "device tab-9" in told
    assert "device tab-8" in told
    assert page.evaluate(OVER) == []
    press(page, "right")
    waits_for(page, "Water rises.")
    press(page, "choice Put right, and looked at")
    press(page, "choice The desk")
    waits_for(page, "The gas alarm sounds.")
    assert "Water rises." not in seen(page)
    texts = [one["payload"]["text"] for one in kept(page, "note")]
    assert [one[:28] for one in texts if one.startswith("After")] == ["After the Stop of tab-8 no. "]
    press(page, "right")
    press(page, "choice Put right, and looked at")
    press(page, "choice The desk")
    waits_for(page, "The Stop is recorded")


def test_digits_typed_before_a_stop_are_there_after_the_page_was_opened_again(opens: Opens):
    page = opens("B2", until_step("B2"))
    page.evaluate("desk.show('read', { input: desk.view.step.inputs[0].name, digits: '51' })")
    says_stop(page, Device("tab-9", RUN, start=1e6), "The gas alarm sounds.")
    waits_for(page, "What you typed is kept: 51.")
    page.reload()
    waits_for(page, "What you typed is kept: 51.")
    press(page, "right")
    press(page, "choice Everybody is out and safe, it is over")
    press(page, "choice The desk")
    waits_for(page, "What you typed is kept: 51.")
    press(page, "right")
    page.wait_for_function("() => desk.at.screen === 'read'")
    assert page.evaluate("desk.at.digits") == "51"
    page.reload()
    page.wait_for_function("() => document.body.dataset.ready === 'yes'")
    assert "51" not in seen(page)


def test_where_nothing_is_kept_it_is_said_how_long_typed_digits_stay(opens: Opens):
    page = opens("B2", until_step("B2"), storage={"memory": True})
    page.evaluate("desk.show('read', { input: desk.view.step.inputs[0].name, digits: '51' })")
    says_stop(page, Device("tab-9", RUN, start=1e6), "The gas alarm sounds.")
    waits_for(page, "What you typed stays while this page is open: 51.")
    assert "is kept" not in page.inner_text("main")


def test_a_stop_from_elsewhere_turns_the_page_and_gives_the_figure_back(opens: Opens):
    page = opens("B2", until_step("B2"))
    page.evaluate("desk.show('read', { input: desk.view.step.inputs[0].name, digits: '51' })")
    says_stop(page, Device("tab-9", RUN, start=1e6), "The gas alarm sounds.")
    waits_for(page, "The gas alarm sounds.")
    assert "device tab-9" in seen(page)
    assert "What you typed is kept: 51." in seen(page)
    assert page.evaluate(OVER) == []
    assert page.evaluate(SMALL, 116) == []
    press(page, "right")
    press(page, "choice Everybody is out and safe, it is over")
    press(page, "choice The desk")
    waits_for(page, "The Stop is recorded")
    press(page, "right")
    page.wait_for_function("() => desk.at.screen === 'read'")
    assert page.evaluate("desk.at.digits") == "51"
    said = [one["payload"]["text"] for one in kept(page, "note")]
    assert any(one.startswith("After the Stop of tab-9 no. 1: ") for one in said)  # whatever clock is ahead


def test_what_a_browser_refused_to_save_counts_as_unsaved(opens: Opens):
    page = opens("B2", until_step("B2"), storage={"memory": True})
    page.evaluate(
        "desk.kept.isFile = true; desk.enter(() => [{ kind: 'note', payload: { text: 'seen' }, node: 'B2' }])"
    )
    page.wait_for_function("() => desk.counts.unsaved > 0")
    page.evaluate("HTMLAnchorElement.prototype.click = () => {}; desk.show('step')")
    press(page, "save")
    waits_for(page, "Is the file there?")
    assert page.evaluate("desk.counts.unsaved") > 0
    press(page, "choice It is not there")
    assert page.evaluate("desk.counts.unsaved") > 0
    press(page, "save")
    waits_for(page, "Is the file there?")
    press(page, "right")
    page.wait_for_function("() => desk.counts.unsaved === 0")


def test_a_stop_tells_that_another_device_noted_otherwise_before_it_is_recorded(opens: Opens):
    page = opens("A1")
    on(page)
    press(page, "right")
    press(page, "choice Yes")
    waits_for(page, "Done.")
    (mine,) = kept(page, "observation")
    payload = mine["payload"] | {"value": False}
    entry = Device("tab-9", RUN, start=1e6).make("observation", payload, "A1")
    line = canonical(plain_entry(entry)).decode()
    page.evaluate(f"desk.kept.takeIn('{RUN}', [{json.dumps(line)}], 'server', 1)")
    page.evaluate("desk.go('A1')")
    waits_for(page, "Stop.")
    on(page)
    assert "tab-9" in seen(page)
    assert " noted yes and no" in seen(page)
    assert page.evaluate(OVER) == []


def test_a_disk_that_has_become_full_is_named_as_the_cause_at_every_step_after(opens: Opens):
    page = opens("B2", until_step("B2"))
    page.evaluate(FULL.replace("20", "0"))
    page.evaluate("desk.enter(() => [{ kind: 'note', node: 'B2', payload: { text: 'drips' } }])")
    waits_for(page, "The storage of this device is full.")
    assert "Entered." not in page.inner_text("body")
    page.evaluate("desk.show('more')")
    page.evaluate("desk.show('step')")
    waits_for(page, "The storage of this device is full.")
    assert "1 entry not saved" in page.inner_text(".net")
    for light in ("film", "lamp", "sun"):
        page.evaluate("light => document.documentElement.dataset.light = light", light)
        assert (light, page.evaluate(OVER)) == (light, [])
        assert (light, page.evaluate(SMALL, 116)) == (light, [])
        box = page.locator('[data-key="save"]').bounding_box()
        assert box is not None, light
        assert box["y"] + box["height"] <= 844.0, f"{light}: the key that saves is below the screen"
