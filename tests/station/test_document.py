"""Changes to a station file: exactly the place asked for, every other byte as it was."""

from __future__ import annotations

import difflib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.station.document import dump, patch, read_document, remove
from steadyhead.station.load import load
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Refusal
from steadyhead.station.templates import LAYOUTS, new
from tests.station.files import EXAMPLES, example

ODD = (
    "# odd style\r\n"
    "a:   4.2 bar      # one\r\n"
    "\r\n"
    "'q':  \"two: 2\"   # two\r\n"
    "long: a line that goes on and on and on and on and on and on and on and on and on and on and on\r\n"
    "list:\r\n"
    "- x   # first\r\n"
    "# between\r\n"
    "- y\r\n"
    "flow: { b : 1 , c: [ p,q ], }   # spaced\r\n"
    "text: |\r\n"
    "    kept\r\n"
    "      as it is\r\n"
    "\r\n"
    "named: &n {x: 1}\r\n"
    "again: *n\r\n"
    "empty:\r\n"
    "größe: DN 100 # ümlaut\r\n"
    "last: 1"
)


def changed(before: str, after: str) -> list[str]:
    return [
        line for line in difflib.ndiff(before.splitlines(True), after.splitlines(True)) if line[0] in "+-"
    ]


@pytest.mark.parametrize(
    "text", [*map(example, EXAMPLES), *map(new, LAYOUTS), ODD], ids=range(len(EXAMPLES) + len(LAYOUTS) + 1)
)
def test_a_file_that_was_not_changed_is_written_as_it_was(text):
    assert dump(read_document(text)) == text.encode()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_changed_file_keeps_its_encoding(encoding):
    source = example().encode(encoding)
    document = load(source).document
    assert document is not None
    assert dump(document) == source
    after = dump(patch(document, ("line", 4, "trip"), "5.1 bar"))
    assert after == example("quillenby-row", ("trip: 5.2 bar", "trip: 5.1 bar")).encode(encoding)


@pytest.mark.parametrize(
    ("path", "value", "lines"),
    [
        (("line", 4, "trip"), "5.1 bar", ["-     trip: 5.2 bar\n", "+     trip: 5.1 bar\n"]),
        (("line", 6, "drift"), "0.05 bar", ["+     drift: 0.05 bar\n"]),
        (("tolerances", "gap"), "0.1 bar", ["+ tolerances: {gap: 0.1 bar}\n"]),
        (("zone", "other_feed"), False, ["-   other_feed: yes\n", "+   other_feed: no\n"]),
        (
            ("equipment", "hand_pump"),
            False,
            ["- equipment: {hand_pump: yes}\n", "+ equipment: {hand_pump: no}\n"],
        ),
        (("gauges", 2), {"id": "TG-3", "span": "6 bar"}, ["+   - {id: TG-3, span: 6 bar}\n"]),
        (("line", 4, "mechanics", "stroke"), "20 mm", ["+     mechanics: {stroke: 20 mm}\n"]),
        (("line", 4, "name"), "north: # 1", ['+     name: "north: # 1"\n']),
        (
            ("station", "directions"),
            "a, b",
            [
                "-   directions: Lid in the verge, 12 m past the third gate on the left.\n",
                "+   directions: a, b\n",
            ],
        ),
        (
            ("answers",),
            [{"to": "SLIP-1", "answer": "yes, it is"}],
            ["+ answers:\n", '+   - {to: SLIP-1, answer: "yes, it is"}\n'],
        ),
    ],
)
def test_a_change_touches_its_own_lines_only(path, value, lines):
    before = example()
    after = patch(read_document(before), path, value)
    assert changed(before, after.text) == lines


def test_a_change_inside_braces_leaves_the_rest_of_the_line():
    before = example()
    after = patch(read_document(before), ("supply", "static", "value"), "9.7 bar").text
    assert after == before.replace("static: {value: 9.6 bar", "static: {value: 9.7 bar")


@pytest.mark.parametrize(
    ("path", "gone"),
    [
        (("line", 4, "trip"), "    trip: 5.2 bar\n"),
        (("gauges", 1), "  - {id: TG-2, span: 16 bar, accuracy: 1 %, due: 2027-06-30}\n"),
        (("limits", 0, "normal"), "normal: 9 bar, "),
        (("demand", "exponent"), '  exponent: "0.6"\n'),
        (("station", "hazards", 1), "traffic, "),
        (("station", "hazards", 2), ", flooding"),
    ],
)
def test_removing_takes_out_exactly_its_own_text(path, gone):
    before = example()
    assert gone in before
    assert remove(read_document(before), path).text == before.replace(gone, "", 1)


def test_removing_the_last_item_leaves_an_empty_list():
    after = remove(read_document(example()), ("needs", 0))
    assert load(after.text).station.needs == ()


