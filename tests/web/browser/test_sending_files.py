"""A file that was picked stays picked where the sign-in has ended, or the register does not answer."""

from __future__ import annotations

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]


def test_a_picked_file_is_sent_only_while_one_is_signed_in(opens, facts):
    page = opens(f"/stations/{facts.yard}/records", misses=(401,))
    picked = {"name": "log.txt", "mimeType": "text/plain", "buffer": b"kept"}
    page.set_input_files("#f-file", files=[picked])
    page.fill('[name="title"]', "Log of the night")
    page.route("**/account", lambda one: one.fulfill(status=401, body="{}"))
    page.click("text=Keep it")
    page.wait_for_selector("[data-unsent] a[href='/sign-in']")
    assert page.evaluate("document.getElementById('f-file').files.length") == 1
    page.unroute("**/account")
    page.click("text=Keep it")
    page.wait_for_selector("#documents >> text=Log of the night")


FORMS = {
    "a list to import": lambda f: "/stations/import",
    "a station file": lambda f: f"/stations/{f.key}/file",
    "a plan": lambda f: f"/stations/{f.yard}/plans",
    "a page handed over": lambda f: f"/stations/{f.yard}/runs/{f.run}/hand-over",
}
"""Some pages with a form for a file; the same lines are at work on all of them (`keys.js`)."""
SEND = """() => {
  const form = document.querySelector("[data-here]").form;
  form.noValidate = true;
  form.requestSubmit(form.querySelector("button:not([type=button])"));
}"""
PRESS = """() => {
  const press = document.createElement("button");
  addEventListener("formdata", (one) => sessionStorage.sent = [...one.formData.keys()].join(" "));
  Object.assign(press, { name: "pressed", value: "this one" });
  const form = document.querySelector("input[type=file]").form;
  form.noValidate = true;
  form.append(press);
  press.click();
}"""


@pytest.mark.parametrize("what", FORMS)
def test_every_form_with_a_file_stays_as_it_is_where_the_sign_in_has_ended(opens, facts, what):
    page = opens(FORMS[what](facts), misses=(401,))
    there = page.evaluate(
        "const one = document.querySelector('form[enctype=\"multipart/form-data\"] input[type=file]');"
        "one.dataset.here = ''; one.type"
    )
    assert there == "file"
    page.set_input_files("[data-here]", files=[{"name": "a.txt", "mimeType": "text/plain", "buffer": b"x"}])
    page.route("**/account", lambda one: one.fulfill(status=401, body="{}"))
    page.evaluate(SEND)
    page.wait_for_selector("[data-unsent] a[href='/sign-in']", state="attached")
    assert page.evaluate("document.querySelector('[data-here]').files.length") == 1


def test_the_button_that_was_pressed_goes_with_the_file(opens, facts):
    page = opens(f"/stations/{facts.key}/file", misses=(422,))
    picked = {"name": "a.yaml", "mimeType": "text/plain", "buffer": b"no station"}
    page.set_input_files("input[type=file]", files=[picked])
    with page.expect_navigation():
        page.evaluate(PRESS)
    assert page.evaluate("sessionStorage.sent").endswith("pressed")
