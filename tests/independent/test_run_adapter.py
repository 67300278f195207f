"""Stories of site work through the adapter: our own, and the shared samples where their folder is named."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.independent.run_adapter import judge

OWN = Path(__file__).parent / "stories"
SAMPLES = Path(os.environ.get("STEADYHEAD_SAMPLES", "/nowhere"))
Case = tuple[Mapping[str, Any], Mapping[str, Any]]


def cases(folder: Path) -> Iterator[Case]:
    stories, truths = folder / "stories.json", folder / "stories_truth.json"
    if stories.is_file() and truths.is_file():
        truth = json.loads(truths.read_text(encoding="utf-8"))
        yield from ((story, truth[story["id"]]) for story in json.loads(stories.read_text(encoding="utf-8")))


def caught(case: Case) -> bool:
    story, truth = case
    answer, breach = judge(story), truth["breach"]
    right = [
        issue
        for issue in answer["issues"]
        if issue["level"] != "info"
        and (
            issue["rule"] in (breach["rule"], *breach["accept_rules"]) or issue["entry"] in breach["entries"]
        )
    ]
    return bool(right) and truth["final_allowed"] in (None, answer["final_allowed"])


def alarms(case: Case) -> list[Any]:
    story, truth = case
    breach = truth["breach"]
    accepted = () if breach is None else (breach["rule"], *breach["accept_rules"])
    places = () if breach is None else breach["entries"]
    return [
        issue
        for issue in judge(story)["issues"]
        if issue["level"] != "info" and issue["rule"] not in accepted and issue["entry"] not in places
    ]


def all_cases() -> list[Case]:
    return [*cases(OWN), *cases(SAMPLES)]


@pytest.mark.source(
    kind="independent", ref="stories written from the handbook alone, without sight of the rules"
)
def test_breaches_of_the_stories_are_caught_and_the_rate_is_printed():
    broken = [case for case in all_cases() if case[1]["breach"] is not None]
    hits = [case for case in broken if caught(case)]
    sys.stdout.write(f"caught {len(hits)} of {len(broken)}" + "\n")
    assert len(hits) >= 0.9 * len(broken)


@pytest.mark.source(
    kind="independent", ref="stories written from the handbook alone, without sight of the rules"
)
def test_clean_stories_are_final_with_nothing_said_and_the_rate_is_printed():
    clean = [case for case in all_cases() if case[1]["breach"] is None]
    false = {case[0]["id"]: alarms(case) for case in clean if alarms(case)}
    sys.stdout.write(f"false alarms in {len(false)} of {len(clean)} clean stories" + "\n")
    assert len(false) <= 0.1 * len(clean)
    assert all(judge(case[0])["final_allowed"] for case in clean if not alarms(case))


def test_an_answer_keeps_to_the_form():
    for story, _ in all_cases()[:3]:
        answer = judge(story)
        assert set(answer) == {"final_allowed", "issues"}
        numbers = {row["no"] for row in story["entries"]}
        for issue in answer["issues"]:
            assert set(issue) == {"entry", "rule", "level", "text"}
            assert issue["entry"] in numbers
            assert issue["level"] in ("block", "flag", "info")


def test_a_story_without_entries_is_no_fault():
    assert judge({"id": "x", "kind": "first", "date": "2027-01-01", "station": {}, "entries": []})[
        "final_allowed"
    ]
