"""Every file shape of the table is read to the digit, and no row is lost without a reason."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.records.logger import ReadFiles
from steadyhead.watch.reading import as_stated, propose
from tests.watch.reading import shapes_kept, shapes_more, shapes_odd
from tests.watch.reading.shapes import SHAPES
from tests.watch.reading.truth import Expected, Shape

OTHERS = (shapes_kept, shapes_more, shapes_odd)  # their shapes are on the list, too
MADE = {one.__name__: one for one in SHAPES}


def read(shape: Shape, folder) -> ReadFiles:
    paths = []
    for name, content in shape.files.items():
        (folder / name).write_bytes(content)
        paths.append(folder / name)
    return propose(paths, shape.context)


def compare(found: ReadFiles, expected: list[Expected]) -> None:
    got: dict[tuple[str, str], Any] = {
        (one.quantity, one.statistic): (one, frame) for one, frame in found.channels
    }
    told = "\n".join(found.words)
    assert sorted(got) == sorted((one.quantity, one.statistic) for one in expected), told
    for one in expected:
        channel, frame = got[one.quantity, one.statistic]
        assert channel.unit_as_found == one.unit, told
        samples = as_stated(channel, frame).collect()
        assert samples.height == len(one.samples), told
        assert samples["t"].to_list() == [t for t, _ in one.samples], told
        for a, (t, b) in zip(samples["v"].to_list(), one.samples, strict=True):
            assert (a is None) == (b is None), (t, a, b, told)
            assert a is None or b is None or a == pytest.approx(b, rel=1e-9), (t, a, b, told)


@pytest.mark.parametrize("name", MADE)
def test_a_file_of_this_shape_is_read_to_the_digit(name, tmp_path):
    shape = MADE[name]()
    found = read(shape, tmp_path)
    compare(found, shape.expected)
    assert shape.facts <= {one.code for one in found.facts}, found.words
    assert found.rows_total == found.rows_used + sum(found.rows_left_out.values())
    asked = {one.field for one in found.doubts}
    assert asked == shape.asked, found.words
    if shape.order_told:
        assert any("day first" in line for line in found.words)
