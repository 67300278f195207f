from __future__ import annotations

from datetime import date

import pytest

from steadyhead.errors import InputError
from steadyhead.records.pictures import CapacityPicture
from steadyhead.services.capacity import capacity_picture, capacity_pictures, required_of
from steadyhead.services.judging import Judged, judge_file
from steadyhead.services.papers import design_paper, picture_data
from steadyhead.station.examples import read
from steadyhead.units import METRIC, US
from tests.reports import reading


def judged(name: str, old: str = "", new: str = "") -> Judged:
    text = read(name).decode("utf-8")
    assert old in text
    return judge_file(text.replace(old, new, 1).encode())


def test_the_design_sheet_shows_the_map_of_each_reducer_and_what_other_sizes_need():
    paper = design_paper(judged("sorrel-flat"), US, date(2027, 3, 2))
    words = reading.text(paper)
    for said in ("Capacity of RV1", "Capacity of RV2", "What a valve of each size must pass in place of RV2"):
        assert said in words
    assert "Cv needed to hold duty pressure" in words
    assert all(reading.alternatives(paper))


def test_a_size_that_passes_nothing_is_told_in_words():
    found = judged("quillenby-row", "value: 7.2 bar", "value: 3.99 bar")
    words = reading.text(design_paper(found, METRIC, date(2027, 3, 2)))
    assert "none of this size" in words


def test_the_map_as_data_says_what_it_shows():
    data = picture_data(judged("quillenby-row"), "map")
    assert data["picture"] == "map"
    assert data["says"].startswith("Capacity map, Quillenby Row, RV")
    assert data["facts"]["shown"]["borders"]


def test_another_reducer_may_be_named():
    shown = capacity_picture(judged("sorrel-flat"), "RV2")
    assert isinstance(shown, CapacityPicture)
    assert shown.shown.reducer == "RV2"


def test_a_station_the_twin_cannot_work_with_has_no_map():
    found = judged("quillenby-row", "senses: T3", "senses: T0")
    with pytest.raises(InputError, match="no capacity map yet"):
        capacity_picture(found)
    assert capacity_pictures(found) == ()
    assert required_of(found) == ()
