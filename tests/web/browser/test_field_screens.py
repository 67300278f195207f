"""The screens of the field page, as a person with gloves meets them: in a real browser, without a server."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.records.procedure import Message
from steadyhead.services.field.bundling import bundle, modules
from tests.procedure.walking import Device
from tests.web.browser.conftest import until
from tests.web.browser.field_hands import (
    OVER,
    SIZES,
    SMALL,
    STREAM,
    Opens,
    bare_pack,
    kept,
    on,
    opening_field,
    press,
    read,
    seen,
    until_step,
    waits_for,
    walked,
)
from tests.web.field.field_js import PLACES, RUN, bare_plan, pack_of, plan_of

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
NAME = "quernhollow-lane"


@pytest.fixture(scope="module")
def opens(browser: Any) -> Iterator[Opens]:
    """What opens a visit on a device."""
    with opening_field(browser) as opened:
        yield opened


def test_before_the_first_step_the_device_tells_what_it_holds_and_which_station_it_is(opens: Opens):
    page = opens()
    waits_for(page, "a trial entry was written and read back")
    assert "✓ Plan: read back, version" in seen(page)
    press(page, "right")
    assert "QHL-01" in seen(page)
    assert "55.1042" in seen(page)
    assert "Quernhollow Rise" in seen(page)
    for words in ("Before you go down", "Left last time", "as you walk", "Who works"):
        for _ in range(4):
            if words in seen(page):
                break
            press(page, "right")
        assert words in seen(page)
    page.click("text=Isla Brandt")
    waits_for(page, "A1 · step 1 of")
    assert [one["kind"] for one in kept(page, "run") + kept(page, "person")] == ["run", "person"]


NOTED = "Design not released: CAV-12, LAD-37. What follows is told by the check of the file"


@cache
def unreleased() -> str:
    """The pack of a plan whose design is not released."""
    procedure = plan_of(NAME).procedure
    note = Message("note.not_released", {"codes": "CAV-12, LAD-37"})
    plan = bare_plan(replace(procedure, notes=(note, *procedure.notes)))
    return json.dumps(json.loads(bare_pack()) | {one: pack_of(plan)[one] for one in ("plan", "texts")})


def pages(page: Any) -> list[str]:
    """Return what each page of the screen says."""
    found = [seen(page)]
    while page.inner_text('[data-key="right"]').startswith("Read on"):
        press(page, "right")
        found.append(seen(page))
        assert page.evaluate(OVER) == []
    return found


def test_notes_of_the_plan_stand_before_the_first_step_at_its_question_and_under_more(opens: Opens):
    page = opens(pack=json.loads(unreleased()))
    page.evaluate("desk.show('before')")
    told = pages(page)
    assert NOTED in told[0]
    every = "".join(told)
    order = [NOTED, "consent of the fire authority", "This plan helps to prepare", "Left last time"]
    assert [every.index(one) for one in order] == sorted(every.index(one) for one in order)
    page.evaluate(
        "desk.take('Tam Oduya').then(() => desk.keepWay({ isThrough: true })).then(() => desk.go('A1'))"
    )
    waits_for(page, "A1 · step 1 of")
    assert "Design not released: CAV-12, LAD-37. Why: More, Notes of the plan." in pages(page)[0]
    page.evaluate("desk.show('answer', { input: 'released' })")
    assert "Design not released: CAV-12, LAD-37." in seen(page)
    page.evaluate("desk.show('more')")
    on(page)
    while '"choice Notes of the plan"' not in page.inner_html("main"):
        press(page, "before")
    page.click('[data-key="choice Notes of the plan"]')
    assert NOTED in pages(page)[0]
    page.evaluate("desk.show('step')")
    released = opens("A1")
    assert "Design not released" not in "".join(pages(released))


def test_a_plan_without_notes_has_no_key_for_them(opens: Opens):
    page = opens("B2")
    page.evaluate("desk.plan.notes.length = 0; desk.show('more')")
    assert "Notes of the plan" not in "".join(pages(page))


def test_the_header_names_no_step_on_screens_of_the_whole_visit(opens: Opens):
    page = opens("B2")
    assert page.inner_text("header.above > span").startswith("B2 · step ")
    for screen in ("'final'", "'signature', { asks: 'provisional' }", "'hand'", "'statement'"):
        page.evaluate(f"desk.show({screen})")
        assert (screen, page.inner_text("header.above > span")) == (screen, "")
    page.evaluate("desk.show('step')")
    assert page.inner_text("header.above > span").startswith("B2 · step ")


def test_a_question_keeps_its_mark_and_takes_no_full_stop_behind_it(opens: Opens):
    page = opens("B2")
    page.evaluate("""import("/field/screens/parts.js").then(({ ended }) => {
      window.ends = ["Does RV hold?", "Shut IV1", "Done."].map(ended) })""")
    assert page.evaluate("window.ends") == ["Does RV hold?", "Shut IV1.", "Done."]


def test_a_reading_inside_its_band_is_kept_with_gauge_and_window_and_told_in_words(opens: Opens):
    page = opens("B2")
    read(page, "3")
    assert page.inner_text('[data-key="number"]') == "0.03"
    assert "As expected." in seen(page)
    press(page, "take")
    waits_for(page, "T1: 0.03 bar.")
    (reading,) = kept(page, "reading")
    assert reading["who"] == "Tam Oduya"
    payload = reading["payload"]
    assert (payload["typed"], payload["unit"], payload["instrument"]) == ("0.03", "bar", "TG-07")
    assert payload["steady_for"] >= 60
    assert payload["steady_within"] == 5000
    assert "As expected" in page.inner_text("[role=status]")
    assert page.inner_text('[data-key="right"]') in ("Read T2", "Read on\npage 2")


def test_the_unit_is_another_by_one_touch_and_the_number_is_cleared_by_one(opens: Opens):
    page = opens("B2")
    read(page, "145")
    press(page, "unit")
    assert page.inner_text('[data-key="unit"]').startswith("psi")
    press(page, "number")
    assert "·" in page.inner_text('[data-key="number"]')
    page.keyboard.press("9")
    assert page.inner_text('[data-key="number"]').strip("0.") == "9"
    press(page, "left")
    assert "Back out" in seen(page)
    press(page, "left")
    assert page.inner_text('[data-key="number"]').strip("0.") == "9", "nothing typed is lost"


def test_outside_the_band_the_page_turns_to_stop_and_goes_on_once_it_is_recorded_who_agreed(opens: Opens):
    page = opens("B2")
    read(page, "130")
    assert "Above the band." in seen(page)
    press(page, "take")
    waits_for(page, "Stop.")
    assert "stays up with its drain open" in page.inner_text(".alarm")
    assert "1 Do not loosen the strainer." in seen(page)
    on(page)
    assert page.inner_text('[data-key="right"]') == "Record\nwhat I saw"
    assert page.query_selector('[data-key="more"]') is None
    press(page, "right")
    assert "The gauge reads psi" in seen(page)
    page.locator(".choice button", has_text="to be put right").first.click()
    page.click("text=Isla Brandt")
    waits_for(page, "Outside, and recorded.")
    (note,) = kept(page, "note")
    assert note["node"] == "B2"
    assert note["payload"]["text"].endswith("Agreed with Isla Brandt.")


def listed(page: Any) -> list[str]:
    """Return the causes that are listed, on all pages."""
    page.evaluate("desk.show('causes')")
    found = page.locator("main h2").all_inner_texts()
    while page.inner_text('[data-key="right"]').startswith("Read on"):
        press(page, "right")
        found += page.locator("main h2").all_inner_texts()
    assert seen(page)
    return [str(one) for one in found]


def test_the_causes_change_when_only_the_flow_or_only_the_tap_changes(opens: Opens):
    def told(flow: float, tap: str) -> list[str]:
        at = {"input": "flow.2", "quantity": "flow", "value": flow}
        reading = {"input": f"{tap}.2", "tap": tap, "value": 377e3 if tap == "T3" else 700e3}
        return listed(opens(STREAM, until_step(STREAM, at, reading)))

    little, much = told(4e-4, "T3"), told(16e-3, "T3")
    assert little
    assert much
    assert little != much
    assert set(told(4e-4, "T2")) != set(little)


def test_the_dial_shows_the_turn_that_is_allowed_and_the_turn_is_kept_before_the_next_reading(opens: Opens):
    aim = next(one for one in plan_of(NAME).procedure.advice.aims if one.step == "ES1.RV")
    first = {"input": "reading", "tap": aim.tap, "flow": 4e-4, "value": 0.8 * aim.target}
    page = opens("ES1.RV", until_step("ES1.RV", first))
    on(page)
    press(page, "right")
    picture = page.get_attribute("svg.dial", "aria-label")
    assert picture.startswith("RAISE clockwise, at most")
    assert "turn" in picture
    allowed = page.evaluate("desk.view.advice.advice.turn")
    assert "wall" in page.inner_html("svg.dial")
    press(page, "less")
    assert "Advised:" in seen(page)
    assert page.inner_text('[data-key="left"]').startswith("Back out")
    press(page, "back")
    press(page, "right")
    until(page, "desk.at.screen !== 'turn'")
    (act,) = (one["payload"] for one in kept(page, "action") if one["who"] == "Tam Oduya")
    assert (act["do"], act["thing"]) == ("raise", "RV.setting")
    assert 0 < act["amount"] <= allowed
    assert page.evaluate("desk.at.screen") in ("gauge", "watch", "read")


def test_a_step_that_is_still_the_next_one_leads_to_its_answers_not_to_itself(opens: Opens):
    page = opens("A1")
    on(page)
    press(page, "right")
    press(page, "choice No")
    waits_for(page, "Stop.")
    on(page)
    press(page, "right")
    page.locator(".choice button", has_text="no cause seen").click()
    page.click("text=Isla Brandt")
    waits_for(page, "Outside, and recorded.")
    on(page)
    others = page.evaluate("desk.view.next.filter((id) => id !== 'A1').length")
    assert (others, page.inner_text('[data-key="right"]')) == (0, "Answer again\nthis step is still open")
    press(page, "right")
    assert "answer again" in page.inner_text("h1")


LONG = "Scarthwick Nether Gate and Weighbridge Lane, north chamber"


def test_the_dial_stands_on_one_screen_under_a_long_name_that_is_told_by_its_two_ends(opens: Opens):
    aim = next(one for one in plan_of(NAME).procedure.advice.aims if one.step == "ES1.RV")
    first = {"input": "reading", "tap": aim.tap, "flow": 4e-4, "value": 0.8 * aim.target}
    page = opens("ES1.RV", until_step("ES1.RV", first))
    on(page)
    press(page, "right")
    page.evaluate("name => { desk.pack.station.name = name; desk.draw() }", LONG)
    assert page.inner_text("header b") == "Scarthwick Nether … north chamber"
    assert page.get_attribute("header b", "title") == LONG
    assert page.inner_text('[data-key="right"]').startswith("Turned")
    assert page.locator("svg.dial").count() == page.locator("main .hazard").count() == 1
    assert page.evaluate(OVER) == []
    page.evaluate("desk.show('where')")
    assert LONG in seen(page), "the whole name where the station is found"


def test_how_to_back_out_is_told_for_the_state_the_station_is_in(opens: Opens):
    page = opens("F1.SO", until_step("F1.SO"))
    press(page, "left")
    assert "how does the station stand" in seen(page)
    page.click("text=raised")
    assert "Back out: raised" in seen(page)
    assert "1 Open TD fully." in seen(page)


def test_without_storage_it_is_said_first_and_the_file_is_saved_in_one_touch(opens: Opens):
    page = opens(storage={"memory": True})
    waits_for(page, "This browser keeps nothing.")
    page.evaluate("desk.take('Tam Oduya').then(() => desk.go())")
    waits_for(page, "2 entries not saved: save the file")
    with page.expect_download() as found:
        press(page, "save")
    lines = Path(found.value.path()).read_text("utf-8").splitlines()
    assert json.loads(lines[0]) == {"format": "steadyhead/entries/1"}
    assert len(lines) == 3
    waits_for(page, "Is the file there?")
    assert "not saved" in page.inner_text(".net"), "a download may have been refused"
    press(page, "right")
    until(page, "!document.body.innerText.includes('not saved')")


def test_on_a_tablet_that_lies_no_line_runs_over_the_whole_width_and_steps_are_told_by_title(opens: Opens):
    page = opens("B2", until_step("B2"), size=(1280, 800))
    for screen in ("step", "final", "rules", "back"):
        page.evaluate(f"desk.show('{screen}')")
        widest = "Math.max(0, ...[...document.querySelectorAll('main p')].map((one) => one.clientWidth))"
        assert page.evaluate(widest) < 0.7 * 1280, screen
    page.evaluate("desk.show('entries', { isAll: true })")
    assert "Cut the station off\nB1, 5 entries, last " in seen(page)
    page.evaluate("desk.show('steps')")
    assert "Cut the station off" in seen(page)


def test_proofs_and_what_is_in_the_way_of_final_are_told_and_a_deviation_is_chosen(opens: Opens):
    page = opens("ES1.RV", until_step("ES1.RV"))
    page.evaluate("desk.show('proofs')")
    assert "stands" in seen(page) or "open" in seen(page)
    page.evaluate("desk.show('final')")
    assert seen(page).startswith("Not final:")
    told = seen(page)
    assert "_" not in told, told
    page.locator("button", has_text="Record a deviation").click()
    page.locator(".choice button").first.click()
    page.click("text=none for people, checked")
    page.click("text=in 30 days")
    page.click("text=Tam Oduya")
    page.click("text=Isla Brandt")
    until(page, "desk.at.screen === 'final'")
    (made,) = kept(page, "deviation")
    assert (made["payload"]["owner"], made["payload"]["accepted_by"]) == ("Tam Oduya", "Isla Brandt")
    assert made["payload"]["due"]
    assert made["payload"]["risk"]
    assert made["payload"]["what"]


SCREENS = (
    "'step'", "'read', { input: 'T1' }", "'watch', { input: 'T1' }", "'gauge', { input: 'T1' }",
    "'gaugeNumbers', { input: 'T1' }", "'more'", "'causes'", "'back'", "'proofs'", "'final'", "'hand'",
    "'answer', { photo: true }", "'type', { title: 'Note', label: 'Words', from: 'more' }", "'where'",
    "'before'", "'notes'", "'cocks'", "'visits'", "'rules'", "'steps'", "'who'",
)  # fmt: skip
LIT = ("'step'", "'read', { input: 'T2', digits: '130' }", "'proofs'")


@pytest.mark.parametrize("size", SIZES)
def test_every_screen_is_for_everybody_in_every_light_without_scrolling(opens: Opens, size: tuple[int, int]):
    from axe_playwright_python.sync_playwright import Axe

    axe, page = Axe(), opens("B2", size=size)

    def broken(options: dict[str, Any] | None = None) -> list[str]:
        found = axe.run(page, options=options).response["violations"]
        return [f"{one['id']} {one['nodes'][0]['html'][:120]}" for one in found]

    for screen in SCREENS:
        page.evaluate(f"desk.show({screen})")
        assert (screen, page.evaluate(SMALL, 116)) == (screen, [])
        assert (screen, page.evaluate(OVER)) == (screen, [])
        if size == SIZES[0] or screen in LIT:
            assert (screen, broken()) == (screen, [])
    for light in ("lamp", "sun"):
        page.evaluate("light => document.documentElement.dataset.light = light", light)
        for screen in LIT:
            page.evaluate(f"desk.show({screen})")
            assert (light, screen, broken({"runOnly": ["color-contrast"]})) == (light, screen, [])


def test_a_keyboard_reaches_every_key_and_the_focus_is_seen(opens: Opens):
    page = opens("B2")
    page.evaluate("desk.show('read', { input: 'T1' })")
    reached = []
    for _ in range(20):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.dataset.key ?? ''")
        if name in reached:
            break
        reached.append(name)
        if name:
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    assert {"number", "unit", "digit 1", "digit 0", "left"} <= set(reached)


def test_the_modules_join_into_one_script_and_are_short():
    assert "startField" in bundle("field/start.js", modules(), "fieldPage")
    for folder in ("screens", "pictures"):
        for path in (PLACES["field"] / folder).glob("*.js"):
            text = path.read_text("utf-8")
            assert len(text.splitlines()) <= 250, path.name
            assert [word for word in ("innerHTML", "import(", "style=") if word in text] == [], path.name


def test_a_step_tells_which_page_it_is_of_how_many_and_an_entry_leaves_it_at_its_end(opens: Opens):
    page = opens("F1.SO", until_step("F1.SO"))
    assert "1 of 2" in page.inner_text("h1")
    assert page.inner_text('[data-key="right"]') == "Read on\npage 2 of 2"
    press(page, "right")
    press(page, "more")
    page.evaluate("desk.show('type', { title: 'Note', label: 'Words', take: () => {} })")
    page.evaluate("""import('/field/screens/asking.js').then(({ after }) => after(desk))""")
    assert "2 of 2" in page.inner_text("h1")
    assert "Read on" not in page.inner_text('[data-key="right"]')


def test_what_was_mistyped_is_put_right_from_the_stop_and_the_wait_has_a_way_back(opens: Opens):
    page = opens("B2")
    on(page)
    page.evaluate("desk.show('watch', { input: 'T1' })")
    press(page, "back")
    assert page.evaluate("desk.at.screen") == "step"
    read(page, "130")
    press(page, "take")
    waits_for(page, "Stop.")
    on(page)
    press(page, "right")
    for _ in range(4):
        if "It was typed wrong" in seen(page):
            break
        press(page, "right")
    page.locator(".choice button", has_text="It was typed wrong").click()
    assert "Correct it" in seen(page)
    assert "Make it void" in seen(page)
    assert page.evaluate("getComputedStyle(document.querySelector('.key')).overflowWrap") == "normal"


def test_a_figure_in_another_unit_is_doubted_before_it_is_taken_and_at_the_stop(opens: Opens):
    page = opens("B2")
    read(page, "3000")
    assert "Above the band. TG-07 does not reach so far." in seen(page)
    press(page, "number")
    for digit in "90":
        press(page, f"digit {digit}")
    assert "Above the band. In psi it would lie inside." in seen(page)
    assert "does not reach" not in seen(page)
    assert page.evaluate(OVER) == []
    press(page, "take")
    waits_for(page, "In psi it would lie inside. If that was meant: correct it.")
    rule = page.evaluate("desk.view.step.otherwise.find((one) => one.fires && !one.tells)?.means ?? ''")
    said = page.evaluate("document.querySelector('.alarm').innerText") + seen(page)
    assert rule == "" or rule in said


def test_a_step_that_is_opened_before_its_turn_says_so_and_which_one_is_next(opens: Opens):
    page = opens("F1.SO")
    on(page)
    page.evaluate("desk.show('step')")
    assert "Not its turn" in seen(page) or "must stand before it is still open" in seen(page)
    assert "Next is: The design is released." in seen(page)


def test_the_second_look_says_that_its_turn_comes_after_the_signature(opens: Opens):
    unsigned = [one for one in walked() if one.node != "K2" and one.kind != "sign"]
    page = opens("K2", unsigned)
    assert "Not its turn: the visit is not signed yet." in seen(page)
    assert page.inner_text('[data-key="right"]').startswith("Final")
    page.evaluate("desk.go('K1')")
    on(page)
    assert page.inner_text('[data-key="right"]').startswith("Final")
    rest = [one for one in walked() if one.node != "K2"]
    sign = Device("tab-9", RUN, start=1e6).make("sign", {"asks": "provisional"})
    signed = opens("K2", [*rest, sign])  # on another day than that of this device's clock
    assert "Not its turn" not in seen(signed)
    assert page.evaluate(OVER) == []


def test_what_the_office_has_not_read_is_told_by_what_it_looks_for(opens: Opens):
    page = opens("K1", [one for one in walked() if one.node != "K2"])
    page.evaluate("desk.show('final')")
    told = seen(page)
    assert "not read by the server" not in told
    assert "answers in words not yet looked through in the office" in told
    assert "Nothing to do here: they go there with the next signal" in told


def test_what_is_missing_before_going_down_is_named_with_what_to_do_instead(opens: Opens):
    page = opens()
    waits_for(page, "a trial entry was written and read back")
    rows = [
        {"what": "Plan", "is": True, "words": "read back."},
        {"what": "Room", "is": None, "words": "Send."},
    ]
    page.evaluate("rows => desk.show('ready', { rows })", rows)
    told = seen(page)
    assert "Nothing is amiss: 1 read back from this device just now. Not: Room; see there what to do." in told


def test_the_step_that_opens_the_inlet_valve_says_in_plain_words_how_far(opens: Opens):
    page = opens("C5.main", until_step("C5.main"))
    assert "IV1 opened only as far as TD holds" in seen(page)
    assert "V2 opening" not in page.inner_text("h1")
