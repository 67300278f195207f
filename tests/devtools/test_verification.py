from __future__ import annotations

import pytest

from devtools.verification import SourceMarkError, read_mark, table

TEST = "tests/laws/test_rise.py::test_rise_equals_printed_value[steel]"


def test_a_mark_without_a_known_kind_names_the_test_and_the_kinds():
    with pytest.raises(
        SourceMarkError, match=r"test_rise_equals_printed_value.*'guess'; use one of published"
    ):
        read_mark(TEST, (), {"kind": "guess", "ref": "page 3"})


def test_a_mark_without_a_reference_is_refused():
    with pytest.raises(SourceMarkError, match="has no ref"):
        read_mark(TEST, (), {"kind": "published", "ref": " "})


def test_a_mark_with_a_misspelt_word_is_refused():
    with pytest.raises(SourceMarkError, match=r"\['reference'\]"):
        read_mark(TEST, (), {"kind": "published", "reference": "page 3"})


def test_cases_of_one_test_share_a_row_and_rooms_have_their_own_part():
    marks = {"kind": "analytic", "ref": "hand calculation, a|b"}
    text = table(
        [
            read_mark(TEST, (), marks),
            read_mark(TEST.replace("steel", "plastic"), (), marks),
            read_mark("tests/test_house.py::test_the_house_stands", (), marks),
        ]
    )
    assert "## laws" in text
    assert "## house" in text
    assert r"| rise equals printed value | 2 | analytic | hand calculation, a\|b |" in text


def test_a_reference_from_memory_is_counted_as_such():
    mark = read_mark(TEST, (), {"kind": "published", "ref": "a book, from memory"})
    assert "quoted from memory, and says so: 1." in table([mark])
