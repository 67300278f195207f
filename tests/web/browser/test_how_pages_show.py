"""Every page as it shows: rules of access, widths, lights, print, nothing refused on its console."""

from __future__ import annotations

import pytest

from tests.web.browser.looks import shows_well
from tests.web.whole import PAGES

pytestmark = pytest.mark.browser
ONE_IN = 3
"""One page in so many is looked at in a run of .ci/run; all of them otherwise."""


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.share(ONE_IN)) for name in PAGES])
def test_a_page_shows_to_everybody(opens, facts, name):
    shows_well(opens(PAGES[name](facts)))


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
