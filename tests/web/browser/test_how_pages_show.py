"""Every page as it shows: rules of access, widths, lights, print, nothing refused on its console."""

from __future__ import annotations

import pytest

from tests.web.whole import PAGES

pytestmark = pytest.mark.browser
WIDTHS = (1280, 820, 360)
LIGHTS = ("lamp", "sun")
ONE_IN = 3
"""One page in so many is looked at in a run of .ci/run; all of them otherwise."""
CONTRAST = {"runOnly": ["color-contrast"]}
NARROW = {"runOnly": ["target-size", "scrollable-region-focusable", "label", "link-name", "button-name"]}
"""What a narrow screen may break of the rules of access."""
MOST_UNFOLDED = 40
"""A page with more folds than this is unfolded in its own tests."""
UNFOLD = """most => { const all = [...document.querySelectorAll('details')];
  if (all.length <= most) all.forEach((one) => one.open = true); }"""
OVER = """() => [...document.querySelectorAll('body *')].filter((one) => {
  const box = one.getBoundingClientRect();
  return box.width > 0 && box.right > innerWidth + 1 && !one.closest('.unseen, .skip, svg')
    && !hasScroller(one);
  function hasScroller(it) {
    for (let up = it.parentElement; up; up = up.parentElement)
      if (getComputedStyle(up).overflowX !== 'visible') return true;
    return false;
  }
}).slice(0, 3).map((one) => `${one.tagName} ${one.className} ${one.innerText?.slice(0, 40)}`)"""
"""What sticks out at the right."""
GOES_AWAY = ".where nav, .life, .do, .alt, button, .skip"
"""What is of no use on paper."""
MOVES = """() => document.getAnimations().length"""


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.share(ONE_IN)) for name in PAGES])
def test_a_page_shows_to_everybody(opens, facts, name):
    from axe_playwright_python.sync_playwright import Axe

    axe = Axe()
    page = opens(PAGES[name](facts))
    assert page.evaluate(MOVES) == 0
    for light in LIGHTS:
        page.evaluate("light => document.documentElement.dataset.light = light", light)
        assert (light, _broken(axe.run(page, options=CONTRAST))) == (light, [])
    page.evaluate("document.documentElement.dataset.light = 'film'")
    page.evaluate(UNFOLD, MOST_UNFOLDED)
    assert _broken(axe.run(page)) == []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert (width, page.evaluate(OVER)) == (width, [])
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert _broken(axe.run(page, options=NARROW)) == [], "at 360 px"
    page.emulate_media(media="print")
    seen = page.evaluate(
        "those => [...document.querySelectorAll(those)].filter(one => one.checkVisibility()).length",
        GOES_AWAY,
    )
    assert seen == 0, "printed"


def _broken(found) -> list[tuple[str, object, str]]:
    return [
        (one["id"], one["nodes"][0]["target"], one["nodes"][0]["html"][:160])
        for one in found.response["violations"]
    ]


def test_the_light_of_the_device_decides_where_nobody_chose(opens):
    dark = opens("/stations", color_scheme="dark")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    light = opens("/stations")
    assert dark.evaluate(ground) != light.evaluate(ground)


def test_on_a_narrow_screen_the_moment_shown_stands_in_sight(opens, facts):
    page = opens(f"/stations/{facts.key}/upkeep", 360)
    box = page.locator(".life [aria-current]").bounding_box()
    assert box is not None
    assert 0 <= box["x"] <= 360 - box["width"]
