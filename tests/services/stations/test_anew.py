"""A number typed anew does not keep where the old one came from."""

from __future__ import annotations

from datetime import date

import pytest

from steadyhead.services.stations.anew import restated
from steadyhead.services.stations.steps import draft, read_steps
from steadyhead.station.document import dump
from steadyhead.station.examples import read
from steadyhead.station.load import load

SOURCE = read("veldany-house")
MIN = ("supply", "min")
DAY = date(2027, 4, 14)
NEW = "typed by A. Name on 2027-04-14"


def _set(at, value):
    return {"do": "set", "at": list(at), "value": value}


def _after(*steps, source=SOURCE):
    done = restated(source, read_steps(list(steps)), "A. Name", DAY)
    return load(dump(draft(source, done)))


def _min(*steps):
    return _after(*steps).data["supply"]["min"]


def test_another_number_says_who_typed_it_and_loses_day_and_measuring():
    assert _min(_set(MIN, "12.4 bar")) == {"value": "12.4 bar", "source": NEW, "confidence": "estimated"}
    assert _min(_set((*MIN, "value"), "12.4 bar"))["source"] == NEW


@pytest.mark.parametrize("same", ["12.60 bar", "1260 kPa", "12,6 bar"])
def test_the_same_number_in_other_words_keeps_what_was_said_of_it(same):
    found = _min(_set(MIN, same))
    assert (found["source"], found["date"], found["confidence"]) == (
        "booster set display",
        "2027-02-02",
        "measured",
    )


def test_a_number_typed_and_typed_back_keeps_what_was_said_of_it():
    assert _min(_set(MIN, "12 bar"), _set(MIN, "12.6 bar"))["source"] == "booster set display"


@pytest.mark.parametrize("order", [1, -1])
def test_what_is_said_anew_stays_in_either_order(order):
    steps = (
        _set(MIN, "12.4 bar"),
        _set((*MIN, "source"), "logger L2"),
        _set((*MIN, "confidence"), "measured"),
        _set((*MIN, "date"), "2027-04-13"),
    )
    expected = {
        "value": "12.4 bar",
        "source": "logger L2",
        "date": "2027-04-13",
        "confidence": "measured",
    }
    assert _min(*steps[::order]) == expected


def test_every_other_value_and_every_other_line_stays_byte_for_byte():
    done = restated(SOURCE, read_steps([_set(MIN, "12.4 bar")]), "A. Name", DAY)
    lines = dump(draft(SOURCE, done)).splitlines()
    changed = [one for one in zip(SOURCE.splitlines(), lines, strict=True) if one[0] != one[1]]
    assert len(changed) == 1


def test_a_limit_says_which_of_its_numbers_is_new_and_keeps_the_source_of_the_rest():
    at = ("limits", 1, "normal")
    first = _after(_set(at, "5.5 bar"))
    limit = first.data["limits"][1]
    assert limit["source"] == f"75 % of its 8 bar; normal {NEW}"
    saved = dump(draft(SOURCE, restated(SOURCE, read_steps([_set(at, "5.5 bar")]), "B. Name", DAY)))
    again = _after(_set(at, "5.4 bar"), source=saved)
    assert again.data["limits"][1]["source"] == f"75 % of its 8 bar; normal {NEW}"


def test_a_place_that_moved_takes_its_source_along():
    found = _after({"do": "move", "at": ["limits", 1], "to": 0}, _set(("limits", 0, "normal"), "5.5 bar"))
    assert found.data["limits"][0]["source"].endswith(NEW)
    assert "typed by" not in found.data["limits"][1]["source"]


def test_a_value_without_a_source_stays_a_text_alone():
    source = read("quernhollow-lane")
    assert (
        _after(_set(("supply", "typical"), "10.4 bar"), source=source).data["supply"]["typical"] == "10.4 bar"
    )
