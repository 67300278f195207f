"""Files to fill in: one for each layout, and everything open is named at once."""

from __future__ import annotations

import re

import pytest

from steadyhead.errors import InputError
from steadyhead.station.document import patch, read_document
from steadyhead.station.load import load
from steadyhead.station.plain import from_tree
from steadyhead.station.templates import LAYOUTS, new
from tests.station.files import example, refused

COMPANION = {
    "reducer-alone": "pinnock-yard",
    "shut-off-upstream": "quillenby-row",
    "shut-off-downstream": "dunmarrow-bottom",
    "two-reducers": "sorrel-flat",
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_template_names_every_open_field_and_nothing_else(layout):
    text = new(layout)
    found = refused(text)
    assert {refusal.problem for refusal in found} == {"not filled in."}
    assert len(found) == len(re.findall(r'"\?"', text.partition("format:")[2]))
    assert all(refusal.line for refusal in found)
    assert all(refusal.remedy.startswith("Add it: ") for refusal in found)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_template_filled_in_is_a_station_and_keeps_its_comments(layout):
    filled = read_document(new(layout))
    known = from_tree(read_document(example(COMPANION[layout])).root).data
    for refusal in refused(filled.text):
        filled = patch(filled, refusal.path, _looked_up(known, refusal.path))
    station = load(filled.text).station
    assert next(part.id for part in station.parts()) == "T0"
    assert filled.text.count("#") == new(layout).count("#")


def _looked_up(known, path):
    """Return the value the companion example has at this place, else one that fits."""
    fallback = {
        "drift": "0",
        "name": "x",
        "id": "X1",
        "fault": "9 bar",
        "night": "6 bar",
        "due": "2027-01-01",
        "fire_water": "no",
    }
    here = known
    if path[0] == "line":
        mine = [part for part in known["line"] if part["id"] == _id_of(path[1], known)]
        here, path = (mine[0], path[2:]) if mine else (None, path)
    for step in path:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            return fallback.get(str(path[-1]), "3 bar" if path[-1] in ("pressure", "normal") else "text")
    return here["value"] if isinstance(here, dict) else here


def _id_of(index, known):
    return known["line"][index]["id"]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_metric_and_us_readers_both_find_an_example(layout):
    text = new(layout)
    assert "psi" in text
    assert "bar" in text
    assert "gpm" in text


def test_an_unknown_layout_is_refused_with_a_suggestion():
    with pytest.raises(InputError, match="Did you mean 'two-reducers'"):
        new("two-reducer")
