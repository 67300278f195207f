"""Every campaign at a small share of its full size, with a new seed each time."""

from __future__ import annotations

import math
import os
import random
from collections import Counter

import pytest

from devtools.campaign import TEST_SHARE, about, load, names
from tests.campaigns.field.drawing import AT_LEAST, drawn, seldom
from tests.campaigns.field.holding import Seen, Told, amiss

SEED = int(os.environ["STEADYHEAD_SEED"])  # set and printed by tests/conftest.py


PARTS = {"stories", "mutants", "field_sync", "field_chromium", "logger_events"}
"""Campaigns whose parts are tested by themselves: tests/independent/test_story_campaign.py,
tests/devtools/test_mutants.py, tests/campaigns/test_logger_events.py, and below."""


@pytest.mark.share(3)
@pytest.mark.parametrize("name", [name for name in names() if name not in PARTS])
def test_a_share_of_the_campaign_holds(name):
    campaign = load(name)
    n = max(1, math.ceil(campaign.FULL * TEST_SHARE))
    result = campaign.run(seed=SEED, n=n)
    assert result["held"], (
        f"{about(campaign)} Repeat with: dev.py campaign {name} --seed {SEED} --n {n}\n{result}"
    )


def few_hold(name: str) -> None:
    campaign = load(name)
    result = campaign.run(seed=SEED, n=3)
    assert result["held"], (
        f"{about(campaign)} Repeat with: dev.py campaign {name} --seed {SEED} --n 3\n{result}"
    )


@pytest.mark.system("node")
@pytest.mark.by_turns(3)
def test_three_sequences_of_faults_amid_a_sync_lose_nothing():
    few_hold("field_sync")


@pytest.mark.browser
@pytest.mark.by_turns(4)
def test_three_sequences_of_faults_on_the_field_page_lose_nothing():
    few_hold("field_chromium")


def test_every_fault_comes_as_often_as_any_other():
    cases = drawn("abcdefgh", random.Random(SEED), 100, (2, 3))
    assert {len(case) for case in cases} == {2, 3}
    counts = Counter(fault for case in cases for fault in case)
    assert min(counts.values()) >= 20
    assert max(counts.values()) - min(counts.values()) <= 1


def test_a_fault_that_struck_too_seldom_is_told():
    assert seldom({"a": AT_LEAST, "b": AT_LEAST - 1}, "abc") == [
        f"b struck {AT_LEAST - 1} times, fewer than {AT_LEAST}", f"c struck 0 times, fewer than {AT_LEAST}"
    ]  # fmt: skip


def test_a_photo_that_is_lost_doubled_or_taken_by_nobody_is_found():
    def found(photos: dict[str, int], taken: list[str], shot: list[str]) -> list[str]:
        return amiss(Seen((), (), 0, "", frozenset(), photos), Told(taken=taken, shot=shot), [])

    assert found({"a": 1, "b": 1}, ["a", "b"], ["a"]) == []
    assert found({}, ["a"], []) == []
    assert found({}, ["a"], ["a"])
    assert found({"a": 2}, ["a"], ["a"])
    assert found({"a": 1, "b": 1}, ["a"], ["a"])


def test_what_is_lost_doubled_changed_or_made_by_nobody_is_found():
    one, two = (
        f'{{"id":"{name}","device":"tab-9","device_seq":{number},"payload":{{"text":"{name}"}}}}'
        for number, name in enumerate("ab", 1)
    )
    other = one.replace('"text":"a"', '"text":"x"')

    def found(lines: list[str], kept: list[str], refused: tuple[str, ...] = ()) -> list[str]:
        return amiss(Seen(tuple(lines), refused, 0, "", frozenset()), Told(made=[one, two], kept=kept), [])

    assert found([one, two], [one, two]) == []
    assert found([one], [one, two])
    assert found([one, one], [one])
    assert found([one, other], [one])
    assert found([one, two.replace('"b"', '"c"')], [one])
    assert found([one], [one, other])
    assert found([one], [one, other], (other,)) == []
