"""After a second trip the device leads to the choice of another way, no further along the one that ended."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from steadyhead.records.entry import plain_entry
from steadyhead.station.canonical import canonical
from tests.procedure.walking import MIDNIGHT, Device, walk
from tests.visits.judged_visits import Change, reads
from tests.web.browser.conftest import until
from tests.web.browser.field_hands import (
    OVER,
    Opens,
    kept,
    on,
    opening_field,
    press,
    seen,
    waits_for,
)
from tests.web.field.field_js import RUN, pack_of, plan_of

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
STATION = "quillenby-row"
EARLIER = 6 * 3600.0
"""How long ago the visit began: the page goes on with it by the clock of this machine. [s]"""
RETURNS = {"R1": "real", "R6": "to be tested", "R8": "returns"}


@pytest.fixture(scope="module")
def opens(browser: Any) -> Iterator[Opens]:
    """What opens a visit on a device."""
    with opening_field(browser) as opened:
        yield opened


def up_to(node: str, name: str, change: Change = list) -> list[str]:
    """Return the entries of a restart, changed, up to what is asked at a step."""
    begun = (datetime.now(UTC) - MIDNIGHT).total_seconds() - EARLIER
    entries = change(
        walk(plan_of(STATION, "restart").procedure, RETURNS, Device("tab-1", RUN, begun, step=1.0))
    )
    at = next(at for at, one in enumerate(entries) if (one.node, one.payload.get("input")) == (node, name))
    return [canonical(plain_entry(one)).decode() for one in entries[:at]]


PACK = pack_of(plan_of(STATION, "restart")) | {"people": [{"name": "Tam Oduya"}, {"name": "Isla Brandt"}]}


def test_where_the_reducer_fails_its_trial_nothing_more_of_it_is_asked(opens: Opens):
    page = opens(pack=PACK | {"entries": up_to("R7T", "lockup", reads("R7T", "trickle", 4.5e5))}, step="R7T")
    on(page)
    press(page, "right")
    page.locator(".choice button", has_text="no cause seen").click()
    page.click("text=Isla Brandt")
    waits_for(page, "This way is over: do nothing further of this step.")
    on(page)
    assert page.inner_text('[data-key="right"]') == "Next step\nCause understood?"
    press(page, "right")
    waits_for(page, "Cause understood?")
    assert "Something that must stand before it" not in seen(page)
    assert not {"J1", "J2"} & set(page.evaluate("desk.view.next"))


def test_after_a_second_trip_the_page_leads_to_the_choice_of_another_way(opens: Opens):
    page = opens(pack=PACK | {"entries": up_to("J2", "trips")}, step="J2")
    on(page)
    press(page, "right")
    press(page, "choice Yes")
    waits_for(page, "SO acts again.")
    on(page)
    press(page, "right")
    page.locator(".choice button", has_text="no cause seen").click()
    assert seen(page).startswith("Who agreed to go on?\n\nSO acts again")
    page.click("text=Isla Brandt")
    waits_for(page, "This way is over: do nothing further of this step.")
    assert "Open IV2" not in seen(page)
    on(page)
    assert page.inner_text('[data-key="right"]').startswith("Next step")
    press(page, "right")
    waits_for(page, "Another way is to be chosen here. Open to the consumers: SO acts again.")
    on(page)
    assert page.inner_text('[data-key="right"]') == "Choose\nanother way"
    press(page, "right")
    page.locator(".choice button", has_text="isolated").click()
    until(page, "!document.body.innerText.includes('Another way is to be chosen')")
    on(page)
    assert not page.inner_text('[data-key="right"]').startswith("Choose")
    assert page.evaluate(OVER) == []
    (note,) = kept(page, "note")
    assert note["payload"]["text"] == "SO acts again. Agreed with Isla Brandt."
    assert page.evaluate("desk.view.next.includes('J2')") is False


def test_a_way_that_would_stop_at_once_is_told_as_not_open_with_its_reason(opens: Opens):
    failed = PACK | {"entries": up_to("R7T", "lockup", reads("R7T", "trickle", 7.5e5))}
    page = opens(pack=failed, step="R7T")
    page.evaluate("desk.show('record')")
    page.locator(".choice button", has_text="no cause seen").click()
    page.click("text=Isla Brandt")
    waits_for(page, "This way is over")
    page.evaluate("desk.go('R8')")
    page.evaluate("desk.show('answer', { input: '@choice' })")
    waits_for(page, "Not open:")
    open_ways = page.locator(".choice button").all_inner_texts()
    assert open_ways == ["It stays isolated and is repaired."]
    told = seen(page)
    assert "back watched, at a lowered duty." in told
    assert "Because: Does RV hold? RV does not hold duty at trickle, or its lock-up." in told
    assert page.evaluate(OVER) == []
    sound = opens(pack=PACK | {"entries": up_to("R8", "cause")}, step="R8")
    sound.evaluate("desk.show('answer', { input: '@choice' })")
    waits_for(sound, "It stays isolated")
    assert sound.locator(".choice button").count() == 4
    assert "Not open" not in seen(sound)


def test_what_a_failed_trial_says_names_no_code_of_its_step(opens: Opens):
    page = opens(pack=PACK | {"entries": up_to("R7T", "lockup")}, step="R7T")
    page.evaluate("""desk.enter(() => [{ kind: 'reading', node: 'R7T', payload: { input: 'lockup',
      quantity: 'pressure', value: 9e5, typed: '9', unit: 'bar', tap: 'T3' } }])""")
    waits_for(page, "Stop.")
    said = page.evaluate("desk.frame.said.textContent")
    assert "R7T" not in said, said
    page.evaluate("desk.show('final')")
    assert "R7T:" not in seen(page)
