"""Every campaign at a small share of its full size, with a new seed each time."""

from __future__ import annotations

import math
import os

import pytest

from devtools.campaign import TEST_SHARE, about, load, names

SEED = int(os.environ["STEADYHEAD_SEED"])  # set and printed by tests/conftest.py


PARTS = {"stories", "mutants"}
"""Campaigns whose parts are tested by themselves: tests/independent/test_story_campaign.py,
tests/devtools/test_mutants.py."""


@pytest.mark.share(2)
@pytest.mark.parametrize("name", [name for name in names() if name not in PARTS])
def test_a_share_of_the_campaign_holds(name):
    campaign = load(name)
    n = max(1, math.ceil(campaign.FULL * TEST_SHARE))
    result = campaign.run(seed=SEED, n=n)
    assert result["held"], (
        f"{about(campaign)} Repeat with: dev.py campaign {name} --seed {SEED} --n {n}\n{result}"
    )
