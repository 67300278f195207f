"""The audit on sets of stories and on variations of clean ones: the innocent let be, breaches caught."""

from __future__ import annotations

import sys

import pytest

from tests.independent.story_breaches import BREAKS, breaches
from tests.independent.story_campaign import SETS, caught, clean, false_alarms, rate
from tests.independent.story_innocents import innocents
from tests.independent.story_remarks import trial

pytestmark = pytest.mark.by_turns(4)

SEED = 20270414
MISSED = 0.1
"""Share of the remarks that may go unheard: some are put where the readings beside them say the contrary."""


@pytest.fixture(scope="module")
def bases():
    return clean(*SETS)


@pytest.mark.source(
    kind="independent", ref="stories written from the handbook alone, without sight of the rules"
)
@pytest.mark.parametrize("folder", SETS, ids=lambda f: f.name)
def test_every_set_of_stories_keeps_its_hits_and_no_false_alarm(folder):
    found = rate(folder)
    sys.stdout.write(found.line() + "\n")
    assert found.missed == {}
    assert found.false == {}


def test_innocent_variations_of_clean_stories_raise_no_block_and_no_flag(bases):
    told = {name: said for name, story in innocents(bases, 60, SEED) if (said := false_alarms(story))}
    assert told == {}


def test_each_rule_broken_at_a_random_place_is_caught(bases):
    missed = [case.name for case in breaches(bases, len(BREAKS), SEED) if not caught(case)[0]]
    assert missed == []


def test_a_breach_brings_hardly_anything_said_besides(bases):
    besides = [line for case in breaches(bases, len(BREAKS), SEED + 1) for line in caught(case)[2]]
    assert len(besides) <= 2


def test_remarks_that_only_seem_to_tell_of_a_breach_are_let_be():
    _, wrong = trial("innocent", SEED, every=6)
    assert wrong == []


def test_remarks_that_tell_of_a_breach_are_heard_but_for_a_few():
    tried, wrong = trial("telling", SEED, every=4)
    sys.stdout.write(f"{tried - len(wrong)} of {tried} remarks heard\n")
    assert len(wrong) <= MISSED * tried + 3
