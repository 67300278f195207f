"""The stories written for blind judging keep the agreed form; what they mean is not tested here."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest

from tests.independent.stories_form import FOLDER, KINDS, LAYOUTS, PRESSURES, faults, read


@pytest.mark.parametrize(
    "folder",
    [FOLDER, *(FOLDER / name for name in ("second", "third", "fourth", "fifth", "sixth", "seventh"))],
    ids=lambda f: f.name,
)
def test_every_story_and_its_truth_keep_the_form(folder: Path) -> None:
    stories, truth = read(folder)
    assert faults(stories, truth) == []


def test_ten_stories_are_clean_and_twenty_hold_one_breach_each() -> None:
    stories, truth = read()
    assert len(stories) == 30
    assert sum(entry["breach"] is None for entry in truth.values()) == 10


def test_the_stories_cover_every_kind_layout_and_unit() -> None:
    stories, _ = read()
    assert {story["kind"] for story in stories} == KINDS
    assert {story["station"]["layout"] for story in stories} == LAYOUTS
    assert {story["station"]["unit"] for story in stories} == PRESSURES


def test_no_two_stories_share_a_station_or_a_person() -> None:
    stories, _ = read()
    stations = [story["station"]["name"] for story in stories]
    people = [person["name"] for story in stories for person in story["people"]]
    assert len(set(stations)) == len(stations)
    assert len(set(people)) == len(people)


def test_a_broken_story_is_noticed() -> None:
    stories, truth = read()
    broken = copy.deepcopy(stories)
    broken[0]["entries"][2]["node"] = "Z9"
    broken[1]["entries"][1]["time"] = "1999-01-01T00:00+00:00"
    assert len(faults(broken, truth)) == 2
