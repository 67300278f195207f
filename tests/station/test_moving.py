"""Items of a list of the station file moved and added in place; several texts set at once."""

from __future__ import annotations

import random

import pytest

from steadyhead.station.document import insert, move, patch, patch_texts
from steadyhead.station.examples import read
from steadyhead.station.load import load, load_document
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Path, Refusal

TEXT = """\
a: one   # beside it
list:
  # above all
  - first   # with the first
  # with the second
  - second

  - {x: third, y: [1, 2, 3]}
# at the end of the list
b: 'two'
"""


def _data(document):
    return from_tree(document.root).data


def _example(name):
    document = load(read(name)).document
    assert document is not None
    return document


@pytest.fixture
def document():
    from steadyhead.station.document import read_document

    return read_document(TEXT)


def test_an_item_takes_the_comment_above_it_along(document):
    moved = move(document, ("list",), 1, 2)
    assert _data(moved)["list"][2] == "second"
    assert "  # with the second\n  - second\n# at the end of the list" in moved.text
    assert "  # above all\n  - first   # with the first\n\n  - {x: third" in moved.text


def test_moving_there_and_back_gives_the_same_bytes():
    rng = random.Random(5)
    document = _example("quernhollow-lane")
    for _ in range(20):
        old, new = rng.randrange(12), rng.randrange(12)
        assert move(move(document, ("line",), old, new), ("line",), new, old).text == document.text


def test_items_of_a_list_in_brackets_change_places(document):
    assert "y: [3, 1, 2]" in move(document, ("list", 2, "y"), 2, 0).text


def test_an_item_is_added_at_its_place_and_a_list_that_is_not_there_is_begun(document):
    assert _data(insert(document, ("list",), 1, "new"))["list"][:2] == ["first", "new"]
    assert _data(insert(document, ("list",), 99, "new"))["list"][-1] == "new"
    assert _data(insert(document, ("other",), 0, {"x": "1"}))["other"] == [{"x": "1"}]


def test_what_is_no_item_is_not_moved(document):
    for old, new in ((3, 0), (0, 3), (-1, 0)):
        with pytest.raises(Refusal):
            move(document, ("list",), old, new)
    with pytest.raises(Refusal):
        move(document, ("a",), 0, 0)


def test_several_texts_at_once_are_those_one_by_one():
    document = _example("quernhollow-lane")
    texts: dict[Path, str] = {
        ("alarm", "pressure"): "4.7 bar",
        ("supply", "min", "value"): "120 psi",
        ("station", "zone"): 'a: "b", # c',
        ("water", "highest"): "19 °C",
        ("tolerances", "gap"): "0.2 bar",
    }
    one_by_one = document
    for path, text in texts.items():
        one_by_one = patch(one_by_one, path, text)
    assert patch_texts(document, texts).text == one_by_one.text


def test_a_changed_document_loads_as_its_bytes_do():
    document = patch(_example("mesquill-flat"), ("supply", "min"), "6 bar")
    again, of_bytes = load_document(document), load(document.text)
    assert (again.sha256, again.canonical, again.station) == (
        of_bytes.sha256,
        of_bytes.canonical,
        of_bytes.station,
    )