@pytest.mark.parametrize(
    ("path", "value", "old", "new"),
    [
        (("a",), "95 psi", "4.2 bar ", "95 psi "),
        (("q",), "three", '"two: 2"', '"three"'),
        (("list", 2), "z", "- y\r\n", "- y\r\n- z\r\n"),
        (("flow", "c", 1), "r", "p,q", "p,r"),
        (("flow", "d"), "2", "[ p,q ],", "[ p,q ], d: 2,"),
        (("empty",), "full", "empty:", "empty: full"),
        (("größe",), "DN 150", "DN 100", "DN 150"),
        (("last",), "2", "last: 1", "last: 2"),
        (("more",), "3", "last: 1", "last: 1\r\nmore: 3\r\n"),
        (("again",), "4", "*n", "4"),
        (("text",), "short", "|\r\n    kept\r\n      as it is\r\n", "short\r\n"),
    ],
)
def test_odd_styles_keep_their_style_around_a_change(path, value, old, new):
    assert patch(read_document(ODD), path, value).text in (
        ODD.replace(old, new),
        ODD.replace(old, new).replace("short\r\n\r\n", "short\r\n"),
    )


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (("again", "x"), "2", "alias"),
        (("named",), "2", "cannot be changed in place"),
        (("a", "b"), "2", "a map needs a key"),
        (("list", "b"), "2", "a map needs a key"),
        ((), "2", "names no place"),
    ],
)
def test_a_change_that_would_show_elsewhere_is_refused(path, value, words):
    with pytest.raises(Refusal, match=r"by hand") as caught:
        patch(read_document(ODD), path, value)
    assert words in str(caught.value)


@pytest.mark.parametrize("path", [("nothing",), ("list", 9), ("flow", "z"), ("again", "x")])
def test_removing_what_is_not_there_is_refused(path):
    with pytest.raises(Refusal, match=r"is not in the file|alias"):
        remove(read_document(ODD), path)


@pytest.mark.parametrize("text", ["# nothing\n", "- a\n", "word\n"])
def test_a_file_without_fields_cannot_be_changed(text):
    with pytest.raises(Refusal, match=r"starts with fields|a map needs a key"):
        patch(read_document(text), ("a",), "b")


SMALL = "a:\n  - x: 1  # one\n    y: 2\n  - [p, [q]]\nb:\n  c: 3\nd:\n  e:\n"


@pytest.mark.parametrize(
    ("path", "value", "text"),
    [
        (("a", 0, "z"), "3", SMALL.replace("    y: 2\n", "    y: 2\n    z: 3\n")),
        (("a", 1, 1, 1), {"k": ["m"]}, SMALL.replace("[q]", "[q, {k: [m]}]")),
        (("a", 2), ["r", "s"], SMALL.replace("[p, [q]]\n", "[p, [q]]\n  - [r, s]\n")),
        (("d", "f"), "5", SMALL + "  f: 5\n"),
        (("d", "e"), "4", SMALL.replace("e:", "e: 4")),
        (("g", 0), {"h": "6"}, SMALL + "g:\n  - {h: 6}\n"),
        (("b",), {"c": "4"}, SMALL.replace("b:\n  c: 3", "b:\n  {c: 4}")),
        (("a", 0, "x"), "line\nbreak", SMALL.replace("x: 1", 'x: "line\\nbreak"')),
        (("a", 0, "x"), "del\x7f", SMALL.replace("x: 1", 'x: "del\\u007f"')),
        (("b", "c"), "?", SMALL.replace("c: 3", 'c: "?"')),
        (("b", "c"), "no: 1", SMALL.replace("c: 3", 'c: "no: 1"')),
        (("b", "c"), "'", SMALL.replace("c: 3", 'c: "\'"')),
    ],
)
def test_a_change_in_a_small_file_gives_exactly_this_text(path, value, text):
    assert patch(read_document(SMALL), path, value).text == text


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("a", 0, "x"), SMALL.replace("x: 1  # one\n    y: 2", "y: 2")),
        (("a", 0), SMALL.replace("  - x: 1  # one\n    y: 2\n", "")),
        (("a", 1, 0), SMALL.replace("[p, [q]]", "[[q]]")),
        (("b", "c"), SMALL.replace("c: 3", "{}")),
        (("a", 1, 1, 0), SMALL.replace("[p, [q]]", "[p, []]")),
    ],
)
def test_a_removal_in_a_small_file_gives_exactly_this_text(path, text):
    assert remove(read_document(SMALL), path).text == text


def test_a_value_no_station_file_has_is_refused():
    with pytest.raises(TypeError, match="no place in a station file"):
        patch(read_document(SMALL), ("b", "c"), {"k": 3.5})


def test_a_value_after_an_alias_is_added_behind_it():
    assert patch(read_document("a: &a 1\nb: *a"), ("c",), "2").text == "a: &a 1\nb: *a\nc: 2\n"


@given(
    value=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=30), data=st.data()
)
def test_any_text_put_anywhere_reads_back_and_changes_nothing_else(value, data):
    document = read_document(data.draw(st.sampled_from([example(), ODD])))
    leaves = list(_leaves(from_tree(document.root).data, ()))
    path = data.draw(st.sampled_from(leaves))
    if path[0] in ("again", "named"):
        return
    after = patch(document, path, value)
    got = from_tree(after.root).data
    for step in path:
        got = got[step]
    assert got == value
    assert len(changed(document.text, after.text)) <= 8


def _leaves(data, path):
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _leaves(value, (*path, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _leaves(value, (*path, index))
    else:
        yield path


@pytest.mark.parametrize(
    ("text", "after"),
    [
        ("a: |\n  x\n\n", "a: |\n  x\nb: 2\n\n"),
        ("a: ~\n", "a: ~\nb: 2\n"),
        ("l:\n- 1\n- 2\n# end\n", "l:\n- 1\n- 2\nb: 2\n# end\n"),
    ],
)
def test_a_new_key_stands_behind_the_last_value_and_before_what_follows(text, after):
    assert patch(read_document(text), ("b",), "2").text == after
