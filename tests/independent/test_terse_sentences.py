"""Terse notes in clean stories: what only reads like a breach is let be, what is one is mostly heard."""

from __future__ import annotations

import sys

import pytest

from tests.independent.terse_sentences import bases, sentences, told

pytestmark = pytest.mark.by_turns(4)

UNHEARD = 0.12
"""Share of the telling ones that may go unheard: the acts beside some say the contrary."""


@pytest.fixture(scope="module")
def stories():
    return bases()


@pytest.mark.parametrize("part", range(6))
def test_terse_sentences_of_clean_work_bring_no_block_and_no_flag(stories, part):
    every = sentences("clean")
    mine = [(k, row) for k, row in enumerate(every) if k % 6 == part]
    wrong = [(text, said) for k, (node, text) in mine for _, said in told(stories, node, text, k, 1) if said]
    assert wrong == []


def test_terse_sentences_that_tell_of_a_breach_are_mostly_heard(stories):
    every = sentences("telling")
    missed = [
        text
        for k, (node, text, rules) in enumerate(every)
        for row, said in told(stories, node, text, k, 1)
        if not any(i["rule"] in rules or i["entry"] == row["no"] for i in said)
    ]
    sys.stdout.write(f"{len(every) - len(missed)} of {len(every)} terse remarks heard\n")
    assert len(missed) <= UNHEARD * len(every)
