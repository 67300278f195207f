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
