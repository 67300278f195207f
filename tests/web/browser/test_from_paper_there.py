"""Half a page typed in from paper and interrupted: the browser has it again, until the register has."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.whole import Facts

pytestmark = [pytest.mark.browser, pytest.mark.by_turns(5)]


def test_what_was_typed_is_there_after_the_page_was_lost_and_gone_once_it_was_taken_in(
    home: str, facts: Facts, browser: Any
):
    context = browser.new_context(timezone_id="Europe/Berlin")
    page = context.new_page()
    try:
        address = f"{home}/stations/{facts.yard}/runs/{facts.run}/paper"
        lines = page.request.get(f"{address}?as=json").json()["steps"]
        most = max(lines, key=lambda line: line["entries"])["id"]
        page.goto(f"{address}?step={most}")
        assert page.input_value("#zone") == "Europe/Berlin"
        first = page.locator(".line input[name^='v.']").first
        name = str(first.get_attribute("name"))
        step = page.input_value("[name=step]")
        first.fill("4.0 bar")
        page.fill(f"[name='t.{name[2:]}']", "19:5")
        page.goto("about:blank")
        page.goto(f"{address}?step={step}")
        assert page.input_value(f"[name='{name}']") == "4.0 bar"
        assert page.input_value(f"[name='t.{name[2:]}']") == "19:5"
        assert "filled in again" in page.inner_text(".kept")
        page.click("button.do")
        page.wait_for_selector(".problem")
        assert page.input_value(f"[name='{name}']") == "4.0 bar", "a wrong time costs nothing typed"
    finally:
        context.close()
