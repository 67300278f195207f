"""A window of logger data under wheel, keys, fingers; the address holds it, the moment is told in words."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlparse

import pytest

pytestmark = pytest.mark.browser
WAIT = 30_000


def width(page) -> float:
    """Return how many hours the address shows."""
    asked = parse_qs(urlparse(page.url).query)
    start, end = (page.evaluate("Date.parse", asked[name][0]) for name in ("start", "end"))
    return float(end - start) / 3.6e6


def settled(page, before: str) -> None:
    page.wait_for_url(lambda url: url != before, timeout=WAIT)


def test_a_window_zooms_pans_and_tells_a_moment(opens, facts):
    page = opens(f"/stations/{facts.yard}/logs/see")
    page.locator("#chart svg path.sh-tolerance").first.wait_for(timeout=WAIT)
    chart = page.locator("#chart")
    box = chart.bounding_box()
    x, y = box["x"] + 0.6 * box["width"], box["y"] + 120
    url = page.url
    page.mouse.move(x, y)
    page.mouse.click(x, y)
    page.mouse.wheel(0, -200)
    settled(page, url)
    near = width(page)
    assert near < 0.8 * 12 * 24
    url = page.url
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 150, y, steps=4)
    page.mouse.up()
    settled(page, url)
    assert width(page) == pytest.approx(near, rel=1e-3)
    url = page.url
    chart.press("+")
    settled(page, url)
    assert width(page) == pytest.approx(near / 2, rel=1e-3)
    chart.press(",")
    row = page.locator("#moment tbody tr", has_text="outlet pressure").first
    row.locator("a").wait_for(timeout=WAIT)  # the exact row has come
    assert re.search(r"\d bar", row.inner_text())
    assert re.search(r"row \d+", row.inner_text())
    url = page.url
    chart.press("0")
    settled(page, url)
    url = page.url
    page.locator("#told a", has_text="Trip").first.click()
    settled(page, url)
    assert width(page) < near
    assert "Trip" in page.locator("#told li").first.inner_text()
    link = page.locator("a[data-as=csv]").get_attribute("href")
    assert parse_qs(urlparse(link).query)["start"] == parse_qs(urlparse(page.url).query)["start"]
    again = opens(urlparse(page.url)._replace(scheme="", netloc="").geturl())
    again.locator("#chart svg path.sh-tolerance").first.wait_for(timeout=WAIT)
    assert again.locator("#f-start").input_value() == page.locator("#f-start").input_value()


def test_two_fingers_look_closer_and_one_goes_along(opens, facts):
    page = opens(f"/stations/{facts.yard}/logs/see", 820, has_touch=True)
    page.locator("#chart svg path.sh-tolerance").first.wait_for(timeout=WAIT)
    box = page.locator("#chart").bounding_box()
    y = box["y"] + 120
    tablet = page.context.new_cdp_session(page)

    def fingers(kind, *xs):
        points = [{"x": x, "y": y, "id": place} for place, x in enumerate(xs)]
        tablet.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    url = page.url
    fingers("touchStart", 300, 400)
    for by in range(0, 160, 20):
        fingers("touchMove", 300 - by, 400 + by)
    fingers("touchEnd")
    settled(page, url)
    near = width(page)
    assert near < 0.5 * 12 * 24
    url = page.url
    fingers("touchStart", 500)
    for by in range(0, 200, 20):
        fingers("touchMove", 500 - by)
    fingers("touchEnd")
    settled(page, url)
    assert width(page) == pytest.approx(near, rel=1e-3)
