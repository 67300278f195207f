"""Canonical JSON: the vectors that Python and JavaScript share, and what has no canonical form."""

from __future__ import annotations

import json
import math
import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.station.canonical import canonical, sha256

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "canonical.json").read_text())

PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec="utf-8")),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(codec="utf-8")), inner, max_size=4)
    ),
    max_leaves=12,
)


@pytest.mark.source(kind="published", ref="RFC 8785 (2020) appendix B, number samples (from memory)")
@pytest.mark.parametrize("vector", VECTORS["numbers"], ids=lambda vector: vector["canonical"])
def test_numbers_print_as_the_published_samples(vector):
    (number,) = struct.unpack(">d", bytes.fromhex(vector["bits"]))
    assert canonical(number).decode() == vector["canonical"]


@pytest.mark.source(kind="published", ref="RFC 8785 (2020) section 3.2 (from memory); other texts by hand")
@pytest.mark.parametrize("vector", VECTORS["texts"], ids=lambda vector: vector["canonical"][:30])
def test_texts_give_their_one_form(vector):
    assert canonical(json.loads(vector["json"])).decode() == vector["canonical"]


@given(data=PLAIN)
def test_canonical_json_reads_back_and_writes_the_same_bytes(data):
    stored = canonical(data)
    assert canonical(json.loads(stored)) == stored


@given(number=st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_reads_back_exactly(number):
    assert float(canonical(number)) == number


@given(
    data=st.dictionaries(
        st.text(st.characters(codec="utf-8"), max_size=6), st.text("ab"), min_size=2, max_size=6
    )
)
def test_the_order_of_keys_does_not_matter(data):
    assert canonical(dict(reversed(list(data.items())))) == canonical(data)


@pytest.mark.parametrize(
    "value", [math.nan, math.inf, -math.inf, 2**53 + 1, -(2**64) - 1, 10**400, "\ud800", [{"a": math.nan}]]
)
def test_what_has_no_canonical_form_is_refused(value):
    with pytest.raises(ValueError, match=r"canonical|surrogates"):
        canonical(value)


@pytest.mark.parametrize("value", [{1: "a"}, {"a"}, b"bytes"])
def test_what_json_does_not_have_is_refused(value):
    with pytest.raises(TypeError, match=r"text|JSON"):
        canonical(value)


@pytest.mark.source(kind="published", ref="FIPS 180-4 example, SHA-256 of 'abc' (from memory)")
def test_the_hash_is_over_the_stored_bytes():
    assert sha256(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
