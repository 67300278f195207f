"""No file breaks the reader: what cannot be opened is refused with a remedy, every row is counted."""

from __future__ import annotations

import random

import pytest

from steadyhead.errors import InputError
from steadyhead.watch.reading import propose
from tests.watch.reading.test_shapes import MADE
from tests.watch.reading.truth import context, record


@pytest.mark.parametrize("name", [*MADE][::6])
def test_a_damaged_file_is_read_or_refused_and_never_breaks_the_reader(name, tmp_path):
    shape, draw = MADE[name](), random.Random(name)
    for part, content in shape.files.items():
        path = tmp_path / part
        lines = content.split(b"\n")[:60]
        draw.shuffle(lines)
        bent = bytearray(content[: draw.randrange(1, len(content))][:5000])
        for _ in range(20):
            bent[draw.randrange(len(bent))] = draw.randrange(256)
        for made in (bytes(bent), b"\n".join(lines), content[: draw.randrange(200)]):
            path.write_bytes(made)
            try:
                found = propose([path], shape.context)
            except InputError as refused:
                assert refused.remedy  # noqa: PT017
                continue
            assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())


@pytest.mark.parametrize("content", [b"", b"\x00" * 90, b"\n\n", b"a", b"1;2\n", b"{", b"[]", b"{}\n"])
def test_next_to_nothing_is_said_to_hold_nothing(content, tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    found = propose([path], context(record(10)))
    assert "nothing in it" in {one.code for one in found.facts} or not found.channels


@pytest.mark.parametrize("content", [b"PAR1 and no more", b"PK\x03\x04 and no more"])
def test_a_damaged_container_is_refused_with_a_remedy(content, tmp_path):
    path = tmp_path / "a.bin"
    path.write_bytes(content)
    with pytest.raises(InputError):
        propose([path], context(record(10)))
