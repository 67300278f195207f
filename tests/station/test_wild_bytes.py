"""Any bytes give a station or a list of refusals, never anything else."""

from __future__ import annotations

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.errors import InputErrors
from steadyhead.station.document import dump, read_document
from steadyhead.station.load import load, load_json
from tests.station.files import EXAMPLES, example

TEXTS = tuple(example(name) for name in EXAMPLES)
YAML_BITS = [
    *"?:-,[]{}#&*!|>'\"%@`~\t\r\n \0\ufeff\x85\u2028é€😀0.9eE+",
    ": ",
    "- ",
    "? ",
    "--- ",
    "...\n",
    "<<: ",
    "&a ",
    "*a",
    "!!int ",
    "!<x> ",
    "%YAML 1.1\n",
    "%TAG ! x\n",
    "|2-\n",
    ">+\n",
    "null",
    "true",
    "1e999",
    "0x1F",
    "0o7",
    "2026-02-30",
    ".inf",
    "=",
    "\\u0000",
    "DN 100",
    "bar",
    "part: ",
    "[[[[",
    "{{{{",
]


def accepted_or_refused(door, source):
    try:
        door(source)
    except InputErrors as errors:
        found = errors.errors
    else:
        return
    assert found
    assert all(error.field and error.problem and error.remedy for error in found)


@st.composite
def damaged(draw):
    """An example with some stretches cut, doubled, swapped or replaced."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        to = min(len(text), at + draw(st.integers(0, 12)))
        piece = draw(st.sampled_from(YAML_BITS) | st.text(max_size=5) | st.just(text[at:to] * 2))
        text = text[:at] + piece + text[to:]
    return text


@given(source=damaged())
def test_a_damaged_file_is_refused_in_words_or_read(source):
    accepted_or_refused(load, source.encode("utf-8", "surrogatepass"))


@given(source=st.binary(max_size=400))
def test_random_bytes_are_refused_in_words(source):
    accepted_or_refused(load, source)
    accepted_or_refused(load_json, source)


@given(bits=st.lists(st.sampled_from(YAML_BITS), max_size=30))
def test_random_yaml_marks_are_refused_in_words(bits):
    accepted_or_refused(load, "".join(bits))
    accepted_or_refused(load, "format: steadyhead/station/1\nstation:\n  id: " + "".join(bits))


@settings(max_examples=settings().max_examples // 3)
@given(depth=st.integers(1, 3000), opening=st.sampled_from(["[", "{a: ", "- ", "{", "? ", "[&a ", "a:\n "]))
def test_deep_nesting_is_refused_in_words(depth, opening):
    accepted_or_refused(load, opening * depth)


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["4 bar", "DN 80", "?"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["value", "id", "part", "x"]), inner)
    ),
    max_leaves=5,
)


@given(data=st.data())
def test_json_with_any_value_anywhere_is_refused_in_words_or_read(data):
    tree = json.loads(load(data.draw(st.sampled_from(TEXTS))).canonical)
    for _ in range(data.draw(st.integers(1, 3))):
        holder = tree
        while True:
            keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
            if not keys:
                break
            key = data.draw(st.sampled_from(keys))
            if isinstance(holder[key], dict | list) and data.draw(st.booleans()):
                holder = holder[key]
                continue
            holder[key] = data.draw(VALUES)
            break
    accepted_or_refused(load_json, json.dumps(tree))


@given(source=damaged())
def test_whatever_is_read_is_written_as_it_was(source):
    try:
        document = load(source).document
    except InputErrors:
        return
    assert document is not None
    assert dump(document) == source.removeprefix("\ufeff").encode()
    assert read_document(document.text).root == document.root
