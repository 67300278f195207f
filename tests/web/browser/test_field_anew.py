"""Visits told apart at once, what is made void and entered again in one go, photos that say no place."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from tests.web.browser.conftest import until
from tests.web.browser.field_hands import OVER, SMALL, Opens, kept, opening_field, press, seen, until_step

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]
T1 = {"input": "T1", "quantity": "pressure", "tap": "T1", "value": 3e3, "typed": "0.03", "unit": "bar",
      "instrument": "TG-1", "as": "as found", "steady_for": 60, "steady_within": 1000}  # fmt: skip
PLACED = """async () => {
  const { shrunk } = await import("/field/photo.js")
  const sheet = Object.assign(document.createElement("canvas"), { width: 60, height: 40 })
  sheet.getContext("2d").fillRect(0, 0, 30, 40)
  const made = await new Promise((done) => sheet.toBlob(done, "image/jpeg"))
  const bytes = new Uint8Array(await made.arrayBuffer())
  const exif = new TextEncoder().encode("Exif\\0\\0 taken at the mill gate")
  const mark = [0xff, 0xe1, 0, exif.length + 2]
  const parts = [bytes.slice(0, 2), new Uint8Array(mark), exif, bytes.slice(2)]
  const whole = new File(parts, "a.jpg", { type: "image/jpeg" })
  const words = (data) => new TextDecoder("latin1").decode(data)
  const found = await shrunk(whole)
  const odd = await shrunk(new File(["not a picture"], "a.heic", { type: "image/heic" }))
  const before = words(await whole.arrayBuffer()).includes("Exif")
  return { before, after: words(found.bytes).includes("Exif"),
    is: [found.media, found.isBare], odd: [odd.media, odd.isBare, words(odd.bytes)] }
}"""


@pytest.fixture(scope="module")
def opens(browser: Any) -> Iterator[Opens]:
    """What opens a visit on a device."""
    with opening_field(browser) as opened:
        yield opened


def touch(page: Any, *words: str) -> None:
    """Touch keys one after the other, reading on until each is there."""
    for one in words:
        for _ in range(8):
            found = page.locator("button", has_text=one)
            if found.count():
                break
            press(page, "right")
        found.first.click()
        page.wait_for_function("() => true")


def latest(page: Any, kind: str) -> dict[str, Any]:
    """Return what this person entered last; the record was made by another one."""
    return max(
        (one for one in kept(page, kind) if one["who"] == "Tam Oduya"), key=lambda one: one["device_seq"]
    )


def test_two_visits_at_one_station_are_told_apart_by_kind_day_item_and_purpose(opens: Opens):
    page = opens("B2", until_step("B2"))
    page.evaluate("""() => {
      const [{ pack, at }] = desk.packs.length > 0 ? desk.packs : [{ pack: desk.pack, at: Date.now() }]
      const [head, plan] = pack.plan.text.split("\\n")
      const other = structuredClone(pack)
      other.run = "run-2"
      Object.assign(other.plan, { words: "yearly proof", made: "2027-04-02T08:00:00Z",
        text: [head, JSON.stringify({ ...JSON.parse(plan), item: "SO" })].join("\\n") })
      other.entries = [JSON.stringify({ kind: "run", payload: { purpose: "the trip was late" } })
        .replace('"kind": ', '"kind":')]
      desk.packs = [{ pack, at }, { pack: other, at }]
      desk.show("visits")
    }""")
    until(page, "desk.at.unsent?.size === 2")
    one, two = page.locator(".choice button").all_inner_texts()[:2]
    assert one.split("\n")[0] != two.split("\n")[0]
    assert "Quernhollow Lane: yearly proof, SO" in two
    assert "the trip was late" in two
    assert "planned" in two
    assert "2027" in two
    assert page.evaluate(OVER) == []
    assert page.evaluate(SMALL, 116) == []


def test_an_instrument_is_due_another_day_by_a_correction_and_gets_its_right_name_in_one_go(opens: Opens):
    page = opens("B2", until_step("B2"))
    gauge = kept(page, "instrument")[0]
    page.evaluate(f"desk.show('correct', {{ id: {json.dumps(gauge['id'])} }})")
    touch(page, "Next due")
    page.fill("#day", "2031-02-03")
    assert page.evaluate(SMALL, 116) == []
    press(page, "right")
    touch(page, "typed wrong")
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    assert latest(page, "correction")["payload"]["payload"] == {"due": "2031-02-03"}
    page.evaluate(f"desk.show('correct', {{ id: {json.dumps(gauge['id'])} }})")
    touch(page, "Name")
    page.fill("#words", "TG-99")
    press(page, "right")
    assert "Void, and described again" in seen(page)
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    assert latest(page, "void")["replaces"] == gauge["id"]
    made = latest(page, "instrument")["payload"]
    assert (made["name"], made["due"], made["low"]) == ("TG-99", "2031-02-03", gauge["payload"]["low"])


def test_how_far_an_act_went_is_made_void_and_entered_again_in_one_go(opens: Opens):
    page = opens("B2", until_step("B2"))
    page.evaluate("desk.show('doing', { group: 'touches', verb: 'raise', part: 'RV', thing: 'RV.setting' })")
    touch(page, "½ turn")
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    wrong = latest(page, "action")
    page.evaluate(f"desk.show('correct', {{ id: {json.dumps(wrong['id'])} }})")
    touch(page, "How far, how much")
    assert "The old entry stays as void" in seen(page)
    touch(page, "¼ turn")
    assert "Void, and entered again" in seen(page)
    press(page, "right")
    until(page, "desk.at.screen === 'step'")
    assert latest(page, "void")["replaces"] == wrong["id"]
    made = latest(page, "action")
    assert made["payload"] == {**wrong["payload"], "amount": wrong["payload"]["amount"] / 2}
    assert made["node"] == wrong["node"]


def test_a_photo_loses_what_stands_beside_the_picture_and_one_that_cannot_be_drawn_says_so(opens: Opens):
    page = opens("B2", until_step("B2"))
    got = page.evaluate(PLACED)
    assert (got["before"], got["after"], got["is"]) == (True, False, ["image/jpeg", True])
    assert got["odd"] == ["image/heic", False, "not a picture"]
    page.evaluate("desk.show('answer', { photo: true })")
    content = {"name": "a.heic", "mimeType": "image/heic", "buffer": b"not a picture"}
    page.set_input_files("#photo", content)
    until(page, "document.body.innerText.includes('could not draw this photo')")


def test_the_list_of_causes_says_what_a_mark_does_to_it_and_what_was_left_last_time(opens: Opens):
    page = opens("B2", until_step("B2", T1))
    page.evaluate("""() => {
      desk.pack.as_left = [{ what: "lock-up of RV", value: "0.10 bar", tap: "T1", on: "3 May 2026" }]
      desk.show("causes")
    }""")
    assert "T1 is marked as found: the mark does not change this list." in seen(page)
    assert "Left last time at T1: lock-up of RV 0.10 bar, 3 May 2026." in seen(page)
