"""How a page that is open shows itself: rules of access, lights, widths, print."""

from __future__ import annotations

from typing import Any

from tests.web.browser.conftest import until

WIDTHS = (1280, 820, 360)
LIGHTS = ("lamp", "sun")
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
SMALL = """() => [...document.querySelectorAll('a, button, input, select, textarea, summary')]
.filter((one) => {
  const box = one.getBoundingClientRect(), label = one.closest('label')?.getBoundingClientRect();
  const isText = one.tagName === 'A' && getComputedStyle(one).display === 'inline';
  return box.width > 0 && one.checkVisibility() && !isText && !one.closest('.unseen, .skip, svg, .life')
    && Math.max(box.height, label?.height ?? 0) < 43.5;
}).slice(0, 3).map((one) => `${one.tagName} ${one.className} ${(one.innerText || one.name).slice(0, 40)}`)"""
"""What a thumb misses: lower than 44 px, and no words within a sentence."""
CUT = """() => [...document.querySelectorAll('select')].filter((one) => {
  const pen = document.createElement('canvas').getContext('2d'), style = getComputedStyle(one);
  pen.font = style.font;
  const room = one.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight) - 16;
  return one.checkVisibility() && pen.measureText(one.selectedOptions[0]?.text ?? '').width > room + 1;
}).map((one) => `${one.name}: ${one.selectedOptions[0].text}`)"""
"""Choices whose chosen words are cut off."""
GOES_AWAY = ".where nav, .life, .do, .alt, button, .skip"
"""What is of no use on paper."""
MOVES = """() => document.getAnimations().length"""


def shows_well(page: Any) -> None:
    """Assert that a page is for everybody, in every light, at every width, and on paper."""
    from axe_playwright_python.sync_playwright import Axe

    axe = Axe()
    assert page.evaluate(MOVES) == 0
    for light in LIGHTS:
        page.evaluate("light => document.documentElement.dataset.light = light", light)
        assert (light, _broken(axe.run(page, options=CONTRAST))) == (light, [])
    page.evaluate("document.documentElement.dataset.light = 'film'")
    page.evaluate(UNFOLD, MOST_UNFOLDED)
    assert _broken(axe.run(page)) == []
    for width in WIDTHS:
        _as_wide_as(page, width)
        assert (width, page.evaluate(OVER)) == (width, [])
        assert page.evaluate("document.documentElement.scrollWidth") <= width, f"at {width} px"
        cut = page.evaluate(CUT)
        assert cut == [], f"at {width} px: {cut}"
    assert _broken(axe.run(page, options=NARROW)) == [], "at 360 px"
    assert ("at 360 px", page.evaluate(SMALL)) == ("at 360 px", [])
    page.emulate_media(media="print")
    seen = page.evaluate(
        "those => [...document.querySelectorAll(those)].filter(one => one.checkVisibility()).length",
        GOES_AWAY,
    )
    assert seen == 0, "printed"


def _as_wide_as(page: Any, width: int) -> None:
    """Make the screen so wide, and wait until the page knows: a busy machine lays it out anew only then."""
    page.set_viewport_size({"width": width, "height": 900})
    until(page, f"innerWidth === {width}")


def _broken(found: Any) -> list[tuple[str, object, str]]:
    return [
        (one["id"], one["nodes"][0]["target"], one["nodes"][0]["html"][:160])
        for one in found.response["violations"]
    ]
